//! Worked examples: what they take, and whether what they expect comes out, whatever is left open.

use super::findings::Prover;
use super::space::{Book, Space};
use super::taken::{Taken, extent, is_value};
use super::{Meaning, panicles, witness};
use crate::decide::{Rules, decide};
use crate::measure::{Extent, Possible, Truth};
use crate::plan::{
    Bound, Compare, Definitions, Expectation, Expected, ExprNode, GateId, NameId, Origin, Place, Plan,
    ProductId, Shut, TakenValue, VerdictWord, Worked,
};
use crate::problems::{Finding, Problem, Problems};
use crate::situation::{CellSet, Set};
use crate::source::Span;
use crate::trace::{Decision, Shutter, Verdict};
use crate::units::Unit;
use std::collections::BTreeSet;

/// How a worked example came out.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Its place in the plan's list.
    pub number: usize,
    /// What did not come out as expected.
    pub failures: Vec<Failure>,
    /// What it settled: whether each gate speaks and each choice holds there, by their numbers.
    pub settles: Settled,
}

/// What a worked example settles.
#[derive(Clone, Debug, Default)]
pub struct Settled {
    /// Whether each gate speaks.
    pub gates: Vec<Truth>,
    /// Whether each choice holds.
    pub choices: Vec<Truth>,
    /// Whether each row of each band holds; bands that are taken have none.
    pub rows: Vec<(NameId, Vec<Truth>)>,
    /// What every name can be, by its number.
    pub cells: Vec<CellSet>,
    /// Whether each row of each table is drawn upon, by the table's number; nothing where no key of it is asked for.
    pub tables: Vec<Option<Vec<Truth>>>,
    /// Whether each task is to be done.
    pub tasks: Vec<Truth>,
    /// Whether each warning is given.
    pub warnings: Vec<Truth>,
}

/// Something that did not come out.
#[derive(Clone, Debug)]
pub struct Failure {
    /// Where it is expected.
    pub at: Span,
    /// What came out instead.
    pub says: String,
    /// The names that must be taken for it to be settled.
    pub missing: Vec<String>,
    /// A situation in which it does not come out.
    pub situation: std::collections::BTreeMap<String, serde_json::Value>,
}

/// Runs all worked examples of a rulebook but those with hours of their own, which need weather.
pub fn run(book: Book<'_>, budget: usize) -> Vec<Outcome> {
    let definitions = Definitions::of(book.plan);
    let with_hours = |worked: &Worked| worked.hours_from.is_some();
    let all = book.plan.worked.iter().enumerate().filter(|(_, worked)| !with_hours(worked));
    all.map(|(number, worked)| Example { book, definitions: &definitions, worked, number }.run(budget))
        .collect()
}

/// Returns the findings of worked examples that failed.
pub fn findings(plan: &Plan, outcomes: &[Outcome]) -> Problems {
    let mut problems = Problems::default();
    for outcome in outcomes {
        let Some(worked) = plan.worked.get(outcome.number) else { continue };
        for failure in &outcome.failures {
            let message =
                format!("the worked example \"{}\" does not come out: {}", worked.title, failure.says);
            let mut problem = Problem::new(Finding::WorkedFailed, failure.at, message)
                .related(worked.span, "the worked example");
            if !failure.missing.is_empty() {
                problem = problem.help(format!("take also {}", failure.missing.join(", ")));
            }
            problem.situation.clone_from(&failure.situation);
            problems.push(problem);
        }
    }
    problems
}

/// A worked example of a rulebook.
pub(super) struct Example<'p> {
    pub(super) book: Book<'p>,
    pub(super) definitions: &'p Definitions<'p>,
    pub(super) worked: &'p Worked,
    pub(super) number: usize,
}

