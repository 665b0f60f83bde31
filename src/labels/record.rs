//! What the labels say of a spray that was done: each line of the rulebook and of the jugs, the stricter counts.
//!
//! Comes in: a row of the log. Goes out: for each label line of its products whether it was kept, with the value met.
//! The log is read as it stood before that spray.

use super::jugs::{in_shed, jugs_used, with_jugs};
use super::past::sprayed_as;
use super::{Application, LineKept, Restriction, Used, open_after};
use crate::grove::{Grove, SprayRow};
use crate::plan::{LabelWord, Plan, ProductId};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

/// What the labels say of a spray.
#[derive(Clone, Debug)]
pub struct LabelRecord {
    /// The plan with the labels of the jugs that were used.
    pub plan: Plan,
    /// The lines that were looked at, broken ones first.
    pub lines: Vec<LineKept>,
    /// When people may go back in, after this spray and those before it on the same trees; nothing where no label gives a time.
    pub re_entry: Option<DateTime<Tz>>,
    /// The first day on which fruit may be picked after all of them, never before people may go in.
    pub picking: Option<NaiveDate>,
    /// For each product with an interval the first day of its next spray.
    pub next: Vec<(ProductId, NaiveDate)>,
}

/// Looks at the labels of a spray of the log. `plan` is the rulebook without the jugs; each product's label is that of the
/// jug that was used.
pub fn label_record(plan: &Plan, grove: &Grove, row: &SprayRow) -> LabelRecord {
    let (re_entry, picking) = open_after(plan, grove, row);
    let plan = with_jugs(plan, in_shed(grove, &jugs_used(grove, row)));
    LabelRecord { lines: lines_kept(&plan, grove, row), re_entry, picking, next: next(&plan, row), plan }
}

/// Holds a spray against each line of its labels, trees with the same answer together.
fn lines_kept(plan: &Plan, grove: &Grove, row: &SprayRow) -> Vec<LineKept> {
    let lines: Vec<Restriction<'_>> = Restriction::all(plan).collect();
    let mut found: Vec<LineKept> = Vec::new();
    for trees in alike(grove, row) {
        let Some(tree) = trees.first().copied() else { continue };
        let rows: Vec<&SprayRow> = grove.log.of_tree(tree).collect();
        let earlier = rows.partition_point(|it| (it.end, it.start) < (row.end, row.start));
        let (before, rest) = rows.split_at(earlier);
        let tank = rest.chunk_by(|a, b| a.is_one_with(b)).next().unwrap_or_default();
        let application = Application { plan, grove, tree, before, tank, row };
        for line in &lines {
            let Some((product, broken, met)) = application.hold(line, &mut Used::default()) else { continue };
            let kept = LineKept { trees: Vec::new(), product, label: line.label.clone(), broken, met };
            match found.iter_mut().find(|known| known.is_like(&kept)) {
                Some(known) => known.trees.extend(&trees),
                None => found.push(LineKept { trees: trees.clone(), ..kept }),
            }
        }
    }
    found.iter_mut().for_each(|line| line.trees.sort_unstable());
    found.sort_by_key(|line| std::cmp::Reverse(line.broken));
    found
}

/// Returns for each product of a row that has an interval the first day of its next spray.
fn next(plan: &Plan, row: &SprayRow) -> Vec<(ProductId, NaiveDate)> {
    let of = |product: ProductId| {
        let is_own =
            |line: &Restriction<'_>| (line.label.product, line.label.word) == (product, LabelWord::Interval);
        Some((product, Restriction::all(plan).find(is_own)?.bars_until(row.day())?))
    };
    row.parts.iter().filter_map(|part| of(part.product?)).collect()
}

/// Returns the trees of a row in sets whose trees were sprayed alike.
fn alike(grove: &Grove, row: &SprayRow) -> Vec<Vec<usize>> {
    let mut sets: Vec<(_, Vec<usize>)> = Vec::new();
    for tree in row.trees(&grove.trees) {
        let key = sprayed_as(grove, tree);
        match sets.iter_mut().find(|(known, _)| *known == key) {
            Some((_, trees)) => trees.push(tree),
            None => sets.push((key, vec![tree])),
        }
    }
    sets.into_iter().map(|(_, trees)| trees).collect()
}
