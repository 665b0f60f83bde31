//! Which small changes of a rulebook its worked examples and promises would notice; and for each that nothing notices,
//! the worked example that would.

use super::altered::Altered;
use super::effect::Grounds;
use super::findings::{Prover, breaks};
use super::mutants::{Mutant, Site, When, mutants};
use super::suggestion::Shown;
use super::taken::Taken;
use super::worked::Example;
use super::{Book, compute};
use crate::decide::{Certified, Logic, Rules};
use crate::measure::Truth;
use crate::plan::{Condition, Definitions, NameId, Place, Plan, SpeaksOf, Warning, Why, Worked};
use crate::situation::Set;
use crate::trace::Verdict;
use std::collections::BTreeSet;

/// What came of all small changes.
#[derive(Clone, Debug, Default)]
pub struct Mutation {
    /// How many changes were tried.
    pub tried: usize,
    /// How many change no decision in any situation: proved.
    pub equal: usize,
    /// How many make a worked example fail.
    pub by_examples: usize,
    /// How many break a promise.
    pub by_promises: usize,
    /// How many only ask for a task or give a warning more often, or move hours: no worked example can say that.
    pub unsayable: usize,
    /// Those that nothing notices.
    pub survived: Vec<Survivor>,
    /// Whether there were too many situations to tell.
    pub spent: bool,
}

/// A change that nothing notices.
#[derive(Clone, Debug)]
pub struct Survivor {
    /// The change.
    pub mutant: Mutant,
    /// A worked example that would notice it, ready to be pasted; nothing where none was found.
    pub worked: Option<String>,
}

/// Tries all small changes of a rulebook. Calls a function with how many are tried, and of how many.
pub fn mutate(plan: &Plan, budget: usize, progress: &mut dyn FnMut(usize, usize)) -> Mutation {
    let mutants = mutants(plan);
    let mut mutation = Mutation { tried: mutants.len(), ..Mutation::default() };
    // Every changed condition is a warning more, by which ranges are cut and which decides nothing.
    let mut more = plan.clone();
    let place: Vec<Option<usize>> = mutants
        .iter()
        .map(|mutant| match &mutant.becomes {
            Some(When { condition, unless }) => {
                more.warnings.push(warning(condition.clone(), unless.clone()));
                Some(more.warnings.len() - 1)
            }
            None => None,
        })
        .collect();
    let rules = Rules::new(&more, Certified::No);
    let mut prover = Prover::new(Book { plan: &more, rules: &rules }, budget);
    let grounds = prover.grounds();
    let catcher = Catcher::new(plan);
    prover.space.settle();
    let kept = prover.space.diagrams.len();
    for (tried, (mutant, place)) in mutants.into_iter().zip(place).enumerate() {
        progress(tried, mutation.tried);
        let new = place.and_then(|at| rules.warnings.get(at));
        let judged = if catcher.catches(&mutant, budget) {
            Judged::Caught
        } else {
            let mut trial = Trial { plan, prover: &mut prover, grounds: &grounds };
            trial.judge(&mutant, new)
        };
        match judged {
            Judged::Caught => mutation.by_examples += 1,
            Judged::Equal => mutation.equal += 1,
            Judged::Broken => mutation.by_promises += 1,
            Judged::Unsayable => mutation.unsayable += 1,
            Judged::Unnoticed(worked) => mutation.survived.push(Survivor { mutant, worked }),
        }
        if prover.space.diagrams.is_spent() {
            mutation.spent = true;
            break;
        }
        // What one change needed is of no use to the next.
        if prover.space.diagrams.len() > kept + budget / 16 {
            prover.space.diagrams.forget_after(kept);
        }
    }
    mutation
}

fn warning(condition: Option<Condition>, unless: Option<Condition>) -> Warning {
    let span = crate::source::Span::default();
    let speaks = SpeaksOf { place: Place::Tree, condition, unless, why: Why::default(), span };
    Warning { name: "".into(), label: "".into(), says: "".into(), speaks }
}

enum Judged {
    Caught,
    Equal,
    Broken,
    Unsayable,
    Unnoticed(Option<String>),
}

/// The worked examples that pass, made ready to be run on changed rulebooks.
struct Catcher<'p> {
    plan: &'p Plan,
    definitions: Definitions<'p>,
    examples: Vec<(&'p Worked, usize, bool)>,
}

