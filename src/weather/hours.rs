//! The dense timeline: every hour of a file, measured, forecast or missing.

use super::HourGrid;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;
use std::ops::Range;

/// What a weather file may give for each hour.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Column {
    /// Air temperature, °C.
    Temperature,
    /// Relative humidity, a share of 1.
    Humidity,
    /// Dew point, °C.
    DewPoint,
    /// Rain of the hour, mm.
    Rain,
    /// Mean wind, mm/h.
    Wind,
    /// Gust, mm/h.
    Gust,
    /// Share of the hour with wet leaves.
    LeafWet,
}

impl Column {
    /// All columns with their words.
    pub const ALL: [(Column, &'static str); 7] = [
        (Column::Temperature, "temperature"),
        (Column::Humidity, "humidity"),
        (Column::DewPoint, "dew-point"),
        (Column::Rain, "rain"),
        (Column::Wind, "wind"),
        (Column::Gust, "gust"),
        (Column::LeafWet, "leaf-wet"),
    ];

    /// Returns the word for this column.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(column, _)| *column == self).map_or("", |(_, word)| word)
    }
}

/// The values of one hour; what is no number is missing. Readings are numbers, and many years of hours must fit.
#[derive(Clone, Copy, Debug)]
pub(super) struct HourValues([f64; Column::ALL.len()]);

impl Default for HourValues {
    fn default() -> Self {
        Self([f64::NAN; Column::ALL.len()])
    }
}

impl PartialEq for HourValues {
    fn eq(&self, other: &Self) -> bool {
        Column::ALL.iter().all(|(column, _)| self.get(*column) == other.get(*column))
    }
}

impl HourValues {
    pub(super) fn get(&self, column: Column) -> Option<f64> {
        self.0.get(column as usize).copied().filter(|value| !value.is_nan())
    }

    pub(super) fn set(&mut self, column: Column, value: Option<f64>) {
        if let Some(place) = self.0.get_mut(column as usize) {
            *place = value.unwrap_or(f64::NAN);
        }
    }
}

/// Hourly weather: consecutive hours, each value there or missing.
#[derive(Clone, PartialEq, Debug)]
pub struct Weather {
    pub(super) grid: HourGrid,
    pub(super) first: i64,
    pub(super) hours: Vec<HourValues>,
    /// Between what a value of an hour lies that is not one number, in base units.
    pub(super) between: BTreeMap<(i64, Column), (f64, f64)>,
    /// Hours of which the rain is known together, the first and the one after the last.
    pub(super) together: Vec<(i64, i64)>,
    pub(super) forecast_from: Option<i64>,
    pub(super) unknown_from: Option<i64>,
    pub(super) issued: Option<DateTime<Utc>>,
    /// The hours that a forecast gave and that have passed since, the first one and the one after the last.
    pub(super) passed: Option<(i64, i64)>,
}

impl Weather {
    /// Returns the grid of its hours.
    pub fn grid(&self) -> HourGrid {
        self.grid
    }

    /// Returns its first hour.
    pub fn first(&self) -> i64 {
        self.first
    }

    /// Returns the hour after its last one.
    pub fn end(&self) -> i64 {
        self.first + self.hours.len() as i64
    }

    /// Returns whether it reaches an hour: it lies in the file, and not in a forecast that is too old.
    pub fn reaches(&self, hour: i64) -> bool {
        hour >= self.first && hour < self.end() && self.unknown_from.is_none_or(|from| hour < from)
    }

    /// Returns a value of an hour in base units.
    pub fn value(&self, column: Column, hour: i64) -> Option<f64> {
        let place = usize::try_from(hour - self.first).ok()?;
        self.hours.get(place).filter(|_| self.reaches(hour)).and_then(|values| values.get(column))
    }

    /// Returns between what a value of an hour lies, in base units, where it is not one number.
    pub fn ends(&self, column: Column, hour: i64) -> Option<(f64, f64)> {
        let known = self.value(column, hour).is_some() || !self.reaches(hour);
        self.between.get(&(hour, column)).copied().filter(|_| !known)
    }

