//! What goes into what is computed anew where a value becomes another, beside that value.

use crate::measure::Inputs;
use crate::plan::{Expr, ExprNode, NameId, Origin, Place, Plan};
use std::collections::BTreeSet;

/// What goes into what is computed anew where some values become others.
#[derive(Clone, Debug, Default)]
pub struct Reckoned {
    /// Names of trees whose value counts exactly.
    pub names: BTreeSet<NameId>,
    /// Whether a tree's own sprays do.
    pub past: bool,
    /// Whether its harvest does.
    pub harvest: bool,
    /// Whether its block does.
    pub block: bool,
}

impl Reckoned {
    /// Returns what a name is itself reckoned from.
    pub fn of(plan: &Plan, inputs: &Inputs, id: NameId) -> Self {
        let mut found = Self::default();
        let Origin::Measure(measure) = &plan[id].origin else { return found };
        let by_value = inputs.by_value(plan, id).filter(|_| !only_copies(&measure.expr));
        let of_trees = crate::measure::speaks_of_trees(&plan[id]).map(|_| id);
        found.names = by_value.chain(of_trees).filter(|id| plan[*id].scope != Place::Grove).collect();
        found.add_own(&measure.expr);
        found
    }

    /// Returns what is reckoned with in those wanted of all that is computed from some names.
    pub fn behind(
        each: &[Self],
        inputs: &Inputs,
        names: impl Iterator<Item = NameId>,
        wanted: &dyn Fn(NameId) -> bool,
    ) -> Self {
        let follows: BTreeSet<NameId> = names.flat_map(|id| inputs.dependents(id)).collect();
        let mut all = Self::default();
        for one in follows.iter().filter(|id| wanted(**id)).filter_map(|id| each.get(id.index())) {
            all.names.extend(&one.names);
            all.past |= one.past;
            all.harvest |= one.harvest;
            all.block |= one.block;
        }
        all
    }

    /// Adds what an expression has of a tree's own, or its block's, beside its names.
    fn add_own(&mut self, expr: &Expr) {
        match &*expr.node {
            ExprNode::DaysToHarvest => self.harvest = true,
            ExprNode::ShareOfTrees(Place::Block, _) | ExprNode::Fitting { .. } => self.block = true,
            ExprNode::DaysSinceLast(_)
            | ExprNode::SpraysInARow(_)
            | ExprNode::SpraysOf(..)
            | ExprNode::AmountOf(..)
            | ExprNode::AmountOfProduct(..)
            | ExprNode::Aggregate(..) => self.past = true,
            _ => {}
        }
        expr.each_part(&mut |part| self.add_own(part));
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
