//! Values and comparisons in a reader's words.

use super::Speech;
use super::units::{day_of, weekday};
use crate::measure::{Extent, Possible, Reading};
use crate::plan::{Bound, Compare, Kind, Name, NameId, Origin, Plan, TextId};
use crate::units::{Dimension, Unit, show_beside};

/// Returns what a value is, in words: `61 °F`, `between 40 % and 60 %`, `full bloom`, `not known: nobody looked`.
pub fn reading(plan: &Plan, name: NameId, reading: &Reading, speech: Speech) -> String {
    let Some(item) = plan.names.get(name.index()) else { return String::new() };
    let extent = reading.extent;
    let why = reading.cause.as_ref().map(|cause| with_weekdays(cause.words()));
    let because = |what: &str| why.as_ref().map_or_else(|| what.to_string(), |why| format!("{what}: {why}"));
    if extent.is_empty() {
        return because("none");
    }
    if extent.may_be_empty || is_anything(plan, item, extent) {
        return because("not known");
    }
    match extent.can_be {
        Possible::Numbers(low, high) if low == high => number(item, low, speech),
        Possible::Numbers(low, high) => between(item, low, high, speech),
        Possible::Words(set) => words_of(plan, item.kind, set),
        Possible::Text(text) => text_words(plan, text),
        Possible::Nothing | Possible::AnyText => because("not known"),
    }
}

/// From here on a number says only that it was too great to reckon with: arithmetic ends at about `1.8e308`.
const ENDLESS: f64 = 1e300;

/// Returns a text whose dates have their weekdays.
fn with_weekdays(text: &str) -> String {
    let word = |word: &str| {
        let bare = word.trim_end_matches([',', ';', ':', '.']);
        match bare.parse::<chrono::NaiveDate>() {
            Ok(day) => weekday(day) + word.strip_prefix(bare).unwrap_or_default(),
            Err(_) => word.to_string(),
        }
    };
    text.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// Returns whether an extent says no more of a name than its kind and its range do.
pub fn is_anything(plan: &Plan, item: &Name, extent: Extent) -> bool {
    if extent.is_settled() {
        return false;
    }
    // Too great to reckon with: only that it has no end that could be named.
    if extent.ends().is_some_and(|(low, high)| low >= ENDLESS || high <= -ENDLESS) {
        return true;
    }
    let kind = Extent::anything(item.kind, plan);
    let range = match (&item.origin, kind.ends()) {
        (Origin::Observed(seen), Some((low, high))) => {
            seen.range.map(|(from, to)| (low.max(from), high.min(to))).unwrap_or((low, high))
        }
        _ => return extent.can_be == kind.can_be,
    };
    extent.ends().is_some_and(|(low, high)| low <= range.0 && high >= range.1)
}

/// Returns a number of a name in words; a duration without an end is `longer than any`.
pub fn number(item: &Name, base: f64, speech: Speech) -> String {
    if base.is_infinite() {
        let time = item.kind == Kind::Quantity(Dimension::TIME);
        return match (time, base > 0.0) {
            (true, true) => "longer than any".to_string(),
            (_, true) => "without end".to_string(),
            (_, false) => "without beginning".to_string(),
        };
    }
    speech.number(item.kind, &item.unit, base)
}

fn between(item: &Name, low: f64, high: f64, speech: Speech) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("between {} and {}", number(item, low, speech), number(item, high, speech)),
        (true, false) => format!("at least {}", number(item, low, speech)),
        (false, true) => format!("at most {}", number(item, high, speech)),
        (false, false) => "any number".to_string(),
    }
}

/// Returns the words of a set: `full bloom`, `pinhead to marble`, `quiet or severe`.
pub fn words_of(plan: &Plan, kind: Kind, set: u64) -> String {
    let places: Vec<u16> = (0..64).filter(|place| set >> place & 1 == 1).collect();
    let ordered = matches!(kind, Kind::Words(list) if plan.word_lists.get(list.index()).is_some_and(|list| list.ordered));
    let words: Vec<String> = places.iter().map(|place| word(plan, kind, *place)).collect();
    match (&words[..], &places[..]) {
        ([first, .., last], [low, .., high])
            if ordered && words.len() > 2 && usize::from(high - low) + 1 == words.len() =>
        {
            format!("{first} to {last}")
        }
        _ => words.join(" or "),
    }
}

/// Returns the word at a place of a kind's list, with spaces for hyphens.
pub fn word(plan: &Plan, kind: Kind, place: u16) -> String {
    match kind {
        Kind::YesNo => if place == 1 { "yes" } else { "no" }.to_string(),
        Kind::Words(list) => plan
            .word_lists
            .get(list.index())
            .and_then(|list| list.words.get(usize::from(place)))
            .map_or_else(String::new, |word| word.shown.to_string()),
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::Date
        | Kind::Clock
        | Kind::Text => String::new(),
    }
}

/// Returns a text of the rulebook; another than those it names has no words here.
pub fn text_words(plan: &Plan, text: TextId) -> String {
    plan.texts
        .get(text.0 as usize)
        .map_or_else(|| "one that the guide does not name".to_string(), |it| it.to_string())
}

/// Whether a comparison is said as it stands or turned into its opposite.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sense {
    /// As it stands.
    Asked,
    /// Its opposite.
    Refused,
}

impl Sense {
    /// Returns the other sense.
    pub fn turned(self) -> Self {
        match self {
            Sense::Asked => Sense::Refused,
            Sense::Refused => Sense::Asked,
        }
    }
}

