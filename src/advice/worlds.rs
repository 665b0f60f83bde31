//! The possible states of the world of one tree: walked until each leads to one verdict.
//!
//! What is not known of a tree is split, piece by piece, only where the verdict hangs on it: a world in which
//! every cell leads to the same verdict is not split further. What cannot be split any more is taken as
//! unrelated to everything else, which may leave more worlds than there are, never fewer.

use super::Need;
use crate::decide::{Rules, Weighed, decide};
use crate::measure::{Cause, Gauged, Inputs, Leaf, Possible, World, speaks_of_trees};
use crate::measure::{Extent, Reading};
use crate::plan::{Kind, NameId, Origin, Place, Plan};
use crate::situation::{Axis, CellSet};
use crate::trace::Decision;
use std::cell::Cell;

/// Gives all values of a tree in a state of the world.
pub trait Gauge {
    /// Returns what every name is where one more leaf is fixed than before.
    fn gauge_from(&self, world: &World, before: &Gauged, leaf: Leaf) -> Gauged;

    /// Returns the observations of other trees that a measure over trees waits for.
    fn unseen_elsewhere(&self, name: NameId) -> Vec<Need>;

    /// Returns the sample that was seen at a leaf: how many were found among how many.
    fn sample(&self, leaf: Leaf) -> Option<(u32, u32)>;
}

/// A plan with what the walk needs of it.
#[derive(Debug)]
pub struct Walk<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The plan made ready.
    pub rules: &'a Rules,
    /// What each name is computed from.
    pub inputs: &'a Inputs,
    /// For each name its range, cut by all constants that its value meets, also through copies.
    pub cuts: &'a [Axis],
    /// How many worlds may still be looked at.
    pub budget: Cell<u32>,
}

/// A world that was reached, and all that is known in it.
#[derive(Debug)]
pub struct Node {
    /// What is fixed.
    pub world: World,
    /// The values.
    pub gauged: Gauged,
    /// The cells of all names.
    pub cells: Vec<CellSet>,
}

/// Where a walk can go on.
#[derive(Debug)]
pub struct Split {
    /// What is split.
    pub leaf: Leaf,
    /// Its pieces, in order.
    pub pieces: Vec<Extent>,
    /// What would have to be found out.
    pub needs: Vec<Need>,
}

/// The walk ran out of its budget: too many states of the world.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooMany;

