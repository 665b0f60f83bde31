//! The unit in which each name is printed.
//!
//! Comes in: the thresholds that names are compared with and what their definitions suggest. Goes out: a unit for
//! every name, hourly and daily: that of its first threshold, else that of its literals, else metric.

use super::Checker;
use super::kinds;
use crate::plan::{DailyId, HourlyId, Kind, NameId, Subject, TableId};
use crate::units::Unit;

/// What a definition suggests for the unit of its values.
#[derive(Clone, Debug)]
pub(super) enum Hint {
    /// Nothing.
    Open,
    /// This one.
    Unit(Unit),
    /// That of another name.
    Like(Subject),
    /// That of what a table gives.
    Table(TableId),
}

impl Hint {
    /// Returns the other suggestion where this one says nothing.
    pub(super) fn or(self, other: Hint) -> Hint {
        match self {
            Hint::Open => other,
            Hint::Unit(_) | Hint::Like(_) | Hint::Table(_) => self,
        }
    }
}

impl Checker<'_> {
    /// Gives every name, hourly and daily its unit. The names come in an order in which each stands after those it
    /// is made from.
    pub(super) fn units(&mut self, order: &[Subject]) {
        for subject in order {
            let Some(made) = self.made.get(subject) else { continue };
            let Some(kind) = made.kind else { continue };
            let suggested = match &made.hint {
                Hint::Open => None,
                Hint::Unit(unit) => Some(unit.clone()),
                Hint::Like(other) => self.unit_of(*other),
                Hint::Table(table) => self.plan.tables.get(table.index()).map(|table| table.unit.clone()),
            };
            let threshold = self.thresholds.get(subject).map(|(_, unit)| unit.clone());
            let unit = threshold
                .into_iter()
                .chain(suggested)
                .find(|unit| fits(unit, kind))
                .unwrap_or_else(|| kinds::canonical_unit(kind));
            match *subject {
                Subject::Name(NameId(id)) => {
                    if let Some(name) = self.plan.names.get_mut(id as usize) {
                        name.unit = unit;
                    }
                }
                Subject::Hourly(HourlyId(id)) => {
                    if let Some(hourly) = self.plan.hourlies.get_mut(id as usize) {
                        hourly.unit = unit;
                    }
                }
                Subject::Daily(DailyId(id)) => {
                    if let Some(daily) = self.plan.dailies.get_mut(id as usize) {
                        daily.unit = unit;
                    }
                }
                Subject::Series(_) => {}
            }
        }
    }

    fn unit_of(&self, subject: Subject) -> Option<Unit> {
        match subject {
            Subject::Name(id) => self.plan.names.get(id.index()).map(|name| name.unit.clone()),
            Subject::Hourly(id) => self.plan.hourlies.get(id.index()).map(|hourly| hourly.unit.clone()),
            Subject::Daily(id) => self.plan.dailies.get(id.index()).map(|daily| daily.unit.clone()),
            Subject::Series(_) => None,
        }
    }
}

/// Returns whether numbers of a unit are values of a kind.
fn fits(unit: &Unit, kind: Kind) -> bool {
    match kind {
        Kind::Share => &*unit.symbol == "%",
        Kind::Number => unit.symbol.is_empty() || &*unit.symbol == "%",
        Kind::Temperature => unit.is_temperature(),
        Kind::Quantity(dimension) => unit.dimension == dimension && &*unit.symbol != "%",
        Kind::Count | Kind::Date | Kind::Clock | Kind::YesNo | Kind::Text | Kind::Words(_) => {
            unit.symbol.is_empty()
        }
    }
}
