//! The day of the spray: how much goes into a tank, how many tanks, when, and which trees in which order.
//!
//! Comes in: advice, jugs, strengths, the sprayer, the hours ahead. Goes out: amounts as a scale and a measuring cup
//! show them, and the rounds of a day. Decides nothing, and knows not how it is printed.

mod calibration;
mod job;
mod loads;
mod mix;
mod one_tank;
mod passes;
mod planned;
mod rounds;
mod rows;
mod scale;
mod sheet;
mod work;

pub use calibration::{Course, depth_of_flow, depth_of_strip, flow, pressure_for_flow, work_rate};
pub use job::{Job, NoAmounts, TankPart, amount, area_of, jobs};
pub use loads::{Loads, loads, whole_times};
pub use mix::{Mix, MixTrouble, Spray, WantedStrength, mix};
pub use one_tank::{OneTank, on_the_shelf, one_tank};
pub use passes::{Pass, PassSide, is_air_blast, passes};
pub use planned::{PlanGround, Planned, Stretch, Wait, hours_of};
pub use rounds::{Day, Decided, DoneBy, LoadTrees, Round, day};
pub use rows::{Row, rows};
pub use scale::{ShownAmount, shown_mass, shown_volume};
pub use sheet::{KeptSheet, kept};
pub use work::{Fits, Work};
