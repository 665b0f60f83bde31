//! Comparisons of what a value can be with what an author wrote, in three values.

use super::{Extent, Possible, Truth};
use crate::plan::{Bound, Compare};
use crate::units::tolerance;
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
            let hit = bounds.iter().any(|bound| {
                let slack = slack(bound);
                bound.value >= low - slack && bound.value <= high + slack
            });
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
        && low_bound.value > high_bound.value
    {
        return within((from, to), low, None).max(within((from, to), None, high));
    }
    let reaches = |value: f64| low.is_none_or(|bound| at_least(value, bound));
    let keeps = |value: f64| high.is_none_or(|bound| at_most(value, bound));
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

/// Returns whether a number reaches a lower bound.
fn at_least(value: f64, bound: &Bound) -> bool {
    let slack = slack(bound);
    if bound.closed { value >= bound.value - slack } else { value > bound.value + slack }
}

/// Returns whether a number keeps to an upper bound.
fn at_most(value: f64, bound: &Bound) -> bool {
    let slack = slack(bound);
    if bound.closed { value <= bound.value + slack } else { value < bound.value - slack }
}

/// Returns how far a number may lie from a threshold and still be on it, taken in the unit of the author.
fn slack(bound: &Bound) -> f64 {
    let factor = if bound.unit.factor > 0.0 { bound.unit.factor } else { 1.0 };
    let slack = tolerance(bound.value / factor) * factor;
    if slack.is_finite() { slack } else { 0.0 }
}

/// Returns how one name's values stand to another's.
pub fn against(order: crate::plan::Order, left: Extent, right: Extent) -> Truth {
    use crate::plan::Order;
    let place = |extent: Extent| match extent.word_set() {
        0 => extent.ends(),
        set => Some((f64::from(set.trailing_zeros()), f64::from(63 - set.leading_zeros()))),
    };
    let (Some(a), Some(b)) = (place(left), place(right)) else { return Truth::Open };
    // Where a value has no end on one side, the other end says how near is near.
    let over = |high: f64, low: f64| {
        let size = [high, low].into_iter().filter(|end| end.is_finite()).map(f64::abs).fold(0.0, f64::max);
        high > low + crate::units::tolerance(size)
    };
    let above = |a: (f64, f64), b: (f64, f64)| {
        if over(a.0, b.1) {
            Truth::Yes
        } else if over(a.1, b.0) {
            Truth::Open
        } else {
            Truth::No
        }
    };
    let same = if a.0 == a.1 && b.0 == b.1 {
        Truth::of(!over(a.0, b.0) && !over(b.0, a.0))
    } else if over(b.0, a.1) || over(a.0, b.1) {
        Truth::No
    } else {
        Truth::Open
    };
    match order {
        Order::Above => above(a, b),
        Order::Below => above(b, a),
        Order::AtLeast => above(b, a).not(),
        Order::AtMost => above(a, b).not(),
        Order::Is => same,
        Order::IsNot => same.not(),
    }
}
