//! What each name is computed from, and by which constants its own inputs are cut.

use crate::plan::{
    Aggregate, Compare, Condition, Expr, ExprNode, Name, NameId, Origin, Place, Plan, Statistic, Subject,
    Window,
};
use std::collections::BTreeSet;

/// What each name of a plan is computed from.
#[derive(Clone, Debug)]
pub struct Inputs {
    direct: Vec<Vec<NameId>>,
    dependents: Vec<Vec<NameId>>,
    cuts: Vec<Vec<Compare>>,
    tested: Vec<NameId>,
    keys: BTreeSet<NameId>,
}

impl Inputs {
    /// Reads the definitions of a plan.
    pub fn new(plan: &Plan) -> Self {
        let mut direct: Vec<Vec<NameId>> =
            plan.names.iter().map(|name| of_name(name).into_iter().collect()).collect();
        let mut dependents = vec![Vec::new(); plan.names.len()];
        for id in &plan.order {
            let mut reached = BTreeSet::new();
            let mut todo: Vec<NameId> = direct[id.index()].clone();
            while let Some(input) = todo.pop() {
                if reached.insert(input) {
                    todo.extend(&direct[input.index()]);
                }
            }
            for input in reached {
                dependents[input.index()].push(*id);
            }
        }
        // The place of an item in its rulebook says nothing: those on which the most hangs stand first, then by word.
        for names in &mut direct {
            let hangs = |name: &NameId| dependents.get(name.index()).map_or(0, Vec::len);
            names.sort_by(|a, b| hangs(b).cmp(&hangs(a)).then_with(|| plan[*a].word.cmp(&plan[*b].word)));
        }
        let mut cuts = vec![Vec::new(); plan.names.len()];
        let mut cut = |test: &crate::plan::Test| {
            if let Subject::Name(name) = test.subject {
                cuts[name.index()].push(test.compare.clone());
            }
        };
        crate::plan::each_test_of_a_tree(plan, &mut cut);
        plan.names
            .iter()
            .for_each(|name| conditions_of(name, &mut |condition| condition.each_test(&mut cut)));
        let tested =
            (0..).map(NameId).zip(&cuts).filter(|(_, cuts)| !cuts.is_empty()).map(|(id, _)| id).collect();
        // A copy of a name is cut where the name is: the constants go down to what it copies.
        let mut keys = BTreeSet::new();
        for name in &plan.names {
            if let Origin::Measure(measure) = &name.origin {
                keys_in(&measure.expr, &mut keys);
            }
        }
        for id in plan.order.iter().rev() {
            for input in copied(&plan[*id]) {
                if keys.contains(id) {
                    keys.insert(input);
                }
                let passed = cuts[id.index()].clone();
                cuts[input.index()].extend(passed);
            }
        }
        Self { direct, dependents, cuts, tested, keys }
    }

    /// Returns the names that a name speaks of itself, those on which the most hangs first.
    pub fn direct(&self, name: NameId) -> impl Iterator<Item = NameId> + '_ {
        self.direct[name.index()].iter().copied()
    }

    /// Returns the names whose values a measure reckons with, beside those that its conditions meet.
    pub fn by_value(&self, plan: &Plan, name: NameId) -> impl Iterator<Item = NameId> {
        let mut found = BTreeSet::new();
        if let Origin::Measure(measure) = &plan[name].origin {
            of_expr(&measure.expr, &mut found);
        }
        found.into_iter()
    }

    /// Returns all names that are computed from a name, directly or through others, each after those it is computed from.
    pub fn dependents(&self, name: NameId) -> impl Iterator<Item = NameId> + '_ {
        self.dependents[name.index()].iter().copied()
    }

    /// Returns those of a name's dependents of which another is computed, that other among them.
    pub fn between(&self, name: NameId, target: NameId) -> impl Iterator<Item = NameId> + '_ {
        let leads_on = move |id: &NameId| *id == target || self.dependents[id.index()].contains(&target);
        self.dependents(name).filter(leads_on)
    }

    /// Returns the names that some condition compares itself, those inside conditions on panicles among them.
    pub fn tested(&self) -> impl Iterator<Item = NameId> + '_ {
        self.tested.iter().copied()
    }

    /// Returns whether some table is looked up with a name's value.
    pub fn is_a_key(&self, name: NameId) -> bool {
        self.keys.contains(&name)
    }

    /// Returns the comparisons that cut a name's values: its own, and those of its copies.
    pub fn cuts(&self, name: NameId) -> impl Iterator<Item = &Compare> {
        self.cuts[name.index()].iter()
    }
}

