//! A comparison with the value it met, in one phrase: `open flowers 80 % (at least 20 %)`.

use super::{Scene, Values};
use crate::measure::{Reading, Truth, compare};
use crate::plan::{Compare, Condition, Expr, ExprNode, Kind, Name, NameId, Origin, Place, Subject, Test};
use crate::trace::Sense;
use crate::words::Words;

/// Returns a comparison with the value it met. Where no value is to be shown, only what is asked for is said.
pub fn met(scene: &Scene<'_>, values: &Values, test: &Test, sense: Sense) -> String {
    let Subject::Name(id) = test.subject else { return test.written.to_string() };
    let Some(item) = scene.plan.names.get(id.index()) else { return test.written.to_string() };
    if item.kind == Kind::YesNo {
        return yes_or_no(scene, values, (id, item), &test.compare, sense);
    }
    let readings = values.of(id);
    let words = scene.words();
    let name = &*item.label;
    let number = lone_number(readings);
    let (digits, asked) = words.asked(item, &test.compare, sense, number);
    if readings.is_empty() {
        let key = if needs_is(item, &test.compare) { "met.is" } else { "met.value" };
        return words.say(key, &[("name", name), ("value", &asked)]);
    }
    let shown = digits.unwrap_or_else(|| words.several(id, readings)) + &words.marks(readings);
    if shown == asked {
        return words.say("met.is", &[("name", name), ("value", &shown)]);
    }
    words.say("met.rule", &[("name", name), ("value", &shown), ("rule", &asked)])
}

fn lone_number(readings: &[Reading]) -> Option<f64> {
    match readings {
        [one] => one.extent.one_number(),
        _ => None,
    }
}

/// Returns whether a comparison without its value needs an `is` to be read: `mildew weather is severe`.
fn needs_is(item: &Name, compare: &Compare) -> bool {
    match compare {
        Compare::Words(set) => set.count_ones() == 1 || !matches!(item.kind, Kind::Words(_)),
        Compare::Texts(_) | Compare::NumberIsOneOf(_) | Compare::DaysOfYear(..) => true,
        Compare::Not(inner) => needs_is(item, inner),
        Compare::Numbers { .. } | Compare::Name(..) => false,
    }
}

fn yes_or_no(
    scene: &Scene<'_>,
    values: &Values,
    (id, item): (NameId, &Name),
    asked: &Compare,
    sense: Sense,
) -> String {
    let asks_yes = compare(crate::measure::Extent::YES, asked) == Truth::Yes;
    let words = scene.words();
    let wanted = if sense == Sense::Asked { asks_yes } else { !asks_yes };
    let readings = values.of(id);
    let beside = panicle_condition(item)
        .and_then(|condition| panicles(scene, values, condition))
        .map_or_else(String::new, |words| format!(" ({words})"));
    if readings.is_empty() {
        return statement(words, item, wanted);
    }
    let beside = words.assumed(readings) + &beside;
    let truths: Vec<Truth> = readings.iter().map(|reading| Truth::of_extent(reading.extent)).collect();
    if truths.iter().all(|truth| *truth == Truth::Yes) {
        return statement(words, item, true) + &beside;
    }
    let empty = readings.iter().any(|reading| reading.extent.is_empty());
    if truths.iter().all(|truth| *truth == Truth::No) && !empty {
        return statement(words, item, false) + &beside;
    }
    format!("{}: {}", statement(words, item, true), words.several(id, readings)) + &beside
}

/// Returns a yes-no name as a statement that it holds, or that it does not.
fn statement(words: Words<'_>, item: &Name, holds: bool) -> String {
    if holds { item.label.to_string() } else { words.say("met.no", &[("name", &item.label)]) }
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

/// Returns what was seen on the panicles that a condition speaks of: `stage full bloom, open flowers 80 %`; of a
/// tree with several groups each with its share.
pub fn panicles(scene: &Scene<'_>, values: &Values, condition: &Condition) -> Option<String> {
    let mut names: Vec<NameId> = Vec::new();
    condition.each_test(&mut |test| {
        if let Subject::Name(name) = test.subject
            && scene.plan[name].scope == Place::Panicles
            && !names.contains(&name)
        {
            names.push(name);
        }
    });
    let words = scene.words();
    let group = |group: usize| {
        let said: Vec<String> = names
            .iter()
            .filter(|name| !values.in_group(group, **name).is_empty())
            .map(|name| {
                let readings = values.in_group(group, *name);
                format!("{} {}", scene.plan[*name].label, words.several(*name, readings))
                    + &words.assumed(readings)
            })
            .collect();
        said.join(", ")
    };
    match values.groups() {
        0 => None,
        1 => Some(group(0)).filter(|words| !words.is_empty()),
        count => {
            let each = (0..count).map(|at| match values.share(at) {
                Some(share) => {
                    let places = [("share", &*words.share(share)), ("values", &group(at))];
                    words.say("value.of-panicles", &places)
                }
                None => words.say("value.of-some-panicles", &[("values", &group(at))]),
            });
            Some(each.collect::<Vec<_>>().join("; "))
        }
    }
}
