//! The spray log: what was sprayed on which trees, and when. Data only.
//!
//! A log that is not known is not an empty one. Trees that were sprayed alike share one history.

use super::Grove;
use super::shed::Jug;
use super::target::Target;
use super::tree::Trees;
use crate::plan::{Plan, ProductId, Sprayed};
use crate::source::Span;
use crate::units::Dimension;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The spray log of a grove.
#[derive(Clone, Debug, Default)]
pub struct SprayLog {
    /// Whether it is known at all.
    known: bool,
    rows: Vec<SprayRow>,
    /// The history of each tree; empty where all trees have the first one.
    of_tree: Vec<u32>,
    /// Rows by their places, the oldest first.
    histories: Vec<Vec<u32>>,
    /// When those sprays ended that began after the moment of the advice, the oldest first.
    ahead: Vec<DateTime<Tz>>,
}

/// One row of the log.
#[derive(Clone, Debug)]
pub struct SprayRow {
    /// When it began.
    pub start: DateTime<Tz>,
    /// When it ended; its day is that of the spray.
    pub end: DateTime<Tz>,
    /// On what, as written.
    pub on: Arc<str>,
    /// What was in the tank: one product, or the parts of a mix.
    pub parts: Vec<SprayPart>,
    /// How much spray, if the row says so.
    pub volume: Option<SprayVolume>,
    /// The land that was sprayed, in square millimetres: as written, else that of the trees.
    pub area: Option<f64>,
    /// What else the row says, by its column.
    pub fields: BTreeMap<&'static str, Arc<str>>,
    /// Where it stands.
    pub at: Span,
    pub(super) targets: Vec<Target>,
}

/// A product of a tank.
#[derive(Clone, Debug, PartialEq)]
pub struct SprayPart {
    /// The word that the row gives.
    pub word: Arc<str>,
    /// The product of the rulebook; nothing where it knows none of this word.
    pub product: Option<ProductId>,
    /// The place of the strength in the product's list.
    pub strength: Option<u8>,
    /// How much, if the row says so in figures.
    pub rate: Option<SprayRate>,
    /// The place of the jug in the shed.
    pub jug: Option<usize>,
    /// The jug as it was when the row was written, which counts before the one that is in the shed now.
    pub used: Option<Arc<Jug>>,
}

/// An amount of a product or its ingredient.
#[derive(Clone, Debug, PartialEq)]
pub struct SprayRate {
    /// How much, in base units.
    pub amount: f64,
    /// Mass or volume, by volume of spray, by area, or in all.
    pub dimension: Dimension,
    /// Whether it is for each tree.
    pub per_tree: bool,
    /// Of which ingredient; nothing: of the product.
    pub of: Option<Arc<str>>,
    /// As written.
    pub written: Arc<str>,
}

/// How much spray went out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SprayVolume {
    /// In all, in cubic millimetres.
    Total(f64),
    /// On an area, in millimetres.
    PerArea(f64),
    /// On each tree, in cubic millimetres.
    PerTree(f64),
}

/// The last spray of something.
#[derive(Clone, Copy, Debug)]
pub enum LastSpray<'l> {
    /// The log is not known.
    Unknown,
    /// There was none.
    Never,
    /// This row.
    Row(&'l SprayRow),
}

impl SprayRow {
    /// Returns the day of the spray, on which it ended.
    pub fn day(&self) -> NaiveDate {
        self.end.date_naive()
    }

    /// Returns whether the row bears what was used, as it stood when the row was written.
    pub fn is_frozen(&self) -> bool {
        self.fields.contains_key(super::used::TREES)
    }

    /// Returns a spray that is taken as done though no log has it: what a sprayer as it is set puts out of the jugs in use.
    pub fn assumed(
        (start, end): (DateTime<Tz>, DateTime<Tz>),
        (plan, grove): (&Plan, &Grove),
        doses: &[(ProductId, u8)],
        trees: &[usize],
    ) -> Self {
        let part = |(product, strength): &(ProductId, u8)| SprayPart {
            word: Arc::clone(&plan[*product].name),
            product: Some(*product),
            strength: Some(*strength),
            rate: None,
            jug: grove.shed.iter().position(|jug| jug.product == Some(*product)),
            used: None,
        };
        Self {
            start,
            end,
            on: "".into(),
            parts: doses.iter().map(part).collect(),
            volume: None,
            area: None,
            fields: BTreeMap::new(),
            at: Span::default(),
            targets: trees.iter().map(|tree| Target::Tree(place(*tree))).collect(),
        }
    }

