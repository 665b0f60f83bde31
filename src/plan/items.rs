//! What decides and what is proved: the head, products, gates, choices, tasks, promises, worked examples.

use super::{
    ChoiceId, Class, Condition, Datum, DiseaseId, Goodness, LabelWord, NameId, Place, ProductId, TableId,
    VerdictWord, Why,
};
use crate::source::Span;
use crate::units::{Dimension, Threshold, Unit};
use chrono::NaiveDate;
use std::sync::Arc;

/// The head of a rulebook.
#[derive(Clone, Debug)]
pub struct Head {
    /// Its title.
    pub title: Arc<str>,
    /// The crop.
    pub crop: Option<Arc<str>>,
    /// The region.
    pub region: Option<Arc<str>>,
    /// The edition.
    pub edition: Option<Arc<str>>,
    /// The first and last day on which it is in force.
    pub in_force: Option<(NaiveDate, NaiveDate)>,
    /// The first and last day of the year over which season totals are counted, as month and day.
    pub season: ((u8, u8), (u8, u8)),
    /// The base that it builds on, as written, with the edition that it names.
    pub builds_on: Option<(Arc<str>, Option<Arc<str>>)>,
    /// The shortest spray window in hours, and the hours within which it is looked for.
    pub window: (f64, f64),
    /// The share of missing hours that a weather window may have.
    pub gaps: f64,
    /// Within so much of a threshold a reading of this series is a close call: amounts in base units, with the unit as written.
    pub accuracy: Vec<(super::Series, f64, Unit)>,
    /// Whom to ring.
    pub contact: Option<Arc<str>>,
    /// What is always printed.
    pub cautions: Vec<Arc<str>>,
    /// Whether it promises only to tighten its base.
    pub tightens: bool,
    /// Where the head stands.
    pub span: Span,
}

impl Default for Head {
    /// A head that says nothing: the season is the calendar year, windows are of 1 h within 48 h, and no hour
    /// may be missing.
    fn default() -> Self {
        Self {
            title: "".into(),
            crop: None,
            region: None,
            edition: None,
            in_force: None,
            season: ((1, 1), (12, 31)),
            builds_on: None,
            window: (1.0, 48.0),
            gaps: 0.0,
            accuracy: Vec::new(),
            contact: None,
            cautions: Vec::new(),
            tightens: false,
            span: Span::default(),
        }
    }
}

/// What may be sprayed.
#[derive(Clone, Debug)]
pub struct Product {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The active ingredient in words.
    pub active: Option<Arc<str>>,
    /// Its resistance groups.
    pub groups: Vec<Arc<str>>,
    /// The ingredient that amounts and ppm are counted in.
    pub contains: Option<Arc<str>>,
    /// How well it works.
    pub against: Vec<(DiseaseId, Goodness)>,
    /// Its class.
    pub class: Option<Class>,
    /// Its strengths, weakest first.
    pub strengths: Vec<Strength>,
    /// Hours from the end of the spray until people may go back in.
    pub re_entry: Option<f64>,
    /// Days before harvest, as the label of the rulebook says.
    pub before_harvest: Option<f64>,
    /// What is printed with it.
    pub cautions: Vec<Arc<str>>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

impl Product {
    /// Returns whether the rulebook measures it by volume, as one does a liquid.
    pub fn is_liquid(&self) -> bool {
        let dimension = |strength: &Strength| strength.amount.unit.dimension;
        self.strengths.iter().any(|it| matches!(dimension(it), Dimension::NONE | Dimension::LENGTH))
    }
}

/// A strength of a product.
#[derive(Clone, Debug)]
pub struct Strength {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub shown: Arc<str>,
    /// How much.
    pub amount: Amount,
    /// Where it is defined.
    pub span: Span,
}

/// An amount of a product or of its ingredient: by volume of spray, or by area.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// How much, in base units of the unit's dimension (a mass or a volume, by a volume or an area).
    pub quantity: f64,
    /// The unit as written.
    pub unit: Unit,
    /// Of what.
    pub of: AmountOf,
    /// As written, `600 ppm copper`.
    pub written: Arc<str>,
}

