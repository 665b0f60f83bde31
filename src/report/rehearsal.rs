//! A rulebook rehearsed: its worked examples, its promises, and how far the examples reach; as text.
//!
//! Comes in: what was proved. Goes out: pages. Knows no terminal.

use super::filling::{filled, paragraph};
use super::findings::situation;
use crate::plan::Plan;
use crate::problems::{Finding, Problem};
use crate::prove::examples::ExampleOutcome;
use crate::prove::examples::reach::{Part, Reach};
use crate::source::{Sources, Span};

/// How many rows of a table that are not drawn upon are shown; the rest is counted.
const MOST_ROWS: usize = 4;

/// A rulebook with what its rehearsal came to.
#[derive(Debug)]
pub struct Rehearsal<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its worked examples.
    pub outcomes: Vec<ExampleOutcome>,
    /// How each promise is broken, by its number; nothing where it is kept.
    pub promises: Vec<Option<Problem>>,
    /// Whether the promises could be decided.
    pub decided: bool,
    /// How far the examples reach.
    pub reach: Vec<Reach>,
    /// The texts.
    pub sources: &'a Sources,
}

impl Rehearsal<'_> {
    /// Returns whether an example failed, a promise is broken, or something could not be run or decided.
    pub fn failed(&self) -> bool {
        self.outcomes.iter().any(|it| !it.failures.is_empty())
            || self.promises.iter().any(Option::is_some)
            || !self.decided
    }

    /// Returns the worked examples that were not run: those with hours of their own.
    fn not_run(&self) -> Vec<usize> {
        let ran = |at: &usize| self.outcomes.iter().any(|it| it.number == *at);
        (0..self.plan.worked.len()).filter(|at| !ran(at)).collect()
    }

    /// Returns the rehearsal as text of which no line is longer than the width.
    pub fn text(&self, width: usize) -> String {
        let mut out = String::new();
        for outcome in &self.outcomes {
            let Some(worked) = self.plan.worked.get(outcome.number) else { continue };
            for failure in &outcome.failures {
                out += &joined(filled(
                    &format!(
                        "{}: FAILED \"{}\": {}",
                        self.sources.locate(failure.at),
                        worked.title,
                        failure.says
                    ),
                    "",
                    "  ",
                    width,
                ));
                out += &example(&failure.situation, worked.span, width);
                if !failure.missing.is_empty() {
                    out += &joined(filled(
                        &format!("take also {}", failure.missing.join(", ")),
                        "  ",
                        "    ",
                        width,
                    ));
                }
            }
        }
        for (promise, broken) in self.plan.promises.iter().zip(&self.promises) {
            if let Some(problem) = broken {
                let words = format!(
                    "{}: BROKEN {}: {}",
                    self.sources.locate(problem.at),
                    promise.name,
                    problem.message
                );
                out += &joined(filled(&words, "", "  ", width));
                out += &example(&problem.situation, problem.at, width);
            }
        }
        for at in self.not_run() {
            let Some(worked) = self.plan.worked.get(at) else { continue };
            let words = format!(
                "{}: NOT RUN \"{}\": its hours cannot be read",
                self.sources.locate(worked.span),
                worked.title
            );
            out += &joined(filled(&words, "", "  ", width));
        }
        let passed = self.outcomes.iter().filter(|it| it.failures.is_empty()).count();
        out += &paragraph(&format!("Worked examples: {passed} of {} pass.", self.plan.worked.len()), width);
        let kept = self.promises.iter().filter(|it| it.is_none()).count();
        let words = if self.decided {
            format!("Promises: {kept} of {} are kept in every situation.", self.plan.promises.len())
        } else {
            "Promises: not decided, there are too many situations.".to_owned()
        };
        out += &paragraph(&words, width);
        out += &self.reach_text(width);
        let next = if self.failed() {
            "Next: fix what failed, or what is expected of it."
        } else if self.of(&Part::Whole).any(|it| !it.reached) {
            "Next: write a worked example for each row that is not reached."
        } else if self.conditions().any(|it| !it.both_ways) {
            "Next: where a condition counts, write an example on either side of it."
        } else {
            "Next: `bloomward compare` shows what a change would change."
        };
        out + &paragraph(next, width)
    }

    fn of<'s>(&'s self, part: &'s Part) -> impl Iterator<Item = &'s Reach> {
        self.reach.iter().filter(move |it| it.part == *part)
    }

    fn conditions(&self) -> impl Iterator<Item = &Reach> {
        self.reach.iter().filter(|it| matches!(it.part, Part::Condition(_)))
    }

    /// Returns the row of a table as it is written, with single blanks.
    pub(super) fn row(&self, it: &Reach) -> String {
        self.sources.words(it.at).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Returns how far the examples reach, and what they do not.
    fn reach_text(&self, width: usize) -> String {
        let count = |list: &mut dyn Iterator<Item = &Reach>| {
            list.fold((0, 0, 0), |(all, held, both), it| {
                (all + 1, held + usize::from(it.reached), both + usize::from(it.both_ways))
            })
        };
        let mut out = String::new();
        let (all, held, both) = count(&mut self.of(&Part::Whole));
        let words = format!(
            "Reach: {held} of {all} items and rows apply in some example; {both} also have an example where they do not."
        );
        out += &paragraph(&words, width);
        for it in self.of(&Part::Whole).filter(|it| !it.reached) {
            let words = format!("{}: not reached: {}", self.sources.locate(it.at), it.item);
            out += &joined(filled(&words, "  ", "    ", width));
        }
        let (all, held, both) = count(&mut self.conditions());
        if all > 0 {
            let words = format!(
                "{held} of their {all} conditions are met in some example; {both} also have an example where they are not."
            );
            out += &paragraph(&words, width);
        }
        // What stands together is said together; a condition that is seen from both sides is not listed.
        for group in self.reach.chunk_by(|_, b| b.part != Part::Whole) {
            let open = |held: bool| -> Vec<String> {
                let of_it = group.iter().filter(|it| !it.both_ways && it.reached == held);
                let words = of_it.filter_map(|it| match &it.part {
                    Part::Condition(written) => Some(format!("`{written}`")),
                    Part::Whole | Part::Row => None,
                });
                words.collect()
            };
            let (never, always) = (open(false), open(true));
            let mut said = Vec::new();
            if !never.is_empty() {
                said.push(format!("holds in no example: {}", never.join(", ")));
            }
            if !always.is_empty() {
                said.push(format!("fails in no example: {}", always.join(", ")));
            }
            if let (Some(first), false) = (group.first(), said.is_empty()) {
                let at = self.sources.locate(first.at);
                let words = format!("{at}: in {}: {}", first.item, said.join("; "));
                out += &joined(filled(&words, "  ", "    ", width));
            }
        }
        let (all, held, _) = count(&mut self.of(&Part::Row));
        if all > 0 {
            out += &paragraph(&format!("{held} of {all} table rows are used."), width);
        }
        for group in self.reach.chunk_by(|a, b| a.item == b.item) {
            let unused: Vec<&Reach> = group.iter().filter(|it| it.part == Part::Row && !it.reached).collect();
            let Some(first) = unused.first() else { continue };
            let shown: Vec<String> = unused.iter().take(MOST_ROWS).map(|it| self.row(it)).collect();
            let more = unused.len().saturating_sub(MOST_ROWS);
            let more = if more > 0 { format!("; and {more} more") } else { String::new() };
            let at = self.sources.locate(first.at);
            let words = format!("{at}: not used, of {}: {}{more}", first.item, shown.join("; "));
            out += &joined(filled(&words, "  ", "    ", width));
        }
        out
    }
}

fn example(values: &std::collections::BTreeMap<String, serde_json::Value>, at: Span, width: usize) -> String {
    let problem = Problem { situation: values.clone(), ..Problem::new(Finding::WorkedFailed, at, "") };
    let words = situation(&problem);
    words.map_or_else(String::new, |words| joined(filled(&words, "  for example ", "    ", width)))
}

fn joined(lines: Vec<String>) -> String {
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
