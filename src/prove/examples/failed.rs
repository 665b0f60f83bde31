//! What is said of worked examples that do not come out: each by itself, but one finding of those with one cause.

use super::{ExampleOutcome, Failure};
use crate::measure::Truth;
use crate::plan::{Plan, Worked};
use crate::problems::{Finding, Problem, Problems};
use crate::source::Span;
use crate::syntax::quoted;
use std::collections::BTreeSet;

/// How many of several examples are named; fewer are told each by itself.
const NAMED: usize = 3;

/// What to do first where choices contradict each other.
const RESOLVE: &str = "resolve the conflict first: add `outranks …`, and see what still does not come out";

/// Returns the findings of worked examples that failed. Where choices contradict each other there is one of all that hang on it:
/// those that do not come out because of that, and all of the base.
pub fn findings(plan: &Plan, outcomes: &[ExampleOutcome]) -> Problems {
    let mut problems = Problems::default();
    let failed: Vec<&ExampleOutcome> = outcomes.iter().filter(|it| !it.failures.is_empty()).collect();
    let is_undecided = |it: &ExampleOutcome| it.failures.iter().any(|failure| failure.is_undecided);
    let contradicts = failed.iter().any(|it| is_undecided(it));
    let hangs = |it: &ExampleOutcome| contradicts && (is_undecided(it) || is_of_base(plan, it));
    let (hanging, alone): (Vec<&ExampleOutcome>, Vec<&ExampleOutcome>) =
        failed.into_iter().partition(|it| hangs(it));
    problems.extend(contradicted(plan, &hanging).map(Problems::of).unwrap_or_default());
    for outcome in alone {
        let Some(worked) = plan.worked.get(outcome.number) else { continue };
        for failure in &outcome.failures {
            problems.push(one(plan, worked, outcome, failure, contradicts));
        }
    }
    problems
}

fn is_of_base(plan: &Plan, outcome: &ExampleOutcome) -> bool {
    plan.worked.get(outcome.number).is_some_and(|it| it.span.source != plan.head.span.source)
}

fn one(
    plan: &Plan,
    worked: &Worked,
    outcome: &ExampleOutcome,
    failure: &Failure,
    contradicts: bool,
) -> Problem {
    let message = format!("the worked example \"{}\" does not come out: {}", worked.title, failure.says);
    let mut problem =
        Problem::new(Finding::WorkedFailed, failure.at, message).related(worked.span, "the worked example");
    let missing = failure.missing.join(", ");
    // What the base expects binds an overlay, unless it says why not.
    if contradicts {
        problem = problem.help(RESOLVE);
    } else if worked.span.source != plan.head.span.source {
        let title = quoted(&worked.title);
        let instead = match &missing[..] {
            "" => "write one of your own".to_owned(),
            names => format!("`replace worked {title}` with one that takes also {names}"),
        };
        problem = problem.help(format!(
            "the base expects this: where the change is meant, leave its example out with a reason, or {instead}"
        ));
        problem.edit = Some(format!("omit worked {title} because \"…\""));
        for (name, span) in speaking(plan, outcome) {
            problem = problem.related(span, format!("{name} speaks here"));
        }
    } else if !missing.is_empty() {
        problem = problem.help(format!("take also {missing}"));
    }
    problem.situation.clone_from(&failure.situation);
    problem
}

