//! From a trace and the values it met to ordered statements: what was decided, why, and on whose authority.
//!
//! Comes in: a plan, a case of an advice with its trace, the values of one tree or of several, and where they
//! came from. Goes out: [`Statement`]s with typed [`Claim`]s. Decides nothing, and makes no words.

mod chain;
mod claim;
mod compared;
mod conditions;
mod gates;
mod item;
mod origin;
mod statement;
mod telling;
mod values;
mod why_not;

pub use chain::chain;
pub use claim::{Claim, Compared, Computed, PanicleValues, Sighting, SprayDone};
pub use item::Item;
pub use origin::{NoOrigins, Origins};
pub use statement::{Role, Statement};
use telling::Telling;
pub use values::Values;
pub use why_not::why_not;

use crate::decide::Rules;
use crate::measure::Inputs;
use crate::plan::Plan;

/// All that statements are made from, the same for every tree.
#[derive(Clone, Copy)]
pub struct Basis<'a> {
    /// The rulebook.
    pub plan: &'a Plan,
    /// The rulebook made ready.
    pub rules: &'a Rules,
    /// What each name is computed from.
    pub inputs: &'a Inputs,
    /// Where values came from.
    pub origins: &'a dyn Origins,
}
