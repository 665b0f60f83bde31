//! What each name comes from in the end: observations, tallies, the date, and expressions that are no arithmetic. Two
//! names with the same meaning come from the same.

use super::compute::is_arithmetic;
use crate::plan::{
    Compare, Condition, Definitions, Expr, ExprNode, Meaning, NameId, Origin, Plan, Subject, Test,
};
use std::collections::{BTreeMap, BTreeSet};

/// Something that a name comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Root<'p> {
    /// A name that is not computed: seen, counted over days, or taken.
    Name(NameId),
    /// An expression that is no arithmetic: of the weather, the log, the panicles.
    Leaf(&'p Expr),
}

/// A rulebook whose names are brought to their roots.
#[derive(Clone, Debug)]
pub(crate) struct Rooted<'p> {
    pub(crate) plan: &'p Plan,
    pub(crate) definitions: Definitions<'p>,
    /// Names that are cut off from what they are computed from.
    pub(crate) cut: BTreeSet<NameId>,
}

impl<'p> Rooted<'p> {
    /// Returns the roots of a name by their meanings; of a band those of its rows.
    pub(crate) fn roots(&self, name: NameId) -> BTreeMap<Meaning, Root<'p>> {
        let mut found = BTreeMap::new();
        let mut seen = BTreeSet::new();
        self.of_name(name, &mut seen, &mut found);
        found
    }

    fn of_name(&self, name: NameId, seen: &mut BTreeSet<NameId>, found: &mut BTreeMap<Meaning, Root<'p>>) {
        if !seen.insert(name) {
            return;
        }
        let plan = self.plan;
        match &plan[name].origin {
            _ if self.cut.contains(&name) => {
                found.insert(self.definitions.name(name), Root::Name(name));
            }
            Origin::Measure(measure) => {
                self.of_expr(&measure.expr, seen, found);
                if let Some(valid) = &measure.valid_if {
                    self.of_condition(valid, seen, found);
                }
            }
            Origin::Band(band) => {
                band.rows.iter().for_each(|row| self.of_condition(&row.condition, seen, found));
            }
            Origin::Observed(_) | Origin::Tally(_) | Origin::Cultivar | Origin::Block | Origin::Date => {
                found.insert(self.definitions.name(name), Root::Name(name));
            }
        }
    }

    fn of_expr(&self, expr: &'p Expr, seen: &mut BTreeSet<NameId>, found: &mut BTreeMap<Meaning, Root<'p>>) {
        if let ExprNode::Name(name) = &*expr.node {
            return self.of_name(*name, seen, found);
        }
        if !is_arithmetic(expr) {
            found.insert(self.definitions.expr(expr), Root::Leaf(expr));
            return;
        }
        let mut parts = Vec::new();
        expr.each_part(&mut |part| parts.push(part));
        parts.into_iter().for_each(|part| self.of_expr(part, seen, found));
    }

    fn of_condition(
        &self,
        condition: &'p Condition,
        seen: &mut BTreeSet<NameId>,
        found: &mut BTreeMap<Meaning, Root<'p>>,
    ) {
        let mut names = Vec::new();
        names_in(condition, &mut names);
        names.into_iter().for_each(|name| self.of_name(name, seen, found));
    }
}

/// Returns the names that a condition compares, those it compares them with among them.
pub(crate) fn names_in(condition: &Condition, names: &mut Vec<NameId>) {
    condition.each_test(&mut |test| names_of_test(test, names));
}

fn names_of_test(test: &Test, names: &mut Vec<NameId>) {
    if let Subject::Name(name) = test.subject {
        names.push(name);
    }
    if let Compare::Name(_, other) = test.compare {
        names.push(other);
    }
}

/// Returns the names that stand in a name's definition.
pub(crate) fn names_within(plan: &Plan, name: NameId) -> BTreeSet<NameId> {
    let mut names = Vec::new();
    each_condition_within(plan, name, &mut |condition| names_in(condition, &mut names));
    if let Origin::Measure(measure) = &plan[name].origin {
        names_of_expr(&measure.expr, &mut names);
    }
    names.into_iter().collect()
}

fn names_of_expr(expr: &Expr, names: &mut Vec<NameId>) {
    if let ExprNode::Name(name) | ExprNode::OfPanicles(_, name) | ExprNode::LikelyRange(name) = &*expr.node {
        names.push(*name);
    }
    expr.each_part(&mut |part| names_of_expr(part, names));
}

/// Calls a function with each condition on names that stands inside a name's definition.
pub(crate) fn each_condition_within<'p>(plan: &'p Plan, name: NameId, f: &mut dyn FnMut(&'p Condition)) {
    match &plan[name].origin {
        Origin::Measure(measure) => {
            measure.valid_if.iter().for_each(&mut *f);
            conditions_in(&measure.expr, f);
        }
        Origin::Band(band) => band.rows.iter().for_each(|row| f(&row.condition)),
        Origin::Observed(_) | Origin::Tally(_) | Origin::Cultivar | Origin::Block | Origin::Date => {}
    }
}

fn conditions_in<'p>(expr: &'p Expr, f: &mut dyn FnMut(&'p Condition)) {
    match &*expr.node {
        ExprNode::Panicles(_, condition)
        | ExprNode::ShareOfPanicles(condition)
        | ExprNode::ShareOfTrees(_, condition) => f(condition),
        _ => expr.each_part(&mut |part| conditions_in(part, f)),
    }
}
