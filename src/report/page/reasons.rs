//! The chain of a group in at most six short lines: the reason first, then what was met, what is not allowed, the
//! source.

use super::Page;
use super::said::sentence;
use crate::advice::Case;
use crate::explain::{Role, Statement, Values, chain};
use crate::trace::Verdict;
use std::collections::VecDeque;

/// A line of a chain with its label.
#[derive(Clone, PartialEq, Debug)]
pub struct Reason {
    /// What it is: `Why`, `Not allowed`, `After`.
    pub label: &'static str,
    /// What it says.
    pub says: String,
}

/// The most lines that a chain has on the page.
const MOST: usize = 6;

/// Returns the short chain of a case with the values of its trees.
pub fn reasons(page: &Page<'_>, values: &Values, case: &Case) -> Vec<Reason> {
    let chain = chain(page.scene, values, case);
    let of = |role: Role| chain.iter().filter(move |statement| statement.role == role);
    let all_shut = case.decision.verdict == Verdict::AllShut;
    let most_shut = if all_shut { MOST - 2 } else { 2 };
    let mut shut: Vec<Reason> =
        of(Role::Shut).take(most_shut).map(|it| reason("Not allowed", shut_words(it))).collect();
    shut.extend(of(Role::Held).take(1).map(|it| reason("Weaker", with_conditions(it, &it.says))));
    let mut lines: Vec<Reason> = match of(Role::Choice).next() {
        Some(choice) => {
            let source = sources(choice).map(|source| reason("After", source));
            let room = MOST.saturating_sub(1 + shut.len() + usize::from(source.is_some()));
            let because = choice.because.as_deref().unwrap_or(&choice.says);
            let mut lines = vec![reason("Why", sentence(because))];
            lines.extend(met(choice).into_iter().take(room).map(|says| reason("", says)));
            lines.extend(shut);
            lines.extend(source);
            lines
        }
        None if case.decision.verdict == Verdict::Look => {
            let open = of(Role::Open).map(|it| open_words(page, it));
            let mut lines: Vec<Reason> = open.take(2).map(|says| reason("Open", says)).collect();
            lines.extend(shut);
            lines
        }
        None => {
            let near = of(Role::NearlyHeld).take(2);
            near.map(|it| reason("Nearest", format!("{}: {}", title(it), it.says))).collect()
        }
    };
    lines.truncate(MOST);
    lines
}

fn reason(label: &'static str, says: String) -> Reason {
    Reason { label, says }
}

/// Returns the name of a statement's item with spaces for hyphens.
fn title(statement: &Statement) -> String {
    let name = statement.item.split_once(' ').map_or(&*statement.item, |(_, name)| name);
    crate::explain::words::spaced(name)
}

/// Returns the conditions of a choice with the values they met: those on bands each with what made the grade, the
/// others together; then what made the grades below.
fn met(choice: &Statement) -> Vec<String> {
    let conditions = || choice.from.iter().filter(|part| part.role == Role::Condition);
    let plain: Vec<&str> =
        conditions().filter(|part| rows(part).is_empty()).map(|part| &*part.says).collect();
    let mut lines = Vec::new();
    if !plain.is_empty() {
        lines.push(plain.join("; "));
    }
    let mut todo: VecDeque<(&Statement, bool)> = conditions().map(|part| (part, true)).collect();
    while let Some((statement, top)) = todo.pop_front() {
        let own = || statement.from.iter().filter(|part| part.role == Role::Row).collect();
        let said = if top { rows(statement) } else { own() };
        // The first row is the one that made the grade; the others say no more than that they hold besides.
        let Some(row) = said.first() else { continue };
        let grade = statement.says.split(" = ").next().unwrap_or_default();
        lines.push(format!("{grade}, since {}", cause_of(row)));
        todo.extend(row.from.iter().map(|below| (below, false)));
    }
    lines
}

/// Returns the rows of the band that a condition speaks of.
fn rows(condition: &Statement) -> Vec<&Statement> {
    let values = condition.from.iter().filter(|part| part.role == Role::Value);
    values.flat_map(|value| &value.from).filter(|part| part.role == Role::Row).collect()
}

/// Returns what made a grade: the conditions of a row that raised to it, or the row as it is told.
fn cause_of(row: &Statement) -> String {
    match row.says.split_once(": ") {
        Some((verb, conditions)) if verb.starts_with("raised") || verb.starts_with("stays") => {
            conditions.to_string()
        }
        _ => format!("it is {}", row.says),
    }
}

/// Returns what a gate shuts, without saying again that it does.
fn shut_words(statement: &Statement) -> String {
    with_conditions(statement, &statement.says.replacen(" not allowed: ", ": ", 1))
}

/// Returns a statement with the conditions that make it so.
fn with_conditions(statement: &Statement, says: &str) -> String {
    let conditions: Vec<&str> =
        statement.from.iter().filter(|part| part.role == Role::Condition).map(|part| &*part.says).collect();
    if conditions.is_empty() { says.to_string() } else { format!("{says}; {}", conditions.join("; ")) }
}

/// Returns a choice or a gate of which it is not known whether it speaks, with what is open about it.
fn open_words(page: &Page<'_>, statement: &Statement) -> String {
    let choice = page.scene.plan.choices.iter().find(|choice| choice.span == statement.at);
    match choice {
        Some(choice) => {
            let open = statement
                .from
                .iter()
                .filter(|part| part.role == Role::Condition && part.says.contains("not known"));
            let open: Vec<&str> = open.map(|part| &*part.says).collect();
            if open.is_empty() {
                with_conditions(statement, &format!("perhaps {}", choice.label))
            } else {
                format!("perhaps {}: {}", choice.label, open.join("; "))
            }
        }
        None => with_conditions(statement, &statement.says),
    }
}

/// So many sources are named on the page.
const SOURCES: usize = 2;

fn sources(statement: &Statement) -> Option<String> {
    let cites = &statement.cites;
    let mut named: Vec<&str> = cites.iter().take(SOURCES).map(String::as_str).collect();
    let rest = format!("{} more", cites.len().saturating_sub(SOURCES));
    if cites.len() > SOURCES {
        named.push(&rest);
    }
    (!named.is_empty()).then(|| named.join("; "))
}
