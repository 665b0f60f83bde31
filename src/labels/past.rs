//! Sprays of the log that broke a label. They count all the same; that they did is said.

use super::jugs::{in_shed, jugs_used, with_jugs};
use super::{Application, LabelRecord, LineKept, Restriction, Used, label_record};
use crate::grove::{Grove, SprayRow};
use crate::measure::{Truth, season_start};
use crate::plan::Plan;
use crate::source::Span;
use chrono::NaiveDate;
use rustc_hash::FxHashSet;
use std::collections::BTreeSet;

/// A spray of the log that broke a line of a label.
#[derive(Clone, PartialEq, Debug)]
pub struct BrokenLabel {
    /// Its row.
    pub at: Span,
    /// Its day.
    pub day: NaiveDate,
    /// The line, with what it met at the first tree where it was broken.
    pub line: LineKept,
}

/// Finds the sprays of the season under way that broke a line of a label, of the rulebook or of the jug that was used; each
/// line once for a row. `plan` is the rulebook without the jugs.
///
/// Labels are read as they stand now. What cannot be known, such as an amount that a row does not give, breaks nothing.
pub fn broken_labels(plan: &Plan, grove: &Grove) -> Vec<BrokenLabel> {
    let since = season_start(plan.head.season.0, grove.as_of.date_naive());
    let (mut found, mut alike, mut told) = (Vec::new(), FxHashSet::default(), FxHashSet::default());
    let trees = (0..grove.trees.len()).filter(|tree| alike.insert(sprayed_as(grove, *tree)));
    each_broken(
        plan,
        grove,
        trees,
        |row| row.day() >= since,
        |row, line| {
            if told.insert((row.at, line.label.product, line.label.written.clone())) {
                found.push(BrokenLabel { at: row.at, day: row.day(), line });
            }
        },
    );
    found
}

/// Returns the later sprays of a log whose labels are broken only since a row was added to it, with those lines.
pub fn later_broken(
    plan: &Plan,
    (before, with): (&Grove, &Grove),
    row: &SprayRow,
) -> Vec<(SprayRow, LabelRecord)> {
    let is_later = |other: &SprayRow| (other.end, other.start) > (row.end, row.start);
    // A row has other places in the two logs, and a line is broken for all trees that are alike in both.
    let spray = |row: &SprayRow| (row.start, row.end, row.on.clone());
    let alike = |tree: usize| (sprayed_as(before, tree), sprayed_as(with, tree));
    let of = |row: &SprayRow, line: &LineKept, tree: usize| {
        (spray(row), alike(tree), line.product, line.label.product, line.label.written.clone())
    };
    let mut seen = FxHashSet::default();
    let trees: Vec<usize> =
        row.trees(&with.trees).into_iter().filter(|tree| seen.insert(alike(*tree))).collect();
    let broken = |grove: &Grove| {
        let mut broken = FxHashSet::default();
        each_broken(plan, grove, trees.iter().copied(), is_later, |row, line| {
            broken.extend(line.trees.iter().map(|tree| of(row, &line, *tree)));
        });
        broken
    };
    let (known, mut new) = (broken(before), broken(with));
    new.retain(|it| !known.contains(it));
    let late: FxHashSet<_> = new.iter().map(|(spray, ..)| spray.clone()).collect();
    let told = with.log.rows().iter().filter(|other| late.contains(&spray(other))).map(|other| {
        let mut record = label_record(plan, with, other);
        for line in &mut record.lines {
            let trees = std::mem::take(&mut line.trees).into_iter();
            line.trees = trees.filter(|tree| new.contains(&of(other, line, *tree))).collect();
        }
        record.lines.retain(|line| line.broken == Truth::Yes && !line.trees.is_empty());
        (other.clone(), record)
    });
    told.filter(|(_, record)| !record.lines.is_empty()).collect()
}

/// Returns what two trees share for which the labels say the same: a history, a block and a harvest.
pub(super) fn sprayed_as(grove: &Grove, tree: usize) -> (usize, usize, Option<NaiveDate>) {
    (grove.log.history_of(tree), grove.trees.block(tree), grove.harvest(tree))
}

/// Goes through the sprays of trees, those of one tree from the oldest on, and gives each line of a label that one of them
/// broke. Sprays that are not judged count all the same; each is looked at once.
fn each_broken<'g>(
    plan: &Plan,
    grove: &'g Grove,
    trees: impl Iterator<Item = usize>,
    is_judged: impl Fn(&SprayRow) -> bool,
    mut each: impl FnMut(&'g SprayRow, LineKept),
) {
    // A spray is judged by the labels of the jugs that it used.
    let judged = grove.log.rows().iter().filter(|row| is_judged(row));
    let jugs: BTreeSet<Vec<usize>> = judged.map(|row| jugs_used(grove, row)).collect();
    let plans: Vec<(Vec<usize>, Plan)> =
        jugs.into_iter().map(|jugs| (jugs.clone(), with_jugs(plan, in_shed(grove, &jugs)))).collect();
    let lines: Vec<Vec<Restriction<'_>>> =
        plans.iter().map(|(_, plan)| Restriction::all(plan).collect()).collect();
    for tree in trees {
        let rows: Vec<&SprayRow> = grove.log.of_tree(tree).collect();
        let mut used: Vec<Vec<Used>> = lines.iter().map(|lines| vec![Used::default(); lines.len()]).collect();
        let mut done = 0;
        for tank in rows.chunk_by(|a, b| a.is_one_with(b)) {
            let before = rows.get(..done).unwrap_or_default();
            done += tank.len();
            for row in tank.iter().copied().filter(|row| is_judged(row)) {
                let jugs = jugs_used(grove, row);
                let mut plans = plans.iter().zip(&lines).zip(&mut used);
                let Some((((_, plan), lines), used)) = plans.find(|(((of, _), _), _)| *of == jugs) else {
                    continue;
                };
                let application = Application { plan, grove, tree, before, tank, row };
                for (line, used) in lines.iter().zip(used) {
                    if let Some((product, broken @ Truth::Yes, met)) = application.hold(line, used) {
                        each(
                            row,
                            LineKept { trees: vec![tree], product, label: line.label.clone(), broken, met },
                        );
                    }
                }
            }
        }
    }
}
