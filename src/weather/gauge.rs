//! The grower's own rain gauge.

use super::{Column, Weather};
use crate::phrase::{Phrase, said};
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Span};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;
use std::ops::Range;

/// What the gauge showed of a day.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct GaugeReading {
    /// In millimetres.
    pub total: f64,
    /// From when on it fell; nothing: from midnight.
    pub from: Option<DateTime<Utc>>,
    /// When it was read; nothing where it speaks of the whole day.
    pub read: Option<DateTime<Utc>>,
}

/// Puts the gauge's total in place of that of the hours that it covers, spread over them as the record spreads its own.
///
/// It covers the hours of its day, or those from which on it fell, before the one in which it was read. Where the record has no rain in them, the total lies
/// evenly on the hours without a record, and on all hours where there are none; hours without a record get none where the
/// record has rain. A reading without a time of day of a day that is not over may be hours old: it counts only where it is
/// more than the record has. What is left out is reported. Goes out: the hours that the gauge told.
pub(super) fn apply_gauge(
    weather: &mut Weather,
    gauge: &BTreeMap<NaiveDate, GaugeReading>,
    as_of: DateTime<Utc>,
    source: SourceId,
    problems: &mut Problems,
) -> Vec<Range<i64>> {
    let mut told = Vec::new();
    let under_way = weather.grid.hour_of(as_of);
    for (date, reading) in gauge {
        let (midnight, end) = weather.grid.day(*date, 0);
        let from = reading.from.map_or(midnight, |from| weather.grid.hour_from(from));
        let read = reading.read.map_or(end, |read| weather.grid.hour_of(read));
        let to = end.min(under_way).min(read);
        let record: Vec<Option<f64>> = (from..to).map(|hour| weather.hour_rain(hour)).collect();
        let known: f64 = record.iter().flatten().sum();
        let why = if from >= end.min(under_way) || from < weather.first || to > weather.end() {
            Some("the hourly weather does not cover that day")
        } else if from >= to {
            Some("it was read before an hour of that day was over")
        } else if reading.read.is_none() && under_way < end && reading.total <= known {
            Some("that day is not over, and the row does not say at what time it was read")
        } else {
            None
        };
        if let Some(why) = why {
            let message =
                said!("the rain of the gauge on {date} is left out: {why}", date, why = Phrase::from(why));
            problems.push(Problem::new(Finding::InputNote, Span::new(source, 0, 0), message));
            continue;
        }
        for (hour, rain) in (from..to).zip(spread(&record, reading.total)) {
            weather.set_hour_rain(hour, rain);
        }
        told.push(from..to);
    }
    told
}

impl Weather {
    fn hour_rain(&self, hour: i64) -> Option<f64> {
        let place = usize::try_from(hour - self.first).ok()?;
        self.hours.get(place)?.get(Column::Rain)
    }

    fn set_hour_rain(&mut self, hour: i64, rain: f64) {
        if let Some(values) = usize::try_from(hour - self.first).ok().and_then(|at| self.hours.get_mut(at)) {
            values.set(Column::Rain, Some(rain));
        }
    }
}

/// A millimetre of rain in the whole units in which a total is shared out without a remainder.
const PARTS: f64 = 1e9;

/// Shares a total out over the hours of a day, so that they add up to it exactly.
fn spread(record: &[Option<f64>], total: f64) -> Vec<f64> {
    let total = (total.max(0.0) * PARTS).round() as i128;
    let rain: Vec<i128> = record.iter().map(|rain| (rain.unwrap_or(0.0) * PARTS).round() as i128).collect();
    let missing = record.iter().any(Option::is_none);
    let weights: Vec<i128> = if rain.iter().any(|rain| *rain > 0) {
        rain
    } else if missing {
        record.iter().map(|rain| i128::from(rain.is_none())).collect()
    } else {
        vec![1; record.len()]
    };
    let whole: i128 = weights.iter().sum::<i128>().max(1);
    let mut parts: Vec<i128> = weights.iter().map(|weight| total * weight / whole).collect();
    let rest = total - parts.iter().sum::<i128>();
    let most = weights.iter().enumerate().max_by_key(|(place, weight)| (**weight, std::cmp::Reverse(*place)));
    if let Some(part) = most.and_then(|(place, _)| parts.get_mut(place)) {
        *part += rest;
    }
    parts.into_iter().map(|part| part as f64 / PARTS).collect()
}
