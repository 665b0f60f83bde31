//! A comparison with the value it met, in one phrase: `open flowers 80 % (at least 20 %)`.

use super::words::{self, Sense, compared};
use super::{Scene, Values};
use crate::measure::{Reading, Truth, compare};
use crate::plan::{Compare, Condition, Expr, ExprNode, Kind, Name, NameId, Origin, Place, Subject, Test};

/// Returns a comparison with the value it met. Where no value is to be shown, only what is asked for is said.
pub fn met(scene: &Scene<'_>, values: &Values, test: &Test, sense: Sense) -> String {
    let Subject::Name(id) = test.subject else { return test.written.to_string() };
    let Some(item) = scene.plan.names.get(id.index()) else { return test.written.to_string() };
    if item.kind == Kind::YesNo {
        return yes_or_no(scene, values, (id, item), &test.compare, sense);
    }
    let readings = values.of(id);
    let label = &item.label;
    let number = lone_number(readings);
    let (digits, asked) = compared(scene.plan, item, &test.compare, sense, number, scene.speech);
    if readings.is_empty() {
        return format!("{label} {}{asked}", if needs_is(item, &test.compare) { "is " } else { "" });
    }
    let shown = match digits {
        Some(digits) => digits,
        None => several(scene, id, readings),
    };
    let shown = shown + marks(readings);
    if shown == asked {
        return format!("{label} is {shown}");
    }
    // A bare word beside another would not say which of them is the value.
    let asked = if is_bare(item, &test.compare) { format!("asks for {asked}") } else { asked };
    format!("{label} {shown} ({asked})")
}

/// Returns what is to be known of readings: that they are assumed, or rest on a forecast.
fn marks(readings: &[Reading]) -> &'static str {
    match (readings.iter().any(|it| it.assumed), readings.iter().any(|it| it.forecast)) {
        (true, true) => ", assumed and forecast",
        (true, false) => ", assumed",
        (false, true) => ", forecast",
        (false, false) => "",
    }
}

/// Returns the mark of readings that are assumed.
pub fn assumed_mark(readings: &[Reading]) -> &'static str {
    if readings.iter().any(|it| it.assumed) { ", assumed" } else { "" }
}

/// Returns the value of a name in words, of several trees from the lowest to the highest.
pub fn several(scene: &Scene<'_>, name: NameId, readings: &[Reading]) -> String {
    let one = |reading: &Reading| words::reading(scene.plan, name, reading, scene.speech);
    let [first, _, ..] = readings else { return readings.first().map_or_else(String::new, one) };
    let numbers: Option<Vec<f64>> = readings.iter().map(|reading| reading.extent.one_number()).collect();
    if let (Some(numbers), Some(item)) = (numbers, scene.plan.names.get(name.index())) {
        let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = (words::number(item, low, scene.speech), words::number(item, high, scene.speech));
        return if low == high { low } else { format!("{low} to {high}") };
    }
    // Words are said together, each once: `moderate or high`, not `moderate or high or high`.
    let of_words = |reading: &&Reading| {
        let extent = reading.extent;
        let whole = words::is_anything(scene.plan, &scene.plan[name], extent);
        extent.word_set() != 0 && !extent.may_be_empty && !whole
    };
    let set = readings.iter().filter(of_words).fold(0, |set, reading| set | reading.extent.word_set());
    let mut all: Vec<String> = Vec::new();
    if set != 0 {
        all.push(words::words_of(scene.plan, scene.plan[name].kind, set));
    }
    for reading in readings.iter().filter(|reading| !of_words(reading)) {
        let words = one(reading);
        if !all.contains(&words) {
            all.push(words);
        }
    }
    if all.len() > 4 { format!("{}, and others", one(first)) } else { all.join(" or ") }
}

fn lone_number(readings: &[Reading]) -> Option<f64> {
    match readings {
        [one] => one.extent.one_number(),
        _ => None,
    }
}

/// Returns whether a comparison is said by a bare word or text, as a value is.
fn is_bare(item: &Name, compare: &Compare) -> bool {
    !matches!(compare, Compare::DaysOfYear(..)) && needs_is(item, compare)
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
    let wanted = if sense == Sense::Asked { asks_yes } else { !asks_yes };
    let readings = values.of(id);
    let beside = panicle_condition(item)
        .and_then(|condition| panicles(scene, values, condition))
        .map_or_else(String::new, |words| format!(" ({words})"));
    if readings.is_empty() {
        return statement(item, wanted);
    }
    let beside = assumed_mark(readings).to_owned() + &beside;
    let truths: Vec<Truth> = readings.iter().map(|reading| Truth::of_extent(reading.extent)).collect();
    if truths.iter().all(|truth| *truth == Truth::Yes) {
        return statement(item, true) + &beside;
    }
    let empty = readings.iter().any(|reading| reading.extent.is_empty());
    if truths.iter().all(|truth| *truth == Truth::No) && !empty {
        return statement(item, false) + &beside;
    }
    format!("{}: {}", statement(item, true), several(scene, id, readings)) + &beside
}

/// Returns a yes-no name as a statement that it holds, or that it does not.
fn statement(item: &Name, holds: bool) -> String {
    if holds { item.label.to_string() } else { format!("{}: no", item.label) }
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
    let group = |group: usize| {
        let words: Vec<String> = names
            .iter()
            .filter(|name| !values.in_group(group, **name).is_empty())
            .map(|name| {
                let readings = values.in_group(group, *name);
                format!("{} {}", scene.plan[*name].label, several(scene, *name, readings))
                    + assumed_mark(readings)
            })
            .collect();
        words.join(", ")
    };
    match values.groups() {
        0 => None,
        1 => Some(group(0)).filter(|words| !words.is_empty()),
        count => {
            let each = (0..count).map(|at| match values.share(at) {
                Some(share) => {
                    format!("{} of panicles: {}", crate::units::show(share * 100.0, "%"), group(at))
                }
                None => format!("some panicles: {}", group(at)),
            });
            Some(each.collect::<Vec<_>>().join("; "))
        }
    }
}
