//! A grove under a plan: each tree's possible worlds, decided; needs, answers, flips, hours.
//!
//! Comes in: a plan, a grove, the weather. Goes out: [`Advice`]. Knows not how it is printed.

mod flips;
mod needs;
mod result;
mod worlds;

pub use result::{Advice, Answer, Case, CloseCall, Flip, Hours, Need, Spray, TreeAdvice, Window};
