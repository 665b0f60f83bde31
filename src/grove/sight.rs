//! What was seen, of what, and when: the rows of scouting, and which of them counts for a tree.
//!
//! Comes in: rows that speak of trees, ranges, blocks or the grove. Goes out: for a tree and a name the row that
//! counts: the newest day first; on one day the most specific; of equal ones the later row.

use super::column::{ColumnReader, NamedColumn};
use super::contradiction::{Contradiction, contradictions};
use super::group::{Group, PanicleGroups, WrongShares};
use super::target::Target;
use super::tree::Trees;
use super::value::SeenValue;
use crate::plan::{NameId, Place, Plan};
use crate::source::Span;
use chrono::{DateTime, Datelike};
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// The place of a row that does not exist.
const NONE: u32 = u32::MAX;

/// What bears no day counts as seen on the day of the advice.
pub(super) const UNDATED: i32 = i32::MAX - 1;

/// All rows as they were read, the same at every moment.
#[derive(Clone, Debug, Default)]
struct SeenRows {
    days: Vec<i32>,
    /// When a row was written, of those that say so.
    moments: FxHashMap<u32, DateTime<Tz>>,
    spans: Vec<Span>,
    /// What each row speaks of.
    targets: Vec<(Target, u32)>,
    /// The shares of the rows that speak of one group of panicles.
    shares: FxHashMap<u32, f64>,
    /// Who looked, of the rows that say so.
    who: FxHashMap<u32, Arc<str>>,
    columns: Vec<(NameId, NamedColumn)>,
    /// Of each column whether it is seen of panicles.
    of_panicles: Vec<bool>,
}

/// The rows that are known at a moment, and for each target the ones that may count.
#[derive(Clone, Debug, Default)]
pub(super) struct Sights {
    rows: Arc<SeenRows>,
    /// The day of the moment, in days of the common era.
    today: i32,
    /// For each column the rows that count for targets of many trees.
    wide: Vec<Wide>,
    /// The rows of each tree, newest first: `starts[tree]..starts[tree + 1]` in `of_tree`.
    starts: Vec<u32>,
    of_tree: Vec<u32>,
    groups: PanicleGroups,
}

/// The newest row of one name for each target of many trees.
#[derive(Clone, Debug, Default)]
struct Wide {
    grove: Option<u32>,
    blocks: FxHashMap<u16, u32>,
    cultivars: FxHashMap<(u16, u32), u32>,
    /// From this tree on this row counts, up to the next entry's tree.
    ranges: Vec<(u32, u32)>,
}

/// A row that may count.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Candidate {
    pub day: i32,
    pub rank: u8,
    pub row: u32,
}

impl Sights {
    /// Returns the names of which anything was seen, in the order of their columns.
    pub fn names(&self) -> impl Iterator<Item = NameId> {
        self.rows.columns.iter().map(|(id, _)| *id)
    }

    /// Returns the row that counts for a tree; rows that speak of one group are passed over where `whole` says so.
    pub fn of_tree(&self, column: usize, tree: usize, trees: &Trees, whole: bool) -> Option<Candidate> {
        let seen = |row: &&u32| {
            let of_group = whole && self.is_of_group(**row);
            let cells = self.rows.columns.get(column);
            !of_group && cells.is_some_and(|(_, cells)| cells.is_seen(**row as usize))
        };
        let own =
            self.rows_of(tree).iter().find(seen).map(|row| self.candidate(*row, Target::Tree(0).rank()));
        let wide = self.wide.get(column);
        let block = trees.block(tree) as u16;
        let range =
            wide.and_then(|wide| wide.range(tree)).map(|row| self.candidate(row, Target::Range(0, 0).rank()));
        let cultivar = wide
            .filter(|wide| !wide.cultivars.is_empty())
            .and_then(|wide| wide.cultivars.get(&(block, trees.cultivar_number(tree)? as u32)))
            .map(|row| self.candidate(*row, Target::Cultivar(0, 0).rank()));
        let of_block = wide
            .filter(|wide| !wide.blocks.is_empty())
            .and_then(|wide| wide.blocks.get(&block))
            .map(|row| self.candidate(*row, Target::Block(0).rank()));
        let grove = wide.and_then(|wide| wide.grove).map(|row| self.candidate(row, Target::Grove.rank()));
        [own, range, cultivar, of_block, grove].into_iter().flatten().max()
    }

    /// Returns the groups of panicles of a tree, if it has any of its own.
    pub fn groups_of(&self, tree: usize, trees: &Trees) -> Option<&[Group]> {
        self.groups.of_tree(tree, trees)
    }

    /// Returns a cell.
    pub fn value(&self, column: usize, row: u32) -> Option<SeenValue> {
        self.rows.columns.get(column)?.1.get(row as usize)
    }

