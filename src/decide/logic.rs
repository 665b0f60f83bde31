//! Conditions over cells, and their three-valued truth.

use crate::plan::{Condition, NameId, Subject};
use crate::situation::{Axes, CellSet, Cells};
use crate::trace::Truth;
use std::collections::BTreeSet;
use std::ops::Not;

/// A condition whose comparisons are sets of cells.
#[derive(Clone, PartialEq, Debug)]
pub enum Logic {
    /// It holds always.
    Always,
    /// A name is in one of these cells.
    Test(NameId, Cells),
    /// It does not hold.
    Not(Box<Logic>),
    /// All hold.
    All(Vec<Logic>),
    /// Any holds.
    Any(Vec<Logic>),
}

impl Logic {
    /// It never holds.
    pub const NEVER: Self = Self::Any(Vec::new());

    /// Turns a condition on a tree into cells.
    pub fn new(condition: &Condition, axes: &Axes) -> Self {
        match condition {
            Condition::Test(test) => match test.subject {
                Subject::Name(name) => Logic::Test(name, axes.holds(test)),
                // Hours and days are no part of a situation; a checked plan has none here.
                Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => Logic::Always,
            },
            Condition::Not(inner) => Logic::Not(Box::new(Self::new(inner, axes))),
            Condition::All(parts) => Logic::All(parts.iter().map(|part| Self::new(part, axes)).collect()),
            Condition::Any(parts) => Logic::Any(parts.iter().map(|part| Self::new(part, axes)).collect()),
        }
    }

    /// Joins the `if` and the `unless` of an item.
    pub fn when(condition: Option<&Condition>, unless: Option<&Condition>, axes: &Axes) -> Self {
        let holds = condition.map(|condition| Self::new(condition, axes));
        let not = unless.map(|unless| Logic::Not(Box::new(Self::new(unless, axes))));
        match (holds, not) {
            (None, None) => Logic::Always,
            (Some(one), None) | (None, Some(one)) => one,
            (Some(a), Some(b)) => Logic::All(vec![a, b]),
        }
    }

    /// Returns whether it holds in all, some or none of the cells.
    pub fn truth(&self, cells: &[CellSet]) -> Truth {
        match self {
            Logic::Always => Truth::Yes,
            Logic::Test(name, holds) => match cells.get(name.index()) {
                Some(set) if set.is_within(holds) => Truth::Yes,
                Some(set) if set.is_apart_from(holds) => Truth::No,
                Some(_) | None => Truth::Open,
            },
            Logic::Not(inner) => inner.truth(cells).not(),
            Logic::All(parts) => {
                let mut least = Truth::Yes;
                for part in parts {
                    match part.truth(cells) {
                        Truth::No => return Truth::No,
                        truth => least = least.min(truth),
                    }
                }
                least
            }
            Logic::Any(parts) => {
                let mut most = Truth::No;
                for part in parts {
                    match part.truth(cells) {
                        Truth::Yes => return Truth::Yes,
                        truth => most = most.max(truth),
                    }
                }
                most
            }
        }
    }

    /// Calls a function with every name in it.
    pub fn each_name(&self, f: &mut dyn FnMut(NameId)) {
        match self {
            Logic::Always => {}
            Logic::Test(name, _) => f(*name),
            Logic::Not(inner) => inner.each_name(f),
            Logic::All(parts) | Logic::Any(parts) => parts.iter().for_each(|part| part.each_name(f)),
        }
    }

    /// Returns whether it speaks of any of some names.
    pub fn names_any(&self, names: &BTreeSet<NameId>) -> bool {
        let mut found = false;
        self.each_name(&mut |name| found |= names.contains(&name));
        found
    }

    /// Returns the first name because of which the truth is open.
    pub fn open_name(&self, cells: &[CellSet]) -> Option<NameId> {
        if self.truth(cells) != Truth::Open {
            return None;
        }
        match self {
            Logic::Always => None,
            Logic::Test(name, _) => Some(*name),
            Logic::Not(inner) => inner.open_name(cells),
            Logic::All(parts) | Logic::Any(parts) => parts.iter().find_map(|part| part.open_name(cells)),
        }
    }
}
