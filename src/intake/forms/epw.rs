//! A typical year for buildings: eight header lines, then rows of 35 fields; hours 1 to 24 of local standard time.

use super::{FormReader, WeatherForm};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::unit_words::Scale;
use crate::phrase::said;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Duration, NaiveDate, Utc};

pub(super) struct Epw;

/// Where an instant stands in a row, from which number on it is missing, and its unit.
const INSTANTS: [(usize, Column, f64, &str, &str); 4] = [
    (6, Column::Temperature, 99.9, "°C", "dry bulb"),
    (7, Column::DewPoint, 99.9, "°C", "dew point"),
    (8, Column::Humidity, 999.0, "%", "relative humidity"),
    (21, Column::Wind, 999.0, "m/s", "wind speed"),
];
/// The rain and the hours over which it fell.
const RAIN: (usize, usize) = (33, 34);
const FIELDS: usize = 35;

impl FormReader for Epw {
    fn form(&self) -> WeatherForm {
        WeatherForm::Epw
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        document.text.starts_with("LOCATION,") && document.text.contains("\nDATA PERIODS,")
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        let mut lines = document.lines();
        let location: Vec<&str> = lines.next().map_or("", |(_, line)| line).split(',').collect();
        let Some(ahead) = location.get(8).and_then(|text| text.trim().parse::<f64>().ok()) else {
            return Err(document.problem(
                0,
                "the line `LOCATION` has no time zone",
                "its ninth part is the zone, `-4.0`",
            ));
        };
        ask_whether_typical(draft, location.get(1).copied().unwrap_or_default());
        let rows = lines.skip_while(|(_, line)| !line.starts_with("DATA PERIODS")).skip(1);
        for (at, line) in rows.filter(|(_, line)| !line.trim().is_empty()) {
            let fields: Vec<&str> = line.split(',').collect();
            let moment = (fields.len() >= FIELDS).then(|| moment(&fields, ahead)).flatten();
            let Some(moment) = moment else {
                let message = said!(
                    "the row has {count} fields, not {wanted} with a date",
                    count = fields.len(),
                    wanted = FIELDS
                );
                return Err(document.problem(
                    at,
                    message,
                    "the file was cut, or something was written into it",
                ));
            };
            draft.intake.rows += 1;
            read_row(moment, &fields, draft);
        }
        draft.intake.step = Some(60);
        Ok(())
    }
}

/// Asks whether a typical year may stand for weather: it is that of no season.
pub(super) fn ask_whether_typical(draft: &mut IntakeDraft<'_>, place: &str) {
    let about = vec![place.trim_matches('"').to_string()];
    if draft.answer(Topic::TypicalYear) != Some("yes") {
        let question = FormQuestion { topic: Topic::TypicalYear, is_needed: true, proposed: None, about };
        draft.intake.questions.push(question);
    }
}

fn moment(fields: &[&str], ahead: f64) -> Option<DateTime<Utc>> {
    let part = |place: usize| fields.get(place)?.trim().parse::<u32>().ok();
    let date = NaiveDate::from_ymd_opt(i32::try_from(part(0)?).ok()?, part(1)?, part(2)?)?;
    let hour = part(3).filter(|hour| (1..=24).contains(hour))?;
    let local = date.and_time(chrono::NaiveTime::MIN) + Duration::hours(i64::from(hour));
    Some((local - Duration::minutes((ahead * 60.0) as i64)).and_utc())
}

fn read_row(at: DateTime<Utc>, fields: &[&str], draft: &mut IntakeDraft<'_>) {
    let number = |place: usize| fields.get(place).and_then(|text| text.trim().parse::<f64>().ok());
    draft.timeline.touch(draft.timeline.nearest(at));
    for (place, column, missing, unit, title) in INSTANTS {
        let Some(scale) = Scale::of(unit) else { continue };
        draft.understood(title, column, unit);
        let number = number(place).filter(|number| *number < missing);
        if let Some(value) = number.and_then(|number| draft.base(column, &scale, number)) {
            draft.timeline.instant(column, at, value);
        }
    }
    draft.understood("liquid precipitation depth", Column::Rain, "mm");
    let rain = number(RAIN.0).filter(|rain| *rain < 999.0 && number(RAIN.1) == Some(1.0));
    if let Some(rain) =
        rain.and_then(|rain| Scale::of("mm").and_then(|scale| draft.base(Column::Rain, &scale, rain)))
    {
        draft.timeline.hour_before(Column::Rain, at, rain);
    }
}
