//! Answers and tipping points in JSON: in English, with the rulebook's own words and units.

use super::Trees;
use crate::advice::{Answer, AnswersAre, AskedOf, Case, FoundValue, RangeEnd, TippingPoint, ValueRange};
use crate::plan::{NameId, Plan, TextId};
use crate::words::Language;
use serde::Serialize;

/// What each answer leads to.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AnswersEntry {
    /// Empty where that is too much to tell.
    answers: Vec<AnswerEntry>,
    /// Where so much is open that the answers are of one question alone, or of none: what to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    answers_left_out: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AnswerEntry {
    name: String,
    at: String,
    then: String,
}

impl AnswersEntry {
    pub(super) fn of(plan: &Plan, trees: &dyn Trees, case: &Case) -> Self {
        let joined = |answer: &Answer, one: &dyn Fn(&FoundValue) -> String| {
            answer.found.iter().map(one).collect::<Vec<_>>().join(" and ")
        };
        let answers = case.answers.iter().map(|answer| AnswerEntry {
            name: joined(answer, &|found| asked(plan, trees, found)),
            at: joined(answer, &|found| at(plan, found)),
            then: answer.then.words(plan),
        });
        let of_one = case.answers_are == AnswersAre::OfOne;
        Self {
            answers: answers.collect(),
            answers_left_out: of_one.then(|| Language::English.say("look.more", &[])),
        }
    }
}

/// From where on the verdict is another.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct TippingEntry<'a> {
    name: &'a str,
    /// Of a tree with several groups of panicles: in which, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    group: Option<usize>,
    at: String,
    then: String,
}

/// Returns from where on the verdict of a case is another.
pub(super) fn tipping_points<'a>(plan: &'a Plan, case: &Case) -> Vec<TippingEntry<'a>> {
    let entry = |point: &TippingPoint| TippingEntry {
        name: word(plan, point.name),
        group: point.group.map(|of| of.group + 1),
        at: range(plan, point.name, &point.range),
        then: point.then.words(plan),
    };
    case.tipping_points.iter().map(entry).collect()
}

fn word(plan: &Plan, name: NameId) -> &str {
    plan.names.get(name.index()).map_or("", |name| &name.word)
}

/// Returns what is asked: `open-flowers of group 2`.
fn asked(plan: &Plan, trees: &dyn Trees, found: &FoundValue) -> String {
    let word = word(plan, found.name);
    match found.of {
        AskedOf::Itself => word.to_string(),
        AskedOf::Group(of) => {
            let share = |share: f64| {
                format!(" ({} of panicles)", crate::units::show(crate::units::clean(share * 100.0), "%"))
            };
            format!("{word} of group {}{}", of.group + 1, of.share.map_or_else(String::new, share))
        }
        AskedOf::Tree(tree) => format!("{word} of {}", trees.name(tree)),
        AskedOf::OtherTrees => format!("{word} of other trees"),
    }
}

/// Returns an answer: `at least 5`; of other trees `2 to 3 of them`.
fn at(plan: &Plan, found: &FoundValue) -> String {
    match (found.of, &found.range) {
        (
            AskedOf::Tree(_) | AskedOf::OtherTrees,
            ValueRange::Numbers { low: Some(low), high: Some(high) },
        ) => {
            let from = if low.at == high.at { String::new() } else { format!("{} to ", low.at) };
            format!("{from}{} of them", high.at)
        }
        (_, found_range) => range(plan, found.name, found_range),
    }
}

/// Returns a part of a name's range: `at least 5`, `from 20 % to below 50 %`, `full-bloom`.
fn range(plan: &Plan, name: NameId, range: &ValueRange) -> String {
    let number = |end: &RangeEnd| plan.number_of(name, end.at);
    match range {
        ValueRange::Nothing => "nothing there".to_string(),
        ValueRange::Numbers { low: None, high: None } => "any".to_string(),
        ValueRange::Numbers { low: Some(low), high: None } => {
            format!("{} {}", if low.closed { "at least" } else { "above" }, number(low))
        }
        ValueRange::Numbers { low: None, high: Some(high) } => {
            format!("{} {}", if high.closed { "at most" } else { "below" }, number(high))
        }
        ValueRange::Numbers { low: Some(low), high: Some(high) } if low.at == high.at => number(low),
        ValueRange::Numbers { low: Some(low), high: Some(high) } => {
            let begins = if low.closed { "from" } else { "above" };
            let ends = if high.closed { "to" } else { "to below" };
            format!("{begins} {} {ends} {}", number(low), number(high))
        }
        ValueRange::Words(set) => words(plan, name, *set),
        ValueRange::Texts(texts) => {
            let text = |text: &TextId| plan.texts.get(text.0 as usize).map_or("any other", |text| &**text);
            texts.iter().map(text).collect::<Vec<_>>().join(", ")
        }
    }
}

fn words(plan: &Plan, name: NameId, set: u64) -> String {
    let places: Vec<u16> = (0..64).filter(|place| set >> place & 1 == 1).collect();
    let word = |place: &u16| plan.word_of(name, *place);
    match &places[..] {
        [first, .., last] if plan.is_ordered(name) && usize::from(last - first) + 1 == places.len() => {
            format!("from {} to {}", word(first), word(last))
        }
        places => places.iter().map(word).collect::<Vec<_>>().join(", "),
    }
}
