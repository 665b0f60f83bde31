//! What the grove's weather file measured during a spray and after it, for the record. What was forecast is not measured.

use super::Season;
use crate::grove::{SprayRow, UnitSystem};
use crate::units::{plain, show};
use crate::weather::{Column, Weather, wet_bulb};
use chrono::{DateTime, Duration};
use chrono_tz::Tz;

/// How long after a spray rain is counted.
const AFTER: i64 = 24;

/// Returns the cell of a column of measured weather; empty where an hour of it was not measured.
pub(super) fn cell(season: &Season, row: &SprayRow, column: &str) -> String {
    let Some(weather) = season.weather else { return String::new() };
    let us = season.grove.units == UnitSystem::Us;
    let pick = |us_unit: &'static str, metric: &'static str| if us { us_unit } else { metric };
    let during = |of: &dyn Fn(i64) -> Option<f64>| each_hour(weather, row.start, row.end, of);
    let value = |column: Column| move |hour: i64| weather.value(column, hour);
    let delta_t = |hour: i64| {
        let (dry, humidity) =
            (weather.value(Column::Temperature, hour)?, weather.value(Column::Humidity, hour)?);
        Some(dry - wet_bulb(dry, humidity, season.site.pressure()))
    };
    let found = match column {
        "measured-temperature" => {
            let degrees = |celsius: f64| if us { celsius * 1.8 + 32.0 } else { celsius };
            ends(during(&value(Column::Temperature)), degrees, pick("°F", "°C"))
        }
        "measured-humidity" => ends(during(&value(Column::Humidity)), |share| share * 100.0, "%"),
        "delta-t" => {
            let degrees = |celsius: f64| if us { celsius * 1.8 } else { celsius };
            // Its limits lie a degree or two apart, so that a tenth is told.
            let tenth = |number: f64, symbol: &str| format!("{number:.1} {symbol}");
            ends_as(during(&delta_t), degrees, pick("°F", "°C"), tenth)
        }
        "measured-wind" => in_unit(during(&value(Column::Wind)), pick("mph", "km/h")),
        "rain-after" => {
            let until = row.end + Duration::hours(AFTER);
            let rain = each_hour(weather, row.end, until, &value(Column::Rain));
            let sum = rain.map(|hours| vec![hours.into_iter().sum()]);
            in_unit(sum, pick("in", "mm"))
        }
        _ => None,
    };
    found.unwrap_or_default()
}

/// Returns a value of every hour that a span touches; nothing where one of them was not measured.
fn each_hour(
    weather: &Weather,
    from: DateTime<Tz>,
    to: DateTime<Tz>,
    of: &dyn Fn(i64) -> Option<f64>,
) -> Option<Vec<f64>> {
    let grid = weather.grid();
    let (first, last) = (grid.hour_of(from.to_utc()), grid.hour_from(to.to_utc()));
    let hours = first..last.max(first + 1);
    hours.map(|hour| of(hour).filter(|_| !weather.is_forecast(hour))).collect()
}

/// Returns the least and the most, once where they print alike.
fn ends(values: Option<Vec<f64>>, unit: impl Fn(f64) -> f64, symbol: &str) -> Option<String> {
    ends_as(values, unit, symbol, show)
}

fn ends_as(
    values: Option<Vec<f64>>,
    unit: impl Fn(f64) -> f64,
    symbol: &str,
    show: impl Fn(f64, &str) -> String,
) -> Option<String> {
    let values = values?;
    let low = unit(values.iter().copied().reduce(f64::min)?);
    let high = unit(values.iter().copied().reduce(f64::max)?);
    let (low, high) = (show(low, symbol), show(high, symbol));
    let number = low.split(' ').next().unwrap_or_default();
    Some(if low == high { low } else { format!("{number} to {high}") })
}

fn in_unit(values: Option<Vec<f64>>, symbol: &str) -> Option<String> {
    let unit = plain(symbol)?;
    ends(values, |base| unit.amount_from_base(base), symbol)
}
