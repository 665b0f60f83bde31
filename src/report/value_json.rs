//! A value in JSON: a number with its unit, a word, an interval, `unknown` or `empty` with the reason.

use super::json;
use crate::measure::{Possible, Reading};
use crate::plan::{Kind, Name, NameId, Plan};
use crate::units::{Dimension, clean};
use crate::words::{Language, Speech, Words};

/// Writes what a name is. `sample` is how many were found among how many; `own_text` what a text is that the
/// rulebook does not name.
pub fn write_reading(
    out: &mut Vec<u8>,
    plan: &Plan,
    name: NameId,
    reading: &Reading,
    sample: Option<(u32, u32)>,
    own_text: Option<&str>,
) {
    let Some(item) = plan.names.get(name.index()) else {
        out.extend_from_slice(b"null");
        return;
    };
    let extent = reading.extent;
    let words = Words { language: Language::English, speech: Speech::AsWritten, plan };
    let why = |fallback: &str| {
        reading.cause.as_ref().map_or_else(|| fallback.to_string(), |cause| words.cause(cause))
    };
    out.push(b'{');
    if extent.is_empty() {
        tagged(out, "empty", &why("there is no such value"));
    } else if extent.may_be_empty || extent.is_anything(item, plan) {
        tagged(out, "unknown", &why("not known"));
    } else {
        match extent.can_be {
            Possible::Numbers(low, high) if low == high => single(out, item, low),
            Possible::Numbers(low, high) => interval(out, item, low, high),
            Possible::Words(set) => one_of(out, plan, item.kind, set, &why("not known")),
            Possible::Text(text) => {
                let known = plan.texts.get(text.0 as usize).map(|text| &**text);
                tagged(out, "value", known.or(own_text).unwrap_or("other"));
            }
            Possible::Nothing | Possible::AnyText => tagged(out, "unknown", &why("not known")),
        }
    }
    if let Some((found, of)) = sample {
        out.extend_from_slice(b",\"sample\":{\"found\":");
        json::number(out, f64::from(found));
        out.extend_from_slice(b",\"of\":");
        json::number(out, f64::from(of));
        out.push(b'}');
    }
    if reading.assumed {
        out.extend_from_slice(b",\"assumed\":true");
    }
    out.push(b'}');
}

fn tagged(out: &mut Vec<u8>, tag: &str, text: &str) {
    json::key(out, tag);
    json::text(out, text);
}

fn single(out: &mut Vec<u8>, item: &Name, base: f64) {
    out.extend_from_slice(b"\"value\":");
    number(out, item, base);
    if base.is_finite() {
        unit(out, item);
    }
}

fn interval(out: &mut Vec<u8>, item: &Name, low: f64, high: f64) {
    out.extend_from_slice(b"\"from\":");
    number(out, item, low);
    out.extend_from_slice(b",\"to\":");
    number(out, item, high);
    unit(out, item);
}

/// Writes a number of a name in its unit; what has no end is `longer than any` of durations, and null of others.
fn number(out: &mut Vec<u8>, item: &Name, base: f64) {
    if base == f64::INFINITY && item.kind == Kind::Quantity(Dimension::TIME) {
        return json::text(out, "longer than any");
    }
    if !base.is_finite() {
        return out.extend_from_slice(b"null");
    }
    match item.kind {
        Kind::Date => json::day(out, crate::words::day_of(base)),
        Kind::Clock => json::text(out, &crate::words::clock(base)),
        Kind::Share => json::number(out, clean(base * 100.0)),
        Kind::Temperature => json::number(out, item.unit.point_from_base(base)),
        Kind::Number | Kind::Count | Kind::Quantity(_) | Kind::YesNo | Kind::Text | Kind::Words(_) => {
            json::number(out, item.unit.amount_from_base(base))
        }
    }
}

fn unit(out: &mut Vec<u8>, item: &Name) {
    let symbol = match item.kind {
        Kind::Share => "%",
        Kind::Date | Kind::Clock => "",
        Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::YesNo
        | Kind::Text
        | Kind::Words(_) => &item.unit.symbol,
    };
    if !symbol.is_empty() {
        out.push(b',');
        tagged(out, "unit", symbol);
    }
}

/// Writes a word; several that stand next to each other in an ordered list are an interval.
fn one_of(out: &mut Vec<u8>, plan: &Plan, kind: Kind, set: u64, why: &str) {
    let word = |place: u32| match kind {
        Kind::YesNo => if place == 1 { "yes" } else { "no" }.to_string(),
        Kind::Words(list) => {
            let list = plan.word_lists.get(list.index());
            list.and_then(|list| list.words.get(place as usize))
                .map_or_else(String::new, |it| it.name.to_string())
        }
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::Date
        | Kind::Clock
        | Kind::Text => String::new(),
    };
    let (low, high) = (set.trailing_zeros(), 63u32.saturating_sub(set.leading_zeros()));
    if set.count_ones() == 1 {
        return tagged(out, "value", &word(low));
    }
    let ordered =
        matches!(kind, Kind::Words(list) if plan.word_lists.get(list.index()).is_some_and(|it| it.ordered));
    if ordered && high - low + 1 == set.count_ones() {
        tagged(out, "from", &word(low));
        out.push(b',');
        return tagged(out, "to", &word(high));
    }
    tagged(out, "unknown", why);
    out.extend_from_slice(b",\"one_of\":");
    json::list(out, (0..64).filter(|place| set >> place & 1 == 1), |out, place| {
        json::text(out, &word(place))
    });
}
