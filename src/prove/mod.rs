//! Questions about every situation at once: conflicts, gaps, promises, worked examples, differences.
//!
//! Comes in: plans. Goes out: findings, each with a situation that a person would recognise. Knows no groves.

use crate::decide::{Certified, Rules};
use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems};

mod compute;
mod roots;
mod space;
mod order;
mod build;
mod relations;
mod panicles;
mod meaning;
mod witness;
mod point;
mod effect;
mod rows;
mod findings;
mod taken;
pub mod worked;
mod changes;
pub mod mutants;
mod defined;
mod catcher;
mod suggestion;
mod table_rows;
mod trial;
pub mod mutation;
pub mod reach;
pub mod items;
pub mod differences;
pub mod places;
pub mod tightened;

pub use findings::Prover;
pub use meaning::{Meaning, Speaks};
pub use space::{Book, Space, Variable};
pub use witness::{Witness, witness};

/// How many nodes are made before a question is left open.
pub const BUDGET: usize = 4_000_000;

/// Proves a rulebook: returns everything that is wrong or idle in its decisions.
pub fn findings(plan: &Plan) -> Problems {
    let rules = Rules::new(plan, Certified::No);
    let book = Book { plan, rules: &rules };
    // The worked examples have spaces of their own, so that they are run beside the proofs.
    let (mut problems, outcomes) = std::thread::scope(|scope| {
        let examples = scope.spawn(|| worked::run(book, BUDGET));
        let problems = Prover::new(book, BUDGET).findings();
        (problems, examples.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    problems.extend(worked::findings(plan, &outcomes));
    // What is not run is never passed over in silence.
    for worked in plan.worked.iter().filter(|worked| worked.hours_from.is_some()) {
        let message = format!("the worked example \"{}\" is not run: its hours are not read", worked.title);
        problems.push(Problem::new(Finding::NotDecided, worked.span, message));
    }
    problems.extend(reach::rows_that_never_hold(plan));
    problems.extend(reach::untested(&reach::reach(book, &outcomes)));
    problems.sort();
    problems
}
