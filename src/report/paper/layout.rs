//! The lines of a paper in so many columns, each of its kind: what text and PDF are both made of.

use super::{Paper, Piece};
use crate::report::Lines;
use textwrap::core::display_width;

/// A line of a paper.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Line {
    Title(String),
    Heading(String),
    Plain(String),
    /// What nobody may overlook.
    Large(String),
    /// With places to write into by hand.
    Written(String),
    /// A rule over the whole width, as text draws it with this character.
    Rule(char),
}

/// Lays a paper out in so many columns; of what nobody may overlook the letters are `large` times as wide.
pub(super) fn lay(paper: &Paper, columns: usize, large: f32) -> Vec<Line> {
    let mut laid = Laying { columns, large, lines: Vec::new() };
    let title = laid.written(|lines| lines.text(0, &paper.title));
    laid.lines.extend(title.into_iter().enumerate().map(|(at, line)| match at {
        0 => Line::Title(line),
        _ => Line::Plain(line),
    }));
    paper.under.iter().for_each(|text| laid.add(Line::Plain, |lines| lines.text(0, text)));
    laid.lines.push(Line::Rule('='));
    paper.pieces.iter().for_each(|piece| laid.piece(piece));
    while laid.lines.last() == Some(&Line::Plain(String::new())) {
        laid.lines.pop();
    }
    laid.lines
}

struct Laying {
    columns: usize,
    large: f32,
    lines: Vec<Line>,
}

impl Laying {
    fn piece(&mut self, piece: &Piece) {
        match piece {
            Piece::Heading(text) => {
                self.blank();
                self.add(Line::Heading, |lines| lines.text(0, text));
                self.lines.push(Line::Rule('-'));
            }
            Piece::Field(label, texts) => {
                self.add(Line::Plain, |lines| lines.fields(label, texts.iter().map(String::as_str)));
            }
            Piece::Large(label, texts) => {
                let mut lines = Lines::new((self.columns as f32 / self.large) as usize);
                lines.fields(label, texts.iter().map(String::as_str));
                self.lines.extend(lines.finish().lines().map(|line| Line::Large(line.to_string())));
            }
            Piece::Drawn(drawn) => {
                self.add(Line::Plain, |lines| drawn.iter().for_each(|line| lines.raw(2, line)));
            }
            Piece::Table(head, rows) => self.table(head, rows),
            Piece::Boxes(texts) => self.add(Line::Plain, |lines| {
                texts.iter().for_each(|text| lines.hanging(2, 6, &format!("[ ] {text}")));
            }),
            Piece::Blanks(labels) => self.add(Line::Written, |lines| blanks(lines, labels)),
            Piece::Text(text) => {
                self.blank();
                self.add(Line::Plain, |lines| lines.text(0, text));
            }
            Piece::Item { title, says, .. } => self.add(Line::Plain, |lines| {
                // What is said of it is one paragraph, deeper than its title; on a narrow page it goes on behind that.
                let says = says.join(" ");
                match lines.is_wide() {
                    true if says.is_empty() => lines.hanging(0, 4, title),
                    true => {
                        lines.hanging(0, 4, title);
                        lines.hanging(4, 4, &says);
                    }
                    false => {
                        let sign = if title.ends_with(['.', '?', ':', '!']) { "" } else { "." };
                        let gap = if says.is_empty() { "" } else { " " };
                        let sign = if says.is_empty() { "" } else { sign };
                        lines.hanging(0, 1, &format!("{title}{sign}{gap}{says}"));
                    }
                }
            }),
            Piece::Gap => self.blank(),
        }
    }

    /// Adds an empty line, but never two.
    fn blank(&mut self) {
        if self.lines.last() != Some(&Line::Plain(String::new())) {
            self.lines.push(Line::Plain(String::new()));
        }
    }

    fn add(&mut self, kind: fn(String) -> Line, write: impl FnOnce(&mut Lines)) {
        let lines = self.written(write);
        self.lines.extend(lines.into_iter().map(kind));
    }

