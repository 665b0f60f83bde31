//! What stored notes and sprays share: the doubts of their pages, and parts of their JSON forms.

use super::Lines;
use super::json::Object;
use crate::grove::NewRow;
use crate::words::Language;
use serde::Serialize;

/// Writes what should be looked at twice, if anything should.
pub(super) fn twice(lines: &mut Lines, doubts: &[String], language: Language) {
    if !doubts.is_empty() {
        lines.blank();
        lines.text(0, &language.say("stored.twice", &[]));
        doubts.iter().for_each(|doubt| lines.text(2, doubt));
    }
}

/// Whether something was stored, and where.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct StoredEntry<'a> {
    stored: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<&'a str>,
    /// The line of the first row, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
}

impl<'a> From<Option<(&'a str, usize)>> for StoredEntry<'a> {
    fn from(stored: Option<(&'a str, usize)>) -> Self {
        Self {
            stored: stored.is_some(),
            file: stored.map(|(file, _)| file),
            line: stored.map(|(_, line)| line),
        }
    }
}

/// What goes into a file, by its columns.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct RowEntry<'a>(Object<'a, &'a str, &'a str>);

/// Returns a row, its columns in their order.
pub(super) fn row_entry(row: &NewRow) -> RowEntry<'_> {
    RowEntry(Object::of(row.iter().map(|(column, value)| (&**column, &**value))))
}
