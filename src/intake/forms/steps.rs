//! A time series of steps, each with instants and with sums of the hours that follow it.

use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::duration::moment;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::timeline::FellOver;
use crate::intake::unit_words::Scale;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Duration, Utc};
use serde::Deserialize;
use std::collections::BTreeMap;

pub(super) struct StepsReader;

#[derive(Deserialize)]
struct StepSeries {
    properties: Properties,
}

#[derive(Deserialize)]
struct Properties {
    meta: Meta,
    timeseries: Vec<ForecastStep>,
}

#[derive(Deserialize)]
struct Meta {
    updated_at: Option<String>,
    #[serde(default)]
    units: BTreeMap<String, String>,
}

#[derive(Deserialize)]
struct ForecastStep {
    time: String,
    data: StepData,
}

#[derive(Deserialize)]
struct StepData {
    instant: Details,
    next_1_hours: Option<Details>,
    next_6_hours: Option<Details>,
}

#[derive(Deserialize)]
struct Details {
    #[serde(default)]
    details: BTreeMap<String, f64>,
}

const INSTANTS: [(&str, Column); 5] = [
    ("air_temperature", Column::Temperature),
    ("relative_humidity", Column::Humidity),
    ("dew_point_temperature", Column::DewPoint),
    ("wind_speed", Column::Wind),
    ("wind_speed_of_gust", Column::Gust),
];
const RAIN: &str = "precipitation_amount";

impl FormReader for StepsReader {
    fn form(&self) -> WeatherForm {
        WeatherForm::Steps
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let series = document.json.as_ref().and_then(|json| json.get("properties")?.get("timeseries"));
        series.is_some_and(serde_json::Value::is_array)
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let StepSeries { properties: Properties { meta, timeseries } } =
            draft.document.parsed::<StepSeries>()?;
        draft.intake.issued = meta.updated_at.as_deref().and_then(moment);
        draft.intake.rows = timeseries.len();
        let mut steps = Vec::new();
        for step in &timeseries {
            let Some(at) = moment(&step.time) else {
                let place = draft.document.text.find(&step.time).unwrap_or(0);
                return Err(draft.document.problem(place, "a step has no time", "fetch the file again"));
            };
            steps.push((at, &step.data));
        }
        for (name, column) in INSTANTS {
            let Some(scale) = scale(&meta, name, column, draft)? else { continue };
            for (at, data) in &steps {
                let number = data.instant.details.get(name).copied();
                draft.timeline.touch(draft.timeline.nearest(*at));
                if let Some(value) = number.and_then(|number| draft.base(column, &scale, number)) {
                    draft.understood(name, column, scale.symbol());
                    draft.timeline.instant(column, *at, value);
                }
            }
        }
        if let Some(scale) = scale(&meta, RAIN, Column::Rain, draft)? {
            draft.understood(RAIN, Column::Rain, scale.symbol());
            rain(&steps, &scale, draft);
        }
        if steps
            .windows(2)
            .any(|pair| matches!(pair, [(one, _), (next, _)] if *next - *one > Duration::hours(1)))
        {
            draft.intake.facts.push(FormFact::Coarse);
        }
        Ok(())
    }
}

fn scale(
    meta: &Meta,
    name: &str,
    column: Column,
    draft: &IntakeDraft<'_>,
) -> Result<Option<Scale>, Box<Problem>> {
    let Some(unit) = meta.units.get(name) else { return Ok(None) };
    super::json_values::scale_of(Some(unit), column, draft).map(Some)
}

/// The sums run forward from their step, up to the next one: the shorter sum counts, the longer bounds what it leaves.
fn rain(steps: &[(DateTime<Utc>, &StepData)], scale: &Scale, draft: &mut IntakeDraft<'_>) {
    let mut fell = Vec::new();
    for (place, (at, data)) in steps.iter().enumerate() {
        let until = steps.get(place + 1).map(|(next, _)| *next);
        let mut from = *at;
        for (hours, sums) in [(1, &data.next_1_hours), (6, &data.next_6_hours)] {
            let end = *at + Duration::hours(hours);
            let to = until.map_or(end, |until| until.min(end));
            let amount = sums.as_ref().and_then(|sums| sums.details.get(RAIN)).copied();
            let Some(amount) = amount.and_then(|amount| draft.base(Column::Rain, scale, amount)) else {
                continue;
            };
            if to <= from {
                continue;
            }
            if from == *at && to == end {
                fell.push(FellOver { from, to, amount });
            } else {
                // A part of a longer sum: each of its hours has at most the whole.
                let bounded = HourBounds::between(0.0, amount.to);
                let hours = (to - from).num_hours();
                let starts = (0..hours).map(|hour| from + Duration::hours(hour));
                fell.extend(starts.map(|from| FellOver {
                    from,
                    to: from + Duration::hours(1),
                    amount: bounded,
                }));
            }
            from = to;
        }
    }
    draft.fell(&fell);
}
