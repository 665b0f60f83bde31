//! The chain of a group in at most six short lines: the reason first, then what was met, what is not allowed, the
//! source. All of it is told by `why`.

use super::Page;
use super::said::sentence;
use crate::advice::Case;
use crate::explain::{Role, Statement, Values, chain};
use crate::report::lines::wrapped;
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

/// The most lines that the chain of a group has on a page of 80 columns.
pub const MOST: usize = 6;
/// How wide a line beside its label is on such a page. Narrower pages say the same in more lines.
const ROOM: usize = 64;

/// Something to be said, in forms of which each is shorter than the one before.
struct Piece {
    label: &'static str,
    forms: Vec<String>,
    /// Pieces of a lower number find room first.
    rank: u8,
}

impl Piece {
    fn new(label: &'static str, rank: u8, forms: Vec<String>) -> Self {
        Self { label, forms, rank }
    }
}

/// Returns the short chain of a case with the values of its trees, in so many lines of a page of 80 columns; what is
/// said first is said even where it is longer.
pub fn reasons(page: &Page<'_>, values: &Values, case: &Case, most: usize) -> Vec<Reason> {
    let chain = chain(page.scene, values, case);
    let of = |role: Role| chain.iter().filter(move |statement| statement.role == role);
    let shut: Vec<&Statement> = of(Role::Shut).collect();
    let held = of(Role::Held)
        .take(1)
        .map(|it| Piece::new("Weaker", 4, vec![with_conditions(it, &it.says), it.says.clone()]));
    let pieces: Vec<Piece> = match of(Role::Choice).next() {
        Some(choice) => {
            let because = choice.because.as_deref().unwrap_or(&choice.says);
            let mut pieces = vec![Piece::new("Why", 0, vec![sentence(because)])];
            pieces.extend(met(choice));
            if case.decision.verdict == Verdict::AllShut {
                pieces.extend(shut.iter().map(|it| Piece::new("Not allowed", 1, shut_words(it))));
            } else {
                pieces.extend(shut_together(&shut, 2));
            }
            pieces.extend(held);
            pieces.extend(sources(choice));
            pieces
        }
        None if case.decision.verdict == Verdict::Look => {
            let open = of(Role::Open).take(2).map(|it| Piece::new("Open", 0, open_words(page, it)));
            open.chain(shut_together(&shut, 1)).chain(held).collect()
        }
        None => {
            let near = |it| Piece::new("Nearest", 0, vec![format!("{}: {}", title(it), it.says)]);
            of(Role::NearlyHeld).take(2).map(near).collect()
        }
    };
    fitted(pieces, most)
}

/// Chooses the forms that fit: each piece by its rank in its shortest form first; then, in the order of the page, the
/// longest for which there is still room. The first piece is always said.
fn fitted(pieces: Vec<Piece>, most: usize) -> Vec<Reason> {
    let height = |text: &String| wrapped(text, ROOM, ROOM).len();
    let mut chosen: Vec<Option<usize>> = vec![None; pieces.len()];
    let mut left = most;
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by_key(|at| pieces.get(*at).map(|piece| piece.rank));
    for (turn, at) in order.into_iter().enumerate() {
        let Some(piece) = pieces.get(at) else { continue };
        let (Some(shortest), Some(slot)) = (piece.forms.last(), chosen.get_mut(at)) else { continue };
        if turn == 0 || height(shortest) <= left {
            *slot = Some(piece.forms.len() - 1);
            left = left.saturating_sub(height(shortest));
        }
    }
    for (piece, slot) in pieces.iter().zip(&mut chosen) {
        let Some(form) = *slot else { continue };
        let own = piece.forms.get(form).map_or(0, height);
        let longest = piece.forms.iter().position(|text| height(text) <= own + left);
        if let Some(longest) = longest.filter(|longest| *longest < form) {
            left -= piece.forms.get(longest).map_or(0, height) - own;
            *slot = Some(longest);
        }
    }
    let said = pieces.into_iter().zip(chosen);
    said.filter_map(|(piece, form)| {
        Some(Reason { label: piece.label, says: piece.forms.into_iter().nth(form?)? })
    })
    .collect()
}

/// Returns the name of a statement's item with spaces for hyphens.
fn title(statement: &Statement) -> String {
    let name = statement.item.split_once(' ').map_or(&*statement.item, |(_, name)| name);
    crate::plan::spaced(name)
}

