//! Which small changes the worked examples notice.

use super::mutants::{Mutant, Site, When};
use super::taken::{Taken, each_lookup};
use super::worked::Example;
use super::{Book, compute};
use crate::advice::ExampleHours;
use crate::decide::{Certified, Rules};
use crate::measure::Truth;
use crate::plan::{Condition, Definitions, Expected, NameId, Origin, Plan, TableId, TakenValue, Worked};
use std::borrow::Cow;

/// The worked examples that pass, made ready to be run on changed rulebooks.
pub(super) struct Catcher<'p> {
    plan: &'p Plan,
    definitions: Definitions<'p>,
    examples: Vec<Passing<'p>>,
}

/// A worked example that passes.
struct Passing<'p> {
    worked: &'p Worked,
    number: usize,
    /// Whether it is seen from what each name can be by itself.
    at_once: bool,
    /// Its hours, of one that has some.
    hours: Option<&'p ExampleHours>,
}

impl<'p> Catcher<'p> {
    pub(super) fn new(plan: &'p Plan, hours: &'p [ExampleHours]) -> Self {
        let definitions = Definitions::of(plan);
        let rules = Rules::new(plan, Certified::No);
        let book = Book { plan, rules: &rules };
        let passing = |(number, worked): (usize, &'p Worked)| {
            let example = Example { book, definitions: &definitions, worked, number };
            let passes = worked.hours_from.is_none() && example.run(super::BUDGET).failures.is_empty();
            passes.then(|| Passing {
                worked,
                number,
                at_once: example.settled().iter().all(|it| *it == Truth::Yes),
                hours: hours.iter().find(|it| it.at == number),
            })
        };
        let examples = plan.worked.iter().enumerate().filter_map(passing).collect();
        Self { plan, definitions, examples }
    }

    /// Returns whether some example fails with a change of a rule.
    pub(super) fn catches(&self, mutant: &Mutant, budget: usize) -> bool {
        let mut changed: Option<(Plan, Rules)> = None;
        for Passing { worked, number, at_once, .. } in &self.examples {
            let taken = Taken::of(self.plan, &self.definitions, worked);
            if matches!(mutant.site, Site::Row(name, _) if taken.cut().contains(&name)) {
                continue;
            }
            let (before, after) = self.truths(mutant, &taken);
            // Where it is left open, and the example comes out without it, the example comes out whatever it is.
            if before == after && (before != Truth::Open || *at_once) {
                continue;
            }
            let (plan, rules) = changed.get_or_insert_with(|| {
                let plan = mutant.applied(self.plan);
                let rules = Rules::new(&plan, Certified::No);
                (plan, rules)
            });
            let (book, definitions) = (Book { plan, rules }, Definitions::of(plan));
            let example = Example { book, definitions: &definitions, worked, number: *number };
            if !example.run(budget).failures.is_empty() {
                return true;
            }
        }
        false
    }

    /// Returns whether some example fails in a rulebook with a change of a definition; those with hours are measured anew.
    pub(super) fn catches_definition(&self, mutant: &Mutant, book: Book<'_>, budget: usize) -> bool {
        let definitions = Definitions::of(book.plan);
        let names = self.changed_names(mutant);
        self.examples.iter().any(|Passing { worked, number, at_once, hours }| {
            let anew = match hours {
                Some(hours) => hours.under(book.plan).map(Cow::Owned),
                None => Some(Cow::Borrowed(*worked)),
            };
            // What cannot be measured anew is no longer what was expected.
            let Some(anew) = anew else { return true };
            let taken = Taken::of(self.plan, &self.definitions, worked);
            let retaken = Taken::of(book.plan, &definitions, &anew);
            let stays = |name: &NameId| {
                let (before, after) = (taken.name(*name), retaken.name(*name));
                before == after && (before.is_settled() || *at_once)
            };
            let asks = |it: &Expected| matches!((it, mutant.site), (Expected::TableIs(table, ..), Site::TableRow(of, _)) if *table == of);
            let takes = |it: &Worked| -> Vec<(NameId, TakenValue)> {
                it.takes.iter().map(|take| (take.name, take.value.clone())).collect()
            };
            let same = takes(&anew) == takes(worked)
                && names.iter().all(stays)
                && !worked.expects.iter().any(|it| asks(&it.what));
            let example =
                Example { book, definitions: &definitions, worked: &anew, number: *number };
            !same && !example.run(budget).failures.is_empty()
        })
    }

    /// Returns the names whose own definition has the change in it, and those that mean the same.
    fn changed_names(&self, mutant: &Mutant) -> Vec<NameId> {
        let looks = |id: NameId, table: TableId| {
            let Origin::Measure(measure) = &self.plan[id].origin else { return false };
            let mut found = false;
            each_lookup(&measure.expr, &mut |of, _| found |= of == table);
            found
        };
        let is = |id: &NameId| match mutant.site {
            Site::Name(name) => self.definitions.name(*id) == self.definitions.name(name),
            Site::TableRow(table, _) => looks(*id, table),
            _ => false,
        };
        self.plan.named().map(|(id, _)| id).filter(is).collect()
    }

    /// Returns whether the changed item holds under the takes of an example, before and after the change.
    fn truths(&self, mutant: &Mutant, taken: &Taken<'_>) -> (Truth, Truth) {
        let holds = |condition: Option<&Condition>, unless: Option<&Condition>| {
            let of = |it: &Condition| compute::of_condition(self.plan, it, taken);
            Truth::all([condition.map_or(Truth::Yes, of), !unless.map_or(Truth::No, of)])
        };
        let (condition, unless) = conditions(self.plan, mutant.site);
        let after = match mutant.when() {
            Some(When { condition, unless }) => holds(condition.as_ref(), unless.as_ref()),
            None => Truth::No,
        };
        (holds(condition, unless), after)
    }
}

/// Returns the conditions of an item as they stand.
pub(super) fn conditions(plan: &Plan, site: Site) -> (Option<&Condition>, Option<&Condition>) {
    match site {
        Site::Gate(at) => (plan.gates[at].condition.as_ref(), plan.gates[at].unless.as_ref()),
        Site::Choice(at) => (plan.choices[at].condition.as_ref(), plan.choices[at].unless.as_ref()),
        Site::Task(at) => (plan.tasks[at].speaks.condition.as_ref(), plan.tasks[at].speaks.unless.as_ref()),
        Site::Warning(at) => {
            (plan.warnings[at].speaks.condition.as_ref(), plan.warnings[at].speaks.unless.as_ref())
        }
        Site::Row(name, at) => match &plan[name].origin {
            Origin::Band(band) => (band.rows.get(at).map(|row| &row.condition), None),
            _ => (None, None),
        },
        Site::Name(_) | Site::Hourly(_) | Site::Daily(_) | Site::TableRow(..) => (None, None),
    }
}
