//! The weather file of a grove, to which hours are added, and what `grove.yaml` says of it.

use super::append::{FIX, Fix, Log};
use super::end::Refusal;
use super::files;
use super::groves::Unopened;
use super::terminal::Stream;
use super::weather_input::Input;
use crate::grove::{self, KnownForm, Outline, UnitSystem};
use crate::intake::ToldUnits;
use crate::measure::reads;
use crate::phrase::said;
use crate::plan::{Plan, Series};
use crate::report::filling::paragraph;
use crate::source::{SourceId, Sources};
use crate::units::{Unit, plain};
use crate::weather::{
    self, AddedWeather, Clash, Column, HourGrid, HoursToAdd, KeptWeather, LocalTime, NewHour, Site, Weather,
    resolve_local,
};
use crate::words::Speech;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The file of a grove that names none.
const USUAL: &str = "weather.csv";

/// A grove's weather, taken for writing.
pub struct GroveWeather {
    /// All texts that were read.
    pub sources: Sources,
    /// Where it lies.
    pub site: Site,
    yaml: PathBuf,
    outline: Outline,
    as_of: DateTime<Utc>,
    path: PathBuf,
    shown: String,
    log: Log,
    text: String,
    issued: Option<DateTime<Utc>>,
    measured_to: Option<DateTime<Utc>>,
}

impl GroveWeather {
    /// Opens the weather of a grove; its rulebook and its logs are not needed.
    pub fn open(grove: &Path, as_of: Option<&str>, fix: Option<Fix>) -> Result<Self, Unopened> {
        let yaml = if grove.is_dir() { grove.join("grove.yaml") } else { grove.to_owned() };
        let text = files::read(&yaml, files::GROVE_LIMIT)?;
        let mut sources = Sources::default();
        let id = sources.add(yaml.display().to_string(), text);
        let (outline, problems) = grove::outline(id, &sources);
        let outline = match outline.filter(|_| !problems.any_error()) {
            Some(outline) => outline,
            None => return Err(Unopened::Findings(problems, Box::new(sources))),
        };
        let as_of = match as_of {
            Some(text) => {
                let moment = outline.moment(text);
                moment.map_err(|problem| {
                    Refusal::of(said!("--as-of: {message}", message = problem.message), problem.help)
                })?
            }
            None => outline.as_of.unwrap_or(Utc::now().with_timezone(&outline.place.zone)),
        };
        let (latitude, longitude) = outline.place.position.unwrap_or_default();
        let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
        let named = outline.weather.as_ref().map_or(USUAL, |weather| &weather.file.path);
        let path = yaml.parent().unwrap_or(Path::new("")).join(named);
        let log = Log::take(&path)?;
        let shown = path.display().to_string();
        if let Some(done) = fix.map(|fix| log.fix(fix)).transpose()?.flatten() {
            Stream::Diagnostics.print(&paragraph(
                &super::reader::language().phrase(&done),
                Stream::Diagnostics.width(None),
            ))?;
        }
        if log.is_torn()? {
            let refusal =
                Refusal::new(said!("the last row of `{shown}` is not ended by a line break", shown));
            return Err(refusal.help(FIX).into());
        }
        let text = if path.exists() { files::read(&path, files::GROVE_LIMIT)? } else { String::new() };
        let utc = |at: Option<DateTime<Tz>>| at.map(|at| at.with_timezone(&Utc));
        let weather = outline.weather.as_ref();
        let issued = utc(weather.and_then(|weather| weather.forecast_issued));
        let measured_to = utc(weather.and_then(|weather| weather.measured_to));
        let as_of = as_of.with_timezone(&Utc);
        Ok(Self { sources, site, yaml, outline, as_of, path, shown, log, text, issued, measured_to })
    }

    /// Returns the moment of the advice.
    pub fn as_of(&self) -> DateTime<Utc> {
        self.as_of
    }

    /// Returns the zone of its clock.
    pub fn zone(&self) -> Tz {
        self.outline.place.zone
    }

    /// Returns in which units its pages speak.
    pub fn speech(&self) -> Speech {
        match self.outline.units {
            UnitSystem::Us => Speech::Us,
            UnitSystem::Metric => Speech::Metric,
        }
    }

