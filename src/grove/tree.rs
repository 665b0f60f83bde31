//! The trees of a grove in walking order: name, block, cultivar, place, and what their own file says was seen.
//!
//! Data only, a few bytes for each value, since a grove may have a million of them.

use super::column::NamedColumn;
use super::names::Names;
use super::value::SeenValue;
use crate::plan::NameId;
use crate::source::{SourceId, Span};
use chrono::NaiveDate;
use std::sync::Arc;

/// No date.
pub(super) const NO_DAY: i32 = i32::MIN;
/// A date after the moment of the advice.
pub(super) const LATER: i32 = i32::MAX;
/// No cultivar.
const NO_CULTIVAR: u32 = u32::MAX;

/// All trees, in walking order.
#[derive(Clone, Debug, Default)]
pub struct Trees {
    pub(super) names: Names,
    blocks: Vec<u16>,
    cultivars: Vec<u32>,
    cultivar_index: Names,
    cultivar_names: Vec<Arc<str>>,
    harvest: Vec<i32>,
    seen: Vec<i32>,
    positions: Vec<(f32, f32)>,
    source: SourceId,
    spans: Vec<(u32, u32)>,
    pub(super) columns: Vec<(NameId, NamedColumn)>,
}

impl Trees {
    /// Returns how many trees there are.
    pub fn len(&self) -> usize {
        self.blocks.len()
    }

    /// Returns whether there are no trees.
    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    /// Returns the name of a tree, empty where there is no such tree.
    pub fn name(&self, tree: usize) -> &str {
        self.names.get(tree)
    }

    /// Returns the tree of this name.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.names.find(name)
    }

    /// Returns the number of the block in which a tree stands.
    pub fn block(&self, tree: usize) -> usize {
        self.blocks.get(tree).map_or(0, |block| usize::from(*block))
    }

    /// Returns the cultivar of a tree, nothing where it is not said.
    pub fn cultivar(&self, tree: usize) -> Option<&Arc<str>> {
        let at = *self.cultivars.get(tree)?;
        self.cultivar_names.get(at as usize)
    }

    /// Returns the number of a tree's cultivar in [`Trees::cultivar_names`].
    pub fn cultivar_number(&self, tree: usize) -> Option<usize> {
        self.cultivars.get(tree).filter(|at| **at != NO_CULTIVAR).map(|at| *at as usize)
    }

    /// Returns all cultivars, in the order in which the trees name them.
    pub fn cultivar_names(&self) -> &[Arc<str>] {
        &self.cultivar_names
    }

    /// Returns the metres east and north of a tree.
    pub fn position(&self, tree: usize) -> Option<(f64, f64)> {
        let (east, north) = *self.positions.get(tree)?;
        (!east.is_nan()).then(|| (f64::from(east), f64::from(north)))
    }

    /// Returns where a tree is written.
    pub fn span(&self, tree: usize) -> Span {
        let (start, end) = self.spans.get(tree).copied().unwrap_or_default();
        Span { source: self.source, start, end }
    }

    /// Returns the harvest date that the tree itself bears.
    pub(super) fn own_harvest(&self, tree: usize) -> Option<NaiveDate> {
        self.harvest.get(tree).filter(|day| **day != NO_DAY).and_then(|day| date_of(*day))
    }

    /// Returns the day on which a tree's own values were seen, in days of the common era; nothing where it lies ahead.
    pub(super) fn seen_day(&self, tree: usize) -> Option<i32> {
        self.seen.get(tree).copied().filter(|day| ![NO_DAY, LATER].contains(day))
    }

    /// Returns whether the tree's own row says what was seen.
    pub(super) fn is_seen(&self, column: usize, tree: usize) -> bool {
        self.columns.get(column).is_some_and(|(_, cells)| cells.is_seen(tree))
    }

    /// Returns what the tree's own row says was seen.
    pub(super) fn own_value(&self, column: usize, tree: usize) -> Option<SeenValue> {
        self.columns.get(column)?.1.get(tree)
    }
}

/// Returns a day of the common era as a date.
pub(super) fn date_of(day: i32) -> Option<NaiveDate> {
    NaiveDate::from_num_days_from_ce_opt(day)
}

/// One tree as it is added.
pub(super) struct NewTree<'t> {
    pub name: &'t str,
    pub block: u16,
    pub cultivar: Option<&'t str>,
    pub harvest: Option<i32>,
    pub seen: i32,
    pub position: Option<(f64, f64)>,
    pub span: Span,
}

impl Trees {
    /// Begins a list whose trees stand in this text.
    pub(super) fn of_source(source: SourceId) -> Self {
        Self { source, ..Self::default() }
    }

    /// Adds a tree; where one of this name is there already, returns its number as an error.
    pub(super) fn add(&mut self, tree: &NewTree) -> Result<usize, usize> {
        let at = self.names.add(tree.name)?;
        let cultivar = tree.cultivar.map_or(NO_CULTIVAR, |cultivar| self.cultivar_of(cultivar));
        self.blocks.push(tree.block);
        self.cultivars.push(cultivar);
        self.spans.push((tree.span.start, tree.span.end));
        if let Some(day) = tree.harvest {
            self.harvest.resize(at, NO_DAY);
            self.harvest.push(day);
        }
        if tree.seen != NO_DAY {
            self.seen.resize(at, NO_DAY);
            self.seen.push(tree.seen);
        }
        if let Some((east, north)) = tree.position {
            self.positions.resize(at, (f32::NAN, f32::NAN));
            self.positions.push((east as f32, north as f32));
        }
        Ok(at)
    }

    fn cultivar_of(&mut self, cultivar: &str) -> u32 {
        let at = match self.cultivar_index.add(cultivar) {
            Ok(at) => {
                self.cultivar_names.push(cultivar.into());
                at
            }
            Err(at) => at,
        };
        u32::try_from(at).unwrap_or(NO_CULTIVAR)
    }

    /// Gives back room that is not used.
    pub(super) fn trim(&mut self) {
        self.names.trim();
        self.blocks.shrink_to_fit();
        self.cultivars.shrink_to_fit();
        self.spans.shrink_to_fit();
        self.seen.shrink_to_fit();
    }
}
