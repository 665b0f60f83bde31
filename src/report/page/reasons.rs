//! The chain of a group in at most six short lines: the reason first, then what was met, what is not allowed, the
//! source. All of it is told by `why`.

use super::Page;
use super::said::sentence;
use crate::advice::Case;
use crate::explain::{Claim, Compared, Item, Role, Statement, Values};
use crate::plan::{ChoiceId, Kind, Subject};
use crate::report::lines::wrapped;
use crate::trace::Verdict;
use std::collections::VecDeque;

/// A line of a chain with its label.
#[derive(Clone, PartialEq, Debug)]
pub struct Reason {
    /// What it is: `Why`, `Not allowed`, `Source`.
    pub label: String,
    /// What it says.
    pub says: String,
}

/// The most lines that the chain of a group has on a page of 80 columns.
pub const MOST: usize = 6;
/// How wide a line beside its label is on such a page. Narrower pages say the same in more lines.
const ROOM: usize = 64;

/// Something to be said, in forms of which each is shorter than the one before.
struct ReasonForms {
    /// The key of its label; empty where it goes on with the piece before.
    label: &'static str,
    forms: Vec<String>,
    /// Pieces of a lower number find room first.
    rank: u8,
}

impl ReasonForms {
    fn new(label: &'static str, rank: u8, forms: Vec<String>) -> Self {
        Self { label, forms, rank }
    }
}

/// Returns the short chain of a case with the values of its trees, in so many lines of a page of 80 columns; what is
/// said first is said even where it is longer.
pub fn reasons(page: &Page<'_>, values: &Values, case: &Case, most: usize) -> Vec<Reason> {
    let chain = page.scene.chain(values, case);
    let of = |role: Role| chain.iter().filter(move |statement| statement.role == role);
    let shut: Vec<&Statement> = of(Role::Shut).collect();
    let say = |statement: &Statement| page.scene.says(statement);
    let held = of(Role::Held)
        .take(1)
        .map(|it| ReasonForms::new("page.weaker", 4, vec![with_conditions(page, it, &say(it)), say(it)]));
    let pieces: Vec<ReasonForms> = match of(Role::Choice).next() {
        Some(choice) => {
            let because = choice.because.as_deref().map_or_else(|| say(choice), str::to_string);
            let mut pieces = vec![ReasonForms::new("page.why", 0, vec![sentence(&because)])];
            pieces.extend(met(page, choice));
            if case.decision.verdict == Verdict::AllShut {
                pieces.extend(
                    shut.iter().map(|it| ReasonForms::new("page.not-allowed", 1, shut_words(page, it))),
                );
            } else {
                pieces.extend(shut_together(page, &shut, 2));
            }
            pieces.extend(held);
            pieces.extend(sources(page, choice));
            pieces
        }
        None if case.decision.verdict == Verdict::Look => {
            let open =
                of(Role::Open).take(2).map(|it| ReasonForms::new("page.open", 0, open_words(page, it)));
            open.chain(shut_together(page, &shut, 1)).chain(held).collect()
        }
        None => {
            let near =
                |it| ReasonForms::new("page.nearest", 0, vec![format!("{}: {}", title(page, it), say(it))]);
            of(Role::NearlyHeld).take(2).map(near).collect()
        }
    };
    fitted(page, pieces, most)
}

/// Returns the short chain of one tree's case, each line with its label, or without where it goes on with the one before.
pub fn reasons_of(page: &Page<'_>, values: &Values, case: &Case) -> Vec<(String, String)> {
    reasons(page, values, case, MOST).into_iter().map(|it| (it.label, it.says)).collect()
}

/// So many sets of choices are told shortly.
const SHORT: usize = 2;
/// What the author says is told beside the values where both take so many lines at most.
const LINES: usize = 2;

