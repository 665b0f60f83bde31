//! Readings put into their hours: an instant stands for the hour whose begin is nearest, a sum for the hours it was taken over.

use super::hour_values::{HourBounds, HourSlots};
use crate::weather::{Column, HourGrid};
use chrono::{DateTime, Duration, Utc};
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

/// An amount that fell in a stretch of time.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct FellOver {
    pub(super) from: DateTime<Utc>,
    pub(super) to: DateTime<Utc>,
    pub(super) amount: HourBounds,
}

/// The hours of a file as they come together.
pub(super) struct Timeline {
    pub(super) grid: HourGrid,
    pub(super) hours: BTreeMap<i64, HourSlots>,
    /// How far the instant that stands for an hour lies from its begin, in seconds.
    distance: FxHashMap<(i64, usize), u64>,
    /// How many values contradicted one another, and count as missing.
    pub(super) contradicted: usize,
}

impl Timeline {
    pub(super) fn new(grid: HourGrid) -> Self {
        Self { grid, hours: BTreeMap::new(), distance: FxHashMap::default(), contradicted: 0 }
    }

    /// Returns the hour whose begin is nearest to a moment.
    pub(super) fn nearest(&self, at: DateTime<Utc>) -> i64 {
        self.grid.hour_of(at + Duration::minutes(30))
    }

    /// Takes an instant; of several for one hour the nearest counts.
    pub(super) fn instant(&mut self, column: Column, at: DateTime<Utc>, value: HourBounds) {
        let hour = self.nearest(at);
        let off = (at - self.grid.start(hour)).num_seconds().unsigned_abs();
        let slots = self.hours.entry(hour).or_default();
        match self.distance.get(&(hour, column as usize)) {
            Some(before) if *before < off => {}
            Some(before) if *before == off => {
                if slots.get(column).is_some_and(|other| other != value) {
                    slots.set(column, None);
                    self.contradicted += 1;
                }
            }
            Some(_) | None => {
                self.distance.insert((hour, column as usize), off);
                slots.set(column, Some(value));
            }
        }
    }

    /// Takes a value that holds in every hour of a stretch of time.
    pub(super) fn holds(
        &mut self,
        column: Column,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
        value: HourBounds,
    ) {
        for hour in self.grid.hour_from(from)..self.grid.hour_from(to) {
            self.hours.entry(hour).or_default().set(column, Some(value));
        }
    }

    /// Takes a sum or a highest value of the hour before a stamp, which need not lie on the full hour.
    pub(super) fn hour_before(&mut self, column: Column, at: DateTime<Utc>, value: HourBounds) {
        let hour = self.nearest(at) - 1;
        self.hours.entry(hour).or_default().set(column, Some(value));
    }

    /// Takes amounts that fell in stretches of time: whole hours get what fell in them, others what can have fallen.
    pub(super) fn fell(&mut self, column: Column, stretches: &[FellOver]) {
        for (hour, amount) in amounts(self.grid, stretches) {
            self.hours.entry(hour).or_default().set(column, Some(amount));
        }
    }

    /// Makes sure that an hour is there, though nothing may be known of it.
    pub(super) fn touch(&mut self, hour: i64) {
        self.hours.entry(hour).or_default();
    }
}

/// Returns what fell in each hour that the stretches touch. A stretch over several hours bounds each of them; an hour that
/// is not wholly covered got at least what was told of it.
fn amounts(grid: HourGrid, stretches: &[FellOver]) -> BTreeMap<i64, HourBounds> {
    let mut hours: BTreeMap<i64, (HourBounds, i64)> = BTreeMap::new();
    for stretch in stretches {
        let last = grid.hour_of(stretch.to - Duration::seconds(1));
        for hour in grid.hour_of(stretch.from)..=last {
            let (start, end) = (grid.start(hour), grid.start(hour + 1));
            let covered = (stretch.to.min(end) - stretch.from.max(start)).num_seconds();
            let inside = stretch.from >= start && stretch.to <= end;
            let least = if inside { stretch.amount.from } else { 0.0 };
            let part = HourBounds { from: least, to: stretch.amount.to };
            let (sum, seconds) = hours.entry(hour).or_insert((HourBounds::is(0.0), 0));
            *sum = sum.plus(part);
            *seconds += covered;
        }
    }
    let open = |(sum, seconds): (HourBounds, i64)| {
        if seconds < 3600 { HourBounds::at_least(sum.from) } else { sum }
    };
    hours.into_iter().map(|(hour, told)| (hour, open(told))).collect()
}
