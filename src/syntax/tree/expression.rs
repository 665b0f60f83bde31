//! Arithmetic, aggregates and the windows of time that they take.

use super::{
    Comparison, Condition, Date, DayOfYear, Literal, Name, Number, Place, Quantifier, Quantity, Spanned,
    UnitWord,
};
use crate::source::Span;

/// Arithmetic.
#[derive(Clone, Debug)]
pub struct Expression<'s> {
    /// What is computed.
    pub node: Box<Node<'s>>,
    /// Where it stands.
    pub span: Span,
}

impl PartialEq for Expression<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.node == other.node
    }
}

/// What an expression computes.
#[derive(Clone, Debug, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "every node is boxed, and the largest are the commonest")]
pub enum Node<'s> {
    /// A literal.
    Literal(Literal<'s>),
    /// A name or a weather series.
    Name(Name<'s>),
    /// In parentheses, kept for the formatter.
    Parenthesis(Expression<'s>),
    /// `A + B`, `A - B`, `A * B`, `A / B`, `A ^ B`
    Arithmetic(Operator, Expression<'s>, Expression<'s>),
    /// `A in °C`
    InUnit(Expression<'s>, Spanned<UnitWord<'s>>),
    /// `A kept from X to Y`
    Kept(Expression<'s>, Expression<'s>, Expression<'s>),
    /// `A rounded to 1 °C`
    Rounded(Expression<'s>, Quantity<'s>),
    /// `A or else B`
    OrElse(Expression<'s>, Expression<'s>),
    /// `greater of A and B`, `lesser of A and B`
    Pick(Pick, Expression<'s>, Expression<'s>),
    /// `square root of A`, `natural log of A`, `exponential of A`
    Function(Function, Expression<'s>),
    /// `TABLE at KEY, KEY`
    Lookup(Name<'s>, Vec<Expression<'s>>),
    /// `days since last copper`
    DaysSinceLast(Sprayed<'s>),
    /// `days since NAME` of a date
    DaysSince(Name<'s>),
    /// `days to NAME` of a date
    DaysTo(Name<'s>),
    /// `days to harvest`
    DaysToHarvest,
    /// `sprays in a row of group 11`
    SpraysInARow(Sprayed<'s>),
    /// `sprays of copper this season`
    SpraysOf(Sprayed<'s>, Counted<'s>),
    /// `amount of copper this season`
    AmountOf(Name<'s>, Counted<'s>),
    /// `some|all panicles with C`: yes-no
    Panicles(Quantifier, Condition<'s>),
    /// `share of panicles with C`
    ShareOfPanicles(Condition<'s>),
    /// `share of trees in block|grove with C`
    ShareOfTrees(Place, Condition<'s>),
    /// `mean|lowest|highest NAME of panicles`
    OfPanicles(Statistic, Name<'s>),
    /// `likely range of NAME`
    LikelyRange(Name<'s>),
    /// An aggregate over a window.
    Aggregate(Aggregate<'s>, Spanned<Window<'s>>),
}

/// An operator of arithmetic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Operator {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
    /// `^`
    Power,
}

/// Which of two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pick {
    /// The greater.
    Greater,
    /// The lesser.
    Lesser,
}

/// A function of a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Function {
    /// `square root of`
    SquareRoot,
    /// `natural log of`
    NaturalLog,
    /// `exponential of`
    Exponential,
}

/// What was sprayed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sprayed<'s> {
    /// `spray`, or `any` of a count: whatever it was.
    Any,
    /// `group 11`
    Group(Name<'s>),
    /// A product.
    Product(Name<'s>),
}

/// The time over which sprays are counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Counted<'s> {
    /// `this season`
    ThisSeason,
    /// `that day`
    ThatDay,
    /// `over last N days`
    LastDays(Spanned<Number<'s>>),
}

/// A statistic of values.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Statistic {
    /// The lowest.
    Lowest,
    /// The highest.
    Highest,
    /// The mean.
    Mean,
    /// The sum.
    Total,
}

/// What an aggregate takes of the hours or days of a window.
#[derive(Clone, Debug, PartialEq)]
pub enum Aggregate<'s> {
    /// `hours with C`
    Hours(Condition<'s>),
    /// `longest spell with C across gaps below D`
    Spell(Spell<'s>),
    /// `spells with C of at least D`
    Spells(Condition<'s>, Quantity<'s>),
    /// `days with DAILY-NAME COMPARISON`
    Days(Name<'s>, Option<Comparison<'s>>),
    /// `mean S`
    Of(Statistic, Name<'s>),
    /// `mean S while C`
    While(Statistic, Name<'s>, Condition<'s>),
    /// `mean S in longest spell with C`
    InSpell(Statistic, Name<'s>, Spell<'s>),
}

/// A spell of hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Spell<'s> {
    /// Which one.
    pub which: Which,
    /// The condition of its hours.
    pub condition: Condition<'s>,
    /// Shorter gaps than this do not end it.
    pub across: Option<Quantity<'s>>,
}

/// Which spell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Which {
    /// The longest.
    Longest,
    /// The latest.
    Latest,
}

/// A window of time.
#[derive(Clone, Debug, PartialEq)]
pub enum Window<'s> {
    /// `last N h`
    LastHours(Spanned<Number<'s>>),
    /// `next N h`
    NextHours(Spanned<Number<'s>>),
    /// `last N days`
    LastDays(Spanned<Number<'s>>),
    /// `next N days`
    NextDays(Spanned<Number<'s>>),
    /// `today`
    Today,
    /// `last N days and today`
    LastDaysAndToday(Spanned<Number<'s>>),
    /// `today and next N days`
    TodayAndNextDays(Spanned<Number<'s>>),
    /// `last N nights`
    LastNights(Spanned<Number<'s>>),
    /// `next N nights`
    NextNights(Spanned<Number<'s>>),
    /// `tonight`
    Tonight,
    /// `this season`
    ThisSeason,
    /// `that day`
    ThatDay,
    /// `that night`
    ThatNight,
    /// `N h to that hour`
    HoursToThatHour(Spanned<Number<'s>>),
    /// `N h after that hour`
    HoursAfterThatHour(Spanned<Number<'s>>),
    /// `N days to that day`
    DaysToThatDay(Spanned<Number<'s>>),
    /// `since last spray|PRODUCT|group G`
    SinceLast(Sprayed<'s>),
    /// `the N h after the last PRODUCT|group G|spray`
    HoursAfterLast(Spanned<Number<'s>>, Sprayed<'s>),
    /// `since DATE`, and `since DATE to that day`
    SinceDate(Spanned<Date>, ToThatDay),
    /// `since 1 Jan`, and `since 1 Jan to that day`
    SinceDayOfYear(Spanned<DayOfYear>, ToThatDay),
    /// `since NAME` of an observed date
    Since(Name<'s>),
}

/// Whether a window that begins on a date ends on the day in question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToThatDay {
    /// It ends now.
    No,
    /// It ends on that day.
    Yes,
}
