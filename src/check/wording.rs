//! Pieces of a tree in their one canonical wording, for messages and for names that no item defines.
//!
//! Comes in: parts of a syntax tree. Goes out: text with single blanks, canonical units, and parentheses only
//! where they mean something; two pieces with the same wording are the same expression.

use super::literals::unit_of;
use crate::syntax::tree::{
    Clock, Comparison, Condition, Counted, Date, DayOfYear, Label, Literal, Name, Quantifier, Quantity,
    Sprayed, Value,
};

/// Returns a condition.
pub(super) fn condition(it: &Condition<'_>) -> String {
    match it {
        Condition::All(parts) => parts.iter().map(part).collect::<Vec<_>>().join(" and "),
        Condition::Any(parts) => parts.iter().map(part).collect::<Vec<_>>().join(" or "),
        Condition::Not(inner, _) => format!("not {}", part(inner)),
        Condition::Parenthesis(inner, _) => condition(inner),
        Condition::Panicles(quantifier, inner, _) => panicles(*quantifier, inner),
        Condition::Bare(name) => name.value.to_string(),
        Condition::Test(name, with, _) => format!("{} {}", name.value, comparison(with)),
    }
}

/// Returns `some panicles with …`.
pub(super) fn panicles(quantifier: Quantifier, inner: &Condition<'_>) -> String {
    format!("{} panicles with {}", quantifier_word(quantifier), part(inner))
}

/// Returns the word of a quantifier.
pub(super) fn quantifier_word(quantifier: Quantifier) -> &'static str {
    match quantifier {
        Quantifier::Some => "some",
        Quantifier::All => "all",
    }
}

/// Returns a condition as part of another one, in parentheses where it joins several.
fn part(it: &Condition<'_>) -> String {
    match it {
        Condition::All(_) | Condition::Any(_) => format!("({})", condition(it)),
        Condition::Parenthesis(inner, _) => part(inner),
        Condition::Not(..) | Condition::Panicles(..) | Condition::Bare(_) | Condition::Test(..) => {
            condition(it)
        }
    }
}

/// Returns a comparison, `at least 20 %`.
pub(super) fn comparison(it: &Comparison<'_>) -> String {
    match it {
        Comparison::AtLeast(a) => format!("at least {}", value(a)),
        Comparison::AtMost(a) => format!("at most {}", value(a)),
        Comparison::Above(a) => format!("above {}", value(a)),
        Comparison::Below(a) => format!("below {}", value(a)),
        Comparison::Is(a) => format!("is {}", value(a)),
        Comparison::IsNot(a) => format!("is not {}", value(a)),
        Comparison::IsOneOf(list) => {
            format!("is one of {}", list.iter().map(value).collect::<Vec<_>>().join(", "))
        }
        Comparison::FromTo(a, b) => format!("from {} to {}", value(a), value(b)),
        Comparison::FromToBelow(a, b) => format!("from {} to below {}", value(a), value(b)),
    }
}

/// Returns a value.
pub(super) fn value(it: &Value<'_>) -> String {
    match it {
        Value::Literal(it) => literal(it),
        Value::Name(name) => name.value.to_string(),
    }
}

/// Returns a literal.
pub(super) fn literal(it: &Literal<'_>) -> String {
    match it {
        Literal::Date(it) => date(it.value),
        Literal::DayOfYear(it) => day_of_year(it.value),
        Literal::Clock(it) => clock(it.value),
        Literal::Quantity(it) => quantity(it),
        Literal::Text(it) => text(&it.value),
        Literal::YesNo(it) => if it.value { "yes" } else { "no" }.to_string(),
    }
}

/// Returns a number with its unit.
pub(super) fn quantity(it: &Quantity<'_>) -> String {
    let digits = it.number.digits;
    match &it.unit {
        None => digits.to_string(),
        Some(unit) => match unit_of(unit) {
            Some(unit) => format!("{digits} {}", unit.symbol),
            None => digits.to_string(),
        },
    }
}

