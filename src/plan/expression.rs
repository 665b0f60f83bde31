//! Arithmetic over names, hours and days.

use super::{
    Compare, Condition, DailyId, Function, HourlyId, Kind, NameId, Operator, Pick, Place, ProductId,
    Quantifier, Statistic, TableId, Total, Which,
};
use crate::source::Span;
use crate::units::{Dimension, Threshold, Unit};
use chrono::NaiveDate;
use std::sync::Arc;

/// An expression with the kind of its values; places do not take part in comparisons.
#[derive(Clone, Debug)]
pub struct Expr {
    /// What is computed.
    pub node: Box<ExprNode>,
    /// The kind of its values.
    pub kind: Kind,
    /// Where it stands.
    pub span: Span,
}

impl PartialEq for Expr {
    fn eq(&self, other: &Self) -> bool {
        self.node == other.node
    }
}

impl Expr {
    /// Calls a function with each expression right below this one.
    pub fn each_part<'e>(&'e self, f: &mut dyn FnMut(&'e Expr)) {
        match &*self.node {
            ExprNode::Arithmetic(_, a, b) | ExprNode::OrElse(a, b) | ExprNode::Pick(_, a, b) => {
                f(a);
                f(b);
            }
            ExprNode::Kept(a, low, high) => {
                f(a);
                f(low);
                f(high);
            }
            ExprNode::InUnit(a, _) | ExprNode::Rounded(a, _, _) | ExprNode::Function(_, a) => f(a),
            ExprNode::Lookup(_, keys) => keys.iter().for_each(f),
            ExprNode::Number(_)
            | ExprNode::Word(_)
            | ExprNode::Name(_)
            | ExprNode::Series(_)
            | ExprNode::Hourly(_)
            | ExprNode::Daily(_)
            | ExprNode::DaysSinceLast(_)
            | ExprNode::DaysSince(_)
            | ExprNode::DaysTo(_)
            | ExprNode::DaysToHarvest
            | ExprNode::SpraysInARow(_)
            | ExprNode::SpraysOf(..)
            | ExprNode::AmountOf(..)
            | ExprNode::AmountOfProduct(..)
            | ExprNode::Panicles(..)
            | ExprNode::ShareOfPanicles(_)
            | ExprNode::ShareOfTrees(..)
            | ExprNode::OfPanicles(..)
            | ExprNode::LikelyRange(_)
            | ExprNode::Aggregate(..)
            | ExprNode::Fitting { .. } => {}
        }
    }
}

