//! What advice is made of. Data only, apart from look-ups.

use super::{RangeEnd, ValueRange};
use crate::measure::Reading;
use crate::plan::{ChoiceId, ExprNode, GateId, NameId, Plan, ProductId, Sprayed};
use crate::trace::{Decision, Shutter, Verdict};
use crate::units::Threshold;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// A spray: products, each at the strength at this place of its list, in the author's order.
pub type Spray = Vec<(ProductId, u8)>;

/// The advice for a grove at one moment.
#[derive(Clone, Debug)]
pub struct Advice {
    /// The moment.
    pub as_of: DateTime<Tz>,
    /// Values that are the same for the whole grove.
    pub grove_values: Vec<(NameId, Reading)>,
    /// What trees share: one for each situation with its questions.
    pub cases: Vec<Case>,
    /// One for each tree, in the grove's order.
    pub trees: Vec<TreeAdvice>,
}

/// What all trees in one situation share.
#[derive(Clone, Debug)]
pub struct Case {
    /// The verdict, the choices that led to it and what was met. Of a `look` the trace has open truths.
    pub decision: Decision,
    /// The spray as advised, in the author's order; empty where none is.
    pub spray: Spray,
    /// Every product or mix that a gate of today certainly shuts, with the gate.
    pub shut: Vec<(Vec<ProductId>, Shutter)>,
    /// Where all is shut: every product or mix that would be chosen, and that no one gate certainly shuts, with the gates of
    /// which one does whatever is found.
    pub shut_between: Vec<(Vec<ProductId>, Vec<GateId>)>,
    /// Every product that a gate certainly holds to a strength, with the gate.
    pub held: Vec<(ProductId, u8, GateId)>,
    /// The least set of things to find out that settles the verdict, alphabetical.
    pub needs: Vec<Need>,
    /// What each answer leads to.
    pub answers: Vec<Answer>,
    /// How far the answers go.
    pub answers_are: AnswersAre,
    /// The sprays that are allowed whatever the answers are.
    pub safe: Vec<Spray>,
    /// For each name that a condition compares the nearest values at which the verdict becomes another.
    pub tipping_points: Vec<TippingPoint>,
    /// Names that nobody saw, and without whose assumed value the verdict would not be sure to be the same.
    pub rests_on: Vec<NameId>,
    /// Of a hold that a choice advises, whether in some states of the world all is shut instead.
    pub shut_in_some: bool,
    /// Tasks certainly to be done, by their places in the plan's list.
    pub tasks: Vec<usize>,
    /// Warnings certainly to be given, by their places in the plan's list.
    pub warnings: Vec<usize>,
}

/// Something to find out.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Need {
    /// An observation of this tree, its block or the grove.
    Name(NameId),
    /// An observation of another tree, by the tree's number.
    OfTree(NameId, usize),
    /// The spray log.
    Sprays,
    /// The harvest date.
    Harvest,
    /// The weather.
    Weather,
    /// How much spray goes on an area.
    Sprayer,
}

/// What an answer leads to: a way from what is found out to a verdict.
#[derive(Clone, PartialEq, Debug)]
pub struct Answer {
    /// What is found out, in the order in which it is asked.
    pub found: Vec<FoundValue>,
    /// The verdict.
    pub then: Verdict,
}

/// One question with its answer.
#[derive(Clone, PartialEq, Debug)]
pub struct FoundValue {
    /// The name that is asked about.
    pub name: NameId,
    /// Of what it is asked.
    pub of: AskedOf,
    /// The answer; of other trees at how many of them it is so.
    pub range: ValueRange,
}

/// Of what a name is asked.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum AskedOf {
    /// The tree itself, its block or the grove.
    Itself,
    /// One of several groups of its panicles.
    Group(PanicleShare),
    /// Another tree, by its number.
    Tree(usize),
    /// Several other trees.
    OtherTrees,
}

/// One of several groups of panicles.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PanicleShare {
    /// Its place among the groups of its tree.
    pub group: usize,
    /// Its share of the tree's panicles, 0 to 1; unknown where it was not given.
    pub share: Option<f64>,
}

/// How far the answers of a case go.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum AnswersAre {
    /// Each combination of answers to what is asked is there.
    #[default]
    All,
    /// So much is open that they are of one question alone, or of none: more may have to be looked at then.
    OfOne,
}

