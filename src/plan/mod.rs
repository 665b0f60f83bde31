//! The checked rulebook: names, kinds, thresholds, bands, gates, choices and products. Data only.
//!
//! Comes in: what [`crate::check`] made of one or more trees. Goes out: to everything that decides, proves or
//! prints. Knows no text but the author's words that it prints.

mod canonical;
mod condition;
mod definition;
mod expression;
mod items;
mod names;
mod translation;
mod words;

pub use condition::{Bound, Compare, Condition, Order, Subject, Test};
pub use definition::{Definitions, Meaning};
pub use expression::{
    Aggregate, Counted, DosePer, Expr, ExprNode, HourSeries, Inside, Series, Spell, Sprayed, Window,
};
pub use items::{
    Always, Amount, AmountOf, Choice, Expectation, Expected, Gate, Head, LabelLimit, LabelLine, Never, Only,
    Prefer, Product, Promise, Setting, Shut, SpeaksOf, Strength, Take, TakenValue, Task, Warning, Way,
    Worked,
};
pub use names::{
    Assumption, Band, BandRow, CellValue, Daily, Datum, Disease, Figure, Hourly, Kind, Measure, Name,
    Observation, Origin, Pattern, Table, TableRow, Tally, TallyAdd, Word, WordList, Yields,
};
pub use translation::{Translated, Translation};
pub use words::number_in;

use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub use crate::syntax::tree::{
    Between, Beyond, Class, Function, Goodness, ItemKind, LabelWord, Operator, Pick, Place, Quantifier,
    Statistic, Total, VerdictWord, Which,
};

