//! Bands, gates and choices: a situation gives a verdict and its trace.
//!
//! Comes in: [`Rules`], made once from a plan, and the cells of every name: one cell each, or several where
//! something is not known. Goes out: the one verdict that all of them lead to, or the name that must be known
//! first. Knows no weather, no grove, no clock. This is the one definition of what a plan means.

mod logic;
mod products;
mod ranks;
mod rules;
mod weigh;

pub use logic::Logic;
pub use products::Allowed;
pub use ranks::Ranks;
pub use rules::{BandRules, Certified, Rules};
pub use weigh::{Outcome, Weighed};

use crate::plan::{ChoiceId, NameId, Plan};
use crate::situation::CellSet;
use crate::trace::{Decision, Verdict};

/// Decides a situation: `Ok` where every cell leads to one verdict, else the name whose cells matter first.
///
/// `cells` has one set for every name of the plan; those of bands are filled in here.
pub fn decide(plan: &Plan, rules: &Rules, cells: &[CellSet]) -> Result<Decision, NameId> {
    let weighed = Weighed::new(plan, rules, cells.to_vec());
    match weighed.verdict(rules) {
        Some((verdict, choices)) => Ok(Decision { verdict, choices, trace: weighed.into_trace(rules) }),
        None => Err(weighed.open_name(plan, rules)),
    }
}

/// Decides a situation without keeping what was met: the verdict and the choices that led to it.
pub fn verdict(plan: &Plan, rules: &Rules, cells: &[CellSet]) -> Result<(Verdict, Vec<ChoiceId>), NameId> {
    let weighed = Weighed::new(plan, rules, cells.to_vec());
    weighed.verdict(rules).ok_or_else(|| weighed.open_name(plan, rules))
}
