//! Tables row by row, with the place of every cell: cells are parted by commas, semicolons or tabs.
//!
//! Comes in: the text of a file. Goes out: its header and its rows. Knows no column.

use crate::phrase::{Phrase, said};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::{SourceId, Span};
use csv::{ByteRecord, ReaderBuilder};

/// So many things that are wrong are reported of one file.
const MOST_PROBLEMS: usize = 1000;

/// A CSV file with its header read.
pub(crate) struct Sheet<'s> {
    id: SourceId,
    text: &'s str,
    /// Bytes of the file before `text`.
    shift: usize,
    separator: u8,
    /// The header's cells, trimmed.
    pub header: Vec<Column<'s>>,
    /// Where the rows begin in `text`.
    body: usize,
    /// Whether rows are only ever added to it, so that a last row that is not ended may be half written.
    is_log: bool,
}

/// A cell of the header.
pub(crate) struct Column<'s> {
    /// Its words.
    pub name: &'s str,
    /// Where it stands.
    pub span: Span,
}

/// One row.
pub(crate) struct Row<'r> {
    record: &'r ByteRecord,
    /// Where it stands.
    pub span: Span,
    /// Whether it is the last row and the file does not end in a line break.
    pub unended: bool,
}

impl<'s> Sheet<'s> {
    /// Reads the header of a file's text; nothing where there is none.
    pub fn open(id: SourceId, whole: &'s str, problems: &mut Problems) -> Option<Self> {
        let text = whole.strip_prefix('\u{feff}').unwrap_or(whole);
        let mut sheet = Self {
            id,
            text,
            shift: whole.len() - text.len(),
            separator: b',',
            header: Vec::new(),
            body: 0,
            is_log: false,
        };
        let start = text.len() - text.trim_start_matches(['\n', '\r', ' ']).len();
        let line = text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or_default();
        if line.is_empty() {
            let problem = Problem::new(Finding::Input, sheet.bytes(0, 0), "the file is empty");
            problems.push(problem.help("begin with a line that names the columns"));
            return None;
        }
        let count = |separator: char| line.matches(separator).count();
        if count(',') == 0 && count(';') + count('\t') > 0 {
            sheet.separator = if count(';') >= count('\t') { b';' } else { b'\t' };
        }
        sheet.body = start + line.len();
        for (from, to) in cells(line, sheet.separator) {
            let name = line.get(from..to).unwrap_or_default().trim().trim_matches('"').trim();
            sheet.header.push(Column { name, span: sheet.bytes(start + from, start + to) });
        }
        sheet.refuse_doubles(problems);
        Some(sheet)
    }

    /// Reads the header of a file to which rows are only ever added.
    pub fn open_log(id: SourceId, whole: &'s str, problems: &mut Problems) -> Option<Self> {
        Self::open(id, whole, problems).map(|sheet| Self { is_log: true, ..sheet })
    }

    fn refuse_doubles(&self, problems: &mut Problems) {
        for (at, column) in self.header.iter().enumerate() {
            let first =
                self.header.iter().take(at).find(|other| other.name == column.name && !other.name.is_empty());
            if let Some(first) = first {
                problems.push(
                    Problem::new(
                        Finding::Input,
                        column.span,
                        said!("the column `{column}` is given twice", column = column.name),
                    )
                    .help("keep one of them")
                    .related(first.span, "it is given here first"),
                );
            }
        }
    }

    /// Returns whether a comma in a cell may be a decimal comma, since it does not part the cells.
    pub fn has_decimal_commas(&self) -> bool {
        self.separator != b','
    }

    /// Returns what parts its cells.
    pub fn separator(&self) -> u8 {
        self.separator
    }

