//! The rows of a weather file: times, numbers and what cannot be.

use super::alike::Alike;
use super::columns::{FoundColumn, Header, shortened};
use super::hours::HourValues;
use super::limits::{accept, possible};
use super::{Column, dew_point, humidity_from_dew_point};
use crate::phrase::said;
use crate::problems::{Finding, Problem, Problems};
use crate::source::Span;
use crate::tables::{self, Sheet, Stamp, read_stamp};
use crate::units::{clean, show};

/// One row: when, what, and where it stands.
#[derive(Clone, Debug)]
pub(super) struct WeatherRow {
    pub(super) stamp: Stamp,
    pub(super) values: HourValues,
    /// Between what values lie that are not one number.
    pub(super) ends: Vec<(Column, f64, f64)>,
    /// Over how many hours, from this one on, its rain is the total.
    pub(super) rain_over: Option<i64>,
    pub(super) span: Span,
}

/// Collects the rows of a file.
pub(super) struct Rows<'h> {
    pub(super) list: Vec<WeatherRow>,
    header: &'h Header,
    sheet: &'h Sheet<'h>,
    found: Alike,
}

impl<'h> Rows<'h> {
    pub(super) fn new(header: &'h Header, sheet: &'h Sheet<'h>) -> Self {
        Self { list: Vec::new(), header, sheet, found: Alike::default() }
    }

    /// Reads one row.
    pub(super) fn read(&mut self, row: &tables::Row<'_>) {
        let mut notes = Problems::default();
        match self.row(row, &mut notes) {
            Ok(row) => self.list.push(row),
            Err(problem) => notes.push(*problem),
        }
        self.found.add_all(notes);
    }

    /// Says what was wrong with the rows.
    pub(super) fn finish(self, problems: &mut Problems) -> Vec<WeatherRow> {
        self.found.finish(problems);
        self.list
    }

    fn row(&self, row: &tables::Row<'_>, problems: &mut Problems) -> Result<WeatherRow, Box<Problem>> {
        let (width, line) = (self.header.width, row.span);
        if row.len() < width {
            let message = match row.len() {
                1 => said!("the row has 1 cell, the header has {width}", width),
                count => said!("the row has {count} cells, the header has {width}", count, width),
            };
            let help = "give every column of the header a cell, empty where nothing was measured";
            return Err(Problem::new(Finding::Input, line, message).label("this row").help(help).into());
        }
        let Some(time) = self.header.time else {
            return Err(Problem::new(Finding::Input, line, "the row has no time").into());
        };
        let stamp = read_stamp(row.cell(time)).ok_or_else(|| {
            let message = said!("`{shortened}` is not a time", shortened = shortened(row.cell(time)));
            Box::new(
                Problem::new(Finding::Input, self.sheet.cell_span(line, time), message)
                    .label("this time")
                    .help("write the start of the hour as `2027-02-10T18:00`"),
            )
        })?;
        let mut values = HourValues::default();
        for found in &self.header.found {
            values.set(found.column, self.cell(found, row, problems)?);
        }
        complete(&mut values, line, problems);
        let ends = self.ends(row, &values, problems)?;
        let over = self.header.rain_over.map_or("", |place| row.cell(place));
        let rain_over = over.parse().ok().filter(|hours| (2..=MOST_HOURS).contains(hours));
        Ok(WeatherRow { stamp, values, ends, rain_over, span: line })
    }

    /// Reads between what values lie; an end that is not given is the last that can be.
    fn ends(
        &self,
        row: &tables::Row<'_>,
        values: &HourValues,
        problems: &mut Problems,
    ) -> Result<Vec<(Column, f64, f64)>, Box<Problem>> {
        let mut ends = Vec::new();
        for (low, high) in &self.header.ends {
            let Some(column) = low.as_ref().or(high.as_ref()).map(|found| found.column) else { continue };
            let mut read = |found: &Option<FoundColumn>| match found {
                Some(found) => self.cell(found, row, problems),
                None => Ok(None),
            };
            let (low, high) = (read(low)?, read(high)?);
            if values.get(column).is_some() || (low.is_none() && high.is_none()) {
                continue;
            }
            let (least, most) = possible(column);
            let (low, high) = (low.unwrap_or(least), high.unwrap_or(most));
            if low <= high {
                ends.push((column, low, high));
            } else {
                let message = said!("`{series} from` lies above `{series} to`", series = column.word());
                let problem = Problem::new(Finding::InputNote, row.span, message);
                problems.push(problem.label("counted as missing"));
            }
        }
        Ok(ends)
    }

