//! Which small changes of a rulebook its worked examples and promises would notice; and for each that nothing notices,
//! the worked example that would.

pub mod mutants;
pub(crate) mod changes;
pub(crate) mod defined;
pub(super) mod catcher;
pub(crate) mod suggestion;
pub(super) mod table_rows;
pub(super) mod trial;

use crate::advice::ExampleHours;
use crate::decide::{Certified, Rules};
use crate::measure::Truth;
use crate::plan::{Condition, Definitions, NameId, Place, Plan, SpeaksOf, Warning, Why, Worked};
use crate::prove::examples::Example;
use crate::prove::findings::Prover;
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::prove::space::roots::names_within;
use crate::trace::Verdict;
use catcher::Catcher;
use defined::{hours_touched, touched};
use mutants::{Mutant, MutantCondition, MutantSite, mutants, untried};
use std::collections::BTreeSet;
use table_rows::{is_idle, of_table};
use trial::{Judged, Trial};

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
    /// How many changes of the hours of gates and preferences are not tried, since no worked example tells of hours.
    pub of_hours: usize,
    /// How many changes of label lines and of sprays of a day are not tried, since no worked example has a log of sprays.
    pub of_log: usize,
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

/// Tries all small changes of a rulebook, whose examples with hours have these. Calls a function with how many are tried, and
/// of how many.
pub fn mutate(
    plan: &Plan,
    hours: &[ExampleHours],
    budget: usize,
    progress: &mut dyn FnMut(usize, usize),
) -> Mutation {
    let (definitions, rules): (Vec<Mutant>, Vec<Mutant>) =
        mutants(plan).into_iter().partition(|it| it.site.is_definition());
    let (of_hours, of_log) = untried(plan);
    let tried = rules.len() + definitions.len();
    let mut mutation = Mutation { tried, of_hours, of_log, ..Mutation::default() };
    let meanings = Definitions::of(plan);
    let catcher = Catcher::new(plan, &meanings, hours);
    let mut done = 0;
    let mut step = |mutation: &mut Mutation, mutant: Mutant, judged: Judged| {
        match judged {
            Judged::Caught => mutation.by_examples += 1,
            Judged::Equal => mutation.equal += 1,
            Judged::Broken => mutation.by_promises += 1,
            Judged::Unsayable => mutation.unsayable += 1,
            Judged::OfHours => {
                mutation.of_hours += 1;
                mutation.tried -= 1;
            }
            Judged::Unnoticed(worked) => mutation.survived.push(Survivor { mutant, worked }),
        }
        done += 1;
        progress(done, tried);
    };
    of_rules(plan, &catcher, rules, budget, &mut mutation, &mut step);
    let rules = Rules::new(plan, Certified::No);
    let book = Book { plan, rules: &rules };
    for mutant in definitions {
        if mutation.spent {
            break;
        }
        let (judged, spent) = of_definition(book, &meanings, &catcher, &mutant, budget);
        step(&mut mutation, mutant, judged);
        mutation.spent |= spent;
    }
    mutation
}

type Step<'s> = &'s mut dyn FnMut(&mut Mutation, Mutant, Judged);

/// Tries changes of rules: all of them in the space of the rulebook.
fn of_rules(
    plan: &Plan,
    catcher: &Catcher<'_>,
    mutants: Vec<Mutant>,
    budget: usize,
    mutation: &mut Mutation,
    step: Step<'_>,
) {
    // Every changed condition is a warning more, by which ranges are cut and which decides nothing.
    let mut more = plan.clone();
    let place: Vec<Option<usize>> = mutants
        .iter()
        .map(|mutant| {
            let MutantCondition { condition, unless } = mutant.when()?;
            more.warnings.push(warning(condition.clone(), unless.clone()));
            Some(more.warnings.len() - 1)
        })
        .collect();
    let rules = Rules::new(&more, Certified::No);
    let mut prover = Prover::new(Book { plan: &more, rules: &rules }, budget);
    let grounds = prover.grounds();
    prover.space.settle();
    let kept = prover.space.diagrams.len();
    for (mutant, place) in mutants.into_iter().zip(place) {
        let new = place.and_then(|at| rules.warnings.get(at));
        let judged = if catcher.catches(&mutant, budget) {
            Judged::Caught
        } else {
            let untaken = touched_bands(&rules, mutant.site);
            let mut trial = Trial { plan, prover: &mut prover, grounds: &grounds, untaken, changed: None };
            trial.judge(&mutant, new)
        };
        step(mutation, mutant, judged);
        if prover.space.diagrams.is_spent() {
            mutation.spent = true;
            break;
        }
        // What one change needed is of no use to the next.
        if prover.space.diagrams.len() > kept + budget / 16 {
            prover.space.diagrams.forget_after(kept);
        }
    }
}

