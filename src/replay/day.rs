//! What is known of one morning of a season. Data only, apart from look-ups.

use super::DayAir;
use crate::advice::{Case, Need, Spray};
use crate::plan::{ChoiceId, NameId, ProductId};
use crate::problems::Problem;
use crate::source::Span;
use crate::trace::Verdict;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// A morning of a season, and its day.
#[derive(Clone, Debug)]
pub struct ReplayedDay {
    /// The moment of the advice.
    pub morning: DateTime<Tz>,
    /// Why the guide has no answer on this morning, where it has none.
    pub blank: Option<Blank>,
    /// The trees by what the guide says of them: sprays first, then what is to be looked at.
    pub groups: Vec<DecisionGroup>,
    /// The sprays that began from this morning on and before the next one.
    pub done: Vec<TankDone>,
    /// The levels of the bands that are the same for the whole grove; nothing where one is not known.
    pub levels: Vec<(NameId, Option<u16>)>,
    /// In which stages of bloom the trees of each block were.
    pub bloom: Vec<BloomCount>,
    /// How many hours are open for the sprays that are advised, added up over their trees, and of how many trees.
    pub hours_left: (f64, usize),
    /// The air of the day, as it was measured.
    pub air: DayAir,
}

/// Why there is no answer on a morning.
#[derive(Clone, Debug)]
pub enum Blank {
    /// Every tree waits for weather that is missing.
    Weather,
    /// The shares of panicle groups that a row gives did not add up then.
    Shares(Span),
    /// What was written down by then cannot be true of a grove, by the rulebook.
    Always(Box<Problem>),
}

/// Trees of which the guide says the same.
#[derive(Clone, PartialEq, Debug)]
pub struct DecisionGroup {
    /// What is said.
    pub verdict: Verdict,
    /// The spray in the author's order; empty where none is advised.
    pub spray: Spray,
    /// The choices that lead there.
    pub choices: Vec<ChoiceId>,
    /// Whether something is open on which their verdict hangs and that only weather tells.
    pub waits_for_weather: bool,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
}

/// A product of a tank: the word of the log, the product and the place of its strength, where the rulebook knows them.
pub type PartDone = (Arc<str>, Option<ProductId>, Option<u8>);

/// A tank that was sprayed.
#[derive(Clone, PartialEq, Debug)]
pub struct TankDone {
    /// When it began.
    pub start: DateTime<Tz>,
    /// What was in it.
    pub parts: Vec<PartDone>,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// Whether it is only taken as done.
    pub assumed: bool,
}

/// How many trees of a block are in each stage of bloom.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BloomCount {
    /// By the place of the stage in its scale; a tree with panicles of several stages counts in each.
    pub stages: Vec<u32>,
}

impl ReplayedDay {
    /// Returns the day.
    pub fn date(&self) -> NaiveDate {
        self.morning.date_naive()
    }

    /// Returns the decision of a tree.
    pub fn decision(&self, tree: usize) -> Option<&DecisionGroup> {
        self.groups.iter().find(|group| group.trees.binary_search(&tree).is_ok())
    }

    /// Returns how many trees have such a decision.
    pub fn count(&self, is: impl Fn(&DecisionGroup) -> bool) -> usize {
        self.groups.iter().filter(|group| is(group)).map(|group| group.trees.len()).sum()
    }
}

impl DecisionGroup {
    /// Returns whether it is the decision of a case.
    pub(super) fn is_of(&self, case: &Case) -> bool {
        self.verdict == case.decision.verdict
            && self.spray == case.spray
            && self.choices == case.decision.choices
            && self.waits_for_weather == case.needs.contains(&Need::Weather)
    }

    /// Begins a group with a case.
    pub(super) fn new(case: &Case) -> Self {
        Self {
            verdict: case.decision.verdict.clone(),
            spray: case.spray.clone(),
            choices: case.decision.choices.clone(),
            waits_for_weather: case.needs.contains(&Need::Weather),
            trees: Vec::new(),
        }
    }
}

impl TankDone {
    /// Returns the products that the rulebook knows, each once, in the order of the plan; nothing where it does not know all.
    pub fn products(&self) -> Option<Vec<ProductId>> {
        let mut products = self.parts.iter().map(|(_, product, _)| *product).collect::<Option<Vec<_>>>()?;
        products.sort_unstable();
        products.dedup();
        Some(products)
    }
}
