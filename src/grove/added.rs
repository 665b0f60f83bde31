//! The text that is added to a log: rows under the header that the file has.
//!
//! Comes in: the text of a log as it stands and what its new rows say, by their columns. Goes out: the text to put behind
//! it, or the whole new beginning where the header lacks a column. Old rows keep their bytes: a row that is shorter than
//! the header has nothing in the columns that came later.

use std::borrow::Cow;

/// A row to be added: the values by their columns; an empty one is as good as none.
pub type NewRow = Vec<(String, String)>;

/// What is to be written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Addition {
    /// The first line of the file, where it is new or lacks a column.
    pub header: Option<Header>,
    /// The rows, each with its line break.
    pub rows: String,
    /// The line on which the first of them will stand, counted from 1.
    pub line: usize,
}

/// A first line that differs from that of the file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Header {
    /// The line, with its line break.
    pub text: String,
    /// How many bytes of the file it takes the place of.
    pub instead_of: usize,
}

/// Returns what to write to add rows to a log whose last row is ended; `usual` are the columns of a new file.
pub fn addition(text: &str, usual: &[&str], rows: &[NewRow]) -> Addition {
    let mark = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let rest = text.get(mark..).unwrap_or_default();
    let empty = rest.trim().is_empty();
    let lead = if empty { rest.len() } else { rest.len() - rest.trim_start_matches(['\n', '\r', ' ']).len() };
    let line = rest.get(lead..).and_then(|rest| rest.split_inclusive('\n').next()).unwrap_or_default();
    let form = CellForm::of(line);
    let mut columns: Vec<String> = form.columns(line);
    if empty {
        columns = usual.iter().map(|column| (*column).to_string()).collect();
    }
    let known = columns.len();
    for (column, value) in rows.iter().flatten() {
        if !value.is_empty() && !columns.contains(column) {
            columns.push(column.clone());
        }
    }
    let added: Vec<String> = columns.get(known..).unwrap_or_default().to_vec();
    let header = (empty || !added.is_empty()).then(|| {
        let old = line.trim_end_matches(['\n', '\r']);
        let mut cells: Vec<Cow<str>> = if empty {
            columns.iter().map(|column| Cow::from(column.as_str())).collect()
        } else {
            added.iter().map(|column| Cow::from(column.as_str())).collect()
        };
        let mut text = text.get(..mark + if empty { 0 } else { lead }).unwrap_or_default().to_string();
        if !empty {
            text.push_str(old);
            text.push(form.separator);
        }
        form.write(&mut cells, &mut text);
        Header { text, instead_of: mark + lead + line.len() }
    });
    let mut written = String::new();
    for row in rows {
        let value = |column: &String| {
            let found = row.iter().find(|(own, _)| own == column);
            Cow::from(found.map_or("", |(_, value)| value.as_str()))
        };
        form.write(&mut columns.iter().map(value).collect::<Vec<_>>(), &mut written);
    }
    let lines = if empty { 1 } else { text.matches('\n').count() };
    Addition { header, rows: written, line: lines + 1 }
}

/// How a file writes its cells and lines.
struct CellForm {
    separator: char,
    line_break: &'static str,
}

impl CellForm {
    fn of(line: &str) -> Self {
        let count = |separator: char| line.matches(separator).count();
        let separator = match (count(','), count(';'), count('\t')) {
            (0, 0, 0) => ',',
            (0, semicolons, tabs) if semicolons >= tabs => ';',
            (0, _, _) => '\t',
            _ => ',',
        };
        Self { separator, line_break: if line.ends_with("\r\n") { "\r\n" } else { "\n" } }
    }

    fn columns(&self, line: &str) -> Vec<String> {
        let cells = line.trim_end_matches(['\n', '\r']).split(self.separator);
        cells.map(|cell| cell.trim().trim_matches('"').trim().to_string()).collect()
    }

    /// Writes a line. No cell holds a line break, so that a line that is not ended is known for a torn one.
    fn write(&self, cells: &mut [Cow<str>], out: &mut String) {
        for (at, cell) in cells.iter().enumerate() {
            if at > 0 {
                out.push(self.separator);
            }
            let plain: String = cell.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).collect();
            let plain = plain.trim();
            // A separator, a quote, and a list with `;`, which some spreadsheets would take apart.
            if plain.contains([',', ';', '\t', '"']) {
                out.push('"');
                out.push_str(&plain.replace('"', "\"\""));
                out.push('"');
            } else {
                out.push_str(plain);
            }
        }
        out.push_str(self.line_break);
    }
}
