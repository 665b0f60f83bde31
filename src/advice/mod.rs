//! A grove under a plan: each tree's possible worlds, decided; needs, answers, flips, hours.
//!
//! Comes in: a plan, a grove, the weather. Goes out: [`Advice`]. Knows not how it is printed.

mod advisor;
mod facts;
mod flips;
mod hours;
mod jugs;
mod label_days;
mod label_record;
mod needs;
mod others;
mod result;
mod worlds;

pub use advisor::Advisor;
pub use facts::{Fresh, TreeFacts};
pub use jugs::with_jugs;
pub use label_record::{LabelRecord, LineKept, LineMet, label_record, later_broken};
pub use result::{Advice, Answer, Case, CloseCall, Flip, Hours, Need, Spray, TreeAdvice, Window};