/// Returns why some trees get what they get, as shortly as it can be said: what the author says of each choice that leads there,
/// and the values that made the grade.
pub fn short_reasons(page: &Page<'_>, values: &Values, cases: &[&Case]) -> Vec<String> {
    let mut told: Vec<&[ChoiceId]> = Vec::new();
    let mut said: Vec<String> = Vec::new();
    for case in cases {
        if told.contains(&&case.decision.choices[..]) || told.len() == SHORT {
            continue;
        }
        told.push(&case.decision.choices);
        let chain = page.scene.chain(values, case);
        let Some(choice) = chain.iter().find(|it| it.role == Role::Choice) else { continue };
        let because = choice.because.as_deref().map_or_else(|| page.scene.says(choice), str::to_string);
        let mut made: Vec<String> = Vec::new();
        for row in choice.conditions().filter_map(|part| rows(part).into_iter().next()) {
            // One value of each grade says enough: the first that made it.
            let cause = match &row.claim {
                Claim::Raised { sure: true, caps: false, met, .. } => {
                    met.iter().find(|met| !is_date(page, met)).map(|met| page.words().met(met))
                }
                Claim::Raised { .. } => None,
                _ => causes(page, row).into_iter().next(),
            };
            made.extend(cause.filter(|cause| !made.contains(cause)));
        }
        let because = sentence(&because);
        let values = sentence(&made.join("; "));
        let whole = format!("{because} {values}");
        let words = match made.is_empty() {
            true => because,
            false if wrapped(&whole, ROOM, ROOM).len() > LINES => values,
            false => whole,
        };
        if !said.contains(&words) {
            said.push(words);
        }
    }
    said
}

/// Returns whether a comparison is of the day, which everybody knows.
fn is_date(page: &Page<'_>, met: &Compared) -> bool {
    match met.test.subject {
        Subject::Name(id) => page.scene.plan.names.get(id.index()).is_some_and(|it| it.kind == Kind::Date),
        _ => false,
    }
}

/// Chooses the forms that fit: each piece by its rank in its shortest form first; then, in the order of the page, the
/// longest for which there is still room. The first piece is always said.
fn fitted(page: &Page<'_>, pieces: Vec<ReasonForms>, most: usize) -> Vec<Reason> {
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
        let says = piece.forms.into_iter().nth(form?)?;
        let label = if piece.label.is_empty() { String::new() } else { page.words().say(piece.label, &[]) };
        Some(Reason { label, says })
    })
    .collect()
}

/// Returns the label of a statement's choice.
fn title(page: &Page<'_>, statement: &Statement) -> String {
    match statement.item {
        Item::Choice(choice) => page.scene.choice_label(choice).to_string(),
        item => item.written(page.scene.plan),
    }
}

/// Returns the conditions of a choice with the values they met: those on bands each with what made the grade, the
/// others together; then what made the grades below.
fn met(page: &Page<'_>, choice: &Statement) -> Vec<ReasonForms> {
    let plain: Vec<String> =
        choice.conditions().filter(|part| rows(part).is_empty()).map(|part| page.scene.says(part)).collect();
    let mut pieces = Vec::new();
    if !plain.is_empty() {
        pieces.push(ReasonForms::new("", 1, shortened(page, &plain)));
    }
    let mut todo: VecDeque<(&Statement, bool)> = choice.conditions().map(|part| (part, true)).collect();
    while let Some((statement, top)) = todo.pop_front() {
        let own = || statement.from.iter().filter(|part| part.role == Role::Row).collect();
        let said = if top { rows(statement) } else { own() };
        // The first row is the one that made the grade; the others say no more than that they hold besides.
        let Some(row) = said.first() else { continue };
        let grade = if top { page.scene.says(statement) } else { page.scene.value(statement) };
        let because = |why: String| page.words().say("claim.because", &[("claim", &grade), ("why", &why)]);
        let mut forms: Vec<String> = shortened(page, &causes(page, row)).into_iter().map(because).collect();
        // The value that made the first grade is said before all that is not allowed, others where there is room.
        if top && !pieces.is_empty() {
            forms.push(grade);
        }
        pieces.push(ReasonForms::new("", if top { 1 } else { 5 }, forms));
        todo.extend(row.from.iter().map(|below| (below, false)));
    }
    pieces
}

/// Returns a list in forms that name all of it, one less, down to the first.
fn shortened(page: &Page<'_>, list: &[String]) -> Vec<String> {
    let forms = (1..=list.len()).rev().map(|count| {
        let said = list.iter().take(count).cloned().collect::<Vec<_>>().join("; ");
        match list.len() - count {
            0 => said,
            rest => page.words().say("page.more", &[("said", &said), ("count", &rest.to_string())]),
        }
    });
    forms.collect()
}

