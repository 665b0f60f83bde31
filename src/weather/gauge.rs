//! The grower's own rain gauge.

use super::{Column, Weather};
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Span};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Puts the gauge's total in place of that of its day, spread over the hours as the record spreads its own.
///
/// Where the record has no rain that day, the total lies evenly on the hours without a record, and on all hours
/// where there are none; hours without a record get none where the record has rain. Of today only the hours
/// before the one under way take part. A day that the record does not cover keeps what it has, and is reported. Goes out:
/// the days that the gauge told.
pub(super) fn apply_gauge(
    weather: &mut Weather,
    gauge: &BTreeMap<NaiveDate, f64>,
    as_of: DateTime<Utc>,
    source: SourceId,
    problems: &mut Problems,
) -> BTreeSet<NaiveDate> {
    let mut told = BTreeSet::new();
    let under_way = weather.grid.hour_of(as_of);
    for (date, total) in gauge {
        let (from, to) = weather.grid.day(*date, 0);
        let to = to.min(under_way);
        if from >= to || from < weather.first || to > weather.end() {
            let message = format!(
                "the rain of the gauge on {date} is left out: the hourly weather does not cover that day"
            );
            problems.push(Problem::new(Finding::InputNote, Span::new(source, 0, 0), message));
            continue;
        }
        let record: Vec<Option<f64>> = (from..to).map(|hour| weather.hour_rain(hour)).collect();
        for (hour, rain) in (from..to).zip(spread(&record, *total)) {
            weather.set_hour_rain(hour, rain);
        }
        told.insert(*date);
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
