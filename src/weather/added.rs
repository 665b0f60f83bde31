//! Hours that are added to a weather file: what is there stays, what a forecast said gives way to what came of it.
//!
//! Comes in: the text of the file, what the grove says of it, new hours. Goes out: the new text, and what became of each
//! hour. A measured hour is never overwritten unless that is asked for; what it lacks is filled in.

use super::added_table::{HourKind, Kept};
use super::{Column, HourGrid};
use crate::problems::Problems;
use crate::source::SourceId;
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// An hour that is to be added.
#[derive(Clone, PartialEq, Debug)]
pub struct NewHour {
    /// When it begins.
    pub begins: DateTime<Utc>,
    /// Its values in base units: the least and the most that each can be.
    pub values: Vec<(Column, f64, f64)>,
    /// Over how many hours, from this one on, its rain is the total.
    pub rain_over: Option<i64>,
}

/// The file as it stands.
#[derive(Clone, Debug)]
pub struct KeptWeather<'k> {
    /// Its text; empty where there is none.
    pub text: &'k str,
    /// Its number among the sources.
    pub source: SourceId,
    /// For a word of ours the header that the file has instead.
    pub columns: &'k BTreeMap<String, String>,
    /// When its forecast was issued.
    pub issued: Option<DateTime<Utc>>,
    /// Up to when its hours are measured, where that is later.
    pub measured_to: Option<DateTime<Utc>>,
    /// The hours of the grove's clock.
    pub grid: HourGrid,
}

/// What is to be added.
#[derive(Clone, Debug)]
pub struct HoursToAdd<'n> {
    /// Hours that were measured.
    pub measured: &'n [NewHour],
    /// Hours that are forecast, and when that was issued.
    pub forecast: Option<(DateTime<Utc>, &'n [NewHour])>,
    /// The moment of the advice.
    pub as_of: DateTime<Utc>,
    /// The units of columns that the file has not yet: of temperature, rain and wind.
    pub units: [&'static str; 3],
    /// What happens to measured values that the new ones contradict.
    pub clash: Clash,
}

/// What happens to measured values that new ones contradict.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Clash {
    /// They stay.
    Keep,
    /// The new ones take their place.
    Replace,
}

/// The file as it will stand, and what became of the hours.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct AddedWeather {
    /// Its text.
    pub text: String,
    /// Measured hours that are new.
    pub measured: usize,
    /// Forecast hours that are new.
    pub forecast: usize,
    /// Hours that lacked something and got it.
    pub completed: usize,
    /// Hours that said the same before.
    pub same: usize,
    /// Forecast hours that got what they lacked from another file of the same forecast.
    pub forecast_completed: usize,
    /// Forecast hours that said the same before.
    pub forecast_same: usize,
    /// Hours of which something measured is contradicted: when they begin, the series, what stands there, what is new.
    pub contradicted: Vec<(DateTime<Utc>, Column, String, String)>,
    /// Hours of an older forecast that a newer one or a measurement takes the place of.
    pub replaced: usize,
    /// Hours of an older forecast that have passed and were never measured: they are taken out.
    pub never_measured: usize,
    /// Hours of the new forecast that had passed when it was issued, or are measured.
    pub passed: usize,
    /// When the forecast of the file was issued.
    pub issued: Option<DateTime<Utc>>,
    /// Up to when its hours are measured, where that is later.
    pub measured_to: Option<DateTime<Utc>>,
    /// Whether the new forecast is older than the one that is there, and left out.
    pub is_older: bool,
}

impl AddedWeather {
    /// Adds what became of the hours of another file that was added after this one.
    pub fn then(&mut self, after: AddedWeather) {
        self.measured += after.measured;
        self.forecast += after.forecast;
        self.completed += after.completed;
        self.same += after.same;
        self.forecast_completed += after.forecast_completed;
        self.forecast_same += after.forecast_same;
        self.contradicted.extend(after.contradicted);
        self.replaced += after.replaced;
        self.never_measured += after.never_measured;
        self.passed += after.passed;
        self.is_older |= after.is_older;
        (self.text, self.issued, self.measured_to) = (after.text, after.issued, after.measured_to);
    }
}

/// Adds hours to a weather file.
///
/// # Errors
/// Gives what is wrong with the header of the file, so that nothing can be added to it.
pub fn added(kept: &KeptWeather<'_>, new: &HoursToAdd<'_>) -> Result<AddedWeather, Problems> {
    let mut table = Kept::open(kept)?;
    let grid = kept.grid;
    let mut done =
        AddedWeather { issued: kept.issued, measured_to: kept.measured_to, ..AddedWeather::default() };
    let forecast = new.forecast.filter(|(issued, _)| kept.issued.is_none_or(|before| before <= *issued));
    done.is_older = new.forecast.is_some() && forecast.is_none();
    done.issued = forecast.map(|(issued, _)| issued).or(kept.issued);
    // Up to here the file is measured; from here on it is forecast.
    let boundary = |issued: Option<DateTime<Utc>>, to: Option<DateTime<Utc>>| {
        issued.map(|at| grid.hour_of(at.max(to.unwrap_or(at))))
    };
    let before = boundary(kept.issued, kept.measured_to);
    let under_way = grid.hour_of(new.as_of);
    let whole = new.measured.iter().map(|hour| grid.hour_of(hour.begins)).filter(|hour| *hour < under_way);
    // What stands before the old forecast, or in a file without one, was measured too.
    let there = table.last_before(before.unwrap_or(under_way).min(under_way));
    let last = whole.max().max(there).map(|last| grid.start(last + 1));
    done.measured_to = last.max(kept.measured_to).filter(|to| done.issued.is_some_and(|issued| *to > issued));
    let after = boundary(done.issued, done.measured_to);
    let measured: BTreeSet<i64> = new.measured.iter().map(|hour| grid.hour_of(hour.begins)).collect();
    // The same forecast from another file fills in what the first one lacks.
    let is_newer = forecast.is_some_and(|(issued, _)| kept.issued.is_none_or(|before| before < issued));
    let is_old = |hour: i64| before.is_some_and(|before| hour >= before);
    table.rows.retain(|row| {
        let Some(hour) = row.hour.filter(|hour| is_old(*hour)) else { return true };
        let gives_way = is_newer || after.is_some_and(|after| hour < after);
        if gives_way {
            let follows = measured.contains(&hour) || after.is_some_and(|after| hour >= after);
            *(if follows { &mut done.replaced } else { &mut done.never_measured }) += 1;
        }
        !gives_way
    });
    let ahead: Vec<&NewHour> = forecast.map(|(_, hours)| hours.iter().collect()).unwrap_or_default();
    let is_ahead = |hour: &&&NewHour| after.is_none_or(|after| grid.hour_of(hour.begins) >= after);
    let (ahead, passed): (Vec<&NewHour>, Vec<&NewHour>) = ahead.iter().partition(|hour| is_ahead(hour));
    done.passed = passed.len();
    for hour in new.measured {
        let number = grid.hour_of(hour.begins);
        let is_forecast = ahead.iter().any(|other| other.begins == hour.begins)
            || (after.is_some_and(|after| number >= after) && table.has(number));
        // The hour under way is measured in part only: a forecast of it says more.
        if number < under_way || !is_forecast && number == under_way {
            table.take(hour, new, &mut done, HourKind::Measured);
        }
    }
    for hour in ahead {
        table.take(hour, new, &mut done, HourKind::Forecast);
    }
    done.text = table.text();
    Ok(done)
}
