//! `sprays.csv`, the spray log: only ever appended to.
//!
//! Comes in: a sheet. Goes out: the rows that count. A correction is a later row that names, in the column `corrects` or
//! in its note (`corrects 12`, `corrects sheet 2027-03`), the line or the sheet that it corrects; it stands in for
//! that row, and with the product `none` it strikes it out. A row that broke off is an error, never a spray.

use super::block::Block;
use super::log::{SprayLog, SprayRow, SprayVolume};
use super::log_corrected::{Corrected, LoggedRows};
use super::log_part::parts;
use super::moment::{from_spreadsheet, moment};
use super::reading::FileReading;
use super::shed::Jug;
use super::target::{Places, Target};
use super::tree::Trees;
use super::trouble::Trouble;
use super::used;
use crate::phrase::said;
use crate::problems::{Finding, Problem, nearest};
use crate::source::{SourceId, Span};
use crate::tables::{Row, Sheet};
use crate::units::{Dimension, spoken};
use chrono::{DateTime, Duration};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// The columns of the log, in the order in which record-keeping asks for them.
pub const LOG_COLUMNS: &[&str] = &[
    "start",
    "end",
    "on",
    "product",
    "jug",
    "registration",
    "strength",
    "rate",
    "volume",
    "area",
    "stage",
    "target",
    "wind",
    "temperature",
    "humidity",
    "operator",
    "certificate",
    "sheet",
    "note",
    // What was used, as it stood when the row was written: see `used`.
    used::TREES,
    used::LAND,
    used::JUG,
    "blocks-sprayed",
    used::AMOUNT,
    "in-spray",
    "on-land",
    "keep-out-until",
    "pick-not-before",
    "corrects",
];

/// The columns that no log can do without, and what stands in them.
const NEEDED: &[(&str, &str)] = &[
    ("start", "when the spray began, `2027-02-11T05:30`"),
    ("end", "when it ended"),
    ("on", "the trees, the block or `grove`"),
    ("product", "the rulebook's word for the product"),
];

/// What the rows of a log speak of.
pub(super) struct LogGround<'g> {
    pub trees: &'g Trees,
    pub blocks: &'g [Block],
    pub shed: &'g [Jug],
    pub places: &'g Places<'g>,
}

/// Reads a log; rows that begin after the moment of the advice are left out.
pub(super) fn read(source: SourceId, ground: &LogGround, reading: &mut FileReading) -> SprayLog {
    let Some(sheet) = Sheet::open_log(source, reading.text_of(source), &mut reading.problems) else {
        return SprayLog::default();
    };
    let columns = columns(&sheet, reading);
    let missing: Vec<Problem> = NEEDED
        .iter()
        .filter(|(name, _)| sheet.column(name).is_none())
        .map(|(name, what)| sheet.missing(name, what))
        .collect();
    if !missing.is_empty() {
        missing.into_iter().for_each(|problem| reading.problems.push(problem));
        return SprayLog::default();
    }
    let mut rows = LoggedRows::default();
    sheet.rows(reading, |row, reading| {
        let cells = RowCells { row, sheet: &sheet, columns: &columns };
        let corrected = match cells.corrected(&rows) {
            Ok(corrected) => corrected,
            Err(problem) => {
                reading.problems.push(*problem);
                return;
            }
        };
        let read = cells.read(ground, reading);
        if read.is_some() || cells.strikes_out() {
            rows.strike(&corrected);
        }
        let line = reading.sources.place(row.span).line;
        rows.add(line, cells.text("sheet"), !corrected.is_empty(), read.map(|read| (row.span, read)));
    });
    let counted = rows.counted();
    let (past, later): (Vec<_>, Vec<_>) = counted.partition(|(_, row)| row.start <= reading.as_of);
    // A year mistyped must not take a spray out of the counts unseen.
    if let Some((first, _)) = later.first() {
        let message = match later.len() {
            1 => "this spray begins after the moment of the advice, and is not counted".into(),
            more => said!(
                "this spray and {more} more begin after the moment of the advice, and are not counted",
                more = more - 1
            ),
        };
        reading.note(*first, message);
    }
    let only = |rows: Vec<(Span, SprayRow)>| rows.into_iter().map(|(_, row)| row).collect::<Vec<_>>();
    SprayLog::of_rows(only(past), ground.trees).with_ahead(&only(later))
}

