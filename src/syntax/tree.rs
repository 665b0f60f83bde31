//! The syntax tree: what a rulebook's author wrote, item by item and clause by clause.
//!
//! Words are borrowed from the source text. Spans do not take part in comparisons, so that a tree can be
//! compared with the tree of its formatted text.

use crate::source::Span;
use std::fmt;

/// Something written, and where.
#[derive(Clone, Copy)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Joins a value with its place.
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}

impl<T: PartialEq> PartialEq for Spanned<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T: fmt::Debug> fmt::Debug for Spanned<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.value.fmt(f)
    }
}

/// Where something stands; it does not take part in comparisons.
#[derive(Clone, Copy, Debug)]
pub struct At(pub Span);

impl PartialEq for At {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A name as written, lower-case words joined by hyphens.
pub type Name<'s> = Spanned<&'s str>;

/// A text without its quotes, its escapes resolved and its line breaks folded into single spaces.
pub type Text = Spanned<String>;

/// All items of one file that could be read, in their order.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Tree<'s> {
    /// The items.
    pub items: Vec<Item<'s>>,
    /// The items that could not be read, as far as their heads could: whoever speaks of such a name is not mistaken.
    pub unread: Vec<UnreadItem<'s>>,
}

/// An item that could not be read, and was reported.
#[derive(Clone, Debug, PartialEq)]
pub struct UnreadItem<'s> {
    /// Which item it is.
    pub kind: ItemKind,
    /// Its name.
    pub name: Name<'s>,
}

/// One item: from its first column to the line before the next.
#[derive(Clone, Debug)]
pub struct Item<'s> {
    /// The whole item, without the blanks after it.
    pub span: Span,
    /// What it does to the base of an overlay.
    pub verb: Verb,
    /// Which item it is.
    pub kind: ItemKind,
    /// The place of its first word (after `replace` or `omit`).
    pub word: Span,
    /// Its name; the title of a `rulebook` and of a `worked` stands in `label`.
    pub name: Option<Name<'s>>,
    /// The display label, the title, or the citation of a `source`.
    pub label: Option<Text>,
    /// Its clauses, in their order. What follows `=` in a figure, hourly, daily or measure is a clause too.
    pub clauses: Vec<Spanned<Clause<'s>>>,
}

impl PartialEq for Item<'_> {
    fn eq(&self, other: &Self) -> bool {
        (self.verb, self.kind, &self.name, &self.label, &self.clauses)
            == (other.verb, other.kind, &other.name, &other.label, &other.clauses)
    }
}

/// What an item does to the base of an overlay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verb {
    /// It defines something new.
    Define,
    /// `replace`: it stands in place of the base's item.
    Replace,
    /// `omit`: the base's item is left out; its one clause is a `because`.
    Omit,
}

macro_rules! item_kinds {
    ($($(#[doc = $doc:literal])* $variant:ident $word:literal,)*) => {
        /// The kinds of items.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ItemKind { $($(#[doc = $doc])* $variant,)* }

        impl ItemKind {
            /// All kinds.
            pub const ALL: &'static [ItemKind] = &[$(ItemKind::$variant,)*];

            /// Returns the word that begins such an item.
            pub fn word(self) -> &'static str {
                match self { $(ItemKind::$variant => $word,)* }
            }
        }
    };
}

item_kinds! {
    /// The head of a file.
    Rulebook "rulebook",
    /// Something that rules cite.
    Source "source",
    /// A disease.
    Disease "disease",
    /// An ordered list of stages.
    Scale "scale",
    /// A named constant.
    Figure "figure",
    /// What a person sees.
    Observe "observe",
    /// A condition or a value for each hour.
    Hourly "hourly",
    /// A condition or a value for each day.
    Daily "daily",
    /// Arithmetic.
    Measure "measure",
    /// A handbook table.
    Table "table",
    /// A running total over days.
    Tally "tally",
    /// A grade of a situation.
    Band "band",
    /// What may be sprayed.
    Product "product",
    /// What must not be done.
    Gate "gate",
    /// Which hours are better.
    Prefer "prefer",
    /// What to do.
    Choice "choice",
    /// Work other than spraying.
    Task "task",
    /// What is printed and changes no verdict.
    Warning "warning",
    /// What is true of every grove.
    Always "always",
    /// What the rulebook guarantees.
    Promise "promise",
    /// A worked example.
    Worked "worked",
    /// Takes that worked examples share.
    Setting "setting",
}

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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Between {
    /// By a straight line.
    Linear,
    /// The nearest row below.
    Step,
    /// A key without a row is unknown.
    Exact,
}

/// What a table gives beyond its rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
    /// `before-harvest`
    BeforeHarvest,
    /// `apart`
    Apart,
}

