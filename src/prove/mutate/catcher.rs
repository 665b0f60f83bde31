//! Which small changes the worked examples notice.

use super::mutants::{Mutant, MutantCondition, MutantSite};
use crate::advice::ExampleHours;
use crate::decide::{Certified, Rules};
use crate::measure::{Extent, Truth, lookup, speaks_of_weather};
use crate::plan::{Condition, Definitions, Expected, NameId, Origin, Plan, TableId, TakenValue, Worked};
use crate::prove::examples::Example;
use crate::prove::space::Book;
use crate::prove::space::compute;
use crate::prove::space::roots::each_condition_within;
use crate::prove::space::taken::{Taken, each_lookup};
use std::borrow::Cow;
use std::cell::OnceCell;

/// The worked examples that pass, made ready to be run on changed rulebooks.
pub(super) struct Catcher<'p> {
    plan: &'p Plan,
    definitions: &'p Definitions<'p>,
    examples: Vec<Passing<'p>>,
}

/// A worked example that passes.
struct Passing<'p> {
    worked: &'p Worked,
    number: usize,
    /// Whether it is seen from what each name can be by itself.
    at_once: bool,
    taken: Taken<'p>,
    /// Its hours, of one that has some.
    hours: Option<&'p ExampleHours>,
}

impl<'p> Catcher<'p> {
    /// Runs the examples of a rulebook; those with hours have these.
    pub(crate) fn new(plan: &'p Plan, definitions: &'p Definitions<'p>, hours: &'p [ExampleHours]) -> Self {
        let rules = Rules::new(plan, Certified::No);
        let book = Book { plan, rules: &rules };
        let passing = |(number, worked): (usize, &'p Worked)| {
            let example = Example { book, definitions, worked, number };
            let passes = worked.hours_from.is_none() && example.run(crate::prove::BUDGET).failures.is_empty();
            passes.then(|| Passing {
                worked,
                number,
                taken: Taken::of(plan, definitions, worked),
                at_once: example.settled().iter().all(|it| *it == Truth::Yes),
                hours: hours.iter().find(|it| it.at == number),
            })
        };
        let examples = plan.worked.iter().enumerate().filter_map(passing).collect();
        Self { plan, definitions, examples }
    }

    /// Returns whether some example fails with a change of a rule.
    pub(super) fn catches(&self, mutant: &Mutant, budget: usize) -> bool {
        if self.examples.is_empty() {
            return false;
        }
        let plan = mutant.applied(self.plan);
        let (rules, definitions) = (OnceCell::new(), OnceCell::new());
        for Passing { worked, number, at_once, taken, .. } in &self.examples {
            let is_idle = match mutant.site {
                MutantSite::Row(name, _) => taken.cut().contains(&name),
                // No value hangs on a gate, a choice, a task or a warning.
                _ => worked.expects.iter().all(|it| is_value(&it.what)),
            };
            if is_idle {
                continue;
            }
            let (before, after) = self.truths(mutant, taken);
            // Where it is left open, and the example comes out without it, the example comes out whatever it is.
            if before == after && (before != Truth::Open || *at_once) {
                continue;
            }
            let rules = rules.get_or_init(|| Rules::new(&plan, Certified::No));
            let definitions = definitions.get_or_init(|| Definitions::of(&plan));
            let book = Book { plan: &plan, rules };
            let example = Example { book, definitions, worked, number: *number };
            if !example.run(budget).failures.is_empty() {
                return true;
            }
        }
        false
    }

    /// Returns whether some example fails in a rulebook with a change of a definition; those with hours are measured anew where
    /// the change may be in what they measure.
    pub(super) fn catches_definition(
        &self,
        mutant: &Mutant,
        book: Book<'_>,
        definitions: &Definitions<'_>,
        budget: usize,
    ) -> bool {
        let names = self.changed_names(mutant);
        let of_weather = mutant.of_hours
            || matches!(mutant.site, MutantSite::Name(name) if matches!(&self.plan[name].origin,
                Origin::Measure(measure) if speaks_of_weather(&measure.expr).is_some()));
        self.examples.iter().any(|example| {
            let Passing { worked, number, hours, .. } = example;
            let anew = match hours.filter(|_| of_weather) {
                Some(hours) => hours.under(book.plan).map(Cow::Owned),
                None => Some(Cow::Borrowed(*worked)),
            };
            // What cannot be measured anew is no longer what was expected.
            let Some(anew) = anew else { return true };
            let measured = matches!(&anew, Cow::Owned(anew) if takes(anew) != takes(worked));
            if !measured && self.stays(mutant, book.plan, &names, example) {
                return false;
            }
            let example = Example { book, definitions, worked: &anew, number: *number };
            !example.run(budget).failures.is_empty()
        })
    }

