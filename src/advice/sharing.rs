//! What trees must share to share a case, and what to share the walk of what is not known of them.
//!
//! Comes in: a plan. Goes out: for a tree's values a key. A value that only conditions meet counts by its cell; one that is
//! reckoned with counts exactly, so that no tree is told what holds of another.

use super::reckoned::Reckoned;
use super::worlds::{WorldNode, WorldWalk};
use crate::decide::Rules;
use crate::measure::{Cause, Extent, Facts, Gauged, Inputs, Reading};
use crate::plan::{Compare, Kind, NameId, Origin, Place, Plan};
use crate::situation::{Axis, CellSet};
use rustc_hash::FxHashMap;
use std::cell::RefCell;
use std::rc::Rc;

/// What two trees must share, written as bytes, so that it is quickly compared.
pub type SharedKey = Vec<u8>;

/// A name, and whether it is one of panicles, which each group of them has for itself.
type KeyedName = (NameId, bool);

/// What of a tree's values makes its keys.
#[derive(Debug, Default)]
pub struct Sharing {
    /// Names that conditions meet beside those that make a situation, or by more constants than these.
    met: Vec<KeyedName>,
    /// Names of trees that are reckoned with where a value that a condition meets, or one that is assumed, is changed.
    reckoned: Vec<KeyedName>,
    /// What of a tree's own is, then.
    changed: Reckoned,
    /// Observations that may be assumed.
    assuming: Vec<KeyedName>,
    /// Everything of a tree that can be unknown.
    all: Vec<KeyedName>,
    /// What each name is itself reckoned from.
    each: Vec<Reckoned>,
    /// For each name whether a verdict can hang on it, as that of a gate or choice or of something below one.
    of_verdicts: Vec<bool>,
    /// Whether a verdict can hang on other trees of a block.
    of_blocks: bool,
    /// What is reckoned with where some names are found out, of all that is computed from them and of what verdicts hang on.
    found_out: RefCell<FoundOut>,
}

/// What is reckoned with, by whether that of verdicts alone is wanted, and by the names that are found out.
type FoundOut = FxHashMap<(bool, Vec<NameId>), Rc<Reckoned>>;

/// What of a tree makes its keys.
pub struct Tree<'t> {
    /// Its values.
    pub root: &'t WorldNode,
    /// What is known of it.
    pub facts: &'t dyn Facts,
    /// The number of its block.
    pub block: usize,
    /// Whether a measure over the trees of a block waits for observations.
    pub waits_in_blocks: bool,
}

impl Sharing {
    /// Reads a plan; `cuts` are the axes by all constants that a value meets.
    pub fn new(plan: &Plan, inputs: &Inputs, cuts: &[Axis], rules: &Rules) -> Self {
        let axes = &rules.axes;
        let of = |id: NameId| (id, plan[id].scope == Place::Panicles);
        let is_seen = |id: &NameId| {
            let origin = &plan[*id].origin;
            let is = matches!(origin, Origin::Observed(_) | Origin::Measure(_) | Origin::Tally(_));
            is && plan[*id].scope != Place::Grove
        };
        let names = || plan.named().map(|(id, _)| id);
        let assumes =
            |id: &NameId| matches!(&plan[*id].origin, Origin::Observed(seen) if seen.assume.is_some());
        let more_cells = |id: &NameId| {
            let finer = cuts.get(id.index()).is_some_and(|cut| cut.len() > axes.of(*id).len());
            !axes.is_compared(*id) || finer || plan[*id].scope == Place::Panicles
        };
        let cut = |id: &NameId| inputs.cuts(*id).next().is_some();
        // A cultivar or block that a measure's own condition tells apart.
        let told_apart = |id: &NameId| {
            let compares: Vec<&Compare> = inputs.cuts(*id).collect();
            let of_tree = matches!(plan[*id].origin, Origin::Cultivar | Origin::Block);
            of_tree && Axis::new(plan, plan[*id].kind, &compares, false).len() > axes.of(*id).len()
        };
        let is_met = |id: &NameId| is_seen(id) && cut(id) && more_cells(id) || told_apart(id);
        let each: Vec<Reckoned> = names().map(|id| Reckoned::of(plan, inputs, id)).collect();
        // Where a value can be changed: that of every name that a condition compares, and one that is assumed.
        let changed = inputs.tested().chain(names().filter(assumes));
        let changed = Reckoned::behind(&each, inputs, changed, &|_| true);
        let of_verdicts = of_verdicts(inputs, rules);
        let of_block = |id: NameId| {
            let speaks = crate::measure::speaks_of_trees(&plan[id]);
            of_verdicts[id.index()] && speaks.is_some_and(|(place, _)| place == Place::Block)
        };
        Self {
            met: names().filter(is_met).map(of).collect(),
            reckoned: changed.names.iter().copied().map(of).collect(),
            changed,
            assuming: names().filter(is_seen).filter(assumes).map(of).collect(),
            all: names().filter(is_seen).map(of).collect(),
            each,
            of_blocks: names().any(of_block),
            of_verdicts,
            found_out: RefCell::default(),
        }
    }

