//! A weather file as a table to which rows and columns can be added; what is not touched keeps every byte of its row.
//!
//! Comes in: the text of the file and new hours, one by one. Goes out: the new text, and what became of each hour.

use super::added::{AddedWeather, Clash, HoursToAdd, KeptWeather, NewHour};
use super::columns::{FoundColumn, Header, RAIN_OVER, WhichEnd, read_header};
use super::read::moment_of;
use super::{Column, HourGrid, LocalTime, resolve_local};
use crate::problems::Problems;
use crate::source::Span;
use crate::tables::{Sheet, cells, read_stamp};
use crate::units::{Dimension, Unit, plain};
use std::collections::{BTreeMap, BTreeSet};

/// What a new hour is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum HourKind {
    Measured,
    Forecast,
}

/// A row of the file: its hour, where it has one, and its cells as they are written.
pub(super) struct KeptRow {
    pub(super) hour: Option<i64>,
    line: String,
    /// The cells, where one of them was changed.
    cells: Option<Vec<String>>,
}

/// The file as a table to which rows and columns can be added.
pub(super) struct Kept {
    grid: HourGrid,
    header: Header,
    titles: String,
    separator: u8,
    pub(super) rows: Vec<KeptRow>,
    places: BTreeMap<i64, usize>,
    columns_before: usize,
}

impl Kept {
    pub(super) fn open(kept: &KeptWeather<'_>) -> Result<Self, Problems> {
        let grid = kept.grid;
        let mut table = Self {
            grid,
            header: Header { time: Some(0), width: 1, ..Header::default() },
            titles: "time".to_string(),
            separator: b',',
            rows: Vec::new(),
            places: BTreeMap::new(),
            columns_before: 1,
        };
        if kept.text.trim().is_empty() {
            return Ok(table);
        }
        let mut problems = Problems::default();
        let Some(sheet) = Sheet::open(kept.source, kept.text, &mut problems) else { return Err(problems) };
        let cells: Vec<(&str, Span)> = sheet.header.iter().map(|column| (column.name, column.span)).collect();
        table.header = read_header(&cells, kept.columns, &mut problems);
        let Some(time) = table.header.time.filter(|_| !problems.any_error()) else { return Err(problems) };
        table.columns_before = table.header.width;
        let end = sheet.header.last().map_or(0, |column| column.span.end as usize);
        let line = kept.text.get(..end).unwrap_or_default();
        table.titles = line.to_string();
        table.separator = sheet.separator();
        let mut rows = Vec::new();
        let mut taken = BTreeSet::new();
        sheet.rows(&mut problems, |row, _| {
            let stamp = read_stamp(row.cell(time));
            let at = stamp.and_then(|stamp| {
                moment_of(grid.zone(), stamp, |first| taken.contains(&grid.hour_of(first)))
            });
            let hour = at.map(|at| grid.hour_of(at));
            taken.extend(hour);
            let line = kept.text.get(row.span.start as usize..row.span.end as usize).unwrap_or_default();
            rows.push(KeptRow { hour, line: line.to_string(), cells: None });
        });
        if problems.any_error() {
            return Err(problems);
        }
        table.rows = rows;
        Ok(table)
    }

    /// Returns the last hour before another of which something stands in the file.
    pub(super) fn last_before(&self, end: i64) -> Option<i64> {
        let says = |at: &usize| {
            let width = self.header.width;
            let time = self.header.time.unwrap_or_default();
            (0..width).any(|cell| cell != time && !self.cell_at(*at, cell).is_empty())
        };
        let before = |at: &usize| self.rows.get(*at).and_then(|row| row.hour).filter(|hour| *hour < end);
        (0..self.rows.len()).filter(says).filter_map(|at| before(&at)).max()
    }

    pub(super) fn has(&self, hour: i64) -> bool {
        self.rows.iter().any(|row| row.hour == Some(hour))
    }

