//! A worked example that would notice a change, written as an author writes it.

use super::findings::Prover;
use super::mutants::Mutant;
use super::mutation::{comes_to, names_to_take, touched_bands};
use super::witness::taken_value;
use crate::measure::Truth;
use crate::plan::{
    Datum, Expectation, Expected, NameId, Plan, Take, TakenValue, VerdictWord, Why, Worked, number_in,
};
use crate::source::Span;
use crate::trace::Verdict;
use std::fmt::Write;

/// Writes the example whose verdict a change turns.
pub(super) fn of_verdict(
    plan: &Plan,
    prover: &Prover<'_>,
    mutant: &Mutant,
    situation: &[u16],
) -> Option<String> {
    let mut worked = everything_taken(plan, prover, mutant, situation);
    let changed = mutant.applied(plan);
    // What the log says is assumed where it cannot be taken: the verdict may be another than in the situation.
    let (_, verdict) = comes_to(plan, &worked);
    let (what, words) = match verdict? {
        Verdict::Spray(doses) => {
            let verdict = Verdict::Spray(doses.clone());
            (Expected::Spray(doses), verdict.words(plan).trim_start_matches("spray ").to_owned())
        }
        Verdict::Hold | Verdict::AllShut | Verdict::Look => {
            (Expected::Verdict(VerdictWord::Hold), "hold".to_owned())
        }
        Verdict::Undecided => (Expected::Verdict(VerdictWord::Undecided), "undecided".to_owned()),
        Verdict::Uncovered => (Expected::Verdict(VerdictWord::Uncovered), "uncovered".to_owned()),
    };
    worked.expects = vec![Expectation { what, span: Span::default() }];
    written(plan, &changed, mutant, worked, &words)
}

/// Writes the example in which a task or, numbered after the tasks, a warning goes missing.
pub(super) fn of_speaking(
    plan: &Plan,
    prover: &Prover<'_>,
    mutant: &Mutant,
    situation: &[u16],
    at: usize,
) -> Option<String> {
    let (what, words) = match at.checked_sub(plan.tasks.len()) {
        None => (Expected::Task(at), format!("task {}", plan.tasks[at].name)),
        Some(at) => (Expected::Warning(at), format!("warning {}", plan.warnings[at].name)),
    };
    let mut worked = everything_taken(plan, prover, mutant, situation);
    worked.expects = vec![Expectation { what, span: Span::default() }];
    written(plan, &mutant.applied(plan), mutant, worked, &words)
}

/// Returns an example that takes all that rules speak of, as it is in a situation.
fn everything_taken(plan: &Plan, prover: &Prover<'_>, mutant: &Mutant, situation: &[u16]) -> Worked {
    let rules = prover.book.rules;
    let names = names_to_take(plan, rules, &touched_bands(rules, mutant.site));
    let take = |name: NameId| {
        let value = taken_value(&prover.space, 0, situation, name)?;
        Some(Take { name, value, span: Span::default() })
    };
    Worked {
        title: "".into(),
        with: Vec::new(),
        takes: names.into_iter().filter_map(take).collect(),
        expects: Vec::new(),
        hours_from: None,
        as_of: None,
        why: Why::default(),
        span: Span::default(),
    }
}

/// Writes an example with as few takes as notice a change.
fn written(plan: &Plan, changed: &Plan, mutant: &Mutant, mut worked: Worked, words: &str) -> Option<String> {
    let notices =
        |worked: &Worked| comes_to(plan, worked).0 == Truth::Yes && comes_to(changed, worked).0 == Truth::No;
    if !notices(&worked) {
        return None;
    }
    // Takes without which it notices as well are left out: halves first, then one by one.
    let mut size = worked.takes.len().div_ceil(2);
    while size > 0 {
        let mut at = 0;
        while at < worked.takes.len() {
            let mut fewer = worked.clone();
            fewer.takes.drain(at..(at + size).min(worked.takes.len()));
            if notices(&fewer) {
                worked = fewer;
            } else {
                at += size;
            }
        }
        size = if size == 1 { 0 } else { size.div_ceil(2) };
    }
    let mut text = format!("worked \"{}: {}\"\n", mutant.item, mutant.change.replace('`', ""));
    for take in &worked.takes {
        let _ =
            writeln!(text, "  take {} {}", plan[take.name].word, value_words(plan, take.name, &take.value));
    }
    let _ = writeln!(text, "  expect {words}");
    Some(text)
}

fn value_words(plan: &Plan, name: NameId, value: &TakenValue) -> String {
    let of = &plan[name];
    match value {
        TakenValue::One(Datum::Number(number)) => number_in(of.kind, &of.unit, *number),
        TakenValue::One(Datum::Word(place)) => plan.word_of(name, *place),
        TakenValue::One(Datum::Text(text)) => {
            format!("\"{}\"", plan.texts.get(text.0 as usize).map_or("", |text| &**text))
        }
        TakenValue::Empty => "empty".to_owned(),
        TakenValue::Unknown | TakenValue::FromTo(..) => "unknown".to_owned(),
    }
}
