//! What is said of a product besides its doses and its label, fact by fact: by what it is counted, in which groves it may be
//! sprayed, what a jug of it is called, what it helps against. And against which diseases a choice is.

use super::ItemDirection;
use super::meanings::{BookItem, Reader, Role, hash, sorted};
use crate::plan::{Choice, Class, Goodness, Meaning, Plan, Product};
use crate::source::Span;
use std::collections::BTreeSet;

/// A fact of a product or a choice that an advice acts on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum ProductFact {
    /// Its resistance groups: sprays in a row are counted by them.
    Group,
    /// The ingredient that amounts are counted in.
    Ingredient,
    /// Whether it is organic.
    Class,
    /// What it is called, and what is active in it: the name on a jug is held against these.
    Name,
    /// Against which diseases it is, and how well it works.
    Against,
}

impl ProductFact {
    const ALL: [(Self, &'static str); 5] = [
        (Self::Group, "group"),
        (Self::Ingredient, "ingredient"),
        (Self::Class, "class"),
        (Self::Name, "name"),
        (Self::Against, "diseases"),
    ];

    /// Returns whether something that protects hangs on it.
    pub(super) fn protects(self) -> bool {
        matches!(self, Self::Group | Self::Ingredient | Self::Class)
    }

    /// Returns which way it moved, where that can be said, by its words.
    pub(super) fn direction(self, was: &str, now: &str) -> Option<ItemDirection> {
        let organic = class_word(Some(Class::Organic));
        match self {
            Self::Group | Self::Ingredient if now == NONE => Some(ItemDirection::Looser),
            Self::Group | Self::Ingredient if was == NONE => Some(ItemDirection::Stricter),
            Self::Class if now == organic => Some(ItemDirection::Looser),
            Self::Class if was == organic => Some(ItemDirection::Stricter),
            Self::Name => Some(ItemDirection::OtherWords),
            Self::Group | Self::Ingredient | Self::Class | Self::Against => None,
        }
    }

    fn of(self, plan: &Plan, product: &Product) -> Vec<String> {
        match self {
            Self::Group => product.groups.iter().map(ToString::to_string).collect(),
            Self::Ingredient => product.contains.iter().map(ToString::to_string).collect(),
            Self::Class => vec![class_word(product.class).to_owned()],
            Self::Name => {
                std::iter::once(&product.label).chain(&product.active).map(ToString::to_string).collect()
            }
            Self::Against => {
                let of = product
                    .against
                    .iter()
                    .map(|(it, good)| format!("{} {}", plan[*it].name, goodness(*good)));
                of.collect::<BTreeSet<String>>().into_iter().collect()
            }
        }
    }
}

/// The word for what is not there.
const NONE: &str = "none";

impl<'p> Reader<'_, 'p> {
    pub(super) fn product_facts(&mut self, product: &'p Product) {
        for (fact, word) in ProductFact::ALL {
            let all = fact.of(self.plan, product);
            let meaning = match fact {
                // What is not organic is the same in every grove.
                ProductFact::Class => u64::from(product.class == Some(Class::Organic)),
                _ => hash(sorted(all.iter().map(hash).collect())),
            };
            let words = if fact == ProductFact::Class { hash(&all) } else { 0 };
            let item =
                self.fact(format!("{word} of {}", product.name), fact, (meaning, words), &all, product.span);
            item.product = Some(&product.name);
        }
    }

    /// Adds against which diseases a choice is.
    pub(super) fn aims(&mut self, choice: &Choice) {
        let aims: BTreeSet<String> = choice.aims.iter().map(|it| self.plan[*it].name.to_string()).collect();
        let aims: Vec<String> = aims.into_iter().collect();
        let name = format!("diseases of choice {}", choice.name);
        self.fact(name, ProductFact::Against, (hash(&aims), 0), &aims, choice.span);
    }

    fn fact(
        &mut self,
        name: String,
        fact: ProductFact,
        (rest, words): (Meaning, Meaning),
        all: &[String],
        span: Span,
    ) -> &mut BookItem<'p> {
        let item = self.add(name, Role::Fact(fact), rest, span);
        item.words = words;
        item.written = Some(if all.is_empty() { NONE.to_owned() } else { all.join(", ") });
        item
    }
}

/// Returns the doses that differ between two products of one name, as they were and as they are.
pub(super) fn doses(was: &Product, now: &Product) -> Option<(String, String)> {
    let of = |product: &Product, name: &str| {
        let strength = product.strengths.iter().find(|it| *it.name == *name);
        strength.map_or(NONE.to_owned(), |it| it.amount.written.to_string())
    };
    let own = was.strengths.iter();
    let new = now.strengths.iter().filter(|it| was.strengths.iter().all(|of| of.name != it.name));
    let differ: Vec<[String; 2]> = own
        .chain(new)
        .map(|it| [of(was, &it.name), of(now, &it.name)].map(|amount| format!("{} {amount}", it.name)))
        .filter(|[was, now]| was != now)
        .collect();
    let side = |at: usize| differ.iter().map(|it| it[at].clone()).collect::<Vec<String>>().join(", ");
    (!differ.is_empty()).then(|| (side(0), side(1)))
}

fn class_word(class: Option<Class>) -> &'static str {
    match class {
        Some(Class::Organic) => "organic",
        Some(Class::Restricted) => "restricted",
        None => NONE,
    }
}

fn goodness(good: Goodness) -> &'static str {
    match good {
        Goodness::Slight => "slight",
        Goodness::Moderate => "moderate",
        Goodness::Good => "good",
    }
}
