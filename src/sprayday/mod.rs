//! The day of the spray: how much goes into a tank, and how many tanks.
//!
//! Comes in: a jug, a strength, a volume of spray. Goes out: amounts as a scale and a measuring cup show them. Knows no
//! verdict.

mod loads;
mod mix;
mod scale;

pub use loads::{Loads, loads, whole_times};
pub use mix::{Mix, MixLimit, MixTrouble, Spray, Wanted, limits, mix};
pub use scale::{shown_mass, shown_volume};
