//! Tables of strangers: the separator is found, any line may be the header, rows may be of any length.
//!
//! Comes in: the text of a file. Goes out: rows of cells, each with the place of its line.

use csv::{ReaderBuilder, StringRecord};

/// A table of which nothing is known.
pub(crate) struct LooseTable {
    /// What parts its cells.
    pub separator: u8,
    /// Its rows, empty lines left out.
    pub rows: Vec<LooseRow>,
}

/// A row.
pub(crate) struct LooseRow {
    record: StringRecord,
    /// Where it begins in the text.
    pub at: usize,
}

/// What may part cells, the likelier first.
const SEPARATORS: [u8; 4] = [b'\t', b';', b',', b'|'];
/// So many lines tell how cells are parted.
const LOOKED_AT: usize = 200;

impl LooseTable {
    /// Reads a table.
    pub fn read(text: &str) -> Self {
        let separator = separator(text);
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            .buffer_capacity(1 << 16)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        // A reader over a text in memory has no errors of its own.
        for record in reader.records().map_while(Result::ok) {
            let at = record.position().map_or(0, |place| place.byte() as usize);
            if record.iter().any(|cell| !cell.trim().is_empty()) {
                rows.push(LooseRow { record, at });
            }
        }
        Self { separator, rows }
    }
}

impl LooseRow {
    /// Returns a cell without what spreadsheets put around it; empty where the row is too short.
    pub fn cell(&self, column: usize) -> &str {
        bare(self.record.get(column).unwrap_or_default())
    }

    /// Returns all cells.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        self.record.iter().map(bare)
    }
}

/// Takes away blanks of every kind, quotes, and the `="…"` that keeps a spreadsheet from reckoning.
fn bare(cell: &str) -> &str {
    let blank = |letter: char| letter.is_whitespace() || letter == '\u{feff}';
    let cell = cell.trim_matches(blank);
    let cell = cell.strip_prefix("=\"").map_or(cell, |rest| rest.trim_end_matches('"'));
    cell.trim_matches('"').trim_matches(blank)
}

/// Finds what parts the cells: that which most lines have equally often.
fn separator(text: &str) -> u8 {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(LOOKED_AT).collect();
    let score = |separator: u8| {
        let counts: Vec<usize> = lines.iter().map(|line| count(line, separator)).collect();
        let most = counts.iter().copied().max().unwrap_or(0);
        let of = |wanted: usize| counts.iter().filter(|count| **count == wanted).count();
        (1..=most.min(300)).map(|wanted| (of(wanted), wanted)).max().unwrap_or((0, 0))
    };
    let best = SEPARATORS
        .iter()
        .rev()
        .map(|separator| (score(*separator), *separator))
        .max_by_key(|(score, _)| *score);
    best.filter(|((lines, _), _)| *lines > 0).map_or(b',', |(_, separator)| separator)
}

/// Counts separators outside of quotes.
fn count(line: &str, separator: u8) -> usize {
    let mut quoted = false;
    let outside = line.bytes().filter(|byte| {
        if *byte == b'"' {
            quoted = !quoted;
        }
        *byte == separator && !quoted
    });
    outside.count()
}
