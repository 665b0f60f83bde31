//! Papers as text.

use super::{Paper, Piece};
use crate::report::Lines;
use textwrap::core::display_width;

/// Returns papers one after the other, in lines no longer than a width.
pub fn text(papers: &[Paper], width: usize) -> String {
    let mut lines = Lines::new(width);
    for (at, paper) in papers.iter().enumerate() {
        if at > 0 {
            lines.blank();
        }
        lines.text(0, &paper.title);
        paper.under.iter().for_each(|text| lines.text(0, text));
        lines.rule('=');
        paper.pieces.iter().for_each(|piece| write(&mut lines, piece));
    }
    lines.finish()
}

fn write(lines: &mut Lines, piece: &Piece) {
    match piece {
        Piece::Heading(text) => {
            lines.blank();
            lines.text(0, text);
            lines.rule('-');
        }
        Piece::Field(label, texts) => lines.fields(label, texts.iter().map(String::as_str)),
        Piece::Table(head, rows) => table(lines, head, rows),
        Piece::Boxes(texts) => texts.iter().for_each(|text| lines.hanging(2, 6, &format!("[ ] {text}"))),
        Piece::Blanks(labels) => blanks(lines, labels),
        Piece::Text(text) => {
            lines.blank();
            lines.text(0, text);
        }
        Piece::Gap => lines.blank(),
    }
}

/// What stands in a cell of which nothing is asked.
const NOTHING: &str = "–";
/// The least width of a table's last column.
const LAST: usize = 16;

/// Writes a table: columns where there is room, else a few lines for each row.
fn table(lines: &mut Lines, head: &[String], rows: &[Vec<String>]) {
    let widths: Vec<usize> = head
        .iter()
        .enumerate()
        .map(|(at, title)| {
            let cells = rows.iter().filter_map(|row| row.get(at)).map(|cell| display_width(cell));
            cells.max().unwrap_or(0).max(display_width(title))
        })
        .collect();
    let columns = widths.split_last().map_or(&widths[..], |(_, columns)| columns);
    let before: usize = 2 + columns.iter().map(|width| width + 2).sum::<usize>();
    if !lines.is_wide() || before + LAST > lines.width() {
        for row in rows {
            // Nothing is said of a cell in which there is nothing to say or to write.
            let told = head.iter().zip(row).enumerate().filter(|(_, (_, cell))| *cell != NOTHING);
            for (at, (title, cell)) in told {
                let cell = if cell.is_empty() { "________" } else { cell };
                lines.hanging(if at == 0 { 0 } else { 2 }, 4, &format!("{title}: {cell}"));
            }
        }
        return;
    }
    let room = lines.width() - before;
    for row in std::iter::once(head).chain(rows.iter().map(Vec::as_slice)) {
        let Some((last, cells)) = row.split_last() else { continue };
        let pad = |cell: &String, width: usize| {
            // An empty cell is there to be written into.
            let sign = if cell.is_empty() { "_" } else { " " };
            format!("{cell}{}  ", sign.repeat(width.saturating_sub(display_width(cell))))
        };
        let start: String = cells.iter().zip(columns).map(|(cell, width)| pad(cell, *width)).collect();
        let line = "_".repeat(widths.last().copied().unwrap_or(0).min(room));
        let last = if last.is_empty() { &line } else { last };
        for (at, part) in crate::report::lines::wrapped(last, room, room).iter().enumerate() {
            lines.raw(
                2,
                &if at == 0 { format!("{start}{part}") } else { format!("{}{part}", " ".repeat(before - 2)) },
            );
        }
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
