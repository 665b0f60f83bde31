//! What is missing in a weather file.

use super::HourGrid;
use super::columns::Header;
use super::rows::Row;
use crate::problems::{Finding, Problem, Problems};
use std::collections::BTreeMap;

/// Reports each run of hours without a row, at the row after it.
pub(super) fn note_missing_hours(
    grid: HourGrid,
    rows: &[Row],
    placed: &BTreeMap<i64, Vec<usize>>,
    problems: &mut Problems,
) {
    let pairs = placed.iter().zip(placed.iter().skip(1));
    for ((before, _), (hour, places)) in pairs.filter(|((before, _), (hour, _))| **hour - **before > 1) {
        let count = hour - before - 1;
        let (from, to) = (grid.local(before + 1), grid.local(hour - 1));
        let shown = "%Y-%m-%d %H:%M";
        let message = if count == 1 {
            format!("the hour of {} is missing", from.format(shown))
        } else {
            format!("{count} hours are missing, from {} to {}", from.format(shown), to.format(shown))
        };
        let row = places.first().and_then(|place| rows.get(*place));
        let span = row.map(|row| row.span).unwrap_or_default();
        problems.push(Problem::new(Finding::InputNote, span, message).label("before this row"));
    }
}

/// Reports, once for each column, in how many rows its value is missing; a column that is empty in most rows,
/// as gusts often are, is reported likewise.
pub(super) fn note_empty_cells(header: &Header, rows: &[Row], problems: &mut Problems) {
    for found in &header.found {
        let mut missing = rows.iter().filter(|row| row.values.get(found.column).is_none());
        let Some(first) = missing.next() else { continue };
        let count = 1 + missing.count();
        let word = found.column.word();
        let message = if count == rows.len() {
            format!("the column `{word}` has no value that can be used")
        } else if count == 1 {
            format!("`{word}` is missing in 1 row")
        } else {
            format!("`{word}` is missing in {count} rows of {}", rows.len())
        };
        problems.push(Problem::new(Finding::InputNote, first.span, message).label("the first of them"));
    }
}
