//! What a changed rulebook breaks: contradictions, gaps, promises and worked examples that came out before.

use crate::decide::{Certified, Rules};
use crate::plan::Plan;
use crate::problems::{Finding, Level, Problem};
use crate::prove::examples;
use crate::prove::findings::Prover;
use crate::prove::space::Book;
use crate::source::Span;
use std::collections::BTreeSet;

/// What is to be mended before a change is taken.
#[derive(Clone, Default, Debug)]
pub struct ToMend {
    /// What is broken, and was not.
    pub new: Vec<Problem>,
    /// How many errors stood there before.
    pub before: usize,
}

/// Returns the errors of the new rulebook, apart from those of the old one.
pub(crate) fn to_mend(old: &Plan, new: &Plan, budget: usize) -> ToMend {
    let found = errors(new, budget);
    if found.is_empty() {
        return ToMend::default();
    }
    let known = errors(old, budget);
    let is_known =
        |it: &Problem| known.iter().any(|known| known.finding == it.finding && known.message == it.message);
    let (before, new): (Vec<Problem>, Vec<Problem>) = found.into_iter().partition(is_known);
    ToMend { new, before: before.len() }
}

fn errors(plan: &Plan, budget: usize) -> Vec<Problem> {
    let rules = Rules::new(plan, Certified::No);
    let book = Book { plan, rules: &rules };
    let (wrong, examples) = std::thread::scope(|scope| {
        let beside = scope.spawn(|| examples::findings(plan, &examples::run(book, budget)));
        let wrong = Prover::new(book, budget).broken();
        (wrong, beside.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    let mut all = wrong;
    all.extend(examples);
    all.sort();
    let mut examples: BTreeSet<Span> = BTreeSet::new();
    // An example of which several expectations do not come out is one.
    let is_first = |it: &&Problem| {
        it.finding != Finding::WorkedFailed || it.related.iter().all(|(at, _)| examples.insert(*at))
    };
    let errors = all.iter().filter(|it| it.finding.level() == Level::Error);
    errors.filter(is_first).cloned().collect()
}