fn columns(sheet: &Sheet, reading: &mut FileReading) -> BTreeMap<&'static str, usize> {
    let mut columns = BTreeMap::new();
    for (at, column) in sheet.header.iter().enumerate().filter(|(_, column)| !column.name.is_empty()) {
        match LOG_COLUMNS.iter().find(|known| **known == column.name) {
            Some(known) => {
                columns.entry(*known).or_insert(at);
            }
            None => match nearest(column.name, LOG_COLUMNS.iter().copied()) {
                // A needed column that is missing is reported as such.
                Some(near)
                    if NEEDED.iter().any(|(name, _)| *name == near) && sheet.column(near).is_none() => {}
                Some(near) => {
                    let message = said!("`{column}` is not a column of the spray log", column = column.name);
                    reading.error(column.span, message, said!("did you mean `{near}`?", near));
                }
                None => reading.note(
                    column.span,
                    said!("the column `{column}` of the spray log is not read", column = column.name),
                ),
            },
        }
    }
    columns
}

/// The cells of a row by the names of their columns.
pub(super) struct RowCells<'c> {
    row: &'c Row<'c>,
    sheet: &'c Sheet<'c>,
    columns: &'c BTreeMap<&'static str, usize>,
}

impl<'c> RowCells<'c> {
    /// Returns the text of a column, empty where the log does not have it.
    pub fn text(&self, column: &str) -> &'c str {
        self.row.cell_of(self.columns.get(column).copied())
    }

    /// Returns where the cell of a column stands.
    pub fn span(&self, column: &str) -> Span {
        self.columns.get(column).map_or(self.row.span, |at| self.sheet.cell_span(self.row.span, *at))
    }

    fn strikes_out(&self) -> bool {
        self.text("product") == "none"
    }

    /// Returns the rows that this one corrects.
    fn corrected(&self, earlier: &LoggedRows) -> Result<Corrected, Box<Problem>> {
        let (named, span) = match self.text("corrects") {
            "" => match after_corrects(self.text("note")) {
                Some(named) => (named, self.span("note")),
                None if self.strikes_out() => {
                    let help = "leave it out, or name the row that it strikes out: `corrects 12` in its note";
                    let message = "nothing was sprayed, says this row";
                    return Err(Box::new(
                        Problem::new(Finding::Input, self.span("product"), message).help(help),
                    ));
                }
                None => return Ok(Corrected::default()),
            },
            named => (named, self.span("corrects")),
        };
        earlier.named(named, self.text("sheet")).ok_or_else(|| {
            let help = said!(
                "name an earlier row by its line, 2 to {earlier}, or by its sheet: `corrects sheet …`",
                earlier = earlier.last_line()
            );
            let message = said!("there is no earlier row `{named}`", named);
            Box::new(Problem::new(Finding::Input, span, message).help(help))
        })
    }

    /// Reads a spray; nothing where the row is in error or strikes out another.
    fn read(&self, ground: &LogGround, reading: &mut FileReading) -> Option<SprayRow> {
        if self.strikes_out() {
            return None;
        }
        let before = reading.problems.len();
        let start = self.moment("start", None, reading);
        let end = self.moment("end", start, reading);
        if let (Some(start), Some(end)) = (start, end) {
            self.order(start, end, reading);
        }
        // Trees may have left the grove since: those that are named one by one are known for good.
        let targets = match self.text(used::TREES) {
            "" => reading.keep(ground.places.read(self.text("on")), self.span("on")),
            trees => Some(used::trees(trees, ground.trees)),
        };
        let parts = parts(self, ground.shed, reading);
        let volume = self.optional("volume", reading, volume);
        let area = self.optional("area", reading, |text| super::keys::quantity(text, Dimension::AREA));
        let land_then = match self.text(used::LAND) {
            "" => None,
            text => super::keys::quantity(text, Dimension::AREA).ok(),
        };
        // A note does not make a row doubtful; an error does.
        let fresh = reading.problems.iter().skip(before);
        if fresh.filter(|problem| problem.finding == Finding::Input).count() > 0 {
            return None;
        }
        let targets = targets?;
        let fields = LOG_COLUMNS.iter().map(|column| (*column, self.text(column)));
        Some(SprayRow {
            start: start?,
            end: end?,
            on: self.text("on").into(),
            parts,
            volume,
            area: area.or(land_then).or_else(|| land(&targets, ground)),
            fields: fields
                .filter(|(_, text)| !text.is_empty())
                .map(|(column, text)| (column, text.into()))
                .collect(),
            at: self.row.span,
            targets,
        })
    }

    fn moment(
        &self,
        column: &str,
        start: Option<DateTime<Tz>>,
        reading: &mut FileReading,
    ) -> Option<DateTime<Tz>> {
        let text = self.text(column);
        // An end may be a time of day alone: that of the day on which the spray began.
        let on_day = start.filter(|_| text.len() == 5 && text.contains(':'));
        let text = on_day.map_or_else(|| text.to_string(), |start| format!("{}T{text}", start.date_naive()));
        let read = if text.is_empty() {
            Err(Trouble::new(said!("the row does not say its `{column}`", column))
                .help("complete the row, `2027-02-11T05:30`, or delete it if it was only half written"))
        } else {
            from_spreadsheet(&text, reading.order).and_then(|text| moment(&text, reading.zone()))
        };
        reading.keep(read, self.span(column))
    }

    fn order(&self, start: DateTime<Tz>, end: DateTime<Tz>, reading: &mut FileReading) {
        if end < start {
            let help = "write when the spray began under `start` and when it ended under `end`";
            reading.error(self.span("end"), "the spray ends before it begins", help);
        } else if end - start > Duration::hours(24) {
            reading.note(self.row.span, "this spray took longer than a day");
        }
    }

    fn optional<T>(
        &self,
        column: &str,
        reading: &mut FileReading,
        read: impl Fn(&str) -> Result<T, Trouble>,
    ) -> Option<T> {
        let text = self.text(column);
        if text.is_empty() {
            return None;
        }
        reading.keep(read(text), self.span(column))
    }
}