/// Returns the rows of the band that a condition is on.
fn rows(condition: &Statement) -> Vec<&Statement> {
    let values = condition.from.iter().filter(|part| part.role == Role::Value);
    values.flat_map(|value| &value.from).filter(|part| part.role == Role::Row).collect()
}

/// Returns what made a grade: the conditions of a row that raised to it, or what the row does.
fn causes(page: &Page<'_>, row: &Statement) -> Vec<String> {
    let words = page.words();
    match &row.claim {
        Claim::Raised { sure: true, caps: false, met, .. } => {
            met.iter().map(|met| words.compared(met)).collect()
        }
        Claim::Stays => vec![words.say("claim.stays.why", &[])],
        _ => vec![words.say("claim.it-is", &[("claim", &page.scene.says(row))])],
    }
}

/// Returns what a gate shuts, without saying again that it does: with the conditions that make it so, and without.
fn shut_words(page: &Page<'_>, statement: &Statement) -> Vec<String> {
    let words = page.words();
    let says = match &statement.claim {
        Claim::Shut(tanks, by) => {
            let places = [("products", &*words.tanks(tanks)), ("why", &words.shutter(*by))];
            words.say("claim.shut.short", &places)
        }
        Claim::ShutBetween(tank, gates) => {
            let places = [("products", &*words.tank(tank)), ("why", &words.gates(gates))];
            words.say("claim.shut-between.short", &places)
        }
        _ => page.scene.says(statement),
    };
    vec![with_conditions(page, statement, &says), says]
}

/// Returns what gates shut in one piece: a single one with its conditions where there is room.
fn shut_together(page: &Page<'_>, shut: &[&Statement], rank: u8) -> Option<ReasonForms> {
    let says: Vec<String> = shut.iter().filter_map(|it| shut_words(page, it).pop()).collect();
    let whole = if let [one] = shut { shut_words(page, one).into_iter().next() } else { None };
    let forms: Vec<String> = whole.into_iter().chain(shortened(page, &says)).collect();
    (!forms.is_empty()).then(|| ReasonForms::new("page.not-allowed", rank, forms))
}

/// Returns a statement with the conditions that make it so.
fn with_conditions(page: &Page<'_>, statement: &Statement, says: &str) -> String {
    let conditions: Vec<String> = statement.conditions().map(|part| page.scene.says(part)).collect();
    if conditions.is_empty() { says.to_string() } else { format!("{says}; {}", conditions.join("; ")) }
}

/// Returns a choice or a gate of which it is not known whether it speaks, with what is open about it, and without.
fn open_words(page: &Page<'_>, statement: &Statement) -> Vec<String> {
    let words = page.words();
    let Item::Choice(choice) = statement.item else {
        let says = page.scene.says(statement);
        return vec![with_conditions(page, statement, &says), says];
    };
    // Of a choice that holds for certain only the way is open.
    let key = if matches!(statement.claim, Claim::Perhaps(_)) { "claim.perhaps" } else { "claim.certain" };
    let perhaps = words.say(key, &[("ways", page.scene.choice_label(choice))]);
    let met = |part: &Statement| match &part.claim {
        Claim::Compared(met) => Some(met.clone()),
        _ => None,
    };
    let open: Vec<Compared> =
        statement.conditions().filter_map(met).filter(|met| words.is_unknown(met)).collect();
    if open.is_empty() {
        return vec![with_conditions(page, statement, &perhaps), perhaps];
    }
    let open: Vec<String> = open.iter().map(|met| words.compared(met)).collect();
    shortened(page, &open).into_iter().map(|open| format!("{perhaps}: {open}")).collect()
}

/// So many sources are named on the page.
const SOURCES: usize = 2;

fn sources(page: &Page<'_>, statement: &Statement) -> Option<ReasonForms> {
    let cites: Vec<String> = statement.cites.iter().map(|it| page.words().cited(it)).collect();
    let mut forms = shortened(page, &cites);
    forms.drain(..cites.len().saturating_sub(SOURCES));
    (!forms.is_empty()).then(|| ReasonForms::new("page.source", 3, forms))
}