/// Tries a change of a definition: the rulebook and the changed one are held against each other in a space of both. Returns
/// also whether there were too many situations.
fn of_definition(
    book: Book<'_>,
    meanings: &Definitions<'_>,
    catcher: &Catcher<'_>,
    mutant: &Mutant,
    budget: usize,
) -> (Judged, bool) {
    let (plan, of) = (book.plan, book.rules);
    let changed = mutant.applied(plan);
    let (rules, definitions) = (Rules::new(&changed, Certified::No), Definitions::of(&changed));
    let books = [book, Book { plan: &changed, rules: &rules }];
    if catcher.catches_definition(mutant, books[1], &definitions, budget) {
        return (Judged::Caught, false);
    }
    let untaken = touched(plan, meanings, &definitions);
    let mut deciding = of.gates.iter().chain(&of.choices).chain(&of.tasks).chain(&of.warnings);
    if !deciding.any(|logic| logic.names_any(&untaken)) || is_idle(plan, &changed, mutant) {
        let judged = if hours_touched([plan, &changed], [meanings, &definitions]) {
            Judged::OfHours
        } else {
            Judged::Equal
        };
        return (judged, false);
    }
    if mutant.of_hours {
        return (Judged::Unnoticed(of_table(plan, &changed, mutant)), false);
    }
    let mut prover = Prover::of(books[0], Space::beside(books, budget));
    let grounds = prover.grounds();
    prover.space.settle();
    let trial = &mut Trial { plan, prover: &mut prover, grounds: &grounds, untaken, changed: Some(books[1]) };
    let judged = match trial.judge(mutant, None) {
        Judged::Unnoticed(worked) => Judged::Unnoticed(of_table(plan, &changed, mutant).or(worked)),
        judged => judged,
    };
    (judged, prover.space.diagrams.is_spent())
}

fn warning(condition: Option<Condition>, unless: Option<Condition>) -> Warning {
    let span = crate::source::Span::default();
    let speaks = SpeaksOf { place: Place::Tree, condition, unless, why: Why::default(), span };
    Warning { name: "".into(), label: "".into(), says: "".into(), speaks }
}

/// Returns the names that worked examples take to settle gates, choices, tasks and warnings: those of their conditions,
/// and instead of what a change touches what that is computed from.
pub(super) fn names_to_take(plan: &Plan, rules: &Rules, untaken: &BTreeSet<NameId>) -> BTreeSet<NameId> {
    let mut names = BTreeSet::new();
    let mut todo: Vec<NameId> = Vec::new();
    let warnings = rules.warnings.iter().take(plan.warnings.len());
    let logic = rules.gates.iter().chain(&rules.choices).chain(&rules.tasks).chain(warnings);
    logic.for_each(|logic| logic.each_name(&mut |name| todo.push(name)));
    while let Some(name) = todo.pop() {
        if !untaken.contains(&name) {
            names.insert(name);
        } else {
            todo.extend(names_within(plan, name));
        }
    }
    names.retain(|name| !plan[*name].hidden);
    names
}

/// Returns a changed band and the bands that hang on it.
pub(super) fn touched_bands(rules: &Rules, site: MutantSite) -> BTreeSet<NameId> {
    let mut touched = BTreeSet::new();
    if let MutantSite::Row(name, _) = site {
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