/// Returns a text in quotes.
pub(super) fn text(it: &str) -> String {
    format!("\"{}\"", it.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"))
}

fn date(it: Date) -> String {
    format!("{:04}-{:02}-{:02}", it.year, it.month, it.day)
}

fn day_of_year(it: DayOfYear) -> String {
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let month = usize::from(it.month).checked_sub(1).and_then(|at| MONTHS.get(at)).unwrap_or(&"?");
    format!("{} {month}", it.day)
}

fn clock(it: Clock) -> String {
    format!("{:02}:{:02}", it.hour, it.minute)
}

/// Returns `copper`, `group 11`, or a word for every spray.
fn sprayed(it: &Sprayed<'_>, any: &str) -> String {
    match it {
        Sprayed::Any => any.to_string(),
        Sprayed::Group(code) => format!("group {}", code.value),
        Sprayed::Product(name) => name.value.to_string(),
    }
}

/// Returns `days since last copper`.
pub(super) fn days_since_last(it: &Sprayed<'_>) -> String {
    format!("days since last {}", sprayed(it, "spray"))
}

/// Returns `sprays of copper this season`.
pub(super) fn sprays_of(it: &Sprayed<'_>, over: &Counted<'_>) -> String {
    format!("sprays of {} {}", sprayed(it, "any"), counted(over))
}

/// Returns `amount of copper this season`.
pub(super) fn amount_of(ingredient: &str, over: &Counted<'_>) -> String {
    format!("amount of {ingredient} {}", counted(over))
}

fn counted(it: &Counted<'_>) -> String {
    match it {
        Counted::ThisSeason => "this season".to_string(),
        Counted::ThatDay => "that day".to_string(),
        Counted::LastDays(number) => format!("over last {} days", number.value.digits),
    }
}

/// Returns a label line without its first word, `interval at least 7 d`.
pub(super) fn label(it: &Label<'_>) -> String {
    match it {
        Label::Interval(d) => format!("interval at least {}", quantity(d)),
        Label::Sprays(total, number) => {
            format!("{} at most {} sprays", total.line().word(), number.value.digits)
        }
        Label::Amount(total, cap, of) => {
            format!("{} at most {}", total.line().word(), amount(cap, of.as_ref()))
        }
        Label::Single(cap, of) => format!("single at most {}", amount(cap, of.as_ref())),
        Label::BeforeHarvest(d) => format!("before-harvest at least {}", quantity(d)),
        Label::Apart(other, d) => format!("apart from {} at least {}", other.value, quantity(d)),
        Label::ReEntry(d) => format!("re-entry {}", quantity(d)),
    }
}

/// Returns an amount with what it is of, `12 lb / ac copper`.
pub(super) fn amount(it: &Quantity<'_>, of: Option<&Name<'_>>) -> String {
    match of {
        Some(of) => format!("{} {}", quantity(it), of.value),
        None => quantity(it),
    }
}

/// Returns `a`, `a or b`, `a, b or c`, each in backticks.
pub(super) fn either<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    joined(words.into_iter().map(|word| format!("`{word}`")).collect(), "or")
}

/// Returns `a`, `a and b`, `a, b and c`, each in backticks.
pub(super) fn both<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    joined(words.into_iter().map(|word| format!("`{word}`")).collect(), "and")
}

/// Returns `a` does so to `b`, and so on back to `a`.
pub(super) fn circle(names: &[&str], does: &str) -> String {
    let Some(first) = names.first() else { return String::new() };
    if names.len() == 1 {
        return format!("`{first}` {does} itself");
    }
    // Of a long circle the first steps are enough to find it.
    const SHOWN: usize = 8;
    let next = names.iter().skip(1).chain([first]);
    let mut steps: Vec<String> =
        names.iter().zip(next).take(SHOWN).map(|(one, other)| format!("`{one}` {does} `{other}`")).collect();
    if names.len() > SHOWN {
        steps.push(format!("and so on over {} more back to `{first}`", names.len() - SHOWN));
    }
    format!("{}: a circle", steps.join(", "))
}

fn joined(mut words: Vec<String>, last: &str) -> String {
    match words.pop() {
        None => String::new(),
        Some(end) if words.is_empty() => end,
        Some(end) => format!("{} {last} {end}", words.join(", ")),
    }
}
