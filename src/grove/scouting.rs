//! `scouting.csv`: what was seen, of what, and when; only ever appended to.
//!
//! Comes in: a sheet. Goes out: rows of what was seen, and the grower's own rain gauge.

use super::moment::day_or_moment;
use super::reading::FileReading;
use super::sight::SightReader;
use super::target::{Places, Target};
use super::tree_list::share;
use super::trouble::Trouble;
use crate::phrase::said;
use crate::plan::NameId;
use crate::problems::{Finding, Problem};
use crate::source::{SourceId, Span};
use crate::tables::Sheet;
use crate::units::Dimension;
use crate::weather::GaugeReading;
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// The columns that are no observations.
const COLUMNS: &[&str] = &["when", "who", "on", "panicles", "rain", "note"];

/// What the gauge showed, by its day.
pub type Gauge = BTreeMap<NaiveDate, GaugeReading>;

/// All readings of the gauge in the order of their rows.
pub(super) type GaugeRows = Vec<(NaiveDate, GaugeReading)>;

/// A day in days of the common era, the moment if the row has one, and from when on its rain fell if it says so.
type RowMoment = (i32, Option<DateTime<Tz>>, Option<DateTime<Tz>>);

/// Reads the rows; those after the moment of the advice are left out.
pub(super) fn read(
    source: SourceId,
    places: &Places,
    sights: &mut SightReader,
    reading: &mut FileReading,
) -> GaugeRows {
    let mut gauge = GaugeRows::new();
    let Some(sheet) = Sheet::open_log(source, reading.text_of(source), &mut reading.problems) else {
        return gauge;
    };
    let (Some(when_at), Some(on)) = (sheet.column("when"), sheet.column("on")) else {
        for (name, what) in [("when", "the day, `2027-02-11`"), ("on", "the tree, the block or `grove`")] {
            if sheet.column(name).is_none() {
                reading.problems.push(sheet.missing(name, what));
            }
        }
        return gauge;
    };
    let (who, panicles, rain) = (sheet.column("who"), sheet.column("panicles"), sheet.column("rain"));
    let columns = columns(&sheet, sights, reading);
    let mut latest: (String, Option<RowMoment>) = (String::new(), None);
    sheet.rows(reading, |row, reading| {
        let text = row.cell(when_at);
        if latest.0 != text || text.is_empty() {
            let when = when(text, reading);
            let read = reading.keep(when, sheet.cell_span(row.span, when_at));
            latest = (text.to_string(), read);
        }
        // A day that cannot be read is reported; the rest of its row is still looked at.
        let day = latest.1.map(|(day, ..)| day);
        let targets = targets(row.cell(on), sheet.cell_span(row.span, on), places, reading);
        let counts = day.is_some_and(|day| day <= reading.today());
        if let Some(column) = rain.filter(|column| !row.cell(*column).is_empty()) {
            let span = sheet.cell_span(row.span, column);
            if let Some(depth) = reading.keep(millimetres(row.cell(column)), span)
                && let Some(date) = day.filter(|_| counts).and_then(NaiveDate::from_num_days_from_ce_opt)
            {
                let (read, from) = latest.1.map_or((None, None), |(_, read, from)| (read, from));
                let utc = |moment: Option<DateTime<Tz>>| moment.map(|moment| moment.with_timezone(&Utc));
                gauge.push((date, GaugeReading { total: depth, from: utc(from), read: utc(read) }));
            }
        }
        let share = panicles.filter(|column| !row.cell(*column).is_empty()).and_then(|column| {
            let span = sheet.cell_span(row.span, column);
            reading.keep(share(row.cell(column)), span)
        });
        let targets = targets.unwrap_or_default();
        let kept: &[Target] = if counts { &targets } else { &[] };
        let number = sights.row(day.unwrap_or(i32::MIN), row.span, kept, share.filter(|_| counts));
        if let Some((_, Some(moment), _)) = latest.1 {
            sights.written(number, moment);
        }
        if let Some(name) = who.map(|column| row.cell(column)).filter(|name| !name.is_empty()) {
            sights.looked(number, name);
        }
        for (column, reader, id) in &columns {
            let cell = row.raw_cell(*column);
            if cell.trim_ascii().is_empty() {
                continue;
            }
            let span = || sheet.cell_span(row.span, *column);
            match sights.cell(*reader, number, cell) {
                Ok(false) => {}
                Ok(true) => {
                    if let Some(trouble) = targets.iter().find_map(|target| reading.misplaced(*id, *target)) {
                        reading.problems.push(trouble.at(span()));
                    }
                }
                Err(trouble) => reading.problems.push(trouble.at(span())),
            }
        }
    });
    gauge
}

