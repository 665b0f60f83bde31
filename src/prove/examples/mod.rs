//! Worked examples: what they take, and whether what they expect comes out, whatever is left open.

pub(crate) mod exact;
pub(super) mod unsure;
pub mod reach;
mod failed;

use crate::decide::{Rules, Weighed};
use crate::measure::Truth;
use crate::plan::{
    ChoiceId, Definitions, Expectation, Expected, GateId, NameId, ProductId, Shut, VerdictWord, Way, Worked,
};
use crate::prove::space::Book;
use crate::prove::space::taken::{Taken, is_value};
use crate::situation::CellSet;
use crate::source::Span;
use crate::trace::{Shutter, Trace, Verdict};
use exact::Exact;
pub use failed::{findings, together};
use std::borrow::Cow;
use std::collections::BTreeSet;

/// How a worked example came out.
#[derive(Clone, Debug)]
pub struct ExampleOutcome {
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
    /// Whether it does not come out since choices contradict each other there.
    pub is_undecided: bool,
}

/// Runs all worked examples of a rulebook but those with hours of their own, which need weather.
pub fn run(book: Book<'_>, budget: usize) -> Vec<ExampleOutcome> {
    let definitions = Definitions::of(book.plan);
    let with_hours = |worked: &Worked| worked.hours_from.is_some();
    let all = book.plan.worked.iter().enumerate().filter(|(_, worked)| !with_hours(worked));
    all.map(|(number, worked)| Example { book, definitions: &definitions, worked, number }.run(budget))
        .collect()
}

/// A worked example of a rulebook.
pub(crate) struct Example<'p> {
    pub(crate) book: Book<'p>,
    pub(crate) definitions: &'p Definitions<'p>,
    pub(crate) worked: &'p Worked,
    pub(crate) number: usize,
}

/// What a worked example comes to, as far as that is seen from what each name can be by itself.
struct ExampleValues<'p> {
    /// Without the grading of bands that are taken.
    rules: Cow<'p, Rules>,
    /// The verdict with the choices that lead to it, if it is one.
    verdict: Option<(Verdict, Vec<ChoiceId>)>,
    /// Whether each product is shut.
    shut: Vec<Truth>,
    trace: Trace,
}

impl<'p> Example<'p> {
    /// Runs it.
    pub(crate) fn run(&self, budget: usize) -> ExampleOutcome {
        let plan = self.book.plan;
        let taken = Taken::of(plan, self.definitions, self.worked);
        let cut = taken.cut();
        let seen = self.see(&taken, &cut);
        // A sure failure is shown by a situation, too.
        let open: Vec<&Expectation> = self
            .worked
            .expects
            .iter()
            .filter(|it| self.quick(&it.what, &taken, &seen) != Truth::Yes)
            .collect();
        let mut failures = Vec::new();
        if !open.is_empty() {
            let mut exact = Exact::new(Book { plan, rules: &seen.rules }, &taken, &cut, budget);
            for expected in open {
                failures.extend(exact.failure(expected, &taken));
            }
        }
        let Trace { gates, choices, bands, cells, tasks, warnings } = seen.trace;
        let choices = choices.iter().map(|met| met.holds).collect();
        let tables = taken.rows(self.worked);
        let settles = Settled { gates, choices, rows: bands, cells, tables, tasks, warnings };
        ExampleOutcome { number: self.number, failures, settles }
    }

    /// Returns for each expectation whether it is met, as far as that is seen from what each name can be by itself.
    pub(crate) fn settled(&self) -> Vec<Truth> {
        let taken = Taken::of(self.book.plan, self.definitions, self.worked);
        let seen = self.see(&taken, &taken.cut());
        self.worked.expects.iter().map(|it| self.quick(&it.what, &taken, &seen)).collect()
    }

    /// Returns the verdict, if its takes settle it.
    pub(crate) fn verdict(&self) -> Option<Verdict> {
        let taken = Taken::of(self.book.plan, self.definitions, self.worked);
        self.see(&taken, &taken.cut()).verdict.map(|(verdict, _)| verdict)
    }

    /// Decides what each name can be under the takes.
    fn see(&self, taken: &Taken<'_>, cut: &BTreeSet<NameId>) -> ExampleValues<'p> {
        let plan = self.book.plan;
        let rules = without_bands(self.book.rules, cut);
        let cells = |name: u32| self.book.rules.axes.touched(NameId(name), taken.name(NameId(name)));
        let cells: Vec<CellSet> = (0..plan.names.len() as u32).map(cells).collect();
        let weighed = Weighed::new(plan, &rules, cells);
        let shut = |product: u32| weighed.way_shut(&rules, &Way::Spray(vec![(ProductId(product), 0)]));
        let shut = (0..plan.products.len() as u32).map(shut).collect();
        let verdict = weighed.verdict(&rules);
        let trace = weighed.into_trace(&rules);
        ExampleValues { rules, verdict, shut, trace }
    }

    /// Returns whether an expectation is met, as far as that is seen from what each name can be by itself.
    fn quick(&self, expected: &Expected, taken: &Taken<'_>, seen: &ExampleValues<'_>) -> Truth {
        let verdict = |is: &dyn Fn(&Verdict) -> bool| match &seen.verdict {
            Some((verdict, _)) => Truth::of(is(verdict)),
            None => Truth::Open,
        };
        let plan = self.book.plan;
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
            Expected::By(choice) => match &seen.verdict {
                Some((_, choices)) => Truth::of(choices.contains(choice)),
                None => Truth::Open,
            },
            Expected::Task(task) => at(&seen.trace.tasks, *task),
            Expected::Warning(warning) => at(&seen.trace.warnings, *warning),
            Expected::ShutBy(product, gates) => {
                let shuts = gates.iter().map(|gate| {
                    if shuts_today(self.book, *gate, *product) {
                        at(&seen.trace.gates, gate.index())
                    } else {
                        Truth::Open
                    }
                });
                Truth::any(shuts)
            }
            Expected::Allowed(product) => !at(&seen.shut, product.index()),
            Expected::Is(name, value, tolerance) => {
                is_value(taken.name(*name), value, *tolerance, &|at| plan[*name].threshold(at))
            }
            Expected::TableIs(table, keys, value, tolerance) => {
                is_value(taken.table(*table, keys), value, *tolerance, &|at| plan[*table].threshold(at))
            }
        }
    }
}

/// Returns whether a gate of today shuts a product by itself while it speaks.
pub(super) fn shuts_today(book: Book<'_>, gate: GateId, product: ProductId) -> bool {
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
fn without_bands<'p>(rules: &'p Rules, cut: &BTreeSet<NameId>) -> Cow<'p, Rules> {
    if !rules.bands.iter().any(|band| cut.contains(&band.name)) {
        return Cow::Borrowed(rules);
    }
    let mut rules = rules.clone();
    rules.bands.retain(|band| !cut.contains(&band.name));
    Cow::Owned(rules)
}

pub(crate) fn same(found: &[(ProductId, u8)], expected: &[(ProductId, u8)]) -> bool {
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    found == expected
}
