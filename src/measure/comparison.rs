//! Comparisons of what a value can be with what an author wrote, in three values.

use super::{Extent, Possible, Truth};
use crate::plan::{Bound, Compare, Name, Order};
use chrono::{Datelike, NaiveDate};
use std::ops::Not;

/// Compares what a value can be with what is written. Every comparison with an empty value is false.
pub fn compare(extent: Extent, with: &Compare) -> Truth {
    if extent.is_empty() {
        return Truth::No;
    }
    let there = compare_value(Extent { may_be_empty: false, ..extent }, with);
    if extent.may_be_empty && there == Truth::Yes { Truth::Open } else { there }
}

/// Compares a value that exists.
fn compare_value(extent: Extent, with: &Compare) -> Truth {
    match with {
        Compare::Not(inner) => compare_value(extent, inner).not(),
        Compare::Numbers { low, high } => match extent.ends() {
            Some(ends) => within(ends, low.as_ref(), high.as_ref()),
            None => place_within(extent.word_set(), low.as_ref(), high.as_ref()),
        },
        Compare::NumberIsOneOf(bounds) => {
            let Some((low, high)) = extent.ends() else { return Truth::Open };
            let hit = bounds
                .iter()
                .any(|bound| bound.at.is_reached_by(high, true) && bound.at.is_kept_by(low, true));
            if !hit {
                Truth::No
            } else if low == high {
                Truth::Yes
            } else {
                Truth::Open
            }
        }
        Compare::Words(wanted) => {
            let set = extent.word_set();
            if set & wanted == 0 {
                Truth::No
            } else if set & !wanted == 0 {
                Truth::Yes
            } else {
                Truth::Open
            }
        }
        Compare::Texts(texts) => match extent.can_be {
            Possible::Text(text) => Truth::of(texts.contains(&text)),
            Possible::AnyText | Possible::Nothing | Possible::Numbers(..) | Possible::Words(_) => Truth::Open,
        },
        Compare::DaysOfYear(from, to) => days_of_year(extent, *from, *to),
        Compare::Name(..) => Truth::Open,
    }
}

/// Compares the numbers between two ends with two bounds; bounds in reverse go over midnight.
fn within((from, to): (f64, f64), low: Option<&Bound>, high: Option<&Bound>) -> Truth {
    if let (Some(low_bound), Some(high_bound)) = (low, high)
        && low_bound.value() > high_bound.value()
    {
        return within((from, to), low, None).max(within((from, to), None, high));
    }
    let reaches = |value: f64| low.is_none_or(|bound| bound.at.is_reached_by(value, bound.closed));
    let keeps = |value: f64| high.is_none_or(|bound| bound.at.is_kept_by(value, bound.closed));
    if !reaches(to) || !keeps(from) {
        Truth::No
    } else if reaches(from) && keeps(to) {
        Truth::Yes
    } else {
        Truth::Open
    }
}

/// Compares the places of ordered words with two bounds.
fn place_within(set: u64, low: Option<&Bound>, high: Option<&Bound>) -> Truth {
    let places = (0..64).filter(|place| set & (1 << place) != 0).map(f64::from);
    let mut truths = places.map(|place| within((place, place), low, high));
    let Some(first) = truths.next() else { return Truth::Open };
    if truths.all(|truth| truth == first) { first } else { Truth::Open }
}

fn days_of_year(extent: Extent, from: (u8, u8), to: (u8, u8)) -> Truth {
    let Some((first, last)) = extent.ends() else { return Truth::Open };
    if !(last - first).is_finite() || last - first >= 366.0 {
        return Truth::Open;
    }
    let holds = |day: i64| {
        let date = i32::try_from(day).ok().and_then(NaiveDate::from_num_days_from_ce_opt)?;
        let day = (date.month() as u8, date.day() as u8);
        Some(if from <= to { from <= day && day <= to } else { day >= from || day <= to })
    };
    let mut days = (first.floor() as i64..=last.floor() as i64).map(holds);
    let Some(Some(one)) = days.next() else { return Truth::Open };
    if days.all(|other| other == Some(one)) { Truth::of(one) } else { Truth::Open }
}

/// Returns how a name's values stand to another's, which are thresholds in the name's own unit.
pub fn against(order: Order, name: &Name, left: Extent, right: Extent) -> Truth {
    let place = |extent: Extent| match extent.word_set() {
        0 => extent.ends(),
        set => Some((f64::from(set.trailing_zeros()), f64::from(63 - set.leading_zeros()))),
    };
    let (Some((least, most)), Some((low, high))) = (place(left), place(right)) else { return Truth::Open };
    let (low, high) = (name.threshold(low), name.threshold(high));
    let truth = |surely: bool, perhaps: bool| match (surely, perhaps) {
        (true, _) => Truth::Yes,
        (false, true) => Truth::Open,
        (false, false) => Truth::No,
    };
    let above = truth(high.is_reached_by(least, false), low.is_reached_by(most, false));
    let below = truth(low.is_kept_by(most, false), high.is_kept_by(least, false));
    let is_one = least == most && low == high;
    let same = truth(is_one && low.is_on(least), above != Truth::Yes && below != Truth::Yes && !is_one);
    match order {
        Order::Above => above,
        Order::Below => below,
        Order::AtLeast => below.not(),
        Order::AtMost => above.not(),
        Order::Is => same,
        Order::IsNot => same.not(),
    }
}
