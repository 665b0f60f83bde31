//! Keys for which a table of the rulebook has no row: what is looked up with them is not known, and that is said.

use super::Advisor;
use super::always::text;
use crate::measure::{Cause, Gauged, World};
use crate::plan::{Expr, ExprNode, Kind, NameId, Origin, Place, Plan};
use std::collections::BTreeMap;

/// So many trees are named.
const NAMED: usize = 3;

/// Returns a sentence for each table and each key that none of its rows matches, of some trees in the grove's order.
pub fn keys_without_rows(advisor: &Advisor<'_>, trees: &[usize]) -> Vec<String> {
    let plan = advisor.plan();
    let looked_up: Vec<NameId> = plan.order.iter().copied().filter(|id| looks_up(plan, *id)).collect();
    if looked_up.is_empty() {
        return Vec::new();
    }
    let of_grove = looked_up.iter().all(|id| plan[*id].scope == Place::Grove);
    let below = below(advisor, &looked_up);
    let mut found: BTreeMap<String, (Vec<NameId>, Vec<usize>)> = BTreeMap::new();
    for tree in trees.iter().copied().take(if of_grove { 1 } else { usize::MAX }) {
        let gauged = advisor.judge().gauge_names(&advisor.facts(tree), &World::default(), &below);
        for id in &looked_up {
            if let Some(words) = without_row(advisor, tree, &gauged, *id) {
                let (names, of) = found.entry(words).or_default();
                if !names.contains(id) {
                    names.push(*id);
                }
                if of.last() != Some(&tree) {
                    of.push(tree);
                }
            }
        }
    }
    let say = |(words, (names, trees)): (String, (Vec<NameId>, Vec<usize>))| {
        let labels: Vec<&str> = names.iter().map(|name| &*plan[*name].label).collect();
        let of_trees = names.iter().any(|name| plan[*name].scope != Place::Grove);
        let of = if of_trees { format!(" of {}", some(advisor, &trees)) } else { String::new() };
        format!("{words} in the rulebook: {}{of} is not known", labels.join(", "))
    };
    found.into_iter().map(say).collect()
}

/// Names the first of some trees.
fn some(advisor: &Advisor<'_>, trees: &[usize]) -> String {
    let named: Vec<&str> = trees.iter().take(NAMED).map(|tree| advisor.grove().trees.name(*tree)).collect();
    let more = trees.len().saturating_sub(NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    named.join(", ") + &more
}

/// Returns whether a name is looked up in a table that says nothing of other keys.
fn looks_up(plan: &Plan, id: NameId) -> bool {
    fn in_open_table(plan: &Plan, expr: &Expr) -> bool {
        if let ExprNode::Lookup(table, _) = &*expr.node
            && plan.tables.get(table.index()).is_some_and(|table| table.otherwise.is_none())
        {
            return true;
        }
        let mut found = false;
        expr.each_part(&mut |part| found |= in_open_table(plan, part));
        found
    }
    matches!(&plan[id].origin, Origin::Measure(measure) if in_open_table(plan, &measure.expr))
}

/// Returns some names with all that they are computed from, in the plan's order.
fn below(advisor: &Advisor<'_>, names: &[NameId]) -> Vec<NameId> {
    let mut found: Vec<NameId> = Vec::new();
    let mut todo = names.to_vec();
    while let Some(name) = todo.pop() {
        if !found.contains(&name) {
            found.push(name);
            todo.extend(advisor.inputs().direct(name));
        }
    }
    advisor.plan().order.iter().copied().filter(|name| found.contains(name)).collect()
}

/// Returns which table has no row for which key, where the keys of a name are known.
fn without_row(advisor: &Advisor<'_>, tree: usize, gauged: &Gauged, id: NameId) -> Option<String> {
    let reading = gauged.names.get(id.index())?;
    let Some(Cause::NoRow(words)) = &reading.cause else { return None };
    let plan = advisor.plan();
    let known = |input: &NameId| {
        plan[*input].scope == Place::Panicles
            || gauged.names.get(input.index()).is_some_and(|it| it.extent.is_settled())
    };
    if !advisor.inputs().direct(id).all(|input| known(&input)) {
        return None;
    }
    // A text that the rulebook does not name is known to the grove alone.
    let other = advisor.inputs().direct(id).find(|input| plan[*input].kind == Kind::Text);
    let written = other.map_or_else(String::new, |input| text(advisor, tree, input));
    Some(words.replacen("another text", &written, 1))
}