    /// Returns the day of a row.
    pub fn day(&self, row: u32) -> i32 {
        self.rows.day(row, self.today)
    }

    /// Returns where a row stands.
    pub fn span(&self, row: u32) -> Span {
        self.rows.spans.get(row as usize).copied().unwrap_or_default()
    }

    /// Returns who looked, where a row says so.
    pub fn who(&self, row: u32) -> Option<Arc<str>> {
        self.rows.who.get(&row).cloned()
    }

    /// Returns whether a row speaks of one group of panicles.
    pub fn is_of_group(&self, row: u32) -> bool {
        self.rows.shares.contains_key(&row)
    }

    fn rows_of(&self, tree: usize) -> &[u32] {
        let start = self.starts.get(tree).copied().unwrap_or(0) as usize;
        let end = self.starts.get(tree + 1).copied().unwrap_or(0) as usize;
        self.of_tree.get(start..end).unwrap_or_default()
    }

    fn candidate(&self, row: u32, rank: u8) -> Candidate {
        Candidate { day: self.day(row), rank, row }
    }
}

impl Wide {
    fn range(&self, tree: usize) -> Option<u32> {
        let tree = u32::try_from(tree).ok()?;
        let at = self.ranges.partition_point(|(start, _)| *start <= tree);
        let (_, row) = self.ranges.get(at.checked_sub(1)?)?;
        (*row != NONE).then_some(*row)
    }
}

impl SeenRows {
    /// Returns the day of a row, where today is the day of the advice.
    fn day(&self, row: u32, today: i32) -> i32 {
        let day = self.days.get(row as usize).copied().unwrap_or(i32::MIN);
        if day == UNDATED { today } else { day }
    }
}

/// Rows as they are read.
pub(super) struct SightReader<'p> {
    plan: &'p Plan,
    readers: Vec<ColumnReader<'p>>,
    rows: SeenRows,
    latest: Option<Arc<str>>,
}

/// The rows as they are known at a moment, what is wrong with the shares of groups, and which rows say different things.
type SightsRead = (Sights, Vec<WrongShares>, Vec<Contradiction>);

impl<'p> SightReader<'p> {
    /// Begins without rows.
    pub fn new(plan: &'p Plan) -> Self {
        Self { plan, readers: Vec::new(), rows: SeenRows::default(), latest: None }
    }

    /// Returns the place of a name among the columns.
    pub fn reader(&mut self, name: NameId) -> usize {
        if let Some(at) = self.readers.iter().position(|reader| reader.id == name) {
            return at;
        }
        self.readers.push(ColumnReader::new(name, self.plan));
        self.readers.len() - 1
    }

    /// Begins a row and returns its number.
    pub fn row(&mut self, day: i32, span: Span, targets: &[Target], share: Option<f64>) -> usize {
        let row = self.rows.days.len();
        let number = u32::try_from(row).unwrap_or(NONE);
        self.rows.days.push(day);
        self.rows.spans.push(span);
        self.rows.targets.extend(targets.iter().map(|target| (*target, number)));
        if let Some(share) = share {
            self.rows.shares.insert(number, share);
        }
        row
    }

    /// Notes the moment at which a row was written.
    pub fn written(&mut self, row: usize, at: DateTime<Tz>) {
        self.rows.moments.insert(u32::try_from(row).unwrap_or(NONE), at);
    }

    /// Notes who looked for a row; one name is kept once for all the rows that follow one another.
    pub fn looked(&mut self, row: usize, who: &str) {
        let known = self.latest.take().filter(|latest| **latest == *who);
        let who = known.unwrap_or_else(|| who.into());
        self.latest = Some(Arc::clone(&who));
        self.rows.who.insert(u32::try_from(row).unwrap_or(NONE), who);
    }

    /// Reads a cell of a row; says whether anything was seen.
    pub fn cell(&mut self, reader: usize, row: usize, cell: &[u8]) -> Result<bool, super::trouble::Trouble> {
        self.readers.get_mut(reader).map_or(Ok(false), |reader| reader.read(row, cell))
    }

    /// Orders the rows as they are known at a moment.
    pub fn done(mut self, trees: &Trees, as_of: DateTime<Tz>) -> SightsRead {
        self.rows.columns = self.readers.into_iter().map(ColumnReader::done).collect();
        let of_panicles = |(id, _): &(NameId, NamedColumn)| self.plan[*id].scope == Place::Panicles;
        self.rows.of_panicles = self.rows.columns.iter().map(of_panicles).collect();
        let (sights, wrong, by_age) = Sights::known(Arc::new(self.rows), trees, as_of);
        let contradictions = contradictions(&sights, &by_age);
        (sights, wrong, contradictions)
    }
}

