//! Hourly rows of fixed width without a header: twelve whole numbers, in tenths, UTC.

use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::hour_values::HourBounds;
use crate::intake::metar_text::TRACE;
use crate::intake::unit_words::Scale;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, NaiveDate, Utc};

pub(super) struct IsdLite;

const MISSING: i32 = -9999;
const TRACE_MARK: i32 = -1;
/// Where a value stands in a row, and its unit; all are in tenths.
const FIELDS: [(usize, Column, &str, &str); 3] = [
    (4, Column::Temperature, "air temperature", "°C"),
    (5, Column::DewPoint, "dew point", "°C"),
    (8, Column::Wind, "wind speed", "m/s"),
];
const RAIN: usize = 10;

impl FormReader for IsdLite {
    fn form(&self) -> WeatherForm {
        WeatherForm::IsdLite
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let mut lines = document.lines().filter(|(_, line)| !line.trim().is_empty()).take(5).peekable();
        lines.peek().is_some() && lines.all(|(_, line)| row(line).is_some())
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        for (at, line) in document.lines().filter(|(_, line)| !line.trim().is_empty()) {
            let Some((moment, numbers)) = row(line) else {
                let help =
                    "a row has twelve whole numbers: the file was cut, or something was written into it";
                return Err(document.problem(at, "this row is not one of twelve numbers", help));
            };
            draft.intake.rows += 1;
            read_row(moment, &numbers, draft);
        }
        draft.intake.step = Some(60);
        Ok(())
    }
}

fn row(line: &str) -> Option<(DateTime<Utc>, [i32; 12])> {
    let mut numbers = [0; 12];
    let mut words = line.split_ascii_whitespace();
    for number in &mut numbers {
        *number = words.next()?.parse().ok()?;
    }
    if words.next().is_some() {
        return None;
    }
    let [year, month, day, hour, ..] = numbers;
    let part = |number: i32| u32::try_from(number).ok();
    let date =
        NaiveDate::from_ymd_opt(year, part(month)?, part(day)?).filter(|_| (1900..2200).contains(&year))?;
    Some((date.and_hms_opt(part(hour)?, 0, 0)?.and_utc(), numbers))
}

fn read_row(at: DateTime<Utc>, numbers: &[i32; 12], draft: &mut IntakeDraft<'_>) {
    draft.timeline.touch(draft.timeline.nearest(at));
    for (place, column, title, unit) in FIELDS {
        let Some(scale) = Scale::of(unit) else { continue };
        draft.understood(title, column, unit);
        let number = numbers.get(place).copied().filter(|number| *number != MISSING);
        if let Some(value) = number.and_then(|number| draft.base(column, &scale, f64::from(number) / 10.0)) {
            draft.timeline.instant(column, at, value);
        }
    }
    draft.understood("rain of 1 h", Column::Rain, "mm");
    let rain = match numbers.get(RAIN).copied().unwrap_or(MISSING) {
        MISSING => None,
        TRACE_MARK => {
            draft.traces += 1;
            Some(HourBounds::between(0.0, TRACE))
        }
        tenths => {
            Scale::of("mm").and_then(|scale| draft.base(Column::Rain, &scale, f64::from(tenths) / 10.0))
        }
    };
    if let Some(rain) = rain {
        draft.timeline.hour_before(Column::Rain, at, rain);
    }
}