    /// Returns what trees must share to share all that is told of their case.
    pub fn of_case(&self, walk: &WorldWalk<'_>, tree: &Tree<'_>) -> SharedKey {
        let gauged = &tree.root.gauged;
        let several = gauged.groups.len() > 1;
        let mut key = KeyBuilder::new();
        self.cells(&mut key, walk, tree, &|_| true);
        readings(&self.reckoned, gauged, several).for_each(|(_, reading)| key.bits(reading.extent));
        if several {
            key.bytes.push(gauged.groups.len() as u8);
            let shares = gauged.groups.iter().map(|group| group.share.map_or(u64::MAX, f64::to_bits));
            shares.for_each(|share| key.number(share));
        }
        if key.is_open || several {
            readings(&self.all, gauged, several).for_each(|(_, reading)| key.bits(reading.extent));
            key.own(&self.found_out(walk.inputs, open(gauged), false), tree);
        }
        key.own(&self.changed, tree);
        if key.is_open && tree.waits_in_blocks {
            key.number(tree.block as u64);
        }
        key.bytes
    }

    /// Returns what trees must share to share the walk of what their verdict can be, where nothing is changed but what is
    /// not known: of what is known, only that counts exactly which is reckoned with in what is computed from it. Nothing of
    /// a tree of which all is known, or whose panicles are in several groups.
    pub fn of_walk(&self, walk: &WorldWalk<'_>, tree: &Tree<'_>) -> Option<SharedKey> {
        let gauged = &tree.root.gauged;
        let wanted = |id: NameId| self.of_verdicts[id.index()];
        let mut key = KeyBuilder::new();
        self.cells(&mut key, walk, tree, &wanted);
        if !key.is_open || gauged.groups.len() > 1 {
            return None;
        }
        let mut open = open(gauged);
        open.retain(|id| wanted(*id));
        let reckoned = self.found_out(walk.inputs, open.clone(), true);
        key.number(open.len() as u64);
        for name in &open {
            let Some(reading) = gauged.names.get(name.index()) else { continue };
            key.bytes.extend(name.0.to_le_bytes());
            key.bytes.extend([asks_for(reading.cause.as_ref()), u8::from(reading.extent.may_be_empty)]);
            // Of a number that nothing is reckoned from, the cells tell all; of whole ones an end is told.
            let whole = matches!(walk.plan[*name].kind, Kind::Count | Kind::Date);
            if whole || reading.extent.ends().is_none() {
                key.bits(reading.extent);
            }
        }
        let exact = reckoned.names.iter().filter_map(|name| gauged.names.get(name.index()));
        exact.for_each(|reading| key.bits(reading.extent));
        key.own(&reckoned, tree);
        if self.of_blocks && tree.waits_in_blocks {
            key.number(tree.block as u64);
        }
        Some(key.bytes)
    }

    /// Returns what trees must share to share a verdict; nothing where a tree's panicles are in several groups.
    pub fn of_verdict(&self, walk: &WorldWalk<'_>, tree: &Tree<'_>) -> Option<SharedKey> {
        if tree.root.gauged.groups.len() > 1 {
            return None;
        }
        let mut key = KeyBuilder::new();
        self.cells(&mut key, walk, tree, &|id: NameId| self.of_verdicts[id.index()]);
        if key.is_open { self.of_walk(walk, tree) } else { Some(key.bytes) }
    }

    /// Adds the cells of names, and which of them are assumed.
    fn cells(
        &self,
        key: &mut KeyBuilder,
        walk: &WorldWalk<'_>,
        tree: &Tree<'_>,
        wanted: &dyn Fn(NameId) -> bool,
    ) {
        let root = tree.root;
        let several = root.gauged.groups.len() > 1;
        for name in walk.rules.axes.compared().iter().filter(|id| wanted(**id)) {
            let cells = root.cells.get(name.index());
            key.is_open |= cells.is_some_and(|cells| cells.only().is_none());
            key.cells(cells);
        }
        for (of, reading) in readings(&self.met, &root.gauged, several).filter(|(id, _)| wanted(*id)) {
            let Some(axis) = walk.cuts.get(of.index()) else { continue };
            match reading.extent.one_number() {
                Some(number) => key.bytes.extend(axis.cell(number).to_le_bytes()),
                None => key.cells(Some(&axis.touched(reading.extent))),
            }
        }
        let assuming = readings(&self.assuming, &root.gauged, several);
        key.bytes.extend(assuming.map(|(_, reading)| u8::from(reading.assumed)));
    }

