//! The page for today: groups of trees with one decision, each with its reason first.
//!
//! Comes in: an advice, the scene of its explanations, facts of the grove. Goes out: plain text of a given width.

mod changes;
mod closed;
mod foot;
mod group;
mod head;
mod hours;
mod neighbours;
mod questions;
mod shelf;
mod reasons;
mod said;
mod when;

pub(crate) use changes::{assumed_words, close_words};
pub(crate) use closed::{closed_words, not_now, opens_before};
pub(crate) use foot::{cautions_of, covers_words, next_words, said_of, tasks_of};
pub(crate) use group::long_of;
pub(crate) use head::{guide_words, weather_words};
pub(crate) use hours::{Spraying, hours_of_time, hours_words};
pub(crate) use neighbours::risks;
pub(crate) use questions::{asked, branches, contact, questions_of, thens};
pub(crate) use reasons::{reasons_of, short_reasons};
pub(crate) use said::sentence;
pub use said::verdict_heading;
pub(crate) use shelf::safe_in_shed;
pub use when::{due_words, keep_out_words, length, turn_words};

use super::{Lines, TreeGroup, Trees, ranges_in};
use crate::advice::{Advice, Case, Spray};
use crate::explain::Values;
use crate::measure::Gauged;
use crate::plan::ProductId;
use crate::sprayday::Day;
use crate::words::{Scene, Words};
use chrono::DateTime;
use chrono_tz::Tz;

/// What a page says beside the advice.
#[derive(Clone, Debug)]
pub struct Facts<'a> {
    /// The grove's name.
    pub grove: &'a str,
    /// The moment at which the page is made.
    pub now: DateTime<Tz>,
    /// The end of the last measured hour.
    pub weather_measured_to: Option<DateTime<Tz>>,
    /// When the forecast was issued.
    pub forecast_issued: Option<DateTime<Tz>>,
    /// What is wrong in the grower's files, a sentence each.
    pub data_problems: &'a [String],
    /// What is wrong with the rulebook, where it has errors of meaning.
    pub rulebook_problems: &'a [String],
    /// How far a spray drifts, in metres.
    pub drift: f64,
}

/// What a page needs of the grove.
pub trait Ground: Trees {
    /// Returns how many trees there are.
    fn count(&self) -> usize;

    /// Returns where a tree stands, in metres east and north.
    fn position(&self, tree: usize) -> Option<(f64, f64)>;

    /// Returns how a spray is mixed for these trees with the grower's own tank and jugs, in sentences.
    fn mix(&self, spray: &Spray, trees: &[usize], words: Words<'_>) -> Vec<String>;

    /// Returns all values of a tree.
    fn gauge(&self, tree: usize) -> Gauged;

    /// Returns whether the shed has jugs, but none of a product.
    fn lacks(&self, product: ProductId) -> bool;
}

/// All that the parts of a page need.
#[derive(Clone, Copy)]
pub(crate) struct Page<'a> {
    pub scene: &'a Scene<'a>,
    pub facts: &'a Facts<'a>,
    pub ground: &'a dyn Ground,
    pub advice: &'a Advice,
}

impl Page<'_> {
    /// Returns the words in which facts are said.
    pub fn words(&self) -> Words<'_> {
        self.scene.words()
    }

    /// Returns the names of trees, those that follow one another as ranges.
    pub fn ranges(&self, trees: &[usize]) -> String {
        ranges_in(self.scene.language, self.ground, trees)
    }

    /// Returns a case by its number.
    pub fn case(&self, number: usize) -> Option<&Case> {
        self.advice.cases.get(number)
    }

    /// Returns the values of several trees together.
    pub fn values(&self, trees: &[usize]) -> Values {
        let mut trees = trees.iter();
        let Some(first) = trees.next() else { return Values::default() };
        let mut values = Values::of_tree(*first, &self.ground.gauge(*first));
        trees.for_each(|tree| values.join(&self.ground.gauge(*tree)));
        values
    }
}

/// Returns the page for the trees of `chosen`, which are those of the groups in the grove's order, in lines no longer than `width`.
pub fn page(
    scene: &Scene<'_>,
    facts: &Facts<'_>,
    ground: &dyn Ground,
    advice: &Advice,
    (day, groups, chosen): (&Day<'_>, &[TreeGroup], &[usize]),
    width: usize,
) -> String {
    let page = Page { scene, facts, ground, advice };
    let mut lines = Lines::new(width);
    head::write(&mut lines, &page, day, chosen);
    for group in groups {
        group::write(&mut lines, &page, (day, group), chosen.len());
    }
    foot::write(&mut lines, &page, groups, chosen);
    lines.finish()
}
