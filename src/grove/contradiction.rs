//! Rows of scouting that say different things of one place on one day: the later one counts, and that is said.
//!
//! Comes in: the rows as they are ordered. Goes out: which row counts, which does not, and of what. A more specific row is
//! no contradiction, nor is one of a group of panicles, nor a value that lies within the other's.

use super::sight::Sights;
use super::target::Target;
use super::value::SeenValue;
use crate::plan::NameId;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

/// Two rows that say different things.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Contradiction {
    /// Of what, as the row that counts says it.
    pub of: Target,
    /// The row that counts, and the one that does not.
    pub rows: (u32, u32),
    /// Which observations they differ in.
    pub names: Vec<NameId>,
}

/// Rows with what they speak of.
type LookRow = (Target, u32);

/// So many ranges of one day are held against each other.
const RANGES: usize = 200;

/// Finds the contradictions of rows that still count; `by_age` has the newest first.
pub(super) fn contradictions(sights: &Sights, by_age: &[LookRow]) -> Vec<Contradiction> {
    let mut pairs: BTreeMap<(u32, u32), (Target, Vec<usize>)> = BTreeMap::new();
    for of_day in by_age.chunk_by(|(_, a), (_, b)| sights.day(*a) == sights.day(*b)) {
        for (later, earlier) in same_place(of_day) {
            let differ = differing(sights, later.1, earlier.1);
            if !differ.is_empty() {
                pairs.insert((later.1, earlier.1), (later.0, differ));
            }
        }
    }
    if pairs.is_empty() {
        return Vec::new();
    }
    // What was seen anew on a later day counts in place of both.
    let mut newest: FxHashMap<(Target, usize), i32> = FxHashMap::default();
    for (target, columns) in pairs.values() {
        newest.extend(columns.iter().map(|column| ((*target, *column), i32::MIN)));
    }
    for (target, row) in by_age {
        for column in 0..sights.names().count() {
            if let Some(day) = newest.get_mut(&(*target, column))
                && sights.value(column, *row).is_some()
            {
                *day = (*day).max(sights.day(*row));
            }
        }
    }
    let names: Vec<NameId> = sights.names().collect();
    let of_pair = |((later, earlier), (of, columns)): ((u32, u32), (Target, Vec<usize>))| {
        let counts = |column: &usize| newest.get(&(of, *column)).is_some_and(|day| *day <= sights.day(later));
        let names: Vec<NameId> =
            columns.iter().filter(|column| counts(column)).filter_map(|at| names.get(*at).copied()).collect();
        (!names.is_empty()).then_some(Contradiction { of, rows: (later, earlier), names })
    };
    pairs.into_iter().filter_map(of_pair).collect()
}

/// Returns pairs of rows of one day that speak of the same place or of ranges that meet, the later row first.
fn same_place(of_day: &[LookRow]) -> Vec<(LookRow, LookRow)> {
    let mut sorted: Vec<LookRow> = of_day.to_vec();
    sorted.sort_unstable();
    let mut found: Vec<(LookRow, LookRow)> = Vec::new();
    for same in sorted.chunk_by(|(a, _), (b, _)| a == b) {
        found.extend(same.windows(2).filter_map(|pair| match pair {
            [earlier, later] => Some((*later, *earlier)),
            _ => None,
        }));
    }
    let is_range = |(target, _): &&LookRow| matches!(target, Target::Range(..));
    let ranges: Vec<LookRow> = sorted.iter().filter(is_range).take(RANGES).copied().collect();
    for (at, one) in ranges.iter().enumerate() {
        let Target::Range(_, last) = one.0 else { continue };
        for other in ranges.iter().skip(at + 1) {
            let Target::Range(first, _) = other.0 else { continue };
            if first > last {
                break;
            }
            if one.0 != other.0 {
                found.push(if one.1 > other.1 { (*one, *other) } else { (*other, *one) });
            }
        }
    }
    found
}

/// Returns the columns in which two rows say what cannot both be true.
fn differing(sights: &Sights, one: u32, other: u32) -> Vec<usize> {
    if one == other || sights.is_of_group(one) || sights.is_of_group(other) {
        return Vec::new();
    }
    let differ = |column: &usize| match (sights.value(*column, one), sights.value(*column, other)) {
        (Some(one), Some(other)) => !agree(&one, &other),
        (None, _) | (_, None) => false,
    };
    (0..sights.names().count()).filter(differ).collect()
}

fn agree(one: &SeenValue, other: &SeenValue) -> bool {
    match (one.ends(), other.ends()) {
        (Some((low, high)), Some((other_low, other_high))) => low <= other_high && other_low <= high,
        (None, _) | (_, None) => one == other,
    }
}
