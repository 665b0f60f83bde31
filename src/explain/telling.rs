//! The common parts of an explanation: conditions with the values they met, and what these rest on.

use super::conditions::{Part, parts};
use super::origin::origin;
use super::phrase::met;
use super::{Role, Scene, Statement, Values, gates};
use crate::plan::{ChoiceId, Condition, GateId, NameId, Subject};
use crate::trace::Trace;
use std::collections::BTreeSet;

/// An explanation under way: what was told once is not told again.
pub struct Telling<'a, 't> {
    /// What statements are made from.
    pub scene: &'a Scene<'a>,
    /// The values to show.
    pub values: &'a Values,
    /// What was met.
    pub trace: &'t Trace,
    /// The names whose origin was told.
    pub told: BTreeSet<NameId>,
}

impl<'a, 't> Telling<'a, 't> {
    /// Begins to tell.
    pub fn new(scene: &'a Scene<'a>, values: &'a Values, trace: &'t Trace) -> Self {
        Self { scene, values, trace, told: BTreeSet::new() }
    }

    /// Returns the parts of a condition that matter.
    pub fn parts<'p>(
        &self,
        condition: Option<&'p Condition>,
        unless: Option<&'p Condition>,
    ) -> Vec<Part<'p>> {
        parts(self.scene, condition, unless, &self.trace.cells)
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
        let says = met(self.scene, self.values, part.test, part.sense);
        let (item, from) = match part.test.subject {
            Subject::Name(name) => {
                let item = self.scene.plan.names.get(name.index()).map(super::origin::item_of);
                (item, origin(self.scene, self.values, self.trace, name, &mut self.told))
            }
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => (None, None),
        };
        let mut statement = Statement::new(Role::Condition, item.unwrap_or_default(), part.test.span, says);
        statement.from = self.figures(part);
        statement.from.extend(from);
        statement
    }

    /// Tells of the named constants that a comparison uses.
    fn figures(&self, part: &Part<'_>) -> Vec<Statement> {
        let mut ids = Vec::new();
        super::conditions::each_bound(&part.test.compare, &mut |bound| ids.extend(bound.figure));
        let figures = ids.into_iter().filter_map(|id| self.scene.plan.figures.get(id.index()));
        figures
            .map(|figure| {
                let says = format!("{} is {}", crate::plan::spaced(&figure.name), figure.written);
                let statement =
                    Statement::new(Role::Value, format!("figure {}", figure.name), figure.span, says);
                statement.owing(self.scene.plan, &figure.why)
            })
            .collect()
    }

    /// Tells of a gate and why it speaks.
    pub fn gate(&mut self, role: Role, id: GateId, lead: &str) -> Statement {
        let plan = self.scene.plan;
        let Some(gate) = plan.gates.get(id.index()) else {
            return Statement::new(role, "", plan.head.span, lead);
        };
        let mut from = self.conditions(gate.condition.as_ref(), gate.unless.as_ref());
        if let Some((_, name)) = gate.fits {
            from.extend(origin(self.scene, self.values, self.trace, name, &mut self.told));
        }
        let says = format!("{lead}: {}", gates::gate_words(plan, id));
        let item = if gate.line.is_some() { gate.name.to_string() } else { format!("gate {}", gate.name) };
        Statement::new(role, item, gate.span, says).owing(plan, &gate.why).resting_on(from)
    }

    /// Tells of a choice and why it holds, or may hold.
    pub fn choice(&mut self, role: Role, id: ChoiceId, says: String) -> Statement {
        let plan = self.scene.plan;
        let Some(choice) = plan.choices.get(id.index()) else {
            return Statement::new(role, "", plan.head.span, says);
        };
        let from = self.conditions(choice.condition.as_ref(), choice.unless.as_ref());
        Statement::new(role, format!("choice {}", choice.name), choice.span, says)
            .owing(plan, &choice.why)
            .resting_on(from)
    }
}
