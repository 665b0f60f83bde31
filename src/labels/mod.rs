//! What labels ask for, of the rulebook and of the jugs, the stricter of both: the one place where a line of a label is
//! held against a spray, be it long done, just written down or about to go into the tank.
//!
//! Comes in: a plan, whose label lines are gates, and a grove with its log. Goes out: for each line whether it was kept,
//! with the numbers that it met, and the days and times that labels set. Today's verdict holds the same gates against the
//! same values; tests hold the two together.

mod application;
mod barred;
mod days;
mod jugs;
mod past;
mod record;
mod restriction;
mod tank;
mod used;

pub use application::Application;
pub use barred::{Barred, barred};
pub use days::{
    Waits, first_picking, first_picking_of, last_day, open_after, passed, picking, picking_after_all,
    re_entry, re_entry_of,
};
pub use jugs::with_jugs;
pub use past::{BrokenLabel, broken_labels, later_broken};
pub use record::{LabelRecord, label_record};
pub use restriction::{Asks, LineKept, LineMet, Looks, Restriction};
pub use tank::{MixLimit, OfJug, single_limits};
pub use used::Used;
