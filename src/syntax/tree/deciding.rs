//! What decides and what is proved: bands, products, gates, choices, promises and worked examples.

use super::{At, Cite, Condition, Expression, Name, Number, Quantity, Spanned, Text, Value};

/// A row of a band: it raises to its level, or caps at it.
#[derive(Clone, Debug, PartialEq)]
pub struct BandRow<'s> {
    /// Whether it begins with `at most`.
    pub caps: bool,
    /// The level.
    pub level: Name<'s>,
    /// When.
    pub condition: Condition<'s>,
    /// Its own reason.
    pub because: Option<Text>,
    /// Its own sources.
    pub cites: Vec<Cite<'s>>,
}

/// How well a product works against a disease.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Goodness {
    /// Slight.
    Slight,
    /// Moderate.
    Moderate,
    /// Good.
    Good,
}

/// The class of a product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// Fit for certified organic groves.
    Organic,
    /// For licensed applicators only.
    Restricted,
}

/// One `label` line of a product.
#[derive(Clone, Debug, PartialEq)]
pub enum Label<'s> {
    /// `interval at least 7 d`
    Interval(Quantity<'s>),
    /// `season|year at most 6 sprays`
    Sprays(Total, Spanned<Number<'s>>),
    /// `season|year at most 12 lb / ac copper`; without the ingredient it is of the product
    Amount(Total, Quantity<'s>, Option<Name<'s>>),
    /// `single at most 3 lb / ac copper`
    Single(Quantity<'s>, Option<Name<'s>>),
    /// `before-harvest at least 1 d`
    BeforeHarvest(Quantity<'s>),
    /// `apart from oil at least 14 d`
    Apart(Name<'s>, Quantity<'s>),
    /// `re-entry 48 h`
    ReEntry(Quantity<'s>),
}

/// The time over which a label's total is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Total {
    /// The rulebook's season.
    Season,
    /// The calendar year.
    Year,
}

impl Total {
    /// Returns the line of a label that gives it.
    pub fn line(self) -> LabelWord {
        match self {
            Total::Season => LabelWord::Season,
            Total::Year => LabelWord::Year,
        }
    }
}

/// What a gate shuts.
#[derive(Clone, Debug, PartialEq)]
pub enum Shut<'s> {
    /// Everything.
    Spraying,
    /// All products of a resistance group.
    Group(Name<'s>),
    /// A product.
    Product(Name<'s>),
    /// Two products together.
    Mix(Name<'s>, Name<'s>),
}

/// One alternative of a choice.
#[derive(Clone, Debug, PartialEq)]
pub enum Way<'s> {
    /// `hold`
    Hold(At),
    /// A product at a strength, or two of them in one tank.
    Spray(Vec<Dose<'s>>),
}

/// A product at a strength.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose<'s> {
    /// The product.
    pub product: Name<'s>,
    /// The strength's name.
    pub strength: Name<'s>,
}

/// What a promise says never happens.
#[derive(Clone, Debug, PartialEq)]
pub enum Never<'s> {
    /// A product above a strength.
    Above(Name<'s>, Name<'s>),
    /// Whatever a gate could shut.
    Shut(Shut<'s>),
}

/// What a promise allows.
#[derive(Clone, Debug, PartialEq)]
pub enum Only<'s> {
    /// A verdict other than a spray.
    Verdict(VerdictWord),
    /// A product, at any strength.
    Product(Name<'s>),
}

/// The verdicts that are words of the language.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum VerdictWord {
    /// `hold`
    Hold,
    /// `look`
    Look,
    /// `undecided`
    Undecided,
    /// `uncovered`
    Uncovered,
}

/// One take of a worked example: a name fixed.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken<'s> {
    /// The name.
    pub name: Name<'s>,
    /// To what it is fixed.
    pub value: TakenValue<'s>,
}

/// To what a take fixes a name.
#[derive(Clone, Debug, PartialEq)]
pub enum TakenValue<'s> {
    /// One value.
    One(Value<'s>),
    /// `from A to B`
    FromTo(Value<'s>, Value<'s>),
    /// `unknown`
    Unknown(At),
    /// `empty`
    Empty(At),
}

/// What a worked example expects.
#[derive(Clone, Debug, PartialEq)]
pub enum Expected<'s> {
    /// A verdict other than a spray.
    Verdict(Spanned<VerdictWord>),
    /// A product at a strength, or a mix.
    Spray(Vec<Dose<'s>>),
    /// `by CHOICE`
    By(Name<'s>),
    /// `task NAME`
    Task(Name<'s>),
    /// `warning NAME`
    Warning(Name<'s>),
    /// `PRODUCT shut by GATE`
    ShutBy(Name<'s>, GateName<'s>),
    /// `PRODUCT allowed`
    Allowed(Name<'s>),
    /// `NAME is VALUE within TOLERANCE`, or of `TABLE at KEYS`
    Is(Subject<'s>, IsWhat<'s>, Option<Quantity<'s>>),
}

/// What an expectation speaks of: a name, or a table at keys.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject<'s> {
    /// The name.
    pub name: Name<'s>,
    /// The keys of a table; none for a name.
    pub keys: Vec<Expression<'s>>,
}

/// The value an expectation asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum IsWhat<'s> {
    /// One value.
    Value(Value<'s>),
    /// `unknown`
    Unknown(At),
    /// `empty`
    Empty(At),
}

/// The name of a gate: its own, or that of a label line.
#[derive(Clone, Debug, PartialEq)]
pub enum GateName<'s> {
    /// A gate by its name.
    Gate(Name<'s>),
    /// `copper label interval`, and `copper label apart from oil`
    Label(Name<'s>, LabelWord, Option<Name<'s>>),
}

/// The words that name label lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LabelWord {
    /// `interval`
    Interval,
    /// `season`
    Season,
    /// `year`
    Year,
    /// `single`
    Single,
    /// `strength`, of a jug's own label
    Strength,
    /// `before-harvest`
    BeforeHarvest,
    /// `apart`
    Apart,
}

impl LabelWord {
    /// Returns the word as authors write it.
    pub fn word(self) -> &'static str {
        match self {
            LabelWord::Interval => "interval",
            LabelWord::Season => "season",
            LabelWord::Year => "year",
            LabelWord::Single => "single",
            LabelWord::Strength => "strength",
            LabelWord::BeforeHarvest => "before-harvest",
            LabelWord::Apart => "apart",
        }
    }
}
