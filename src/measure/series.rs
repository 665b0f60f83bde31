//! Weather series and conditions hour by hour: what each hour's value can be, and why it is not known.

use super::arithmetic::Carried;
use super::series_columns::ValueColumn;
use super::{Cause, Extent};
use super::{Truth, compare};
use crate::plan::{Condition, Series, Test};
use crate::units::{Unit, plain};
use crate::weather::{Column, HourGrid, Site, Weather, possible};
use crate::weather::{vapour_deficit, wet_bulb};
use chrono::{DateTime, Days, NaiveDate, Timelike, Utc};
use std::ops::Not;
use std::sync::{Arc, OnceLock};

/// Why a value of an hour or a day is not known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Reach {
    /// The weather is not to blame: it is known, or in doubt for another reason.
    #[default]
    Sound,
    /// The weather has a gap here.
    Missing,
    /// The weather does not reach so far.
    Beyond,
}

/// Returns whether more of so many hours or days are missing than the share that a rulebook lets be missing.
pub(super) fn lacks_too_many(missing: i64, of: i64, gaps: f64) -> bool {
    missing > 0 && !Unit::none().threshold_of_amount(gaps * of as f64).is_kept_by(missing as f64, true)
}

/// A value of an hour or a day.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Taken {
    pub(super) extent: Extent,
    pub(super) reach: Reach,
    pub(super) forecast: bool,
}

impl Taken {
    pub(super) fn sound(extent: Extent) -> Self {
        Self { extent, reach: Reach::Sound, forecast: false }
    }
}

impl Carried for Taken {
    fn extent(&self) -> Extent {
        self.extent
    }

    fn made_of(extent: Extent, parts: &[&Self], _: Option<Cause>) -> Self {
        let reach = parts.iter().map(|part| part.reach).max().unwrap_or_default();
        let reach = if extent.is_settled() { Reach::Sound } else { reach };
        Self { extent, reach, forecast: parts.iter().any(|part| part.forecast) }
    }
}

/// Whether a condition holds in an hour or on a day.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Holds {
    pub(super) truth: Truth,
    pub(super) reach: Reach,
    pub(super) forecast: bool,
}

/// Judges a condition whose tests are read by a function.
pub(super) fn judge(condition: &Condition, read: &mut dyn FnMut(&Test) -> Taken) -> Holds {
    match condition {
        Condition::Test(test) => {
            let taken = read(test);
            let truth = compare(taken.extent, &test.compare);
            let reach = if truth == Truth::Open { taken.reach } else { Reach::Sound };
            Holds { truth, reach, forecast: taken.forecast }
        }
        Condition::Not(inner) => {
            let holds = judge(inner, read);
            Holds { truth: holds.truth.not(), ..holds }
        }
        Condition::All(parts) => join(parts, Truth::Yes, Truth::min, read),
        Condition::Any(parts) => join(parts, Truth::No, Truth::max, read),
    }
}

fn join(
    parts: &[Condition],
    nothing: Truth,
    with: fn(Truth, Truth) -> Truth,
    read: &mut dyn FnMut(&Test) -> Taken,
) -> Holds {
    let mut joined = Holds { truth: nothing, reach: Reach::Sound, forecast: false };
    for part in parts {
        let holds = judge(part, read);
        joined.truth = with(joined.truth, holds.truth);
        joined.reach = joined.reach.max(holds.reach);
        joined.forecast |= holds.forecast;
    }
    if joined.truth != Truth::Open {
        joined.reach = Reach::Sound;
    }
    joined
}

/// The series of a place: those of its weather, of its clock and of its sun.
pub(super) struct AllSeries<'w> {
    pub(super) weather: Option<&'w Weather>,
    pub(super) site: Site,
    pub(super) grid: HourGrid,
    /// The hours of the columns.
    pub(super) hours: (i64, i64),
    columns: [OnceLock<Arc<ValueColumn>>; Series::ALL.len()],
    pressure: f64,
    kilopascal: f64,
}

