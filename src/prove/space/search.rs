//! One situation out of sets of them: the one that a person recognizes most easily, or another for each number.

use super::{Space, Variable};
use crate::situation::{FEW_STEPS, MANY_STEPS, Search, Set, Weight};

impl Space<'_> {
    /// Returns a situation that is in all of some sets, a piece for each variable, if there is one: one that keeps all
    /// relations.
    pub fn witness(&mut self, sets: &[Set]) -> Option<Vec<u16>> {
        let (weights, usual) = (std::mem::take(&mut self.weights), std::mem::take(&mut self.usual));
        let weight = |variable: u16, cell: u16| {
            let of = weights.get(usize::from(variable)).and_then(|list| list.get(usize::from(cell)));
            of.copied().unwrap_or(0)
        };
        let found = self.picked(&mut sets.to_vec(), &usual, &weight, MANY_STEPS);
        (self.weights, self.usual) = (weights, usual);
        found
    }

    /// Returns one of the situations of some sets, another for each number, as far as there are others. The sets are joined
    /// if they must be, also with relations.
    pub(crate) fn varied(&mut self, sets: &mut Vec<Set>, number: u32) -> Option<Vec<u16>> {
        let (start, weight) = self.variation(number);
        self.picked(sets, &start, &weight, FEW_STEPS)
    }

    /// Looks for one of the situations of some sets, another for each number, as far as no set must be made for it.
    pub(crate) fn glimpse(&mut self, sets: &mut Vec<Set>, number: u32) -> Search {
        let (start, weight) = self.variation(number);
        self.glimpsed(sets, &start, &weight, FEW_STEPS)
    }

    /// Returns what a search prefers, another for each number: the cells that it begins with, and the weights of cells.
    fn variation(&self, number: u32) -> (Vec<u16>, impl Fn(u16, u16) -> u32 + use<>) {
        let weight = move |variable: u16, cell: u16| {
            let seed = u64::from(number) << 32 | u64::from(variable) << 16 | u64::from(cell);
            // The finalizer of SplitMix64.
            let mixed = (seed ^ (seed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            (mixed >> 32) as u32
        };
        let lightest = |(at, variable): (usize, &Variable)| {
            (0..variable.pieces.len() as u16).min_by_key(|cell| weight(at as u16, *cell)).unwrap_or(0)
        };
        (self.variables.iter().enumerate().map(lightest).collect(), weight)
    }

    /// Looks for one of the situations of some sets as far as no set must be made for it. Relations that are broken are added to
    /// the sets.
    fn glimpsed(&mut self, sets: &mut Vec<Set>, start: &[u16], weight: Weight<'_>, steps: usize) -> Search {
        self.join_relations();
        loop {
            let found = self.diagrams.search(sets, start, weight, steps);
            let Search::Found(cells) = &found else { return found };
            let before = sets.len();
            sets.extend(self.joined.1.iter().filter(|it| !self.diagrams.contains(**it, cells)));
            if sets.len() == before {
                return found;
            }
        }
    }

    /// Returns whether it is soon seen that no situation is in all of some sets.
    pub(crate) fn is_nowhere(&mut self, mut sets: Vec<Set>) -> bool {
        let usual = std::mem::take(&mut self.usual);
        let found = self.glimpsed(&mut sets, &usual, &|_, _| 0, MANY_STEPS);
        self.usual = usual;
        found == Search::Nothing
    }

    fn picked(
        &mut self,
        sets: &mut Vec<Set>,
        start: &[u16],
        weight: Weight<'_>,
        steps: usize,
    ) -> Option<Vec<u16>> {
        let mut asked = sets.clone();
        match self.glimpsed(sets, start, weight, steps) {
            _ if self.diagrams.is_spent() => return None,
            Search::Found(cells) => return Some(cells),
            Search::Nothing => return None,
            Search::TooLong => {}
        }
        // The sets are joined from the smallest on, and one by one with the relations that are broken, no more of them than
        // must be.
        asked.sort_by_cached_key(|set| self.diagrams.size(*set));
        let mut set = Set::ALL;
        for more in asked {
            set = self.diagrams.both(set, more);
        }
        loop {
            *sets = vec![set];
            let Search::Found(cells) = self.diagrams.search(sets, start, weight, steps) else { return None };
            let broken = self.relations.iter().find(|it| !self.diagrams.contains(**it, &cells));
            match broken {
                None => return Some(cells),
                Some(relation) => set = self.diagrams.both(set, *relation),
            }
            if self.diagrams.is_spent() {
                return None;
            }
        }
    }
}
