//! A set of situations as boxes: for each variable some of its cells, every combination of which is in the set.

use super::Stretch;
use super::diagram::{Diagrams, END, Set};
use rustc_hash::{FxHashMap, FxHashSet};

/// For a variable, whether each of its cells is in the box.
type BoxSide = (u16, Vec<bool>);

impl Diagrams {
    /// Returns disjoint boxes that together are a set, and what is left of it where there would be more than so many. Boxes
    /// may take in situations of `free`, which cannot be; they are as large as they can be made one after the other.
    pub fn boxes(&mut self, set: Set, free: Set, at_most: usize) -> (Vec<Vec<Stretch>>, Set) {
        let mut rest = self.without(set, free);
        let mut found = Vec::new();
        while !rest.is_none() && found.len() < at_most && !self.is_spent() {
            let allowed = self.either(rest, free);
            let mut sides = self.widest(rest);
            // The last first: what stands first in the order is what rules have most in common.
            for at in (0..sides.len()).rev() {
                self.widen(allowed, &mut sides, at);
            }
            sides.retain(|(_, cells)| !cells.iter().all(|cell| *cell));
            let here = self.box_of(&sides);
            rest = self.without(rest, here);
            found.push(sides.iter().map(|(variable, cells)| (*variable, runs(cells))).collect());
        }
        (found, rest)
    }

    /// Returns a box around a situation, a cell for each variable, that lies in a set but for situations of `free`: each of its sides
    /// is as wide as it can be made, one after the other.
    pub fn box_around(&mut self, set: Set, free: Set, cells: &[u16]) -> Vec<Stretch> {
        let allowed = self.either(set, free);
        let point = |variable: u16| {
            let at = cells.get(usize::from(variable)).copied().unwrap_or(0);
            (variable, (0..self.cells(variable)).map(|cell| cell == at).collect())
        };
        let mut sides: Vec<BoxSide> = self.depends_on(allowed).into_iter().map(point).collect();
        for at in (0..sides.len()).rev() {
            self.widen(allowed, &mut sides, at);
        }
        sides.retain(|(_, cells)| !cells.iter().all(|cell| *cell));
        sides.iter().map(|(variable, cells)| (*variable, runs(cells))).collect()
    }

    fn box_of(&mut self, sides: &[BoxSide]) -> Set {
        let tests: Vec<Set> = sides
            .iter()
            .map(|(variable, cells)| {
                self.test(*variable, |cell| cells.get(usize::from(cell)).copied().unwrap_or(false))
            })
            .collect();
        self.all(tests)
    }

    /// Adds to one side of a box every cell that leaves the box in a set.
    fn widen(&self, allowed: Set, sides: &mut [BoxSide], at: usize) {
        let Some((_, cells)) = sides.get(at) else { return };
        let before = cells.clone();
        let with = |sides: &mut [BoxSide], cells: Vec<bool>| {
            if let Some((_, side)) = sides.get_mut(at) {
                *side = cells;
            }
        };
        with(sides, vec![true; before.len()]);
        if self.has_box(allowed, sides) {
            return;
        }
        let mut wide = before.clone();
        for cell in 0..before.len() {
            if before.get(cell) == Some(&false) {
                with(sides, (0..before.len()).map(|it| it == cell).collect());
                let may = self.has_box(allowed, sides);
                if let Some(place) = wide.get_mut(cell) {
                    *place = may;
                }
            }
        }
        with(sides, wide);
    }