    /// Returns the hours of which the rain is known together only, the first and the one after the last, with their total in
    /// base units: as long as nothing else is known of any of them.
    pub fn rain_together(&self) -> impl Iterator<Item = (i64, i64, f64)> {
        self.together.iter().filter_map(|(from, to)| {
            let (_, total) = self.ends(Column::Rain, *from)?;
            let is_part = |hour: i64| self.ends(Column::Rain, hour) == Some((0.0, total));
            (*from..*to).all(is_part).then_some((*from, *to, total))
        })
    }

    fn is_told(&self, hour: i64) -> bool {
        Column::ALL.iter().any(|(column, _)| self.between.contains_key(&(hour, *column)))
    }

    /// Returns whether an hour is known from a forecast only; one that has passed is not.
    pub fn is_forecast(&self, hour: i64) -> bool {
        self.forecast_from.is_some_and(|from| hour >= from)
    }

    /// Returns when the forecast was issued.
    pub fn forecast_issued(&self) -> Option<DateTime<Utc>> {
        self.issued
    }

    /// Returns whether the forecast was too old to be used at the moment of the advice.
    pub fn forecast_is_stale(&self) -> bool {
        self.unknown_from.is_some()
    }

    /// Returns the end of the last hour that was measured.
    pub fn measured_to(&self) -> Option<DateTime<Utc>> {
        let measured = self.hours.iter().enumerate().rev().find(|(place, values)| {
            let hour = self.first + *place as i64;
            let is_there = **values != HourValues::default() || self.is_told(hour);
            !self.is_forecast(hour) && !self.has_passed(hour) && is_there
        });
        measured.map(|(place, _)| self.grid.start(self.first + place as i64 + 1))
    }

    /// Returns whether a forecast gave an hour that has passed since, so that nothing of it is known but the gauge's rain.
    fn has_passed(&self, hour: i64) -> bool {
        self.passed.is_some_and(|(from, to)| from <= hour && hour < to)
    }

    /// Returns the days whose rain only the grower's gauge can tell: a forecast gave hours of them that have passed, and the
    /// gauge was not read.
    pub fn days_for_the_gauge(&self) -> Vec<NaiveDate> {
        let (from, to) = self.passed.unwrap_or_default();
        let dry = (from..to).filter(|hour| self.value(Column::Rain, *hour).is_none());
        let mut days: Vec<NaiveDate> = dry.map(|hour| self.grid.date_of(hour, 0)).collect();
        days.dedup();
        days
    }

    /// Forgets what a forecast gave of hours that have passed since; of hours that the gauge told, their rain stays.
    pub(super) fn forget_passed(&mut self, told: &[Range<i64>]) {
        let (from, to) = self.passed.unwrap_or_default();
        self.between.retain(|(hour, _), _| *hour < from || *hour >= to);
        for hour in from..to {
            let is_told = told.iter().any(|hours| hours.contains(&hour));
            let rain = self.value(Column::Rain, hour).filter(|_| is_told);
            if let Some(values) =
                usize::try_from(hour - self.first).ok().and_then(|at| self.hours.get_mut(at))
            {
                *values = HourValues::default();
                values.set(Column::Rain, rain);
            }
        }
    }

    /// Returns how many of its hours have no value at all.
    pub fn hours_missing(&self) -> usize {
        let missing = |(place, values): &(usize, &HourValues)| {
            **values == HourValues::default() && !self.is_told(self.first + *place as i64)
        };
        self.hours.iter().enumerate().filter(missing).count()
    }

    /// Returns the weather as it was known at an earlier moment: without the hour under way then and all later
    /// ones.
    pub fn until(&self, at: DateTime<Utc>) -> Self {
        let mut earlier = self.clone();
        let keep = usize::try_from(self.grid.hour_of(at) - self.first).unwrap_or(0);
        earlier.hours.truncate(keep);
        earlier
    }

    /// Returns the weather with all hours from a moment on counted as a forecast issued then.
    pub fn forecast_from(&self, at: DateTime<Utc>) -> Self {
        let from = self.grid.hour_of(at);
        let forecast_from = Some(self.forecast_from.map_or(from, |earlier| earlier.min(from)));
        Self { forecast_from, unknown_from: None, issued: Some(at), ..self.clone() }
    }
}
