//! A condition taken apart: which of its comparisons matter for what it came to.

use super::Basis;
use crate::decide::Logic;
use crate::plan::{Bound, Compare, Condition, Test};
use crate::situation::CellSet;
use crate::trace::{Sense, Truth};
use std::ops::Not;

/// A comparison of a condition.
#[derive(Clone, Copy, Debug)]
pub struct Part<'p> {
    /// The comparison.
    pub test: &'p Test,
    /// Whether the condition asks for it or for its opposite.
    pub sense: Sense,
    /// Whether what is asked for holds.
    pub truth: Truth,
}

/// Returns whether a condition holds in these cells.
pub fn truth(basis: &Basis<'_>, condition: &Condition, cells: &[CellSet]) -> Truth {
    Logic::new(condition, &basis.rules.axes).truth(cells)
}

/// Returns the comparisons of `if` and `unless` that matter: of what holds those that make it hold, of what does
/// not those that fail, of what is open those that are open; beside them the others that are asked for with them.
pub fn parts<'p>(
    basis: &Basis<'_>,
    condition: Option<&'p Condition>,
    unless: Option<&'p Condition>,
    cells: &[CellSet],
) -> Vec<Part<'p>> {
    let mut found = Vec::new();
    let mut walk = ConditionWalk { basis, cells, found: &mut found };
    condition.iter().for_each(|condition| walk.take(condition, Sense::Asked));
    unless.iter().for_each(|unless| walk.take(unless, Sense::Refused));
    found
}

struct ConditionWalk<'a, 'p> {
    basis: &'a Basis<'a>,
    cells: &'a [CellSet],
    found: &'a mut Vec<Part<'p>>,
}

impl<'p> ConditionWalk<'_, 'p> {
    fn truth(&self, condition: &Condition, sense: Sense) -> Truth {
        let truth = truth(self.basis, condition, self.cells);
        match sense {
            Sense::Asked => truth,
            Sense::Refused => truth.not(),
        }
    }

    fn take(&mut self, condition: &'p Condition, sense: Sense) {
        match (condition, sense) {
            (Condition::Test(test), sense) => {
                let truth = self.truth(condition, sense);
                self.found.push(Part { test, sense, truth });
            }
            (Condition::Not(inner), sense) => self.take(inner, sense.turned()),
            (Condition::All(parts), Sense::Asked) | (Condition::Any(parts), Sense::Refused) => {
                parts.iter().for_each(|part| self.take(part, sense));
            }
            (Condition::Any(parts), Sense::Asked) | (Condition::All(parts), Sense::Refused) => {
                let best = parts.iter().map(|part| self.truth(part, sense)).max().unwrap_or(Truth::No);
                for part in parts {
                    if self.truth(part, sense) == best {
                        self.take(part, sense);
                    }
                }
            }
        }
    }
}

/// Returns the one part that fails, if all others hold.
pub fn only_failing<'a, 'p>(parts: &'a [Part<'p>]) -> Option<&'a Part<'p>> {
    let mut failing = parts.iter().filter(|part| part.truth == Truth::No);
    let one = failing.next()?;
    let alone = failing.next().is_none() && parts.iter().all(|part| part.truth != Truth::Open);
    alone.then_some(one)
}

/// Calls a function with every threshold of a comparison.
pub fn each_bound(compare: &Compare, f: &mut dyn FnMut(&Bound)) {
    match compare {
        Compare::Numbers { low, high } => low.iter().chain(high).for_each(f),
        Compare::NumberIsOneOf(bounds) => bounds.iter().for_each(f),
        Compare::Not(inner) => each_bound(inner, f),
        Compare::Words(_) | Compare::Texts(_) | Compare::DaysOfYear(..) | Compare::Name(..) => {}
    }
}