/// In which way the sprays that are allowed whatever is found are of use.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SafeIs {
    /// In none: there are none, or no answer leads to a spray.
    OfNoUse,
    /// Whatever the answer is, something is sprayed.
    ForEveryAnswer,
    /// Some answer leads to no spray, or may.
    IfItIsASpray,
}

/// The nearest values of a name at which the verdict becomes another.
#[derive(Clone, PartialEq, Debug)]
pub struct TippingPoint {
    /// The name.
    pub name: NameId,
    /// Of a tree with several groups of panicles, in which of them.
    pub group: Option<PanicleShare>,
    /// From where on: a word, or all numbers beyond an end.
    pub range: ValueRange,
    /// The verdict there.
    pub then: Verdict,
}

/// The advice for one tree.
#[derive(Clone, Debug)]
pub struct TreeAdvice {
    /// Which of the advice's cases.
    pub case: usize,
    /// Hours for the spray.
    pub hours: Arc<Hours>,
    /// Names whose reading a small error would turn into another verdict.
    pub close_calls: Vec<CloseCall>,
    /// The day on which the tree is looked at again: of a verdict whose choice says so, never after a spray falls due or the
    /// verdict turns.
    pub recheck: Option<NaiveDate>,
    /// Of a verdict not to spray, the first moment at which it becomes another if the forecast holds.
    pub turn: Option<Turn>,
    /// When the tree was last seen.
    pub seen: Option<NaiveDate>,
    /// The day on which a spray falls due, where only time since the last spray is missing.
    pub covered_until: Option<NaiveDate>,
    /// Until when people are kept out now, after sprays already done.
    pub closed_until: Option<DateTime<Tz>>,
    /// When people may go in again: after sprays already done, and after the one advised in its first hours.
    pub keep_out_until: Option<DateTime<Tz>>,
    /// The first day on which fruit may be picked: after sprays already done, and after the one advised; the later of what the
    /// harvest and the re-entry of their labels ask for.
    pub pick_not_before: Option<NaiveDate>,
}

/// What a verdict becomes if the forecast comes true and nothing is sprayed.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Turn {
    /// When.
    pub at: DateTime<Tz>,
    /// The verdict from then on.
    pub verdict: Verdict,
}

/// A reading that a small error would turn.
#[derive(Clone, PartialEq, Debug)]
pub struct CloseCall {
    /// The name.
    pub name: NameId,
    /// In which group of panicles, the first of a tree that has none of its own.
    pub group: usize,
    /// Of a sample: how many more to look at before it is clear, if some number would do.
    pub look_at_more: Option<u32>,
}

/// The hours that are left for a spray.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Hours {
    /// Open windows at least as long as the rulebook asks for, earliest first.
    pub windows: Vec<Window>,
    /// Open pieces that are shorter than that, earliest first: what is left of a dawn, an hour between two winds.
    pub short: Vec<Window>,
    /// Hours that could not be checked, with the gates that need what is not known.
    pub not_checked: Vec<(Window, Vec<GateId>)>,
    /// Where no window of that length is open: the best hours that labels and the clock leave, and the gates they break.
    pub compromise: Option<(Window, Vec<GateId>)>,
}

/// A span of whole hours; the first may be cut at the moment of the advice.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Window {
    /// The beginning.
    pub from: DateTime<Tz>,
    /// The end.
    pub to: DateTime<Tz>,
    /// How many of its hours a `prefer` likes, of all it has.
    pub preferred: (u32, u32),
}

impl Advice {
    /// Returns the case of a tree.
    pub fn case_of(&self, tree: &TreeAdvice) -> Option<&Case> {
        self.cases.get(tree.case)
    }
}

impl Case {
    /// Returns the sprays that only the time since a spray stops, each with what that is a spray of and how long it takes.
    pub fn due<'c>(&'c self, plan: &'c Plan) -> impl Iterator<Item = (&'c Spray, (&'c Sprayed, RangeEnd))> {
        self.tipping_points.iter().filter_map(|point| {
            let Verdict::Spray(spray) = &point.then else { return None };
            let ExprNode::DaysSinceLast(what) = plan[point.name].node()? else { return None };
            let ValueRange::Numbers { low: Some(from), .. } = point.range else { return None };
            Some((spray, (what, from)))
        })
    }
}

