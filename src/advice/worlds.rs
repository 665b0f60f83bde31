//! The possible states of the world of one tree: walked until each leads to one verdict.
//!
//! What is not known of a tree is split, piece by piece, only where the verdict hangs on it: a world in which
//! every cell leads to the same verdict is not split further. What cannot be split any more is taken as
//! unrelated to everything else, which may leave more worlds than there are, never fewer.

use super::Need;
use crate::decide::{Logic, Rules, Weighed};
use crate::measure::{Cause, Extent, Gauged, Inputs, Leaf, Possible, Reading, World, speaks_of_trees};
use crate::plan::{ChoiceId, ExprNode, Kind, NameId, Origin, Place, Plan, TextId};
use crate::situation::{Axis, CellSet};
use crate::trace::{Truth, Verdict};
use rustc_hash::FxHashMap;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

/// Gives all values of a tree in a state of the world.
pub trait Gauge {
    /// Returns what every name is where one more leaf is fixed than before; with a target, what that name is, and those
    /// that it is computed from.
    fn gauge_from(&self, world: &World, before: &Gauged, leaf: Leaf, target: Option<NameId>) -> Gauged;

    /// Returns the observations of trees that a measure over trees waits for, one of this tree itself among them.
    fn unseen_elsewhere(&self, name: NameId) -> &[Need];

    /// Returns how many of the other trees a measure over trees may count besides those that it surely counts.
    fn others_open(&self, name: NameId) -> f64;

    /// Returns the name of another tree.
    fn tree_name(&self, tree: usize) -> String;

    /// Returns the sample that was seen at a leaf: how many were found among how many.
    fn sample(&self, leaf: Leaf) -> Option<(u32, u32)>;
}

/// A plan with what the walk of one tree's worlds needs of it.
pub struct Walk<'a> {
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
    pub known: RefCell<FxHashMap<Seen, Rc<Leads>>>,
    /// The one verdict of worlds that were looked at before; nothing where it is not one.
    pub settled: RefCell<FxHashMap<Seen, Option<Verdict>>>,
}

/// What two worlds must share to lead to the same: the truth of all gates and choices, the cells of the names on
/// which the open ones hang, the strengths that fit, and what is fixed of the leaves that such names are computed from.
/// Written as numbers, so that it is quickly compared.
type Seen = Vec<u64>;

/// What a world leads to.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Leads {
    /// The verdicts, each with the choices that led to it.
    pub ends: Vec<(Verdict, Vec<ChoiceId>)>,
    /// What was split on the way, each once: the leaf, the name that hung on it, what would have to be found out.
    pub asked: Vec<(Leaf, NameId, Vec<Need>)>,
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
    /// The name that hangs on it.
    pub target: NameId,
}

/// The walk ran out of its budget: too many states of the world.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooMany;

