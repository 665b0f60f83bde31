//! The hourly forecast of the US National Weather Service: periods with local times, wind as text, no amounts of rain.

use super::json_values::{Loosely, WithUnit};
use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::duration::moment;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::unit_words::Scale;
use crate::phrase::said;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::Duration;
use serde::Deserialize;
use serde_json::Value;

pub(super) struct NwsHourly;

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Forecast {
    update_time: Option<String>,
    updated: Option<String>,
    generated_at: Option<String>,
    periods: Vec<Period>,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
struct Period {
    start_time: String,
    end_time: String,
    temperature: Option<Loosely>,
    temperature_unit: Option<String>,
    probability_of_precipitation: Option<WithUnit>,
    dewpoint: Option<WithUnit>,
    relative_humidity: Option<WithUnit>,
    wind_speed: Option<Loosely>,
    wind_gust: Option<Loosely>,
}

/// Offices that round to so many miles an hour do so in every period.
const ROUNDED: f64 = 5.0;
/// Fewer winds than this may all be multiples by chance.
const ENOUGH: usize = 10;

impl FormReader for NwsHourly {
    fn form(&self) -> WeatherForm {
        WeatherForm::NwsHourly
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        document.json.as_ref().and_then(properties).is_some_and(|value| value.get("periods").is_some())
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        let json = document.json.as_ref().and_then(properties).unwrap_or(&Value::Null);
        let forecast = Forecast::deserialize(json).map_err(|error| {
            let message = said!("a period is not as this form has it: {error}", error);
            document.problem(0, message, "fetch the file again")
        })?;
        let issued = [&forecast.update_time, &forecast.updated, &forecast.generated_at];
        draft.intake.issued = issued.into_iter().flatten().find_map(|text| moment(text));
        let slack = rounded_winds(&forecast.periods);
        for period in &forecast.periods {
            read_period(period, slack, draft)?;
        }
        draft.intake.rows = forecast.periods.len();
        draft.intake.step = Some(60);
        if slack > 0.0 {
            draft.intake.facts.push(FormFact::RoundedWind);
        }
        draft.intake.facts.push(FormFact::NoAmounts);
        Ok(())
    }
}

/// Returns where the values stand: under `properties`, or at the top.
pub(super) fn properties(json: &Value) -> Option<&Value> {
    Some(json.get("properties").unwrap_or(json))
}

fn read_period(period: &Period, slack: f64, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
    let document = draft.document;
    let (Some(from), Some(to)) = (moment(&period.start_time), moment(&period.end_time)) else {
        let at = document.text.find(&period.start_time).unwrap_or(0);
        return Err(document.problem(at, "a period has no time that can be read", "fetch the file again"));
    };
    if to - from > Duration::hours(1) {
        let at = document.text.find(&period.end_time).unwrap_or(0);
        let hours = (to - from).num_hours();
        let message = said!("this is the forecast by periods of {hours} hours", hours);
        return Err(document.problem(
            at,
            message,
            "fetch the hourly one: the address ends in `/forecast/hourly`",
        ));
    }
    draft.timeline.touch(draft.timeline.grid.hour_of(from));
    let take =
        |column: Column, value: Option<HourBounds>, title: &str, unit: &str, draft: &mut IntakeDraft<'_>| {
            draft.understood(title, column, unit);
            if let Some(value) = value {
                draft.timeline.holds(column, from, to, value);
            }
        };
    if let Some(temperature) = &period.temperature {
        let unit = period.temperature_unit.as_deref();
        let value = loosely(temperature, unit, Column::Temperature, draft)?;
        take(Column::Temperature, value, "temperature", &symbol(temperature, unit), draft);
    }
    for (column, measured, title) in [
        (Column::DewPoint, &period.dewpoint, "dewpoint"),
        (Column::Humidity, &period.relative_humidity, "relativeHumidity"),
    ] {
        if let Some(measured) = measured {
            let value = measured.bounds(column, draft)?;
            take(column, value, title, if column == Column::Humidity { "%" } else { "°C" }, draft);
        }
    }
    for (column, wind, title) in
        [(Column::Wind, &period.wind_speed, "windSpeed"), (Column::Gust, &period.wind_gust, "windGust")]
    {
        if let Some(wind) = wind {
            let value = loosely(wind, None, column, draft)?;
            let loose = |wind: HourBounds| HourBounds::between((wind.from - slack).max(0.0), wind.to + slack);
            let value = value.map(|wind| if column == Column::Wind { loose(wind) } else { wind });
            take(column, value, title, &symbol(wind, None), draft);
        }
    }
    let chance = period.probability_of_precipitation.as_ref().and_then(|chance| chance.value);
    // Where there is no chance of rain there is no measurable rain; any other chance bounds nothing.
    if chance == Some(0.0) {
        draft.timeline.holds(Column::Rain, from, to, HourBounds::is(0.0));
    }
    Ok(())
}

/// Reads `10 mph`, `5 to 10 mph`, a number with its unit beside, or a value of its own.
fn loosely(
    value: &Loosely,
    unit: Option<&str>,
    column: Column,
    draft: &mut IntakeDraft<'_>,
) -> Result<Option<HourBounds>, Box<Problem>> {
    let measured = |value, unit: Option<&str>| WithUnit {
        unit_code: unit.map(str::to_string),
        value: Some(value),
        ..WithUnit::default()
    };
    match value {
        Loosely::WithUnit(measured) => measured.bounds(column, draft),
        Loosely::Number(number) => measured(*number, unit).bounds(column, draft),
        Loosely::Text(text) => {
            let (numbers, own) = spoken(text);
            let unit = own.or(unit);
            match numbers[..] {
                [one] => measured(one, unit).bounds(column, draft),
                [from, to] => {
                    let both = WithUnit {
                        unit_code: unit.map(str::to_string),
                        min_value: Some(from),
                        max_value: Some(to),
                        ..WithUnit::default()
                    };
                    both.bounds(column, draft)
                }
                _ => Ok(None),
            }
        }
    }
}

/// Returns the symbol of a value's unit.
fn symbol(value: &Loosely, unit: Option<&str>) -> String {
    let unit = match value {
        Loosely::WithUnit(measured) => measured.unit_code.as_deref(),
        Loosely::Number(_) => unit,
        Loosely::Text(text) => spoken(text).1.or(unit),
    };
    unit.and_then(Scale::written).map_or_else(String::new, |scale| scale.symbol().to_string())
}

/// Parts `5 to 10 mph` into its numbers and its unit.
fn spoken(text: &str) -> (Vec<f64>, Option<&str>) {
    let numbers = text.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    let unit = text.split_whitespace().next_back().filter(|word| word.parse::<f64>().is_err());
    (numbers, unit)
}

/// Returns by how much winds may be off that an office rounds, in base units.
fn rounded_winds(periods: &[Period]) -> f64 {
    let mut count = 0;
    for period in periods {
        let Some(Loosely::Text(text)) = &period.wind_speed else { continue };
        let (numbers, unit) = spoken(text);
        if unit != Some("mph") || numbers.iter().any(|number| number % ROUNDED != 0.0) {
            return 0.0;
        }
        count += numbers.len();
    }
    let half = Scale::of("mph").map_or(0.0, |scale| scale.to_base(ROUNDED / 2.0));
    if count > ENOUGH { half } else { 0.0 }
}
