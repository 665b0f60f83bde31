//! Cells and situations: the constants of a rulebook cut each name's range, and one cell for each name is a
//! situation. Trees in the same situation get the same verdict for the same reasons.
//!
//! Comes in: a [`Plan`]. Goes out: [`Axes`], one for each name that a condition compares, and sets of their
//! cells. Knows no groves.

mod axis;
mod cells;
mod pieces;
mod questions;
mod search;
mod boxes;
mod diagram;

pub use axis::Axis;
pub use cells::{CellSet, Cells};
pub use diagram::{Diagrams, Set};
pub use pieces::pieces;
pub use questions::Stretch;
pub use search::{FEW_STEPS, MANY_STEPS, Search, Weight};

use crate::measure::Extent;
use crate::plan::{Compare, Name, NameId, Plan, Subject, Test};
use std::collections::BTreeMap;

/// The axes of a plan, by name; a name that nothing compares has one cell, and one for empty.
#[derive(Clone, Debug)]
pub struct Axes {
    axes: Vec<Axis>,
    compared: Vec<NameId>,
}

impl Axes {
    /// Cuts the range of every name by all constants that tree conditions compare it with.
    pub fn cut(plan: &Plan) -> Self {
        let mut compares: BTreeMap<NameId, Vec<&Compare>> = BTreeMap::new();
        crate::plan::each_test_of_a_tree(plan, &mut |test| {
            if let Subject::Name(name) = test.subject {
                compares.entry(name).or_default().push(&test.compare);
            }
        });
        let mut compared: Vec<NameId> = compares.keys().copied().collect();
        compared.extend(plan.gates.iter().filter_map(|gate| gate.fits.map(|(_, name)| name)));
        compared.sort();
        compared.dedup();
        let axes = plan
            .named()
            .map(|(id, name)| {
                Axis::new(plan, name.kind, compares.get(&id).map_or(&[][..], |list| list), counted(name))
            })
            .collect();
        Self { axes, compared }
    }

    /// Returns the axis of a name.
    pub fn of(&self, name: NameId) -> &Axis {
        &self.axes[name.index()]
    }

    /// Returns the names that some condition compares, bands among them.
    pub fn compared(&self) -> &[NameId] {
        &self.compared
    }

    /// Returns whether some condition compares a name.
    pub fn is_compared(&self, name: NameId) -> bool {
        self.compared.binary_search(&name).is_ok()
    }

    /// Returns how many names the plan has.
    pub fn len(&self) -> usize {
        self.axes.len()
    }

    /// Returns whether the plan has no names.
    pub fn is_empty(&self) -> bool {
        self.axes.is_empty()
    }

    /// Returns the cells in which a test holds.
    pub fn holds(&self, test: &Test) -> Cells {
        match test.subject {
            Subject::Name(name) => self.of(name).holds(&test.compare),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => Cells::default(),
        }
    }

    /// Returns the cells that an extent of a name touches.
    pub fn touched(&self, name: NameId, extent: Extent) -> CellSet {
        self.of(name).touched(extent)
    }
}

/// Returns whether values of a name are whole numbers.
fn counted(name: &Name) -> bool {
    matches!(name.kind, crate::plan::Kind::Count | crate::plan::Kind::Date)
}