    pub(super) fn take(
        &mut self,
        hour: &NewHour,
        new: &HoursToAdd<'_>,
        done: &mut AddedWeather,
        told: HourKind,
    ) {
        if self.places.is_empty() {
            self.index();
        }
        if hour.values.is_empty() {
            return;
        }
        let number = self.grid.hour_of(hour.begins);
        let known = self.places.get(&number).copied();
        let place = known.unwrap_or(self.rows.len());
        if known.is_none() {
            let mut cells = vec![String::new(); self.header.width];
            if let Some(cell) = self.header.time.and_then(|time| cells.get_mut(time)) {
                *cell = stamp(self.grid, number);
            }
            self.rows.push(KeptRow { hour: Some(number), line: String::new(), cells: Some(cells) });
            self.places.insert(number, place);
            *(if told == HourKind::Measured { &mut done.measured } else { &mut done.forecast }) += 1;
        }
        let (mut filled, mut contradicted) = (false, false);
        for (column, low, high) in &hour.values {
            let ends: &[(WhichEnd, f64)] = match (low == high, low.is_infinite(), high.is_infinite()) {
                (true, ..) => &[(WhichEnd::Value, *low)],
                (false, false, true) => &[(WhichEnd::From, *low)],
                (false, true, false) => &[(WhichEnd::To, *high)],
                (false, false, false) => &[(WhichEnd::From, *low), (WhichEnd::To, *high)],
                (false, true, true) => &[],
            };
            if low != high && !self.cell(place, *column, WhichEnd::Value).unwrap_or_default().is_empty() {
                continue;
            }
            for (which, value) in ends {
                let (cell, unit) = self.place_of(*column, *which, new.units);
                let text = written(*value, &unit);
                let old = self.cell_at(place, cell);
                if old.is_empty() {
                    self.put(place, cell, text);
                    filled = true;
                } else if told == HourKind::Measured && !is_same(&old, *value, &unit) {
                    contradicted = true;
                    done.contradicted.push((hour.begins, *column, old, text.clone()));
                    if new.clash == Clash::Replace {
                        self.put(place, cell, text);
                    }
                }
            }
        }
        if let Some(hours) = hour.rain_over.filter(|_| known.is_none()) {
            let cell = self.rain_over();
            self.put(place, cell, hours.to_string());
        }
        if known.is_some() {
            let (completed, same) = match told {
                HourKind::Measured => (&mut done.completed, &mut done.same),
                HourKind::Forecast => (&mut done.forecast_completed, &mut done.forecast_same),
            };
            match (filled, contradicted) {
                (true, _) => *completed += 1,
                (false, false) => *same += 1,
                (false, true) => {}
            }
        }
    }

    fn index(&mut self) {
        let rows = self.rows.iter().enumerate().filter_map(|(place, row)| Some((row.hour?, place)));
        self.places = rows.collect();
    }

