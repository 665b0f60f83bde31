//! Whether an overlay keeps its promise to only tighten its base: verdicts in every situation, and item by item what opens or
//! shuts besides: hours, labels, what is known, cautions.

pub(crate) mod items;
pub(crate) mod verdicts;

use crate::decide::{Certified, Rules};
use crate::plan::{Class, Datum, Definitions, Observation, Plan};
use crate::prove::compare::items::heads::accuracy_change;
use crate::prove::compare::pair::Pair;
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::prove::space::free_sets::FreeSets;
use crate::prove::space::ranges::with_common_ranges;
use crate::prove::space::witness::Witness;
use crate::source::Span;
use items::Against;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// What came of an overlay's promise.
#[derive(Default, Debug)]
pub struct Tightening {
    /// Where it loosens.
    pub loosened: Vec<Loosened>,
    /// How many changes of verdict loosen besides those that are shown.
    pub more: usize,
    /// What could not be proved.
    pub not_proved: Vec<NotProved>,
    /// Promises of the base that promise less in the overlay, or are not shown to promise as much: by name, with where the overlay
    /// and the base have them. No verdict changes by that.
    pub weaker_promises: Vec<(String, Span, Span)>,
}

impl Tightening {
    /// Returns whether it is proved.
    pub fn is_kept(&self) -> bool {
        self.loosened.is_empty() && self.not_proved.is_empty()
    }
}

/// A place where an overlay loosens its base.
#[derive(Clone, Debug)]
pub enum Loosened {
    /// A verdict becomes one that the base would not come to there.
    Verdict {
        /// What the base says.
        was: String,
        /// What the overlay says.
        now: String,
        /// A situation in which they do.
        situation: Witness,
        /// The items that make the difference.
        because_of: Vec<String>,
        /// Whether that is so of groves that are certified organic.
        certified: bool,
    },
    /// An item opens something by itself.
    Item {
        /// The item.
        item: String,
        /// How it does.
        how: Loosens,
        /// Where the overlay has it, if it does.
        now: Option<Span>,
    },
}

/// How an item loosens.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Loosens {
    /// It leaves hours that the base's gate shuts.
    Hours,
    /// The spray window is shorter, or looked for further ahead.
    Window,
    /// More hours may be missing.
    Gaps,
    /// Instruments are taken to be off by less, so that fewer readings are close calls.
    Accuracy,
    /// The year is counted from another day, and so are the labels of jugs.
    Season,
    /// A choice may be done later.
    Within,
    /// A choice is looked at again later.
    Recheck,
    /// A label line allows more.
    Label,
    /// A label line is gone.
    LabelGone,
    /// People may go in earlier.
    ReEntry,
    /// A value is taken where nothing was seen.
    Assumed,
    /// Another value is taken, or in other cases.
    AssumedOtherwise,
    /// What was seen holds longer.
    Lasts,
    /// More values are taken, or what is not seen can be fewer.
    Range,
    /// It asks something else.
    Seen,
    /// The levels or codes of a scale differ.
    Scale,
    /// Groves are taken that the base refuses.
    Always,
    /// The log is counted otherwise.
    Counted,
    /// The product is allowed in certified groves.
    Organic,
    /// A caution of a product is gone.
    Caution,
    /// A caution of the head is gone: where it is left out, that is said at the text.
    HeadCaution,
    /// A warning is gone, or given in fewer situations.
    Warning,
}

/// What could not be proved of an overlay.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NotProved {
    /// There are too many situations.
    Verdicts,
    /// Whether an item only tightens.
    Item {
        /// The item.
        item: String,
        /// Where the overlay has it, if it does.
        now: Option<Span>,
    },
}

/// Proves that an overlay only tightens its base.
pub fn tightens(base: &Plan, overlay: &Plan, budget: usize) -> Tightening {
    let mut found = Tightening::default();
    let taken = with_common_ranges([base, overlay]);
    heads(base, overlay, &mut found);
    products(base, overlay, &mut found);
    seen(base, overlay, &mut found);
    choices(base, overlay, &mut found);
    let has_other = [base, overlay]
        .iter()
        .any(|plan| plan.products.iter().any(|product| product.class != Some(Class::Organic)));
    for certified in [Certified::No, Certified::Organic] {
        if certified == Certified::Organic && !has_other {
            continue;
        }
        let rules = taken.each_ref().map(|plan| Rules::new(plan, certified));
        let books = [0, 1].map(|book| Book { plan: &taken[book], rules: &rules[book] });
        let pair = Pair::new(Space::of_two(books, budget));
        let mut against = Against { pair, own: [base, overlay], found: &mut found };
        against.relate_caps();
        if certified == Certified::No {
            against.items();
            against.times();
        }
        against.verdicts(certified);
    }
    found
}

pub(crate) fn loosens(item: String, how: Loosens, now: Option<Span>) -> Loosened {
    Loosened::Item { item, how, now }
}

