//! The raw grid of the US National Weather Service: layers of values, each for an interval of its own length.

use super::json_values::scale_of;
use super::nws_hourly::properties;
use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::duration::{interval, moment};
use crate::intake::hour_values::HourBounds;
use crate::intake::timeline::FellOver;
use crate::phrase::said;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;

pub(super) struct NwsGrid;

#[derive(Deserialize, Default)]
struct GridLayer {
    uom: Option<String>,
    #[serde(default)]
    values: Vec<Valid>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Valid {
    valid_time: String,
    value: Option<f64>,
}

/// The layers that are read. Of amounts of rain each value is the total of its interval; of the others it holds in each
/// of its hours.
const LAYERS: [(&str, Column); 6] = [
    ("temperature", Column::Temperature),
    ("dewpoint", Column::DewPoint),
    ("relativeHumidity", Column::Humidity),
    ("windSpeed", Column::Wind),
    ("windGust", Column::Gust),
    ("quantitativePrecipitation", Column::Rain),
];

impl FormReader for NwsGrid {
    fn form(&self) -> WeatherForm {
        WeatherForm::NwsGrid
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let layer = document.json.as_ref().and_then(properties).and_then(|value| value.get("temperature"));
        let first = layer.and_then(|layer| layer.get("values")).and_then(|values| values.get(0));
        first.is_some_and(|value| value.get("validTime").is_some())
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        let json = document.json.as_ref().and_then(properties).unwrap_or(&Value::Null);
        draft.intake.issued = json.get("updateTime").and_then(Value::as_str).and_then(moment);
        for (name, column) in LAYERS {
            let Some(layer) = json.get(name) else { continue };
            let layer = GridLayer::deserialize(layer).map_err(|error| {
                let at = document.text.find(name).unwrap_or(0);
                document.problem(
                    at,
                    said!("`{name}` is not as this form has it: {error}", name, error),
                    "fetch the file again",
                )
            })?;
            read_layer(&layer, name, column, draft)?;
        }
        draft.intake.step = Some(60);
        Ok(())
    }
}

fn read_layer(
    layer: &GridLayer,
    name: &str,
    column: Column,
    draft: &mut IntakeDraft<'_>,
) -> Result<(), Box<Problem>> {
    if layer.values.is_empty() {
        return Ok(());
    }
    let scale = scale_of(layer.uom.as_deref(), column, draft)?;
    draft.understood(name, column, scale.symbol());
    let mut fell = Vec::new();
    for valid in &layer.values {
        let (from, to) = times(valid, draft)?;
        draft.intake.rows += 1;
        let Some(value) = valid.value.and_then(|value| draft.base(column, &scale, value)) else { continue };
        if column == Column::Rain {
            fell.push(FellOver { from, to, amount: HourBounds::is(value.from) });
        } else {
            draft.timeline.holds(column, from, to, value);
        }
    }
    draft.fell(&fell);
    Ok(())
}

fn times(valid: &Valid, draft: &IntakeDraft<'_>) -> Result<(DateTime<Utc>, DateTime<Utc>), Box<Problem>> {
    interval(&valid.valid_time).ok_or_else(|| {
        let at = draft.document.text.find(&valid.valid_time).unwrap_or(0);
        let message = said!("`{text}` is not an interval of time", text = valid.valid_time);
        draft.document.problem(at, message, "fetch the file again")
    })
}
