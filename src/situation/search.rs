//! A situation that is in several sets at once, found without making their intersection.

use super::diagram::{Diagrams, END, Set};
use rustc_hash::FxHashSet;

/// How many nodes are gone through before the intersection is made after all, where most questions are settled soon.
pub const FEW_STEPS: usize = 200;

/// How many where few questions are asked, each of large sets: an intersection that is made is kept, and all later ones are
/// looked for beside it.
pub const MANY_STEPS: usize = 3_000;

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
    /// on, the first of equals. Variables that do not matter keep the cell that they have in `usual`. It takes so many steps
    /// at most.
    pub fn search(&self, sets: &[Set], usual: &[u16], weight: Weight<'_>, steps: usize) -> Search {
        let mut walk = DiagramWalk {
            diagrams: self,
            weight,
            cells: usual.to_vec(),
            failed: FxHashSet::default(),
            steps_left: steps,
            left: sets.to_vec(),
            moving: Vec::new(),
            onward: Vec::new(),
            targets: Vec::new(),
        };
        match walk.from(0) {
            Some(true) => Search::Found(walk.cells),
            Some(false) => Search::Nothing,
            None => Search::TooLong,
        }
    }
}

struct DiagramWalk<'d> {
    diagrams: &'d Diagrams,
    weight: Weight<'d>,
    cells: Vec<u16>,
    failed: FxHashSet<Box<[Set]>>,
    steps_left: usize,
    /// What is left of each set, of one step above that of the other.
    left: Vec<Set>,
    /// The sets of a step that begin with its variable: which of their branches is looked at, and how many follow.
    moving: Vec<(u32, u32)>,
    /// The ways on, of one step above those of the other.
    onward: Vec<NextStep>,
    /// Where they lead: for each way one set for each that moves.
    targets: Vec<Set>,
}

/// A way on from a step.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct NextStep {
    weight: u32,
    cell: u16,
    /// Where its sets begin among the targets.
    targets: usize,
}

impl DiagramWalk<'_> {
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
        self.steps_left = self.steps_left.checked_sub(1)?;
        let (from, end, targets) = (self.onward.len(), self.left.len(), self.targets.len());
        let variable = self.find_onward(start);
        let moving = self.moving.len();
        for at in from..self.onward.len() {
            let way = self.onward[at];
            for place in start..end {
                let set = self.left[place];
                if self.diagrams.node_at(set).variable != variable {
                    self.left.push(set);
                }
            }
            self.left.extend_from_slice(&self.targets[way.targets..way.targets + moving]);
            let leads_there = self.from(end)?;
            self.left.truncate(end);
            if leads_there {
                if let Some(place) = self.cells.get_mut(usize::from(variable)) {
                    *place = way.cell;
                }
                return Some(true);
            }
        }
        self.onward.truncate(from);
        self.targets.truncate(targets);
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

    /// Adds the ways on at the first variable of what is left, lightest first: one for each run of cells that may lead on.
    /// Returns the variable.
    fn find_onward(&mut self, start: usize) -> u16 {
        let (mut variable, mut first) = (END, 0);
        self.moving.clear();
        for set in &self.left[start..] {
            let node = self.diagrams.node_at(*set);
            if node.variable < variable {
                variable = node.variable;
                self.moving.clear();
            }
            if node.variable == variable {
                self.moving.push(self.diagrams.range_of(node));
            }
        }
        let from = self.onward.len();
        loop {
            let (mut last, mut leads) = (u16::MAX, true);
            let targets = self.targets.len();
            for (at, _) in &self.moving {
                let branch = self.diagrams.branch_at(*at);
                last = last.min(branch.last);
                leads &= !branch.to.is_none();
                self.targets.push(branch.to);
            }
            if leads {
                let lightest = (first..=last).map(|cell| ((self.weight)(variable, cell), cell)).min();
                self.onward.extend(lightest.map(|(weight, cell)| NextStep { weight, cell, targets }));
            } else {
                self.targets.truncate(targets);
            }
            first = last.saturating_add(1);
            for (at, end) in &mut self.moving {
                if self.diagrams.branch_at(*at).last == last {
                    *at += 1;
                }
                if at == end {
                    self.onward[from..].sort_unstable();
                    return variable;
                }
            }
        }
    }
}
