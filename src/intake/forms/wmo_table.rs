//! The table from which weather services make their messages: UTC in five columns, kelvin, sums and gusts of the hour before.

use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::hour_values::HourBounds;
use crate::intake::unit_words::Scale;
use crate::problems::Problem;
use crate::tables::{LooseRow, LooseTable};
use crate::weather::Column;
use chrono::{DateTime, NaiveDate, Utc};

pub(super) struct WmoTable;

const INSTANTS: [(&str, Column, &str); 4] = [
    ("air_temperature", Column::Temperature, "K"),
    ("dewpoint_temperature", Column::DewPoint, "K"),
    ("relative_humidity", Column::Humidity, "%"),
    ("wind_speed", Column::Wind, "m/s"),
];
const OF_THE_HOUR: [(&str, Column, &str); 2] = [
    ("maximum_wind_gust_speed_1_hour", Column::Gust, "m/s"),
    ("total_precipitation_1_hour", Column::Rain, "mm"),
];
/// Rain of less than a tenth of a millimetre is written as one below zero.
const TRACE: f64 = 0.1;

impl FormReader for WmoTable {
    fn form(&self) -> WeatherForm {
        WeatherForm::WmoTable
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let first = document.lines().next().map_or("", |(_, line)| line);
        first.contains("wsi_series") && first.contains("air_temperature")
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let table = LooseTable::read(draft.document.text);
        let Some((header, rows)) = table.rows.split_first() else { return Ok(()) };
        let column = |name: &str| header.cells().position(|cell| cell == name);
        let time = ["year", "month", "day", "hour", "minute"].map(column);
        draft.intake.step = Some(60);
        for row in rows {
            let Some(at) = moment(row, time) else {
                let help = "the columns year, month, day, hour and minute make the time";
                return Err(draft.document.problem(row.at, "this row has no time", help));
            };
            draft.intake.rows += 1;
            draft.timeline.touch(draft.timeline.nearest(at));
            let number =
                |place: usize| row.cell(place).parse::<f64>().ok().filter(|number| number.is_finite());
            for (name, series, unit) in INSTANTS {
                let Some((place, scale)) = column(name).zip(Scale::of(unit)) else { continue };
                draft.understood(name, series, unit);
                if let Some(value) = number(place).and_then(|number| draft.base(series, &scale, number)) {
                    draft.timeline.instant(series, at, value);
                }
            }
            for (name, series, unit) in OF_THE_HOUR {
                let Some((place, scale)) = column(name).zip(Scale::of(unit)) else { continue };
                draft.understood(name, series, unit);
                let value = match number(place) {
                    Some(number) if series == Column::Rain && number < 0.0 => {
                        draft.traces += 1;
                        Some(HourBounds::between(0.0, TRACE))
                    }
                    Some(number) => draft.base(series, &scale, number),
                    None => None,
                };
                if let Some(value) = value {
                    draft.timeline.hour_before(series, at, value);
                }
            }
        }
        Ok(())
    }
}

fn moment(row: &LooseRow, time: [Option<usize>; 5]) -> Option<DateTime<Utc>> {
    let [year, month, day, hour, minute] = time.map(|place| row.cell(place?).parse::<u32>().ok());
    let date = NaiveDate::from_ymd_opt(i32::try_from(year?).ok()?, month?, day?)?;
    Some(date.and_hms_opt(hour?, minute.unwrap_or(0), 0)?.and_utc())
}
