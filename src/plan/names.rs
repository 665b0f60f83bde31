//! What a rulebook names: observations, measures, tallies, bands, series, tables, scales and figures.

use super::{Between, Beyond, Condition, Expr, ExprNode, NameId, Place, TextId, Why, Window, WordListId};
use crate::source::Span;
use crate::units::{Dimension, Threshold, Unit};
use std::sync::Arc;

/// What sort of values a name has.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A part of a whole; base 0.2 is 20 %.
    Share,
    /// A plain number.
    Number,
    /// A whole number, not negative.
    Count,
    /// A point on the temperature scale; base °C.
    Temperature,
    /// A physical quantity, a difference of temperatures among them; in base units.
    Quantity(Dimension),
    /// A date; base: days of the common era, as chrono counts them.
    Date,
    /// A time of day; base: hours.
    Clock,
    /// Yes or no.
    YesNo,
    /// A text.
    Text,
    /// A word of a list.
    Words(WordListId),
}

impl Kind {
    /// Returns whether values of this kind are numbers.
    pub fn is_numeric(self) -> bool {
        !matches!(self, Kind::YesNo | Kind::Text | Kind::Words(_))
    }

    /// Returns the list of which its values are words, if they are.
    pub fn list(self) -> Option<WordListId> {
        if let Kind::Words(list) = self { Some(list) } else { None }
    }

    /// Returns whether a difference of two values is of another kind than the values, or has no meaning.
    pub fn is_point(self) -> bool {
        matches!(self, Kind::Temperature | Kind::Date | Kind::Clock)
    }

    /// Makes a threshold of a number of this kind in base units, written in a unit.
    pub fn threshold(self, unit: &Unit, base: f64) -> Threshold {
        match self {
            Kind::Temperature => unit.threshold_of_point(base),
            Kind::Date => Threshold::of_day(base),
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Quantity(_)
            | Kind::Clock
            | Kind::YesNo
            | Kind::Text
            | Kind::Words(_) => unit.threshold_of_amount(base),
        }
    }

    /// Returns the physical dimension of values of this kind; of plain numbers it is none.
    pub fn dimension(self) -> Dimension {
        match self {
            Kind::Temperature => Dimension::TEMPERATURE,
            Kind::Quantity(dimension) => dimension,
            Kind::Date | Kind::Clock => Dimension::TIME,
            Kind::Share | Kind::Number | Kind::Count | Kind::YesNo | Kind::Text | Kind::Words(_) => {
                Dimension::NONE
            }
        }
    }
}

/// One value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Datum {
    /// A number in base units.
    Number(f64),
    /// A word of a list by its place; of yes-no, `no` is 0 and `yes` is 1.
    Word(u16),
    /// A text.
    Text(TextId),
}

/// A list of words: a scale, the words of a `one of`, the levels of a band, the strengths of a product.
#[derive(Clone, Debug)]
pub struct WordList {
    /// The name of the scale or band; empty for a `one of`.
    pub name: Arc<str>,
    /// Whether the order of the words means something.
    pub ordered: bool,
    /// The words, lowest first; 64 at most.
    pub words: Vec<Word>,
    /// Where it is defined.
    pub span: Span,
}

/// A word of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// The word.
    pub name: Arc<str>,
    /// How it is printed in short.
    pub shown: Arc<str>,
    /// How it is printed at length.
    pub label: Arc<str>,
    /// Its first and last standard code.
    pub codes: Option<(u32, u32)>,
}

impl Word {
    /// Makes a word that is printed as it is written, with blanks for its hyphens.
    pub fn plain(name: Arc<str>) -> Self {
        let shown: Arc<str> = super::spaced(&name).into();
        Self { name, label: shown.clone(), shown, codes: None }
    }
}

/// A disease.
#[derive(Clone, Debug)]
pub struct Disease {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// Where it is defined.
    pub span: Span,
}