    fn cell(
        &self,
        found: &FoundColumn,
        row: &tables::Row<'_>,
        problems: &mut Problems,
    ) -> Result<Option<f64>, Box<Problem>> {
        let text = row.cell(found.place);
        if text.is_empty() {
            return Ok(None);
        }
        let span = || self.sheet.cell_span(row.span, found.place);
        let word = found.column.word();
        let number = self.number(text).ok_or_else(|| {
            let help = if text.contains(',') {
                "write decimals with a point, `12.5`"
            } else {
                "write a plain number, and leave the cell empty where nothing was measured"
            };
            Box::new(
                Problem::new(
                    Finding::Input,
                    span(),
                    said!("`{shortened}` is not a number", shortened = shortened(text)),
                )
                .label(said!("the {word} of this hour", word))
                .help(help),
            )
        })?;
        let base = match found.column {
            Column::Temperature | Column::DewPoint => found.unit.point_to_base(number),
            Column::LeafWet | Column::Humidity | Column::Rain | Column::Wind | Column::Gust => {
                clean(found.unit.amount_to_base(number))
            }
        };
        let value = accept(found.column, base);
        if value.is_none() {
            let message = said!(
                "a {word} of {value} is not possible",
                word,
                value = show_plain(number, &found.unit.symbol)
            );
            let problem = Problem::new(Finding::InputNote, span(), message);
            problems.push(problem.label("counted as missing"));
        }
        Ok(value)
    }

    /// Reads a number; where commas do not part cells, one may stand before its decimals.
    fn number(&self, text: &str) -> Option<f64> {
        let number = match text.contains(',') && self.sheet.has_decimal_commas() {
            true => text.replace(',', ".").parse::<f64>(),
            false => text.parse::<f64>(),
        };
        number.ok().filter(|number| number.is_finite())
    }
}

fn show_plain(number: f64, symbol: &str) -> String {
    if number.abs() < 1e9 { format!("{} {symbol}", clean(number)) } else { show(number, symbol) }
}

/// Computes the humidity from the dew point, or the other way round, and holds the two against each other.
fn complete(values: &mut HourValues, line: Span, problems: &mut Problems) {
    let Some(air) = values.get(Column::Temperature) else { return };
    let (humidity, dew) = (values.get(Column::Humidity), values.get(Column::DewPoint));
    let from_dew = dew.map(|dew| humidity_from_dew_point(air, dew));
    match (humidity, from_dew) {
        (Some(humidity), None) => {
            values.set(Column::DewPoint, accept(Column::DewPoint, dew_point(air, humidity)));
        }
        (None, Some(from_dew)) if from_dew <= SATURATED => {
            values.set(Column::Humidity, Some(from_dew.min(1.0)));
        }
        (None, Some(_)) => {
            let message = "the dew point lies above the temperature of the air";
            problems.push(
                Problem::new(Finding::InputNote, line, message).label("the dew point is counted as missing"),
            );
            values.set(Column::DewPoint, None);
        }
        (Some(humidity), Some(from_dew)) if (humidity - from_dew).abs() > DISAGREE => {
            let message = said!(
                "the humidity of {humidity} disagrees with that of the dew point, {other}",
                humidity = show(humidity * 100.0, "%"),
                other = show(from_dew * 100.0, "%")
            );
            problems
                .push(Problem::new(Finding::InputNote, line, message).label("both are used as they stand"));
        }
        (Some(_), Some(_)) | (None, None) => {}
    }
}

/// No total of a forecast is of more hours.
const MOST_HOURS: i64 = 240;
/// Up to here a dew point above the temperature is the rounding of both to whole degrees Fahrenheit.
const SATURATED: f64 = 1.04;
/// By so much the humidity and the dew point of a row may differ.
const DISAGREE: f64 = 0.03 + 1e-9;
