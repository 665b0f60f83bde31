//! Words of the language as a page says them: verdicts, thresholds, names.

use crate::advice::Case;
use crate::plan::{Kind, NameId};
use crate::trace::Verdict;
use crate::words::{Scene, Words};
use chrono::NaiveDate;

/// Returns the heading of a verdict.
pub fn verdict_heading(words: Words<'_>, case: &Case) -> String {
    match &case.decision.verdict {
        Verdict::Spray(_) => words.say("page.verdict.spray", &[("doses", &words.doses(&case.spray))]),
        Verdict::Hold => words.say("page.verdict.hold", &[]),
        Verdict::AllShut => words.say("page.verdict.all-shut", &[]),
        Verdict::Look => words.say("page.verdict.look", &[]),
        Verdict::Undecided => words.say("page.verdict.undecided", &[]),
        Verdict::Uncovered => words.say("page.verdict.uncovered", &[]),
    }
}

/// Returns a verdict, given in the words of the language, as a page says it.
pub fn then_words(then: &str) -> String {
    match then {
        "hold" => "do not spray".to_string(),
        "look" => "check first".to_string(),
        "undecided" => "the guide contradicts itself".to_string(),
        "uncovered" => "the guide does not cover it".to_string(),
        spray => crate::plan::spaced(spray),
    }
}

/// Returns a name with the value that would turn something, in the grower's units: `heat ahead at least 90 °F`.
pub fn at_words(scene: &Scene<'_>, name: NameId, at: &str) -> String {
    let Some(item) = scene.plan.names.get(name.index()) else { return at.to_string() };
    let label = &item.label;
    match item.kind {
        Kind::YesNo | Kind::Text | Kind::Words(_) => {
            let comparison =
                ["at least ", "at most ", "above ", "below ", "from "].iter().any(|it| at.starts_with(it));
            if comparison {
                format!("{label} {}", scene.plan.shown(at))
            } else {
                format!("{label}: {}", scene.plan.shown(at))
            }
        }
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::Date
        | Kind::Clock => format!("{label} {}", quantities(scene, name, at)),
    }
}

/// Says each number of a text that is in the name's own unit in the unit that the grower speaks.
fn quantities(scene: &Scene<'_>, name: NameId, at: &str) -> String {
    let Some(item) = scene.plan.names.get(name.index()) else { return at.to_string() };
    let symbol: Vec<&str> =
        if item.kind == Kind::Share { vec!["%"] } else { item.unit.symbol.split_whitespace().collect() };
    let words: Vec<&str> = at.split_whitespace().collect();
    let mut said: Vec<String> = Vec::new();
    let mut place = 0;
    while let Some(word) = words.get(place) {
        place += 1;
        if let (Kind::Date, Ok(day)) = (item.kind, word.parse::<NaiveDate>()) {
            said.push(scene.words().day(day));
            continue;
        }
        let unit = words.get(place..place + symbol.len());
        let Some(number) = word.parse::<f64>().ok().filter(|_| unit == Some(&symbol[..])) else {
            said.push((*word).to_string());
            continue;
        };
        place += symbol.len();
        let base = match item.kind {
            Kind::Share => number / 100.0,
            Kind::Temperature => item.unit.point_to_base(number),
            Kind::Number
            | Kind::Count
            | Kind::Quantity(_)
            | Kind::Date
            | Kind::Clock
            | Kind::YesNo
            | Kind::Text
            | Kind::Words(_) => item.unit.amount_to_base(number),
        };
        said.push(scene.words().number(item, base));
    }
    said.join(" ")
}

/// Returns a text that begins with a capital and ends in a full stop.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    let mut sentence: String = first.to_uppercase().chain(letters).collect();
    if !sentence.ends_with(['.', '!', '?']) {
        sentence.push('.');
    }
    sentence
}