impl<'p> Example<'p> {
    /// Runs it.
    pub(super) fn run(&self, budget: usize) -> Outcome {
        let plan = self.book.plan;
        let taken = Taken::of(plan, self.definitions, self.worked);
        let cut = taken.cut();
        let (rules, decided, trace) = self.weigh(&taken, &cut);
        let settles = Settled {
            gates: trace.gates.clone(),
            choices: trace.choices.iter().map(|met| met.holds).collect(),
            rows: trace.bands.clone(),
            cells: trace.cells.clone(),
            tables: taken.rows(self.worked),
            tasks: trace.tasks.clone(),
            warnings: trace.warnings.clone(),
        };
        let mut open: Vec<&Expectation> = Vec::new();
        let mut failures = Vec::new();
        for expected in &self.worked.expects {
            match self.quick(&expected.what, &taken, &trace, decided.as_ref()) {
                Truth::Yes => {}
                // A sure failure is shown by a situation, too.
                Truth::No | Truth::Open => open.push(expected),
            }
        }
        if !open.is_empty() {
            let mut exact = Exact::new(Book { plan, rules: &rules }, &taken, &cut, budget);
            for expected in open {
                failures.extend(exact.failure(expected, &taken));
            }
        }
        Outcome { number: self.number, failures, settles }
    }

    /// Returns for each expectation whether it is met, as far as that is seen from what each name can be by itself.
    pub(super) fn settled(&self) -> Vec<Truth> {
        let taken = Taken::of(self.book.plan, self.definitions, self.worked);
        let (_, decided, trace) = self.weigh(&taken, &taken.cut());
        let met = |it: &Expectation| self.quick(&it.what, &taken, &trace, decided.as_ref());
        self.worked.expects.iter().map(met).collect()
    }

    /// Returns the verdict, if its takes settle it.
    pub(super) fn verdict(&self) -> Option<Verdict> {
        let taken = Taken::of(self.book.plan, self.definitions, self.worked);
        let (_, decided, _) = self.weigh(&taken, &taken.cut());
        decided.map(|decision| decision.verdict)
    }

    /// Decides what each name can be under the takes.
    fn weigh(
        &self,
        taken: &Taken<'_>,
        cut: &BTreeSet<NameId>,
    ) -> (Rules, Option<Decision>, crate::trace::Trace) {
        let plan = self.book.plan;
        let rules = without_bands(self.book.rules, cut);
        let cells: Vec<CellSet> = (0..plan.names.len() as u32)
            .map(|name| self.book.rules.axes.touched(NameId(name), taken.name(NameId(name))))
            .collect();
        // Names that nothing compares must not be without a cell.
        let cells: Vec<CellSet> =
            cells.into_iter().map(|set| if set.is_empty() { CellSet::one(0) } else { set }).collect();
        let weighed = crate::decide::Weighed::new(plan, &rules, &cells);
        let decided = decide(plan, &rules, &cells).ok();
        let trace = weighed.into_trace(&rules);
        (rules, decided, trace)
    }

    /// Returns whether an expectation is met, as far as that is seen from what each name can be by itself.
    fn quick(
        &self,
        expected: &Expected,
        taken: &Taken<'_>,
        trace: &crate::trace::Trace,
        decided: Option<&Decision>,
    ) -> Truth {
        let verdict = |is: &dyn Fn(&Verdict) -> bool| match decided {
            Some(decision) => Truth::of(is(&decision.verdict)),
            None => Truth::Open,
        };
        let at = |list: &[Truth], place: usize| list.get(place).copied().unwrap_or(Truth::No);
        match expected {
            Expected::Spray(doses) => {
                verdict(&|it| matches!(it, Verdict::Spray(found) if same(found, doses)))
            }
            Expected::Verdict(word) => match word {
                VerdictWord::Hold => verdict(&|it| it.essence() == Verdict::Hold),
                VerdictWord::Undecided => verdict(&|it| *it == Verdict::Undecided),
                VerdictWord::Uncovered => verdict(&|it| *it == Verdict::Uncovered),
                VerdictWord::Look => Truth::Open,
            },
            Expected::By(choice) => match decided {
                Some(decision) => Truth::of(decision.choices.contains(choice)),
                None => Truth::Open,
            },
            Expected::Task(task) => at(&trace.tasks, *task),
            Expected::Warning(warning) => at(&trace.warnings, *warning),
            Expected::ShutBy(product, gates) => {
                let shuts = gates.iter().map(|gate| {
                    if shuts_today(self.book, *gate, *product) {
                        at(&trace.gates, gate.index())
                    } else {
                        Truth::Open
                    }
                });
                Truth::any(shuts)
            }
            Expected::Allowed(_) => Truth::Open,
            Expected::Is(name, value, tolerance) => is_value(taken.name(*name), value, *tolerance),
            Expected::TableIs(table, keys, value, tolerance) => {
                is_value(taken.table(*table, keys), value, *tolerance)
            }
        }
    }
}