    /// Returns what is reckoned with where some names are found out.
    fn found_out(&self, inputs: &Inputs, names: Vec<NameId>, of_verdicts: bool) -> Rc<Reckoned> {
        let wanted = |id: NameId| !of_verdicts || self.of_verdicts[id.index()];
        let made = |(_, names): &(bool, Vec<NameId>)| {
            Rc::new(Reckoned::behind(&self.each, inputs, names.iter().copied(), &wanted))
        };
        Rc::clone(self.found_out.borrow_mut().entry((of_verdicts, names)).or_insert_with_key(made))
    }
}

/// Returns for each name whether a verdict can hang on it.
fn of_verdicts(inputs: &Inputs, rules: &Rules) -> Vec<bool> {
    let mut hangs = vec![false; rules.axes.len()];
    let fits = rules.products.iter().flat_map(|product| &product.fits).map(|(_, name)| *name);
    let named = rules.gate_names.iter().chain(&rules.choice_names).flatten().copied();
    let mut todo: Vec<NameId> = named.chain(fits).collect();
    while let Some(name) = todo.pop() {
        if let Some(hangs) = hangs.get_mut(name.index()).filter(|hangs| !**hangs) {
            *hangs = true;
            todo.extend(inputs.direct(name));
        }
    }
    hangs
}

/// Returns the names that are not known of a tree.
fn open(gauged: &Gauged) -> Vec<NameId> {
    let is_open = |at: usize| {
        let open = |names: &[Reading]| names.get(at).is_some_and(|reading| !reading.extent.is_settled());
        open(&gauged.names) || gauged.groups.iter().any(|group| open(&group.names))
    };
    (0..gauged.names.len()).filter(|at| is_open(*at)).map(|at| NameId(at as u32)).collect()
}

/// Returns which question a cause leads to.
fn asks_for(cause: Option<&Cause>) -> u8 {
    match cause {
        Some(Cause::Weather(_)) => 1,
        Some(Cause::Sprays(_)) => 2,
        Some(Cause::Harvest) => 3,
        Some(Cause::Sprayer) => 4,
        Some(Cause::NoRow(_) | Cause::Doubt(_)) => 5,
        Some(Cause::Unseen(_) | Cause::SeenBetween | Cause::Empty(_)) | None => 0,
    }
}

/// Returns the readings of some names; those of panicles in each of several groups.
fn readings<'g>(
    names: &'g [KeyedName],
    gauged: &'g Gauged,
    several: bool,
) -> impl Iterator<Item = (NameId, &'g Reading)> {
    names.iter().flat_map(move |(id, of_panicles)| {
        let groups = if several && *of_panicles { &gauged.groups[..] } else { &[] };
        let own = gauged.names.get(id.index()).filter(|_| groups.is_empty());
        own.into_iter()
            .chain(groups.iter().filter_map(|group| group.names.get(id.index())))
            .map(|it| (*id, it))
    })
}

/// A key while it is written.
struct KeyBuilder {
    bytes: Vec<u8>,
    /// Whether some name that makes a situation is in several cells.
    is_open: bool,
}

impl KeyBuilder {
    fn new() -> Self {
        Self { bytes: Vec::with_capacity(512), is_open: false }
    }

    fn cells(&mut self, set: Option<&CellSet>) {
        match set.and_then(CellSet::only) {
            Some(cell) => self.bytes.extend(cell.to_le_bytes()),
            None => {
                self.bytes.extend(u16::MAX.to_le_bytes());
                let set = set.into_iter().flat_map(CellSet::iter).chain([u16::MAX]);
                self.bytes.extend(set.flat_map(u16::to_le_bytes));
            }
        }
    }

    fn bits(&mut self, extent: Extent) {
        extent.bits().into_iter().for_each(|bits| self.number(bits));
    }

    fn number(&mut self, number: u64) {
        self.bytes.extend(number.to_le_bytes());
    }

    /// Adds what of a tree's own goes into what is computed anew.
    fn own(&mut self, reckoned: &Reckoned, tree: &Tree<'_>) {
        self.bytes.extend([reckoned.past, reckoned.harvest, reckoned.block].map(u8::from));
        if reckoned.past {
            self.number(tree.facts.history().number() as u64);
        }
        if reckoned.harvest {
            let day = tree.facts.harvest();
            self.number(day.map_or(u64::MAX, |day| chrono::Datelike::num_days_from_ce(&day) as u64));
        }
        if reckoned.block {
            self.number(tree.block as u64);
        }
    }
}
