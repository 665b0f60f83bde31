//! Arrays beside one another under `hourly`: instants at their time, sums and gusts of the hour before it.

use super::json_values::scale_of;
use super::{FormReader, WeatherForm};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::document::Document;
use crate::intake::draft::{IntakeDraft, moment_here};
use crate::problems::Problem;
use crate::tables::read_stamp;
use crate::weather::Column;
use chrono::{DateTime, Duration, Utc};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

pub(super) struct Columnar;

#[derive(Deserialize)]
struct Arrays {
    #[serde(default)]
    utc_offset_seconds: i64,
    hourly_units: BTreeMap<String, String>,
    hourly: BTreeMap<String, Vec<Value>>,
}

/// The arrays that are read, by the beginning of their names, and whether they tell of the hour before.
const SERIES: [(&str, Column, Tells); 7] = [
    ("temperature_2m", Column::Temperature, Tells::OfTheMoment),
    ("relative_humidity_2m", Column::Humidity, Tells::OfTheMoment),
    ("relativehumidity_2m", Column::Humidity, Tells::OfTheMoment),
    ("dew_point_2m", Column::DewPoint, Tells::OfTheMoment),
    ("wind_speed_10m", Column::Wind, Tells::OfTheMoment),
    ("wind_gusts_10m", Column::Gust, Tells::OfTheHourBefore),
    ("precipitation", Column::Rain, Tells::OfTheHourBefore),
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tells {
    OfTheMoment,
    OfTheHourBefore,
}

impl FormReader for Columnar {
    fn form(&self) -> WeatherForm {
        WeatherForm::Columnar
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let Some(json) = &document.json else { return false };
        let time = json.get("hourly").and_then(|hourly| hourly.get("time"));
        time.is_some_and(Value::is_array) && json.get("hourly_units").is_some()
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let arrays = draft.document.parsed::<Arrays>()?;
        // Nothing of it is measured, and it does not say when it was made.
        let made = draft.answer(Topic::Issued).and_then(|text| moment_here(text, draft.place));
        draft.intake.issued = made;
        if made.is_none() {
            let question =
                FormQuestion { topic: Topic::Issued, is_needed: true, proposed: None, about: Vec::new() };
            draft.intake.questions.push(question);
        }
        let times: Vec<Option<DateTime<Utc>>> = arrays
            .hourly
            .get("time")
            .into_iter()
            .flatten()
            .map(|time| moment(time, arrays.utc_offset_seconds))
            .collect();
        draft.intake.rows = times.len();
        draft.intake.step = Some(60);
        for (name, column, tells) in SERIES {
            let Some(values) = arrays.hourly.get(name) else { continue };
            let unit = arrays.hourly_units.get(name).map(String::as_str);
            let scale = scale_of(unit, column, draft)?;
            draft.understood(name, column, scale.symbol());
            for (time, value) in times.iter().zip(values) {
                let Some(at) = time else { continue };
                let Some(value) = value.as_f64().and_then(|number| draft.base(column, &scale, number)) else {
                    continue;
                };
                match tells {
                    Tells::OfTheMoment => draft.timeline.instant(column, *at, value),
                    Tells::OfTheHourBefore => draft.timeline.hour_before(column, *at, value),
                }
            }
        }
        Ok(())
    }
}

/// Reads a time: local by the offset of the file, or in seconds of UTC.
fn moment(time: &Value, ahead: i64) -> Option<DateTime<Utc>> {
    if let Some(seconds) = time.as_i64() {
        return DateTime::from_timestamp(seconds, 0);
    }
    let stamp = read_stamp(time.as_str()?)?;
    stamp.moment().or_else(|| Some((stamp.local - Duration::seconds(ahead)).and_utc()))
}