/// Returns whether a gate of today shuts a product by itself while it speaks.
fn shuts_today(book: Book<'_>, gate: GateId, product: ProductId) -> bool {
    let shut_by = book.rules.products.get(product.index()).map_or(&[][..], |rules| &rules.shut_by);
    let hours = book.plan.gates.get(gate.index()).is_some_and(|gate| {
        gate.hours.is_some()
            && gate.shuts.iter().any(|shut| match shut {
                Shut::Spraying => true,
                Shut::Group(group) => book.plan[product].groups.contains(group),
                Shut::Product(it) => *it == product,
                Shut::Mix(..) => false,
            })
    });
    hours || shut_by.contains(&Shutter::Gate(gate))
}

/// Returns the rules without the grading of bands that are taken.
fn without_bands(rules: &Rules, cut: &BTreeSet<NameId>) -> Rules {
    let mut rules = rules.clone();
    rules.bands.retain(|band| !cut.contains(&band.name));
    rules
}

fn same(found: &[(ProductId, u8)], expected: &[(ProductId, u8)]) -> bool {
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    found == expected
}

/// The situations that a worked example leaves.
struct Exact<'p> {
    space: Space<'p>,
    meaning: Meaning,
    /// The situations that it takes.
    here: Set,
    unknown: BTreeSet<u16>,
}

impl<'p> Exact<'p> {
    fn new(book: Book<'p>, taken: &Taken<'_>, cut: &BTreeSet<NameId>, budget: usize) -> Self {
        let plan = book.plan;
        let more: Vec<(NameId, Compare)> =
            taken.takes.iter().filter_map(|(name, value)| Some((*name, comparison(value)?))).collect();
        let mut space = Space::unrelated(&[book], cut, &more, budget);
        if taken.one_group {
            panicles::one_group(&mut space, 0);
        } else {
            panicles::add(&mut space);
        }
        let mut parts = Vec::new();
        for (name, value) in &taken.takes {
            let fixed = extent(plan, *name, value);
            if *value != TakenValue::Unknown {
                parts.push(space.where_name(0, *name, &|piece| lies_in(*piece, fixed)));
            }
        }
        for (id, name) in plan.named() {
            let Origin::Measure(measure) = &name.origin else { continue };
            let is_fixed = taken.fixed(taken.definitions.name(id)).is_some();
            if is_fixed || measure.valid_if.is_some() || matches!(&*measure.expr.node, ExprNode::Name(_)) {
                continue;
            }
            if let Some(assumed) = taken.assumed(&measure.expr) {
                parts.push(
                    space.where_name(0, id, &|piece| lies_in(*piece, assumed) || holds(*piece, assumed)),
                );
            }
        }
        let here = space.diagrams.all(parts);
        let unknown = taken.takes.iter().filter(|(_, value)| **value == TakenValue::Unknown);
        let unknown = unknown.filter_map(|(name, _)| space.variable(0, *name)).collect();
        let meaning = Meaning::of(&mut space, 0);
        Self { space, meaning, here, unknown }
    }