/// A condition that stands in an expression.
#[derive(Debug)]
pub enum Inside<'e> {
    /// A condition on panicles, on trees or on hours.
    Condition(&'e mut Condition),
    /// What a day is compared with, where days are counted.
    Days(DailyId, &'e mut Compare),
}

impl Expr {
    /// Calls a function with each condition that stands in this expression, in written order, to be changed.
    pub fn each_condition_inside(&mut self, f: &mut dyn FnMut(Inside<'_>)) {
        match &mut *self.node {
            ExprNode::Arithmetic(_, a, b) | ExprNode::OrElse(a, b) | ExprNode::Pick(_, a, b) => {
                a.each_condition_inside(f);
                b.each_condition_inside(f);
            }
            ExprNode::Kept(a, low, high) => {
                [a, low, high].into_iter().for_each(|part| part.each_condition_inside(f));
            }
            ExprNode::InUnit(a, _) | ExprNode::Rounded(a, _, _) | ExprNode::Function(_, a) => {
                a.each_condition_inside(f);
            }
            ExprNode::Lookup(_, keys) => keys.iter_mut().for_each(|key| key.each_condition_inside(f)),
            ExprNode::Panicles(_, condition)
            | ExprNode::ShareOfPanicles(condition)
            | ExprNode::ShareOfTrees(_, condition) => f(Inside::Condition(condition)),
            ExprNode::Aggregate(aggregate, _) => match aggregate {
                Aggregate::Hours(condition)
                | Aggregate::Spells(condition, _)
                | Aggregate::While(_, _, condition) => f(Inside::Condition(condition)),
                Aggregate::Spell(spell) | Aggregate::InSpell(_, _, spell) => {
                    f(Inside::Condition(&mut spell.condition));
                }
                Aggregate::Days(daily, Some(compare)) => f(Inside::Days(*daily, compare)),
                Aggregate::Days(_, None) | Aggregate::Of(..) => {}
            },
            _ => {}
        }
    }
}

/// What an expression computes.
#[derive(Clone, Debug, PartialEq)]
pub enum ExprNode {
    /// A number in base units.
    Number(f64),
    /// A word of its kind's list; of yes-no 0 or 1.
    Word(u16),
    /// A name. In a tally and a `daily` a tally's name is its value of that day.
    Name(NameId),
    /// A weather series of the hour; in an `hourly` only.
    Series(Series),
    /// An `hourly` of the hour; in an `hourly` only.
    Hourly(HourlyId),
    /// A `daily` of the day; in a `daily` or a tally only.
    Daily(DailyId),
    /// Two values.
    Arithmetic(Operator, Expr, Expr),
    /// The plain number of a value in a unit; of a point on a scale by its offset.
    InUnit(Expr, Unit),
    /// A value kept between two others.
    Kept(Expr, Expr, Expr),
    /// A value rounded to whole steps of a unit, halves up: the step is a number of that unit.
    Rounded(Expr, f64, Unit),
    /// The second where the first is empty.
    OrElse(Expr, Expr),
    /// One of two.
    Pick(Pick, Expr, Expr),
    /// A function of a plain number.
    Function(Function, Expr),
    /// A table at keys.
    Lookup(TableId, Vec<Expr>),
    /// Calendar days since the last spray, as a duration; never is longer than any.
    DaysSinceLast(Sprayed),
    /// Calendar days since an observed date, as a duration.
    DaysSince(NameId),
    /// Calendar days to an observed date, as a duration.
    DaysTo(NameId),
    /// Calendar days to the harvest, as a duration.
    DaysToHarvest,
    /// How many of the latest sprays were all of this.
    SpraysInARow(Sprayed),
    /// How many sprays.
    SpraysOf(Sprayed, Counted),
    /// How much of an ingredient, as a mass on an area.
    AmountOf(Arc<str>, Counted),
    /// How much of a product itself, as a mass or a volume on an area; behind label lines only.
    AmountOfProduct(ProductId, Counted),
    /// Yes or no of a tree's groups of panicles.
    Panicles(Quantifier, Condition),
    /// The share of a tree's panicles.
    ShareOfPanicles(Condition),
    /// The share of the trees of the block or grove.
    ShareOfTrees(Place, Condition),
    /// A statistic over a tree's groups, the mean weighted by their shares.
    OfPanicles(Statistic, NameId),
    /// The 90 % Wilson interval of a sample.
    LikelyRange(NameId),
    /// An aggregate over a window.
    Aggregate(Aggregate, Window),
    /// The strongest strength of a product that keeps a cap on amounts: a word of the product's list of
    /// strengths, whose first word is `none`.
    Fitting {
        /// The product.
        product: ProductId,
        /// The ingredient that the cap counts; nothing: the product itself.
        ingredient: Option<Arc<str>>,
        /// The amount already used, a name whose expression is [`ExprNode::AmountOf`] or, of the product itself,
        /// [`ExprNode::AmountOfProduct`]; nothing for a single dose.
        used: Option<NameId>,
        /// The cap: a mass or a volume on an area, or in a volume of spray.
        at_most: Threshold,
        /// Which of the two.
        per: DosePer,
    },
}

/// In what a dose is counted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum DosePer {
    /// On an area.
    Area,
    /// In a volume of spray.
    Spray,
}

/// The weather of an hour.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Series {
    /// Air temperature.
    Temperature,
    /// Relative humidity.
    Humidity,
    /// Dew point.
    DewPoint,
    /// Wet-bulb temperature.
    WetBulb,
    /// Dry minus wet bulb.
    DeltaT,
    /// Vapour-pressure deficit.
    VapourDeficit,
    /// Rain of the hour.
    Rain,
    /// Mean wind.
    Wind,
    /// Gust.
    Gust,
    /// Share of the hour with wet leaves.
    LeafWet,
    /// Time of day of the hour's start.
    Clock,
    /// Whether the sun is up.
    Daylight,
    /// Since that day's sunrise, negative before it.
    AfterSunrise,
    /// Since the latest sunset.
    AfterSunset,
}

impl Series {
    /// All series with their words.
    pub const ALL: &'static [(Series, &'static str)] = &[
        (Series::Temperature, "temperature"),
        (Series::Humidity, "humidity"),
        (Series::DewPoint, "dew-point"),
        (Series::WetBulb, "wet-bulb"),
        (Series::DeltaT, "delta-t"),
        (Series::VapourDeficit, "vapour-deficit"),
        (Series::Rain, "rain"),
        (Series::Wind, "wind"),
        (Series::Gust, "gust"),
        (Series::LeafWet, "leaf-wet"),
        (Series::Clock, "clock"),
        (Series::Daylight, "daylight"),
        (Series::AfterSunrise, "after-sunrise"),
        (Series::AfterSunset, "after-sunset"),
    ];

    /// Returns the kind of its values.
    pub fn kind(self) -> Kind {
        match self {
            Series::Temperature | Series::DewPoint | Series::WetBulb => Kind::Temperature,
            Series::Humidity | Series::LeafWet => Kind::Share,
            Series::DeltaT => Kind::Quantity(Dimension::TEMPERATURE),
            Series::VapourDeficit => Kind::Quantity(Dimension::PRESSURE),
            Series::Rain => Kind::Quantity(Dimension::LENGTH),
            Series::Wind | Series::Gust => Kind::Quantity(Dimension::SPEED),
            Series::Clock => Kind::Clock,
            Series::Daylight => Kind::YesNo,
            Series::AfterSunrise | Series::AfterSunset => Kind::Quantity(Dimension::TIME),
        }
    }

    /// Returns the word of the language for this series.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(series, _)| *series == self).map_or("", |(_, word)| word)
    }
}

