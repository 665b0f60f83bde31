//! A situation that is in several sets at once, found without making their intersection.

use super::diagram::{Diagrams, END, Set};
use rustc_hash::FxHashSet;

/// How many nodes are gone through before the intersection is made after all.
const STEPS: usize = 200;

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
        let mut walk = Walk {
            diagrams: self,
            weight,
            cells: usual.to_vec(),
            failed: FxHashSet::default(),
            steps: 0,
            left: sets.to_vec(),
            ends: Vec::new(),
            onward: Vec::new(),
        };
        match walk.from(0) {
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
    failed: FxHashSet<Box<[Set]>>,
    steps: usize,
    /// What is left of each set, of one step above that of the other.
    left: Vec<Set>,
    /// Where the ways of a step end.
    ends: Vec<u16>,
    /// The cells that may lead on, of one step above those of the other.
    onward: Vec<(u32, u16)>,
}

impl Walk<'_> {
    /// Goes on from what is left of each set, which begins at a place; nothing where it takes too long.
    fn from(&mut self, start: usize) -> Option<bool> {
        self.tidy(start);
        let Some(first) = self.left.get(start) else { return Some(true) };
        if first.is_none() {
            return Some(false);
        }
        let here = &self.left[start..];
        // Of one set every node leads somewhere.
        if here.len() > 1 && self.failed.contains(here) {
            return Some(false);
        }
        self.steps += 1;
        if self.steps > STEPS {
            return None;
        }
        let variable = here.iter().map(|set| self.diagrams.node_at(*set).variable).min().unwrap_or(END);
        let (from, end) = (self.onward.len(), self.left.len());
        self.find_onward(variable, start);
        for at in from..self.onward.len() {
            let cell = self.onward[at].1;
            for place in start..end {
                self.left.push(self.diagrams.after(self.left[place], variable, cell));
            }
            let leads_there = self.from(end)?;
            self.left.truncate(end);
            if leads_there {
                if let Some(place) = self.cells.get_mut(usize::from(variable)) {
                    *place = cell;
                }
                return Some(true);
            }
        }
        self.onward.truncate(from);
        self.failed.insert(self.left[start..].into());
        Some(false)
    }

    /// Leaves out, from a place on, sets that hold everywhere and those that are there twice; puts the rest in order.
    fn tidy(&mut self, start: usize) {
        self.left[start..].sort_unstable();
        let mut end = start;
        for at in start..self.left.len() {
            let set = self.left[at];
            if !set.is_all() && (end == start || self.left[end - 1] != set) {
                self.left[end] = set;
                end += 1;
            }
        }
        self.left.truncate(end);
    }

    /// Adds the cells of a variable that may lead on, lightest first: one for each way that they go.
    fn find_onward(&mut self, variable: u16, start: usize) {
        self.ends.clear();
        for set in &self.left[start..] {
            self.diagrams.ends_at(*set, variable, &mut self.ends);
        }
        self.ends.sort_unstable();
        self.ends.dedup();
        let from = self.onward.len();
        let mut first = 0;
        for last in &self.ends {
            let leads = |set: &Set| !self.diagrams.after(*set, variable, *last).is_none();
            if self.left[start..].iter().all(leads) {
                self.onward.extend((first..=*last).map(|cell| ((self.weight)(variable, cell), cell)).min());
            }
            first = last + 1;
        }
        self.onward[from..].sort_unstable();
    }
}
