//! The season's spray record, as record-keeping asks for it: rows, amounts on the land, rotation, trees never sprayed.
//!
//! Comes in: a grove and its rulebook, joined with the labels of the jugs. Goes out: cells by their columns, as text,
//! CSV or JSON. Corrected rows of the log are not among them. Decides nothing.

mod csv_form;
mod json_form;
mod measured;
mod row;
mod sums;
mod text_form;

pub use csv_form::{csv, harmless};
#[cfg(test)]
pub(super) use json_form::RecordForm;
pub use json_form::json;
pub use row::{COLUMNS, Column};
pub use sums::{OnLand, Rotation, on_land, rotations, unsprayed};
pub use text_form::text;

use crate::grove::{Grove, SprayRow, UnitSystem};
use crate::plan::Plan;
use crate::weather::{Site, Weather};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

/// What a record is made of.
#[derive(Clone, Copy, Debug)]
pub struct Season<'a> {
    /// The rulebook, joined with the labels of the jugs.
    pub plan: &'a Plan,
    /// The grove.
    pub grove: &'a Grove,
    /// The hourly weather, where the grove has some.
    pub weather: Option<&'a Weather>,
    /// Where it lies.
    pub site: &'a Site,
    /// The first and the last day, both counted.
    pub days: (NaiveDate, NaiveDate),
}

impl<'a> Season<'a> {
    /// Returns its sprays, the oldest first.
    pub fn rows(&self) -> impl Iterator<Item = &'a SprayRow> + use<'a> {
        let (first, last) = self.days;
        self.grove.log.rows().iter().filter(move |row| (first..=last).contains(&row.day()))
    }

    /// Returns the cells of a spray, in the order of [`COLUMNS`]; an empty one is not known or was not written.
    pub fn cells(&self, row: &SprayRow) -> Vec<String> {
        row::cells(self, row)
    }

    /// Returns what a row of the log is to keep of a spray, by its columns: what was used, as the grove says it now.
    pub fn kept(&self, row: &SprayRow) -> Vec<(String, String)> {
        row::kept(self, row)
    }

    /// Returns when the sprays of the log ended that lie after the moment of the record, and so are not in it.
    pub fn ahead(&self) -> &'a [DateTime<Tz>] {
        self.grove.log.ahead()
    }

    /// Returns the unit of a mass on an area that its pages print.
    fn on_area(&self) -> &'static str {
        land_unit(self.grove.units)
    }
}

/// Returns the unit of a mass on an area that pages print.
pub fn land_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "lb/ac",
        UnitSystem::Metric => "kg/ha",
    }
}
