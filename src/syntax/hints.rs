//! The words to write for what is often written otherwise: signs, other words for a unit, other spellings of a number.
//!
//! Comes in: the place where reading stopped. Goes out: one sentence of help, or none where it would be a guess.

use super::build_value::UNITS;
use super::explain::{self, Stop};
use super::found;
use super::grammar::Rule;
use crate::problems::nearest;

/// Signs and words that people write, and what they are in this language.
const INSTEAD: &[(&str, &str)] = &[
    (">=", "write `at least`"),
    ("=>", "write `at least`"),
    ("≥", "write `at least`"),
    ("<=", "write `at most`"),
    ("=<", "write `at most`"),
    ("≤", "write `at most`"),
    (">", "write `above`"),
    ("<", "write `below`"),
    ("==", "write `is`"),
    ("=", "write `is` to compare; `=` stands only behind the name of what is computed"),
    ("!=", "write `is not`"),
    ("≠", "write `is not`"),
    ("!", "write `not`"),
    ("&&", "write `and`"),
    ("&", "write `and`"),
    ("||", "write `or`"),
    ("|", "write `or`"),
    ("×", "write `*` to multiply"),
    ("÷", "write `/` to divide"),
    ("−", "write `-`, with a blank on both sides to subtract and none after it for the sign of a number"),
    ("–", "write `-`, with a blank on both sides to subtract and none after it for the sign of a number"),
    ("—", "write `-`, with a blank on both sides to subtract and none after it for the sign of a number"),
    ("“", "write texts in straight double quotes: `\"`"),
    ("”", "write texts in straight double quotes: `\"`"),
    ("„", "write texts in straight double quotes: `\"`"),
    ("‘", "write texts in straight double quotes: `\"`"),
    ("’", "write texts in straight double quotes: `\"`"),
    ("'", "write texts in straight double quotes: `\"`"),
    ("+", "a number has no plus sign, and `+` stands between two values of a `measure`"),
    (";", "clauses need no sign between them: leave `;` out"),
];

/// Other ways to begin a comparison.
const COMPARED: &[(&str, &str)] = &[
    ("greater than", "above"),
    ("more than", "above"),
    ("higher than", "above"),
    ("over", "above"),
    ("exceeds", "above"),
    ("less than", "below"),
    ("lower than", "below"),
    ("under", "below"),
    ("equals", "is"),
    ("minimum", "at least"),
    ("maximum", "at most"),
    ("between", "from … to"),
];

