//! What the worked examples reach: each item, each row, and each single condition. What counts is what an example settles:
//! that something holds, or that it does not, whatever is left open there.

use super::{ExampleOutcome, Settled};
use crate::decide::Logic;
use crate::measure::{Extent, Truth, rows_used};
use crate::plan::{Condition, Expr, NameId, Origin, Plan, Test, Yields};
use crate::problems::{Finding, Problem, Problems};
use crate::prove::space::Book;
use crate::prove::space::compute::{self, Given, domain_of_leaf};
use crate::prove::space::taken::each_lookup;
use crate::source::Span;
use std::sync::Arc;

/// How far something is reached.
#[derive(Clone, PartialEq, Debug)]
pub struct Reach {
    /// The item: `gate copper-on-open-bloom`, `row severe of mildew-weather`, `table wet-hours-needed`.
    pub item: String,
    /// What of it.
    pub part: Part,
    /// Where it stands.
    pub at: Span,
    /// Whether it holds in some example, whatever is left open there.
    pub reached: bool,
    /// Whether it also certainly does not hold in another.
    pub both_ways: bool,
}

/// What of an item is reached.
#[derive(Clone, PartialEq, Debug)]
pub enum Part {
    /// The item as a whole.
    Whole,
    /// The row of a table that stands there: a key of it was asked for.
    Row,
    /// One comparison, in the author's words.
    Condition(Arc<str>),
}

/// Returns how far each gate of the text, choice, row of a band, task and warning is reached, each followed by its single
/// conditions, and then each row of each table.
pub fn reach(book: Book<'_>, outcomes: &[ExampleOutcome]) -> Vec<Reach> {
    let plan = book.plan;
    let mut found = FoundReach { book, outcomes, all: Vec::new() };
    for (at, gate) in plan.gates.iter().enumerate().filter(|(_, gate)| gate.line.is_none()) {
        let of = |it: &Settled| it.gates.get(at).copied();
        let conditions = [gate.condition.as_ref(), gate.unless.as_ref()];
        found.item(format!("gate {}", gate.name), gate.span, &of, &conditions);
    }
    for (at, choice) in plan.choices.iter().enumerate() {
        let of = |it: &Settled| it.choices.get(at).copied();
        let conditions = [choice.condition.as_ref(), choice.unless.as_ref()];
        found.item(format!("choice {}", choice.name), choice.span, &of, &conditions);
    }
    for (id, name) in plan.named() {
        let Origin::Band(band) = &name.origin else { continue };
        for (at, row) in band.rows.iter().enumerate() {
            let caps = if row.caps { "at most " } else { "" };
            let item = format!("row {caps}{} of {}", plan.word_of(id, row.level), name.word);
            let of = |it: &Settled| row_of(it, id, at);
            found.item(item, row.span, &of, &[Some(&row.condition)]);
        }
    }
    for (at, task) in plan.tasks.iter().enumerate() {
        let of = |it: &Settled| it.tasks.get(at).copied();
        let conditions = [task.speaks.condition.as_ref(), task.speaks.unless.as_ref()];
        found.item(format!("task {}", task.name), task.speaks.span, &of, &conditions);
    }
    for (at, warning) in plan.warnings.iter().enumerate() {
        let of = |it: &Settled| it.warnings.get(at).copied();
        let conditions = [warning.speaks.condition.as_ref(), warning.speaks.unless.as_ref()];
        found.item(format!("warning {}", warning.name), warning.speaks.span, &of, &conditions);
    }
    for (number, table) in plan.tables.iter().enumerate() {
        for (at, row) in table.rows.iter().enumerate() {
            let of = |it: &Settled| it.tables.get(number)?.as_ref()?.get(at).copied();
            found.add(format!("table {}", table.name), Part::Row, row.span, &of);
        }
    }
    found.all
}

fn row_of(settled: &Settled, band: NameId, at: usize) -> Option<Truth> {
    let (_, rows) = settled.rows.iter().find(|(it, _)| *it == band)?;
    rows.get(at).copied()
}

struct FoundReach<'p, 'o> {
    book: Book<'p>,
    outcomes: &'o [ExampleOutcome],
    all: Vec<Reach>,
}

