//! A season, replayed: the page of it as text, as one page of HTML with pictures, as CSV and as JSON.
//!
//! Comes in: an open grove and its replayed season. Goes out: pages. Decides nothing.

mod csv_form;
mod html_form;
mod json_form;
mod pictures;
mod reasons;
mod said;
mod text_form;
mod two_guides;

pub use csv_form::csv;
pub use html_form::html;
#[cfg(test)]
pub(super) use json_form::SeasonForm;
pub use json_form::json;
pub use reasons::{GroupReasons, MorningReasons, reasons};
pub use text_form::text;
pub use two_guides::two_guides;

use super::GroveTrees;
use crate::replay::{DecisionGroup, Parting, Replay, ReplayedDay, TreeSprays, partings};
use crate::words::Words;
use crate::workspace::OpenGrove;
use chrono::NaiveTime;

/// What the pages of a season are made of.
pub struct SeasonPage<'a> {
    /// The grove.
    pub open: &'a OpenGrove,
    /// How commands name it.
    pub named: &'a str,
    /// Its season.
    pub replay: &'a Replay,
    /// In which words it is told.
    pub words: Words<'a>,
    /// The trees it is about, in walking order.
    pub trees: &'a [usize],
    /// The time of day at which the guide was asked.
    pub at: NaiveTime,
    /// Whether the advice was taken as followed.
    pub assumed: bool,
    partings: Vec<Parting>,
    counts: TreeSprays,
}

impl<'a> SeasonPage<'a> {
    /// Makes ready to tell of a season.
    pub fn new(
        (open, named): (&'a OpenGrove, &'a str),
        replay: &'a Replay,
        words: Words<'a>,
        trees: &'a [usize],
        (at, assumed): (NaiveTime, bool),
    ) -> Self {
        let (partings, counts) = partings(&replay.days, trees);
        Self { open, named, replay, words, trees, at, assumed, partings, counts }
    }

    fn names(&self) -> GroveTrees<'a> {
        GroveTrees { plan: &self.open.plan, grove: &self.open.grove }
    }

    /// Returns the mornings that have an answer.
    fn answered(&self) -> impl Iterator<Item = &'a ReplayedDay> {
        self.replay.days.iter().filter(|day| day.blank.is_none())
    }

    /// Returns of how many trees on how many mornings the guide says such a thing.
    fn tree_mornings(&self, is: impl Fn(&DecisionGroup) -> bool) -> usize {
        self.answered().map(|day| day.count(&is)).sum()
    }
}
