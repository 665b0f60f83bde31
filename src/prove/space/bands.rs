//! The situations of each level of bands, as they are written and with one row of one of them changed.

use super::{Bands, Space};
use crate::plan::NameId;
use crate::situation::Set;
use std::collections::BTreeSet;

impl Space<'_> {
    /// Opens up the bands of a rulebook: the situations of each level.
    pub fn open_bands(&mut self, book: usize) {
        let rules = self.books[book].rules;
        for band in &rules.bands {
            if self.reads.get(book).is_some_and(|reads| reads.contains_key(&band.name)) {
                continue;
            }
            let levels = self.levels(book, band, None);
            self.bands[book].insert(band.name, levels);
        }
    }

    /// Opens up a band with one of its rows holding elsewhere, or without it, and the bands that change with it. Returns the
    /// bands as they were, to be put back, and which of them changed.
    pub(crate) fn with_row(
        &mut self,
        book: usize,
        band: NameId,
        row: usize,
        holds: Option<Set>,
    ) -> (Bands, BTreeSet<NameId>) {
        let before = self.bands[book].clone();
        let mut changed = BTreeSet::new();
        for of in &self.books[book].rules.bands {
            let reads = of.name == band || of.rows.iter().any(|(_, _, logic)| logic.names_any(&changed));
            if !reads || !before.contains_key(&of.name) {
                continue;
            }
            let levels = self.levels(book, of, (of.name == band).then_some((row, holds)));
            if before.get(&of.name) != Some(&levels) {
                changed.insert(of.name);
                self.bands[book].insert(of.name, levels);
            }
        }
        (before, changed)
    }

    /// Returns where a band is at another level than it was before.
    pub(crate) fn moved_levels(&mut self, book: usize, band: NameId, before: &Bands) -> Set {
        let (Some(old), Some(new)) = (before.get(&band), self.bands[book].get(&band).cloned()) else {
            return Set::NONE;
        };
        let left: Vec<Set> =
            old.iter().zip(&new).map(|(old, new)| self.diagrams.without(*old, *new)).collect();
        self.diagrams.any(left)
    }

    /// Puts bands back as they were.
    pub(crate) fn put_back(&mut self, book: usize, bands: Bands) {
        self.bands[book] = bands;
    }

    /// Returns the situations of each level of a band; one row may hold elsewhere, or nowhere.
    pub(super) fn levels(
        &mut self,
        book: usize,
        band: &crate::decide::BandRules,
        other: Option<(usize, Option<Set>)>,
    ) -> Vec<Set> {
        let mut rows: Vec<(bool, u16, Set)> = Vec::with_capacity(band.rows.len());
        for (at, (caps, level, logic)) in band.rows.iter().enumerate() {
            let holds = match other.filter(|(row, _)| *row == at) {
                Some((_, holds)) => holds.unwrap_or(Set::NONE),
                None => self.holds(book, logic),
            };
            rows.push((*caps, *level, holds));
        }
        let mut levels = Vec::new();
        let mut above = Set::NONE;
        for level in (0..band.levels).rev() {
            let raised: Vec<Set> =
                rows.iter().filter(|(caps, at, _)| !caps && *at >= level).map(|(_, _, set)| *set).collect();
            let capped: Vec<Set> =
                rows.iter().filter(|(caps, at, _)| *caps && *at < level).map(|(_, _, set)| *set).collect();
            let raised = if level == 0 { Set::ALL } else { self.diagrams.any(raised) };
            let capped = self.diagrams.any(capped);
            let at_least = self.diagrams.without(raised, capped);
            levels.push(self.diagrams.without(at_least, above));
            above = at_least;
        }
        levels.reverse();
        levels
    }
}
