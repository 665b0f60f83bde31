//! Keys for which a table of the rulebook has no row: what is looked up with them is not known, and that is said.

use super::Advisor;
use super::always::text;
use crate::measure::{Cause, Gauged, TableKey, World};
use crate::plan::{Expr, ExprNode, Kind, NameId, Origin, Place, Plan};

/// A key for which a table has no row.
#[derive(Clone, PartialEq, Debug)]
pub struct KeyWithoutRow {
    /// The table and the key.
    pub key: TableKey,
    /// A text of the key that the rulebook does not name; else empty.
    pub written: String,
    /// The names that are not known for it.
    pub names: Vec<NameId>,
    /// The trees of which they are not known; nothing where they are of the grove.
    pub trees: Option<Vec<usize>>,
}

/// Returns each table and each key that none of its rows matches, of some trees in the grove's order.
pub fn keys_without_rows(advisor: &Advisor<'_>, trees: &[usize]) -> Vec<KeyWithoutRow> {
    let plan = advisor.plan();
    let looked_up: Vec<NameId> = plan.order.iter().copied().filter(|id| looks_up(plan, *id)).collect();
    if looked_up.is_empty() {
        return Vec::new();
    }
    let of_grove = looked_up.iter().all(|id| plan[*id].scope == Place::Grove);
    let below = below(advisor, &looked_up);
    let mut found: Vec<KeyWithoutRow> = Vec::new();
    for tree in trees.iter().copied().take(if of_grove { 1 } else { usize::MAX }) {
        let gauged = advisor.judge().gauge_names(&advisor.facts(tree), &World::default(), &below);
        for id in &looked_up {
            let Some((key, written)) = without_row(advisor, tree, &gauged, *id) else { continue };
            let known = found.iter().position(|it| it.key == key && it.written == written);
            let at = known.unwrap_or_else(|| {
                found.push(KeyWithoutRow { key, written, names: Vec::new(), trees: None });
                found.len() - 1
            });
            let Some(it) = found.get_mut(at) else { continue };
            if !it.names.contains(id) {
                it.names.push(*id);
            }
            if plan[*id].scope != Place::Grove {
                let of = it.trees.get_or_insert_default();
                if of.last() != Some(&tree) {
                    of.push(tree);
                }
            }
        }
    }
    found
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

/// Returns which table has no row for which key, where the keys of a name are known, with a text that the rulebook does
/// not name: it is known to the grove alone.
fn without_row(
    advisor: &Advisor<'_>,
    tree: usize,
    gauged: &Gauged,
    id: NameId,
) -> Option<(TableKey, String)> {
    let reading = gauged.names.get(id.index())?;
    let Some(Cause::NoRow(key)) = &reading.cause else { return None };
    let plan = advisor.plan();
    let known = |input: &NameId| {
        plan[*input].scope == Place::Panicles
            || gauged.names.get(input.index()).is_some_and(|it| it.extent.is_settled())
    };
    if !advisor.inputs().direct(id).all(|input| known(&input)) {
        return None;
    }
    let other = advisor.inputs().direct(id).find(|input| plan[*input].kind == Kind::Text);
    Some((key.clone(), other.map_or_else(String::new, |input| text(advisor, tree, input))))
}
