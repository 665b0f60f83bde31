//! Measures, tables and tallies over weather, log and scouting: what every name of a plan is for a tree.
//!
//! Comes in: a [`crate::plan::Plan`], weather, a grove. Goes out: for each name what its value can be, and how it
//! came about when that is asked for. Knows no verdicts.

mod extent;
mod truth;
mod cause;
mod caused_truth;
mod comparison;
mod table;
mod arithmetic;
mod band;
mod sample;
mod history;
mod window;
mod series_columns;
mod series;
mod aggregate_statistic;
mod aggregate_spells;
mod aggregate;
mod daily;
mod tally;
mod weather_reach;
mod weather_measures;
mod weather_explain;
mod gauged;
mod inputs;
mod world;
mod facts;
mod panicles;
mod evaluator;

pub use arithmetic::{Carried, evaluate};
pub use band::grade;
pub use cause::{Cause, InDoubt, LogGap, NoValue, Steps, TableKey, Unseen, WeatherGap};
pub use comparison::{against, compare};
pub use evaluator::Evaluator;
pub use extent::{Extent, Possible, Reading};
pub use facts::Facts;
pub use gauged::{Gauged, GaugedGroup, Placed};
pub use history::{History, LastSpray, UnknownHistory};
pub use inputs::{Inputs, speaks_of_trees, speaks_of_weather};
pub use sample::wilson;
pub use series::Reach;
pub use table::{lookup, rows_used, values};
pub use truth::Truth;
pub use weather_explain::Provenance;
pub use weather_measures::{HourTruth, WeatherMeasures};
pub use weather_reach::reads;
pub use window::{days_counted, season_start};
pub use world::{World, WorldInput};
