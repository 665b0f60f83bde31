//! What would change a decision, and readings that a small error would turn.

use super::Page;
use crate::advice::{Case, CloseCall, TippingPoint};
use crate::explain::Values;
use crate::plan::{Expr, ExprNode, NameId, Origin};
use crate::report::{Lines, TreeGroup};

/// So many values that would change a decision are told on the page.
const CHANGES: usize = 4;

/// Writes what would change the decision of all trees of a group: first what is seen, then the weather, then what
/// only time and sprays change.
pub fn write(lines: &mut Lines, page: &Page<'_>, group: &TreeGroup) {
    let words = page.words();
    let mut points = of_all(page, group);
    let mut cases = group.cases.iter().filter_map(|number| page.case(*number));
    if points.is_empty() && cases.any(|case| !case.tipping_points.is_empty()) {
        return lines.field(&words.say("page.change", &[]), &words.say("page.change.differs", &[]));
    }
    points.sort_by_key(|point| rank(page, point.name));
    let mut said: Vec<String> = points.iter().take(CHANGES).map(|point| words.tipping(point)).collect();
    if points.len() > CHANGES {
        let more = (points.len() - CHANGES).to_string();
        said.push(words.say("page.change.more", &[("count", &more)]));
    }
    lines.fields(&words.say("page.change", &[]), said.iter().map(String::as_str));
}

/// Writes what nobody saw, and on whose assumed value the decision of a group rests.
pub fn rests_on(lines: &mut Lines, page: &Page<'_>, group: &TreeGroup, values: &Values) {
    let mut names: Vec<NameId> = Vec::new();
    for name in group.cases.iter().filter_map(|number| page.case(*number)).flat_map(|case| &case.rests_on) {
        if !names.contains(name) {
            names.push(*name);
        }
    }
    let said: Vec<String> = names.iter().map(|name| assumed_words(page, *name, values)).collect();
    lines.fields(&page.words().say("page.assumed", &[]), said.iter().map(String::as_str));
}

/// Says an assumed value on which a decision rests.
pub fn assumed_words(page: &Page<'_>, name: NameId, values: &Values) -> String {
    let label = page.scene.plan.names.get(name.index()).map_or("", |name| &name.label);
    let of_group = |group: usize| values.in_group(group, name);
    let readings: Vec<_> = match values.groups() {
        0 | 1 => values.of(name).to_vec(),
        groups => (0..groups).flat_map(of_group).cloned().collect(),
    };
    let assumed: Vec<_> = readings.into_iter().filter(|reading| reading.assumed).collect();
    let value = page.words().several(name, &assumed);
    page.words().say("page.assumed.words", &[("name", label), ("value", &value)])
}

/// Returns what would change the decision of every tree of a group.
pub fn of_all<'p>(page: &Page<'p>, group: &TreeGroup) -> Vec<&'p TippingPoint> {
    let cases: Vec<&Case> = group.cases.iter().filter_map(|number| page.advice.cases.get(*number)).collect();
    shared(&cases)
}

/// Returns what would change the decision of every one of some cases.
pub fn shared<'c>(cases: &[&'c Case]) -> Vec<&'c TippingPoint> {
    let Some((first, rest)) = cases.split_first() else { return Vec::new() };
    let mut points: Vec<&TippingPoint> = first.tipping_points.iter().collect();
    for case in rest {
        points.retain(|point| case.tipping_points.contains(point));
    }
    points
}

/// Returns how soon a change of a name is told.
fn rank(page: &Page<'_>, name: NameId) -> u8 {
    match page.scene.plan.names.get(name.index()).map(|name| &name.origin) {
        Some(Origin::Observed(_)) => 0,
        Some(Origin::Measure(measure)) if of_log(&measure.expr) => 2,
        _ => 1,
    }
}

fn of_log(expr: &Expr) -> bool {
    let own = matches!(
        &*expr.node,
        ExprNode::DaysSinceLast(_)
            | ExprNode::SpraysInARow(_)
            | ExprNode::SpraysOf(..)
            | ExprNode::AmountOf(..)
            | ExprNode::AmountOfProduct(..)
            | ExprNode::DaysToHarvest
            | ExprNode::Fitting { .. }
    );
    let mut found = own;
    expr.each_part(&mut |child| found |= of_log(child));
    found
}

/// Says the readings of some trees, with their values together, that a small error would turn.
pub fn close_calls(page: &Page<'_>, of: &[usize], values: &Values) -> Vec<String> {
    let mut calls: Vec<(CloseCall, Vec<usize>)> = Vec::new();
    for tree in of {
        let Some(advice) = page.advice.trees.get(*tree) else { continue };
        for call in &advice.close_calls {
            match calls.iter_mut().find(|(known, _)| known == call) {
                Some((_, trees)) => trees.push(*tree),
                None => calls.push((call.clone(), vec![*tree])),
            }
        }
    }
    let all = of.len();
    calls.iter().map(|(of, trees)| call(page, (values, all), (of, trees))).collect()
}

/// More panicles than these nobody counts to settle a close call.
const COUNTED: u32 = 100;

fn call(page: &Page<'_>, (values, all): (&Values, usize), (of, trees): (&CloseCall, &[usize])) -> String {
    let name = of.name;
    let label = page.scene.plan.names.get(name.index()).map_or("", |name| &name.label);
    let (value, on) = if trees.len() == all {
        (page.words().several(name, values.of(name)) + &page.words().assumed(values.of(name)), String::new())
    } else {
        let own = page.values(trees);
        (page.words().several(name, own.of(name)) + &page.words().assumed(own.of(name)), page.ranges(trees))
    };
    let advice = trees.first().map_or_else(String::new, |tree| close_words(page, of, *tree));
    let key = if on.is_empty() { "page.close.words" } else { "page.close.words.on" };
    page.words().say(key, &[("name", label), ("value", &value), ("trees", &on), ("advice", &advice)])
}

/// Says what to do about a close call of a tree.
pub fn close_words(page: &Page<'_>, of: &CloseCall, tree: usize) -> String {
    let words = page.words();
    match (of.look_at_more, page.ground.sample(tree, of.name, of.group)) {
        (Some(more), _) if more > COUNTED => words.say("page.close.near", &[]),
        (Some(more), _) => words.say("page.close.more", &[("count", &more.to_string())]),
        (None, Some((_, of))) => words.say("page.close.few", &[("count", &of.to_string())]),
        (None, None) => words.say("page.close.error", &[]),
    }
}