    /// Returns the name of its file as messages print it.
    pub fn shown(&self) -> &str {
        &self.shown
    }

    /// Returns how files of a kind are read.
    pub fn forms(&self) -> &[KnownForm] {
        &self.outline.weather_forms
    }

    /// Adds what weather is taken from to the texts.
    pub fn add_source(&mut self, input: &Input) -> Result<(SourceId, String), Refusal> {
        let text = input.text()?;
        Ok((self.sources.add(input.name(), text.as_str()), text))
    }

    /// Returns in which unit the grower speaks, and what was measured today.
    pub fn told_units(&self) -> ToldUnits {
        let symbol = if self.outline.units == UnitSystem::Us { "°F" } else { "°C" };
        let temperature = plain(symbol).unwrap_or_else(Unit::none);
        ToldUnits { temperature, measured_today: self.measured_today() }
    }

    /// Returns the lowest and the highest temperature measured today, once the afternoon is over.
    fn measured_today(&self) -> Option<(f64, f64)> {
        let weather = self.weather();
        let grid = weather.grid();
        let today = self.as_of.with_timezone(&self.zone()).date_naive();
        let (from, to) = grid.day(today, 0);
        let is_measured = |hour: &i64| !weather.is_forecast(*hour);
        let hours =
            (from..to).filter(is_measured).filter_map(|hour| weather.value(Column::Temperature, hour));
        let values: Vec<f64> = hours.collect();
        let is_over = weather.measured_to().is_some_and(|to| grid.hour_of(to) - from >= AFTERNOON);
        let low = values.iter().copied().reduce(f64::min)?;
        let high = values.iter().copied().reduce(f64::max)?;
        is_over.then_some((low, high))
    }

    fn columns(&self) -> BTreeMap<String, String> {
        let columns = self.outline.weather.iter().flat_map(|weather| &weather.columns);
        columns.map(|(ours, theirs)| (ours.to_string(), theirs.to_string())).collect()
    }

    fn weather(&self) -> Weather {
        let mut sources = Sources::default();
        let source = sources.add(self.shown.as_str(), self.text.as_str());
        let file = weather::WeatherFile {
            text: &self.text,
            source,
            columns: &self.columns(),
            zone: self.zone(),
            as_of: self.as_of,
            forecast_issued: self.issued,
            measured_to: self.measured_to,
            gauge: &BTreeMap::new(),
        };
        weather::read(&file).0
    }

    /// Returns up to when the file is measured, and up to when it is forecast.
    pub fn reach(&self) -> (Option<DateTime<Utc>>, Option<DateTime<Utc>>) {
        let weather = self.weather();
        let is_ahead = weather.is_forecast(weather.end() - 1);
        (weather.measured_to(), is_ahead.then(|| weather.grid().start(weather.end())))
    }

    /// Adds hours to the text; nothing is written yet.
    pub fn add(
        &mut self,
        measured: &[NewHour],
        forecast: Option<(DateTime<Utc>, &[NewHour])>,
        clash: Clash,
    ) -> Result<AddedWeather, Refusal> {
        let mut sources = Sources::default();
        let source = sources.add(self.shown.as_str(), self.text.as_str());
        let kept = KeptWeather {
            text: &self.text,
            source,
            columns: &self.columns(),
            issued: self.issued,
            measured_to: self.measured_to,
            grid: HourGrid::new(self.zone(), self.as_of),
        };
        let units =
            if self.outline.units == UnitSystem::Us { ["°F", "in", "mph"] } else { ["°C", "mm", "km/h"] };
        let new = HoursToAdd { measured, forecast, as_of: self.as_of, units, clash };
        let added = weather::added(&kept, &new).map_err(|problems| {
            let first = problems.iter().next();
            let (place, message) = first.map_or_else(Default::default, |problem| {
                (sources.locate(problem.at).to_string(), problem.message.clone())
            });
            Refusal::of(
                said!("{place}: {message}", place, message),
                first.and_then(|problem| problem.help.clone()),
            )
        })?;
        self.text.clone_from(&added.text);
        (self.issued, self.measured_to) = (added.issued, added.measured_to);
        Ok(added)
    }

