//! Columns of hours with running sums, so that a count or a total costs the same whatever the window's length.

use super::Truth;
use super::aggregate_statistic::{PARTS, parts};
use super::series::{Holds, Reach, Taken};

/// How much of a stretch of hours is what.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct Counts {
    pub(super) yes: i64,
    pub(super) maybe: i64,
    pub(super) missing: i64,
    pub(super) beyond: i64,
    pub(super) forecast: i64,
}

impl Counts {
    pub(super) fn plus(self, other: Self) -> Self {
        self.combine(other, |a, b| a + b)
    }

    fn minus(self, other: Self) -> Self {
        self.combine(other, |a, b| a - b)
    }

    fn combine(self, other: Self, with: fn(i64, i64) -> i64) -> Self {
        Self {
            yes: with(self.yes, other.yes),
            maybe: with(self.maybe, other.maybe),
            missing: with(self.missing, other.missing),
            beyond: with(self.beyond, other.beyond),
            forecast: with(self.forecast, other.forecast),
        }
    }
}

/// A condition hour by hour.
#[derive(Debug)]
pub(super) struct TruthColumn {
    first: i64,
    hours: Vec<Holds>,
    running: Vec<Counts>,
}

impl TruthColumn {
    pub(super) fn new(first: i64, hours: Vec<Holds>) -> Self {
        let counts = hours.iter().map(|holds| Counts {
            yes: i64::from(holds.truth == Truth::Yes),
            maybe: i64::from(holds.truth == Truth::Open),
            missing: i64::from(holds.reach == Reach::Missing),
            beyond: i64::from(holds.reach == Reach::Beyond),
            forecast: i64::from(holds.forecast),
        });
        let running = running(counts, Counts::plus);
        Self { first, hours, running }
    }

    /// Returns an hour; one outside the column is beyond the weather.
    pub(super) fn at(&self, hour: i64) -> Holds {
        let place = usize::try_from(hour - self.first).ok();
        place.and_then(|place| self.hours.get(place).copied()).unwrap_or(Holds {
            truth: Truth::Open,
            reach: Reach::Beyond,
            forecast: false,
        })
    }

    /// Returns the counts of a stretch.
    pub(super) fn counts(&self, from: i64, to: i64) -> Counts {
        let (inside_from, inside_to) = inside(self.first, self.hours.len(), from, to);
        let outside = (to - from) - (inside_to - inside_from) as i64;
        let sum = |at: usize| self.running.get(at).copied().unwrap_or_default();
        let counts = sum(inside_to).minus(sum(inside_from));
        counts.plus(Counts { maybe: outside, beyond: outside, ..Counts::default() })
    }
}

/// What is needed of the values of a stretch to take a mean or a total.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct Totals {
    /// The sums of the low and the high ends of all values that are there, in whole parts.
    pub(super) low: i128,
    pub(super) high: i128,
    /// How many values are there.
    pub(super) there: i64,
    /// How many may be there or not, or have no end: these need a closer look.
    pub(super) odd: i64,
    pub(super) missing: i64,
    pub(super) beyond: i64,
    pub(super) forecast: i64,
}

impl Totals {
    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            high: self.high + other.high,
            there: self.there + other.there,
            odd: self.odd + other.odd,
            missing: self.missing + other.missing,
            beyond: self.beyond + other.beyond,
            forecast: self.forecast + other.forecast,
        }
    }

    fn minus(self, other: Self) -> Self {
        Self {
            low: self.low - other.low,
            high: self.high - other.high,
            there: self.there - other.there,
            odd: self.odd - other.odd,
            missing: self.missing - other.missing,
            beyond: self.beyond - other.beyond,
            forecast: self.forecast - other.forecast,
        }
    }

    /// Returns a sum in base units, divided by a count.
    pub(super) fn over(sum: i128, count: f64) -> f64 {
        sum as f64 / (PARTS * count)
    }
}

/// Values hour by hour.
#[derive(Debug)]
pub(super) struct ValueColumn {
    first: i64,
    hours: Vec<Taken>,
    running: Vec<Totals>,
    /// Hours of which only the sum is known: each lies between nothing and all of it.
    together: Vec<(i64, i64, i128)>,
}

impl ValueColumn {
    pub(super) fn new(first: i64, hours: Vec<Taken>) -> Self {
        let totals = hours.iter().map(|taken| {
            let ends = taken.extent.ends().and_then(|(low, high)| Some((parts(low)?, parts(high)?)));
            let mut totals = Totals { forecast: i64::from(taken.forecast), ..Totals::default() };
            match (taken.reach, ends) {
                (Reach::Missing, _) => totals.missing = 1,
                (Reach::Beyond, _) => totals.beyond = 1,
                (Reach::Sound, Some((low, high))) if !taken.extent.may_be_empty => {
                    (totals.low, totals.high, totals.there) = (low, high, 1);
                }
                (Reach::Sound, _) => totals.odd = 1,
            }
            totals
        });
        let running = running(totals, Totals::plus);
        Self { first, hours, running, together: Vec::new() }
    }

    /// The same with hours of which only the sum is known.
    pub(super) fn with_sums(self, sums: impl Iterator<Item = (i64, i64, f64)>) -> Self {
        let together = sums.filter_map(|(from, to, sum)| Some((from, to, parts(sum)?))).collect();
        Self { together, ..self }
    }

    /// Returns an hour; nothing outside the column.
    pub(super) fn at(&self, hour: i64) -> Option<Taken> {
        usize::try_from(hour - self.first).ok().and_then(|place| self.hours.get(place).copied())
    }

    /// Returns the totals of a stretch.
    pub(super) fn totals(&self, from: i64, to: i64) -> Totals {
        let (inside_from, inside_to) = inside(self.first, self.hours.len(), from, to);
        let outside = (to - from) - (inside_to - inside_from) as i64;
        let sum = |at: usize| self.running.get(at).copied().unwrap_or_default();
        let mut totals =
            sum(inside_to).minus(sum(inside_from)).plus(Totals { beyond: outside, ..Totals::default() });
        for (first, end, sum) in &self.together {
            let hours = end.min(&to) - first.max(&from);
            if hours > 0 {
                // Whatever part of them is asked for, no more than the sum fell; in all of them no less.
                totals.high -= sum * i128::from(hours - 1);
                totals.low += if hours == end - first { *sum } else { 0 };
            }
        }
        totals
    }
}

fn running<T: Copy + Default>(items: impl Iterator<Item = T>, plus: fn(T, T) -> T) -> Vec<T> {
    let mut sum = T::default();
    let mut running = vec![sum];
    for item in items {
        sum = plus(sum, item);
        running.push(sum);
    }
    running
}

/// Returns the places of a stretch inside a column.
fn inside(first: i64, length: usize, from: i64, to: i64) -> (usize, usize) {
    let place = |hour: i64| usize::try_from(hour.saturating_sub(first)).unwrap_or(0).min(length);
    let from = place(from);
    (from, place(to).max(from))
}
