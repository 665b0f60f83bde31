//! Conditions over names, hours and days.

use super::{DailyId, FigureId, HourlyId, NameId, Series, TextId};
use crate::source::Span;
use crate::units::{Threshold, Unit};
use std::sync::Arc;

/// A condition. Of a tree all its subjects are names; of an hour, series, hourlies and names; of a day,
/// dailies and tallies; inside `panicles with` names of panicles, trees, blocks and groves.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// One comparison.
    Test(Test),
    /// It does not hold.
    Not(Box<Condition>),
    /// All of them hold.
    All(Vec<Condition>),
    /// Any of them holds.
    Any(Vec<Condition>),
}

/// One comparison.
#[derive(Clone, Debug)]
pub struct Test {
    /// What is compared.
    pub subject: Subject,
    /// With what.
    pub compare: Compare,
    /// The author's words, with single blanks.
    pub written: Arc<str>,
    /// Where it stands.
    pub span: Span,
}

impl PartialEq for Test {
    fn eq(&self, other: &Self) -> bool {
        (self.subject, &self.compare) == (other.subject, &other.compare)
    }
}

impl Test {
    /// Returns the names that it speaks of: its subject, and the one that this is compared with.
    pub fn names(&self) -> impl Iterator<Item = NameId> {
        let subject = if let Subject::Name(name) = self.subject { Some(name) } else { None };
        let other = if let Compare::Name(_, name) = self.compare { Some(name) } else { None };
        subject.into_iter().chain(other)
    }
}

/// What a condition compares.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Subject {
    /// A name.
    Name(NameId),
    /// A weather series of an hour.
    Series(Series),
    /// An `hourly` of an hour.
    Hourly(HourlyId),
    /// A `daily` of a day.
    Daily(DailyId),
}

/// With what something is compared. Where an end is missing there is none on that side.
#[derive(Clone, Debug, PartialEq)]
pub enum Compare {
    /// A number that lies between the ends.
    Numbers {
        /// From here.
        low: Option<Bound>,
        /// To here.
        high: Option<Bound>,
    },
    /// A number that is one of these; of counts and dates only.
    NumberIsOneOf(Vec<Bound>),
    /// A word of this set, the bit of a word being its place; of yes-no `no` is bit 0.
    Words(u64),
    /// A text of these.
    Texts(Vec<TextId>),
    /// A date from one day of the year to another, each as month and day; it may run over the new year.
    DaysOfYear((u8, u8), (u8, u8)),
    /// Another name; in an `always` only.
    Name(Order, NameId),
    /// Nothing of the above: `is not` of numbers, words and texts is written so.
    Not(Box<Compare>),
}

/// One end of a comparison.
#[derive(Clone, Debug)]
pub struct Bound {
    /// The threshold.
    pub at: Threshold,
    /// Whether the threshold itself counts.
    pub closed: bool,
    /// The unit in which the author wrote it.
    pub unit: Unit,
    /// The figure that it is, if it is one.
    pub figure: Option<FigureId>,
    /// The place of the literal or the figure's name.
    pub span: Span,
}

impl PartialEq for Bound {
    fn eq(&self, other: &Self) -> bool {
        (self.value(), self.closed) == (other.value(), other.closed)
    }
}

impl Bound {
    /// Returns the threshold in base units.
    pub fn value(&self) -> f64 {
        self.at.value()
    }
}

impl Compare {
    /// Returns whether a number lies between the ends of two bounds; those in reverse go over midnight.
    pub fn is_between(number: f64, low: Option<&Bound>, high: Option<&Bound>) -> bool {
        let reaches = low.is_none_or(|bound| bound.at.is_reached_by(number, bound.closed));
        let keeps = high.is_none_or(|bound| bound.at.is_kept_by(number, bound.closed));
        match (low, high) {
            (Some(low), Some(high)) if low.value() > high.value() => reaches || keeps,
            _ => reaches && keeps,
        }
    }
}

/// How one name stands to another in an `always`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Order {
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `above`
    Above,
    /// `below`
    Below,
    /// `is`
    Is,
    /// `is not`
    IsNot,
}

impl Condition {
    /// Calls a function with every test in it.
    pub fn each_test<'c>(&'c self, f: &mut dyn FnMut(&'c Test)) {
        match self {
            Condition::Test(test) => f(test),
            Condition::Not(inner) => inner.each_test(f),
            Condition::All(parts) | Condition::Any(parts) => parts.iter().for_each(|part| part.each_test(f)),
        }
    }
}
