//! Sets of situations as shared decision diagrams: one node for a variable and its branches, each distinct node once.
//!
//! A branch is a run of neighbouring cells that lead to the same place, so that an axis with many cells costs no more
//! than the thresholds at which something changes. Equal sets are the same node, so equality costs nothing.

/// A set of situations in a [`Diagrams`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Set(u32);

impl Set {
    /// No situation.
    pub const NONE: Self = Self(0);
    /// Every situation.
    pub const ALL: Self = Self(1);

    /// Returns whether no situation is in it.
    pub fn is_none(self) -> bool {
        self == Self::NONE
    }

    /// Returns whether every situation is in it.
    pub fn is_all(self) -> bool {
        self == Self::ALL
    }
}

/// One branch of a node: the cells up to this one, from behind the branch before it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Branch {
    pub(super) last: u16,
    pub(super) to: Set,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub(super) variable: u16,
    first: u32,
    pub(super) count: u16,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Operation {
    Both = 1,
    Either,
    Without,
}

/// An operation with its two sets, and what came out. All zero is none.
type Remembered = [u32; 4];

/// A store of sets of situations over variables, each with a number of cells.
#[derive(Clone, Debug)]
pub struct Diagrams {
    cells: Vec<u16>,
    nodes: Vec<Node>,
    branches: Vec<Branch>,
    table: Vec<u32>,
    memory: Vec<Remembered>,
    /// The branches of nodes that are being made, one above the other.
    made: Vec<Branch>,
    budget: usize,
    spent: bool,
}

/// The variable of the two ends.
pub(super) const END: u16 = u16::MAX;

impl Diagrams {
    /// Makes an empty store: each variable has so many cells, and at most so many nodes are made.
    pub fn new(cells: Vec<u16>, budget: usize) -> Self {
        let end = Node { variable: END, first: 0, count: 0 };
        Self {
            cells,
            nodes: vec![end, end],
            branches: Vec::new(),
            table: vec![0; 1 << 14],
            memory: vec![[0; 4]; 1 << 14],
            made: Vec::new(),
            budget,
            spent: false,
        }
    }

    /// Returns whether the budget was reached: what was made since then says nothing.
    pub fn is_spent(&self) -> bool {
        self.spent
    }

    /// Returns how many nodes were made.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// Returns whether no set was made yet.
    pub fn is_empty(&self) -> bool {
        self.nodes.len() == 2
    }

    /// Returns how many cells a variable has.
    pub fn cells(&self, variable: u16) -> u16 {
        self.cells.get(usize::from(variable)).copied().unwrap_or(0)
    }

    /// Returns the situations in which a variable is in a cell for which the question is answered with yes.
    pub fn test(&mut self, variable: u16, holds: impl Fn(u16) -> bool) -> Set {
        let start = self.made.len();
        for cell in 0..self.cells(variable) {
            self.add(start, cell, if holds(cell) { Set::ALL } else { Set::NONE });
        }
        self.node(variable, start)
    }

    /// Returns the situations that are in both.
    pub fn both(&mut self, a: Set, b: Set) -> Set {
        let (a, b) = (a.min(b), a.max(b));
        match (a, b) {
            (Set::NONE, _) => Set::NONE,
            (Set::ALL, _) => b,
            _ if a == b => a,
            _ => self.apply(Operation::Both, a, b),
        }
    }

    /// Returns the situations that are in either.
    pub fn either(&mut self, a: Set, b: Set) -> Set {
        let (a, b) = (a.min(b), a.max(b));
        match (a, b) {
            (Set::NONE, _) => b,
            (Set::ALL, _) => Set::ALL,
            _ if a == b => a,
            _ => self.apply(Operation::Either, a, b),
        }
    }

    /// Returns the situations that are in the first and not in the second.
    pub fn without(&mut self, a: Set, b: Set) -> Set {
        match (a, b) {
            (Set::NONE, _) | (_, Set::ALL) => Set::NONE,
            (_, Set::NONE) => a,
            _ if a == b => Set::NONE,
            _ => self.apply(Operation::Without, a, b),
        }
    }

    /// Returns the situations that are not in it.
    pub fn not(&mut self, a: Set) -> Set {
        self.without(Set::ALL, a)
    }