impl<'w> AllSeries<'w> {
    pub(super) fn new(weather: Option<&'w Weather>, site: Site, grid: HourGrid, hours: (i64, i64)) -> Self {
        let pressure = site.pressure();
        let kilopascal = plain("kPa").map_or(1.0, |unit| unit.factor);
        Self { weather, site, grid, hours, columns: Default::default(), pressure, kilopascal }
    }

    /// Returns the value of a series in an hour.
    pub(super) fn at(&self, series: Series, hour: i64) -> Taken {
        match series {
            Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset => {
                Taken::sound(self.of_clock(series, hour))
            }
            Series::Temperature
            | Series::Humidity
            | Series::DewPoint
            | Series::WetBulb
            | Series::DeltaT
            | Series::VapourDeficit
            | Series::Rain
            | Series::Wind
            | Series::Gust
            | Series::LeafWet => {
                let known = self.column(series).and_then(|column| column.at(hour));
                known.unwrap_or_else(|| self.of_weather(series, hour))
            }
        }
    }

    /// Returns the values of a series in all hours of the columns.
    pub(super) fn column(&self, series: Series) -> Option<&Arc<ValueColumn>> {
        let build = || {
            let hours = (self.hours.0..self.hours.1).map(|hour| self.compute(series, hour));
            let column = ValueColumn::new(self.hours.0, hours.collect());
            let rain = self.weather.filter(|_| series == Series::Rain);
            Arc::new(column.with_sums(rain.into_iter().flat_map(Weather::rain_together)))
        };
        Some(self.columns.get(series as usize)?.get_or_init(build))
    }

    fn compute(&self, series: Series, hour: i64) -> Taken {
        match series {
            Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset => {
                Taken::sound(self.of_clock(series, hour))
            }
            Series::Temperature
            | Series::Humidity
            | Series::DewPoint
            | Series::WetBulb
            | Series::DeltaT
            | Series::VapourDeficit
            | Series::Rain
            | Series::Wind
            | Series::Gust
            | Series::LeafWet => self.of_weather(series, hour),
        }
    }

    fn of_weather(&self, series: Series, hour: i64) -> Taken {
        let value = self.weather.and_then(|weather| self.value(weather, series, hour));
        let extent = value.map(Extent::number).or_else(|| {
            let (low, high) = self.weather?.ends(column_of(series)?, hour)?;
            Some(Extent::between(low, high))
        });
        let forecast = self.weather.is_some_and(|weather| weather.is_forecast(hour));
        match extent {
            Some(extent) => Taken { extent, reach: Reach::Sound, forecast },
            None => {
                let reached = self.weather.is_some_and(|weather| weather.reaches(hour));
                let reach = if reached { Reach::Missing } else { Reach::Beyond };
                let (low, high) = self.bounds(series);
                Taken { extent: Extent::between(low, high), reach, forecast: false }
            }
        }
    }

    fn value(&self, weather: &Weather, series: Series, hour: i64) -> Option<f64> {
        let read = |column| weather.value(column, hour);
        let air =
            |of: &dyn Fn(f64, f64) -> f64| Some(of(read(Column::Temperature)?, read(Column::Humidity)?));
        match series {
            Series::Temperature
            | Series::Humidity
            | Series::DewPoint
            | Series::Rain
            | Series::Wind
            | Series::Gust
            | Series::LeafWet => read(column_of(series)?),
            Series::WetBulb => air(&|dry, humidity| wet_bulb(dry, humidity, self.pressure)),
            Series::DeltaT => air(&|dry, humidity| dry - wet_bulb(dry, humidity, self.pressure)),
            Series::VapourDeficit => {
                air(&|dry, humidity| vapour_deficit(dry, humidity) / 10.0 * self.kilopascal)
            }
            Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset => None,
        }
    }

