//! A season, replayed: what the guide would have said on each morning with what was known then, what was done, and where the two
//! differ.
//!
//! Comes in: an open grove. Goes out: for each morning the decisions of its trees, what was sprayed until the next one, the air
//! and the bloom of the day; for the season where advice and log part. Every decision is that of [`crate::advice`] at that
//! morning. Facts only: it makes no words.

mod air;
mod assumed;
mod day;
mod followed;
mod season;
mod sums;

pub use air::{DayAir, wet_hours_of};
pub use day::{Blank, BloomCount, DecisionGroup, PartDone, ReplayedDay, TankDone};
pub use followed::{Parting, PartingKind, TreeSprays, partings, sprays_by_product};
pub use season::{Replay, ReplayWanted, ToldMorning, replay};
pub use sums::{SeasonSums, first_difference, season_sums};