/// Reads what a row speaks of. A tree that has left the grove, as one that was felled, is left out and said.
fn targets(text: &str, at: Span, places: &Places, reading: &mut FileReading) -> Option<Vec<Target>> {
    let trouble = match places.read(text) {
        Ok(targets) => return Some(targets),
        Err(trouble) => trouble,
    };
    let Some((left, gone)) = places.without_gone(text) else {
        reading.problems.push(trouble.at(at));
        return None;
    };
    let names: Vec<String> = gone.iter().map(|name| format!("`{name}`")).collect();
    let names = names.join(", ");
    let gone_are = match gone.len() {
        1 => said!("{names} is not a tree of the grove, or no longer", names),
        _ => said!("{names} are not trees of the grove, or no longer", names),
    };
    let message = match left.is_empty() {
        true => said!("{gone_are}: the row is left out", gone_are),
        false => said!("{gone_are}: the row counts for the others", gone_are),
    };
    let near = gone.iter().find_map(|name| places.near(name));
    let help = near.map(|near| said!("if it is misspelt, did you mean `{near}`?", near));
    reading.problems.push(Problem::new(Finding::InputNote, at, message).maybe_help(help));
    Some(left)
}

fn columns(
    sheet: &Sheet,
    sights: &mut SightReader,
    reading: &mut FileReading,
) -> Vec<(usize, usize, NameId)> {
    let mut columns = Vec::new();
    for (at, column) in sheet.header.iter().enumerate() {
        if column.name.is_empty() || COLUMNS.contains(&column.name) {
            continue;
        }
        if let Some(id) = reading.observation(column.name, column.span, "a column of scouting", COLUMNS) {
            columns.push((at, sights.reader(id), id));
        }
    }
    columns
}

/// Returns the readings that are known at a moment. Of several of a day that counts which covers more of it; of equal ones
/// the later row.
pub(super) fn gauge_at(rows: &[(NaiveDate, GaugeReading)], as_of: DateTime<Tz>) -> Gauge {
    let covers = |it: &GaugeReading| (it.read.is_none(), it.read);
    let is_known = |date: NaiveDate, it: &GaugeReading| {
        date <= as_of.date_naive() && it.read.is_none_or(|read| read <= as_of)
    };
    let mut gauge = Gauge::new();
    for (date, reading) in rows.iter().filter(|(date, reading)| is_known(*date, reading)) {
        let kept = gauge.entry(*date).or_insert(*reading);
        if covers(reading) >= covers(kept) {
            *kept = *reading;
        }
    }
    gauge
}

/// Reads `when`; a moment after that of the advice is a day that never comes.
fn when(text: &str, reading: &FileReading) -> Result<RowMoment, Trouble> {
    if text.is_empty() {
        return Err(
            Trouble::new("the row does not say when this was seen").help("write the day: `2027-02-11`")
        );
    }
    let (from, to) = text.split_once(" to ").map_or((None, text), |(from, to)| (Some(from), to));
    let (date, moment) = day_or_moment(to, reading.zone(), reading.order)?;
    let later = moment.is_some_and(|moment| moment > reading.as_of);
    let from = from
        .map(|from| day_or_moment(from, reading.zone(), reading.order))
        .transpose()?
        .map(|(_, from)| from);
    let from = match (from, moment) {
        (None, _) => None,
        (Some(Some(from)), Some(to)) if from < to => Some(from),
        (Some(_), _) => {
            let help = "write two moments, the earlier one first: `2027-02-10T18:00 to 2027-02-11T06:00`";
            return Err(Trouble::new(said!("`{text}` is no span of time", text)).help(help));
        }
    };
    Ok((if later { i32::MAX } else { date.num_days_from_ce() }, moment, from))
}

fn millimetres(text: &str) -> Result<f64, Trouble> {
    let depth = super::keys::quantity(text, Dimension::LENGTH)?;
    if depth > 2000.0 {
        return Err(
            Trouble::new(said!("no day has a rain of `{text}`", text)).help("write what the gauge showed")
        );
    }
    Ok(depth)
}
