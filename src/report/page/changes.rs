//! What would change a decision, and readings that a small error would turn.

use super::Page;
use super::said::{at_words, then_words};
use crate::advice::{CloseCall, Flip};
use crate::explain::{Values, assumed_mark, several};
use crate::plan::{Expr, ExprNode, NameId, Origin};
use crate::report::{Group, Lines, ranges};

/// So many values that would change a decision are told on the page.
const CHANGES: usize = 4;

/// Writes what would change the decision of all trees of a group: first what is seen, then the weather, then what
/// only time and sprays change.
pub fn write(lines: &mut Lines, page: &Page<'_>, group: &Group) {
    let mut flips = of_all(page, group);
    let mut cases = group.cases.iter().filter_map(|number| page.case(*number));
    if flips.is_empty() && cases.any(|case| !case.flips.is_empty()) {
        return lines.field("Would change", "differs from tree to tree: `bloomward why` with a tree");
    }
    flips.sort_by_key(|flip| rank(page, flip.name));
    let mut said: Vec<String> = flips
        .iter()
        .take(CHANGES)
        .map(|flip| format!("{}: {}", at_words(page.scene, flip.name, &flip.at), then_words(&flip.then)))
        .collect();
    if flips.len() > CHANGES {
        said.push(format!("and {} more: `bloomward why` with a tree", flips.len() - CHANGES));
    }
    lines.fields("Would change", said.iter().map(String::as_str));
}

/// Returns what would change the decision of every tree of a group.
pub fn of_all<'p>(page: &Page<'p>, group: &Group) -> Vec<&'p Flip> {
    let mut cases = group.cases.iter().filter_map(|number| page.advice.cases.get(*number));
    let Some(first) = cases.next() else { return Vec::new() };
    let mut flips: Vec<&Flip> = first.flips.iter().collect();
    for case in cases {
        flips.retain(|flip| case.flips.iter().any(|other| other == *flip));
    }
    flips
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

/// Writes the readings that a small error would turn.
pub fn close_calls(lines: &mut Lines, page: &Page<'_>, group: &Group, values: &Values) {
    let mut calls: Vec<(NameId, Option<u32>, Vec<usize>)> = Vec::new();
    for tree in &group.trees {
        let Some(advice) = page.advice.trees.get(*tree) else { continue };
        for CloseCall { name, look_at_more } in &advice.close_calls {
            match calls.iter_mut().find(|(known, more, _)| known == name && more == look_at_more) {
                Some((_, _, trees)) => trees.push(*tree),
                None => calls.push((*name, *look_at_more, vec![*tree])),
            }
        }
    }
    let said: Vec<String> =
        calls.iter().map(|(name, more, trees)| call(page, group, values, (*name, *more, trees))).collect();
    lines.fields("Close call", said.iter().map(String::as_str));
}

fn call(
    page: &Page<'_>,
    group: &Group,
    values: &Values,
    (name, more, trees): (NameId, Option<u32>, &[usize]),
) -> String {
    let label = page.scene.plan.names.get(name.index()).map_or("", |name| &name.label);
    let (value, on) = if trees.len() == group.trees.len() {
        (several(page.scene, name, values.of(name)) + assumed_mark(values.of(name)), String::new())
    } else {
        let own = page.values(trees);
        (
            several(page.scene, name, own.of(name)) + assumed_mark(own.of(name)),
            format!(" on {}", ranges(page.ground, trees)),
        )
    };
    let sample = trees.first().and_then(|tree| page.ground.sample(*tree, name, 0));
    let advice = match (more, sample) {
        (Some(more), _) => format!("look at {more} more to be sure"),
        (None, Some((_, of))) => format!("{of} looked at are too few to be sure"),
        (None, None) => "a small error of the reading would turn it".to_string(),
    };
    format!("{label} {value}{on}: {advice}")
}
