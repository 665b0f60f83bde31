//! Questions about every situation at once: conflicts, gaps, promises, worked examples, differences.
//!
//! Comes in: plans. Goes out: findings, each with a situation that a person would recognize. Knows no groves. A room uses only
//! rooms above its own line.

use crate::decide::{Certified, Rules};
use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems};

pub mod space;
pub(crate) mod meaning;
pub mod examples;
pub(crate) mod findings;
pub mod mutate;
pub mod compare;
pub mod tightens;

pub use findings::Prover;
pub use meaning::{Meaning, Speaks};
pub use space::witness::{Witness, witness};
pub use space::{Book, Space, Variable};

/// How many nodes are made before a question is left open.
pub const BUDGET: usize = 4_000_000;

/// Proves a rulebook: returns everything that is wrong or idle in its decisions.
pub fn findings(plan: &Plan) -> Problems {
    let rules = Rules::new(plan, Certified::No);
    let book = Book { plan, rules: &rules };
    // Two run side by side: one makes the set of all situations and looks for what is wrong, the other runs the worked
    // examples, which have situations of their own; then each looks for half of what changes nothing.
    let (hand, taken) = std::sync::mpsc::channel::<Prover<'_>>();
    let (mut problems, spent, outcomes) = std::thread::scope(|scope| {
        let beside = scope.spawn(move || {
            let outcomes = examples::run(book, BUDGET);
            let Ok(mut prover) = taken.recv() else { return (outcomes, Problems::default(), false) };
            let [half, _] = prover.items();
            let problems = prover.idle(&half);
            (outcomes, problems, prover.space.diagrams.is_spent())
        });
        let mut prover = Prover::new(book, BUDGET);
        prover.space.settle();
        let _ = hand.send(prover.clone());
        let mut problems = prover.wrong();
        let [_, half] = prover.items();
        problems.extend(prover.idle(&half));
        let (outcomes, more, spent) = beside.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        problems.extend(more);
        (problems, spent || prover.space.diagrams.is_spent(), outcomes)
    });
    if spent {
        problems = Problems::default();
        let message = "the situations of this rulebook are too many to be proved: nothing is said of conflicts, gaps and promises";
        problems.push(
            Problem::new(Finding::NotDecided, plan.head.span, message)
                .help("fewer thresholds of one name, or fewer names in one condition, make it provable"),
        );
    }
    problems.extend(examples::findings(plan, &outcomes));
    // What is not run is never passed over in silence.
    for worked in plan.worked.iter().filter(|worked| worked.hours_from.is_some()) {
        let message = format!("the worked example \"{}\" is not run: its hours are not read", worked.title);
        problems.push(Problem::new(Finding::NotDecided, worked.span, message));
    }
    problems.extend(examples::reach::rows_that_never_hold(plan));
    problems.extend(examples::reach::untested(&examples::reach::reach(book, &outcomes)));
    problems.sort();
    problems
}