impl<'p> Catcher<'p> {
    fn new(plan: &'p Plan) -> Self {
        let definitions = Definitions::of(plan);
        let rules = Rules::new(plan, Certified::No);
        let book = Book { plan, rules: &rules };
        let passed = |number: usize, worked: &'p Worked| {
            let example = Example { book, definitions: &definitions, worked, number };
            let outcome = example.run(super::BUDGET);
            outcome.failures.is_empty().then(|| example.settled().iter().all(|it| *it == Truth::Yes))
        };
        let examples = plan.worked.iter().enumerate().filter(|(_, worked)| worked.hours_from.is_none());
        let examples = examples.filter_map(|(at, worked)| Some((worked, at, passed(at, worked)?))).collect();
        Self { plan, definitions, examples }
    }

    /// Returns whether some example fails with a change.
    fn catches(&self, mutant: &Mutant, budget: usize) -> bool {
        let mut changed: Option<(Plan, Rules)> = None;
        for (worked, number, at_once) in &self.examples {
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

    /// Returns whether the changed item holds under the takes of an example, before and after the change.
    fn truths(&self, mutant: &Mutant, taken: &Taken<'_>) -> (Truth, Truth) {
        let holds = |condition: Option<&Condition>, unless: Option<&Condition>| {
            let of = |it: &Condition| compute::of_condition(self.plan, it, taken);
            Truth::all([condition.map_or(Truth::Yes, of), !unless.map_or(Truth::No, of)])
        };
        let (condition, unless) = conditions(self.plan, mutant.site);
        let after = match &mutant.becomes {
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
            crate::plan::Origin::Band(band) => (band.rows.get(at).map(|row| &row.condition), None),
            _ => (None, None),
        },
    }
}

/// One change, held against all situations.
struct Trial<'t, 'p> {
    /// The rulebook without the warnings of changed conditions.
    plan: &'t Plan,
    prover: &'t mut Prover<'p>,
    grounds: &'t Grounds,
}

impl Trial<'_, '_> {
    fn judge(&mut self, mutant: &Mutant, new: Option<&Logic>) -> Judged {
        let set = new.map_or(Set::NONE, |logic| self.prover.space.holds(0, logic));
        let rules = self.prover.book.rules;
        match mutant.site {
            Site::Gate(at) => self.of_verdict(mutant, &[Altered::Gate(at, set)], None),
            Site::Choice(at) => self.of_verdict(mutant, &[Altered::Choice(at, set)], None),
            Site::Task(at) => self.of_speaking(mutant, &rules.tasks[at], set),
            Site::Warning(at) => self.of_speaking(mutant, &rules.warnings[at], set),
            Site::Row(name, at) => {
                let row = new.map(|_| set);
                let spoken = |trial: &mut Self| {
                    let logic = rules.tasks.iter().chain(&rules.warnings[..trial.plan.warnings.len()]);
                    logic.map(|logic| trial.prover.space.holds(0, logic)).collect::<Vec<Set>>()
                };
                let before = spoken(self);
                let (bands, changed) = self.prover.space.with_row(0, name, at, row);
                let (altered, after) = (self.prover.altered(&changed), spoken(self));
                self.prover.space.put_back(0, bands);
                self.of_verdict(mutant, &altered, Some((before, after)))
            }
        }
    }

    /// Judges a change of gates and choices; of tasks and warnings, where it changes them too.
    fn of_verdict(
        &mut self,
        mutant: &Mutant,
        altered: &[Altered],
        spoken: Option<(Vec<Set>, Vec<Set>)>,
    ) -> Judged {
        let Some(situation) = self.prover.effect(self.grounds, altered) else {
            return match spoken {
                Some((before, after)) => self.of_spoken(mutant, &before, &after),
                None => Judged::Equal,
            };
        };
        if self.breaks_a_promise(altered) {
            return Judged::Broken;
        }
        let worked = self.example(mutant, altered, situation, Set::ALL).or_else(|| {
            let assumed = self.prover.as_assumed();
            let situation = self.prover.effect_within(self.grounds, altered, assumed)?;
            self.example(mutant, altered, situation, assumed)
        });
        Judged::Unnoticed(worked)
    }

    /// Writes an example that shows a change, from a situation of a set that shows it.
    fn example(
        &self,
        mutant: &Mutant,
        altered: &[Altered],
        situation: Vec<u16>,
        within: Set,
    ) -> Option<String> {
        let keeps = |trial: &Self, cells: &[u16]| {
            trial.prover.space.diagrams.contains(within, cells) && trial.prover.changes(cells, altered)
        };
        let situation = &self.recognisable(situation, &keeps);
        Shown { plan: self.plan, prover: self.prover, mutant, situation }.of_verdict()
    }

    /// Judges what a row changes in tasks and warnings.
    fn of_spoken(&mut self, mutant: &Mutant, before: &[Set], after: &[Set]) -> Judged {
        let mut judged = Judged::Equal;
        for (at, (before, after)) in before.iter().zip(after).enumerate() {
            match self.spoken(mutant, at, *before, *after) {
                Judged::Equal => {}
                Judged::Unsayable => judged = Judged::Unsayable,
                found => return found,
            }
        }
        judged
    }

    fn of_speaking(&mut self, mutant: &Mutant, old: &Logic, new: Set) -> Judged {
        let at = match mutant.site {
            Site::Warning(at) => self.plan.tasks.len() + at,
            Site::Task(at) => at,
            Site::Gate(_) | Site::Choice(_) | Site::Row(..) => 0,
        };
        let before = self.prover.space.holds(0, old);
        self.spoken(mutant, at, before, new)
    }

    /// Judges a task or, numbered after the tasks, a warning.
    fn spoken(&mut self, mutant: &Mutant, at: usize, before: Set, after: Set) -> Judged {
        let space = &mut self.prover.space;
        let (gone, new) = (space.diagrams.without(before, after), space.diagrams.without(after, before));
        let Some(situation) = space.witness(&[gone]) else {
            return if space.witness(&[new]).is_some() { Judged::Unsayable } else { Judged::Equal };
        };
        for promise in self.plan.promises.iter().filter(|promise| promise.tasks.contains(&at)) {
            let whenever = space.holds(0, &Logic::new(&promise.whenever, &self.prover.book.rules.axes));
            if space.witness(&[whenever, gone]).is_some() {
                return Judged::Broken;
            }
        }
        let situation = self.recognisable(situation, &|trial: &Self, cells: &[u16]| {
            trial.prover.space.diagrams.contains(gone, cells)
        });
        let shown = Shown { plan: self.plan, prover: self.prover, mutant, situation: &situation };
        Judged::Unnoticed(shown.of_speaking(at))
    }

    fn breaks_a_promise(&mut self, altered: &[Altered]) -> bool {
        let prover = &mut *self.prover;
        let within = prover.within(self.grounds, altered);
        self.plan.promises.iter().any(|promise| {
            let whenever = prover.space.holds(0, &Logic::new(&promise.whenever, &prover.book.rules.axes));
            let here = prover.space.diagrams.both(within, whenever);
            if here.is_none() {
                return false;
            }
            let parts = prover.meaning.altered(&mut prover.space, altered, here);
            parts.iter().any(|(verdict, set)| {
                breaks(prover.book, promise.only.as_deref(), &promise.never, verdict)
                    && prover.space.witness(&[*set, here]).is_some()
            })
        })
    }

    /// Returns a situation with as many usual values as keep it what it is; never sprayed is the most usual.
    fn recognisable(&self, mut cells: Vec<u16>, keeps: &dyn Fn(&Self, &[u16]) -> bool) -> Vec<u16> {
        let space = &self.prover.space;
        for variable in 0..space.variables.len() {
            for usual in space.usual_cells(variable) {
                let before = std::mem::replace(&mut cells[variable], usual);
                let real = space.relations.iter().all(|it| space.diagrams.contains(*it, &cells));
                if real && keeps(self, &cells) {
                    break;
                }
                cells[variable] = before;
            }
        }
        cells
    }
}

/// Returns the names that worked examples take to settle gates, choices, tasks and warnings: those of their conditions,
/// and instead of bands that a change touches those of the bands' rows.
pub(super) fn names_to_take(plan: &Plan, rules: &Rules, untaken: &BTreeSet<NameId>) -> BTreeSet<NameId> {
    let mut names = BTreeSet::new();
    let mut todo: Vec<NameId> = Vec::new();
    let warnings = rules.warnings.iter().take(plan.warnings.len());
    let logic = rules.gates.iter().chain(&rules.choices).chain(&rules.tasks).chain(warnings);
    logic.for_each(|logic| logic.each_name(&mut |name| todo.push(name)));
    while let Some(name) = todo.pop() {
        if !untaken.contains(&name) {
            names.insert(name);
        } else if let Some(band) = rules.bands.iter().find(|band| band.name == name) {
            band.rows.iter().for_each(|(_, _, logic)| logic.each_name(&mut |name| todo.push(name)));
        }
    }
    names.retain(|name| !plan[*name].hidden);
    names
}

/// Returns a changed band and the bands that hang on it.
pub(super) fn touched_bands(rules: &Rules, site: Site) -> BTreeSet<NameId> {
    let mut touched = BTreeSet::new();
    if let Site::Row(name, _) = site {
        touched.insert(name);
        for band in &rules.bands {
            if band.rows.iter().any(|(_, _, logic)| logic.names_any(&touched)) {
                touched.insert(band.name);
            }
        }
    }
    touched
}

/// Returns what one worked example settles of what it expects, and the verdict, if its takes settle that.
pub(super) fn comes_to(plan: &Plan, worked: &Worked) -> (Truth, Option<Verdict>) {
    let (rules, definitions) = (Rules::new(plan, Certified::No), Definitions::of(plan));
    let example =
        Example { book: Book { plan, rules: &rules }, definitions: &definitions, worked, number: 0 };
    (Truth::all(example.settled()), example.verdict())
}