    /// Returns whether every situation of a box is in a set.
    fn has_box(&self, set: Set, sides: &[BoxSide]) -> bool {
        let sides: FxHashMap<u16, &Vec<bool>> =
            sides.iter().map(|(variable, cells)| (*variable, cells)).collect();
        let mut seen = FxHashSet::default();
        let mut todo = vec![set];
        while let Some(at) = todo.pop() {
            if at.is_none() {
                return false;
            }
            let node = self.node_at(at);
            if node.variable == END || !seen.insert(at) {
                continue;
            }
            let side = sides.get(&node.variable);
            let mut first = 0;
            for number in 0..node.count {
                let branch = self.branch(node, number);
                let mut cells = first..=branch.last;
                let inside = |cell: u16| {
                    side.is_none_or(|cells| cells.get(usize::from(cell)).copied().unwrap_or(false))
                };
                if cells.any(inside) {
                    todo.push(branch.to);
                }
                first = branch.last + 1;
            }
        }
        true
    }

    /// Returns a way through a set that leads to a large part of it, as a box.
    fn widest(&self, set: Set) -> Vec<BoxSide> {
        let mut shares = FxHashMap::default();
        let mut sides = Vec::new();
        let mut at = set;
        loop {
            let node = self.node_at(at);
            if node.variable == END {
                return sides;
            }
            let mut to: Vec<(Set, Vec<bool>)> = Vec::new();
            let (all, mut first) = (usize::from(self.cells(node.variable)), 0);
            for number in 0..node.count {
                let branch = self.branch(node, number);
                let place = match to.iter().position(|(set, _)| *set == branch.to) {
                    Some(place) => place,
                    None => {
                        to.push((branch.to, vec![false; all]));
                        to.len() - 1
                    }
                };
                if let Some((_, cells)) = to.get_mut(place) {
                    let run = cells.get_mut(usize::from(first)..=usize::from(branch.last));
                    run.into_iter().flatten().for_each(|cell| *cell = true);
                }
                first = branch.last + 1;
            }
            let weight = |(set, cells): &(Set, Vec<bool>), shares: &mut FxHashMap<Set, f64>| {
                cells.iter().filter(|cell| **cell).count() as f64 * self.share_of(*set, shares)
            };
            let best =
                to.into_iter().map(|it| (weight(&it, &mut shares), it)).max_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, (next, cells))) = best else { return sides };
            sides.push((node.variable, cells));
            at = next;
        }
    }
}

/// Returns the runs of cells of a side, each from its first to its last.
fn runs(cells: &[bool]) -> Vec<(u16, u16)> {
    let mut found: Vec<(u16, u16)> = Vec::new();
    for (cell, _) in cells.iter().enumerate().filter(|(_, inside)| **inside) {
        let cell = cell as u16;
        match found.last_mut().filter(|(_, last)| *last + 1 == cell) {
            Some((_, last)) => *last = cell,
            None => found.push((cell, cell)),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::Set;
    use crate::situation::Diagrams;

    #[test]
    fn boxes_are_disjoint_and_are_the_set_where_it_can_be() {
        let mut store = Diagrams::new(vec![3, 2, 4], 1000);
        let a = store.test(0, |cell| cell != 1);
        let b = store.test(1, |cell| cell == 0);
        let c = store.test(2, |cell| cell < 2);
        let d = store.test(2, |cell| cell == 3);
        let bc = store.both(b, c);
        let set = store.either(a, bc);
        let free = store.both(d, b);
        for free in [Set::NONE, free] {
            let (boxes, rest) = store.boxes(set, free, 100);
            assert!(rest.is_none() && !boxes.is_empty());
            for cells in (0..3).flat_map(|x| (0..2).flat_map(move |y| (0..4).map(move |z| [x, y, z]))) {
                let on = boxes.iter().filter(|sides| {
                    sides.iter().all(|(variable, runs)| {
                        let cell = cells[usize::from(*variable)];
                        runs.iter().any(|(first, last)| (*first..=*last).contains(&cell))
                    })
                });
                if !store.contains(free, &cells) {
                    assert_eq!(on.count(), usize::from(store.contains(set, &cells)), "{cells:?}");
                }
            }
            let (some, rest) = store.boxes(set, free, 1);
            assert!(some.len() == 1 && (boxes.len() == 1) == rest.is_none());
        }
    }
}
