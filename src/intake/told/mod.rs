//! A forecast in words becomes hours with their doubt: `tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63`.
//!
//! What is not said stays unknown. Temperatures lie around the curve between the lowest and the highest that were said, never
//! beyond them; rain in hours with an amount is a total of which each hour has a part.

mod curve;
mod numbers;
mod words;

pub use curve::DayCurve;

use super::IntakePlace;
use super::answers::{FormQuestion, Topic};
use super::document::Document;
use super::draft::{Intake, IntakeDraft};
use super::forms::WeatherForm;
use super::hour_values::HourBounds;
use super::timeline::FellOver;
use super::unit_words::Scale;
use crate::phrase::{Phrase, said};
use crate::problems::Problem;
use crate::source::SourceId;
use crate::units::Unit;
use crate::weather::{Column, first_instant};
use chrono::{DateTime, Datelike, Days, Duration, NaiveDate, NaiveTime, Utc};
use std::collections::BTreeMap;
use words::{DayTold, RainTold, ToldWhen, part, says_no_speed};

/// What is known beside the words: the unit in which a grower speaks, and what was measured on the day.
#[derive(Clone, Debug)]
pub struct ToldUnits {
    /// The unit of temperatures without one.
    pub temperature: Unit,
    /// The lowest and the highest temperature measured on the day of the words, in °C.
    pub measured_today: Option<(f64, f64)>,
}

/// Nine hours of ten lie so near to the curve, in °C: 4.1 °F, measured on the hours of two airports.
const AROUND: f64 = 4.1 * 5.0 / 9.0;
/// No forecast of a place with mango tells of a temperature outside of these, in °C.
const POSSIBLE: (f64, f64) = (-15.0, 50.0);
const HELP: &str =
    "write a day, then what is said of it: `tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63`";

/// Reads a forecast in words.
///
/// # Errors
/// Names the word that is not understood.
pub fn told(
    source: SourceId,
    text: &str,
    place: &IntakePlace<'_>,
    known: &ToldUnits,
) -> Result<Intake, Box<Problem>> {
    let document = Document { source, text, json: None };
    let mut draft = IntakeDraft::new(&document, place, WeatherForm::Words);
    draft.intake.issued = Some(place.as_of);
    let mut said = SaidForecast {
        draft,
        known,
        lows: BTreeMap::new(),
        highs: BTreeMap::new(),
        days: Vec::new(),
        dry: Vec::new(),
        fell: Vec::new(),
        rain: Vec::new(),
    };
    let mut at = 0;
    for line in text.split([';', '\n']) {
        if !line.trim().is_empty() {
            said.take(at, line)?;
        }
        at += line.len() + 1;
    }
    if said.days.is_empty() {
        return Err(document.problem(0, "the forecast says nothing", HELP));
    }
    said.rain();
    said.temperatures();
    said.otherwise();
    Ok(said.draft.finish())
}

/// A forecast as far as it is read.
struct SaidForecast<'a> {
    draft: IntakeDraft<'a>,
    known: &'a ToldUnits,
    /// The lowest temperatures by the date of their morning, the highest by their date; °C.
    lows: BTreeMap<NaiveDate, f64>,
    highs: BTreeMap<NaiveDate, f64>,
    /// Of which times something was said.
    days: Vec<(DateTime<Utc>, DateTime<Utc>)>,
    /// The stretches that are told to be dry, the amounts that are told, and where rain is told without one.
    dry: Vec<(DateTime<Utc>, DateTime<Utc>)>,
    fell: Vec<FellOver>,
    rain: Vec<(DateTime<Utc>, DateTime<Utc>)>,
}