    /// Returns the situations that are in any of them. Sets are joined in pairs, so that none grows before it must.
    pub fn any(&mut self, sets: impl IntoIterator<Item = Set>) -> Set {
        self.fold(sets.into_iter().collect(), Set::NONE, Self::either)
    }

    /// Returns the situations that are in all of them.
    pub fn all(&mut self, sets: impl IntoIterator<Item = Set>) -> Set {
        self.fold(sets.into_iter().collect(), Set::ALL, Self::both)
    }

    fn fold(&mut self, mut sets: Vec<Set>, nothing: Set, join: fn(&mut Self, Set, Set) -> Set) -> Set {
        sets.sort_unstable();
        sets.dedup();
        while sets.len() > 1 {
            sets = sets
                .chunks(2)
                .map(|pair| match pair {
                    [a, b] => join(self, *a, *b),
                    [one, ..] => *one,
                    [] => nothing,
                })
                .collect();
        }
        sets.first().copied().unwrap_or(nothing)
    }

    /// Returns the situations for which some cells of the given variables make one of the set.
    pub fn exists(&mut self, a: Set, given: &dyn Fn(u16) -> bool) -> Set {
        // The memory of operations may forget; here every node is gone through once.
        let mut known = rustc_hash::FxHashMap::default();
        self.exists_in(a, given, &mut known)
    }

    fn exists_in(
        &mut self,
        a: Set,
        given: &dyn Fn(u16) -> bool,
        known: &mut rustc_hash::FxHashMap<Set, Set>,
    ) -> Set {
        if a <= Set::ALL || self.spent {
            return a;
        }
        if let Some(set) = known.get(&a) {
            return *set;
        }
        let node = self.node_at(a);
        let set = if given(node.variable) {
            let mut set = Set::NONE;
            for at in 0..node.count {
                if set.is_all() {
                    break;
                }
                let to = self.exists_in(self.branch(node, at).to, given, known);
                set = self.either(set, to);
            }
            set
        } else {
            let start = self.made.len();
            for at in 0..node.count {
                let branch = self.branch(node, at);
                let to = self.exists_in(branch.to, given, known);
                self.add(start, branch.last, to);
            }
            self.node(node.variable, start)
        };
        known.insert(a, set);
        set
    }

    fn apply(&mut self, operation: Operation, a: Set, b: Set) -> Set {
        if self.spent {
            return Set::NONE;
        }
        let key = (operation as u32, a.0, b.0);
        if let Some(set) = self.recall(key) {
            return set;
        }
        let join = match operation {
            Operation::Both => Self::both,
            Operation::Either => Self::either,
            Operation::Without => Self::without,
        };
        let (one, other) = (self.node_at(a), self.node_at(b));
        let start = self.made.len();
        if one.variable < other.variable {
            for at in 0..one.count {
                let branch = self.branch(one, at);
                let to = join(self, branch.to, b);
                self.add(start, branch.last, to);
            }
        } else if other.variable < one.variable {
            for at in 0..other.count {
                let branch = self.branch(other, at);
                let to = join(self, a, branch.to);
                self.add(start, branch.last, to);
            }
        } else {
            let (mut left, mut right) = (0, 0);
            while left < one.count && right < other.count {
                let (x, y) = (self.branch(one, left), self.branch(other, right));
                let to = join(self, x.to, y.to);
                let last = x.last.min(y.last);
                self.add(start, last, to);
                left += u16::from(x.last == last);
                right += u16::from(y.last == last);
            }
        }
        let set = self.node(one.variable.min(other.variable), start);
        self.remember(key, set);
        set
    }

    /// Returns the node of a set, unless that is no situation or all.
    pub(super) fn inner(&self, set: Set) -> Option<Node> {
        self.nodes.get(set.0 as usize).copied().filter(|node| node.variable != END)
    }

    pub(super) fn node_at(&self, set: Set) -> Node {
        self.nodes.get(set.0 as usize).copied().unwrap_or(Node { variable: END, first: 0, count: 0 })
    }

    pub(super) fn branch(&self, node: Node, at: u16) -> Branch {
        self.branch_at(node.first + u32::from(at))
    }