/// A named constant.
#[derive(Clone, Debug)]
pub struct Figure {
    /// Its name.
    pub name: Arc<str>,
    /// Its kind. A plain number compared with a count or a share is taken as such.
    pub kind: Kind,
    /// Its value.
    pub value: Datum,
    /// The unit in which it is written.
    pub unit: Unit,
    /// Its value as written.
    pub written: Arc<str>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// A name that a condition of a tree can compare.
#[derive(Clone, Debug)]
pub struct Name {
    /// The name; of a hidden one its expression as written.
    pub word: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// Whether no item defines it: a panicle condition or the quantity behind a label line.
    pub hidden: bool,
    /// The kind of its values.
    pub kind: Kind,
    /// The unit in which it is printed: that of its first threshold, else as its definition suggests.
    pub unit: Unit,
    /// What it belongs to.
    pub scope: Place,
    /// Where its values come from.
    pub origin: Origin,
    /// Why, and on whose authority.
    pub why: Why,
    /// The whole item, or the place of a hidden one.
    pub span: Span,
}

/// Where the values of a name come from.
#[expect(clippy::large_enum_variant, reason = "a plan has few names, and a tally is read where it lies")]
#[derive(Clone, Debug)]
pub enum Origin {
    /// A person sees it.
    Observed(Observation),
    /// It is computed.
    Measure(Measure),
    /// It runs over days.
    Tally(Tally),
    /// It grades a situation.
    Band(Band),
    /// The cultivar of the tree.
    Cultivar,
    /// The block of the tree.
    Block,
    /// The day of the advice.
    Date,
}

/// What a person sees.
#[derive(Clone, Debug)]
pub struct Observation {
    /// The lowest and highest value that can be, in base units; also of a kind that has bounds of its own.
    pub range: Option<(f64, f64)>,
    /// The question.
    pub ask: Option<Arc<str>>,
    /// How to look.
    pub how: Option<Arc<str>>,
    /// For how many hours it holds; days of 24 h. Nothing: for ever.
    pub lasts: Option<f64>,
    /// Taken where nothing was seen.
    pub assume: Option<Assumption>,
}

/// A value taken where nothing was seen.
#[derive(Clone, Debug)]
pub struct Assumption {
    /// The value.
    pub value: Datum,
    /// When it is taken; always, where there is none.
    pub condition: Option<Condition>,
    /// Where it is written.
    pub span: Span,
}

/// Something computed.
#[derive(Clone, Debug)]
pub struct Measure {
    /// The arithmetic.
    pub expr: Expr,
    /// Where this does not hold the value is empty.
    pub valid_if: Option<Condition>,
}

/// A condition or a value for each hour or day.
#[derive(Clone, Debug)]
pub enum Yields {
    /// It holds or not.
    Condition(Condition),
    /// It has a value.
    Value(Expr),
}

/// A condition or a value for each hour.
#[derive(Clone, Debug)]
pub struct Hourly {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The kind of its values; yes-no of a condition.
    pub kind: Kind,
    /// The unit in which it is printed.
    pub unit: Unit,
    /// What it is.
    pub yields: Yields,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// A condition or a value for each day.
#[derive(Clone, Debug)]
pub struct Daily {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The kind of its values; yes-no of a condition.
    pub kind: Kind,
    /// The unit in which it is printed.
    pub unit: Unit,
    /// What it is.
    pub yields: Yields,
    /// Where this does not hold the value is empty.
    pub valid_if: Option<Condition>,
    /// When its days begin, in minutes after midnight.
    pub begins: u16,
    /// Whether it speaks of the spray log, so that its values differ from tree to tree.
    pub of_log: bool,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// A handbook table.
#[derive(Clone, Debug)]
pub struct Table {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The kinds of its keys.
    pub keys: Vec<Kind>,
    /// The units in which its keys are written.
    pub key_units: Vec<Unit>,
    /// The kind of what it gives.
    pub gives: Kind,
    /// The unit of what it gives, as its first row writes it.
    pub unit: Unit,
    /// Its rows, in the text's order.
    pub rows: Vec<TableRow>,
    /// What it gives where no row matches.
    pub otherwise: Option<CellValue>,
    /// How it goes between rows.
    pub between: Between,
    /// What it gives beyond its rows, if it says so.
    pub beyond: Option<Beyond>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

impl Name {
    /// Returns what a measure is made of; nothing of another name.
    pub fn node(&self) -> Option<&ExprNode> {
        if let Origin::Measure(measure) = &self.origin { Some(&measure.expr.node) } else { None }
    }

    /// Makes a threshold of a value of this name, in base units.
    pub fn threshold(&self, base: f64) -> Threshold {
        self.kind.threshold(&self.unit, base)
    }
}

impl Table {
    /// Makes a threshold of a value that it gives, in base units.
    pub fn threshold(&self, base: f64) -> Threshold {
        self.gives.threshold(&self.unit, base)
    }
}

/// A row of a table.
#[derive(Clone, Debug)]
pub struct TableRow {
    /// One pattern for each key.
    pub patterns: Vec<Pattern>,
    /// What it gives.
    pub gives: CellValue,
    /// Where it stands.
    pub span: Span,
}

/// What a key must be for a row to match.
#[derive(Clone, Debug, PartialEq)]
pub enum Pattern {
    /// Anything.
    Any,
    /// This word or text.
    Is(Datum),
    /// A number between bounds; a bound says whether it counts itself. Also of the places of ordered words.
    Numbers {
        /// From here.
        low: Option<(Threshold, bool)>,
        /// To here.
        high: Option<(Threshold, bool)>,
    },
}

/// What a table gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellValue {
    /// One value.
    One(Datum),
    /// An interval, where sources disagree; of words by their places.
    Between(Datum, Datum),
    /// Unknown.
    Unknown,
    /// There is no such value.
    Empty,
}

/// A running total over days.
#[derive(Clone, Debug)]
pub struct Tally {
    /// The days.
    pub over: Window,
    /// Empty until a day on which this holds.
    pub waits_for: Option<Condition>,
    /// The value before the first day, and after a reset.
    pub starts: f64,
    /// What is added each day.
    pub adds: Vec<TallyAdd>,
    /// The bounds after each day.
    pub kept: Option<(f64, f64)>,
    /// On such days it goes back to the start.
    pub reset: Option<Condition>,
    /// The tallies whose value of the day it uses, directly.
    pub uses: Vec<NameId>,
    /// When its days begin, in minutes after midnight.
    pub begins: u16,
}

/// One `add` of a tally.
#[derive(Clone, Debug)]
pub struct TallyAdd {
    /// How much.
    pub amount: Expr,
    /// On which days; on every day, where there is none.
    pub condition: Option<Condition>,
    /// Where it stands.
    pub span: Span,
}

/// Grades a situation.
#[derive(Clone, Debug)]
pub struct Band {
    /// The levels, lowest first.
    pub levels: WordListId,
    /// The rows.
    pub rows: Vec<BandRow>,
}

/// A row of a band.
#[derive(Clone, Debug)]
pub struct BandRow {
    /// Whether it caps at its level; else it raises to it.
    pub caps: bool,
    /// The place of its level.
    pub level: u16,
    /// When.
    pub condition: Condition,
    /// Its own reason and sources.
    pub why: Why,
    /// Where it stands.
    pub span: Span,
}