fn heads(base: &Plan, overlay: &Plan, found: &mut Tightening) {
    let (was, now) = (&base.head, &overlay.head);
    let mut add = |item: String, how| found.loosened.push(loosens(item, how, Some(now.span)));
    if now.window.0 < was.window.0 || now.window.1 > was.window.1 {
        add("rulebook window".to_owned(), Loosens::Window);
    }
    if now.gaps > was.gaps {
        add("rulebook gaps".to_owned(), Loosens::Gaps);
    }
    if !accuracy_change(was, now).is_some_and(Ordering::is_ge) {
        add("rulebook accuracy".to_owned(), Loosens::Accuracy);
    }
    if now.season != was.season {
        add("rulebook season".to_owned(), Loosens::Season);
    }
    for caution in was.cautions.iter().filter(|it| !now.cautions.contains(it)) {
        add(format!("caution \"{caution}\""), Loosens::HeadCaution);
    }
    for list in base.word_lists.iter().filter(|list| !list.name.is_empty()) {
        let alike = |other: &&crate::plan::WordList| other.name == list.name;
        let words = |list: &crate::plan::WordList| -> Vec<_> {
            list.words.iter().map(|word| (word.name.clone(), word.codes)).collect()
        };
        let is_product = |plan: &Plan| plan.product(&list.name).is_some();
        if is_product(base) || is_product(overlay) {
            continue;
        }
        if let Some(other) = overlay.word_lists.iter().find(alike)
            && words(list) != words(other)
        {
            found.loosened.push(loosens(format!("scale {}", list.name), Loosens::Scale, Some(other.span)));
        }
    }
}

fn products(base: &Plan, overlay: &Plan, found: &mut Tightening) {
    for product in &base.products {
        let Some(other) = overlay.product(&product.name).map(|id| &overlay[id]) else { continue };
        let mut add = |item: String, how| found.loosened.push(loosens(item, how, Some(other.span)));
        let name = &product.name;
        if product.re_entry.unwrap_or(0.0) > other.re_entry.unwrap_or(0.0) {
            add(format!("label of {name} re-entry"), Loosens::ReEntry);
        }
        let counted = |it: &crate::plan::Product| {
            let groups: BTreeSet<_> = it.groups.iter().cloned().collect();
            (it.contains.clone(), groups)
        };
        if counted(product) != counted(other) {
            add(format!("product {name}"), Loosens::Counted);
        }
        if other.class == Some(Class::Organic) && product.class != Some(Class::Organic) {
            add(format!("product {name}"), Loosens::Organic);
        }
        for caution in product.cautions.iter().filter(|it| !other.cautions.contains(it)) {
            add(format!("caution of {name} \"{caution}\""), Loosens::Caution);
        }
    }
}

fn choices(base: &Plan, overlay: &Plan, found: &mut Tightening) {
    for choice in &base.choices {
        let Some(other) = overlay.choices.iter().find(|it| it.name == choice.name) else { continue };
        let mut add =
            |how| found.loosened.push(loosens(format!("choice {}", choice.name), how, Some(other.span)));
        let within = |it: &crate::plan::Choice| it.within.unwrap_or(f64::INFINITY).min(base.head.window.1);
        if within(other) > within(choice) {
            add(Loosens::Within);
        }
        if other.recheck.unwrap_or(f64::INFINITY) > choice.recheck.unwrap_or(f64::INFINITY) {
            add(Loosens::Recheck);
        }
    }
}

/// Compares what is known.
fn seen(base: &Plan, overlay: &Plan, found: &mut Tightening) {
    let definitions = [base, overlay].map(Definitions::of);
    for (id, name, was) in base.observations() {
        let Some((other, of, now)) = overlay.observations().find(|(_, of, _)| of.word == name.word) else {
            continue;
        };
        let item = format!("observe {}", name.word);
        let mut add = |how| found.loosened.push(loosens(item.clone(), how, Some(of.span)));
        if definitions[0].name(id) != definitions[1].name(other) {
            add(Loosens::Seen);
        }
        if now.lasts.unwrap_or(f64::INFINITY) > was.lasts.unwrap_or(f64::INFINITY) {
            add(Loosens::Lasts);
        }
        match assumed([base, overlay], was, now) {
            Some(None) => {}
            Some(Some(how)) => add(how),
            None => found.not_proved.push(NotProved::Item { item, now: Some(of.span) }),
        }
    }
}

/// Returns how an assumption loosens, if it does; nothing where that is not settled.
fn assumed(plans: [&Plan; 2], was: &Observation, now: &Observation) -> Option<Option<Loosens>> {
    let Some(after) = &now.assume else { return Some(None) };
    let Some(before) = &was.assume else { return Some(Some(Loosens::Assumed)) };
    let value = |book: usize, datum: Datum| match datum {
        Datum::Text(text) => (plans[book].texts.get(text.0 as usize).cloned(), 0),
        Datum::Word(place) => (None, u64::from(place)),
        Datum::Number(number) => (None, number.to_bits()),
    };
    if value(0, before.value) != value(1, after.value) {
        return Some(Some(Loosens::AssumedOtherwise));
    }
    let (Some(was), now) = (&before.condition, &after.condition) else { return Some(None) };
    let Some(now) = now else { return Some(Some(Loosens::AssumedOtherwise)) };
    let [one, other] =
        [(plans[0], was), (plans[1], now)].map(|(plan, it)| Definitions::of(plan).condition(it));
    if one == other {
        return Some(None);
    }
    let mut sets = FreeSets::of(plans, &[(0, was), (1, now)]);
    let (was, now) = (sets.set(0, was)?, sets.set(1, now)?);
    let more = sets.diagrams.without(now, was);
    if more.is_none() {
        return Some(None);
    }
    sets.is_certain(more).then_some(Some(Loosens::AssumedOtherwise))
}
