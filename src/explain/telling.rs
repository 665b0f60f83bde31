//! The common parts of an explanation: conditions with the values they met, and what these rest on.

use super::compared::compared;
use super::conditions::{Part, each_bound, parts};
use super::origin::origin;
use super::{Basis, Claim, Compared, Item, Role, Statement, Values};
use crate::plan::{ChoiceId, Condition, GateId, NameId, Subject};
use crate::trace::Trace;
use std::collections::BTreeSet;

/// An explanation under way: what was told once is not told again.
pub struct Telling<'a, 't> {
    /// What statements are made from.
    pub basis: &'a Basis<'a>,
    /// The values to show.
    pub values: &'a Values,
    /// What was met.
    pub trace: &'t Trace,
    /// The names whose origin was told.
    pub told: BTreeSet<NameId>,
}

impl<'a, 't> Telling<'a, 't> {
    /// Begins to tell.
    pub fn new(basis: &'a Basis<'a>, values: &'a Values, trace: &'t Trace) -> Self {
        Self { basis, values, trace, told: BTreeSet::new() }
    }

    /// Returns the parts of a condition that matter.
    pub fn parts<'p>(
        &self,
        condition: Option<&'p Condition>,
        unless: Option<&'p Condition>,
    ) -> Vec<Part<'p>> {
        parts(self.basis, condition, unless, &self.trace.cells)
    }

    /// Returns a part with the values it met.
    pub fn compared(&self, part: &Part<'_>) -> Compared {
        compared(self.basis, self.values, part.test, part.sense)
    }

    /// Tells of each part of a condition, with how its value came about.
    pub fn conditions(
        &mut self,
        condition: Option<&Condition>,
        unless: Option<&Condition>,
    ) -> Vec<Statement> {
        let parts = self.parts(condition, unless);
        parts.iter().map(|part| self.part(part)).collect()
    }

    /// Tells of one comparison.
    pub fn part(&mut self, part: &Part<'_>) -> Statement {
        let claim = Claim::Compared(self.compared(part));
        let (item, from) = match part.test.subject {
            Subject::Name(name) => (Item::Name(name), self.origin(name)),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => (Item::None, None),
        };
        let mut statement = Statement::new(Role::Condition, item, part.test.span, claim);
        statement.from = self.figures(part);
        statement.from.extend(from);
        statement
    }

    fn origin(&mut self, name: NameId) -> Option<Statement> {
        origin(self.basis, self.values, self.trace, name, &mut self.told)
    }

    /// Tells of the named constants that a comparison uses.
    fn figures(&self, part: &Part<'_>) -> Vec<Statement> {
        let mut ids = Vec::new();
        each_bound(&part.test.compare, &mut |bound| ids.extend(bound.figure));
        let one = |id| {
            let figure = self.basis.plan.figures.get(crate::plan::FigureId::index(id))?;
            let statement = Statement::new(Role::Value, Item::Figure(id), figure.span, Claim::Defined);
            Some(statement.owing(&figure.why))
        };
        ids.into_iter().filter_map(one).collect()
    }

    /// Tells of a gate and why it speaks.
    pub fn gate(&mut self, role: Role, id: GateId, claim: Claim) -> Statement {
        let plan = self.basis.plan;
        let Some(gate) = plan.gates.get(id.index()) else {
            return Statement::new(role, Item::None, plan.head.span, claim);
        };
        let mut from = self.conditions(gate.condition.as_ref(), gate.unless.as_ref());
        if let Some((_, name)) = gate.fits {
            from.extend(self.origin(name));
        }
        Statement::new(role, Item::Gate(id), gate.span, claim).owing(&gate.why).resting_on(from)
    }

    /// Tells of a choice and why it holds, or may hold.
    pub fn choice(&mut self, role: Role, id: ChoiceId, claim: Claim) -> Statement {
        let plan = self.basis.plan;
        let Some(choice) = plan.choices.get(id.index()) else {
            return Statement::new(role, Item::None, plan.head.span, claim);
        };
        let from = self.conditions(choice.condition.as_ref(), choice.unless.as_ref());
        Statement::new(role, Item::Choice(id), choice.span, claim).owing(&choice.why).resting_on(from)
    }
}
