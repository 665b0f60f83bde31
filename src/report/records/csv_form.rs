//! The record as CSV for a spreadsheet, in which no cell can be taken for a formula.

use super::{COLUMNS, Season};
use std::borrow::Cow;

/// Returns the record as CSV (RFC 4180), the first line its columns.
pub fn csv(season: &Season) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let rows = season.rows().map(|row| season.cells(row));
    let heading = COLUMNS.iter().map(|column| column.name.to_string()).collect();
    for cells in std::iter::once(heading).chain(rows) {
        // Memory takes every row, and all rows have the same length.
        let _ = writer.write_record(cells.iter().map(|cell| harmless(cell).into_owned()));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Puts an apostrophe before what a spreadsheet could take for a formula: what begins with `=`, `+`, `-`, `@` (or their
/// wide forms), a tab or a line break. A number such as `-3` stays a number.
pub fn harmless(cell: &str) -> Cow<'_, str> {
    let begins =
        |text: &str| text.starts_with(['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}']);
    let breaks = cell.starts_with(['\t', '\r', '\n']);
    let is_number = cell.bytes().all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte))
        && cell.parse::<f64>().is_ok();
    if (breaks || begins(cell.trim_start())) && !is_number {
        return Cow::Owned(format!("'{cell}"));
    }
    Cow::Borrowed(cell)
}
