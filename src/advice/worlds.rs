//! The possible states of the world of one tree: walked until each leads to one verdict.
//!
//! What is not known of a tree is split, piece by piece, only where the verdict hangs on it: a world in which
//! every cell leads to the same verdict is not split further. What cannot be split any more is taken as
//! unrelated to everything else, which may leave more worlds than there are, never fewer.

use super::Need;
use crate::decide::{Logic, Rules, Weighed};
use crate::measure::{Extent, Gauged, Inputs, Placed, World, WorldInput};
use crate::plan::{ChoiceId, NameId, Origin, Plan, Way};
use crate::situation::{Axis, CellSet};
use crate::trace::{Truth, Verdict};
use rustc_hash::FxHashMap;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

/// Gives all values of a tree in a state of the world.
pub trait Gauge {
    /// Computes a leaf's name and some of its dependents anew, where that leaf is fixed as in no world before. `replaced` gets
    /// what they were.
    fn gauge_from(
        &self,
        world: &World,
        gauged: &mut Gauged,
        leaf: WorldInput,
        dependents: &mut dyn Iterator<Item = NameId>,
        replaced: &mut dyn FnMut(Placed),
    );

    /// Returns the observations of trees that a measure over trees waits for, one of this tree itself among them.
    fn unseen_elsewhere(&self, name: NameId) -> &[Need];

    /// Returns how many of the other trees a measure over trees may count besides those that it surely counts.
    fn others_open(&self, name: NameId) -> f64;

    /// Returns the name of another tree.
    fn tree_name(&self, tree: usize) -> String;

    /// Returns the sample that was seen at a leaf: how many were found among how many.
    fn sample(&self, leaf: WorldInput) -> Option<(u32, u32)>;
}

/// A plan with what the walk of one tree's worlds needs of it.
pub struct WorldWalk<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The plan made ready.
    pub rules: &'a Rules,
    /// What each name is computed from.
    pub inputs: &'a Inputs,
    /// For each name its range, cut by all constants that its value meets, also through copies.
    pub cuts: &'a [Axis],
    /// For each name of words its classes: words that no comparison tells apart.
    pub classes: &'a [Vec<u64>],
    /// How many worlds may still be looked at.
    pub budget: Cell<u32>,
    /// What worlds lead to that were looked at before.
    pub known: RefCell<FxHashMap<WorldKey, Rc<Leads>>>,
    /// The one verdict of worlds that were looked at before; nothing where it is not one.
    pub settled: RefCell<FxHashMap<WorldKey, Option<Verdict>>>,
}

/// What two worlds must share to lead to the same: the truth of all gates and choices, the cells of the names on
/// which the open ones hang, the strengths that fit, and what is fixed of the leaves that such names are computed from.
/// Written as numbers, so that it is quickly compared.
type WorldKey = Vec<u64>;

/// What a world leads to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Leads {
    /// The verdicts, each with the choices that led to it.
    pub ends: Vec<(Verdict, Vec<ChoiceId>)>,
    /// What was split on the way, each once: the leaf, the name that hung on it, what would have to be found out.
    pub asked: Vec<(WorldInput, NameId, Vec<Need>)>,
}

impl Leads {
    /// Returns the one verdict, as far as two are equal, if there is but one.
    pub fn one(&self) -> Option<Verdict> {
        let (first, rest) = self.ends.split_first()?;
        let essence = first.0.essence();
        rest.iter().all(|(verdict, _)| verdict.essence() == essence).then_some(essence)
    }

    fn add(&mut self, other: &Leads) {
        for (verdict, choices) in &other.ends {
            match self.ends.iter_mut().find(|(known, _)| known == verdict) {
                Some((_, known)) => {
                    let new: Vec<ChoiceId> =
                        choices.iter().copied().filter(|it| !known.contains(it)).collect();
                    known.extend(new);
                }
                None => self.ends.push((verdict.clone(), choices.clone())),
            }
        }
        for asked in &other.asked {
            if !self.asked.iter().any(|known| known.0 == asked.0) {
                self.asked.push(asked.clone());
            }
        }
    }
}