/// Other words for units.
const UNIT_WORDS: &[(&str, &str)] = &[
    ("percent", "%"),
    ("hour", "h"),
    ("hours", "h"),
    ("hrs", "h"),
    ("hr", "h"),
    ("day", "d"),
    ("days", "d"),
    ("week", "d` (seven for each week) or `h"),
    ("weeks", "d` (seven for each week) or `h"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("inch", "in"),
    ("inches", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("acre", "ac"),
    ("acres", "ac"),
    ("hectare", "ha"),
    ("hectares", "ha"),
    ("gallon", "gal"),
    ("gallons", "gal"),
    ("liter", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("litres", "L"),
    ("l", "L"),
    ("ml", "mL"),
    ("quart", "qt"),
    ("quarts", "qt"),
    ("pint", "pt"),
    ("pints", "pt"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("floz", "fl oz"),
    ("fl.oz", "fl oz"),
    ("fl-oz", "fl oz"),
    ("fl", "fl oz"),
    ("fl.", "fl oz"),
    ("fluid", "fl oz"),
    ("gram", "g"),
    ("grams", "g"),
    ("degrees", "°F` or `°C"),
    ("deg", "°F` or `°C"),
    ("°", "°F` or `°C"),
    ("°f", "°F"),
    ("°c", "°C"),
    ("f", "°F"),
    ("c", "°C"),
    ("K", "°C"),
    ("kmh", "km/h"),
    ("kph", "km/h"),
    ("kilopascal", "kPa"),
];

/// Returns what to write instead of what stands where reading stopped.
pub(super) fn hint(text: &str, stop: &Stop) -> Option<String> {
    let token = found::token(text, stop.at);
    let Some(first) = token.chars().next() else { return parentheses(text, stop, token) };
    if first.is_whitespace() && !first.is_ascii() {
        return Some("the blank here is not an ordinary one: write it anew".to_owned());
    }
    if let Some((_, help)) = INSTEAD.iter().find(|(written, _)| *written == token) {
        return Some((*help).to_owned());
    }
    let one_notation = (stop.tried.len() <= 2 || first.is_ascii_digit()) && !stop.tried(Rule::kw_yes);
    if let Some((_, help)) = NOTATIONS.iter().find(|(rule, _)| one_notation && stop.tried(*rule)) {
        return Some((*help).to_owned());
    }
    if stop.tried(Rule::in_hours_when) && (token == "in" || token.starts_with("in-hour")) {
        return Some("write `in hours when`".to_owned());
    }
    if stop.tried(Rule::kw_to) && matches!(token, "until" | "till" | "through" | ".." | "..." | "-") {
        return Some("write `to`".to_owned());
    }
    window_unit(token, stop)
        .or_else(|| number(text, stop, token))
        .or_else(|| comparison(text, stop))
        .or_else(|| unit(text, stop, token))
        .or_else(|| unit_before(text, stop, token))
        .or_else(|| parentheses(text, stop, token))
        .or_else(|| odd_name(stop, token))
}

/// What has one notation only.
const NOTATIONS: &[(Rule, &str)] = &[
    (Rule::moment, "a moment is written `2027-02-11T05:30`"),
    (Rule::day_of_year, "a day of the year is its number and three letters of the month: `1 Nov`"),
    (Rule::date, "a date is written `2027-02-11`"),
    (Rule::clock, "a time of day is written `06:30`"),
    (Rule::group_code, "a group's code is written in capitals and digits: `M01`, `11`"),
];

/// Parentheses that are not closed, or not open.
fn parentheses(text: &str, stop: &Stop, token: &str) -> Option<String> {
    let after_a_value = stop.tried(Rule::plus) || stop.tried(Rule::kw_and) || stop.tried(Rule::kw_or);
    let open = found::open_parentheses(text.get(..stop.at)?);
    match token {
        "^" => Some("`a ^ b ^ c` needs parentheses: `(a ^ b) ^ c`, or `a ^ (b ^ c)`".to_owned()),
        ")" if open <= 0 => Some("this `)` closes no parenthesis".to_owned()),
        _ if open > 0 && after_a_value => Some("a parenthesis is not closed: write `)`".to_owned()),
        _ => None,
    }
}

/// A name with capitals, or the symbol of a unit, where a name is one of the things that can stand.
fn odd_name(stop: &Stop, token: &str) -> Option<String> {
    let begin_with_a_name = [
        Rule::name,
        Rule::shut,
        Rule::never_what,
        Rule::taken,
        Rule::dose,
        Rule::expected,
        Rule::gate_name,
        Rule::condition,
        Rule::band_condition,
        Rule::expression,
        Rule::sprayed,
        Rule::kind,
        Rule::cell,
    ];
    let fits = stop.tried.iter().any(|rule| begin_with_a_name.contains(rule));
    if fits && UNITS.contains(&token) && explain::is_reserved(token) {
        return Some(format!("`{token}` is the symbol of a unit, and cannot be a name"));
    }
    let lower = explain::as_a_name(token)?;
    fits.then(|| format!("names are lower-case words joined by hyphens: `{lower}`"))
}

/// A window of time counts in `h`, `days` and `nights` only.
fn window_unit(token: &str, stop: &Stop) -> Option<String> {
    let of_window = stop.tried(Rule::kw_nights) || (stop.tried(Rule::unit_h) && stop.tried(Rule::kw_days));
    let unit = match token {
        "hour" | "hours" | "hr" | "hrs" => "h",
        "d" | "day" => "days",
        "night" => "nights",
        "week" | "weeks" => "days` (seven for each week",
        _ => return None,
    };
    of_window.then(|| match token.starts_with("week") {
        true => format!("write `{unit})"),
        false => format!("write `{unit}`"),
    })
}

/// Numbers, dates and clock times that are not written as they are read.
fn number(text: &str, stop: &Stop, token: &str) -> Option<String> {
    let before = text.get(..stop.at).unwrap_or_default();
    let digits = |word: &str| !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit());
    if token == "," && before.ends_with(|sign: char| sign.is_ascii_digit()) {
        let after = text.get(stop.at + 1..).unwrap_or_default();
        let group: String = after.chars().take_while(char::is_ascii_digit).collect();
        let whole: String = before.chars().rev().take_while(char::is_ascii_digit).take(12).collect();
        let whole: String = whole.chars().rev().collect();
        return (group.len() == 3).then(|| format!("write a number without commas: `{whole}{group}`"));
    }
    if let Some(rest) = token.strip_prefix('.').filter(|rest| digits(rest)) {
        return Some(format!("write `0.{rest}`"));
    }
    if let Some(rest) = token.strip_suffix('.').filter(|rest| digits(rest)) {
        return Some(format!("write `{rest}`"));
    }
    let value_before =
        before.trim_end().ends_with(|sign: char| sign.is_ascii_alphanumeric() || ")%".contains(sign));
    if let Some(rest) = token.strip_prefix('-') {
        if value_before && (stop.tried(Rule::minus) || stop.tried(Rule::plus)) {
            return Some("a minus sign that subtracts has a blank on both sides: `a - b`".to_owned());
        }
        if rest.is_empty() {
            return Some("the sign of a number has no blank after it: `-10`".to_owned());
        }
    }
    if !token.starts_with(|sign: char| sign.is_ascii_digit()) {
        return None;
    }
    if let Some((left, right)) = token.split_once('-') {
        if digits(left) && digits(right) && left.len() != 4 {
            return Some(format!(
                "write `{left} - {right}` to subtract, or `from {left} to {right}` for a range"
            ));
        }
        if digits(&token.replace('-', "")) {
            return Some("a date is written `2027-02-11`".to_owned());
        }
        if digits(left) || left.len() < 6 {
            return Some("a name begins with a letter: `rain-48h`".to_owned());
        }
    }
    if token.contains(':') {
        return Some("a time of day is written `06:30`".to_owned());
    }
    if token.matches('.').count() > 1 {
        return Some("a number has one decimal point: `0.5`".to_owned());
    }
    let letters = token.trim_start_matches(|sign: char| sign.is_ascii_digit() || sign == '.');
    unit_word(letters).map(|unit| format!("write `{} {unit}`", token.trim_end_matches(letters)))
}

/// Other ways to compare.
fn comparison(text: &str, stop: &Stop) -> Option<String> {
    let rest = text.get(stop.at..).unwrap_or_default();
    let compares = stop.tried(Rule::comparison) || stop.tried(Rule::at_least);
    if compares {
        let said = COMPARED.iter().find(|(written, _)| found::begins_with(rest, written));
        return said.map(|(_, right)| format!("write `{right}`"));
    }
    let end = found::end_before(text, stop.at);
    let after_is = text.get(..end).is_some_and(|before| before.ends_with(" is"));
    let words = ["at least", "at most", "above", "below", "from"];
    let word = words.iter().find(|word| found::begins_with(rest, word))?;
    (after_is && stop.tried(Rule::kw_yes)).then(|| format!("leave `is` out: `{word} …`"))
}

/// Other words for a unit.
fn unit(text: &str, stop: &Stop, token: &str) -> Option<String> {
    let after_number = text.get(..found::end_before(text, stop.at)).is_some_and(|before| {
        let last = before.rsplit(char::is_whitespace).next().unwrap_or_default();
        last.starts_with(|sign: char| sign.is_ascii_digit() || sign == '-')
            && last.ends_with(|sign: char| sign.is_ascii_digit())
    });
    let wants_unit = stop.tried(Rule::unit) || stop.tried(Rule::rate) || stop.tried(Rule::base_unit);
    if !(after_number && wants_unit) {
        return None;
    }
    unit_word(token).map(|unit| format!("write `{unit}`"))
}

/// Another word for a unit that was read as a name, so that reading stops at what it is divided by.
fn unit_before(text: &str, stop: &Stop, token: &str) -> Option<String> {
    if token != "/" {
        return None;
    }
    let mut before = text.get(..stop.at)?.split_whitespace().rev();
    let (word, number) = (before.next()?, before.next()?);
    let is_number = number.bytes().all(|byte| byte.is_ascii_digit() || b".-".contains(&byte));
    let known = UNIT_WORDS.iter().find(|(written, _)| *written == word.to_lowercase());
    known.filter(|_| is_number).map(|(_, unit)| format!("write `{unit}` in place of `{word}`"))
}

/// Returns the unit that a word must mean.
fn unit_word(word: &str) -> Option<String> {
    let known = UNIT_WORDS.iter().find(|(written, _)| *written == word || *written == word.to_lowercase());
    let same = || UNITS.into_iter().find(|unit| unit.to_lowercase() == word.to_lowercase());
    let close =
        || nearest(word, UNITS.into_iter().filter(|unit| unit.len() > 2 && word.len() > 2 && word.len() < 9));
    known.map(|(_, unit)| (*unit).to_owned()).or_else(|| same().or_else(close).map(str::to_owned))
}
