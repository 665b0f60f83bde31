//! Reading a weather file.

use super::alike::Alike;
use super::columns::{Header, read_header};
use super::gauge::{GaugeReading, apply_gauge};
use super::hours::{HourValues, Weather};
use super::quality::{note_empty_cells, note_missing_hours, note_passed_hours};
use super::rows::{Rows, WeatherRow};
use super::{Column, HourGrid, LocalTime, resolve_local};
use crate::phrase::said;
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Span};
use crate::tables::{Sheet, Stamp};
use chrono::{DateTime, Duration, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// A weather file, and what the grove says of it.
#[derive(Clone, Debug)]
pub struct WeatherFile<'t> {
    /// The text of the file.
    pub text: &'t str,
    /// Its number among the sources.
    pub source: SourceId,
    /// For a word of ours, `temperature` or `temperature [°F]`, the header that the file has instead.
    pub columns: &'t BTreeMap<String, String>,
    /// The zone of local times.
    pub zone: Tz,
    /// The moment of the advice.
    pub as_of: DateTime<Utc>,
    /// When the forecast was issued, if the file holds one.
    pub forecast_issued: Option<DateTime<Utc>>,
    /// Up to this moment the hours are measured, where that is later than the forecast was issued.
    pub measured_to: Option<DateTime<Utc>>,
    /// What the grower's own gauge showed, by local date.
    pub gauge: &'t BTreeMap<NaiveDate, GaugeReading>,
}

/// Reads a weather file. What can be read is returned also beside errors.
///
/// An hour given twice with the same values is kept once; where the values differ, those that do count as
/// missing. Both are reported.
pub fn read(file: &WeatherFile<'_>) -> (Weather, Problems) {
    let mut problems = Problems::default();
    let rows = read_rows(file, &mut problems);
    let grid = HourGrid::new(file.zone, file.as_of);
    let placed = place_rows(file, grid, &rows, &mut problems);
    let weather = dense(file, grid, &rows, placed, &mut problems);
    (weather, problems)
}

fn read_rows(file: &WeatherFile<'_>, problems: &mut Problems) -> Vec<WeatherRow> {
    let Some(sheet) = Sheet::open(file.source, file.text, problems) else { return Vec::new() };
    let cells: Vec<(&str, Span)> = sheet.header.iter().map(|column| (column.name, column.span)).collect();
    let header: Header = read_header(&cells, file.columns, problems);
    if header.time.is_none() {
        return Vec::new();
    }
    let mut rows = Rows::new(&header, &sheet);
    sheet.rows(problems, |row, _| rows.read(row));
    let end = Span::new(file.source, file.text.len(), file.text.len());
    let rows = rows.finish(problems);
    if rows.is_empty() && !problems.any_error() {
        problems.push(Problem::new(Finding::Input, end, "the weather file has no rows"));
    }
    note_empty_cells(&header, &rows, problems);
    rows
}

/// So many years of hours before the advice are read: less than a century, so that 1927 typed for 2027 is an error.
const YEARS: i64 = 80;

/// Finds the hour of each row; nothing for a row that has none.
fn place_rows(
    file: &WeatherFile<'_>,
    grid: HourGrid,
    rows: &[WeatherRow],
    problems: &mut Problems,
) -> BTreeMap<i64, Vec<usize>> {
    let mut placed: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    let mut past: Option<(Span, usize)> = None;
    let mut found = Alike::default();
    let backwards = rows.first().map(|row| row.stamp.local) > rows.last().map(|row| row.stamp.local);
    let mut order: Vec<usize> = (0..rows.len()).collect();
    if backwards {
        order.reverse();
    }
    let reach = (file.as_of - Duration::days(YEARS * 366), file.as_of + Duration::days(400));
    for place in order {
        let Some(row) = rows.get(place) else { continue };
        let Some(at) = moment(file.zone, grid, row, &placed, &mut found) else { continue };
        if at > file.as_of && file.forecast_issued.is_none() {
            let (_, count) = past.get_or_insert((row.span, 0));
            *count += 1;
        } else if at < reach.0 || at > reach.1 {
            let message =
                said!("the time lies too far from the advice of {day}", day = file.as_of.format("%Y-%m-%d"));
            let help = said!(
                "weather is read from {years} years before the advice to 400 days after it",
                years = YEARS
            );
            found.add(Problem::new(Finding::Input, row.span, message).label("this row").help(help));
        } else {
            placed.entry(grid.hour_of(at)).or_default().push(place);
        }
    }
    found.finish(problems);
    if let Some((span, count)) = past {
        let moment = file.as_of.with_timezone(&file.zone).format("%Y-%m-%d %H:%M");
        let message = match count {
            1 => said!("1 row lies after the moment of the advice, {moment}", moment),
            _ => said!("{count} rows lie after the moment of the advice, {moment}", count, moment),
        };
        let help = "say in the grove's `weather` when the forecast was issued, `forecast-issued: …`, or take them out";
        problems.push(Problem::new(Finding::Input, span, message).label("the first of them").help(help));
    }
    placed
}

