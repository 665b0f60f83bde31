//! The syntax tree: what a rulebook's author wrote, item by item and clause by clause.
//!
//! Words are borrowed from the source text. Spans do not take part in comparisons, so that a tree can be
//! compared with the tree of its formatted text.

mod clause;
mod deciding;
mod condition;
mod value;
mod expression;

use crate::source::Span;
use std::fmt;

pub use clause::{Between, Beyond, Cite, Clause, KindWord, Pattern, Place, Stage, TableCell};
pub use condition::{Comparison, Condition, Quantifier};
pub use deciding::{
    BandRow, Class, Dose, Expected, GateName, Goodness, IsWhat, Label, LabelWord, Never, Only, Shut, Subject,
    Taken, TakenValue, Total, VerdictWord, Way,
};
pub use expression::{
    Aggregate, Counted, Expression, Function, Node, Operator, Pick, Spell, Sprayed, Statistic, ToThatDay,
    Which, Window,
};
pub use value::{Clock, Date, DayOfYear, Literal, Number, Quantity, UnitWord, Value};

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
    /// Its name; the title of a `rulebook` and of a `worked`, and the text of a caution, stand in `label`.
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
        pub enum ItemKind {
            $($(#[doc = $doc])* $variant,)*
            /// A caution of the head: it begins no item, and only `omit` names it.
            Caution,
        }

        impl ItemKind {
            /// All kinds that an item can begin with.
            pub const ALL: &'static [ItemKind] = &[$(ItemKind::$variant,)*];

            /// Returns the word that begins such an item.
            pub fn word(self) -> &'static str {
                match self {
                    $(ItemKind::$variant => $word,)*
                    ItemKind::Caution => "caution",
                }
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