impl Walk<'_> {
    /// Returns the world in which one more leaf is fixed, with its values and cells.
    pub fn fixed(&self, gauge: &dyn Gauge, before: &Node, leaf: Leaf, extent: Extent) -> Node {
        let world = before.world.with(leaf, extent);
        let gauged = gauge.gauge_from(&world, &before.gauged, leaf);
        let mut cells = before.cells.clone();
        let (Leaf::Name(name) | Leaf::InGroup(_, name) | Leaf::Others(name)) = leaf;
        for id in self.inputs.dependents(name).chain([name]) {
            self.touch(&gauged, id, &mut cells);
        }
        Node { world, gauged, cells }
    }

    /// Returns the cells of all names that are compared.
    pub fn cells(&self, gauged: &Gauged) -> Vec<CellSet> {
        let mut cells = vec![CellSet::default(); self.rules.axes.len()];
        for name in self.rules.axes.compared() {
            self.touch(gauged, *name, &mut cells);
        }
        cells
    }

    /// Writes the cells of a name, if it is compared.
    fn touch(&self, gauged: &Gauged, name: NameId, cells: &mut [CellSet]) {
        if !self.rules.axes.is_compared(name) {
            return;
        }
        if let (Some(set), Some(reading)) = (cells.get_mut(name.index()), gauged.names.get(name.index())) {
            *set = self.rules.axes.touched(name, reading.extent);
        }
    }

    /// Calls a function with every settled decision that a world can lead to. It returns whether to go on.
    pub fn each_verdict(
        &self,
        gauge: &dyn Gauge,
        node: &Node,
        found: &mut dyn FnMut(&Decision, &Node) -> bool,
        split_on: &mut dyn FnMut(&Split),
    ) -> Result<bool, TooMany> {
        let open = match decide(self.plan, self.rules, &node.cells) {
            Ok(decision) => return Ok(found(&decision, node)),
            Err(open) => open,
        };
        let split = self.split(gauge, node, open);
        split_on(&split);
        for piece in &split.pieces {
            let next = self.step(gauge, node, split.leaf, *piece)?;
            if !self.each_verdict(gauge, &next, found, split_on)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Returns whether an alternative is allowed, as written, in every world.
    pub fn surely_allowed(
        &self,
        gauge: &dyn Gauge,
        node: &Node,
        way: &crate::plan::Way,
    ) -> Result<bool, TooMany> {
        let weighed = Weighed::new(self.plan, self.rules, &node.cells);
        let open = match weighed.surely_allowed(self.rules, way) {
            crate::trace::Truth::Yes => return Ok(true),
            crate::trace::Truth::No => return Ok(false),
            crate::trace::Truth::Open => weighed.open_in_way(self.rules, way),
        };
        let Some(open) = open else { return Ok(false) };
        let split = self.split(gauge, node, open);
        for piece in &split.pieces {
            let next = self.step(gauge, node, split.leaf, *piece)?;
            if !self.surely_allowed(gauge, &next, way)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Fixes one more leaf.
    pub fn step(&self, gauge: &dyn Gauge, node: &Node, leaf: Leaf, piece: Extent) -> Result<Node, TooMany> {
        let left = self.budget.get().checked_sub(1).ok_or(TooMany)?;
        self.budget.set(left);
        Ok(self.fixed(gauge, node, leaf, piece))
    }

    /// Finds what to split so that a name becomes one cell: an input that can be split, else the name itself.
    pub fn split(&self, gauge: &dyn Gauge, node: &Node, name: NameId) -> Split {
        self.split_below(gauge, node, name, name).unwrap_or_else(|| {
            let extent = node.gauged.names.get(name.index()).map_or(Extent::EMPTY, |reading| reading.extent);
            let needs = self.needs_of(gauge, node, name);
            Split { leaf: Leaf::Name(name), pieces: self.rules.axes.of(name).split(extent), needs }
        })
    }

    fn split_below(&self, gauge: &dyn Gauge, node: &Node, name: NameId, target: NameId) -> Option<Split> {
        let leaf = |leaf| self.split_leaf(gauge, node, leaf, name, target);
        let observed = matches!(self.plan[name].origin, Origin::Observed(_));
        if observed && self.plan[name].scope == Place::Panicles {
            let groups = 0..node.gauged.groups.len();
            return groups.into_iter().find_map(|group| leaf(Leaf::InGroup(group, name)));
        }
        if (observed || node.world.fixed(Leaf::Name(name)).is_some())
            && let Some(split) = leaf(Leaf::Name(name))
        {
            return Some(split);
        }
        let others = || {
            speaks_of_trees(&self.plan[name])?;
            let needs = gauge.unseen_elsewhere(name);
            (!needs.is_empty() && node.world.fixed(Leaf::Others(name)).is_none()).then(|| {
                let count = needs.len() as u32;
                let pieces = (0..=count).map(|more| Extent::number(f64::from(more))).collect();
                Split { leaf: Leaf::Others(name), pieces, needs }
            })
        };
        let unsettled = |input: &NameId| {
            self.plan[*input].scope == Place::Panicles
                || node.gauged.names.get(input.index()).is_some_and(|reading| !reading.extent.is_settled())
        };
        let inputs = self.inputs.direct(name).filter(unsettled);
        inputs.into_iter().find_map(|input| self.split_below(gauge, node, input, target)).or_else(others)
    }

    /// Splits a leaf at its cuts; where they leave one piece, at the values at which the target changes its cell.
    fn split_leaf(
        &self,
        gauge: &dyn Gauge,
        node: &Node,
        leaf: Leaf,
        name: NameId,
        target: NameId,
    ) -> Option<Split> {
        let extent = reading(&node.gauged, leaf)?.extent;
        if extent.is_settled() {
            return None;
        }
        let mut pieces = self.cuts.get(name.index())?.split(extent);
        if let [Extent { can_be: Possible::Numbers(low, high), .. }] = pieces[..] {
            let whole = matches!(self.plan[name].kind, Kind::Count | Kind::Date);
            let cell = |number: f64| {
                let extent = Extent::number(number);
                let gauged = gauge.gauge_from(&node.world.with(leaf, extent), &node.gauged, leaf);
                let extent = gauged.names.get(target.index())?.extent;
                self.rules.axes.touched(target, extent).only()
            };
            pieces = pieces_between(low, high, whole, &cell);
        }
        (pieces.len() > 1).then_some(Split { leaf, pieces, needs: vec![Need::Name(name)] })
    }

    /// Returns what would have to be found out for a name that nothing below it explains.
    fn needs_of(&self, gauge: &dyn Gauge, node: &Node, name: NameId) -> Vec<Need> {
        let elsewhere = gauge.unseen_elsewhere(name);
        if !elsewhere.is_empty() {
            return elsewhere;
        }
        let cause = node.gauged.names.get(name.index()).and_then(|reading| reading.cause.as_ref());
        let seen = self.observed_below(name);
        vec![match cause {
            Some(Cause::Weather(_)) => Need::Weather,
            Some(Cause::Sprays(_)) => Need::Sprays,
            Some(Cause::Harvest(_)) => Need::Harvest,
            Some(Cause::Sprayer(_)) => Need::Sprayer,
            Some(Cause::Unseen(_) | Cause::Empty(_) | Cause::Doubt(_)) | None => {
                Need::Name(seen.unwrap_or(name))
            }
        }]
    }

    fn observed_below(&self, name: NameId) -> Option<NameId> {
        if matches!(self.plan[name].origin, Origin::Observed(_)) {
            return Some(name);
        }
        self.inputs.direct(name).find_map(|input| self.observed_below(input))
    }
}

/// Returns the reading at a leaf.
fn reading(gauged: &Gauged, leaf: Leaf) -> Option<&Reading> {
    match leaf {
        Leaf::Name(name) | Leaf::Others(name) => gauged.names.get(name.index()),
        Leaf::InGroup(group, name) => gauged.groups.get(group)?.names.get(name.index()),
    }
}

/// Cuts a range of numbers where a cell computed from them changes, as it does for a value that rises or falls.
fn pieces_between(low: f64, high: f64, whole: bool, cell: &dyn Fn(f64) -> Option<u16>) -> Vec<Extent> {
    const FAR: f64 = 1e7;
    let (from, to) = (low.max(-FAR), high.min(FAR));
    let mut ends = vec![(low, from)];
    let (Some(first), Some(last)) = (cell(from), cell(to)) else { return vec![Extent::between(low, high)] };
    changes((from, first), (to, last), whole, cell, &mut ends);
    let mut pieces = Vec::new();
    let mut begins = low;
    for (before, after) in ends.into_iter().skip(1) {
        pieces.push(Extent::between(begins, before));
        begins = after;
    }
    pieces.push(Extent::between(begins, high));
    pieces
}

/// Finds each neighbouring pair of numbers between which the cell changes.
fn changes(
    (low, below): (f64, u16),
    (high, above): (f64, u16),
    whole: bool,
    cell: &dyn Fn(f64) -> Option<u16>,
    found: &mut Vec<(f64, f64)>,
) {
    if below == above || found.len() > 64 {
        return;
    }
    let middle = if whole { ((low + high) / 2.0).floor() } else { (low + high) / 2.0 };
    let near =
        if whole { high - low <= 1.0 } else { high - low <= 1e-12 * high.abs().max(low.abs()).max(1e-3) };
    if near || middle <= low || middle >= high {
        found.push((low, high));
        return;
    }
    let Some(between) = cell(middle) else { return };
    changes((low, below), (middle, between), whole, cell, found);
    changes((middle, between), (high, above), whole, cell, found);
}