    /// Returns between what a missing value lies.
    fn bounds(&self, series: Series) -> (f64, f64) {
        match series {
            Series::Temperature | Series::WetBulb => possible(Column::Temperature),
            Series::Humidity => possible(Column::Humidity),
            Series::DewPoint => possible(Column::DewPoint),
            Series::Rain => possible(Column::Rain),
            Series::Wind => possible(Column::Wind),
            Series::Gust => possible(Column::Gust),
            Series::LeafWet => possible(Column::LeafWet),
            Series::DeltaT => (0.0, 60.0),
            Series::VapourDeficit => (0.0, 20.0 * self.kilopascal),
            Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset => {
                (f64::NEG_INFINITY, f64::INFINITY)
            }
        }
    }

    /// Returns what the clock or the sun says of an hour; of the sun's series those of the hour's start, empty
    /// where the sun does not rise or set.
    fn of_clock(&self, series: Series, hour: i64) -> Extent {
        let start = self.grid.start(hour);
        let local = start.with_timezone(&self.grid.zone());
        let date = local.date_naive();
        match series {
            Series::Clock => Extent::number(f64::from(local.num_seconds_from_midnight()) / 3600.0),
            Series::Daylight => self.daylight(start, date).extent(),
            Series::AfterSunrise => self
                .site
                .sun(date)
                .sunrise
                .map_or(Extent::EMPTY, |sunrise| Extent::number(hours_between(sunrise, start))),
            Series::AfterSunset => {
                let days = (0..3).filter_map(|back| date.checked_sub_days(Days::new(back)));
                let mut sets = days.filter_map(|day| self.site.sun(day).sunset).filter(|set| *set <= start);
                sets.next().map_or(Extent::EMPTY, |set| Extent::number(hours_between(set, start)))
            }
            Series::Temperature
            | Series::Humidity
            | Series::DewPoint
            | Series::WetBulb
            | Series::DeltaT
            | Series::VapourDeficit
            | Series::Rain
            | Series::Wind
            | Series::Gust
            | Series::LeafWet => Extent::EMPTY,
        }
    }

    /// Returns whether the sun is up in the hour that begins at a moment; in an hour that sunrise or sunset cuts,
    /// maybe.
    fn daylight(&self, start: DateTime<Utc>, date: NaiveDate) -> Truth {
        let end = start + chrono::Duration::hours(1);
        let days = [date.pred_opt(), Some(date), date.succ_opt()].into_iter().flatten();
        let mut up: Vec<(DateTime<Utc>, DateTime<Utc>)> = Vec::new();
        for (rise, set) in days.map(|day| self.site.sun(day).up()) {
            match up.last_mut() {
                // A sun that does not set is up from one day to the next.
                Some((_, before)) if rise <= *before => *before = set.max(*before),
                _ => up.push((rise, set)),
            }
        }
        if up.iter().any(|(rise, set)| *rise <= start && end <= *set) {
            Truth::Yes
        } else {
            let cut = up.iter().any(|(rise, set)| *rise < end && *set > start && rise < set);
            if cut { Truth::Open } else { Truth::No }
        }
    }
}

/// Returns the column of the weather that a series is.
fn column_of(series: Series) -> Option<Column> {
    match series {
        Series::Temperature => Some(Column::Temperature),
        Series::Humidity => Some(Column::Humidity),
        Series::DewPoint => Some(Column::DewPoint),
        Series::Rain => Some(Column::Rain),
        Series::Wind => Some(Column::Wind),
        Series::Gust => Some(Column::Gust),
        Series::LeafWet => Some(Column::LeafWet),
        Series::WetBulb
        | Series::DeltaT
        | Series::VapourDeficit
        | Series::Clock
        | Series::Daylight
        | Series::AfterSunrise
        | Series::AfterSunset => None,
    }
}

fn hours_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    (to - from).num_seconds() as f64 / 3600.0
}
