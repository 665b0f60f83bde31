//! What a tree's own past is to measures over time: its sprays and its observed dates.

use super::{Cause, Extent, LogGap, Reading, Unseen};
use crate::plan::{Kind, NameId, Plan, Sprayed};
use chrono::{DateTime, NaiveDate, Utc};

/// When something was last sprayed.
#[derive(Clone, PartialEq, Debug)]
pub enum LastSpray {
    /// The log is not known.
    Unknown,
    /// It was never sprayed.
    Never,
    /// The spray ended at this moment.
    Ended(DateTime<Utc>),
}

/// A tree's own past, as of the moment of the advice.
pub trait History {
    /// Returns a number that trees share whose sprays are the same: what was computed for one serves the others.
    fn number(&self) -> usize;

    /// Returns when something was last sprayed.
    fn last_spray(&self, what: &Sprayed) -> LastSpray;

    /// Returns how many sprays there were on a day that begins so many minutes after midnight.
    fn sprays_on(&self, day: NaiveDate, begins: u16, what: &Sprayed) -> Reading;

    /// Returns how much of an ingredient was sprayed on such a day, as a mass on an area.
    fn amount_on(&self, day: NaiveDate, begins: u16, ingredient: &str) -> Reading;

    /// Returns an observed date.
    fn date_of(&self, name: NameId) -> Reading;
}

/// The past of a tree of which nothing is known.
#[derive(Clone, Copy, Debug)]
pub struct UnknownHistory<'p> {
    /// The rulebook, for what its values can be.
    pub plan: &'p Plan,
}

impl History for UnknownHistory<'_> {
    fn number(&self) -> usize {
        usize::MAX
    }

    fn last_spray(&self, _: &Sprayed) -> LastSpray {
        LastSpray::Unknown
    }

    fn sprays_on(&self, _: NaiveDate, _: u16, _: &Sprayed) -> Reading {
        let cause = Cause::Sprays(LogGap::Unknown);
        Reading::because(Extent::between(0.0, f64::INFINITY), cause)
    }

    fn amount_on(&self, _: NaiveDate, _: u16, _: &str) -> Reading {
        let cause = Cause::Sprays(LogGap::Unknown);
        Reading::because(Extent::between(0.0, f64::INFINITY), cause)
    }

    fn date_of(&self, name: NameId) -> Reading {
        let cause = Cause::Unseen(Unseen::Date(name));
        Reading::because(Extent::anything(Kind::Date, self.plan), cause)
    }
}
