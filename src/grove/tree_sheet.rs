//! `trees.csv`: one row a tree, with what was seen of it.
//!
//! Comes in: a sheet. Goes out: the trees in walking order. A million rows are read in about a second.

use super::block::{Block, unknown_block};
use super::column::ColumnReader;
use super::moment::{day_or_moment, from_spreadsheet};
use super::reading::FileReading;
use super::sight::UNDATED;
use super::target::Target;
use super::tree::{LATER, NO_DAY, NewTree, Trees};
use super::value;
use crate::phrase::said;
use crate::plan::Origin;
use crate::problems::{Finding, Problem};
use crate::source::SourceId;
use crate::tables::{Row, Sheet};
use chrono::Datelike;
use rustc_hash::FxHashMap;

/// The columns that are no observations.
const COLUMNS: &[&str] = &["tree", "block", "cultivar", "at", "east", "north", "harvest", "seen", "note"];

/// Reads the trees of a sheet. Where the grove lists no blocks, they are made from the rows.
pub(super) fn read(
    source: SourceId,
    blocks: &mut Blocks,
    seen: Option<i32>,
    reading: &mut FileReading,
) -> Trees {
    let mut trees = Trees::of_source(source);
    let Some(sheet) = Sheet::open(source, reading.text_of(source), &mut reading.problems) else {
        return trees;
    };
    let Some(name) = sheet.column("tree") else {
        reading.problems.push(sheet.missing("tree", "the name of each tree"));
        return trees;
    };
    let mut columns = observations(&sheet, reading);
    let places = SheetColumns {
        name,
        block: sheet.column("block"),
        cultivar: sheet.column("cultivar"),
        at: sheet.column("at"),
        east: sheet.column("east"),
        north: sheet.column("north"),
        harvest: sheet.column("harvest"),
        seen: sheet.column("seen"),
    };
    let ages = columns.iter().any(|(_, reader)| match &reader.name.origin {
        Origin::Observed(observation) => observation.lasts.is_some(),
        _ => false,
    });
    if ages && places.seen.is_none() && seen.is_none() {
        reading.problems.push(sheet.missing("seen", "the day on which it was seen, `2027-02-11`"));
    }
    let must_say_when = ages && places.seen.is_some() && seen.is_none();
    let mut latest = Latest { seen: (String::new(), 0), harvest: (String::new(), 0) };
    sheet.rows(reading, |row, reading| {
        let Some(tree) = places.tree(row, &sheet, blocks, seen, &mut latest, reading) else { return };
        let at = match trees.add(&tree) {
            Ok(at) => at,
            Err(first) => {
                twice(tree.name, sheet.cell_span(row.span, places.name), trees.span(first), reading);
                return;
            }
        };
        let mut any = false;
        // What grows old without a day is an error of its own.
        let undated = seen.is_none() && !ages && row.cell_of(places.seen).is_empty();
        for (column, reader) in &mut columns {
            match reader.read(at, row.raw_cell(*column)) {
                Ok(seen) => {
                    any |= seen;
                    if seen && undated {
                        reading.undated.add(tree.name, &reader.name.word, row.span);
                    }
                }
                Err(trouble) => {
                    let span = sheet.cell_span(row.span, *column);
                    reading.problems.push(trouble.at(span));
                }
            }
        }
        if any && must_say_when && row.cell_of(places.seen).is_empty() {
            let help = "write the day under `seen`: `2027-02-11`";
            reading.error(row.span, "the row does not say when this was seen", help);
        }
    });
    trees.columns = columns.into_iter().map(|(_, reader)| reader.done()).collect();
    trees.trim();
    trees
}

/// The blocks by their names, and whether a tree may name a new one.
pub(super) struct Blocks {
    pub list: Vec<Block>,
    by_name: FxHashMap<Box<str>, u16>,
    open: bool,
}

impl Blocks {
    /// Takes the blocks of the grove file; without any, the trees' own names make them.
    pub fn new(list: Vec<Block>, open: bool) -> Self {
        let numbered =
            list.iter().enumerate().filter_map(|(at, block)| Some((block, u16::try_from(at).ok()?)));
        let by_name = numbered.map(|(block, at)| (Box::from(&*block.name), at)).collect();
        Self { list, by_name, open }
    }

    /// Returns the number of the block that a tree names; a tree that names none stands in the only one.
    pub fn find(&mut self, name: &str, span: crate::source::Span) -> Result<u16, super::trouble::Trouble> {
        if let Some(at) = self.by_name.get(name) {
            return Ok(*at);
        }
        if name.is_empty() && self.list.len() == 1 && !self.open {
            return Ok(0);
        }
        if !self.open {
            return Err(if name.is_empty() {
                super::trouble::Trouble::new("the tree has no block")
                    .help("write the block in which it stands")
            } else {
                unknown_block(name, &self.list)
            });
        }
        let Ok(at) = u16::try_from(self.list.len()) else {
            return Err(super::trouble::Trouble::new("there are more than 65536 blocks"));
        };
        let shown = if name.is_empty() { "grove" } else { name };
        self.list.push(Block { name: shown.into(), spacing: None, canopy: None, harvest: None, span });
        self.by_name.insert(name.into(), at);
        Ok(at)
    }
}

