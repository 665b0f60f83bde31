//! A comparison with the values that it met.

use super::{Basis, Compared, PanicleValues, Values};
use crate::plan::{Condition, Expr, ExprNode, Kind, Name, NameId, Origin, Place, Subject, Test};
use crate::trace::Sense;

/// Returns a comparison with the values that it met.
pub fn compared(basis: &Basis<'_>, values: &Values, test: &Test, sense: Sense) -> Compared {
    let mut met = Compared { test: test.clone(), sense, readings: Vec::new(), panicles: Vec::new() };
    if let Subject::Name(id) = test.subject
        && let Some(item) = basis.plan.names.get(id.index())
    {
        met.readings = values.of(id).to_vec();
        if item.kind == Kind::YesNo
            && let Some(condition) = panicle_condition(item)
        {
            met.panicles = panicles(basis, values, condition);
        }
    }
    met
}

/// Returns the condition on panicles that a yes-no name is, if it is one.
fn panicle_condition(item: &Name) -> Option<&Condition> {
    match &item.origin {
        Origin::Measure(measure) => panicles_in(&measure.expr),
        Origin::Observed(_)
        | Origin::Tally(_)
        | Origin::Band(_)
        | Origin::Cultivar
        | Origin::Block
        | Origin::Date => None,
    }
}

fn panicles_in(expr: &Expr) -> Option<&Condition> {
    match &*expr.node {
        ExprNode::Panicles(_, condition) | ExprNode::ShareOfPanicles(condition) => Some(condition),
        _ => None,
    }
}

/// Returns what was seen on the panicles that a condition is of, group by group.
fn panicles(basis: &Basis<'_>, values: &Values, condition: &Condition) -> Vec<PanicleValues> {
    let mut names: Vec<NameId> = Vec::new();
    condition.each_test(&mut |test| {
        if let Subject::Name(name) = test.subject
            && basis.plan[name].scope == Place::Panicles
            && !names.contains(&name)
        {
            names.push(name);
        }
    });
    let groups = values.groups();
    let group = |group: usize| {
        let readings = names.iter().map(|name| (*name, values.in_group(group, *name).to_vec()));
        let values_of = readings.filter(|(_, readings)| !readings.is_empty()).collect();
        PanicleValues { share: (groups > 1).then(|| values.share(group)), values: values_of }
    };
    (0..groups).map(group).collect()
}