    /// Returns how an expectation fails, if it does.
    fn failure(&mut self, expected: &Expectation, taken: &Taken<'_>) -> Option<Failure> {
        let met = match self.met(&expected.what) {
            Some(met) => met,
            None => return self.value(expected, taken),
        };
        if self.space.diagrams.is_spent() {
            return Some(Failure {
                at: expected.span,
                says: "its situations are too many to be decided".to_owned(),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
            });
        }
        if self.space.witness(&[self.here]).is_none() {
            return Some(Failure {
                at: expected.span,
                says: "what it takes cannot be together".to_owned(),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
            });
        }
        let missed = self.space.diagrams.without(self.here, met);
        let situation = self.space.witness(&[missed])?;
        let could_be = self.space.diagrams.both(self.here, met);
        let could_be = self.space.witness(&[could_be]).is_some();
        let missing = if could_be { self.missing(missed, &situation, taken) } else { BTreeSet::new() };
        let plan = self.space.books[0].plan;
        let says = self.says(&situation, &expected.what);
        let mut shown: BTreeSet<NameId> = missing.clone();
        shown.extend(taken.takes.keys().copied());
        let found = witness(&self.space, 0, &situation, &shown);
        let missing: Vec<String> = missing.into_iter().map(|name| format!("`{}`", plan[name].word)).collect();
        let says =
            if could_be { format!("it is not settled; it can be {says}") } else { format!("it is {says}") };
        Some(Failure { at: expected.span, says, missing, situation: found.values })
    }

    /// Returns the names that are left open and matter to a situation that misses an expectation.
    fn missing(&mut self, missed: Set, situation: &[u16], taken: &Taken<'_>) -> BTreeSet<NameId> {
        let plan = self.space.books[0].plan;
        let mut rest = missed;
        let mut names = BTreeSet::new();
        for variable in self.space.diagrams.depends_on(missed) {
            let outside = self.space.diagrams.without(self.here, rest);
            let leaves = self.space.diagrams.exists(outside, &|it| it == variable);
            let named = self.space.variables.get(usize::from(variable)).and_then(|it| it.name);
            let is_open = named.is_some_and(|(_, name)| taken.fixed(taken.definitions.name(name)).is_none());
            if is_open && self.space.diagrams.contains(leaves, situation) {
                names.extend(named.map(|(_, name)| name));
                let here = situation.get(usize::from(variable)).copied().unwrap_or(0);
                let at = self.space.diagrams.test(variable, |cell| cell == here);
                rest = self.space.diagrams.both(rest, at);
                rest = self.space.diagrams.exists(rest, &|it| it == variable);
            }
        }
        // An author takes bands and measures rather than what they are made of.
        names.retain(|name| !plan[*name].hidden || plan[*name].scope != Place::Panicles);
        names
    }

    /// Returns where an expectation is met; nothing for a value, which is no set of situations.
    fn met(&mut self, expected: &Expected) -> Option<Set> {
        let rules = self.space.books[0].rules;
        let book = self.space.books[0];
        Some(match expected {
            Expected::Spray(doses) => {
                let is = |it: &Verdict| matches!(it, Verdict::Spray(found) if same(found, doses));
                self.verdict(&is)
            }
            Expected::Verdict(VerdictWord::Hold) => self.verdict(&|it| it.essence() == Verdict::Hold),
            Expected::Verdict(VerdictWord::Undecided) => self.verdict(&|it| *it == Verdict::Undecided),
            Expected::Verdict(VerdictWord::Uncovered) => self.verdict(&|it| *it == Verdict::Uncovered),
            Expected::Verdict(VerdictWord::Look) => {
                // Where some verdict is reached whatever the unknown names are, there is nothing to look at.
                let mut settled = Vec::new();
                for (_, set) in self.meaning.partition(&mut self.space) {
                    let other = self.space.diagrams.without(self.here, set);
                    let unknown = self.unknown.clone();
                    let some = self.space.diagrams.exists(other, &|it| unknown.contains(&it));
                    settled.push(self.space.diagrams.not(some));
                }
                let settled = self.space.diagrams.any(settled);
                self.space.diagrams.not(settled)
            }
            Expected::By(choice) => {
                let set = self.meaning.leads.get(choice.index()).copied().unwrap_or(Set::NONE);
                let shut = self.meaning.all_shut(&mut self.space);
                let holds = self.meaning.speaks.choices.get(choice.index()).copied().unwrap_or(Set::NONE);
                let aside = self.space.diagrams.both(shut, holds);
                self.space.diagrams.either(set, aside)
            }
            Expected::Task(task) => match rules.tasks.get(*task) {
                Some(logic) => self.space.holds(0, logic),
                None => Set::NONE,
            },
            Expected::Warning(warning) => match rules.warnings.get(*warning) {
                Some(logic) => self.space.holds(0, logic),
                None => Set::NONE,
            },
            Expected::ShutBy(product, gates) => {
                let mut sets = Vec::new();
                for gate in gates {
                    let speaks = self.meaning.speaks.gates.get(gate.index()).copied().unwrap_or(Set::NONE);
                    let fits = book.plan.gates.get(gate.index()).and_then(|gate| gate.fits);
                    let set = match fits {
                        Some((held, name)) if held == *product => self.space.test(0, name, &CellSet::one(0)),
                        _ if shuts_today(book, *gate, *product) => speaks,
                        // Two products shut together are shut each for the other.
                        _ => speaks,
                    };
                    sets.push(set);
                }
                self.space.diagrams.any(sets)
            }
            Expected::Allowed(product) => {
                let shut = self.meaning.shut.get(product.index()).copied().unwrap_or(Set::NONE);
                self.space.diagrams.not(shut)
            }
            Expected::Is(name, value, _) if self.space.bands[0].contains_key(name) => {
                self.space.where_name(0, *name, &|level| is_value(*level, value, None) == Truth::Yes)
            }
            Expected::Is(name, value, tolerance) if self.space.variable(0, *name).is_some() => {
                let settled = |piece: &Extent| is_value(*piece, value, *tolerance) == Truth::Yes;
                let set = self.space.where_name(0, *name, &settled);
                if set.is_none() {
                    return None;
                }
                set
            }
            Expected::Is(..) | Expected::TableIs(..) => return None,
        })
    }