fn of_name(name: &Name) -> BTreeSet<NameId> {
    let mut found = BTreeSet::new();
    match &name.origin {
        Origin::Measure(measure) => of_expr(&measure.expr, &mut found),
        Origin::Tally(_)
        | Origin::Observed(_)
        | Origin::Band(_)
        | Origin::Cultivar
        | Origin::Block
        | Origin::Date => {}
    }
    conditions_of(name, &mut |condition| of_condition(condition, &mut found));
    found
}

/// Calls a function with each condition on names in a definition: rows of a band, `valid if`, what an assumption
/// asks, and conditions on panicles and trees.
fn conditions_of(name: &Name, f: &mut dyn FnMut(&Condition)) {
    match &name.origin {
        Origin::Measure(measure) => {
            measure.valid_if.iter().for_each(&mut *f);
            conditions_in(&measure.expr, f);
        }
        Origin::Band(band) => band.rows.iter().for_each(|row| f(&row.condition)),
        Origin::Observed(seen) => {
            seen.assume.iter().filter_map(|assume| assume.condition.as_ref()).for_each(&mut *f);
        }
        Origin::Tally(_) | Origin::Cultivar | Origin::Block | Origin::Date => {}
    }
}

fn conditions_in(expr: &Expr, f: &mut dyn FnMut(&Condition)) {
    match &*expr.node {
        ExprNode::Panicles(_, condition)
        | ExprNode::ShareOfPanicles(condition)
        | ExprNode::ShareOfTrees(_, condition) => {
            f(condition);
        }
        _ => expr.each_part(&mut |child| conditions_in(child, f)),
    }
}

fn of_condition(condition: &Condition, found: &mut BTreeSet<NameId>) {
    condition.each_test(&mut |test| found.extend(test.names()));
}

fn of_expr(expr: &Expr, found: &mut BTreeSet<NameId>) {
    match &*expr.node {
        ExprNode::Name(name)
        | ExprNode::DaysSince(name)
        | ExprNode::DaysTo(name)
        | ExprNode::OfPanicles(_, name)
        | ExprNode::LikelyRange(name)
        | ExprNode::Fitting { used: Some(name), .. }
        | ExprNode::Aggregate(_, Window::Since(name)) => {
            found.insert(*name);
        }
        _ => {}
    }
    expr.each_part(&mut |child| of_expr(child, found));
}

/// Finds the names that tables are looked up with.
fn keys_in(expr: &Expr, found: &mut BTreeSet<NameId>) {
    if let ExprNode::Lookup(_, keys) = &*expr.node {
        keys.iter().for_each(|key| of_expr(key, found));
    }
    expr.each_part(&mut |child| keys_in(child, found));
}

/// Returns the names whose value a measure passes on unchanged, so that its thresholds are theirs.
fn copied(name: &Name) -> Vec<NameId> {
    let Origin::Measure(measure) = &name.origin else { return Vec::new() };
    let mut found = Vec::new();
    copied_in(&measure.expr, &mut found);
    found
}

fn copied_in(expr: &Expr, found: &mut Vec<NameId>) {
    match &*expr.node {
        ExprNode::Name(name) | ExprNode::LikelyRange(name) => found.push(*name),
        ExprNode::OfPanicles(Statistic::Lowest | Statistic::Highest | Statistic::Mean, name) => {
            found.push(*name)
        }
        ExprNode::Pick(_, a, b) | ExprNode::OrElse(a, b) => {
            copied_in(a, found);
            copied_in(b, found);
        }
        ExprNode::Kept(a, _, _) => copied_in(a, found),
        _ => {}
    }
}

/// Returns whether a measure speaks of other trees than its own.
pub fn speaks_of_trees(name: &Name) -> Option<(Place, &Condition)> {
    fn find(expr: &Expr) -> Option<(Place, &Condition)> {
        if let ExprNode::ShareOfTrees(place, condition) = &*expr.node {
            return Some((*place, condition));
        }
        let mut found = None;
        expr.each_part(&mut |child| found = found.or_else(|| find(child)));
        found
    }
    match &name.origin {
        Origin::Measure(measure) => find(&measure.expr),
        Origin::Tally(_)
        | Origin::Observed(_)
        | Origin::Band(_)
        | Origin::Cultivar
        | Origin::Block
        | Origin::Date => None,
    }
}

/// Returns whether an expression takes something of the hours or days of the weather.
pub fn speaks_of_weather(expr: &Expr) -> Option<&Aggregate> {
    if let ExprNode::Aggregate(aggregate, _) = &*expr.node {
        return Some(aggregate);
    }
    let mut found = None;
    expr.each_part(&mut |child| found = found.or_else(|| speaks_of_weather(child)));
    found
}
