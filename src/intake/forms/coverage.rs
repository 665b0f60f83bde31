//! A series of points of the coverage standard: one axis of time, parameters with their units.

use super::json_values::scale_of;
use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::duration::moment;
use crate::intake::station::titles::{TitleMeaning, heading};
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

pub(super) struct Coverage;

#[derive(Deserialize)]
struct PointSeries {
    domain: Domain,
    parameters: BTreeMap<String, Parameter>,
    ranges: BTreeMap<String, RangeValues>,
}

#[derive(Deserialize)]
struct Domain {
    axes: BTreeMap<String, TimeAxis>,
}

#[derive(Deserialize)]
struct TimeAxis {
    #[serde(default)]
    values: Vec<Value>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Parameter {
    observed_property: ObservedProperty,
    unit: Option<ParameterUnit>,
}

#[derive(Deserialize)]
struct ObservedProperty {
    #[serde(default)]
    label: BTreeMap<String, String>,
}

#[derive(Deserialize)]
struct ParameterUnit {
    symbol: Option<Value>,
}

#[derive(Deserialize)]
struct RangeValues {
    values: Vec<Option<f64>>,
}

impl FormReader for Coverage {
    fn form(&self) -> WeatherForm {
        WeatherForm::Coverage
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let kind = document.json.as_ref().and_then(|json| json.get("domain")?.get("domainType"));
        kind.and_then(Value::as_str) == Some("PointSeries")
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let series = draft.document.parsed::<PointSeries>()?;
        let times = series.domain.axes.get("t").map(|axis| &axis.values[..]).unwrap_or_default();
        let times: Vec<Option<DateTime<Utc>>> =
            times.iter().map(|time| time.as_str().and_then(moment)).collect();
        draft.intake.rows = times.len();
        for at in times.iter().flatten() {
            draft.timeline.touch(draft.timeline.nearest(*at));
        }
        for (name, parameter) in &series.parameters {
            let label = parameter.observed_property.label.values().next().unwrap_or(name);
            let TitleMeaning::Series(column, _) = heading(label) else {
                draft.intake.left_out.push(label.clone());
                continue;
            };
            // Whether an amount is of the time before or after is not told by the form.
            if matches!(column, Column::Rain | Column::Gust | Column::LeafWet) {
                draft.intake.left_out.push(label.clone());
                continue;
            }
            let Some(values) = series.ranges.get(name) else { continue };
            let symbol = parameter.unit.as_ref().and_then(|unit| unit.symbol.as_ref());
            let symbol = symbol.and_then(|symbol| symbol.as_str().or_else(|| symbol.get("value")?.as_str()));
            let scale = scale_of(symbol, column, draft)?;
            draft.understood(label, column, scale.symbol());
            for (time, value) in times.iter().zip(&values.values) {
                let Some((at, number)) = time.zip(*value) else { continue };
                if let Some(value) = draft.base(column, &scale, number) {
                    draft.timeline.instant(column, at, value);
                }
            }
        }
        Ok(())
    }
}