/// Returns what stands after `corrects` in a note, up to a full stop, a comma or a colon.
fn after_corrects(note: &str) -> Option<&str> {
    let (before, after) = note.split_once("corrects ")?;
    let word_begins = before.is_empty() || before.ends_with([' ', '.', ',', ';', ':']);
    let named = after.split([',', ';', ':']).next().unwrap_or(after).trim().trim_end_matches('.');
    (word_begins && !named.is_empty()).then_some(named)
}

/// Reads `120 gal`, `150 gal/ac` or `1.5 gal/tree`.
fn volume(text: &str) -> Result<SprayVolume, Trouble> {
    let example = "write how much spray went out: `120 gal`, `150 gal/ac` or `1.5 gal/tree`";
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let on_area = Dimension::VOLUME.over(Dimension::AREA);
    let amount = said.amount();
    match said.unit.dimension {
        Dimension::VOLUME if said.per_tree && amount >= 0.0 => Ok(SprayVolume::PerTree(amount)),
        Dimension::VOLUME if amount >= 0.0 => Ok(SprayVolume::Total(amount)),
        dimension if dimension == on_area && !said.is_bare() && amount >= 0.0 => {
            Ok(SprayVolume::PerArea(amount))
        }
        _ if said.is_bare() => Err(Trouble::new(said!("`{text}` has no unit", text)).help(example)),
        _ => Err(Trouble::new(said!("`{text}` is not a volume of spray", text)).help(example)),
    }
}

/// Returns the land on which the trees of a row stand, where all of their blocks say how far apart they are.
fn land(targets: &[Target], ground: &LogGround) -> Option<f64> {
    let mut sum = Some(0.0);
    for target in targets {
        target.each_tree(ground.trees, |tree| {
            let spacing = ground.blocks.get(ground.trees.block(tree)).and_then(|block| block.spacing);
            sum = sum.zip(spacing).map(|(sum, spacing)| sum + spacing.area());
        });
    }
    sum
}
