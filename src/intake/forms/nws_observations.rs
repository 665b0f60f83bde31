//! Observations of the US National Weather Service: newest first, with quality marks and the report of the airport.

use super::json_values::WithUnit;
use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::duration::moment;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::metar_text::Report;
use crate::phrase::said;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Utc};
use serde::Deserialize;
use std::collections::BTreeMap;

pub(super) struct NwsObservations;

#[derive(Deserialize)]
#[serde(untagged)]
enum StationReports {
    Many { features: Vec<Feature> },
    One(Box<Feature>),
}

#[derive(Deserialize)]
struct Feature {
    properties: StationReport,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct StationReport {
    timestamp: String,
    raw_message: Option<String>,
    temperature: Option<WithUnit>,
    dewpoint: Option<WithUnit>,
    relative_humidity: Option<WithUnit>,
    wind_speed: Option<WithUnit>,
    wind_gust: Option<WithUnit>,
    precipitation_last_hour: Option<WithUnit>,
}

impl FormReader for NwsObservations {
    fn form(&self) -> WeatherForm {
        WeatherForm::NwsObservations
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let json = document.json.as_ref();
        let feature = json.and_then(|json| json.get("features").map_or(Some(json), |list| list.get(0)));
        let properties = feature.and_then(|feature| feature.get("properties"));
        properties.is_some_and(|it| it.get("timestamp").is_some() && it.get("rawMessage").is_some())
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let list = match draft.document.parsed::<StationReports>()? {
            StationReports::Many { features } => features,
            StationReports::One(feature) => vec![*feature],
        };
        draft.intake.rows = list.len();
        draft.intake.step = Some(60);
        let mut by_hour: BTreeMap<i64, Vec<(DateTime<Utc>, &StationReport)>> = BTreeMap::new();
        for Feature { properties } in &list {
            let Some(at) = moment(&properties.timestamp) else {
                let place = draft.document.text.find(&properties.timestamp).unwrap_or(0);
                let message = said!("`{text}` is not a time", text = properties.timestamp);
                return Err(draft.document.problem(place, message, "fetch the file again"));
            };
            by_hour.entry(draft.timeline.nearest(at)).or_default().push((at, properties));
        }
        let mut specials = 0;
        for (hour, mut given) in by_hour {
            let begin = draft.timeline.grid.start(hour);
            // Between the hourly reports stand special ones, whose rain the next hourly one counts again.
            given.sort_by_key(|(at, _)| ((*at - begin).num_seconds().abs(), *at));
            specials += given.len() - 1;
            if let Some((at, observation)) = given.first() {
                read_one(*at, observation, draft)?;
            }
        }
        if specials > 0 {
            draft.intake.facts.push(FormFact::Specials(specials));
        }
        Ok(())
    }
}

/// What becomes of a value by its mark.
enum Marked {
    Good,
    Doubtful,
    Wrong,
}

fn mark(measured: &WithUnit) -> Marked {
    let mark = measured.quality_control.as_deref().unwrap_or_default();
    match mark.rsplit(':').next().unwrap_or_default() {
        "X" | "B" => Marked::Wrong,
        "Q" => Marked::Doubtful,
        _ => Marked::Good,
    }
}

fn read_one(
    at: DateTime<Utc>,
    observation: &StationReport,
    draft: &mut IntakeDraft<'_>,
) -> Result<(), Box<Problem>> {
    let report = observation.raw_message.as_deref().and_then(Report::read);
    let series: [(Column, &Option<WithUnit>, &str, &str); 5] = [
        (Column::Temperature, &observation.temperature, "temperature", "°C"),
        (Column::DewPoint, &observation.dewpoint, "dewpoint", "°C"),
        (Column::Humidity, &observation.relative_humidity, "relativeHumidity", "%"),
        (Column::Wind, &observation.wind_speed, "windSpeed", "km/h"),
        (Column::Gust, &observation.wind_gust, "windGust", "km/h"),
    ];
    draft.timeline.touch(draft.timeline.nearest(at));
    for (column, measured, title, unit) in series {
        draft.understood(title, column, unit);
        let written = report.as_ref().and_then(|report| report.value(column));
        if let Some(value) = marked(measured.as_ref(), column, written, draft)? {
            draft.timeline.instant(column, at, value);
        }
    }
    let rain = match &observation.precipitation_last_hour {
        Some(measured) => marked(Some(measured), Column::Rain, None, draft)?,
        None => None,
    };
    draft.understood("precipitationLastHour", Column::Rain, "mm");
    // A null is not zero; only the report itself tells whether none fell.
    if let Some(rain) = rain.or_else(|| report.as_ref().and_then(|report| report.rain)) {
        draft.traces += usize::from(rain.one().is_none());
        draft.timeline.hour_before(Column::Rain, at, rain);
    }
    Ok(())
}

/// Returns the value that counts: the given one, where its mark is good, else that of the report, unless that is the very
/// value that was marked.
fn marked(
    measured: Option<&WithUnit>,
    column: Column,
    written: Option<HourBounds>,
    draft: &mut IntakeDraft<'_>,
) -> Result<Option<HourBounds>, Box<Problem>> {
    let Some(measured) = measured else { return Ok(written) };
    let given = measured.bounds(column, draft)?;
    let Some(value) = given else { return Ok(written) };
    match mark(measured) {
        Marked::Good => return Ok(given),
        Marked::Doubtful => draft.questionable += 1,
        Marked::Wrong => draft.flagged += 1,
    }
    let apart = |other: &HourBounds| (other.from - value.from).abs() > 0.06 * value.from.abs().max(1.0);
    Ok(written.filter(apart))
}