    /// Writes the file, then what `grove.yaml` says of it: a file whose forecast is newer than is said loses nothing, one
    /// whose forecast is older would pass for measured.
    pub fn store(&self, added: &AddedWeather, forms: &[KnownForm]) -> Result<(), Refusal> {
        if self.log.is_torn()? {
            return Err(Refusal::new(said!(
                "`{shown}` was changed by another program just now",
                shown = self.shown
            ))
            .help(FIX));
        }
        files::put(&self.path, added.text.as_bytes())?;
        let text = files::read(&self.yaml, files::GROVE_LIMIT)?;
        let zone = self.zone();
        let keys = [
            ("forecast-issued", added.issued.map(|at| written(at, zone))),
            ("measured-to", added.measured_to.map(|at| written(at, zone))),
        ];
        let refusal = || {
            let keys = keys.iter().filter_map(|(key, value)| Some(format!(", {key}: {}", value.as_ref()?)));
            let message =
                said!("`{yaml}` could not be changed to say what its weather is", yaml = self.yaml.display());
            Refusal::new(message).help(said!(
                "write into it: `weather: {{ file: {file}{keys} }}`",
                file = USUAL,
                keys = keys.collect::<String>()
            ))
        };
        let mut changed = grove::with_weather(&text, USUAL, &keys).ok_or_else(refusal)?;
        if forms != self.forms() {
            changed = grove::with_forms(&changed, forms);
        }
        if changed == text {
            return Ok(());
        }
        let mut sources = Sources::default();
        let id = sources.add("grove.yaml", changed.as_str());
        let (outline, problems) = grove::outline(id, &sources);
        let minute = |at: Option<DateTime<Utc>>| at.map(|at| at.timestamp() / 60);
        let says = |outline: &Outline| {
            let weather = outline.weather.as_ref();
            let issued = weather.and_then(|it| it.forecast_issued).map(|at| at.to_utc());
            let measured = weather.and_then(|it| it.measured_to).map(|at| at.to_utc());
            weather.is_some()
                && minute(issued) == minute(added.issued)
                && minute(measured) == minute(added.measured_to)
                && outline.weather_forms == forms
        };
        if problems.any_error() || !outline.as_ref().is_some_and(says) {
            return Err(refusal());
        }
        files::replace(&self.yaml, &changed)
    }
}

/// Once the day has so many hours its highest temperature is over.
const AFTERNOON: i64 = 16;

/// Returns a moment as `grove.yaml` has it: by the clock on the wall, with its offset where that is not enough.
fn written(at: DateTime<Utc>, zone: Tz) -> String {
    let local = at.with_timezone(&zone);
    match resolve_local(zone, local.naive_local()) {
        LocalTime::Once(_) => local.format("%Y-%m-%dT%H:%M").to_string(),
        LocalTime::Twice(..) | LocalTime::Never => local.format("%Y-%m-%dT%H:%M%:z").to_string(),
    }
}

/// Returns which series of the weather a guide reads: those that are there in the last week or ahead, and those that are not.
pub fn usable(plan: &Plan, weather: Option<&Weather>) -> (Vec<&'static str>, Vec<&'static str>) {
    const SERIES: [(Series, Column); 7] = [
        (Series::Temperature, Column::Temperature),
        (Series::Humidity, Column::Humidity),
        (Series::DewPoint, Column::DewPoint),
        (Series::Rain, Column::Rain),
        (Series::Wind, Column::Wind),
        (Series::Gust, Column::Gust),
        (Series::LeafWet, Column::LeafWet),
    ];
    let read = SERIES.iter().filter(|(series, _)| reads(plan, *series));
    let is_there = |column: Column| {
        weather.is_some_and(|weather| {
            let mut hours = (weather.end() - WEEK).max(weather.first())..weather.end();
            hours.any(|hour| weather.value(column, hour).is_some() || weather.ends(column, hour).is_some())
        })
    };
    let (uses, lacks): (Vec<Column>, Vec<Column>) =
        read.map(|(_, column)| *column).partition(|column| is_there(*column));
    let words = |columns: Vec<Column>| columns.into_iter().map(Column::word).collect();
    (words(uses), words(lacks))
}

/// The hours of a week and of a forecast.
const WEEK: i64 = 14 * 24;