    fn verdict(&mut self, is: &dyn Fn(&Verdict) -> bool) -> Set {
        let parts = self.meaning.partition(&mut self.space);
        self.space.diagrams.any(parts.into_iter().filter(|(it, _)| is(it)).map(|(_, set)| set))
    }

    /// Returns how a value fails, if it does.
    fn value(&self, expected: &Expectation, taken: &Taken<'_>) -> Option<Failure> {
        let plan = self.space.books[0].plan;
        let (extent, value, tolerance, words) = match &expected.what {
            Expected::Is(name, value, tolerance) => {
                let extent = taken.name(*name);
                let unit = &plan[*name].unit;
                (extent, value, tolerance, extent_words(plan, plan[*name].kind, unit, extent))
            }
            Expected::TableIs(table, keys, value, tolerance) => {
                let extent = taken.table(*table, keys);
                let of = &plan[*table];
                (extent, value, tolerance, extent_words(plan, of.gives, &of.unit, extent))
            }
            _ => return None,
        };
        match is_value(extent, value, *tolerance) {
            Truth::Yes => None,
            Truth::No | Truth::Open => Some(Failure {
                at: expected.span,
                says: format!("it is {words}"),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
            }),
        }
    }

    /// Returns what comes out in a situation where something else is expected.
    fn says(&self, situation: &[u16], expected: &Expected) -> String {
        let book = self.space.books[0];
        let plan = book.plan;
        let decided = decide(plan, book.rules, &self.space.cells(0, situation));
        match expected {
            Expected::Spray(_) | Expected::Verdict(_) => match decided {
                Ok(decision) => decision.verdict.words(plan),
                Err(_) => "not decided".to_owned(),
            },
            Expected::By(_) => match decided {
                Ok(decision) => {
                    let names: Vec<&str> = decision.choices.iter().map(|it| &*plan[*it].name).collect();
                    format!(
                        "{}, by {}",
                        decision.verdict.words(plan),
                        if names.is_empty() { "no choice".to_owned() } else { names.join(", ") }
                    )
                }
                Err(_) => "not decided".to_owned(),
            },
            Expected::Task(_) => "no such task".to_owned(),
            Expected::Warning(_) => "no such warning".to_owned(),
            Expected::ShutBy(..) => "not shut by it".to_owned(),
            Expected::Allowed(product) => {
                let by = book.rules.products.get(product.index()).map_or(&[][..], |rules| &rules.shut_by);
                let by = by.iter().find_map(|shutter| match shutter {
                    Shutter::Gate(gate) => {
                        let set = self.meaning.speaks.gates.get(gate.index()).copied()?;
                        self.space.diagrams.contains(set, situation).then(|| plan[*gate].name.to_string())
                    }
                    Shutter::Certified => None,
                });
                format!("shut by `{}`", by.unwrap_or_default())
            }
            Expected::Is(name, ..) => {
                let found = witness(&self.space, 0, situation, &BTreeSet::from([*name]));
                let value = found.values.get(&*plan[*name].word);
                value.map_or_else(
                    || "another".to_owned(),
                    |it| {
                        let unit = it["unit"].as_str().map_or_else(String::new, |unit| format!(" {unit}"));
                        it["value"].to_string().replace('"', "") + &unit
                    },
                )
            }
            Expected::TableIs(..) => "another".to_owned(),
        }
    }
}