impl Amount {
    /// Returns the amount as a limit for others.
    pub fn threshold(&self) -> Threshold {
        self.unit.threshold_of_amount(self.quantity)
    }
}

/// What an amount counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AmountOf {
    /// The product as it comes from the jug.
    Product,
    /// The ingredient that the product is counted in.
    Ingredient,
}

/// What must not be done: a gate of the text or a label line.
#[derive(Clone, Debug)]
pub struct Gate {
    /// Its name; of a label line `copper label interval`.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// What it shuts.
    pub shuts: Vec<Shut>,
    /// Products held to the strength at this place.
    pub holds: Vec<(ProductId, u8)>,
    /// A product held to the strongest strength that fits a cap: a name with [`super::ExprNode::Fitting`]; where none
    /// fits the product is shut.
    pub fits: Option<(ProductId, NameId)>,
    /// The hours in which it shuts; nothing: it speaks of today as a whole.
    pub hours: Option<Condition>,
    /// When it speaks; always, where there is none.
    pub condition: Option<Condition>,
    /// When it does not.
    pub unless: Option<Condition>,
    /// The label line that it is, if it is one.
    pub line: Option<LabelLine>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// A label line as a gate.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelLine {
    /// The product whose label it is.
    pub product: ProductId,
    /// Which line.
    pub word: LabelWord,
    /// The other product of `apart from`.
    pub other: Option<ProductId>,
    /// How much it allows, or how long it asks for.
    pub limit: LabelLimit,
    /// The line as written, `interval at least 7 d`.
    pub written: Arc<str>,
}

/// How much a label line allows, or how long it asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum LabelLimit {
    /// So many days.
    Days(f64),
    /// So many sprays.
    Sprays(f64),
    /// An amount of the product or of an ingredient on an area, as it is written, and the unit in which it is.
    Amount(Arc<str>, Unit),
}

/// What a gate shuts.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shut {
    /// Everything.
    Spraying,
    /// All products of a group.
    Group(Arc<str>),
    /// A product, also as part of a mix.
    Product(ProductId),
    /// Two products together.
    Mix(ProductId, ProductId),
}

