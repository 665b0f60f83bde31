//! Which rows of a table differ between two rulebooks: keys added, dropped, and those that give something else.

use crate::plan::{CellValue, Kind, Pattern, Plan, Table, Word, WordList};
use crate::prove::mutate::defined::key_datum;
use crate::units::{Threshold, Unit};
use serde::Serialize;
use std::collections::BTreeSet;

/// A row of a table that differs.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct RowChange {
    /// Its keys, in words.
    pub key: String,
    /// What it gave; nothing where there was no such row.
    pub was: Option<String>,
    /// What it gives; nothing where there is no such row.
    pub now: Option<String>,
}

/// Returns the rows of an item that differ, if it is a table: those of the old rulebook first, each in its text's order.
pub(super) fn row_changes(plans: [&Plan; 2], item: &str) -> Vec<RowChange> {
    let is_it = |table: &&Table| format!("table {}", table.name) == item;
    let tables = plans.map(|plan| plan.tables.iter().find(is_it));
    let lists = plans.map(|plan| plan.word_lists.iter().find(|list| format!("scale {}", list.name) == item));
    let (before, after) = match (tables, lists) {
        ([Some(was), Some(now)], _) => (rows(plans[0], was), rows(plans[1], now)),
        (_, [Some(was), Some(now)]) => levels([was, now]),
        _ => return Vec::new(),
    };
    let gives = |rows: &[(String, String)], key: &str| {
        rows.iter().find(|(known, _)| known == key).map(|(_, gives)| gives.clone())
    };
    let old = before.iter().map(|(key, _)| key);
    let new = after.iter().map(|(key, _)| key).filter(|key| gives(&before, key).is_none());
    let all = old.chain(new).map(|key| RowChange {
        key: key.clone(),
        was: gives(&before, key),
        now: gives(&after, key),
    });
    all.filter(|row| row.was != row.now).collect()
}

/// Returns the levels of two scales with their codes, and, where the same levels come in another order, that.
fn levels(lists: [&WordList; 2]) -> (Vec<(String, String)>, Vec<(String, String)>) {
    let code = |word: &Word| match word.codes {
        None => "no code".to_owned(),
        Some((first, last)) if first == last => first.to_string(),
        Some((first, last)) => format!("{first} to {last}"),
    };
    let names = lists.map(|list| list.words.iter().map(|word| &*word.name).collect::<Vec<&str>>());
    let sorted = names.clone().map(|names| names.into_iter().collect::<BTreeSet<&str>>());
    let [was, now] = [0, 1].map(|at: usize| {
        let order = (sorted[0] == sorted[1]).then(|| ("order".to_owned(), names[at].join(", ")));
        lists[at].words.iter().map(|word| (word.name.to_string(), code(word))).chain(order).collect()
    });
    (was, now)
}

/// Returns the rows of a table in words: the keys, and what they give.
fn rows(plan: &Plan, table: &Table) -> Vec<(String, String)> {
    let row = |row: &crate::plan::TableRow| {
        let keys = row.patterns.iter().enumerate().map(|(key, it)| pattern(plan, table, key, it));
        (keys.collect::<Vec<String>>().join(", "), value(plan, table, &row.gives))
    };
    let otherwise = table.otherwise.iter().map(|it| ("otherwise".to_owned(), value(plan, table, it)));
    table.rows.iter().map(row).chain(otherwise).collect()
}

fn pattern(plan: &Plan, table: &Table, key: usize, pattern: &Pattern) -> String {
    let unit = table.key_units.get(key).cloned().unwrap_or_else(Unit::none);
    let kind = table.keys.get(key).copied().unwrap_or(Kind::Number);
    let end = |(at, _): &(Threshold, bool)| match kind {
        Kind::Words(_) | Kind::YesNo => plan.word_in(kind, at.value() as u16),
        _ => crate::plan::number_in(kind, &unit, at.value()),
    };
    match pattern {
        Pattern::Any => "any".to_owned(),
        Pattern::Is(datum) => key_datum(plan, table, key, *datum),
        Pattern::Numbers { low, high } => match (low, high) {
            (Some(low), Some(high)) if low.0.value() == high.0.value() => end(low),
            (Some(low), Some(high)) if high.1 => format!("from {} to {}", end(low), end(high)),
            (Some(low), Some(high)) => format!("from {} to below {}", end(low), end(high)),
            (Some(low), None) => format!("{} {}", if low.1 { "at least" } else { "above" }, end(low)),
            (None, Some(high)) => format!("{} {}", if high.1 { "at most" } else { "below" }, end(high)),
            (None, None) => "any".to_owned(),
        },
    }
}

fn value(plan: &Plan, table: &Table, gives: &CellValue) -> String {
    let words = |datum| plan.datum_in(table.gives, &table.unit, datum);
    match gives {
        CellValue::One(datum) => words(*datum),
        CellValue::Between(low, high) => format!("{} to {}", words(*low), words(*high)),
        CellValue::Unknown => "unknown".to_owned(),
        CellValue::Empty => "empty".to_owned(),
    }
}