macro_rules! ids {
    ($($(#[doc = $doc:literal])* $id:ident $item:ty, $list:ident;)*) => {
        $($(#[doc = $doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $id(pub u32);

        impl $id {
            /// Returns the number as an index into its list.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }

        impl std::ops::Index<$id> for Plan {
            type Output = $item;

            fn index(&self, id: $id) -> &$item {
                &self.$list[id.index()]
            }
        })*
    };
}

ids! {
    /// A name that is judged.
    NameId Name, names;
    /// A list of words: a scale, the words of a `one of`, or the levels of a band.
    WordListId WordList, word_lists;
    /// An `hourly`.
    HourlyId Hourly, hourlies;
    /// A `daily`.
    DailyId Daily, dailies;
    /// A table.
    TableId Table, tables;
    /// A figure.
    FigureId Figure, figures;
    /// A disease.
    DiseaseId Disease, diseases;
    /// A product.
    ProductId Product, products;
    /// A gate, the label lines among them.
    GateId Gate, gates;
    /// A choice.
    ChoiceId Choice, choices;
}

/// The number of a text that the rulebook compares or looks up; [`TextId::OTHER`] is every other text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct TextId(pub u32);

impl TextId {
    /// A text that the rulebook does not name.
    pub const OTHER: Self = Self(u32::MAX);
}

/// A checked rulebook. Every id in it points into its lists.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// The head.
    pub head: Head,
    /// What rules cite, by key; `common-practice` and `to-be-sourced` are not listed.
    pub sources: Vec<Cited>,
    /// The diseases.
    pub diseases: Vec<Disease>,
    /// Scales, the words of `one of` kinds, the levels of bands, the strengths of products.
    pub word_lists: Vec<WordList>,
    /// The named constants.
    pub figures: Vec<Figure>,
    /// The texts that are compared or looked up.
    pub texts: Vec<Arc<str>>,
    /// Everything that a condition of a tree can compare.
    pub names: Vec<Name>,
    /// All names in an order in which each stands after those it is computed from.
    pub order: Vec<NameId>,
    /// The hourly series, each after those it is computed from.
    pub hourlies: Vec<Hourly>,
    /// The daily series, each after those it is computed from.
    pub dailies: Vec<Daily>,
    /// The tables.
    pub tables: Vec<Table>,
    /// The products.
    pub products: Vec<Product>,
    /// The gates: those of the text first, then one for each label line.
    pub gates: Vec<Gate>,
    /// Which hours are better.
    pub prefers: Vec<Prefer>,
    /// The choices.
    pub choices: Vec<Choice>,
    /// Work other than spraying.
    pub tasks: Vec<Task>,
    /// What is printed and changes no verdict.
    pub warnings: Vec<Warning>,
    /// What is true of every grove.
    pub always: Vec<Always>,
    /// What is guaranteed.
    pub promises: Vec<Promise>,
    /// Takes that worked examples share.
    pub settings: Vec<Setting>,
    /// The worked examples.
    pub worked: Vec<Worked>,
    /// The translations that stand beside it.
    pub translations: Vec<Translation>,
    /// What may be typed for its words besides them, in small letters.
    pub other_words: BTreeMap<Arc<str>, BTreeSet<Arc<str>>>,
}

impl Plan {
    /// Returns the number of a name by its word.
    pub fn name(&self, word: &str) -> Option<NameId> {
        self.names.iter().position(|name| &*name.word == word).map(|at| NameId(at as u32))
    }

    /// Returns the number of a product by its word.
    pub fn product(&self, word: &str) -> Option<ProductId> {
        self.products.iter().position(|product| &*product.name == word).map(|at| ProductId(at as u32))
    }

    /// Returns the number of a text, [`TextId::OTHER`] where the rulebook does not name it.
    pub fn text(&self, text: &str) -> TextId {
        self.texts.iter().position(|known| &**known == text).map_or(TextId::OTHER, |at| TextId(at as u32))
    }

    /// Returns all names with their numbers.
    pub fn named(&self) -> impl Iterator<Item = (NameId, &Name)> {
        self.names.iter().enumerate().map(|(at, name)| (NameId(at as u32), name))
    }

    /// Returns the observations with their numbers.
    pub fn observations(&self) -> impl Iterator<Item = (NameId, &Name, &Observation)> {
        self.named().filter_map(|(id, name)| match &name.origin {
            Origin::Observed(observation) => Some((id, name, observation)),
            _ => None,
        })
    }
}

/// Returns a name with blanks for its hyphens.
pub fn spaced(name: &str) -> String {
    name.replace('-', " ")
}

/// Why an item says what it says, and on whose authority.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Why {
    /// The author's reason.
    pub because: Option<Arc<str>>,
    /// The sources.
    pub cites: Vec<Citation>,
}

/// One cited source and the place in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Citation {
    /// The key of the source.
    pub key: Arc<str>,
    /// Where in it.
    pub locator: Option<Arc<str>>,
}

/// Something that rules cite.
#[derive(Clone, Debug)]
pub struct Cited {
    /// Its key.
    pub key: Arc<str>,
    /// The citation.
    pub citation: Arc<str>,
    /// Whether its figures were written down from memory.
    pub recalled: bool,
    /// Where it is defined.
    pub span: Span,
}

/// Calls a function with every test that speaks of a tree: those of bands, gates, choices, tasks, warnings,
/// and promises.
pub fn each_test_of_a_tree<'p>(plan: &'p Plan, f: &mut dyn FnMut(&'p Test)) {
    let mut each = |condition: &'p Condition| condition.each_test(f);
    for name in &plan.names {
        if let Origin::Band(band) = &name.origin {
            band.rows.iter().for_each(|row| each(&row.condition));
        }
    }
    for gate in &plan.gates {
        gate.condition.iter().chain(&gate.unless).for_each(&mut each);
    }
    for choice in &plan.choices {
        choice.condition.iter().chain(&choice.unless).for_each(&mut each);
    }
    let speaks = plan.tasks.iter().map(|task| &task.speaks).chain(plan.warnings.iter().map(|it| &it.speaks));
    for speaks in speaks {
        speaks.condition.iter().chain(&speaks.unless).for_each(&mut each);
    }
    plan.promises.iter().for_each(|promise| each(&promise.whenever));
}