    /// Returns the place of the first branch of a node, and the one behind its last.
    pub(super) fn range_of(&self, node: Node) -> (u32, u32) {
        (node.first, node.first + u32::from(node.count))
    }

    /// Returns the branch at a place.
    pub(super) fn branch_at(&self, place: u32) -> Branch {
        self.branches.get(place as usize).copied().unwrap_or(Branch { last: u16::MAX, to: Set::NONE })
    }

    /// Adds a branch to the node that is being made from `start` on, joined with the one before it where both lead to the
    /// same place.
    fn add(&mut self, start: usize, last: u16, to: Set) {
        let has_one = self.made.len() > start;
        match self.made.last_mut().filter(|before| has_one && before.to == to) {
            Some(before) => before.last = last,
            None => self.made.push(Branch { last, to }),
        }
    }

    pub(super) fn branches_of(&self, node: &Node) -> &[Branch] {
        let first = node.first as usize;
        self.branches.get(first..first + usize::from(node.count)).unwrap_or_default()
    }

    /// Returns the node with the branches that were made from `start` on, a new one if there is none yet.
    fn node(&mut self, variable: u16, start: usize) -> Set {
        let set = self.find_or_make(variable, start);
        self.made.truncate(start);
        set
    }

    fn find_or_make(&mut self, variable: u16, start: usize) -> Set {
        let branches = self.made.get(start..).unwrap_or_default();
        match branches {
            [] => return Set::NONE,
            [one] => return one.to,
            _ => {}
        }
        let mask = self.table.len() - 1;
        let mut slot = hash_of(variable, branches) as usize & mask;
        loop {
            let Some(number) = self.table.get(slot).copied() else { return Set::NONE };
            if number == 0 {
                break;
            }
            let found = self.nodes.get(number as usize);
            if found.is_some_and(|node| node.variable == variable && self.branches_of(node) == branches) {
                return Set(number);
            }
            slot = (slot + 1) & mask;
        }
        if self.nodes.len() >= self.budget {
            self.spent = true;
            return Set::NONE;
        }
        let number = self.nodes.len() as u32;
        let (first, count) = (self.branches.len() as u32, branches.len() as u16);
        self.branches.extend_from_slice(branches);
        self.nodes.push(Node { variable, first, count });
        if let Some(place) = self.table.get_mut(slot) {
            *place = number;
        }
        if self.nodes.len() * 3 > self.table.len() * 2 {
            self.grow();
        }
        Set(number)
    }

    fn grow(&mut self) {
        let size = self.table.len() * 2;
        self.rehash(size);
        let old = std::mem::replace(&mut self.memory, vec![[0; 4]; size]);
        for [operation, a, b, set] in old.into_iter().filter(|[operation, ..]| *operation != 0) {
            self.remember((operation, a, b), Set(set));
        }
    }

    fn rehash(&mut self, size: usize) {
        let mut table = vec![0u32; size];
        for (number, node) in self.nodes.iter().enumerate().skip(2) {
            let mut slot = hash_of(node.variable, self.branches_of(node)) as usize & (size - 1);
            while table.get(slot).is_some_and(|taken| *taken != 0) {
                slot = (slot + 1) & (size - 1);
            }
            if let Some(place) = table.get_mut(slot) {
                *place = number as u32;
            }
        }
        self.table = table;
    }

    /// Forgets all but the sets that were made first, so many as [`Self::len`] counted then. Sets made later are no longer to
    /// be used.
    pub fn forget_after(&mut self, len: usize) {
        let Some(next) = self.nodes.get(len.max(2)).map(|node| node.first as usize) else { return };
        self.nodes.truncate(len.max(2));
        self.branches.truncate(next);
        self.memory = vec![[0; 4]; self.table.len()];
        self.rehash(self.table.len());
    }

    fn recall(&self, key: (u32, u32, u32)) -> Option<Set> {
        let [operation, a, b, set] = self.memory.get(place_of(key) & (self.memory.len() - 1))?;
        ((*operation, *a, *b) == key).then_some(Set(*set))
    }

    fn remember(&mut self, key: (u32, u32, u32), set: Set) {
        let slot = place_of(key) & (self.memory.len() - 1);
        if let Some(place) = self.memory.get_mut(slot) {
            *place = [key.0, key.1, key.2, set.0];
        }
    }
}