    /// Goes through its trees; a tree that the row names twice comes twice.
    pub fn each_tree(&self, trees: &Trees, mut each: impl FnMut(usize)) {
        self.targets.iter().for_each(|target| target.each_tree(trees, &mut each));
    }

    /// Returns the trees that were sprayed, in walking order.
    pub fn trees(&self, trees: &Trees) -> Vec<usize> {
        let mut found = Vec::new();
        self.targets.iter().for_each(|target| target.each_tree(trees, |tree| found.push(tree)));
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Returns whether it has this in its tank.
    pub fn holds(&self, what: &Sprayed, plan: &Plan) -> bool {
        let mut products = self.parts.iter().filter_map(|part| part.product);
        match what {
            Sprayed::Any => true,
            Sprayed::Product(product) => products.any(|it| it == *product),
            Sprayed::Group(group) => products.any(|it| plan[it].groups.contains(group)),
        }
    }

    /// Returns whether two rows are of one spray: they began and ended together.
    pub fn is_one_with(&self, other: &SprayRow) -> bool {
        (self.start, self.end) == (other.start, other.end)
    }
}

impl SprayLog {
    /// A log in which nothing was ever sprayed.
    pub(super) fn none_yet() -> Self {
        Self { known: true, histories: vec![Vec::new()], ..Self::default() }
    }

    /// Notes sprays that began after the moment of the advice; nothing else is known of them.
    pub(super) fn with_ahead(mut self, rows: &[SprayRow]) -> Self {
        self.ahead = rows.iter().map(|row| row.end).collect();
        self.ahead.sort_unstable();
        self
    }

    /// Returns when those sprays ended that the log holds and that began after the moment of the advice, the oldest
    /// first: they are not among its rows.
    pub fn ahead(&self) -> &[DateTime<Tz>] {
        &self.ahead
    }

    /// Makes a log of rows and gives each tree its history.
    pub(super) fn of_rows(mut rows: Vec<SprayRow>, trees: &Trees) -> Self {
        rows.sort_by_key(|row| (row.end, row.start, row.at));
        let (of_tree, count) = alike(&rows, trees);
        // Each history is written once, from the rows of its first tree.
        let mut histories: Vec<Vec<u32>> = vec![Vec::new(); count];
        let mut first: Vec<bool> = Vec::with_capacity(of_tree.len());
        let mut known = 0;
        for own in &of_tree {
            first.push(*own == known);
            known = known.max(own.saturating_add(1));
        }
        for (at, row) in rows.iter().enumerate() {
            let number = place(at);
            row.each_tree(trees, |tree| {
                let own = of_tree.get(tree).filter(|_| first.get(tree) == Some(&true));
                let history = own.and_then(|own| histories.get_mut(*own as usize));
                // A row may name a tree twice.
                if let Some(history) = history.filter(|history| history.last() != Some(&number)) {
                    history.push(number);
                }
            });
        }
        Self { known: true, rows, of_tree, histories, ahead: Vec::new() }
    }

    /// Returns the log as it stood before a spray of it: without it, without what was in the tank with it, and without
    /// all that ended after it.
    pub fn before(&self, row: &SprayRow, trees: &Trees) -> Self {
        let earlier = |other: &&SprayRow| (other.end, other.start) < (row.end, row.start);
        let rows = self.rows.iter().filter(earlier).cloned().collect();
        Self { known: self.known, ..Self::of_rows(rows, trees) }
    }

