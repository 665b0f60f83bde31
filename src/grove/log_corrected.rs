//! Which rows of the spray log count: a correction stands in for the rows that it names.
//!
//! Comes in: rows in the order of the log, each with its line and sheet. Goes out: those that no later row took the place
//! of. Each row is looked at once for each row that names its line, and once for all that name its sheet.

use super::log::SprayRow;
use crate::source::Span;
use rustc_hash::FxHashMap;

/// The rows of a log so far.
#[derive(Debug, Default)]
pub(super) struct LoggedRows {
    rows: Vec<Logged>,
    of_sheet: FxHashMap<String, SheetRows>,
}

/// A row as it was read; nothing where it is in error, strikes out another, or a later one took its place.
#[derive(Debug)]
struct Logged {
    line: usize,
    row: Option<(Span, SprayRow)>,
}

/// The places of a sheet's rows. Of those that were struck out only the first is kept.
#[derive(Debug, Default)]
struct SheetRows {
    first: Vec<usize>,
    /// Rows that are corrections themselves, so that a sheet of several rows can be corrected row by row.
    corrections: Vec<usize>,
}

/// The rows that a row corrects.
#[derive(Debug, Default)]
pub(super) struct Corrected {
    places: Vec<usize>,
    /// The sheet that was named, and whether its corrections are among them.
    sheet: Option<(String, bool)>,
}

impl Corrected {
    /// Returns whether there are none.
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }
}

impl LoggedRows {
    /// Finds the rows that a correction of the sheet `own` names; nothing where there are none of this name.
    pub fn named(&self, named: &str, own: &str) -> Option<Corrected> {
        let word = |lead: &str| named.strip_prefix(lead).map(str::trim);
        // A number alone is a line, as the log itself is told to be corrected; a sheet may have the same number.
        let line = word("row ").or_else(|| word("line ")).unwrap_or(named).parse::<usize>().ok();
        let line = line.filter(|_| word("sheet ").is_none());
        let by_line = line.and_then(|line| self.rows.binary_search_by_key(&line, |row| row.line).ok());
        if let Some(place) = by_line {
            return Some(Corrected { places: vec![place], sheet: None });
        }
        let sheet = word("sheet ").unwrap_or(named);
        let rows = self.of_sheet.get(sheet)?;
        let whole = own != sheet;
        let corrections = rows.corrections.iter().filter(|_| whole);
        let places = rows.first.iter().chain(corrections).copied().collect();
        Some(Corrected { places, sheet: Some((sheet.to_string(), whole)) })
    }

    /// Strikes rows out.
    pub fn strike(&mut self, corrected: &Corrected) {
        for place in &corrected.places {
            if let Some(old) = self.rows.get_mut(*place) {
                old.row = None;
            }
        }
        if let Some((sheet, whole)) = &corrected.sheet
            && let Some(rows) = self.of_sheet.get_mut(sheet)
        {
            rows.first.truncate(1);
            rows.corrections.truncate(if *whole { 1 } else { usize::MAX });
        }
    }

    /// Adds a row.
    pub fn add(&mut self, line: usize, sheet: &str, corrects: bool, row: Option<(Span, SprayRow)>) {
        if !sheet.is_empty() {
            let rows = self.of_sheet.entry(sheet.to_string()).or_default();
            let list = if corrects { &mut rows.corrections } else { &mut rows.first };
            list.push(self.rows.len());
        }
        self.rows.push(Logged { line, row });
    }

    /// Returns the line of the last row.
    pub fn last_line(&self) -> usize {
        self.rows.last().map_or(1, |row| row.line)
    }

    /// Returns the rows that count.
    pub fn counted(self) -> impl Iterator<Item = (Span, SprayRow)> {
        self.rows.into_iter().filter_map(|logged| logged.row)
    }
}