/// Returns the conditions of a choice with the values they met: those on bands each with what made the grade, the
/// others together; then what made the grades below.
fn met(choice: &Statement) -> Vec<Piece> {
    let conditions = || choice.from.iter().filter(|part| part.role == Role::Condition);
    let plain: Vec<&str> =
        conditions().filter(|part| rows(part).is_empty()).map(|part| &*part.says).collect();
    let mut pieces = Vec::new();
    if !plain.is_empty() {
        pieces.push(Piece::new("", 1, shortened(&plain, "; ")));
    }
    let mut todo: VecDeque<(&Statement, bool)> = conditions().map(|part| (part, true)).collect();
    while let Some((statement, top)) = todo.pop_front() {
        let own = || statement.from.iter().filter(|part| part.role == Role::Row).collect();
        let said = if top { rows(statement) } else { own() };
        // The first row is the one that made the grade; the others say no more than that they hold besides.
        let Some(row) = said.first() else { continue };
        let grade = statement.says.split(" = ").next().unwrap_or_default().to_string();
        let cause = cause_of(row);
        let causes: Vec<&str> = cause.split("; ").collect();
        let mut forms: Vec<String> =
            shortened(&causes, "; ").into_iter().map(|cause| format!("{grade}, since {cause}")).collect();
        // The value that made the first grade is said before all that is not allowed, others where there is room.
        if top && !pieces.is_empty() {
            forms.push(grade);
        }
        pieces.push(Piece::new("", if top { 1 } else { 5 }, forms));
        todo.extend(row.from.iter().map(|below| (below, false)));
    }
    pieces
}

/// Returns a list in forms that name all of it, one less, down to the first.
fn shortened(list: &[&str], between: &str) -> Vec<String> {
    let forms = (1..=list.len()).rev().map(|count| {
        let said = list.iter().take(count).copied().collect::<Vec<_>>().join(between);
        let rest = list.len() - count;
        if rest == 0 { said } else { format!("{said}{between}and {rest} more") }
    });
    forms.collect()
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

/// Returns what a gate shuts, without saying again that it does: with the conditions that make it so, and without.
fn shut_words(statement: &Statement) -> Vec<String> {
    let says = statement.says.replacen(" not allowed: ", ": ", 1);
    vec![with_conditions(statement, &says), says]
}

/// Returns what gates shut in one piece: a single one with its conditions where there is room.
fn shut_together(shut: &[&Statement], rank: u8) -> Option<Piece> {
    let says: Vec<String> = shut.iter().filter_map(|it| shut_words(it).pop()).collect();
    let says: Vec<&str> = says.iter().map(String::as_str).collect();
    let whole = if let [one] = shut { shut_words(one).into_iter().next() } else { None };
    let forms: Vec<String> = whole.into_iter().chain(shortened(&says, "; ")).collect();
    (!forms.is_empty()).then(|| Piece::new("Not allowed", rank, forms))
}

/// Returns a statement with the conditions that make it so.
fn with_conditions(statement: &Statement, says: &str) -> String {
    let conditions: Vec<&str> =
        statement.from.iter().filter(|part| part.role == Role::Condition).map(|part| &*part.says).collect();
    if conditions.is_empty() { says.to_string() } else { format!("{says}; {}", conditions.join("; ")) }
}

/// Returns a choice or a gate of which it is not known whether it speaks, with what is open about it, and without.
fn open_words(page: &Page<'_>, statement: &Statement) -> Vec<String> {
    let choice = page.scene.plan.choices.iter().find(|choice| choice.span == statement.at);
    match choice {
        Some(choice) => {
            let open = statement
                .from
                .iter()
                .filter(|part| part.role == Role::Condition && part.says.contains("not known"));
            let open: Vec<&str> = open.map(|part| &*part.says).collect();
            let perhaps = format!("perhaps {}", choice.label);
            if open.is_empty() {
                vec![with_conditions(statement, &perhaps), perhaps]
            } else {
                let forms = shortened(&open, "; ").into_iter().map(|open| format!("{perhaps}: {open}"));
                forms.collect()
            }
        }
        None => vec![with_conditions(statement, &statement.says), statement.says.clone()],
    }
}

/// So many sources are named on the page.
const SOURCES: usize = 2;

fn sources(statement: &Statement) -> Option<Piece> {
    let cites: Vec<&str> = statement.cites.iter().map(String::as_str).collect();
    let mut forms = shortened(&cites, "; ");
    forms.drain(..cites.len().saturating_sub(SOURCES));
    (!forms.is_empty()).then(|| Piece::new("After", 3, forms))
}
