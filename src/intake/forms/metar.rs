//! Reports of airports, one a line, with day and time but no month.

use super::{FormReader, WeatherForm};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::document::Document;
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::metar_text::Report;
use crate::problems::Problem;
use crate::weather::Column;
use chrono::{DateTime, Datelike, Months, NaiveDate, Utc};
use std::collections::BTreeMap;

pub(super) struct Metar;

impl FormReader for Metar {
    fn form(&self) -> WeatherForm {
        WeatherForm::Metar
    }

    fn knows(&self, document: &Document<'_>) -> bool {
        let lines = document.lines().filter(|(_, line)| !line.trim().is_empty()).take(6);
        lines.filter(|(_, line)| Report::read(line).is_some()).count() > 0
    }

    fn read(&self, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
        let document = draft.document;
        let mut reports: Vec<Report> = document.lines().filter_map(|(_, line)| Report::read(line)).collect();
        draft.intake.rows = reports.len();
        draft.intake.step = Some(60);
        let mut stations: Vec<String> = reports.iter().map(|report| report.station.clone()).collect();
        stations.sort();
        stations.dedup();
        if let [_, _, ..] = &stations[..] {
            let about = stations.clone();
            draft.ask(FormQuestion { topic: Topic::Station, is_needed: true, proposed: None, about });
        }
        if let Some(station) = draft.answer(Topic::Station).filter(|_| stations.len() > 1) {
            reports.retain(|report| report.station.eq_ignore_ascii_case(station));
        }
        // A correction takes the place of the report of its time; specials are counted again in the next hourly one.
        let mut by_time: BTreeMap<DateTime<Utc>, &Report> = BTreeMap::new();
        let mut specials = 0;
        let mut months: Vec<(i32, u32)> = Vec::new();
        for report in &reports {
            if report.is_special {
                specials += 1;
                continue;
            }
            let Some(at) = moment_of(report, draft.place.as_of) else { continue };
            months.push((at.year(), at.month()));
            let known = by_time.get(&at).is_some_and(|known| known.is_correction && !report.is_correction);
            if !known {
                by_time.insert(at, report);
            }
        }
        for (at, report) in &by_time {
            read_one(*at, report, draft);
        }
        months.sort_unstable();
        months.dedup();
        draft.intake.facts.extend(months.into_iter().map(|(year, month)| FormFact::Month(year, month)));
        if specials > 0 {
            draft.intake.facts.push(FormFact::Specials(specials));
        }
        Ok(())
    }
}

fn read_one(at: DateTime<Utc>, report: &Report, draft: &mut IntakeDraft<'_>) {
    draft.timeline.touch(draft.timeline.nearest(at));
    for (column, title, unit) in [
        (Column::Temperature, "temperature", "°C"),
        (Column::DewPoint, "dew point", "°C"),
        (Column::Wind, "wind", "knots"),
        (Column::Gust, "gust", "knots"),
    ] {
        draft.understood(title, column, unit);
        if let Some(value) = report.value(column) {
            draft.timeline.instant(column, at, value);
        }
    }
    draft.understood("P", Column::Rain, "in");
    if let Some(rain) = report.rain {
        draft.traces += usize::from(rain.one().is_none());
        draft.timeline.hour_before(Column::Rain, at, rain);
    }
}

/// Returns the newest moment of a report that is not of a day ahead of the advice.
fn moment_of(report: &Report, as_of: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let (day, hour, minute) = report.at;
    let today = as_of.date_naive();
    (0..3).find_map(|back| {
        let month = today.with_day(1)?.checked_sub_months(Months::new(back))?;
        let date = NaiveDate::from_ymd_opt(month.year(), month.month(), day)?;
        (date <= today).then(|| date.and_hms_opt(hour, minute, 0)).flatten().map(|at| at.and_utc())
    })
}