struct SheetColumns {
    name: usize,
    block: Option<usize>,
    cultivar: Option<usize>,
    at: Option<usize>,
    east: Option<usize>,
    north: Option<usize>,
    harvest: Option<usize>,
    seen: Option<usize>,
}

/// The latest days read, since neighbouring rows mostly bear the same.
struct Latest {
    seen: (String, i32),
    harvest: (String, i32),
}

fn observations<'p>(sheet: &Sheet, reading: &mut FileReading<'p>) -> Vec<(usize, ColumnReader<'p>)> {
    let mut columns = Vec::new();
    for (at, column) in sheet.header.iter().enumerate() {
        if column.name.is_empty() || COLUMNS.contains(&column.name) {
            continue;
        }
        let Some(id) = reading.observation(column.name, column.span, "a column of trees", COLUMNS) else {
            continue;
        };
        if let Some(trouble) = reading.misplaced(id, Target::Tree(0)) {
            reading.problems.push(trouble.at(column.span));
            continue;
        }
        columns.push((at, ColumnReader::new(id, reading.plan)));
    }
    columns
}

impl SheetColumns {
    /// Reads what a row says of its tree, but for what was seen.
    fn tree<'r>(
        &self,
        row: &Row<'r>,
        sheet: &Sheet,
        blocks: &mut Blocks,
        seen: Option<i32>,
        latest: &mut Latest,
        reading: &mut FileReading,
    ) -> Option<NewTree<'r>> {
        let name = row.cell(self.name);
        if name.is_empty() {
            reading.error(row.span, "the tree has no name", "write a name of its own for each tree");
            return None;
        }
        let span =
            |column: Option<usize>| column.map_or(row.span, |column| sheet.cell_span(row.span, column));
        let block = blocks.find(row.cell_of(self.block), row.span);
        let block = block.unwrap_or_else(|trouble| {
            reading.problems.push(trouble.at(span(self.block)));
            0
        });
        let seen = match row.cell_of(self.seen) {
            "" => seen.unwrap_or(UNDATED),
            text if text == latest.seen.0 => latest.seen.1,
            text => {
                let day = seen_day(text, reading);
                let day = reading.keep(day, span(self.seen)).unwrap_or(NO_DAY);
                latest.seen = (text.to_string(), day);
                day
            }
        };
        let harvest = match row.cell_of(self.harvest) {
            "" => None,
            text if text == latest.harvest.0 => Some(latest.harvest.1),
            text => {
                let read = from_spreadsheet(text, reading.order).and_then(|text| value::date(&text));
                let day = reading.keep(read, span(self.harvest)).map(|date| date.num_days_from_ce());
                latest.harvest = day.map_or_else(|| (String::new(), 0), |day| (text.to_string(), day));
                day
            }
        };
        let cultivar = Some(row.cell_of(self.cultivar)).filter(|cultivar| !cultivar.is_empty());
        let position = self.position(row, sheet, reading);
        Some(NewTree { name, block, cultivar, harvest, seen, position, span: row.span })
    }

    fn position(&self, row: &Row, sheet: &Sheet, reading: &mut FileReading) -> Option<(f64, f64)> {
        let at = row.cell_of(self.at);
        let (found, column) = if at.is_empty() {
            let (east, north) = (row.cell_of(self.east), row.cell_of(self.north));
            if east.is_empty() && north.is_empty() {
                return None;
            }
            (metres(east, north), self.east)
        } else {
            let inner = at.trim_matches(['[', ']', '(', ')']).trim();
            let (east, north) = inner.split_once([',', ';', ' ']).unwrap_or((inner, ""));
            (metres(east, north), self.at)
        };
        if found.is_none() {
            let span = column.map_or(row.span, |column| sheet.cell_span(row.span, column));
            reading.error(span, "this is no place", "write metres east and metres north: `12.5, 40.0`");
        }
        found
    }
}

/// Reads metres east and north.
pub(super) fn metres(east: &str, north: &str) -> Option<(f64, f64)> {
    let metres = |text: &str| text.trim().parse::<f64>().ok().filter(|metres| metres.abs() <= 1e6);
    metres(east).zip(metres(north))
}

/// Reports a tree given twice.
pub(super) fn twice(
    name: &str,
    at: crate::source::Span,
    first: crate::source::Span,
    reading: &mut FileReading,
) {
    reading.problems.push(
        Problem::new(Finding::Input, at, said!("the tree `{name}` is given twice", name))
            .help("give each tree a name of its own, or delete one of the two")
            .related(first, "it is given here first"),
    );
}

/// Reads the day on which something was seen; what was seen after the moment of the advice never counts.
pub(super) fn seen_day(text: &str, reading: &FileReading) -> Result<i32, super::trouble::Trouble> {
    let (date, moment) = day_or_moment(text, reading.zone(), reading.order)?;
    let later = moment.is_some_and(|moment| moment > reading.as_of) || date > reading.as_of.date_naive();
    Ok(if later { LATER } else { date.num_days_from_ce() })
}