impl Hours {
    /// Returns all that is open, windows and shorter pieces, earliest first.
    pub fn open(&self) -> Vec<Window> {
        let mut open: Vec<Window> = self.windows.iter().chain(&self.short).copied().collect();
        open.sort_by_key(|window| window.from);
        open
    }

    /// Returns the open hours that count for a spray, earliest first: windows of the length that the rulebook asks for, and
    /// shorter pieces in which a load is sprayed out. What a piece is long enough for is not known without the pace of the
    /// sprayer.
    pub fn usable(&self, loads: Option<&[f64]>) -> Vec<Window> {
        let load = loads.and_then(<[f64]>::first);
        let counts =
            |window: &Window| self.windows.contains(window) || load.is_some_and(|takes| window.holds(*takes));
        self.open().into_iter().filter(counts).collect()
    }

    /// Returns the hours in which a spray is done, earliest first: those that count for it, else those of the compromise, else
    /// the pieces that are open.
    pub fn for_spray(&self, loads: Option<&[f64]>) -> Vec<Window> {
        let usable = self.usable(loads);
        match &self.compromise {
            _ if !usable.is_empty() => usable,
            Some((window, _)) => vec![*window],
            None => self.short.clone(),
        }
    }
}

impl Window {
    /// Returns how many hours of time pass in it, whatever the clocks show.
    pub fn hours(&self) -> f64 {
        (self.to - self.from).num_seconds() as f64 / 3600.0
    }

    /// Returns whether it is long enough for what takes so many hours.
    pub fn holds(&self, hours: f64) -> bool {
        Threshold::of_hours(hours).is_reached_by(self.hours(), true)
    }
}

impl TreeAdvice {
    /// Advice that says nothing but its case.
    pub(super) fn none(case: usize) -> Self {
        Self {
            case,
            hours: Arc::default(),
            close_calls: Vec::new(),
            recheck: None,
            turn: None,
            seen: None,
            covered_until: None,
            closed_until: None,
            keep_out_until: None,
            pick_not_before: None,
        }
    }
}

impl Case {
    /// Returns what some trees of the case wait for: what is asked of each for itself is not asked of it as one of others.
    pub fn needs_of(&self, trees: &[usize]) -> Vec<Need> {
        let own = |need: &Need| match need {
            Need::OfTree(name, tree) => {
                trees.contains(tree) && (trees.len() == 1 || self.needs.contains(&Need::Name(*name)))
            }
            Need::Name(_) | Need::Sprays | Need::Harvest | Need::Weather | Need::Sprayer => false,
        };
        self.needs.iter().filter(|need| !own(need)).cloned().collect()
    }

    /// Returns in which way the sprays that are allowed whatever is found are of use to whoever looks first.
    pub fn safe_is(&self) -> SafeIs {
        let (told, sprays) = (self.answers.iter(), |answer: &Answer| answer.then.is_spray());
        match (self.safe.is_empty(), self.answers_are) {
            (true, _) => SafeIs::OfNoUse,
            (false, AnswersAre::All) if !self.answers.is_empty() => {
                match told.filter(|it| sprays(it)).count() {
                    0 => SafeIs::OfNoUse,
                    some if some == self.answers.len() => SafeIs::ForEveryAnswer,
                    _ => SafeIs::IfItIsASpray,
                }
            }
            (false, _) => SafeIs::IfItIsASpray,
        }
    }

    /// Returns each name of which some value would turn the verdict, in the order of its tipping points.
    pub fn turning_names(&self) -> Vec<NameId> {
        let mut names: Vec<NameId> = self.tipping_points.iter().map(|point| point.name).collect();
        names.dedup();
        names
    }

    /// Returns over which numbers of a name alone the verdict stays the same; nothing where no end of them is known.
    pub fn stays_over(&self, plan: &Plan, name: NameId) -> Option<ValueRange> {
        let of_name = self.tipping_points.iter().filter(|it| it.name == name && it.group.is_none());
        ValueRange::between(plan[name].kind, of_name.map(|point| &point.range))
    }

    /// Returns the choice that leads, if one does.
    pub fn choice(&self) -> Option<ChoiceId> {
        self.decision.choices.first().copied()
    }
}