/// What an aggregate takes from each hour or day.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum HourSeries {
    /// A weather series.
    Series(Series),
    /// An `hourly`.
    Hourly(HourlyId),
    /// A `daily`: the window is one of days.
    Daily(DailyId),
}

/// What is taken of the hours or days of a window.
#[derive(Clone, Debug, PartialEq)]
pub enum Aggregate {
    /// How long a condition held, as a duration.
    Hours(Condition),
    /// The length of a spell, as a duration.
    Spell(Spell),
    /// How many spells of at least so many hours.
    Spells(Condition, f64),
    /// How many days; without a comparison the daily name itself is the condition.
    Days(DailyId, Option<Compare>),
    /// A statistic of all hours or days.
    Of(Statistic, HourSeries),
    /// A statistic of the hours in which a condition held.
    While(Statistic, HourSeries, Condition),
    /// A statistic of the hours of a spell.
    InSpell(Statistic, HourSeries, Spell),
}

impl Aggregate {
    /// Returns whether the aggregate of no hours is empty; else it is zero.
    pub fn is_empty_of_nothing(&self) -> bool {
        match self {
            Aggregate::Hours(_) | Aggregate::Spell(_) | Aggregate::Spells(..) | Aggregate::Days(..) => false,
            Aggregate::Of(which, _) | Aggregate::While(which, ..) | Aggregate::InSpell(which, ..) => {
                *which != Statistic::Total
            }
        }
    }
}

/// A spell of hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Spell {
    /// Which one.
    pub which: Which,
    /// The condition of its hours.
    pub condition: Condition,
    /// Gaps shorter than this many hours do not end it; 0 where none may be.
    pub across: f64,
}

/// What was sprayed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sprayed {
    /// Whatever it was.
    Any,
    /// A resistance group.
    Group(Arc<str>),
    /// A product.
    Product(ProductId),
}

/// The time over which sprays are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Counted {
    /// The rulebook's season.
    ThisSeason,
    /// The calendar year.
    ThisYear,
    /// The day of a `daily`.
    ThatDay,
    /// Whole calendar days before today.
    LastDays(u32),
}

impl From<Total> for Counted {
    fn from(total: Total) -> Self {
        match total {
            Total::Season => Counted::ThisSeason,
            Total::Year => Counted::ThisYear,
        }
    }
}

/// A window of time.
#[derive(Clone, Debug, PartialEq)]
pub enum Window {
    /// Hours before the one under way.
    LastHours(u32),
    /// Hours from the one under way on.
    NextHours(u32),
    /// Whole days before today.
    LastDays(u32),
    /// Whole days after today.
    NextDays(u32),
    /// Today.
    Today,
    /// Whole days before today, and today.
    LastDaysAndToday(u32),
    /// Today, and whole days after it.
    TodayAndNextDays(u32),
    /// The latest nights, one under way among them.
    LastNights(u32),
    /// The nights to come.
    NextNights(u32),
    /// The night to come, or the one under way.
    Tonight,
    /// From the season's first day to now.
    ThisSeason,
    /// The day of a `daily`.
    ThatDay,
    /// The night that ends on that morning.
    ThatNight,
    /// So many hours up to that hour, itself counted.
    HoursToThatHour(u32),
    /// So many hours after that hour, itself not counted.
    HoursAfterThatHour(u32),
    /// So many days up to that day, itself counted.
    DaysToThatDay(u32),
    /// From the hour after the last spray to now.
    SinceLast(Sprayed),
    /// So many hours from the hour after the last spray on, be they over or not.
    HoursAfterLast(u32, Sprayed),
    /// From a date to now, or to that day.
    SinceDate {
        /// The date.
        date: NaiveDate,
        /// Whether it ends on that day.
        to_that_day: bool,
    },
    /// From the latest such day of the year to now, or to that day.
    SinceDayOfYear {
        /// The month.
        month: u8,
        /// The day.
        day: u8,
        /// Whether it ends on that day.
        to_that_day: bool,
    },
    /// From an observed date to now.
    Since(NameId),
}

impl Window {
    /// Returns the spray at which the window begins.
    pub fn spray(&self) -> Option<&Sprayed> {
        match self {
            Window::SinceLast(what) | Window::HoursAfterLast(_, what) => Some(what),
            _ => None,
        }
    }
}