    /// Returns whether what is changed is the same under the takes of an example, before and after the change.
    fn stays(&self, mutant: &Mutant, changed: &Plan, names: &[NameId], example: &Passing<'_>) -> bool {
        let Passing { worked, at_once, taken, .. } = example;
        // What is left open in an example that comes out without it may be anything.
        match mutant.site {
            MutantSite::Name(name) => {
                let (mut before, mut after) = (Vec::new(), Vec::new());
                each_condition_within(self.plan, name, &mut |it| before.push(it));
                each_condition_within(changed, name, &mut |it| after.push(it));
                let is_taken = names == [name] && taken.cut().contains(&name);
                is_taken
                    || before.into_iter().zip(after).all(|(was, is)| {
                        let truth = compute::of_condition(self.plan, was, taken);
                        was == is
                            || truth == compute::of_condition(self.plan, is, taken)
                                && (truth != Truth::Open || *at_once)
                    })
            }
            MutantSite::TableRow(id, _) => {
                let asks = |it: &Expected| matches!(it, Expected::TableIs(table, ..) if *table == id);
                let same = |keys: &[Extent]| {
                    let was = lookup(self.plan, &self.plan[id], keys).0;
                    was == lookup(changed, &changed[id], keys).0 && (was.is_settled() || *at_once)
                };
                !worked.expects.iter().any(|it| asks(&it.what))
                    && names.iter().all(|name| {
                        let Origin::Measure(measure) = &self.plan[*name].origin else { return true };
                        let mut all = true;
                        each_lookup(&measure.expr, &mut |table, keys| {
                            if table == id {
                                let keys = keys.iter().map(|key| compute::of_expr(self.plan, key, taken));
                                all &= same(&keys.collect::<Vec<Extent>>());
                            }
                        });
                        all
                    })
            }
            _ => true,
        }
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
            MutantSite::Name(name) => self.definitions.name(*id) == self.definitions.name(name),
            MutantSite::TableRow(table, _) => looks(*id, table),
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
            Some(MutantCondition { condition, unless }) => holds(condition.as_ref(), unless.as_ref()),
            None => Truth::No,
        };
        (holds(condition, unless), after)
    }
}

/// Returns the conditions of an item as they stand.
pub(crate) fn conditions(plan: &Plan, site: MutantSite) -> (Option<&Condition>, Option<&Condition>) {
    match site {
        MutantSite::Gate(at) => (plan.gates[at].condition.as_ref(), plan.gates[at].unless.as_ref()),
        MutantSite::Choice(at) => (plan.choices[at].condition.as_ref(), plan.choices[at].unless.as_ref()),
        MutantSite::Task(at) => {
            (plan.tasks[at].speaks.condition.as_ref(), plan.tasks[at].speaks.unless.as_ref())
        }
        MutantSite::Warning(at) => {
            (plan.warnings[at].speaks.condition.as_ref(), plan.warnings[at].speaks.unless.as_ref())
        }
        MutantSite::Row(name, at) => match &plan[name].origin {
            Origin::Band(band) => (band.rows.get(at).map(|row| &row.condition), None),
            _ => (None, None),
        },
        MutantSite::Name(_) | MutantSite::Hourly(_) | MutantSite::Daily(_) | MutantSite::TableRow(..) => {
            (None, None)
        }
    }
}

/// Returns whether a value is expected, not a decision.
fn is_value(expected: &Expected) -> bool {
    matches!(expected, Expected::Is(..) | Expected::TableIs(..))
}

/// Returns what an example takes.
fn takes(worked: &Worked) -> Vec<(NameId, &TakenValue)> {
    worked.takes.iter().map(|take| (take.name, &take.value)).collect()
}
