//! What trees must share to share a case: all of which their verdict, their questions and what would change it hang.
//!
//! Comes in: a plan. Goes out: for a tree's values a key. A value that only conditions meet counts by its cell; one that is
//! reckoned with counts exactly, so that no tree is told what holds of another.

use crate::measure::{Facts, Gauged, Inputs, Reading};
use crate::plan::{Expr, ExprNode, NameId, Origin, Place, Plan, Window};
use crate::situation::{Axis, CellSet};
use std::collections::BTreeSet;

/// What two trees must share to share a case, written as bytes, so that it is quickly compared.
pub type CaseKey = Vec<u8>;

/// A name, and whether it is one of panicles, which each group of them has for itself.
type Of = (NameId, bool);

/// What of a tree's values makes its key.
#[derive(Debug, Default)]
pub struct Sharing {
    /// Names that conditions meet beside those that make a situation, or by more constants than these.
    met: Vec<Of>,
    /// Names of trees that are reckoned with.
    reckoned: Vec<Of>,
    /// Observations that may be assumed.
    assuming: Vec<Of>,
    /// Everything of a tree that can be unknown.
    all: Vec<Of>,
    /// Whether its own past or its block goes into what is computed anew where a value is changed.
    of_its_own: bool,
}

impl Sharing {
    /// Reads a plan; `cuts` are the axes by all constants that a value meets, `axes` those of situations.
    pub fn new(plan: &Plan, inputs: &Inputs, cuts: &[Axis], axes: &crate::situation::Axes) -> Self {
        let of = |id: NameId| (id, plan[id].scope == Place::Panicles);
        let is_seen = |id: &NameId| {
            let origin = &plan[*id].origin;
            let is = matches!(origin, Origin::Observed(_) | Origin::Measure(_) | Origin::Tally(_));
            is && plan[*id].scope != Place::Grove
        };
        let names = || plan.named().map(|(id, _)| id);
        let assumes =
            |id: &NameId| matches!(&plan[*id].origin, Origin::Observed(seen) if seen.assume.is_some());
        // Where a value can be changed: that of every name that a condition compares, and one that is assumed.
        let changed: Vec<NameId> = inputs.tested().chain(names().filter(assumes)).collect();
        let follows: BTreeSet<NameId> = changed.iter().flat_map(|id| inputs.dependents(*id)).collect();
        let more_cells = |id: &NameId| {
            let finer = cuts.get(id.index()).is_some_and(|cut| cut.len() > axes.of(*id).len());
            !axes.is_compared(*id) || finer || plan[*id].scope == Place::Panicles
        };
        let cut = |id: &NameId| inputs.cuts(*id).next().is_some();
        let mut reckoned = BTreeSet::new();
        let mut of_its_own = false;
        for id in &follows {
            let Origin::Measure(measure) = &plan[*id].origin else { continue };
            of_its_own |= is_of_its_own(&measure.expr);
            if !only_copies(&measure.expr) {
                reckoned.extend(inputs.by_value(plan, *id));
            }
            if crate::measure::speaks_of_trees(&plan[*id]).is_some() {
                reckoned.insert(*id);
            }
        }
        Self {
            met: names().filter(is_seen).filter(cut).filter(more_cells).map(of).collect(),
            reckoned: reckoned.into_iter().filter(|id| plan[*id].scope != Place::Grove).map(of).collect(),
            assuming: names().filter(is_seen).filter(assumes).map(of).collect(),
            all: names().filter(is_seen).map(of).collect(),
            of_its_own,
        }
    }