impl FoundReach<'_, '_> {
    fn add(&mut self, item: String, part: Part, at: Span, of: &dyn Fn(&Settled) -> Option<Truth>) {
        let any = |truth: Truth| self.outcomes.iter().any(|outcome| of(&outcome.settles) == Some(truth));
        let (yes, no) = (any(Truth::Yes), any(Truth::No));
        self.all.push(Reach { item, part, at, reached: yes, both_ways: yes && no });
    }

    /// Adds an item with each comparison of its conditions. Where the item is no question, neither are they.
    fn item(
        &mut self,
        item: String,
        at: Span,
        of: &dyn Fn(&Settled) -> Option<Truth>,
        conditions: &[Option<&Condition>],
    ) {
        self.add(item.clone(), Part::Whole, at, of);
        let axes = &self.book.rules.axes;
        let mut tests: Vec<(&Test, Logic)> = Vec::new();
        for condition in conditions.iter().flatten() {
            condition.each_test(&mut |test| {
                tests.push((test, Logic::new(&Condition::Test(test.clone()), axes)));
            });
        }
        for (test, logic) in tests {
            let holds = |it: &Settled| of(it).map(|_| logic.truth(&it.cells));
            self.add(item.clone(), Part::Condition(test.written.clone()), test.span, &holds);
        }
    }
}

/// Returns a finding for each item and each row of a band that no worked example reaches.
pub fn untested(reach: &[Reach]) -> Problems {
    let mut problems = Problems::default();
    for it in reach.iter().filter(|it| it.part == Part::Whole && !it.reached) {
        let (kind, name) = it.item.split_once(' ').unwrap_or(("item", &it.item));
        let message = format!("no worked example reaches the {kind} `{name}`");
        problems.push(
            Problem::new(Finding::Untested, it.at, message)
                .help("write a `worked` example in which it holds, whatever is left open"),
        );
    }
    problems
}

/// Everything that a name can be.
struct WholeRange<'p>(&'p Plan);

impl Given for WholeRange<'_> {
    fn name(&self, _: NameId) -> Option<Extent> {
        None
    }

    fn leaf(&self, expr: &Expr) -> Extent {
        domain_of_leaf(self.0, expr)
    }
}

/// Returns a finding for each row of a table that no situation can reach: none of the keys that the measures ask for can be
/// so. Nothing is said of a table that hours or days are looked up in.
pub fn rows_that_never_hold(plan: &Plan) -> Problems {
    let mut used: Vec<Option<Vec<bool>>> = vec![None; plan.tables.len()];
    for (_, name) in plan.named() {
        let Origin::Measure(measure) = &name.origin else { continue };
        each_lookup(&measure.expr, &mut |table, keys| {
            let keys: Vec<Extent> =
                keys.iter().map(|key| compute::of_expr(plan, key, &WholeRange(plan))).collect();
            let here = rows_used(&plan[table], &keys).into_iter().map(|it| it != Truth::No);
            let Some(before) = used.get_mut(table.0 as usize) else { return };
            *before = Some(match before.take() {
                Some(before) => before.into_iter().zip(here).map(|(a, b)| a || b).collect(),
                None => here.collect(),
            });
        });
    }
    let hourlies = plan.hourlies.iter().map(|it| &it.yields);
    let yields = hourlies.chain(plan.dailies.iter().map(|it| &it.yields));
    let of_hours = yields.filter_map(|it| if let Yields::Value(expr) = it { Some(expr) } else { None });
    let tallies = plan.named().filter_map(|(_, name)| match &name.origin {
        Origin::Tally(tally) => Some(tally.adds.iter().map(|add| &add.amount)),
        _ => None,
    });
    for expr in of_hours.chain(tallies.flatten()) {
        each_lookup(expr, &mut |table, _| {
            if let Some(of_table) = used.get_mut(table.0 as usize) {
                *of_table = None;
            }
        });
    }
    let mut problems = Problems::default();
    for (table, rows) in plan.tables.iter().zip(used) {
        for (row, used) in table.rows.iter().zip(rows.unwrap_or_default()) {
            if !used {
                let message =
                    format!("a row of the table `{}` never holds: no situation reaches it", table.name);
                problems.push(
                    Problem::new(Finding::NeverHolds, row.span, message)
                        .help("what is looked up in it can never be so; fix the row or leave it out"),
                );
            }
        }
    }
    problems
}
