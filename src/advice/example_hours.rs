//! Worked examples with hours of their own: what the weather of their file measures is taken for granted in them.
//!
//! A rulebook has no place. The hours are read in the offset of the example's moment, or in that of the file where the moment
//! is a local one, and the sun stands as on the equator at that offset's longitude, so that nights run from about 18:00 to
//! 6:00.

use super::Advisor;
use crate::grove;
use crate::measure::{Extent, Possible, WeatherMeasures, speaks_of_weather};
use crate::plan::{Datum, NameId, Origin, Plan, Take, TakenValue, Worked};
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Span};
use crate::tables::read_stamp;
use crate::weather::{self, Site};
use chrono::{DateTime, Days, Offset, TimeZone, Utc};
use chrono_tz::{TZ_VARIANTS, Tz};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A worked example with the hours that were read for it.
#[derive(Clone, Debug)]
pub struct ExampleHours {
    /// Its place in the plan's list.
    pub at: usize,
    worked: Worked,
    text: Arc<str>,
}

impl ExampleHours {
    /// Returns the example as it is under a rulebook whose definitions are others: with what its hours measure there. Nothing
    /// where they cannot be read.
    pub fn under(&self, plan: &Plan) -> Option<Worked> {
        let (file, span) = self.worked.hours_from.clone()?;
        let takes = measured(plan, &self.worked, (&file, span), (&self.text, SourceId::default())).ok()?;
        let mut worked = Worked { hours_from: None, ..self.worked.clone() };
        worked.takes.extend(takes);
        Some(worked)
    }
}

/// Takes in the worked example at a place what its hours measure, from the text of their file, and returns the example with
/// them. Where they cannot be read it is told why, and the example stays one that is not run.
pub fn take_hours(
    plan: &mut Plan,
    at: usize,
    text: &str,
    hours: SourceId,
) -> (Option<ExampleHours>, Problems) {
    let Some(worked) = plan.worked.get(at) else { return (None, Problems::default()) };
    let Some((file, span)) = worked.hours_from.clone() else { return (None, Problems::default()) };
    match measured(plan, worked, (&file, span), (text, hours)) {
        Ok(takes) => {
            let before = ExampleHours { at, worked: worked.clone(), text: text.into() };
            if let Some(worked) = plan.worked.get_mut(at) {
                worked.takes.extend(takes);
                worked.hours_from = None;
            }
            (Some(before), Problems::default())
        }
        Err(found) => (None, found),
    }
}

fn measured(
    plan: &Plan,
    worked: &Worked,
    (file, span): (&str, Span),
    (text, hours): (&str, SourceId),
) -> Result<Vec<Take>, Problems> {
    let Some((moment, _)) = &worked.as_of else {
        let problem =
            Problem::new(Finding::WorkedFailed, span, format!("the hours of `{file}` have no moment"));
        return Err(Problems::of(problem.help("say from when they are looked at: `as-of 2027-02-11T05:30`")));
    };
    let offset = read_stamp(moment).and_then(|stamp| stamp.ahead).or_else(|| first_offset(text)).unwrap_or(0);
    let zone = zone_of(offset);
    let as_of = grove::moment(moment, zone).map_err(|trouble| Problems::of(trouble.at(span)))?;
    // The sun moves by a degree in four minutes.
    let longitude = f64::from(offset) / 240.0;
    let grove = grove::lone_tree(plan, as_of, longitude);
    let (weather, problems) = weather::read(&weather::WeatherFile {
        text,
        source: hours,
        columns: &BTreeMap::new(),
        zone,
        as_of: as_of.with_timezone(&Utc),
        forecast_issued: Some(as_of.with_timezone(&Utc)),
        measured_to: None,
        gauge: &BTreeMap::new(),
    });
    if problems.any_error() {
        return Err(problems);
    }
    let site = Site::new(0.0, longitude, 0.0, zone);
    let weather_measures = WeatherMeasures::new(plan, Some(&weather), &site, as_of.with_timezone(&Utc));
    let settings = worked.with.iter().filter_map(|at| plan.settings.get(*at));
    // Its own takes go before those of its settings.
    let takes: BTreeMap<NameId, &TakenValue> = settings
        .flat_map(|setting| &setting.takes)
        .chain(&worked.takes)
        .map(|take| (take.name, &take.value))
        .collect();
    let gauged = Advisor::new(plan, &grove, &weather_measures, as_of)
        .gauge_taken(0, takes.iter().map(|(name, value)| (*name, *value)));
    // The tree was never sprayed, unless something is taken that may say otherwise.
    let log_is_taken = takes.keys().any(|name| {
        !of_weather(plan, *name) && matches!(plan[*name].origin, Origin::Measure(_) | Origin::Tally(_))
    });
    let take = |(name, reading): (NameId, &crate::measure::Reading)| {
        let open = reading.assumed || log_is_taken && weather_measures.differs_with_sprays(name);
        let measured = of_weather(plan, name) && !open && !takes.contains_key(&name);
        let value = measured.then(|| value(reading.extent))??;
        Some(Take { name, value, span })
    };
    Ok((0..).map(NameId).zip(&gauged.names).filter_map(take).collect())
}

/// Returns whether a name is measured from the weather, by itself.
fn of_weather(plan: &Plan, name: NameId) -> bool {
    match &plan[name].origin {
        Origin::Measure(measure) => speaks_of_weather(&measure.expr).is_some(),
        Origin::Tally(_) => true,
        Origin::Observed(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => false,
    }
}

/// Returns what is taken of a reading; nothing of one that is left open.
fn value(extent: Extent) -> Option<TakenValue> {
    match extent.can_be {
        Possible::Nothing if extent.may_be_empty => Some(TakenValue::Empty),
        _ if extent.may_be_empty => None,
        Possible::Numbers(low, high) if low == high => Some(TakenValue::One(Datum::Number(low))),
        Possible::Numbers(low, high) if low.is_finite() && high.is_finite() => {
            Some(TakenValue::FromTo(Datum::Number(low), Datum::Number(high)))
        }
        Possible::Words(set) if set.is_power_of_two() => {
            Some(TakenValue::One(Datum::Word(set.trailing_zeros() as u16)))
        }
        Possible::Nothing
        | Possible::Numbers(..)
        | Possible::Words(_)
        | Possible::Text(_)
        | Possible::AnyText => None,
    }
}

/// Returns the offset of the first time in a file of hours that has one, in seconds.
fn first_offset(text: &str) -> Option<i32> {
    text.lines().flat_map(|line| line.split([',', ';', '\t'])).find_map(|cell| read_stamp(cell)?.ahead)
}

/// Returns a time zone with an offset in all seasons; universal time where there is none.
fn zone_of(offset: i32) -> Tz {
    let seasons = [0, 90, 181, 273].map(|day| DateTime::UNIX_EPOCH + Days::new(365 * 54 + day));
    let holds = |zone: &&Tz| {
        let at = |moment: &DateTime<Utc>| zone.offset_from_utc_datetime(&moment.naive_utc()).fix();
        seasons.iter().all(|moment| at(moment).local_minus_utc() == offset)
    };
    let of_whole_hours = TZ_VARIANTS.iter().filter(|zone| zone.name().starts_with("Etc/"));
    of_whole_hours.chain(&TZ_VARIANTS).find(holds).copied().unwrap_or(Tz::UTC)
}
