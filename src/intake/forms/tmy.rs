//! A typical year of the third edition: a line of the place, a header, rows to 24:00 of local standard time.

use super::epw::ask_whether_typical;
use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::unit_words::Scale;
use crate::phrase::said;
use crate::problems::Problem;
use crate::tables::{LooseRow, LooseTable};
use crate::weather::Column;
use chrono::{DateTime, Duration, NaiveDate, Utc};

pub(super) struct Tmy;

const INSTANTS: [(&str, Column, &str); 4] = [
    ("Dry-bulb (C)", Column::Temperature, "°C"),
    ("Dew-point (C)", Column::DewPoint, "°C"),
    ("RHum (%)", Column::Humidity, "%"),
    ("Wspd (m/s)", Column::Wind, "m/s"),
];
const RAIN: &str = "Lprecip depth (mm)";
const RAIN_HOURS: &str = "Lprecip quantity (hr)";
/// What lies below is a mark for a missing value.
const MISSING: f64 = -9000.0;

impl FormReader for Tmy {
    fn form(&self) -> WeatherForm {
        WeatherForm::Tmy
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        document.lines().nth(1).is_some_and(|(_, line)| line.starts_with("Date (MM/DD/YYYY),Time (HH:MM)"))
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        let table = LooseTable::read(document.text);
        let [place, header, rows @ ..] = &table.rows[..] else { return Ok(()) };
        let Ok(ahead) = place.cell(3).parse::<f64>() else {
            return Err(document.problem(
                0,
                "the first line has no time zone",
                "its fourth part is the zone, `-4.0`",
            ));
        };
        ask_whether_typical(draft, place.cell(1));
        let column = |name: &str| header.cells().position(|cell| cell == name);
        let rain = column(RAIN).zip(column(RAIN_HOURS));
        let factor = rain.map_or(1.0, |(rain, _)| factor_of_rain(rows, rain));
        if factor < 1.0 {
            draft.intake.facts.push(FormFact::Tenths);
        }
        draft.intake.step = Some(60);
        for row in rows {
            let Some(at) = moment(row, ahead) else {
                let message =
                    said!("`{day} {time}` is not a time of this form", day = row.cell(0), time = row.cell(1));
                return Err(document.problem(
                    row.at,
                    message,
                    "the file was cut, or something was written into it",
                ));
            };
            draft.intake.rows += 1;
            draft.timeline.touch(draft.timeline.nearest(at));
            let number =
                |place: usize| row.cell(place).parse::<f64>().ok().filter(|number| *number > MISSING);
            for (name, series, unit) in INSTANTS {
                let Some((place, scale)) = column(name).zip(Scale::of(unit)) else { continue };
                draft.understood(name, series, unit);
                if let Some(value) = number(place).and_then(|number| draft.base(series, &scale, number)) {
                    draft.timeline.instant(series, at, value);
                }
            }
            let Some((depth, _)) = rain.filter(|(_, hours)| number(*hours) == Some(1.0)) else {
                continue;
            };
            draft.understood(RAIN, Column::Rain, "mm");
            let scale = Scale::of("mm").map(|scale| scale.times(factor));
            let value =
                number(depth).zip(scale).and_then(|(rain, scale)| draft.base(Column::Rain, &scale, rain));
            if let Some(value) = value {
                draft.timeline.hour_before(Column::Rain, at, value);
            }
        }
        Ok(())
    }
}

fn moment(row: &LooseRow, ahead: f64) -> Option<DateTime<Utc>> {
    let mut date = row.cell(0).split('/').map(|part| part.parse::<u32>().ok());
    let (month, day, year) = (date.next()??, date.next()??, date.next()??);
    let (hour, minute) = row.cell(1).split_once(':')?;
    let minutes = hour.parse::<i64>().ok()? * 60 + minute.parse::<i64>().ok()?;
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
    let local = date.and_time(chrono::NaiveTime::MIN) + Duration::minutes(minutes.min(24 * 60));
    Some((local - Duration::minutes((ahead * 60.0) as i64)).and_utc())
}

/// The title says millimetres, but of files whose numbers all are hundredths of an inch, tenfold and rounded, they are tenths.
fn factor_of_rain(rows: &[LooseRow], place: usize) -> f64 {
    let numbers = rows.iter().filter_map(|row| row.cell(place).parse::<f64>().ok());
    let rain: Vec<f64> = numbers.filter(|number| *number > 0.0).collect();
    let is_inches = |number: &f64| {
        let steps = (number / 2.54).round();
        (steps * 2.54).round() == *number
    };
    if !rain.is_empty() && rain.iter().all(is_inches) { 0.1 } else { 1.0 }
}