impl Sights {
    /// Returns the rows as they were known at an earlier moment, and what is wrong with the shares of groups then.
    pub fn at(&self, trees: &Trees, as_of: DateTime<Tz>) -> (Self, Vec<WrongShares>) {
        let (sights, wrong, _) = Self::known(Arc::clone(&self.rows), trees, as_of);
        (sights, wrong)
    }

    /// Orders the rows that are known at a moment; the list has them by age, the newest first.
    fn known(
        rows: Arc<SeenRows>,
        trees: &Trees,
        as_of: DateTime<Tz>,
    ) -> (Self, Vec<WrongShares>, Vec<(Target, u32)>) {
        let today = as_of.date_naive().num_days_from_ce();
        let is_known = |row: u32| {
            let written = rows.moments.get(&row);
            rows.day(row, today) <= today && written.is_none_or(|written| *written <= as_of)
        };
        let mut by_age: Vec<(Target, u32)> =
            rows.targets.iter().filter(|(_, row)| is_known(*row)).copied().collect();
        // Stable, so that of rows of one day the later stands first after the reversal.
        by_age.sort_by_key(|(_, row)| rows.day(*row, today));
        by_age.reverse();
        let day = |row: u32| rows.day(row, today);
        let (groups, wrong) = PanicleGroups::build(&by_age, &rows.shares, &day, &rows.spans, trees.len());
        let mut sights = Self { rows, today, groups, ..Self::default() };
        sights.order_trees(&by_age, trees.len());
        sights.wide =
            (0..sights.rows.columns.len()).map(|column| sights.order_wide(column, &by_age)).collect();
        (sights, wrong, by_age)
    }

    fn order_trees(&mut self, by_age: &[(Target, u32)], trees: usize) {
        let own = || {
            by_age.iter().filter_map(|(target, row)| match target {
                Target::Tree(tree) => Some((*tree as usize, *row)),
                Target::Grove | Target::Block(_) | Target::Cultivar(..) | Target::Range(..) => None,
            })
        };
        if own().next().is_none() {
            return;
        }
        let mut starts = vec![0u32; trees + 2];
        for (tree, _) in own() {
            if let Some(count) = starts.get_mut(tree + 2) {
                *count += 1;
            }
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut rows = vec![0u32; sum as usize];
        for (tree, row) in own() {
            if let Some(next) = starts.get_mut(tree + 1) {
                if let Some(place) = rows.get_mut(*next as usize) {
                    *place = row;
                }
                *next += 1;
            }
        }
        starts.truncate(trees + 1);
        (self.starts, self.of_tree) = (starts, rows);
    }

    fn order_wide(&self, column: usize, by_age: &[(Target, u32)]) -> Wide {
        let mut wide = Wide::default();
        let mut ranges: Vec<(u32, u32, u32)> = Vec::new();
        let Some((_, cells)) = self.rows.columns.get(column) else { return wide };
        let of_panicles = self.rows.of_panicles.get(column).copied().unwrap_or(false);
        for (target, row) in by_age {
            let of_group = of_panicles && self.is_of_group(*row);
            if of_group || !cells.is_seen(*row as usize) {
                continue;
            }
            match *target {
                Target::Tree(_) => {}
                Target::Grove => wide.grove = wide.grove.or(Some(*row)),
                Target::Block(block) => {
                    wide.blocks.entry(block).or_insert(*row);
                }
                Target::Cultivar(block, cultivar) => {
                    wide.cultivars.entry((block, cultivar)).or_insert(*row);
                }
                Target::Range(first, last) => ranges.push((first, last, *row)),
            }
        }
        wide.ranges = newest_by_tree(&ranges);
        wide
    }
}

/// Cuts ranges, the newest first, into stretches of trees for which one of them counts.
pub(super) fn newest_by_tree(ranges: &[(u32, u32, u32)]) -> Vec<(u32, u32)> {
    let mut edges: Vec<(u32, bool, usize)> = Vec::with_capacity(ranges.len() * 2);
    for (age, (first, last, _)) in ranges.iter().enumerate() {
        edges.push((*first, true, age));
        edges.push((last.saturating_add(1), false, age));
    }
    edges.sort_unstable();
    let mut open = std::collections::BTreeSet::new();
    let mut stretches: Vec<(u32, u32)> = Vec::new();
    for (tree, opens, age) in edges {
        if opens {
            open.insert(age);
        } else {
            open.remove(&age);
        }
        let row = open.first().and_then(|age| ranges.get(*age)).map_or(NONE, |(_, _, row)| *row);
        match stretches.last_mut() {
            Some((start, last)) if *start == tree => *last = row,
            Some((_, last)) if *last == row => {}
            _ => stretches.push((tree, row)),
        }
    }
    stretches
}
