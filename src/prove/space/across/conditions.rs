//! Whether a condition of one rulebook holds wherever a condition of the other does.

use super::{Across, DefinitionOf};
use crate::plan::{Compare, Condition, HourSeries, Subject, Test, Yields};
use crate::prove::space::relations::compare_implies;

impl<'p> Across<'_, 'p> {
    /// Returns whether the second condition holds wherever the first does.
    pub(crate) fn implies(
        &self,
        a: DefinitionOf<'_, Condition>,
        b: DefinitionOf<'_, Condition>,
        deep: usize,
    ) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let (DefinitionOf(i, one), DefinitionOf(j, other)) = (a, b);
        if self.rooted[i].definitions.condition(one) == self.rooted[j].definitions.condition(other) {
            return true;
        }
        match (one, other) {
            (Condition::Not(x), Condition::Not(y)) => {
                self.implies(DefinitionOf(j, y), DefinitionOf(i, x), deep)
            }
            (Condition::Any(parts), _) => {
                parts.iter().all(|part| self.implies(DefinitionOf(i, part), b, deep))
            }
            (_, Condition::All(parts)) => {
                parts.iter().all(|part| self.implies(a, DefinitionOf(j, part), deep))
            }
            (Condition::All(parts), _)
                if parts.iter().any(|part| self.implies(DefinitionOf(i, part), b, deep)) =>
            {
                true
            }
            (_, Condition::Any(parts))
                if parts.iter().any(|part| self.implies(a, DefinitionOf(j, part), deep)) =>
            {
                true
            }
            (Condition::Test(x), Condition::Test(y)) => {
                self.tests(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            // An `hourly` or a yes-no measure stands for its condition.
            (Condition::Test(test), _) => {
                self.inside(i, test).is_some_and(|inner| self.implies(DefinitionOf(i, inner), b, deep))
            }
            (_, Condition::Test(test)) => {
                self.inside(j, test).is_some_and(|inner| self.implies(a, DefinitionOf(j, inner), deep))
            }
            _ => false,
        }
    }

    /// Returns the condition for which a test stands.
    pub(crate) fn inside(&self, book: usize, test: &Test) -> Option<&'p Condition> {
        if test.compare != Compare::Words(0b10) {
            return None;
        }
        let yields = match test.subject {
            Subject::Hourly(id) => self.plan(book).hourlies.get(id.index()).map(|it| &it.yields),
            Subject::Daily(_) | Subject::Name(_) | Subject::Series(_) => None,
        };
        match yields {
            Some(Yields::Condition(condition)) => Some(condition),
            _ => None,
        }
    }

    pub(crate) fn tests(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Test>,
        DefinitionOf(j, b): DefinitionOf<'_, Test>,
        deep: usize,
    ) -> bool {
        match (self.inside(i, a), self.inside(j, b)) {
            (Some(x), Some(y)) => return self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep),
            (Some(x), None) => {
                return self.implies(DefinitionOf(i, x), DefinitionOf(j, &Condition::Test(b.clone())), deep);
            }
            (None, Some(y)) => {
                return self.implies(DefinitionOf(i, &Condition::Test(a.clone())), DefinitionOf(j, y), deep);
            }
            (None, None) => {}
        }
        let (rises, falls) = match (a.subject, b.subject) {
            (Subject::Series(x), Subject::Series(y)) => (x == y, x == y),
            (Subject::Hourly(x), Subject::Hourly(y)) => {
                let (x, y) = (HourSeries::Hourly(x), HourSeries::Hourly(y));
                (
                    self.series(DefinitionOf(i, &x), DefinitionOf(j, &y), deep),
                    self.series(DefinitionOf(j, &y), DefinitionOf(i, &x), deep),
                )
            }
            (Subject::Daily(x), Subject::Daily(y)) => {
                let (x, y) = (HourSeries::Daily(x), HourSeries::Daily(y));
                if !self.are_there_together(DefinitionOf(i, &x), DefinitionOf(j, &y)) {
                    return false;
                }
                (
                    self.series(DefinitionOf(i, &x), DefinitionOf(j, &y), deep),
                    self.series(DefinitionOf(j, &y), DefinitionOf(i, &x), deep),
                )
            }
            (Subject::Name(x), Subject::Name(y)) => {
                if self.rooted[i].definitions.name(x) == self.rooted[j].definitions.name(y) {
                    (true, true)
                } else if let (Some(one), Some(other)) = (self.measure(i, x), self.measure(j, y)) {
                    let (one, other) = (DefinitionOf(i, &one.expr), DefinitionOf(j, &other.expr));
                    if !self.is_there(one, other, deep) {
                        return false;
                    }
                    (self.exprs(one, other, deep), self.exprs(other, one, deep))
                } else {
                    return false;
                }
            }
            _ => (false, false),
        };
        is_implied(&a.compare, &b.compare, rises, falls)
    }
}

/// Returns whether a comparison of one value says that another holds of another value, which is no smaller where it rises and no
/// larger where it falls.
pub(super) fn is_implied(a: &Compare, b: &Compare, rises: bool, falls: bool) -> bool {
    match b {
        _ if rises && falls => compare_implies(a, b),
        Compare::Numbers { low: Some(_), high: None } => rises && compare_implies(a, b),
        Compare::Numbers { low: None, high: Some(_) } => falls && compare_implies(a, b),
        // Of yes-no: yes where the other is.
        Compare::Words(0b10) => rises && *a == Compare::Words(0b10),
        Compare::Words(0b01) => falls && *a == Compare::Words(0b01),
        _ => false,
    }
}
