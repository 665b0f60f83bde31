//! A grove under a plan: each tree's possible worlds, decided; needs, answers, tipping points, hours.
//!
//! Comes in: a plan, a grove, the weather. Goes out: [`Advice`]. Knows not how it is printed.

mod accuracy;
mod advisor;
mod ahead;
mod always;
mod asked;
mod case;
mod cuts;
mod example_hours;
mod facts;
mod hours;
mod keys;
mod label_days;
mod needs;
mod others;
mod rained;
mod range;
mod reached;
mod reckoned;
mod result;
mod ruled_out;
mod sharing;
mod splits;
mod tipping;
mod worlds;

pub use accuracy::accuracy_of;
pub use advisor::{Advisor, PlanReady};
pub use always::broken_always;
pub use case::Depth;
pub use example_hours::{ExampleHours, take_hours};
pub use facts::{Fresh, TreeFacts};
pub use hours::{hour_gates, shutting_between};
pub use keys::{KeyWithoutRow, keys_without_rows};
pub use label_days::{KeepOut, Takes, keep_out_after, picking_after};
pub use rained::{Rained, rained_on};
pub use range::{RangeEnd, ValueRange};
pub use result::{
    Advice, Answer, AnswersAre, AskedOf, Case, CloseCall, FoundValue, Hours, Need, PanicleShare, SafeIs,
    Spray, TippingPoint, TreeAdvice, Turn, Window,
};
pub use ruled_out::{RuledOut, ruled_out};