/// Returns one finding for all worked examples that do not come out since choices contradict each other.
fn contradicted(plan: &Plan, hanging: &[&ExampleOutcome]) -> Option<Problem> {
    let undecided = hanging.iter().flat_map(|it| &it.failures).find(|it| it.is_undecided)?;
    let examples: Vec<&Worked> = hanging.iter().filter_map(|it| plan.worked.get(it.number)).collect();
    let first = examples.first()?;
    let of = if hanging.iter().all(|it| is_of_base(plan, it)) { " of the base" } else { "" };
    let which = match examples.len() {
        1 => format!("the worked example \"{}\"{of} does not come out", first.title),
        more => format!("{more} worked examples{of} do not come out, \"{}\" the first of them", first.title),
    };
    let of_all: Vec<BTreeSet<(String, Span)>> = hanging.iter().map(|it| speaking(plan, it)).collect();
    let because = because(&of_all);
    let message = format!("{which}{because}: choices contradict each other there");
    let mut problem = Problem::new(Finding::WorkedFailed, undecided.at, message)
        .related(first.span, "the worked example")
        .help(RESOLVE);
    problem.situation.clone_from(&undecided.situation);
    Some(problem)
}

/// Returns the gates and choices of an overlay that speak in an example of its base, or may.
fn speaking(plan: &Plan, outcome: &ExampleOutcome) -> BTreeSet<(String, Span)> {
    let is_own = |span: Span| is_of_base(plan, outcome) && span.source == plan.head.span.source;
    let settles = &outcome.settles;
    let choices = plan.choices.iter().zip(&settles.choices).map(|(it, truth)| (&it.name, it.span, truth));
    let gates = plan.gates.iter().filter(|it| it.hours.is_none()).zip(&settles.gates);
    let gates = gates.map(|(it, truth)| (&it.name, it.span, truth));
    let speak = choices.chain(gates).filter(|(_, span, truth)| is_own(*span) && **truth != Truth::No);
    speak.map(|(name, span, _)| (format!("`{name}`"), span)).collect()
}

/// Returns what all of some lists have, as a reason: `, because of \`fight-scab\``.
fn because(of_all: &[BTreeSet<(String, Span)>]) -> String {
    let Some((first, rest)) = of_all.split_first() else { return String::new() };
    let common = first.iter().filter(|it| rest.iter().all(|other| other.contains(it)));
    let names: Vec<&str> = common.map(|(name, _)| &**name).collect();
    if names.is_empty() || names.len() > NAMED {
        String::new()
    } else {
        format!(", because of {}", names.join(" and "))
    }
}

/// Puts the worked examples of a base that do not come out in what is built on it into one finding, with all lines to paste.
pub fn together(plan: &Plan, problems: &Problems) -> Problems {
    let is_it = |it: &Problem| {
        it.finding == Finding::WorkedFailed && it.edit.is_some() && it.at.source != plan.head.span.source
    };
    let mut out = Problems::default();
    let (of_base, others): (Vec<&Problem>, Vec<&Problem>) = problems.iter().partition(|it| is_it(it));
    let edits: BTreeSet<&str> = of_base.iter().filter_map(|it| it.edit.as_deref()).collect();
    let is_few = edits.len() < NAMED;
    others.into_iter().chain(of_base.iter().copied().filter(|_| is_few)).for_each(|it| out.push(it.clone()));
    let Some(first) = of_base.first().filter(|_| !is_few) else { return out };
    let own = |it: &Problem| -> BTreeSet<(String, Span)> {
        let names = plan
            .choices
            .iter()
            .map(|it| (&it.name, it.span))
            .chain(plan.gates.iter().map(|it| (&it.name, it.span)));
        let related =
            |span: Span| it.related.iter().any(|(at, _)| *at == span && at.source == plan.head.span.source);
        names.filter(|(_, span)| related(*span)).map(|(name, span)| (format!("`{name}`"), span)).collect()
    };
    let because = because(&of_base.iter().map(|it| own(it)).collect::<Vec<_>>());
    let message = format!("{} examples of the base no longer come out{because}", edits.len());
    let mut problem = Problem::new(Finding::WorkedFailed, first.at, message).help(
        "where the change is meant, leave them out with a reason each, and write examples of your own: the lines stand below",
    );
    for it in of_base.iter().take(NAMED) {
        problem = problem.related(it.at, it.message.clone());
    }
    problem.edit = Some(edits.into_iter().collect::<Vec<&str>>().join("\n"));
    out.push(problem);
    out
}
