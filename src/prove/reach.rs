//! Which items and rows the worked examples reach: in which examples it is settled that they hold, and that they do not.

use super::worked::Outcome;
use crate::measure::Truth;
use crate::plan::{Origin, Plan};
use crate::problems::{Finding, Problem, Problems};
use crate::source::Span;

/// How far an item or a row is reached.
#[derive(Clone, PartialEq, Debug)]
pub struct Reach {
    /// What it is: `gate copper-on-open-bloom`, `row severe of mildew-weather`.
    pub item: String,
    /// Where it stands.
    pub at: Span,
    /// Whether it holds in some example, whatever is left open there.
    pub reached: bool,
    /// Whether it also certainly does not hold in another.
    pub both_ways: bool,
}

/// Returns how far each gate of the text, choice, row of a band, task and warning is reached.
pub fn reach(plan: &Plan, outcomes: &[Outcome]) -> Vec<Reach> {
    let mut all = Vec::new();
    let mut add = |item: String, at: Span, of: &dyn Fn(&Outcome) -> Option<Truth>| {
        let any = |truth: Truth| outcomes.iter().any(|outcome| of(outcome) == Some(truth));
        let (yes, no) = (any(Truth::Yes), any(Truth::No));
        all.push(Reach { item, at, reached: yes, both_ways: yes && no });
    };
    for (at, gate) in plan.gates.iter().enumerate().filter(|(_, gate)| gate.line.is_none()) {
        add(format!("gate {}", gate.name), gate.span, &|it| it.settles.gates.get(at).copied());
    }
    for (at, choice) in plan.choices.iter().enumerate() {
        add(format!("choice {}", choice.name), choice.span, &|it| it.settles.choices.get(at).copied());
    }
    for (id, name) in plan.named() {
        let Origin::Band(band) = &name.origin else { continue };
        for (at, row) in band.rows.iter().enumerate() {
            let caps = if row.caps { "at most " } else { "" };
            let item = format!("row {caps}{} of {}", plan.word_of(id, row.level), name.word);
            add(item, row.span, &|it| {
                let rows = it.settles.rows.iter().find(|(band, _)| *band == id);
                rows.and_then(|(_, rows)| rows.get(at).copied())
            });
        }
    }
    for (at, task) in plan.tasks.iter().enumerate() {
        add(format!("task {}", task.name), task.speaks.span, &|it| it.settles.tasks.get(at).copied());
    }
    for (at, warning) in plan.warnings.iter().enumerate() {
        add(format!("warning {}", warning.name), warning.speaks.span, &|it| {
            it.settles.warnings.get(at).copied()
        });
    }
    all
}

/// Returns a finding for each item that no worked example reaches.
pub fn untested(reach: &[Reach]) -> Problems {
    let mut problems = Problems::default();
    for it in reach.iter().filter(|it| !it.reached) {
        let (kind, name) = it.item.split_once(' ').unwrap_or(("item", &it.item));
        let message = format!("no worked example reaches the {kind} `{name}`");
        problems.push(
            Problem::new(Finding::Untested, it.at, message)
                .help("write a `worked` example in which it holds, whatever is left open"),
        );
    }
    problems
}
