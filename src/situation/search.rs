//! A situation that is in several sets at once, found without making their intersection.

use super::diagram::{Diagrams, END, Set};
use rustc_hash::FxHashSet;

/// How many nodes are gone through before the intersection is made after all.
const STEPS: usize = 400;

/// What a search came to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Search {
    /// A cell for each variable.
    Found(Vec<u16>),
    /// There is none.
    Nothing,
    /// It takes too long: the sets are to be joined first.
    TooLong,
}

/// How much a person would rather not think of a cell of a variable.
pub type Weight<'w> = &'w dyn Fn(u16, u16) -> u32;

impl Diagrams {
    /// Returns a situation that is in all of some sets: at each variable on its way it takes the lightest cell that leads
    /// on, the first of equals. Variables that do not matter keep the cell that they have in `usual`.
    pub fn search(&self, sets: &[Set], usual: &[u16], weight: Weight<'_>) -> Search {
        let mut walk =
            Walk { diagrams: self, weight, cells: usual.to_vec(), failed: FxHashSet::default(), steps: 0 };
        match walk.from(sets.to_vec()) {
            Some(true) => Search::Found(walk.cells),
            Some(false) => Search::Nothing,
            None => Search::TooLong,
        }
    }
}

struct Walk<'d> {
    diagrams: &'d Diagrams,
    weight: Weight<'d>,
    cells: Vec<u16>,
    failed: FxHashSet<Vec<Set>>,
    steps: usize,
}

impl Walk<'_> {
    /// Goes on from what is left of each set; nothing where it takes too long.
    fn from(&mut self, mut sets: Vec<Set>) -> Option<bool> {
        sets.retain(|set| !set.is_all());
        sets.sort_unstable();
        sets.dedup();
        if sets.first().is_some_and(|set| set.is_none()) {
            return Some(false);
        }
        let variable = sets.iter().map(|set| self.diagrams.node_at(*set).variable).min().unwrap_or(END);
        if variable == END {
            return Some(true);
        }
        // Of one set every node leads somewhere.
        let may_fail = sets.len() > 1;
        if may_fail && !self.failed.is_empty() && self.failed.contains(&sets) {
            return Some(false);
        }
        self.steps += 1;
        if self.steps > STEPS {
            return None;
        }
        for (_, cell) in self.onward(variable, &sets) {
            let next = sets.iter().map(|set| self.diagrams.after(*set, variable, cell)).collect();
            if self.from(next)? {
                if let Some(place) = self.cells.get_mut(usize::from(variable)) {
                    *place = cell;
                }
                return Some(true);
            }
        }
        self.failed.insert(sets);
        Some(false)
    }

    /// Returns the cells of a variable that may lead on, lightest first: one for each way that they go.
    fn onward(&self, variable: u16, sets: &[Set]) -> Vec<(u32, u16)> {
        let mut ends: Vec<u16> = Vec::new();
        for set in sets {
            self.diagrams.ends_at(*set, variable, &mut ends);
        }
        ends.sort_unstable();
        ends.dedup();
        let mut onward = Vec::with_capacity(ends.len());
        let mut first = 0;
        for last in ends {
            let open = sets.iter().all(|set| !self.diagrams.after(*set, variable, last).is_none());
            if open {
                onward.extend((first..=last).map(|cell| ((self.weight)(variable, cell), cell)).min());
            }
            first = last + 1;
        }
        onward.sort_unstable();
        onward
    }
}