/// Which hours are better.
#[derive(Clone, Debug)]
pub struct Prefer {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The better hours.
    pub hours: Condition,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// What to do.
#[derive(Clone, Debug)]
pub struct Choice {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// The diseases it is against.
    pub aims: Vec<DiseaseId>,
    /// The alternatives, best first; one at least.
    pub ways: Vec<Way>,
    /// When it holds; always, where there is none.
    pub condition: Option<Condition>,
    /// When it does not.
    pub unless: Option<Condition>,
    /// The choices that give way where both hold, as the text names them.
    pub outranks: Vec<ChoiceId>,
    /// Hours within which it should be done.
    pub within: Option<f64>,
    /// Days after which to look again.
    pub recheck: Option<f64>,
    /// How to do it.
    pub how: Option<Arc<str>>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// One alternative of a choice.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Do not spray.
    Hold,
    /// A product at a strength (its place in the product's list), or two of them in one tank.
    Spray(Vec<(ProductId, u8)>),
}

/// Work other than spraying.
#[derive(Clone, Debug)]
pub struct Task {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// What to do.
    pub does: Arc<str>,
    /// What it speaks of.
    pub speaks: SpeaksOf,
}

/// What is printed and never changes a verdict.
#[derive(Clone, Debug)]
pub struct Warning {
    /// Its name.
    pub name: Arc<str>,
    /// How it is printed.
    pub label: Arc<str>,
    /// What it says.
    pub says: Arc<str>,
    /// What it speaks of.
    pub speaks: SpeaksOf,
}

/// Of what and when a task or a warning speaks.
#[derive(Clone, Debug)]
pub struct SpeaksOf {
    /// Grove, block or tree.
    pub place: Place,
    /// When; always, where there is none.
    pub condition: Option<Condition>,
    /// When not.
    pub unless: Option<Condition>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// What is true of every grove.
#[derive(Clone, Debug)]
pub struct Always {
    /// Its name.
    pub name: Arc<str>,
    /// The statement.
    pub statement: Condition,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// What is guaranteed in every situation.
#[derive(Clone, Debug)]
pub struct Promise {
    /// Its name.
    pub name: Arc<str>,
    /// In which situations.
    pub whenever: Condition,
    /// What is never advised there.
    pub never: Vec<Never>,
    /// The only verdicts there; nothing: any.
    pub only: Option<Vec<Only>>,
    /// The tasks that are always given there, by their places in the plan's list.
    pub tasks: Vec<usize>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// What a promise says is never advised.
#[derive(Clone, Debug, PartialEq)]
pub enum Never {
    /// A product above the strength at this place.
    Above(ProductId, u8),
    /// Whatever this shuts.
    Shut(Shut),
}

/// What a promise allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Only {
    /// A verdict other than a spray.
    Verdict(VerdictWord),
    /// A product, alone or as all parts of a mix, at any strength.
    Product(ProductId),
}

/// Takes that worked examples share.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Its name.
    pub name: Arc<str>,
    /// Its takes.
    pub takes: Vec<Take>,
    /// Where it is defined.
    pub span: Span,
}

/// A worked example.
#[derive(Clone, Debug, Default)]
pub struct Worked {
    /// Its title.
    pub title: Arc<str>,
    /// The settings that it uses, by their places in the plan's list.
    pub with: Vec<usize>,
    /// Its own takes; they go before those of its settings.
    pub takes: Vec<Take>,
    /// What must come out.
    pub expects: Vec<Expectation>,
    /// The weather file that it names, relative to the rulebook.
    pub hours_from: Option<(Arc<str>, Span)>,
    /// Its moment as written, ISO 8601.
    pub as_of: Option<(Arc<str>, Span)>,
    /// Why, and on whose authority.
    pub why: Why,
    /// Where it is defined.
    pub span: Span,
}

/// A name fixed.
#[derive(Clone, Debug)]
pub struct Take {
    /// The name.
    pub name: NameId,
    /// To what.
    pub value: TakenValue,
    /// Where it stands.
    pub span: Span,
}

/// To what a name is fixed.
#[derive(Clone, Debug, PartialEq)]
pub enum TakenValue {
    /// One value.
    One(Datum),
    /// Every value from one to another, both counted; of words by their places.
    FromTo(Datum, Datum),
    /// Unknown.
    Unknown,
    /// Empty.
    Empty,
}

/// What a worked example expects, and where it says so.
#[derive(Clone, Debug)]
pub struct Expectation {
    /// What.
    pub what: Expected,
    /// Where it stands.
    pub span: Span,
}

/// What a worked example expects.
#[derive(Clone, Debug, PartialEq)]
pub enum Expected {
    /// A verdict other than a spray.
    Verdict(VerdictWord),
    /// A spray.
    Spray(Vec<(ProductId, u8)>),
    /// The choice that leads.
    By(ChoiceId),
    /// A task, by its place in the plan's list.
    Task(usize),
    /// A warning, by its place in the plan's list.
    Warning(usize),
    /// A product shut by one of these gates (a label `apart` has two).
    ShutBy(ProductId, Vec<super::GateId>),
    /// A product that no gate shuts.
    Allowed(ProductId),
    /// A name with a value, `unknown` or `empty`, within a tolerance in base units.
    Is(NameId, TakenValue, Option<f64>),
    /// A table at keys with a value.
    TableIs(TableId, Vec<Datum>, TakenValue, Option<f64>),
}
