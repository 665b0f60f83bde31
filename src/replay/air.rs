//! The air of a day as it was measured: what the pictures of a season are drawn from.

use crate::measure::{Extent, WeatherMeasures};
use crate::plan::{Condition, HourlyId, Plan, Series, Subject, Yields};
use crate::weather::{Column, Weather};
use chrono::NaiveDate;

/// The air of a day from midnight to midnight, of its measured hours.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct DayAir {
    /// The lowest and the highest temperature, °C.
    pub temperature: Option<(f64, f64)>,
    /// The mean humidity, a share of 1.
    pub humidity: Option<f64>,
    /// The rain, mm; nothing where no hour of it is known.
    pub rain: Option<f64>,
    /// In how many hours what the rulebook counts as wet holds for certain; nothing where it has no such thing.
    pub wet_hours: Option<u32>,
    /// How many hours have a temperature, and how many the day has.
    pub hours: (u32, u32),
}

/// Returns the first `hourly` of a rulebook that tells wet hours: a condition on rain and on humidity or wet leaves.
pub fn wet_hours_of(plan: &Plan) -> Option<HourlyId> {
    let place = plan.hourlies.iter().position(|hourly| match &hourly.yields {
        Yields::Condition(condition) => {
            let speaks = |series: &[Series]| speaks_of(condition, series);
            speaks(&[Series::Rain]) && speaks(&[Series::Humidity, Series::LeafWet])
        }
        Yields::Value(_) => false,
    });
    place.and_then(|place| u32::try_from(place).ok()).map(HourlyId)
}

fn speaks_of(condition: &Condition, series: &[Series]) -> bool {
    let mut speaks = false;
    condition.each_test(&mut |test| {
        speaks |= matches!(test.subject, Subject::Series(of) if series.contains(&of));
    });
    speaks
}

impl DayAir {
    /// Takes the air of a day from the hours that were measured.
    pub fn of(
        weather: &Weather,
        measures: &WeatherMeasures<'_>,
        wet: Option<HourlyId>,
        date: NaiveDate,
    ) -> Self {
        let (from, to) = weather.grid().day(date, 0);
        let measured = || (from..to).filter(|hour| weather.reaches(*hour) && !weather.is_forecast(*hour));
        let values = |column: Column| measured().filter_map(move |hour| weather.value(column, hour));
        let ends = values(Column::Temperature).fold(None, |ends: Option<(f64, f64)>, value| match ends {
            Some((low, high)) => Some((low.min(value), high.max(value))),
            None => Some((value, value)),
        });
        let humid = values(Column::Humidity).count();
        let is_wet = |hour: &i64| wet.is_some_and(|wet| measures.hourly_in_hour(wet, *hour) == Extent::YES);
        let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        Self {
            temperature: ends,
            humidity: (humid > 0).then(|| values(Column::Humidity).sum::<f64>() / humid as f64),
            rain: values(Column::Rain).next().map(|_| values(Column::Rain).sum()),
            wet_hours: wet.filter(|_| humid > 0).map(|_| count(measured().filter(is_wet).count())),
            hours: (count(values(Column::Temperature).count()), count((to - from).max(0) as usize)),
        }
    }
}
