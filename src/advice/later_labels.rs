//! A spray that is written down late: which later sprays it makes break a label.
//!
//! Comes in: the log before and with its row. Goes out: the later sprays with the lines that are broken only now. Each
//! spray is looked at once, however many come after; only those that a line is newly broken for are told in full.

use super::label_record::{LabelRecord, LineKept, label_record, with_used};
use super::past_labels::{each_broken, sprayed_as};
use crate::grove::{Grove, SprayRow};
use crate::measure::Truth;
use crate::plan::{LabelWord, Plan, ProductId};
use crate::weather::Site;
use chrono::DateTime;
use chrono_tz::Tz;
use rustc_hash::FxHashSet;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Returns the later sprays of a log whose labels are broken only since a row was added to it, with those lines.
pub fn later_broken(
    plan: &Plan,
    (before, with): (&Grove, &Grove),
    site: &Site,
    row: &SprayRow,
) -> Vec<(SprayRow, LabelRecord)> {
    let broken = |grove: &Grove, row: &SprayRow| {
        let mut record = label_record(plan, grove, site, row);
        record.lines.retain(|line| line.broken == Truth::Yes);
        record
    };
    let late = newly_broken(plan, before, with, row);
    let mut found = Vec::new();
    for other in with.log.rows().iter().filter(|other| late.contains(&spray(other))) {
        let mut record = broken(with, other);
        let same = before
            .log
            .rows()
            .iter()
            .find(|old| old.is_one_with(other) && old.on == other.on && old.parts == other.parts);
        let known = same.map_or_else(Vec::new, |old| broken(before, old).lines);
        for line in &mut record.lines {
            let is = |old: &&LineKept| {
                (old.product, old.word, old.owner, old.other)
                    == (line.product, line.word, line.owner, line.other)
            };
            let known: FxHashSet<usize> =
                known.iter().filter(is).flat_map(|old| &old.trees).copied().collect();
            line.trees.retain(|tree| !known.contains(tree));
        }
        record.lines.retain(|line| !line.trees.is_empty());
        if !record.lines.is_empty() {
            found.push((other.clone(), record));
        }
    }
    found
}

/// A spray in whichever log it stands.
type LoggedSpray = (DateTime<Tz>, DateTime<Tz>, Arc<str>);

fn spray(row: &SprayRow) -> LoggedSpray {
    (row.start, row.end, row.on.clone())
}

/// Returns the later sprays for which a line of a label is broken with a row in the log, and was not without it.
fn newly_broken(plan: &Plan, before: &Grove, with: &Grove, row: &SprayRow) -> BTreeSet<LoggedSpray> {
    let own = row.trees(&with.trees);
    let is_later = |other: &SprayRow| (other.end, other.start) > (row.end, row.start);
    // A spray is judged by the labels of the jugs that it used.
    let jugs = |row: &SprayRow| row.parts.iter().map(|part| part.jug).collect::<Vec<_>>();
    let mut used: Vec<(Vec<Option<usize>>, &SprayRow)> = Vec::new();
    for other in with.log.rows().iter().filter(|other| is_later(other)) {
        let of = jugs(other);
        if !used.iter().any(|(known, _)| *known == of) {
            used.push((of, other));
        }
    }
    let mut alike = FxHashSet::default();
    let trees: Vec<usize> = own
        .into_iter()
        .filter(|tree| alike.insert((sprayed_as(before, *tree), sprayed_as(with, *tree))))
        .collect();
    let mut found = BTreeSet::new();
    for (of, other) in &used {
        let plan = with_used(plan, with, other);
        let broken = |grove: &Grove| {
            let mut broken: BTreeSet<(usize, LoggedSpray, ProductId, LabelWord, Arc<str>)> = BTreeSet::new();
            let is_judged = |row: &SprayRow| is_later(row) && jugs(row) == *of;
            each_broken(&plan, grove, trees.iter().copied(), is_judged, |it| {
                broken.insert((it.tree, spray(it.row), it.product, it.line.word, it.line.written.clone()));
            });
            broken
        };
        let known = broken(before);
        found.extend(broken(with).into_iter().filter(|it| !known.contains(it)).map(|(_, spray, ..)| spray));
    }
    found
}