    /// Returns the log as it stood at an earlier moment: of sprays that began later only their ends are noted.
    pub fn at(&self, as_of: DateTime<Tz>, trees: &Trees) -> Self {
        let (past, later): (Vec<_>, Vec<_>) = self.rows.iter().cloned().partition(|row| row.start <= as_of);
        if later.is_empty() {
            return self.clone();
        }
        let mut ahead: Vec<_> = later.iter().map(|row| row.end).chain(self.ahead.iter().copied()).collect();
        ahead.sort_unstable();
        Self { known: self.known, ahead, ..Self::of_rows(past, trees) }
    }

    /// Returns the log with more sprays in it.
    pub fn with(&self, rows: impl IntoIterator<Item = SprayRow>, trees: &Trees) -> Self {
        let all = self.rows.iter().cloned().chain(rows).collect();
        Self { known: self.known, ahead: self.ahead.clone(), ..Self::of_rows(all, trees) }
    }

    /// Returns whether the log is known.
    pub fn is_known(&self) -> bool {
        self.known
    }

    /// Returns all rows, the oldest first; corrected ones are not among them.
    pub fn rows(&self) -> &[SprayRow] {
        &self.rows
    }

    /// Returns how many different histories the trees have.
    pub fn histories(&self) -> usize {
        self.histories.len()
    }

    /// Returns the number of a tree's history; trees with the same number were sprayed alike.
    pub fn history_of(&self, tree: usize) -> usize {
        self.of_tree.get(tree).map_or(0, |history| *history as usize)
    }

    /// Returns the sprays of a history, the oldest first.
    pub fn of_history(&self, history: usize) -> impl DoubleEndedIterator<Item = &SprayRow> {
        let rows = self.histories.get(history).map_or(&[][..], |rows| rows);
        rows.iter().filter_map(|row| self.rows.get(*row as usize))
    }

    /// Returns the sprays of a tree, the oldest first.
    pub fn of_tree(&self, tree: usize) -> impl DoubleEndedIterator<Item = &SprayRow> {
        self.of_history(self.history_of(tree))
    }
}

/// Returns for each tree the number of those that were sprayed alike, numbered by their first tree, and how many there
/// are; one where there is no tree.
///
/// All begin as one. Each row parts those that it speaks of from the others of their kind; a kind that no tree is left
/// of gives its number to the next, so that there are never more than trees, however many rows.
fn alike(rows: &[SprayRow], trees: &Trees) -> (Vec<u32>, usize) {
    /// A kind of trees while rows are gone through.
    #[derive(Clone)]
    struct TreeKind {
        trees: usize,
        /// The row that made it.
        made: u32,
        /// The last row that parted it, and into which kind.
        parted: (u32, u32),
    }
    const NONE: u32 = u32::MAX;
    let mut kind_of = vec![0u32; trees.len()];
    let mut kinds = vec![TreeKind { trees: trees.len(), made: NONE, parted: (NONE, 0) }];
    let mut free: Vec<u32> = Vec::new();
    let mut left: Vec<u32> = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let number = place(at);
        row.each_tree(trees, |tree| {
            let Some(own) = kind_of.get_mut(tree) else { return };
            let Some(kind) = kinds.get_mut(*own as usize).filter(|kind| kind.made != number) else { return };
            kind.trees -= 1;
            if kind.trees == 0 {
                left.push(*own);
            }
            let into = match kind.parted {
                (by, into) if by == number => into,
                _ => {
                    let into = free.pop().unwrap_or(place(kinds.len()));
                    if let Some(kind) = kinds.get_mut(*own as usize) {
                        kind.parted = (number, into);
                    }
                    let new = TreeKind { trees: 0, made: number, parted: (NONE, 0) };
                    match kinds.get_mut(into as usize) {
                        Some(kind) => *kind = new,
                        None => kinds.push(new),
                    }
                    into
                }
            };
            if let Some(kind) = kinds.get_mut(into as usize) {
                kind.trees += 1;
            }
            *own = into;
        });
        free.append(&mut left);
    }
    let mut numbers = vec![NONE; kinds.len()];
    let mut count = 0;
    for own in &mut kind_of {
        let Some(number) = numbers.get_mut(*own as usize) else { continue };
        if *number == NONE {
            *number = count;
            count += 1;
        }
        *own = *number;
    }
    (kind_of, (count as usize).max(1))
}

/// Returns a place in a list as a number.
fn place(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}