impl Walk<'_> {
    /// Returns the world in which one more leaf is fixed, with its values and cells.
    pub fn fixed(&self, gauge: &dyn Gauge, before: &Node, leaf: Leaf, extent: Extent) -> Node {
        let world = before.world.with(leaf, extent);
        let gauged = gauge.gauge_from(&world, &before.gauged, leaf, None);
        let mut cells = before.cells.clone();
        let name = leaf.name();
        for id in self.inputs.dependents(name).chain([name]) {
            self.touch(&gauged, id, &mut cells);
        }
        Node { world, gauged, cells }
    }

    /// Returns the cells of all names that are compared.
    pub fn cells(&self, gauged: &Gauged) -> Vec<CellSet> {
        let mut cells = vec![CellSet::one(0); self.rules.axes.len()];
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

    /// Returns all that a world can lead to.
    pub fn leads(&self, gauge: &dyn Gauge, node: &Node) -> Result<Rc<Leads>, TooMany> {
        let weighed = Weighed::new(self.plan, self.rules, &node.cells);
        if let Some((verdict, choices)) = weighed.verdict(self.rules) {
            return Ok(Rc::new(Leads { ends: vec![(verdict, choices)], asked: Vec::new() }));
        }
        let seen = self.seen(node, &weighed);
        if let Some(known) = self.known.borrow().get(&seen) {
            return Ok(known.clone());
        }
        let split = self.split(gauge, node, weighed.open_name(self.plan, self.rules));
        let mut all: Option<Leads> = None;
        for piece in &split.pieces {
            let there = self.leads(gauge, &self.step(gauge, node, split.leaf, *piece)?)?;
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

    fn seen(&self, node: &Node, weighed: &Weighed) -> Seen {
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
    pub fn one(&self, gauge: &dyn Gauge, node: &Node) -> Result<Option<Verdict>, TooMany> {
        let weighed = Weighed::new(self.plan, self.rules, &node.cells);
        if let Some((verdict, _)) = weighed.verdict(self.rules) {
            return Ok(Some(verdict.essence()));
        }
        let seen = self.seen(node, &weighed);
        if let Some(known) = self.settled.borrow().get(&seen) {
            return Ok(known.clone());
        }
        let split = self.split(gauge, node, weighed.open_name(self.plan, self.rules));
        let mut one = None;
        for piece in &split.pieces {
            let there = self.one(gauge, &self.step(gauge, node, split.leaf, *piece)?)?;
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
    pub fn truth(&self, gauge: &dyn Gauge, node: &Node, of: &Logic) -> Result<Truth, TooMany> {
        let cells = self.rules.graded(&node.cells);
        let name = match (of.truth(&cells), of.open_name(&cells)) {
            (Truth::Open, Some(name)) => self.rules.below_bands(name, &cells),
            (truth, _) => return Ok(truth),
        };
        let split = self.split(gauge, node, name);
        let mut all = None;
        for piece in &split.pieces {
            let there = self.truth(gauge, &self.step(gauge, node, split.leaf, *piece)?, of)?;
            if there == Truth::Open || all.is_some_and(|all| all != there) {
                return Ok(Truth::Open);
            }
            all = Some(there);
        }
        Ok(all.unwrap_or(Truth::Open))
    }

    /// Splits a world at a leaf that was split somewhere below it.
    pub fn split_at(
        &self,
        gauge: &dyn Gauge,
        node: &Node,
        leaf: Leaf,
        target: NameId,
        needs: &[Need],
    ) -> Option<Split> {
        let name = leaf.name();
        let split = match leaf {
            Leaf::Others(_) => None,
            Leaf::Name(_) | Leaf::InGroup(..) => self.split_leaf(gauge, node, leaf, name, target),
        };
        split
            .or_else(|| {
                let found = self.split(gauge, node, target);
                (found.leaf == leaf).then_some(found)
            })
            .filter(|split| split.pieces.len() > 1)
            .map(|split| Split { needs: needs.to_vec(), ..split })
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
            Truth::Yes => return Ok(true),
            Truth::No => return Ok(false),
            Truth::Open => weighed.open_in_way(self.rules, way),
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
        self.count_step()?;
        Ok(self.fixed(gauge, node, leaf, piece))
    }

    /// Takes a step off the budget.
    pub fn count_step(&self) -> Result<(), TooMany> {
        self.budget.set(self.budget.get().checked_sub(1).ok_or(TooMany)?);
        Ok(())
    }

    /// Finds what to split so that a name becomes one cell: an input that can be split, else the name itself.
    pub fn split(&self, gauge: &dyn Gauge, node: &Node, name: NameId) -> Split {
        self.split_below(gauge, node, name, name).unwrap_or_else(|| {
            let extent = node.gauged.names.get(name.index()).map_or(Extent::EMPTY, |reading| reading.extent);
            let needs = self.needs_of(gauge, node, name);
            Split {
                leaf: Leaf::Name(name),
                pieces: self.rules.axes.of(name).split(extent),
                needs,
                target: name,
            }
        })
    }

    fn split_below(&self, gauge: &dyn Gauge, node: &Node, name: NameId, target: NameId) -> Option<Split> {
        let leaf = |leaf| self.split_leaf(gauge, node, leaf, name, target);
        let observed = self.is_asked(name);
        if observed && self.plan[name].scope == Place::Panicles {
            let groups = 0..node.gauged.groups.len();
            return groups.into_iter().find_map(|group| leaf(Leaf::InGroup(group, name)));
        }
        if (observed || node.world.fixed(Leaf::Name(name)).is_some())
            && let Some(split) = leaf(Leaf::Name(name))
        {
            return Some(split);
        }
        let others = || self.split_others(gauge, node, name, target);
        let unsettled = |input: &NameId| {
            self.plan[*input].scope == Place::Panicles
                || node.gauged.names.get(input.index()).is_some_and(|reading| !reading.extent.is_settled())
        };
        let inputs = self.inputs.direct(name).filter(unsettled);
        inputs.into_iter().find_map(|input| self.split_below(gauge, node, input, target)).or_else(others)
    }

    /// Splits how many of the other trees a measure over trees counts where that changes the cell of the target, else
    /// into each count.
    fn split_others(&self, gauge: &dyn Gauge, node: &Node, name: NameId, target: NameId) -> Option<Split> {
        speaks_of_trees(&self.plan[name])?;
        let leaf = Leaf::Others(name);
        let fixed = node.world.fixed(leaf).and_then(Extent::ends);
        let (low, high) = fixed.unwrap_or((0.0, gauge.others_open(name)));
        let needs = gauge.unseen_elsewhere(name);
        if low >= high || needs.is_empty() {
            return None;
        }
        let cells = |extent: Extent| self.cells_of(gauge, node, leaf, extent, target);
        let mut pieces = crate::situation::pieces(low, high, true, &cells);
        if pieces.len() < 2 {
            pieces = (0..=(high - low) as u32).map(|more| Extent::number(low + f64::from(more))).collect();
        }
        Some(Split { leaf, pieces, needs: needs.to_vec(), target })
    }

    /// Returns the cells of a name where a leaf is fixed.
    fn cells_of(
        &self,
        gauge: &dyn Gauge,
        node: &Node,
        leaf: Leaf,
        extent: Extent,
        target: NameId,
    ) -> CellSet {
        let world = node.world.with(leaf, extent);
        let gauged = gauge.gauge_from(&world, &node.gauged, leaf, Some(target));
        let reading = gauged.names.get(target.index());
        let axis = self.rules.axes.of(target);
        reading.map_or_else(|| axis.all(), |it| axis.touched(it.extent))
    }

    /// Returns everything unsettled on which an open gate or choice hangs.
    pub fn everything_open(&self, gauge: &dyn Gauge, node: &Node) -> Vec<Vec<Need>> {
        let weighed = Weighed::new(self.plan, self.rules, &node.cells);
        let mut found = Vec::new();
        let mut seen = Vec::new();
        let mut todo: Vec<NameId> = weighed.open_names(self.rules);
        while let Some(name) = todo.pop() {
            if seen.contains(&name) {
                continue;
            }
            seen.push(name);
            if !self.is_open(node, name) {
                continue;
            }
            todo.extend(self.inputs.direct(name));
            if self.is_asked(name) {
                found.push(vec![Need::Name(name)]);
            } else if !self.inputs.direct(name).any(|input| self.is_open(node, input)) {
                found.push(self.needs_of(gauge, node, name));
            }
            let elsewhere = gauge.unseen_elsewhere(name);
            if !elsewhere.is_empty() {
                found.push(elsewhere.to_vec());
            }
        }
        found
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
        let mut pieces = match (extent.word_set(), self.classes.get(name.index())) {
            (set, Some(classes)) if set != 0 && !extent.may_be_empty && !classes.is_empty() => {
                let classes = classes.iter().map(|class| class & set).filter(|class| *class != 0);
                classes.map(Extent::words).collect()
            }
            _ => self.cuts.get(name.index())?.split(extent),
        };
        // Texts have no order of their own; the place of an item in its rulebook is none.
        let written = |text: TextId| self.plan.texts.get(text.0 as usize);
        pieces.sort_by_key(|piece| piece.text().map(|text| (written(text).is_none(), written(text))));
        if let [Extent { can_be: Possible::Numbers(low, high), .. }] = pieces[..] {
            let whole = matches!(self.plan[name].kind, Kind::Count | Kind::Date);
            let cells = |extent: Extent| self.cells_of(gauge, node, leaf, extent, target);
            pieces = crate::situation::pieces(low, high, whole, &cells);
        }
        (pieces.len() > 1).then_some(Split { leaf, pieces, needs: vec![Need::Name(name)], target })
    }

    /// Returns all that would have to be found out for a name that no input alone settles.
    fn needs_of(&self, gauge: &dyn Gauge, node: &Node, name: NameId) -> Vec<Need> {
        let mut found = Vec::new();
        let mut seen = Vec::new();
        let mut todo = vec![name];
        while let Some(name) = todo.pop() {
            if seen.contains(&name) {
                continue;
            }
            seen.push(name);
            found.extend_from_slice(gauge.unseen_elsewhere(name));
            if self.is_asked(name) {
                found.push(Need::Name(name));
                continue;
            }
            let cause = node.gauged.names.get(name.index()).and_then(|reading| reading.cause.as_ref());
            found.extend(match cause {
                Some(Cause::Weather(_)) => Some(Need::Weather),
                Some(Cause::Sprays(_)) => Some(Need::Sprays),
                Some(Cause::Harvest) => Some(Need::Harvest),
                Some(Cause::Sprayer) => Some(Need::Sprayer),
                Some(Cause::NoRow(_) | Cause::Doubt(_)) => self.doubted(node, name),
                Some(Cause::Unseen(_) | Cause::SeenBetween | Cause::Empty(_)) | None => None,
            });
            todo.extend(self.inputs.direct(name).filter(|input| self.is_open(node, *input)));
        }
        if found.is_empty() {
            // Nothing below it is open: what is known does not settle it, and is looked at again.
            found.push(Need::Name(self.observed_below(name).unwrap_or(name)));
        }
        found.sort();
        found.dedup();
        found
    }

    /// Returns what a name hangs on that is doubtful though all it is computed from is known: a sample is looked at
    /// again; what a table does not know nobody can look at, and it is named itself.
    fn doubted(&self, node: &Node, name: NameId) -> Option<Need> {
        if self.inputs.direct(name).any(|input| self.is_open(node, input)) {
            return None;
        }
        let sampled = match &self.plan[name].origin {
            Origin::Measure(measure) => match &*measure.expr.node {
                ExprNode::LikelyRange(sampled) => Some(*sampled),
                _ => None,
            },
            _ => None,
        };
        Some(Need::Name(sampled.unwrap_or(name)))
    }

    /// Returns whether a name, or that of any group of panicles, is not known exactly.
    fn is_open(&self, node: &Node, name: NameId) -> bool {
        let open =
            |names: &[Reading]| names.get(name.index()).is_some_and(|reading| !reading.extent.is_settled());
        if self.plan[name].scope == Place::Panicles {
            return node.gauged.groups.iter().any(|group| open(&group.names));
        }
        open(&node.gauged.names)
    }

    /// Returns whether the grower writes a name's value down: an observation, or the cultivar.
    fn is_asked(&self, name: NameId) -> bool {
        matches!(self.plan[name].origin, Origin::Observed(_) | Origin::Cultivar)
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