fn moment(
    zone: Tz,
    grid: HourGrid,
    row: &WeatherRow,
    placed: &BTreeMap<i64, Vec<usize>>,
    found: &mut Alike,
) -> Option<DateTime<Utc>> {
    match moment_of(zone, row.stamp, |first| placed.contains_key(&grid.hour_of(first))) {
        Some(at) => Some(at),
        None => {
            let shown = row.stamp.local.format("%Y-%m-%dT%H:%M");
            let message = said!("the clock of {zone} never showed {shown}", zone, shown);
            let help = "the clock was put forward over it: write the time with its offset from UTC";
            found.add(Problem::new(Finding::Input, row.span, message).label("this hour").help(help));
            None
        }
    }
}

/// Returns the moment of a time as a file gives it; of one that the clock showed twice the second, if the first is taken.
pub(super) fn moment_of(
    zone: Tz,
    stamp: Stamp,
    is_taken: impl Fn(DateTime<Utc>) -> bool,
) -> Option<DateTime<Utc>> {
    if stamp.ahead.is_some() {
        return stamp.moment();
    }
    match resolve_local(zone, stamp.local) {
        LocalTime::Once(at) => Some(at),
        LocalTime::Twice(first, second) => Some(if is_taken(first) { second } else { first }),
        LocalTime::Never => None,
    }
}

/// Lays the rows out hour by hour.
fn dense(
    file: &WeatherFile<'_>,
    grid: HourGrid,
    rows: &[WeatherRow],
    placed: BTreeMap<i64, Vec<usize>>,
    problems: &mut Problems,
) -> Weather {
    let first = placed.keys().next().copied().unwrap_or_else(|| grid.hour_of(file.as_of));
    let end = placed.keys().next_back().map_or(first, |last| last + 1);
    let mut hours = vec![HourValues::default(); usize::try_from(end - first).unwrap_or(0)];
    let mut between = BTreeMap::new();
    let mut together = Vec::new();
    let doubled = placed.values().filter(|places| places.len() > 1).count();
    let too_fine = doubled > 2 && doubled * 2 > placed.len();
    if too_fine && let Some(row) = rows.first() {
        let message = "the file has several rows for most hours";
        let help = "give one row an hour: means of temperature, humidity and wind, the highest gust, the sum of rain";
        problems.push(Problem::new(Finding::Input, row.span, message).label("the first row").help(help));
    }
    let mut again = Alike::default();
    for (hour, places) in &placed {
        let given: Vec<&WeatherRow> = places.iter().filter_map(|place| rows.get(*place)).collect();
        let values = agreed(&given);
        if let [one] = given.as_slice()
            && let Some(over) = one.rain_over
        {
            together.push((*hour, hour + over));
        }
        if let [first, others @ ..] = given.as_slice() {
            let ends = first.ends.iter().filter(|ends| others.iter().all(|other| other.ends.contains(ends)));
            let ends = ends.filter(|(column, ..)| values.get(*column).is_none());
            between.extend(ends.map(|(column, low, high)| ((*hour, *column), (*low, *high))));
        }
        if !too_fine && let [first, .., last] = given.as_slice() {
            let same = given.iter().all(|row| row.values == first.values);
            let shown = grid.local(*hour).format("%Y-%m-%d %H:%M");
            let message = said!("the hour of {shown} is given {given} times", shown, given = given.len());
            let label = if same { "the same again" } else { "what differs is counted as missing" };
            again.add(
                Problem::new(Finding::InputNote, last.span, message)
                    .label(label)
                    .related(first.span, "the first one"),
            );
        }
        if let Some(slot) = usize::try_from(hour - first).ok().and_then(|place| hours.get_mut(place)) {
            *slot = values;
        }
    }
    again.finish(problems);
    note_missing_hours(grid, rows, &placed, problems);
    let as_of = grid.hour_of(file.as_of);
    let stale = file.forecast_issued.is_some_and(|issued| file.as_of - issued > Duration::hours(24));
    let issued =
        file.forecast_issued.map(|issued| grid.hour_of(file.measured_to.unwrap_or(issued).max(issued)));
    // What a forecast said of an hour that has passed is no record of it.
    let passed = issued.map(|issued| (issued.max(first), as_of.min(end))).filter(|(from, to)| from < to);
    if let Some(passed) = passed {
        note_passed_hours(grid, rows, &placed, passed, problems);
    }
    let mut weather = Weather {
        grid,
        first,
        hours,
        between,
        together,
        forecast_from: issued.map(|issued| issued.max(as_of)),
        unknown_from: stale.then_some(as_of),
        issued: file.forecast_issued,
        passed,
    };
    let told = apply_gauge(&mut weather, file.gauge, file.as_of, file.source, problems);
    weather.forget_passed(&told);
    weather
}

/// Returns the values in which all rows of an hour agree; what one of them leaves empty the others give.
fn agreed(rows: &[&WeatherRow]) -> HourValues {
    let mut values = HourValues::default();
    for (column, _) in Column::ALL {
        let mut given = rows.iter().filter_map(|row| row.values.get(column));
        let first = given.next();
        values.set(column, first.filter(|first| given.all(|other| other == *first)));
    }
    values
}
