//! What is asked of a set of situations without making another.

use super::diagram::{Diagrams, Set};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// A variable with runs of its cells, each from its first to its last.
pub type Stretch = (u16, Vec<(u16, u16)>);

impl Diagrams {
    /// Returns whether a situation, a cell for each variable, is in a set.
    pub fn contains(&self, set: Set, cells: &[u16]) -> bool {
        let mut at = set;
        while let Some(node) = self.inner(at) {
            let cell = cells.get(usize::from(node.variable)).copied().unwrap_or(0);
            let branch = self.branches_of(&node).iter().find(|branch| cell <= branch.last);
            at = branch.map_or(Set::NONE, |branch| branch.to);
        }
        at == Set::ALL
    }

    /// Returns of how many nodes a set is made.
    pub fn size(&self, set: Set) -> usize {
        let mut seen = FxHashSet::default();
        let mut todo = vec![set];
        while let Some(at) = todo.pop() {
            if at > Set::ALL && seen.insert(at) {
                todo.extend(self.branches_of(&self.node_at(at)).iter().map(|branch| branch.to));
            }
        }
        seen.len()
    }

    /// Returns the variables on which a set depends, in their order.
    pub fn depends_on(&self, set: Set) -> Vec<u16> {
        let mut seen = FxHashSet::default();
        let mut found = BTreeSet::new();
        let mut todo = vec![set];
        while let Some(at) = todo.pop() {
            let Some(node) = self.inner(at) else {
                continue;
            };
            if seen.insert(at) {
                found.insert(node.variable);
                todo.extend(self.branches_of(&node).iter().map(|branch| branch.to));
            }
        }
        found.into_iter().collect()
    }

    /// Returns the ways through a set: each is a list of variables with the runs of cells, first and last, that lead
    /// on. Ways are disjoint, and together they are the set. At most so many are returned.
    pub fn ways(&self, set: Set, at_most: usize) -> Vec<Vec<Stretch>> {
        let mut found = Vec::new();
        let mut way = Vec::new();
        self.ways_from(set, at_most, &mut way, &mut found);
        found
    }

    fn ways_from(&self, set: Set, at_most: usize, way: &mut Vec<Stretch>, found: &mut Vec<Vec<Stretch>>) {
        if set.is_none() || found.len() >= at_most {
            return;
        }
        let Some(node) = self.inner(set) else {
            found.push(way.clone());
            return;
        };
        let mut targets: Vec<(Set, Vec<(u16, u16)>)> = Vec::new();
        let mut first = 0;
        for branch in self.branches_of(&node) {
            match targets.iter_mut().find(|(to, _)| *to == branch.to) {
                Some((_, runs)) => runs.push((first, branch.last)),
                None => targets.push((branch.to, vec![(first, branch.last)])),
            }
            first = branch.last + 1;
        }
        for (to, runs) in targets {
            way.push((node.variable, runs));
            self.ways_from(to, at_most, way, found);
            way.pop();
        }
    }

    /// Returns how large a set is, as the share of all combinations of cells.
    pub fn share(&self, set: Set) -> f64 {
        let mut known = FxHashMap::default();
        self.share_of(set, &mut known)
    }

    pub(super) fn share_of(&self, set: Set, known: &mut FxHashMap<Set, f64>) -> f64 {
        if set <= Set::ALL {
            return if set.is_all() { 1.0 } else { 0.0 };
        }
        if let Some(share) = known.get(&set) {
            return *share;
        }
        let node = self.node_at(set);
        let all = f64::from(self.cells(node.variable).max(1));
        let mut first = 0;
        let mut share = 0.0;
        for branch in self.branches_of(&node).to_vec() {
            share += f64::from(branch.last + 1 - first) / all * self.share_of(branch.to, known);
            first = branch.last + 1;
        }
        known.insert(set, share);
        share
    }
}
