//! Hourly rows of the world's airports, fields with quality marks inside of cells, UTC.

use super::{FormReader, WeatherForm};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::metar_text::TRACE;
use crate::intake::unit_words::Scale;
use crate::phrase::said;
use crate::problems::Problem;
use crate::tables::read_stamp;
use crate::tables::{LooseRow, LooseTable};
use crate::weather::Column;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

pub(super) struct GlobalHourly;

/// Reports that are read; those before the others count first.
const HOURLY: [&str; 4] = ["FM-15", "FM-12", "SY-MT", "AUTO"];

struct FieldPlaces {
    date: usize,
    report: usize,
    temperature: usize,
    dew: usize,
    wind: usize,
    gust: Option<usize>,
    rain: Vec<usize>,
}

impl FormReader for GlobalHourly {
    fn form(&self) -> WeatherForm {
        WeatherForm::GlobalHourly
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let first = document.lines().next().map_or("", |(_, line)| line);
        ["TMP", "DEW", "WND", "REPORT_TYPE", "DATE"].iter().all(|word| first.contains(word))
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let table = LooseTable::read(draft.document.text);
        let Some((header, rows)) = table.rows.split_first() else { return Ok(()) };
        let place = |name: &str| header.cells().position(|cell| cell == name);
        let places = (|| {
            Some(FieldPlaces {
                date: place("DATE")?,
                report: place("REPORT_TYPE")?,
                temperature: place("TMP")?,
                dew: place("DEW")?,
                wind: place("WND")?,
                gust: place("OC1"),
                rain: ["AA1", "AA2", "AA3", "AA4"].iter().filter_map(|name| place(name)).collect(),
            })
        })();
        let Some(places) = places else {
            let help = "fetch the file with all of its columns";
            return Err(draft.document.problem(0, "the header lacks a column of this form", help));
        };
        draft.intake.rows = rows.len();
        draft.intake.step = Some(60);
        let mut chosen: BTreeMap<i64, (usize, DateTime<Utc>, &LooseRow)> = BTreeMap::new();
        let mut specials = 0;
        for row in rows {
            let Some(at) = read_stamp(row.cell(places.date)).map(|stamp| stamp.local.and_utc()) else {
                let message = said!("`{text}` is not a time", text = row.cell(places.date));
                return Err(draft.document.problem(row.at, message, "fetch the file again"));
            };
            let report = row.cell(places.report);
            let Some(rank) = HOURLY.iter().position(|hourly| *hourly == report) else {
                specials += usize::from(report == "FM-16");
                continue;
            };
            let hour = draft.timeline.nearest(at);
            match chosen.get(&hour) {
                Some((other, _, _)) if *other <= rank => {}
                Some(_) | None => {
                    chosen.insert(hour, (rank, at, row));
                }
            }
        }
        for (_, at, row) in chosen.values() {
            read_row(*at, row, &places, draft);
        }
        if specials > 0 {
            draft.intake.facts.push(FormFact::Specials(specials));
        }
        Ok(())
    }
}

fn read_row(at: DateTime<Utc>, row: &LooseRow, places: &FieldPlaces, draft: &mut IntakeDraft<'_>) {
    draft.timeline.touch(draft.timeline.nearest(at));
    let parts = |place: usize| row.cell(place).split(',').collect::<Vec<&str>>();
    let wind = parts(places.wind);
    // A wind of unknown kind that is zero is a calm.
    let wind = [wind.get(3).copied().unwrap_or_default(), wind.get(4).copied().unwrap_or_default()];
    let gust = places.gust.map(parts).unwrap_or_default();
    for (column, cell, title, unit) in [
        (Column::Temperature, &parts(places.temperature)[..], "TMP", "°C"),
        (Column::DewPoint, &parts(places.dew)[..], "DEW", "°C"),
        (Column::Wind, &wind[..], "WND", "m/s"),
        (Column::Gust, &gust[..], "OC1", "m/s"),
    ] {
        let [number, quality, ..] = cell else { continue };
        let Some(number) = tenths(number).filter(|_| passes(quality, draft)) else { continue };
        let Some(scale) = Scale::of(unit) else { continue };
        draft.understood(title, column, unit);
        if let Some(value) = draft.base(column, &scale, number) {
            draft.timeline.instant(column, at, value);
        }
    }
    for place in &places.rain {
        let cell = parts(*place);
        // Only the rain of one hour is that of an hour; longer ones reach over hours that are told one by one.
        let [hours, amount, condition, quality, ..] = &cell[..] else { continue };
        if hours.parse::<u32>() != Ok(1) || !passes(quality, draft) {
            continue;
        }
        draft.understood("AA1", Column::Rain, "mm");
        let rain = match (*condition, tenths(amount)) {
            ("2", _) => {
                draft.traces += 1;
                Some(HourBounds::between(0.0, TRACE))
            }
            ("1" | "3" | "5" | "6" | "7" | "8" | "I" | "J", _) | (_, None) => None,
            (_, Some(amount)) => Scale::of("mm").and_then(|scale| draft.base(Column::Rain, &scale, amount)),
        };
        if let Some(rain) = rain {
            draft.timeline.hour_before(Column::Rain, at, rain);
        }
    }
}

/// Reads a number of tenths; all nines are none.
fn tenths(text: &str) -> Option<f64> {
    let digits = text.trim_start_matches(['+', '-']);
    if digits.is_empty() || digits.bytes().all(|digit| digit == b'9') {
        return None;
    }
    text.trim_start_matches('+').parse::<i32>().ok().map(|number| f64::from(number) / 10.0)
}

/// Returns whether a value counts by its quality; those that do not are counted.
fn passes(quality: &str, draft: &mut IntakeDraft<'_>) -> bool {
    match quality {
        "3" | "7" => draft.flagged += 1,
        "2" | "6" => draft.questionable += 1,
        _ => return true,
    }
    false
}
