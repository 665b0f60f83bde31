//! Whether something holds, where not everything is known.

use super::{Extent, Possible};
use crate::plan::Compare;
use crate::units::tolerance;
use chrono::Datelike;

/// Whether something holds, as far as is known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Truth {
    /// It does not hold.
    No,
    /// It holds in some of the possible states of the world.
    Open,
    /// It holds.
    Yes,
}

impl Truth {
    /// Returns the truth of a fact.
    pub fn of(holds: bool) -> Self {
        if holds { Truth::Yes } else { Truth::No }
    }

    /// Returns the truth of the opposite.
    pub fn not(self) -> Self {
        match self {
            Truth::No => Truth::Yes,
            Truth::Open => Truth::Open,
            Truth::Yes => Truth::No,
        }
    }

    /// Returns what is true of a yes-no value; an empty one does not hold.
    pub fn of_extent(extent: Extent) -> Self {
        compare(&Compare::Words(0b10), extent)
    }

    /// Returns the yes-no value of this truth.
    pub fn extent(self) -> Extent {
        match self {
            Truth::No => Extent::NO,
            Truth::Open => Extent::YES_OR_NO,
            Truth::Yes => Extent::YES,
        }
    }

    /// Returns whether all hold.
    pub fn all(truths: impl IntoIterator<Item = Truth>) -> Self {
        truths.into_iter().min().unwrap_or(Truth::Yes)
    }

    /// Returns whether any holds.
    pub fn any(truths: impl IntoIterator<Item = Truth>) -> Self {
        truths.into_iter().max().unwrap_or(Truth::No)
    }

    /// Returns the truth in two states of the world.
    pub fn either(self, other: Self) -> Self {
        if self == other { self } else { Truth::Open }
    }
}

/// Returns whether a comparison holds of every, some or no value of an extent; of an empty one it never does.
pub fn compare(compare: &Compare, extent: Extent) -> Truth {
    let of_values = match extent.can_be {
        Possible::Nothing => return Truth::No,
        Possible::Numbers(low, high) => of_numbers(compare, low, high),
        Possible::Words(set) => of_words(compare, set),
        Possible::Text(text) => of_text(compare, Some(text)),
        Possible::AnyText => of_text(compare, None),
    };
    if extent.may_be_empty { of_values.either(Truth::No) } else { of_values }
}

fn of_numbers(compare: &Compare, low: f64, high: f64) -> Truth {
    match compare {
        Compare::Numbers { low: from, high: to } => {
            let from = from.as_ref().map_or(Truth::Yes, |bound| beyond(low, high, bound.value, bound.closed));
            // Turned round, "at most" is "at least".
            let to = to.as_ref().map_or(Truth::Yes, |bound| beyond(-high, -low, -bound.value, bound.closed));
            from.min(to)
        }
        Compare::NumberIsOneOf(bounds) => {
            Truth::any(bounds.iter().map(|bound| {
                beyond(low, high, bound.value, true).min(beyond(-high, -low, -bound.value, true))
            }))
        }
        Compare::DaysOfYear(from, to) => {
            if low == high {
                return Truth::of(in_days(low, *from, *to));
            }
            if !(low.is_finite() && high.is_finite()) || high - low > 800.0 {
                return Truth::Open;
            }
            let days = (low as i32..=high as i32).map(|day| Truth::of(in_days(f64::from(day), *from, *to)));
            days.reduce(Truth::either).unwrap_or(Truth::Open)
        }
        Compare::Not(inner) => of_numbers(inner, low, high).not(),
        Compare::Words(_) | Compare::Texts(_) | Compare::Name(..) => Truth::Open,
    }
}

/// Returns whether numbers between two ends lie at or above a threshold.
fn beyond(low: f64, high: f64, threshold: f64, closed: bool) -> Truth {
    let near = tolerance(threshold);
    let edge = if closed { threshold - near } else { threshold + near };
    let past = |number: f64| if closed { number >= edge } else { number > edge };
    if past(low) {
        Truth::Yes
    } else if past(high) {
        Truth::Open
    } else {
        Truth::No
    }
}

/// Returns whether a day lies in a part of the year, which may run over the new year.
fn in_days(day: f64, from: (u8, u8), to: (u8, u8)) -> bool {
    let date = chrono::NaiveDate::from_num_days_from_ce_opt(day as i32);
    let Some(day) = date.map(|date| (date.month() as u8, date.day() as u8)) else { return false };
    if from <= to { from <= day && day <= to } else { day >= from || day <= to }
}

fn of_words(compare: &Compare, set: u64) -> Truth {
    match compare {
        Compare::Words(asked) if set & !asked == 0 => Truth::Yes,
        Compare::Words(asked) if set & asked == 0 => Truth::No,
        Compare::Not(inner) => of_words(inner, set).not(),
        Compare::Words(_)
        | Compare::Numbers { .. }
        | Compare::NumberIsOneOf(_)
        | Compare::Texts(_)
        | Compare::DaysOfYear(..)
        | Compare::Name(..) => Truth::Open,
    }
}

fn of_text(compare: &Compare, text: Option<crate::plan::TextId>) -> Truth {
    match (compare, text) {
        (Compare::Texts(asked), Some(text)) => Truth::of(asked.contains(&text)),
        (Compare::Not(inner), text) => of_text(inner, text).not(),
        (
            Compare::Texts(_)
            | Compare::Words(_)
            | Compare::Numbers { .. }
            | Compare::NumberIsOneOf(_)
            | Compare::DaysOfYear(..)
            | Compare::Name(..),
            _,
        ) => Truth::Open,
    }
}