    /// Returns the place of a column and its unit; a column that the file lacks is put behind the others.
    fn place_of(&mut self, column: Column, which: WhichEnd, units: [&'static str; 3]) -> (usize, Unit) {
        if let Some(found) = self.found(column, which) {
            return (found.place, found.unit.clone());
        }
        let other =
            [WhichEnd::Value, WhichEnd::From, WhichEnd::To].into_iter().find_map(|it| self.found(column, it));
        let unit = other.map_or_else(|| usual_unit(column, units), |found| found.unit.clone());
        let place = self.header.width;
        let end = match which {
            WhichEnd::Value => "",
            WhichEnd::From => " from",
            WhichEnd::To => " to",
        };
        self.titles.push_str(&format!(
            "{}{}{end} [{}]",
            char::from(self.separator),
            column.word(),
            unit.symbol
        ));
        self.header.width += 1;
        self.header.take(FoundColumn { column, place, unit: unit.clone() }, which);
        (place, unit)
    }

    /// Returns the place of the hours over which a row's rain is the total.
    fn rain_over(&mut self) -> usize {
        let width = self.header.width;
        *self.header.rain_over.get_or_insert_with(|| {
            self.titles.push_str(&format!("{}{RAIN_OVER} [h]", char::from(self.separator)));
            self.header.width += 1;
            width
        })
    }

    fn found(&self, column: Column, which: WhichEnd) -> Option<&FoundColumn> {
        let mut ends = self.header.ends.iter();
        match which {
            WhichEnd::Value => self.header.found.iter().find(|found| found.column == column),
            WhichEnd::From => ends.find_map(|(from, _)| from.as_ref().filter(|found| found.column == column)),
            WhichEnd::To => ends.find_map(|(_, to)| to.as_ref().filter(|found| found.column == column)),
        }
    }

    fn cell(&self, row: usize, column: Column, which: WhichEnd) -> Option<String> {
        self.found(column, which).map(|found| self.cell_at(row, found.place))
    }

    fn cell_at(&self, row: usize, cell: usize) -> String {
        let Some(row) = self.rows.get(row) else { return String::new() };
        match &row.cells {
            Some(cells) => cells.get(cell).cloned().unwrap_or_default(),
            None => {
                let (from, to) = cells(&row.line, self.separator).get(cell).copied().unwrap_or_default();
                row.line.get(from..to).unwrap_or_default().trim().trim_matches('"').to_string()
            }
        }
    }

    fn put(&mut self, row: usize, cell: usize, text: String) {
        let separator = self.separator;
        let Some(row) = self.rows.get_mut(row) else { return };
        let line = &row.line;
        let whole = |(from, to): (usize, usize)| line.get(from..to).unwrap_or_default().to_string();
        let cells = row.cells.get_or_insert_with(|| cells(line, separator).into_iter().map(whole).collect());
        if cells.len() <= cell {
            cells.resize(cell + 1, String::new());
        }
        if let Some(slot) = cells.get_mut(cell) {
            *slot = text;
        }
    }

    /// Returns the text: rows that were there in their order, new ones among them by their time.
    pub(super) fn text(&self) -> String {
        let mut text = self.titles.clone();
        text.push('\n');
        let mut rows: Vec<&KeptRow> = self.rows.iter().collect();
        let mut latest = i64::MIN;
        let mut keys: Vec<i64> = Vec::with_capacity(rows.len());
        for row in &rows {
            latest = row.hour.unwrap_or(latest);
            keys.push(latest);
        }
        let mut order: Vec<usize> = (0..rows.len()).collect();
        order.sort_by_key(|place| keys.get(*place).copied());
        let separator = char::from(self.separator).to_string();
        let width = self.header.width;
        for place in order {
            let Some(row) = rows.get_mut(place) else { continue };
            let count = match &row.cells {
                Some(cells) => {
                    text.push_str(&cells.join(&separator));
                    cells.len()
                }
                None => {
                    text.push_str(&row.line);
                    self.columns_before
                }
            };
            text.push_str(&separator.repeat(width.saturating_sub(count)));
            text.push('\n');
        }
        text
    }
}

/// Returns the begin of an hour as the file writes it: by the clock on the wall, with its offset where that shows it twice.
fn stamp(grid: HourGrid, hour: i64) -> String {
    let local = grid.local(hour);
    match resolve_local(grid.zone(), local.naive_local()) {
        LocalTime::Once(_) => local.format("%Y-%m-%dT%H:%M").to_string(),
        LocalTime::Twice(..) | LocalTime::Never => local.format("%Y-%m-%dT%H:%M%:z").to_string(),
    }
}

fn usual_unit(column: Column, [temperature, rain, wind]: [&'static str; 3]) -> Unit {
    let symbol = match column {
        Column::Temperature | Column::DewPoint => temperature,
        Column::Rain => rain,
        Column::Wind | Column::Gust => wind,
        Column::Humidity | Column::LeafWet => "%",
    };
    plain(symbol).unwrap_or_else(Unit::none)
}

fn in_unit(value: f64, unit: &Unit) -> f64 {
    if unit.is_temperature() { unit.point_from_base(value) } else { unit.amount_from_base(value) }
}

/// Returns a value as it is written: with two decimals at most, of rain with four.
fn written(value: f64, unit: &Unit) -> String {
    let decimals = if unit.dimension == Dimension::LENGTH { 4 } else { 2 };
    let text = format!("{:.decimals$}", in_unit(value, unit));
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

/// Returns whether what is written is a value, as far as stations and tables round: to a hundredth of an inch, a tenth of a
/// millimetre, of a degree and of a speed, or to the whole numbers in which a temperature, a speed or a share is written.
fn is_same(old: &str, value: f64, unit: &Unit) -> bool {
    let written = old.split_once(['.', ',']).map_or(0, |(_, decimals)| decimals.len());
    let decimals = match (&*unit.symbol, unit.dimension) {
        ("in", _) => 2,
        (_, Dimension::LENGTH) => 1,
        _ => written.min(1) as i32,
    };
    let old = old.replace(',', ".").parse::<f64>();
    // The other may be rounded too, to the tenth of a degree.
    let value = in_unit(value, unit);
    let near = 0.51 * 10f64.powi(-decimals) + 1e-6;
    old.is_ok_and(|old| (old - value).abs() <= near)
}
