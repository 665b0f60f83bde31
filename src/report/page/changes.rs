//! What would change a decision, and readings that a small error would turn.

use super::Page;
use super::said::{at_words, then_words};
use crate::advice::{CloseCall, Flip};
use crate::explain::Values;
use crate::plan::{Expr, ExprNode, NameId, Origin};
use crate::report::{Group, Lines, ranges};

/// So many values that would change a decision are told on the page.
const CHANGES: usize = 4;

/// Writes what would change the decision of all trees of a group: first what is seen, then the weather, then what
/// only time and sprays change.
pub fn write(lines: &mut Lines, page: &Page<'_>, group: &Group) {
    let words = page.words();
    let mut flips = of_all(page, group);
    let mut cases = group.cases.iter().filter_map(|number| page.case(*number));
    if flips.is_empty() && cases.any(|case| !case.flips.is_empty()) {
        return lines.field(&words.say("page.change", &[]), &words.say("page.change.differs", &[]));
    }
    flips.sort_by_key(|flip| rank(page, flip.name));
    let mut said: Vec<String> =
        flips.iter().take(CHANGES).map(|flip| flip_words(page, group.cases.first().copied(), flip)).collect();
    if flips.len() > CHANGES {
        let more = (flips.len() - CHANGES).to_string();
        said.push(words.say("page.change.more", &[("count", &more)]));
    }
    lines.fields(&words.say("page.change", &[]), said.iter().map(String::as_str));
}

/// Says a value that would change a decision, and what it would be then; `case` is one of those that it is told of.
pub fn flip_words(page: &Page<'_>, case: Option<usize>, flip: &Flip) -> String {
    let at = at_words(page.scene, flip.name, &flip.at);
    let on = flip.group.map_or_else(String::new, |group| {
        let first = case.and_then(|case| page.advice.cases.get(case)).map(|case| case.first_tree);
        let share = first.and_then(|tree| page.ground.gauge(tree).groups.get(group)?.share);
        let share = share.map_or_else(String::new, |share| {
            format!(", {} of the panicles", crate::units::show(crate::units::clean(share * 100.0), "%"))
        });
        format!(" on group {}{share}", group + 1)
    });
    format!("{at}{on}: {}", then_words(&flip.then))
}

/// Writes what nobody saw, and on whose assumed value the decision of a group rests.
pub fn rests_on(lines: &mut Lines, page: &Page<'_>, group: &Group, values: &Values) {
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
    let mut calls: Vec<(CloseCall, Vec<usize>)> = Vec::new();
    for tree in &group.trees {
        let Some(advice) = page.advice.trees.get(*tree) else { continue };
        for call in &advice.close_calls {
            match calls.iter_mut().find(|(known, _)| known == call) {
                Some((_, trees)) => trees.push(*tree),
                None => calls.push((call.clone(), vec![*tree])),
            }
        }
    }
    let said: Vec<String> = calls.iter().map(|(of, trees)| call(page, group, values, (of, trees))).collect();
    lines.fields(&page.words().say("page.close", &[]), said.iter().map(String::as_str));
}

/// More panicles than these nobody counts to settle a close call.
const COUNTED: u32 = 100;

fn call(page: &Page<'_>, group: &Group, values: &Values, (of, trees): (&CloseCall, &[usize])) -> String {
    let name = of.name;
    let label = page.scene.plan.names.get(name.index()).map_or("", |name| &name.label);
    let (value, on) = if trees.len() == group.trees.len() {
        (page.words().several(name, values.of(name)) + &page.words().assumed(values.of(name)), String::new())
    } else {
        let own = page.values(trees);
        (
            page.words().several(name, own.of(name)) + &page.words().assumed(own.of(name)),
            ranges(page.ground, trees),
        )
    };
    let sample = trees.first().and_then(|tree| page.ground.sample(*tree, name, of.group));
    let words = page.words();
    let advice = match (of.look_at_more, sample) {
        (Some(more), _) if more > COUNTED => words.say("page.close.near", &[]),
        (Some(more), _) => words.say("page.close.more", &[("count", &more.to_string())]),
        (None, Some((_, of))) => words.say("page.close.few", &[("count", &of.to_string())]),
        (None, None) => words.say("page.close.error", &[]),
    };
    let key = if on.is_empty() { "page.close.words" } else { "page.close.words.on" };
    words.say(key, &[("name", label), ("value", &value), ("trees", &on), ("advice", &advice)])
}