fn extent_words(plan: &Plan, kind: crate::plan::Kind, unit: &Unit, extent: Extent) -> String {
    let number = |at: f64| {
        if at.is_infinite() { "longer than any".to_owned() } else { crate::plan::number_in(kind, unit, at) }
    };
    match extent.can_be {
        Possible::Nothing => "empty".to_owned(),
        Possible::Numbers(low, high) if low == high => number(low),
        Possible::Numbers(low, high) if low.is_finite() && high.is_finite() => {
            format!("not settled: from {} to {}", number(low), number(high))
        }
        Possible::Words(set) if set.is_power_of_two() => {
            let place = set.trailing_zeros() as usize;
            match kind {
                crate::plan::Kind::Words(list) => {
                    plan[list].words.get(place).map_or_else(String::new, |word| word.name.to_string())
                }
                _ => if place == 1 { "yes" } else { "no" }.to_owned(),
            }
        }
        Possible::Numbers(..) | Possible::Words(_) | Possible::Text(_) | Possible::AnyText => {
            "not settled: what it comes from is not taken".to_owned()
        }
    }
}

/// Returns whether a piece lies in an extent.
pub(super) fn lies_in(piece: Extent, extent: Extent) -> bool {
    if piece.is_empty() {
        return extent.may_be_empty;
    }
    match (piece.can_be, extent.can_be) {
        (Possible::Numbers(low, high), Possible::Numbers(from, to)) => {
            let near = crate::units::tolerance(from.abs().min(to.abs()));
            low >= from - near && high <= to + near
        }
        (Possible::Words(one), Possible::Words(all)) => one & !all == 0,
        (Possible::Text(one), Possible::Text(other)) => one == other,
        (Possible::Text(_), Possible::AnyText) => true,
        _ => false,
    }
}

/// Returns whether a number lies in a piece.
pub(super) fn holds(piece: Extent, number: Extent) -> bool {
    match (piece.ends(), number.one_number()) {
        (Some((low, high)), Some(number)) => low <= number && number <= high,
        _ => false,
    }
}

/// Returns the comparison that cuts a range at a taken value.
fn comparison(value: &TakenValue) -> Option<Compare> {
    use crate::plan::Datum;
    let bound = |value: f64| {
        Some(Bound { value, closed: true, unit: Unit::none(), figure: None, span: Span::default() })
    };
    match value {
        TakenValue::One(Datum::Number(number)) => {
            Some(Compare::Numbers { low: bound(*number), high: bound(*number) })
        }
        TakenValue::FromTo(Datum::Number(low), Datum::Number(high)) => {
            Some(Compare::Numbers { low: bound(*low), high: bound(*high) })
        }
        TakenValue::One(_) | TakenValue::FromTo(..) | TakenValue::Unknown | TakenValue::Empty => None,
    }
}

impl Prover<'_> {
    /// Returns the findings of the rulebook's worked examples.
    pub fn worked(&self, budget: usize) -> (Vec<Outcome>, Problems) {
        let outcomes = run(self.book, budget);
        let problems = findings(self.book.plan, &outcomes);
        (outcomes, problems)
    }
}