    /// Returns the place of a column.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|column| column.name == name)
    }

    /// Reports that a column is missing.
    pub fn missing(&self, name: &'static str, what: &'static str) -> Problem {
        let near = nearest(name, self.header.iter().map(|column| column.name));
        let span = self.header.first().map_or(self.bytes(0, 0), |first| {
            first.span.to(self.header.last().map_or(first.span, |last| last.span))
        });
        let help = match near {
            Some(near) => said!("did you mean `{name}` where the header says `{near}`?", name, near),
            None => said!("add a column `{name}`: {what}", name, what = Phrase::from(what)),
        };
        Problem::new(Finding::Input, span, said!("the header has no column `{name}`", name)).help(help)
    }

    /// Goes through the rows; a row that cannot be told apart into the header's cells is reported and left out.
    /// A file in which nearly every row is wrong is read no further.
    pub fn rows<R: AsMut<Problems>>(&self, reading: &mut R, mut each: impl FnMut(&Row<'_>, &mut R)) {
        let before = reading.as_mut().len();
        let body = self.text.get(self.body..).unwrap_or_default();
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator)
            .buffer_capacity(1 << 16)
            .from_reader(body.as_bytes());
        let mut record = ByteRecord::new();
        let ended = body.ends_with('\n');
        loop {
            let from = reader.position().byte() as usize;
            // A reader over bytes in memory has no errors of its own, and the text is UTF-8.
            if !matches!(reader.read_byte_record(&mut record), Ok(true)) {
                return;
            }
            let to = reader.position().byte() as usize;
            let raw = body.get(from..to).unwrap_or_default();
            let start = from + (raw.len() - raw.trim_start_matches(['\n', '\r']).len());
            let end = from + raw.trim_end_matches(['\n', '\r']).len();
            let span = self.bytes(self.body + start, self.body + end.max(start));
            let unended = to >= body.len() && !ended;
            if record.iter().all(|cell| cell.trim_ascii().is_empty()) {
                continue;
            }
            let row = Row { record: &record, span, unended };
            if reading.as_mut().len() > before + MOST_PROBLEMS {
                let message = said!(
                    "more than {most} things are wrong in this file; the rest is not read",
                    most = MOST_PROBLEMS
                );
                let problem = Problem::new(Finding::Input, span, message);
                reading.as_mut().push(problem.help("fix those above first: often they have one cause"));
                return;
            }
            match self.broken(&row, raw) {
                Some(problem) => reading.as_mut().push(problem),
                None => each(&row, reading),
            }
        }
    }

    /// Says what is wrong with a row as a whole.
    fn broken(&self, row: &Row, raw: &str) -> Option<Problem> {
        let (cells, columns) = (row.record.len(), self.header.len());
        if raw.contains('\0') {
            return Some(
                Problem::new(
                    Finding::Input,
                    row.span,
                    "there is a NUL byte in this row, which no text file has",
                )
                .help("the row was not written whole: complete it, or delete it"),
            );
        }
        if raw.bytes().filter(|byte| *byte == b'"').count() % 2 == 1 {
            let quote = Problem::new(Finding::Input, row.span, "a quote of this row is not closed");
            return Some(quote.help(if row.unended {
                "the row was not written whole: complete it, or delete it"
            } else {
                "close it with `\"`; a quote inside of a quoted cell is written `\"\"`"
            }));
        }
        if cells < columns && row.unended {
            let message = said!(
                "the last row breaks off: it has {counted} of {columns}",
                columns,
                counted = counted(cells)
            );
            return Some(
                Problem::new(Finding::Input, row.span, message)
                    .help("complete the row and end it with a line break, or delete it"),
            );
        }
        if row.unended && self.is_log {
            let message = "the last row is not ended by a line break: it may be half written";
            let help = "if it is whole, end it with a line break; if not, complete or delete it";
            return Some(Problem::new(Finding::Input, row.span, message).help(help));
        }
        if cells > columns && row.record.iter().skip(columns).any(|cell| !cell.trim_ascii().is_empty()) {
            let message = said!(
                "the row has {counted}, but the header has {columns}",
                columns,
                counted = counted(cells)
            );
            return Some(
                Problem::new(Finding::Input, row.span, message)
                    .help("put a cell that holds a comma into double quotes, `\"a, b\"`, or part two rows that ran together"),
            );
        }
        None
    }

    /// Returns the place of a cell of a row.
    pub fn cell_span(&self, row: Span, column: usize) -> Span {
        let from = (row.start as usize).saturating_sub(self.shift);
        let to = (row.end as usize).saturating_sub(self.shift);
        let raw = self.text.get(from..to).unwrap_or_default();
        match cells(raw, self.separator).get(column) {
            Some((start, end)) => {
                let cell = raw.get(*start..*end).unwrap_or_default();
                let left = start + (cell.len() - cell.trim_start().len());
                self.bytes(from + left, from + (start + cell.trim_end().len()).max(left))
            }
            None => Span { start: row.end, ..row },
        }
    }

    fn bytes(&self, start: usize, end: usize) -> Span {
        Span::new(self.id, start + self.shift, end + self.shift)
    }
}

impl<'r> Row<'r> {
    /// Returns a cell without the blanks around it; empty where the row is too short.
    pub fn cell(&self, column: usize) -> &'r str {
        self.record.get(column).and_then(|cell| std::str::from_utf8(cell).ok()).unwrap_or_default().trim()
    }

    /// Returns how many cells it has.
    pub fn len(&self) -> usize {
        self.record.len()
    }

    /// Returns a cell's bytes, with the blanks around them.
    pub fn raw_cell(&self, column: usize) -> &'r [u8] {
        self.record.get(column).unwrap_or_default()
    }

    /// Returns the cell of a column that the file may not have.
    pub fn cell_of(&self, column: Option<usize>) -> &'r str {
        column.map_or("", |column| self.cell(column))
    }
}

fn counted(cells: usize) -> Phrase {
    if cells == 1 { "1 cell".into() } else { said!("{cells} cells", cells) }
}

/// Returns where each cell of a row begins and ends, quotes and all.
pub(crate) fn cells(raw: &str, separator: u8) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let (mut start, mut quoted) = (0, false);
    for (at, byte) in raw.bytes().enumerate() {
        if byte == b'"' {
            quoted = !quoted;
        } else if byte == separator && !quoted {
            found.push((start, at));
            start = at + 1;
        }
    }
    found.push((start, raw.len()));
    found
}