/// A condition.
#[derive(Clone, Debug, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "most conditions are comparisons, the largest of them")]
pub enum Condition<'s> {
    /// All of them hold; two or more.
    All(Vec<Condition<'s>>),
    /// Any of them holds; two or more.
    Any(Vec<Condition<'s>>),
    /// It does not hold.
    Not(Box<Condition<'s>>, At),
    /// In parentheses, kept for the formatter.
    Parenthesis(Box<Condition<'s>>, At),
    /// `some|all panicles with …`
    Panicles(Quantifier, Box<Condition<'s>>, At),
    /// A name that stands alone.
    Bare(Name<'s>),
    /// A name compared.
    Test(Name<'s>, Comparison<'s>, At),
}

impl Condition<'_> {
    /// Returns where the condition stands.
    pub fn span(&self) -> Span {
        match self {
            Condition::All(parts) | Condition::Any(parts) => {
                let first = parts.first().map(Condition::span).unwrap_or_default();
                parts.last().map_or(first, |last| first.to(last.span()))
            }
            Condition::Not(_, span)
            | Condition::Parenthesis(_, span)
            | Condition::Panicles(_, _, span)
            | Condition::Test(_, _, span) => span.0,
            Condition::Bare(name) => name.span,
        }
    }
}

/// Whether some or all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantifier {
    /// At least one.
    Some,
    /// Every one.
    All,
}

/// What a name is compared with.
#[derive(Clone, Debug, PartialEq)]
pub enum Comparison<'s> {
    /// `at least A`
    AtLeast(Value<'s>),
    /// `at most A`
    AtMost(Value<'s>),
    /// `above A`
    Above(Value<'s>),
    /// `below A`
    Below(Value<'s>),
    /// `is A`
    Is(Value<'s>),
    /// `is not A`
    IsNot(Value<'s>),
    /// `is one of A, B`
    IsOneOf(Vec<Value<'s>>),
    /// `from A to B`, both ends counted
    FromTo(Value<'s>, Value<'s>),
    /// `from A to below B`
    FromToBelow(Value<'s>, Value<'s>),
}

/// A literal or a name (of a figure, a stage, a level or a word).
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'s> {
    /// A literal.
    Literal(Literal<'s>),
    /// A name.
    Name(Name<'s>),
}

impl Value<'_> {
    /// Returns where the value stands.
    pub fn span(&self) -> Span {
        match self {
            Value::Literal(literal) => literal.span(),
            Value::Name(name) => name.span,
        }
    }
}

/// A literal.
#[derive(Clone, Debug, PartialEq)]
pub enum Literal<'s> {
    /// `2027-02-11`
    Date(Spanned<Date>),
    /// `1 Dec`
    DayOfYear(Spanned<DayOfYear>),
    /// `06:30`
    Clock(Spanned<Clock>),
    /// `61 °F`, `12`, `2 lb / 100 gal`
    Quantity(Quantity<'s>),
    /// `"Kent"`
    Text(Text),
    /// `yes`, `no`
    YesNo(Spanned<bool>),
}

impl Literal<'_> {
    /// Returns where the literal stands.
    pub fn span(&self) -> Span {
        match self {
            Literal::Date(it) => it.span,
            Literal::DayOfYear(it) => it.span,
            Literal::Clock(it) => it.span,
            Literal::Quantity(it) => it.span,
            Literal::Text(it) => it.span,
            Literal::YesNo(it) => it.span,
        }
    }
}

/// A date as written; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Date {
    /// The year.
    pub year: u16,
    /// The month as written.
    pub month: u8,
    /// The day as written.
    pub day: u8,
}

/// A day of the year; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayOfYear {
    /// The month, 1 to 12.
    pub month: u8,
    /// The day as written.
    pub day: u8,
}

/// A time of day; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clock {
    /// The hour as written.
    pub hour: u8,
    /// The minute as written.
    pub minute: u8,
}

/// A number with its digits.
#[derive(Clone, Copy, Debug)]
pub struct Number<'s> {
    /// Its value; infinite where it does not fit.
    pub value: f64,
    /// As written, with its sign.
    pub digits: &'s str,
}

impl PartialEq for Number<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.digits == other.digits
    }
}

/// A number and its unit, if it has one.
#[derive(Clone, Debug)]
pub struct Quantity<'s> {
    /// The number.
    pub number: Number<'s>,
    /// The unit.
    pub unit: Option<UnitWord<'s>>,
    /// Where both stand.
    pub span: Span,
}

impl PartialEq for Quantity<'_> {
    fn eq(&self, other: &Self) -> bool {
        (&self.number, &self.unit) == (&other.number, &other.unit)
    }
}

/// A unit as written, in its one canonical spelling (`°F` for `F`, `fl oz` with one blank).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitWord<'s> {
    /// A plain unit.
    Plain(&'static str),
    /// `lb / 100 gal`; without a number it is one of the lower unit.
    Rate {
        /// The mass or volume.
        amount: &'static str,
        /// How many of the lower unit.
        per: Option<Number<'s>>,
        /// The volume or area.
        base: &'static str,
    },
    /// `ppm copper`
    Ppm(&'s str),
}

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