    /// Returns the key of a tree. `situation` are the cells of the names that make it.
    pub fn key<'c>(
        &self,
        situation: impl Iterator<Item = Option<&'c CellSet>>,
        gauged: &Gauged,
        cuts: &[Axis],
        tree: &Tree<'_>,
    ) -> CaseKey {
        let mut key = Key { bytes: Vec::with_capacity(128), settled: true };
        situation.for_each(|set| key.cells(set));
        let several = gauged.groups.len() > 1;
        for (of, reading) in readings(&self.met, gauged, several) {
            let Some(axis) = cuts.get(of.index()) else { continue };
            if let Some(number) = reading.extent.one_number() {
                key.bytes.extend(axis.cell(number).to_le_bytes());
                continue;
            }
            let touched = Some(axis.touched(reading.extent));
            let settled = key.settled;
            key.cells(touched.as_ref());
            key.settled = settled;
        }
        readings(&self.reckoned, gauged, several).for_each(|(_, reading)| key.bits(reading));
        readings(&self.assuming, gauged, several)
            .for_each(|(_, reading)| key.bytes.push(u8::from(reading.assumed)));
        if several {
            key.bytes.push(gauged.groups.len() as u8);
            let shares = gauged.groups.iter().map(|group| group.share.map_or(u64::MAX, f64::to_bits));
            shares.for_each(|share| key.number(share));
        }
        if !key.settled || several {
            readings(&self.all, gauged, several).for_each(|(_, reading)| key.bits(reading));
        }
        if self.of_its_own || !key.settled && tree.waits_in_blocks {
            key.number(tree.facts.history().number() as u64);
            key.number(
                tree.facts.harvest().map_or(u64::MAX, |day| chrono::Datelike::num_days_from_ce(&day) as u64),
            );
        }
        key.bytes
    }
}

/// What else of a tree may make its key.
pub struct Tree<'f> {
    /// What is known of it.
    pub facts: &'f dyn Facts,
    /// Whether a measure over the trees of a block waits for observations.
    pub waits_in_blocks: bool,
}

/// Returns the readings of some names; those of panicles in each of several groups.
fn readings<'g>(
    names: &'g [Of],
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

struct Key {
    bytes: Vec<u8>,
    /// Whether every name that makes a situation is in one cell.
    settled: bool,
}

impl Key {
    fn cells(&mut self, set: Option<&CellSet>) {
        match set.and_then(CellSet::only) {
            Some(cell) => self.bytes.extend(cell.to_le_bytes()),
            None => {
                self.settled &= set.is_none();
                self.bytes.extend(u16::MAX.to_le_bytes());
                let set = set.into_iter().flat_map(CellSet::iter).chain([u16::MAX]);
                self.bytes.extend(set.flat_map(u16::to_le_bytes));
            }
        }
    }

    fn bits(&mut self, reading: &Reading) {
        reading.extent.bits().into_iter().for_each(|bits| self.number(bits));
    }

    fn number(&mut self, number: u64) {
        self.bytes.extend(number.to_le_bytes());
    }
}

/// Returns whether an expression passes values on as they are, so that only the cells of its names tell in which cell it
/// is; what speaks of conditions alone does so, too.
fn only_copies(expr: &Expr) -> bool {
    match &*expr.node {
        ExprNode::Name(_)
        | ExprNode::Number(_)
        | ExprNode::Word(_)
        | ExprNode::OfPanicles(..)
        | ExprNode::LikelyRange(_)
        | ExprNode::Panicles(..)
        | ExprNode::ShareOfPanicles(_)
        | ExprNode::ShareOfTrees(..) => true,
        ExprNode::Pick(_, a, b) | ExprNode::OrElse(a, b) => only_copies(a) && only_copies(b),
        _ => false,
    }
}

/// Returns whether an expression has a part that is a tree's own, or its block's, beside its names.
fn is_of_its_own(expr: &Expr) -> bool {
    let mut found = matches!(
        &*expr.node,
        ExprNode::DaysToHarvest
            | ExprNode::DaysSinceLast(_)
            | ExprNode::SpraysInARow(_)
            | ExprNode::SpraysOf(..)
            | ExprNode::AmountOf(..)
            | ExprNode::AmountOfProduct(..)
            | ExprNode::ShareOfTrees(Place::Block, _)
            | ExprNode::Fitting { .. }
            | ExprNode::Aggregate(_, Window::Since(_) | Window::SinceLast(_))
    );
    expr.each_part(&mut |part| found |= is_of_its_own(part));
    found
}