/// A world that was reached, and all that is known in it.
#[derive(Clone, Debug)]
pub struct WorldNode {
    /// What is fixed.
    pub world: World,
    /// The values.
    pub gauged: Gauged,
    /// The cells of all names; those of bands are graded from the others.
    pub cells: Vec<CellSet>,
}

/// The walk ran out of its budget: too many states of the world.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooMany;

/// What a world was before one more leaf was fixed in it.
struct Before {
    world: World,
    replaced: Vec<Placed>,
    cells: Vec<(NameId, CellSet)>,
}

impl WorldNode {
    /// Makes it the world that it was before.
    fn restore(&mut self, before: Before) {
        self.world = before.world;
        for placed in before.replaced.into_iter().rev() {
            self.gauged.put(placed);
        }
        for (name, cells) in before.cells.into_iter().rev() {
            self.cells[name.index()] = cells;
        }
    }
}

impl WorldWalk<'_> {
    /// Returns the world in which one more leaf is fixed, with its values and cells.
    pub fn fixed(
        &self,
        gauge: &dyn Gauge,
        before: &WorldNode,
        leaf: WorldInput,
        extent: Extent,
    ) -> WorldNode {
        let mut node = before.clone();
        self.fix(gauge, &mut node, leaf, extent);
        node
    }

    /// Fixes one more leaf in a world.
    fn fix(&self, gauge: &dyn Gauge, node: &mut WorldNode, leaf: WorldInput, extent: Extent) -> Before {
        let world = node.world.with(leaf, extent);
        let mut before = Before {
            world: std::mem::replace(&mut node.world, world),
            replaced: Vec::with_capacity(32),
            cells: Vec::with_capacity(32),
        };
        let name = leaf.name();
        let replaced = &mut |placed| before.replaced.push(placed);
        gauge.gauge_from(&node.world, &mut node.gauged, leaf, &mut self.inputs.dependents(name), replaced);
        for id in std::iter::once(name).chain(self.inputs.dependents(name)) {
            if let Some(cells) = self.cells_of(node, id) {
                before.cells.push((id, std::mem::replace(&mut node.cells[id.index()], cells)));
            }
        }
        before
    }

    /// Returns the cells of all names that are compared.
    pub fn cells(&self, gauged: &Gauged) -> Vec<CellSet> {
        let mut cells = vec![CellSet::one(0); self.rules.axes.len()];
        for name in self.rules.axes.compared() {
            if let Some(touched) = self.touched(gauged, *name) {
                cells[name.index()] = touched;
            }
        }
        self.rules.grade(&mut cells);
        cells
    }

    /// Returns the cells of a name, if it is compared; those of a band follow from the cells of other names.
    fn cells_of(&self, node: &WorldNode, name: NameId) -> Option<CellSet> {
        match self.plan[name].origin {
            Origin::Band(_) => self.rules.band(name)?.grades(&node.cells),
            _ => self.touched(&node.gauged, name),
        }
    }

    /// Returns the cells that a name's value touches, if it is compared.
    fn touched(&self, gauged: &Gauged, name: NameId) -> Option<CellSet> {
        let reading = gauged.names.get(name.index()).filter(|_| self.rules.axes.is_compared(name))?;
        Some(self.rules.axes.touched(name, reading.extent))
    }

    /// Weighs what is known in a world.
    pub fn weighed(&self, node: &WorldNode) -> Weighed {
        Weighed::graded(self.plan, self.rules, node.cells.clone())
    }

    /// Takes a step: goes on in the world in which one more leaf is fixed, and comes back from there.
    pub(super) fn within<T>(
        &self,
        gauge: &dyn Gauge,
        node: &mut WorldNode,
        (leaf, piece): (WorldInput, Extent),
        go_on: impl FnOnce(&mut WorldNode) -> Result<T, TooMany>,
    ) -> Result<T, TooMany> {
        self.count_step()?;
        self.visit(gauge, node, (leaf, piece), go_on)
    }

    /// Takes a step off the budget.
    pub(super) fn count_step(&self) -> Result<(), TooMany> {
        self.budget.set(self.budget.get().checked_sub(1).ok_or(TooMany)?);
        Ok(())
    }

    /// Goes on in the world in which one more leaf is fixed, and comes back from there; no step is counted.
    pub(super) fn visit<T>(
        &self,
        gauge: &dyn Gauge,
        node: &mut WorldNode,
        (leaf, piece): (WorldInput, Extent),
        go_on: impl FnOnce(&mut WorldNode) -> T,
    ) -> T {
        let before = self.fix(gauge, node, leaf, piece);
        let found = go_on(node);
        node.restore(before);
        found
    }

    /// Weighs a world.
    fn weigh<T>(&self, node: &mut WorldNode, look: impl FnOnce(&Weighed, &WorldNode) -> T) -> T {
        let weighed = Weighed::graded(self.plan, self.rules, std::mem::take(&mut node.cells));
        let found = look(&weighed, node);
        node.cells = weighed.into_cells();
        found
    }

    /// Returns all that a world can lead to.
    pub fn leads(&self, gauge: &dyn Gauge, node: &WorldNode) -> Result<Rc<Leads>, TooMany> {
        self.leads_of(gauge, &mut node.clone())
    }

    /// Returns the same, and leaves the world as it is.
    pub(super) fn leads_of(&self, gauge: &dyn Gauge, node: &mut WorldNode) -> Result<Rc<Leads>, TooMany> {
        let open = self.weigh(node, |weighed, node| {
            if let Some((verdict, choices)) = weighed.verdict(self.rules) {
                return Err(Rc::new(Leads { ends: vec![(verdict, choices)], asked: Vec::new() }));
            }
            let seen = self.seen(node, weighed);
            match self.known.borrow().get(&seen) {
                Some(known) => Err(known.clone()),
                None => Ok((seen, weighed.open_name(self.plan, self.rules))),
            }
        });
        let (seen, name) = match open {
            Ok(open) => open,
            Err(known) => return Ok(known),
        };
        let split = self.split(gauge, node, name);
        let mut all: Option<Leads> = None;
        for piece in &split.pieces {
            let there = self.within(gauge, node, (split.leaf, *piece), |node| self.leads_of(gauge, node))?;
            match &mut all {
                Some(all) => all.add(&there),
                None => all = Some((*there).clone()),
            }
        }
        let mut all = all.unwrap_or_default();
        if !all.asked.iter().any(|known| known.0 == split.leaf) {
            all.asked.insert(0, (split.leaf, split.target, split.needs));
        }
        let all = Rc::new(all);
        self.known.borrow_mut().insert(seen, all.clone());
        Ok(all)
    }

    fn seen(&self, node: &WorldNode, weighed: &Weighed) -> WorldKey {
        let trace = weighed.trace();
        let open = weighed.open_names(self.rules);
        let several =
            |name: NameId| trace.cells.get(name.index()).is_some_and(|cells| cells.only().is_none());
        let hangs = |name: NameId| open.binary_search(&name).is_ok() && several(name);
        let mut seen = Vec::with_capacity(64);
        let truths = trace.gates.iter().copied().chain(trace.choices.iter().map(|met| met.holds));
        for (place, truth) in truths.enumerate() {
            if place % 32 == 0 {
                seen.push(0);
            }
            if let Some(last) = seen.last_mut() {
                *last |= (truth as u64) << (place % 32 * 2);
            }
        }
        let fits = self.rules.products.iter().flat_map(|product| &product.fits).map(|(_, name)| *name);
        for name in open.iter().copied().chain(fits) {
            let Some(cells) = trace.cells.get(name.index()) else { continue };
            seen.extend([u64::from(name.0), cells.cells().blocks().count() as u64]);
            seen.extend(cells.cells().blocks());
        }
        for (leaf, extent) in node.world.each() {
            if hangs(leaf.name()) || self.inputs.dependents(leaf.name()).any(hangs) {
                seen.extend(leaf.bits());
                seen.extend(extent.bits());
            }
        }
        seen
    }

    /// Returns the one verdict to which all that a world leaves open leads, as far as two are equal; nothing where it is
    /// not one. No more is looked at than what it takes to tell.
    pub fn one(&self, gauge: &dyn Gauge, mut node: WorldNode) -> Result<Option<Verdict>, TooMany> {
        self.one_of(gauge, &mut node)
    }

    /// Returns the same, and leaves the world as it is.
    pub(super) fn one_of(&self, gauge: &dyn Gauge, node: &mut WorldNode) -> Result<Option<Verdict>, TooMany> {
        let open = self.weigh(node, |weighed, node| {
            if let Some((verdict, _)) = weighed.verdict(self.rules) {
                return Err(Some(verdict.essence()));
            }
            let seen = self.seen(node, weighed);
            match self.settled.borrow().get(&seen) {
                Some(known) => Err(known.clone()),
                None => Ok((seen, weighed.open_name(self.plan, self.rules))),
            }
        });
        let (seen, name) = match open {
            Ok(open) => open,
            Err(known) => return Ok(known),
        };
        let split = self.split(gauge, node, name);
        let mut one = None;
        for piece in &split.pieces {
            let there = self.within(gauge, node, (split.leaf, *piece), |node| self.one_of(gauge, node))?;
            if there.is_none() || one.as_ref().is_some_and(|one| Some(one) != there.as_ref()) {
                one = None;
                break;
            }
            one = there;
        }
        self.settled.borrow_mut().insert(seen, one.clone());
        Ok(one)
    }

    /// Returns whether a condition holds in all, some or none of the states that a world leaves open.
    pub fn truth(&self, gauge: &dyn Gauge, node: &WorldNode, of: &Logic) -> Result<Truth, TooMany> {
        self.truth_of(gauge, &mut node.clone(), of)
    }

    fn truth_of(&self, gauge: &dyn Gauge, node: &mut WorldNode, of: &Logic) -> Result<Truth, TooMany> {
        let name = match (of.truth(&node.cells), of.open_name(&node.cells)) {
            (Truth::Open, Some(name)) => self.rules.below_bands(name, &node.cells),
            (truth, _) => return Ok(truth),
        };
        let split = self.split(gauge, node, name);
        let mut all = None;
        for piece in &split.pieces {
            let there =
                self.within(gauge, node, (split.leaf, *piece), |node| self.truth_of(gauge, node, of))?;
            if there == Truth::Open || all.is_some_and(|all| all != there) {
                return Ok(Truth::Open);
            }
            all = Some(there);
        }
        Ok(all.unwrap_or(Truth::Open))
    }

    /// Returns whether an alternative is allowed, as written, in every world.
    pub fn surely_allowed(&self, gauge: &dyn Gauge, node: &WorldNode, way: &Way) -> Result<bool, TooMany> {
        self.surely_allowed_of(gauge, &mut node.clone(), way)
    }

    fn surely_allowed_of(&self, gauge: &dyn Gauge, node: &mut WorldNode, way: &Way) -> Result<bool, TooMany> {
        let open = self.weigh(node, |weighed, _| match weighed.surely_allowed(self.rules, way) {
            Truth::Yes => Err(true),
            Truth::No => Err(false),
            Truth::Open => weighed.open_in_way(self.rules, way).ok_or(false),
        });
        let open = match open {
            Ok(open) => open,
            Err(known) => return Ok(known),
        };
        let split = self.split(gauge, node, open);
        for piece in &split.pieces {
            let go_on = |node: &mut WorldNode| self.surely_allowed_of(gauge, node, way);
            if !self.within(gauge, node, (split.leaf, *piece), go_on)? {
                return Ok(false);
            }
        }
        Ok(true)
    }
}