/// Returns a comparison in words, `at least 20 %`. A threshold that would print like the number beside it is
/// printed with that number: the first of the two.
pub fn compared(
    plan: &Plan,
    item: &Name,
    compare: &Compare,
    sense: Sense,
    beside: Option<f64>,
    speech: Speech,
) -> (Option<String>, String) {
    let shown = |bound: &Bound| threshold(item, bound, beside, speech);
    match (compare, sense) {
        (Compare::Not(inner), sense) => compared(plan, item, inner, sense.turned(), beside, speech),
        (Compare::Numbers { low: Some(low), high: None }, sense) => {
            let (number, bound) = shown(low);
            let word = match (low.closed, sense) {
                (true, Sense::Asked) => "at least",
                (false, Sense::Asked) => "above",
                (true, Sense::Refused) => "below",
                (false, Sense::Refused) => "at most",
            };
            (number, format!("{word} {bound}"))
        }
        (Compare::Numbers { low: None, high: Some(high) }, sense) => {
            let (number, bound) = shown(high);
            let word = match (high.closed, sense) {
                (true, Sense::Asked) => "at most",
                (false, Sense::Asked) => "below",
                (true, Sense::Refused) => "above",
                (false, Sense::Refused) => "at least",
            };
            (number, format!("{word} {bound}"))
        }
        (Compare::Numbers { low: Some(low), high: Some(high) }, sense) => {
            let (first, from) = shown(low);
            let (second, to) = shown(high);
            let from = if low.closed { format!("from {from}") } else { format!("above {from}") };
            let to = if high.closed { format!("to {to}") } else { format!("to below {to}") };
            (first.or(second), refused(sense, format!("{from} {to}")))
        }
        (Compare::Numbers { low: None, high: None }, sense) => (None, refused(sense, "any number".into())),
        (Compare::NumberIsOneOf(bounds), sense) => {
            let list: Vec<String> = bounds.iter().map(|bound| shown(bound).1).collect();
            (None, refused(sense, list.join(" or ")))
        }
        (Compare::Words(set), Sense::Asked) => (None, asked_words(plan, item.kind, *set)),
        (Compare::Words(set), Sense::Refused) => {
            (None, asked_words(plan, item.kind, all_words(plan, item.kind) & !set))
        }
        (Compare::Texts(texts), sense) => {
            let list: Vec<String> = texts.iter().map(|text| text_words(plan, *text)).collect();
            (None, refused(sense, list.join(" or ")))
        }
        (Compare::DaysOfYear(from, to), sense) => {
            (None, refused(sense, format!("from {} to {}", day_of_year(*from), day_of_year(*to))))
        }
        (Compare::Name(order, other), sense) => {
            let other = plan.names.get(other.index()).map_or("", |name| &name.label);
            (None, refused(sense, format!("{} {other}", order_word(*order))))
        }
    }
}

fn refused(sense: Sense, words: String) -> String {
    match sense {
        Sense::Asked => words,
        Sense::Refused => format!("not {words}"),
    }
}

/// Returns the threshold in words, and the number beside it where that must be said with more digits.
fn threshold(item: &Name, bound: &Bound, beside: Option<f64>, speech: Speech) -> (Option<String>, String) {
    if matches!(item.kind, Kind::Date | Kind::Clock) || bound.value().is_infinite() {
        return (None, number(item, bound.value(), speech));
    }
    let unit: &Unit = if bound.unit.dimension == item.unit.dimension { &bound.unit } else { &item.unit };
    let (value, symbol) = speech.parts(item.kind, unit, bound.value());
    match beside.filter(|number| number.is_finite()) {
        Some(number) => {
            let (number, _) = speech.parts(item.kind, unit, number);
            let (number, value) = show_beside(number, value, &symbol);
            (Some(number), value)
        }
        None => (None, crate::units::show(value, &symbol)),
    }
}

fn all_words(plan: &Plan, kind: Kind) -> u64 {
    Extent::anything(kind, plan).word_set()
}

/// Returns a set of words as a condition asks for them: `at least building`, `full bloom`, `pinhead to marble`.
fn asked_words(plan: &Plan, kind: Kind, set: u64) -> String {
    let all = all_words(plan, kind);
    let ordered = matches!(kind, Kind::Words(list) if plan.word_lists.get(list.index()).is_some_and(|list| list.ordered));
    if !ordered || set.count_ones() < 2 {
        return words_of(plan, kind, set);
    }
    let (lowest, highest) = (set.trailing_zeros(), 63 - set.leading_zeros());
    let contiguous = highest - lowest + 1 == set.count_ones();
    let top = highest == 63 - all.leading_zeros();
    let place = |at: u32| word(plan, kind, at as u16);
    match (contiguous, lowest == 0, top) {
        (true, false, true) => format!("at least {}", place(lowest)),
        (true, true, false) => format!("at most {}", place(highest)),
        (true, false, false) if set.count_ones() > 2 => {
            format!("from {} to {}", place(lowest), place(highest))
        }
        _ => words_of(plan, kind, set),
    }
}

fn day_of_year((month, day): (u8, u8)) -> String {
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let month = MONTHS.get(usize::from(month).wrapping_sub(1)).unwrap_or(&"?");
    format!("{day} {month}")
}

fn order_word(order: crate::plan::Order) -> &'static str {
    match order {
        crate::plan::Order::AtLeast => "at least",
        crate::plan::Order::AtMost => "at most",
        crate::plan::Order::Above => "above",
        crate::plan::Order::Below => "below",
        crate::plan::Order::Is => "as",
        crate::plan::Order::IsNot => "other than",
    }
}

/// Returns the day that a reading is, if it is one day.
pub fn day(reading: &Reading) -> Option<chrono::NaiveDate> {
    reading.extent.one_number().and_then(day_of)
}
