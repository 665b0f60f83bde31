//! Groups of panicles: which part of a tree's panicles is of one age.
//!
//! Comes in: rows with a share. Goes out: for a tree the groups of the newest day that gives shares; of targets of
//! that day the most specific; of its rows the last ones that together make 100 %. Knows no values.

use super::sight::newest_by_tree;
use super::target::Target;
use super::tree::Trees;
use crate::source::Span;
use rustc_hash::FxHashMap;

/// Shares may miss 100 % by so much: no more than the noise of binary numbers.
const SLACK: f64 = 1e-9;

/// A group of panicles of a tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Its share of the tree's panicles; 0.6 is 60 %.
    pub share: f64,
    /// Where it is written; of a tree without groups of its own nowhere.
    pub at: Option<Span>,
    /// Its row of scouting.
    pub(super) row: u32,
    /// The day on which it was seen, in days of the common era.
    pub(super) day: i32,
}

impl Group {
    /// All panicles of a tree that has no groups of its own.
    pub(super) const WHOLE: Self = Self { share: 1.0, at: None, row: u32::MAX, day: i32::MIN };
}

/// The groups of all trees.
#[derive(Clone, Debug, Default)]
pub(super) struct PanicleGroups {
    sets: Vec<TargetGroups>,
    of_target: FxHashMap<Target, u32>,
    ranges: Vec<(u32, u32)>,
}

/// The groups of one target on its newest day.
#[derive(Clone, Debug)]
struct TargetGroups {
    day: i32,
    groups: Vec<Group>,
}

/// Shares that do not add up.
pub(super) struct WrongShares {
    /// What they speak of.
    pub target: Target,
    /// Their day, in days of the common era.
    pub day: i32,
    /// What they add up to.
    pub sum: f64,
    /// Where they stand.
    pub rows: Vec<Span>,
}

impl PanicleGroups {
    /// Returns the groups of a tree.
    pub fn of_tree(&self, tree: usize, trees: &Trees) -> Option<&[Group]> {
        if self.sets.is_empty() {
            return None;
        }
        let number = u32::try_from(tree).ok()?;
        let block = u16::try_from(trees.block(tree)).ok()?;
        let cultivar = trees.cultivar_number(tree).and_then(|at| u32::try_from(at).ok());
        let targets = [
            Some(Target::Grove),
            Some(Target::Block(block)),
            cultivar.map(|cultivar| Target::Cultivar(block, cultivar)),
            Some(Target::Tree(number)),
        ];
        let named = targets.into_iter().flatten().filter_map(|target| {
            let set = *self.of_target.get(&target)?;
            Some((self.sets.get(set as usize)?, target.rank()))
        });
        let at = self.ranges.partition_point(|(start, _)| *start <= number);
        let range = at.checked_sub(1).and_then(|at| self.ranges.get(at));
        let ranged = range
            .and_then(|(_, set)| self.sets.get(*set as usize))
            .map(|set| (set, Target::Range(number, number).rank()));
        let (set, _) = named.chain(ranged).max_by_key(|(set, rank)| (set.day, *rank))?;
        Some(&set.groups)
    }

    /// Sorts rows that stand newest first into groups.
    pub fn build(
        by_age: &[(Target, u32)],
        shares: &FxHashMap<u32, f64>,
        day: &dyn Fn(u32) -> i32,
        spans: &[Span],
        trees: usize,
    ) -> (Self, Vec<WrongShares>) {
        let (mut groups, mut wrong) = (Self::default(), Vec::new());
        if shares.is_empty() || trees == 0 {
            return (groups, wrong);
        }
        let span = |row: u32| spans.get(row as usize).copied().unwrap_or_default();
        // The rows of each target and day, the latest first.
        let mut rows: Vec<(Target, i32, u32, f64)> = by_age
            .iter()
            .filter_map(|(target, row)| shares.get(row).map(|share| (*target, day(*row), *row, *share)))
            .collect();
        rows.sort_by(|a, b| (a.0, b.1, b.2).cmp(&(b.0, a.1, a.2)));
        let mut ranges = Vec::new();
        for same in rows.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let Some((target, on, ..)) = same.first().copied() else { continue };
            let mut sum = 0.0;
            let mut taken = 0;
            for (.., share) in same {
                sum += share;
                taken += 1;
                if sum >= 1.0 - SLACK {
                    break;
                }
            }
            let of_rows = || same.iter().take(taken).rev();
            if (sum - 1.0).abs() > SLACK {
                let rows = of_rows().map(|(_, _, row, _)| span(*row)).collect();
                wrong.push(WrongShares { target, day: on, sum, rows });
            }
            let set = u32::try_from(groups.sets.len()).unwrap_or(u32::MAX);
            let list = of_rows()
                .map(|(_, day, row, share)| Group {
                    share: *share,
                    at: Some(span(*row)),
                    row: *row,
                    day: *day,
                })
                .collect();
            match target {
                Target::Range(first, last) => ranges.push((on, first, last, set)),
                Target::Grove | Target::Block(_) | Target::Cultivar(..) | Target::Tree(_) => {
                    if groups.of_target.contains_key(&target) {
                        continue;
                    }
                    groups.of_target.insert(target, set);
                }
            }
            groups.sets.push(TargetGroups { day: on, groups: list });
        }
        let last_row =
            |set: u32| groups.sets.get(set as usize).and_then(|set| set.groups.last()).map(|group| group.row);
        ranges.sort_by_key(|(day, _, _, set)| std::cmp::Reverse((*day, last_row(*set))));
        let newest: Vec<(u32, u32, u32)> =
            ranges.into_iter().map(|(_, first, last, set)| (first, last, set)).collect();
        groups.ranges = newest_by_tree(&newest);
        (groups, wrong)
    }
}