impl SaidForecast<'_> {
    fn take(&mut self, at: usize, line: &str) -> Result<(), Box<Problem>> {
        let begin = at + (line.len() - line.trim_start().len());
        let told = part(line).map_err(|word| self.not_understood(at, begin, line, &word))?;
        let Some(when) = told.when else {
            return Err(self.draft.document.problem(begin, "it is not said of which day this is", HELP));
        };
        let date = self.date(when);
        let whole = self.span(when, date);
        self.days.push(whole);
        self.draft.intake.rows += 1;
        self.draft.intake.left_out.extend(told.passed_over);
        let morning = if when.is_night { next(date) } else { date };
        if let Some(low) = self.degrees(begin, told.low)? {
            self.one_only(begin, self.lows.get(&morning).copied(), low)?;
            self.lows.insert(morning, low);
        }
        if let Some(high) = self.degrees(begin, told.high)? {
            self.one_only(begin, self.highs.get(&date).copied(), high)?;
            self.highs.insert(date, high);
        }
        let hours = |(from, to): (f64, f64)| (self.moment(date, from), self.moment(date, to));
        let promised = told.day_part.map_or(whole, |part| hours(part.narrow));
        for (column, unit, value) in
            [(Column::Wind, "mph", told.wind), (Column::Humidity, "%", told.humidity)]
        {
            let Some((least, most)) = value else { continue };
            let grid = self.draft.timeline.grid;
            let (from, to) = (grid.start(grid.hour_of(promised.0)), self.whole(promised.1));
            self.draft.timeline.holds(column, from, to, HourBounds::between(least, most));
            self.draft.understood("", column, unit);
        }
        let Some(rain) = told.rain else { return Ok(()) };
        self.draft.understood("", Column::Rain, "in");
        let (from, to) = match (rain, told.day_part) {
            (RainTold::Rain(Some((from, to)), _), _) => {
                // Of a night, hours before noon are those of its morning.
                let ahead = if when.is_night && from < 12.0 { 24.0 } else { 0.0 };
                (self.moment(date, from + ahead), self.moment(date, to + ahead))
            }
            (RainTold::Rain(None, _), Some(part)) => {
                (self.moment(date, part.wide.0), self.moment(date, part.wide.1))
            }
            (RainTold::Dry, _) | (RainTold::Rain(None, _), None) => promised,
        };
        match rain {
            RainTold::Dry => self.dry.push((from, to)),
            RainTold::Rain(hours, Some(depth)) => {
                let to = if hours.is_some() { to } else { self.whole(to) };
                self.fell.push(FellOver { from, to, amount: HourBounds::is(depth) });
            }
            RainTold::Rain(_, None) => self.rain.push((from, to)),
        }
        Ok(())
    }

    /// Says which word is not understood, and of some what to write instead.
    fn not_understood(&self, at: usize, begin: usize, line: &str, word: &str) -> Box<Problem> {
        let place = line.to_lowercase().find(word).map_or(begin, |place| at + place);
        let (message, help): (Phrase, &'static str) = if says_no_speed(word) {
            (said!("`{word}` does not say how fast the wind is", word), "write it: `wind 15-20 mph`")
        } else if word == "humidity" {
            ("the humidity has no number".into(), "write it: `humidity 70-90 %`")
        } else if word.starts_with(|sign: char| sign.is_ascii_digit()) {
            let help = "write what the numbers are: `rain 2pm-6pm`, `rain 0.2 in`, `wind 5-10 mph`, `humidity 70-90 %`";
            (said!("`{word}` is not understood", word), help)
        } else {
            (said!("`{word}` is not understood", word), HELP)
        };
        self.draft.document.problem(place, message, help)
    }

    /// Refuses two different lows or highs of one day.
    fn one_only(&self, at: usize, before: Option<f64>, now: f64) -> Result<(), Box<Problem>> {
        let Some(before) = before.filter(|before| (before - now).abs() > 1e-9) else { return Ok(()) };
        let unit = &self.known.temperature;
        let shown = |base: f64| crate::units::clean(unit.point_from_base(base)).to_string();
        let (before, now, unit) = (shown(before), shown(now), &*unit.symbol);
        let message = said!(
            "{before} and {now} {unit} are both said of one day; `tonight` and the low of the next morning are the same",
            before,
            now,
            unit
        );
        Err(self.draft.document.problem(at, message, "say it once, or name another day"))
    }

    fn degrees(&self, at: usize, told: Option<(f64, Option<Scale>)>) -> Result<Option<f64>, Box<Problem>> {
        let Some((number, scale)) = told else { return Ok(None) };
        let symbol = &self.known.temperature.symbol;
        let base = match scale {
            Some(scale) => scale.to_base(number),
            None => self.known.temperature.point_to_base(number),
        };
        if base < POSSIBLE.0 || base > POSSIBLE.1 {
            let message = said!("{number} cannot be a temperature in {symbol}", number, symbol);
            let help = said!("write its unit if it is another: `{number}F` or `{number}C`", number);
            return Err(self.draft.document.problem(at, message, help));
        }
        Ok(Some(base))
    }

    /// Returns the date that is meant: a weekday is the next such day.
    fn date(&self, when: ToldWhen) -> NaiveDate {
        let today = self.draft.place.as_of.with_timezone(&self.draft.place.site.zone()).date_naive();
        let ahead = match when.day {
            DayTold::Today => 0,
            DayTold::Tomorrow => 1,
            DayTold::Weekday(day) => (day + 7 - today.weekday().num_days_from_monday()) % 7,
        };
        today.checked_add_days(Days::new(u64::from(ahead))).unwrap_or(today)
    }

    /// Returns the time that a part is of: a day from midnight to midnight, a night from sunset to sunrise.
    fn span(&self, when: ToldWhen, date: NaiveDate) -> (DateTime<Utc>, DateTime<Utc>) {
        if when.is_night {
            return self.draft.place.site.night(next(date));
        }
        (self.moment(date, 0.0), self.moment(next(date), 0.0))
    }

    fn moment(&self, date: NaiveDate, hours: f64) -> DateTime<Utc> {
        let local = date.and_time(NaiveTime::MIN) + Duration::minutes((hours * 60.0).round() as i64);
        first_instant(self.draft.place.site.zone(), local)
    }

    /// Returns the last full hour that lies wholly before a moment: the hour that sunrise cuts is no longer night.
    fn whole(&self, to: DateTime<Utc>) -> DateTime<Utc> {
        let grid = self.draft.timeline.grid;
        grid.start(grid.hour_of(to))
    }

    /// Takes what is told of rain. Where it is told, no other part makes it dry; without an amount any amount can fall.
    fn rain(&mut self) {
        let fell = std::mem::take(&mut self.fell);
        self.draft.fell(&fell);
        let wet: Vec<_> = fell.iter().map(|fell| (fell.from, fell.to)).chain(self.rain.clone()).collect();
        let grid = self.draft.timeline.grid;
        let hours = |(from, to): (DateTime<Utc>, DateTime<Utc>)| grid.hour_of(from)..grid.hour_from(to);
        for hour in self.rain.iter().copied().flat_map(hours) {
            self.draft
                .timeline
                .hours
                .entry(hour)
                .or_default()
                .set(Column::Rain, Some(HourBounds::at_least(0.0)));
        }
        for (from, to) in self.dry.clone() {
            for hour in grid.hour_of(from)..grid.hour_of(to) {
                if !wet.iter().any(|span| hours(*span).contains(&hour)) {
                    self.draft
                        .timeline
                        .hours
                        .entry(hour)
                        .or_default()
                        .set(Column::Rain, Some(HourBounds::is(0.0)));
                }
            }
        }
    }

    /// Puts the temperatures around the curve of each day of which low, high and the next low are known.
    fn temperatures(&mut self) {
        let said = self.highs.clone();
        let zone = self.draft.place.site.zone();
        let today = self.draft.place.as_of.with_timezone(&zone).date_naive();
        if let Some((low, high)) = self.known.measured_today {
            self.lows.entry(today).or_insert(low);
            self.highs.entry(today).or_insert(high);
        }
        let symbol = self.known.temperature.symbol.to_string();
        if !self.lows.is_empty() || !self.highs.is_empty() {
            self.draft.understood("", Column::Temperature, &symbol);
        }
        for (date, high) in self.highs.clone() {
            let (Some(low), next_low) = (self.lows.get(&date).copied(), self.lows.get(&next(date)).copied())
            else {
                continue;
            };
            let midnight = self.moment(date, 0.0);
            let hours = |at: DateTime<Utc>| (at - midnight).num_seconds() as f64 / 3600.0;
            let (rise, set) = self.draft.place.site.sun(date).up();
            let sunrise = hours(rise);
            let curve =
                DayCurve { low, high, next_low: next_low.unwrap_or(low), sunrise, sunset: hours(set) };
            let (tomorrow, _) = self.draft.place.site.sun(next(date)).up();
            // Without the next low nothing is known of the night.
            let end =
                if next_low.is_some() { hours(tomorrow) - (sunrise - curve.begins()) } else { hours(set) };
            let grid = self.draft.timeline.grid;
            let coolest = low.min(next_low.unwrap_or(low));
            for hour in grid.hour_from(midnight)..grid.hour_from(midnight + Duration::hours(36)) {
                let time = hours(grid.start(hour));
                if time < curve.begins() || time >= end {
                    continue;
                }
                let floor = if time > curve.sunset { next_low.unwrap_or(coolest) } else { low };
                let middle = curve.at(time);
                let bounds = HourBounds::between((middle - AROUND).max(floor), (middle + AROUND).min(high));
                self.draft.timeline.hours.entry(hour).or_default().set(Column::Temperature, Some(bounds));
            }
        }
        // Of a night whose evening is not known only the lowest is.
        for (morning, low) in &self.lows {
            let (set, rise) = self.draft.place.site.night(*morning);
            let grid = self.draft.timeline.grid;
            for hour in grid.hour_of(set)..grid.hour_from(rise) {
                let slots = self.draft.timeline.hours.entry(hour).or_default();
                if slots.get(Column::Temperature).is_none() {
                    slots.set(Column::Temperature, Some(HourBounds::at_least(*low)));
                }
            }
        }
        // Of a day whose low is not known only the highest is.
        for (date, high) in said {
            let grid = self.draft.timeline.grid;
            for hour in grid.hour_from(self.moment(date, 0.0))..grid.hour_of(self.moment(next(date), 0.0)) {
                let slots = self.draft.timeline.hours.entry(hour).or_default();
                let known = slots.get(Column::Temperature);
                if known.is_none_or(|known| known.to.is_infinite()) {
                    let from = known.map_or(f64::NEG_INFINITY, |known| known.from);
                    slots.set(Column::Temperature, Some(HourBounds { from: from.min(high), to: high }));
                }
            }
        }
        // What has passed is no forecast.
        let now = self.draft.timeline.grid.hour_from(self.draft.place.as_of);
        self.draft.timeline.hours.retain(|hour, _| *hour >= now);
    }

    /// Asks what was not said of the days that were spoken of, and takes what was answered.
    fn otherwise(&mut self) {
        let grid = self.draft.timeline.grid;
        let now = grid.hour_from(self.draft.place.as_of);
        let last = self.draft.timeline.hours.keys().next_back().copied().unwrap_or(now);
        for (column, topic) in [(Column::Rain, Topic::DryOtherwise), (Column::Wind, Topic::WindOtherwise)] {
            let hours = &self.draft.timeline.hours;
            let open: Vec<i64> = (now..=last)
                .filter(|hour| hours.get(hour).is_none_or(|slots| slots.get(column).is_none()))
                .collect();
            if open.is_empty() {
                continue;
            }
            let value = match (topic, self.draft.answer(topic)) {
                (Topic::DryOtherwise, Some("yes")) => Some(HourBounds::is(0.0)),
                (Topic::WindOtherwise, Some(answer)) => {
                    let wind = part(answer).ok().and_then(|part| part.wind);
                    wind.map(|(from, to)| HourBounds::between(from, to))
                }
                _ => None,
            };
            match value {
                Some(value) => {
                    for hour in open {
                        self.draft.timeline.hours.entry(hour).or_default().set(column, Some(value));
                    }
                }
                None => {
                    let ends = [open.first(), open.last()].into_iter().flatten();
                    let about =
                        ends.map(|hour| grid.local(*hour).format("%Y-%m-%d %H:%M").to_string()).collect();
                    self.draft.ask(FormQuestion { topic, is_needed: false, proposed: None, about });
                }
            }
        }
    }
}

fn next(date: NaiveDate) -> NaiveDate {
    date.checked_add_days(Days::new(1)).unwrap_or(date)
}