fn place_of((operation, a, b): (u32, u32, u32)) -> usize {
    // Every bit of both sets must reach the lowest bits of the place.
    let mixed = (u64::from(a) << 32 | u64::from(b)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (mixed ^ (mixed >> 32) ^ u64::from(operation)).wrapping_mul(0xD6E8_FEB8_6659_FD93);
    (mixed >> 32) as usize
}

fn hash_of(variable: u16, branches: &[Branch]) -> u64 {
    let mut hash = u64::from(variable).wrapping_add(0x51_7C_C1_B7);
    for branch in branches {
        let part = u64::from(branch.to.0) << 16 | u64::from(branch.last);
        hash = (hash.rotate_left(5) ^ part).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
    hash >> 32
}

#[cfg(test)]
mod tests {
    use super::{Diagrams, Set};

    /// Three variables of three, two and four cells.
    fn store() -> Diagrams {
        Diagrams::new(vec![3, 2, 4], 1000)
    }

    fn all() -> impl Iterator<Item = [u16; 3]> {
        (0..3).flat_map(|a| (0..2).flat_map(move |b| (0..4).map(move |c| [a, b, c])))
    }

    #[test]
    fn operations_are_those_of_sets() {
        let mut store = store();
        let a = store.test(0, |cell| cell == 1);
        let c = store.test(2, |cell| cell >= 2);
        let either = store.either(a, c);
        let both = store.both(a, c);
        let without = store.without(either, both);
        let not = store.not(without);
        for [x, y, z] in all() {
            let (p, q) = (x == 1, z >= 2);
            assert_eq!(store.contains(either, &[x, y, z]), p || q);
            assert_eq!(store.contains(both, &[x, y, z]), p && q);
            assert_eq!(store.contains(without, &[x, y, z]), p != q);
            assert_eq!(store.contains(not, &[x, y, z]), p == q);
        }
        assert_eq!(store.exists(both, &|variable| variable == 2), a);
        assert_eq!(store.depends_on(without), [0, 2]);
        assert_eq!(store.share(both), 1.0 / 6.0);
        let again = store.not(not);
        assert_eq!(again, without, "equal sets are the same node");
    }

    #[test]
    fn ways_are_disjoint_and_make_the_set() {
        let mut store = store();
        let (a, b, c) = (
            store.test(0, |cell| cell != 1),
            store.test(1, |cell| cell == 0),
            store.test(2, |cell| cell < 2),
        );
        let bc = store.both(b, c);
        let set = store.either(a, bc);
        let ways = store.ways(set, 100);
        for cells in all() {
            let on = ways.iter().filter(|way| {
                way.iter().all(|(variable, runs)| {
                    let cell = cells[usize::from(*variable)];
                    runs.iter().any(|(first, last)| (*first..=*last).contains(&cell))
                })
            });
            assert_eq!(on.count(), usize::from(store.contains(set, &cells)));
        }
    }

    #[test]
    fn what_is_forgotten_can_be_made_again() {
        let mut store = store();
        let a = store.test(0, |cell| cell == 1);
        let first = store.len();
        let c = store.test(2, |cell| cell >= 2);
        store.both(a, c);
        store.forget_after(first);
        assert_eq!(store.len(), first);
        let c = store.test(2, |cell| cell < 2);
        let other = store.both(a, c);
        for cells in all() {
            assert_eq!(store.contains(other, &cells), cells[0] == 1 && cells[2] < 2);
        }
        let c = store.test(2, |cell| cell >= 2);
        let again = store.both(c, a);
        assert_ne!(again, other);
        assert!(store.contains(again, &[1, 0, 3]) && !store.contains(again, &[1, 0, 1]));
    }

    #[test]
    fn a_budget_that_is_reached_is_said() {
        let mut store = Diagrams::new(vec![50; 6], 8);
        let mut set = Set::ALL;
        for variable in 0..6 {
            let test = store.test(variable, |cell| cell % 7 == variable);
            set = store.either(set, test);
            set = store.both(set, test);
        }
        assert!(store.is_spent());
    }
}
