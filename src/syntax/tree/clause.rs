//! Clauses: what an item says, one by one; and what names, observes and computes.

use super::{
    At, BandRow, Class, Clock, Condition, Date, DayOfYear, Expected, Expression, Goodness, Label, Name,
    Never, Only, Quantity, Shut, Spanned, Taken, Text, Value, Way, Window,
};

/// One clause of an item.
#[derive(Clone, Debug, PartialEq)]
pub enum Clause<'s> {
    // ---- of a rulebook's head
    /// `crop mango`
    Crop(Name<'s>),
    /// `region "…"`
    Region(Text),
    /// `edition "2027.1"`
    Edition(Text),
    /// `in-force from DATE to DATE`
    InForce(Spanned<Date>, Spanned<Date>),
    /// `season from 1 Nov to 31 Oct`
    Season(Spanned<DayOfYear>, Spanned<DayOfYear>),
    /// `builds-on "base.rulebook" edition "2027.1"`; the reader gives an edition to the base only where the
    /// head has another one for the file itself.
    BuildsOn(Text, Option<Text>),
    /// `window at least 2 h within 72 h`
    SprayWindow(Quantity<'s>, Quantity<'s>),
    /// `gaps at most 10 %`
    Gaps(Quantity<'s>),
    /// `accuracy temperature 1 °F, humidity 3 %`
    Accuracy(Vec<(Name<'s>, Quantity<'s>)>),
    /// `contact "…"`
    Contact(Text),
    /// `caution "…"`, also of a product
    Caution(Text),
    /// `tightens`
    Tightens,
    // ---- of many items
    /// `because "…"`
    Because(Text),
    /// `cites KEY "where", KEY`
    Cites(Vec<Cite<'s>>),
    /// `if CONDITION`
    If(Condition<'s>),
    /// `unless CONDITION`
    Unless(Condition<'s>),
    /// `of panicles|tree|block|grove`
    Of(Place),
    // ---- of source, scale, figure, observe
    /// `recalled`
    Recalled,
    /// A stage of a scale.
    Stage(Stage<'s>),
    /// `= VALUE` of a figure
    Value(Value<'s>),
    /// `kind share`
    Kind(KindWord<'s>),
    /// `range from A to B`
    Range(Value<'s>, Value<'s>),
    /// `ask "…"`
    Ask(Text),
    /// `how "…"`, also of a choice
    How(Text),
    /// `lasts 4 d`
    Lasts(Quantity<'s>),
    /// `assume VALUE if CONDITION`
    Assume(Value<'s>, Option<Condition<'s>>),
    // ---- of what computes
    /// `= CONDITION` of an hourly or daily
    Holds(Condition<'s>),
    /// `= EXPRESSION` of an hourly, daily or measure
    Yields(Expression<'s>),
    /// `days begin 11:00`
    DaysBegin(Spanned<Clock>),
    /// `valid if CONDITION`
    ValidIf(Condition<'s>),
    /// `of KIND, KIND` of a table
    Keys(Vec<KindWord<'s>>),
    /// `gives KIND` of a table
    Gives(KindWord<'s>),
    /// `between linear|step|exact`
    Between(Between),
    /// `beyond empty|ends|unknown`
    Beyond(Beyond),
    /// `otherwise CELL` of a table
    Otherwise(TableCell<'s>),
    /// A row of a table.
    Row(Vec<Pattern<'s>>, TableCell<'s>),
    /// `over WINDOW` of a tally
    Over(Spanned<Window<'s>>),
    /// `waits for CONDITION`
    WaitsFor(Condition<'s>),
    /// `starts VALUE`
    Starts(Value<'s>),
    /// `add AMOUNT if CONDITION`
    Add(Expression<'s>, Option<Condition<'s>>),
    /// `kept from VALUE to VALUE` of a tally
    Kept(Value<'s>, Value<'s>),
    /// `reset if CONDITION`
    Reset(Condition<'s>),
    /// `levels a, b, c`
    Levels(Vec<Name<'s>>),
    /// A row of a band.
    BandRow(BandRow<'s>),
    // ---- of a product
    /// `active "…"`
    Active(Text),
    /// `group M01, 3`
    Group(Vec<Name<'s>>),
    /// `contains copper`
    Contains(Name<'s>),
    /// `against anthracnose good, powdery-mildew slight`
    GoodAgainst(Vec<(Name<'s>, Goodness)>),
    /// `class organic`
    Class(Spanned<Class>),
    /// `strength reduced 600 ppm copper`
    Strength(Name<'s>, Quantity<'s>, Option<Name<'s>>),
    /// `label …`
    Label(Label<'s>),
    // ---- of what decides
    /// `shuts copper with oil, group 11, spraying`
    Shuts(Vec<Spanned<Shut<'s>>>),
    /// `holds copper to reduced`
    HoldsTo(Name<'s>, Name<'s>),
    /// `in hours when CONDITION`
    InHours(Condition<'s>),
    /// `against anthracnose, powdery-mildew` of a choice
    Aims(Vec<Name<'s>>),
    /// `advise WAY`
    Advise(Way<'s>),
    /// `or else WAY`
    OrElse(Way<'s>),
    /// `outranks a, b`
    Outranks(Vec<Name<'s>>),
    /// `within 48 h`
    Within(Quantity<'s>),
    /// `recheck in 4 d`
    Recheck(Quantity<'s>),
    /// `do "…"`
    Do(Text),
    /// `says "…"`
    Says(Text),
    // ---- of what is proved
    /// The condition of an `always`; here alone a value may be another name.
    Statement(Condition<'s>),
    /// `whenever CONDITION`
    Whenever(Condition<'s>),
    /// `never copper above reduced, spraying`
    Never(Vec<Spanned<Never<'s>>>),
    /// `only sulfur, look`
    Only(Vec<Spanned<Only<'s>>>),
    /// `task NAME` of a promise
    PromisedTask(Name<'s>),
    /// `with SETTING` of a worked example
    With(Name<'s>),
    /// `take NAME VALUE, …`
    Take(Vec<Taken<'s>>),
    /// `expect …`
    Expect(Expected<'s>),
    /// `hours from "file.csv"`
    HoursFrom(Text),
    /// `as-of 2027-02-11T05:30`, as written
    AsOf(Name<'s>),
}

/// One cited source and the place in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cite<'s> {
    /// The source's key.
    pub key: Name<'s>,
    /// Where in it.
    pub locator: Option<Text>,
}

/// Which part of a grove something speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The whole grove.
    Grove,
    /// A block.
    Block,
    /// A tree.
    Tree,
    /// A group of panicles of a tree.
    Panicles,
}

/// One stage of a scale, with its standard codes.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage<'s> {
    /// Its name.
    pub name: Name<'s>,
    /// Its first and last code; one code stands for both.
    pub codes: Option<(Spanned<u32>, Spanned<u32>)>,
    /// Its label.
    pub label: Option<Text>,
}

/// A kind as written.
#[derive(Clone, Debug, PartialEq)]
pub enum KindWord<'s> {
    /// `share`, `number`, …, or the name of a scale.
    Named(Name<'s>),
    /// `one of a, b, c`
    OneOf(Vec<Name<'s>>),
}

/// How a table goes between its rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Between {
    /// By a straight line.
    Linear,
    /// The nearest row below.
    Step,
    /// A key without a row is unknown.
    Exact,
}

/// What a table gives beyond its rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Beyond {
    /// There is no such value.
    Empty,
    /// The nearest end row.
    Ends,
    /// Unknown.
    Unknown,
}

/// What a row of a table gives.
#[derive(Clone, Debug, PartialEq)]
pub enum TableCell<'s> {
    /// One value.
    One(Value<'s>),
    /// An interval, where sources disagree.
    Between(Value<'s>, Value<'s>),
    /// Unknown.
    Unknown(At),
    /// There is no such value.
    Empty(At),
}

/// What a key of a table must be for a row to match.
#[derive(Clone, Debug, PartialEq)]
pub enum Pattern<'s> {
    /// A value.
    Value(Value<'s>),
    /// `from A to B`, both ends counted.
    FromTo(Value<'s>, Value<'s>),
    /// `from A to below B`
    FromToBelow(Value<'s>, Value<'s>),
    /// `at least A`
    AtLeast(Value<'s>),
    /// `at most A`
    AtMost(Value<'s>),
    /// `above A`
    Above(Value<'s>),
    /// `below A`
    Below(Value<'s>),
    /// `any`
    Any(At),
}
