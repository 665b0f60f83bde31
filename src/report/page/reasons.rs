//! The chain of a group in at most six short lines: the reason first, then what was met, what is not allowed, the
//! source.

use super::Page;
use super::said::sentence;
use crate::advice::Case;
use crate::explain::{Role, Statement, Values, chain};
use std::collections::VecDeque;

/// A line of a chain with its label.
#[derive(Clone, PartialEq, Debug)]
pub struct Reason {
    /// What it is: `Why`, `Not allowed`, `Source`.
    pub label: &'static str,
    /// What it says.
    pub says: String,
}

/// The most lines that a chain has on the page.
const MOST: usize = 6;
/// The most of them for one thing that is not allowed.
const SHUT: usize = 2;

/// Returns the short chain of a case with the values of its trees.
pub fn reasons(page: &Page<'_>, values: &Values, case: &Case) -> Vec<Reason> {
    let chain = chain(page.scene, values, case);
    let of = |role: Role| chain.iter().filter(move |statement| statement.role == role);
    let leading = of(Role::Choice).next();
    let mut shut: Vec<Reason> = of(Role::Shut).take(SHUT).map(|it| reason("Not allowed", said(it))).collect();
    shut.extend(of(Role::Held).take(1).map(|it| reason("Weaker", said(it))));
    let source = leading.and_then(sources);
    let mut lines: Vec<Reason> = Vec::new();
    if let Some(choice) = leading {
        let because = choice.because.as_deref().map_or_else(|| choice.says.clone(), str::to_string);
        lines.push(reason("Why", sentence(&because)));
        let room = MOST.saturating_sub(1 + shut.len() + usize::from(source.is_some()));
        lines.extend(met(choice).into_iter().take(room).map(|says| reason("", says)));
    }
    for open in of(Role::Open).take(SHUT) {
        lines.push(reason(if lines.is_empty() { "Why" } else { "" }, said(open)));
    }
    if leading.is_none() {
        for near in of(Role::NearlyHeld).take(SHUT) {
            lines.push(reason(
                if lines.is_empty() { "Nearest" } else { "" },
                format!("{}: {}", title(near), near.says),
            ));
        }
    }
    lines.extend(shut);
    lines.extend(source.map(|source| reason("Source", source)));
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

/// Returns the conditions of a choice with the values they met, then the rows that made each grade among them.
fn met(choice: &Statement) -> Vec<String> {
    let conditions = choice.from.iter().filter(|part| part.role == Role::Condition);
    let all: Vec<&str> = conditions.map(|part| &*part.says).collect();
    let mut lines = Vec::new();
    if !all.is_empty() {
        lines.push(all.join("; "));
    }
    let mut todo: VecDeque<&Statement> = choice.from.iter().collect();
    while let Some(statement) = todo.pop_front() {
        let rows = statement.from.iter().filter(|part| part.role == Role::Row);
        if let Some(row) = rows.clone().next() {
            let grade = statement.says.split(" = ").next().unwrap_or_default();
            lines.push(format!("{grade}: {}", row.says));
        }
        todo.extend(&statement.from);
    }
    lines
}

/// Returns a statement with the conditions that make it so.
fn said(statement: &Statement) -> String {
    let conditions: Vec<&str> =
        statement.from.iter().filter(|part| part.role == Role::Condition).map(|part| &*part.says).collect();
    let reason = if conditions.is_empty() {
        statement.because.as_deref().map_or_else(String::new, str::to_string)
    } else {
        conditions.join("; ")
    };
    if reason.is_empty() { statement.says.clone() } else { format!("{}; {reason}", statement.says) }
}

/// So many sources are named on the page.
const SOURCES: usize = 2;

fn sources(statement: &Statement) -> Option<String> {
    let cites = &statement.cites;
    let mut named: Vec<&str> = cites.iter().take(SOURCES).map(String::as_str).collect();
    let more = cites.len().saturating_sub(SOURCES);
    let rest = format!("{more} more");
    if more > 0 {
        named.push(&rest);
    }
    (!named.is_empty()).then(|| named.join("; "))
}
