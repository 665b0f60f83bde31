//! Measures, tables and tallies over weather, log and scouting: what every name of a plan is for a tree.
//!
//! Comes in: a [`crate::plan::Plan`], weather, a grove. Goes out: for each name what its value can be, and how it
//! came about when that is asked for. Knows no verdicts.

pub mod arithmetic;
mod band;
mod extent;
mod gauged;
mod inputs;
mod sample;
pub mod table;
mod truth;
mod world;

pub use band::grade;
pub use extent::{Cause, Extent, Possible, Reading};
pub use gauged::{Gauged, Group};
pub(crate) use inputs::children;
pub use inputs::{Inputs, speaks_of_trees, speaks_of_weather};
pub use sample::wilson;
pub use truth::{Truth, compare};
pub use world::{Leaf, World};
