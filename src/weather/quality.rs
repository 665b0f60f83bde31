//! What is missing in a weather file.

use super::HourGrid;
use super::columns::Header;
use super::rows::WeatherRow;
use crate::phrase::said;
use crate::problems::{Finding, Problem, Problems};
use std::collections::BTreeMap;

/// Reports each run of hours without a row, at the row after it.
pub(super) fn note_missing_hours(
    grid: HourGrid,
    rows: &[WeatherRow],
    placed: &BTreeMap<i64, Vec<usize>>,
    problems: &mut Problems,
) {
    let pairs = placed.iter().zip(placed.iter().skip(1));
    for ((before, _), (hour, places)) in pairs.filter(|((before, _), (hour, _))| **hour - **before > 1) {
        let count = hour - before - 1;
        let (from, to) = (grid.local(before + 1), grid.local(hour - 1));
        let shown = "%Y-%m-%d %H:%M";
        let message = if count == 1 {
            said!("the hour of {from} is missing", from = from.format(shown))
        } else {
            said!(
                "{count} hours are missing, from {from} to {shown}",
                count,
                from = from.format(shown),
                shown = to.format(shown)
            )
        };
        let row = places.first().and_then(|place| rows.get(*place));
        let span = row.map(|row| row.span).unwrap_or_default();
        problems.push(Problem::new(Finding::InputNote, span, message).label("before this row"));
    }
}

/// Reports, once for each column, in how many rows its value is missing; a column that is empty in most rows,
/// as gusts often are, is reported likewise.
pub(super) fn note_empty_cells(header: &Header, rows: &[WeatherRow], problems: &mut Problems) {
    for found in &header.found {
        let is_told = |row: &&WeatherRow| row.ends.iter().any(|(column, ..)| *column == found.column);
        let mut missing =
            rows.iter().filter(|row| row.values.get(found.column).is_none()).filter(|row| !is_told(row));
        let Some(first) = missing.next() else { continue };
        let count = 1 + missing.count();
        let word = found.column.word();
        let message = if count == rows.len() {
            said!("the column `{word}` has no value that can be used", word)
        } else if count == 1 {
            said!("`{word}` is missing in 1 row", word)
        } else {
            said!("`{word}` is missing in {count} rows of {rows}", word, count, rows = rows.len())
        };
        problems.push(Problem::new(Finding::InputNote, first.span, message).label("the first of them"));
    }
}

/// Reports the hours that a forecast gave and that have passed since, at the first of their rows.
pub(super) fn note_passed_hours(
    grid: HourGrid,
    rows: &[WeatherRow],
    placed: &BTreeMap<i64, Vec<usize>>,
    (from, to): (i64, i64),
    problems: &mut Problems,
) {
    let mut hours = placed.range(from..to);
    let Some((first, places)) = hours.next() else { return };
    let (last, count) = hours.fold((first, 1), |(_, count), (hour, _)| (hour, count + 1));
    let (from, to) = (grid.local(*first), grid.local(*last));
    let shown = "%Y-%m-%d %H:%M";
    let message = if count == 1 {
        said!(
            "the hour of {from} was forecast, has passed and was never measured: it counts as missing",
            from = from.format(shown)
        )
    } else {
        said!(
            "{count} hours were forecast, have passed and were never measured, from {from} to {shown}: they count as missing",
            count,
            from = from.format(shown),
            shown = to.format(shown)
        )
    };
    let span = places.first().and_then(|place| rows.get(*place)).map(|row| row.span).unwrap_or_default();
    let help = "put in what was measured and say `forecast-issued` anew; a day's rain can come of the gauge";
    problems.push(Problem::new(Finding::InputNote, span, message).label("the first of them").help(help));
}