    fn written(&self, write: impl FnOnce(&mut Lines)) -> Vec<String> {
        let mut lines = Lines::new(self.columns);
        write(&mut lines);
        lines.finish().lines().map(str::to_string).collect()
    }

    /// Adds a table: columns where there is room, else a few lines for each row.
    fn table(&mut self, head: &[String], rows: &[Vec<String>]) {
        let Some(widths) = widths(self.columns, head, rows) else {
            return rows.iter().for_each(|row| self.listed(head, row));
        };
        for row in std::iter::once(head).chain(rows.iter().map(Vec::as_slice)) {
            let kind = if row.iter().any(String::is_empty) { Line::Written } else { Line::Plain };
            self.add(kind, |lines| table_row(lines, row, &widths));
        }
    }

    /// Adds a row of a table for which there is no room beside one another.
    fn listed(&mut self, head: &[String], row: &[String]) {
        // Nothing is said of a cell in which there is nothing to say or to write.
        let told = head.iter().zip(row).enumerate().filter(|(_, (_, cell))| *cell != NOTHING);
        for (at, (title, cell)) in told {
            let first = if at == 0 { 0 } else { 2 };
            match cell.is_empty() {
                true => {
                    self.add(Line::Written, |lines| lines.hanging(first, 4, &format!("{title}: ________")))
                }
                false => self.add(Line::Plain, |lines| lines.hanging(first, 4, &format!("{title}: {cell}"))),
            }
        }
    }
}

/// What stands in a cell of which nothing is asked.
const NOTHING: &str = "–";
/// The least width of a table's last column.
const LAST: usize = 16;

/// Returns how wide the columns of a table are; nothing where there is no room for them.
fn widths(columns: usize, head: &[String], rows: &[Vec<String>]) -> Option<Vec<usize>> {
    let width = |(at, title): (usize, &String)| {
        let cells = rows.iter().filter_map(|row| row.get(at)).map(|cell| display_width(cell));
        cells.max().unwrap_or(0).max(display_width(title))
    };
    let widths: Vec<usize> = head.iter().enumerate().map(width).collect();
    let fits = Lines::new(columns).is_wide() && before_last(&widths) + LAST <= columns;
    fits.then_some(widths)
}

/// Returns where the last column begins.
fn before_last(widths: &[usize]) -> usize {
    2 + widths.split_last().map_or(0, |(_, columns)| columns.iter().map(|width| width + 2).sum())
}

fn table_row(lines: &mut Lines, row: &[String], widths: &[usize]) {
    let Some((last, cells)) = row.split_last() else { return };
    let before = before_last(widths);
    let room = lines.width() - before;
    let pad = |cell: &String, width: usize| {
        // An empty cell is there to be written into.
        let fill = if cell.is_empty() { "_" } else { " " };
        format!("{cell}{}  ", fill.repeat(width.saturating_sub(display_width(cell))))
    };
    let start: String = cells.iter().zip(widths).map(|(cell, width)| pad(cell, *width)).collect();
    let line = "_".repeat(widths.last().copied().unwrap_or(0).min(room));
    let last = if last.is_empty() { &line } else { last };
    for (at, part) in crate::report::lines::wrapped(last, room, room).iter().enumerate() {
        let start = if at == 0 { start.clone() } else { " ".repeat(before - 2) };
        lines.raw(2, &(start + part));
    }
}

/// Writes places to write into, two on a line where there is room.
fn blanks(lines: &mut Lines, labels: &[String]) {
    let width = lines.width();
    let (columns, room) = if lines.is_wide() { (2, (width - 4) / 2) } else { (1, width.saturating_sub(2)) };
    for pair in labels.chunks(columns) {
        let one = |label: &String| {
            let line = room.saturating_sub(display_width(label) + 1);
            format!("{label} {}", "_".repeat(line))
        };
        lines.raw(2, &pair.iter().map(one).collect::<Vec<_>>().join("  "));
    }
}
