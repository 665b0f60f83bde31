//! What a spray used, frozen into its row of the log: the trees one by one, their land, and what the jugs held.
//!
//! A jug that is emptied and a tree that is felled leave `grove.yaml`; what was sprayed from the one on the other stays as it
//! was. Rows without these columns are read by what the grove says now.

use super::keys;
use super::shed::{Contained, Content, Form, Jug, JugLabel, contained};
use super::target::Target;
use super::tree::Trees;
use crate::plan::ProductId;
use crate::source::Span;
use crate::units::{Dimension, plain};

/// The column with the trees, each by its name.
pub const TREES: &str = "trees-sprayed";
/// The column with the land on which they stood.
pub const LAND: &str = "land-sprayed";
/// The column with what the jugs held, part by part.
pub const JUG: &str = "jug-held";
/// The column with how much of each product went out in all.
pub const AMOUNT: &str = "product-used";

/// Grams in a cubic millimetre, in one gram in a litre.
const GRAM_PER_LITRE: f64 = 1e-6;

/// Returns what a jug holds as the log keeps it: `powder, copper: 50 %`, `liquid 1250 g/L, oil: 800 g/L`.
pub fn jug_words(jug: &Jug) -> String {
    let mut words = match jug.form {
        Form::Powder => "powder".to_string(),
        Form::Liquid(None) => "liquid".to_string(),
        Form::Liquid(Some(weight)) => format!("liquid {} g/L", weight / GRAM_PER_LITRE),
    };
    for content in &jug.contains {
        words += &match content.amount {
            Contained::OfMass(share) => format!(", {}: {} %", content.ingredient, share * 100.0),
            Contained::OfVolume(mass) => format!(", {}: {} g/L", content.ingredient, mass / GRAM_PER_LITRE),
        };
    }
    words
}

/// Reads what a jug held; nothing where the row does not say it so that it can be read.
pub(super) fn jug(text: &str, name: &str, word: &str, product: Option<ProductId>) -> Option<Jug> {
    let mut parts = text.split(", ");
    let form = parts.next().unwrap_or_default().trim();
    let form = match form.strip_prefix("liquid").map(str::trim) {
        None => (form == "powder").then_some(Form::Powder)?,
        Some("") => Form::Liquid(None),
        Some(weight) => Form::Liquid(Some(keys::quantity(weight, Dimension::CONCENTRATION).ok()?)),
    };
    let mut contains = Vec::new();
    for part in parts {
        let (ingredient, amount) = part.split_once(": ")?;
        let amount = contained(amount.trim(), form).ok()?;
        contains.push(Content { ingredient: ingredient.trim().into(), amount, span: Span::default() });
    }
    Some(Jug {
        word: word.into(),
        product,
        name: name.into(),
        registration: None,
        form,
        contains,
        label: JugLabel::default(),
        label_read: None,
        span: Span::default(),
    })
}

/// Returns trees as the log keeps them.
pub fn trees_words(sprayed: &[usize], trees: &Trees) -> String {
    sprayed.iter().map(|tree| trees.name(*tree)).collect::<Vec<_>>().join("; ")
}

/// Reads trees that a row names one by one; those that have left the grove since are not among them.
pub(super) fn trees(text: &str, trees: &Trees) -> Vec<Target> {
    let mut found: Vec<u32> = text
        .split(';')
        .filter_map(|name| trees.find(name.trim()))
        .filter_map(|tree| u32::try_from(tree).ok())
        .collect();
    found.sort_unstable();
    found.dedup();
    let mut targets: Vec<Target> = Vec::new();
    for tree in found {
        match targets.last_mut() {
            Some(Target::Range(_, last)) if *last + 1 == tree => *last = tree,
            Some(Target::Tree(one)) if *one + 1 == tree => {
                let first = *one;
                targets.pop();
                targets.push(Target::Range(first, tree));
            }
            _ => targets.push(Target::Tree(tree)),
        }
    }
    targets
}

/// Returns land as the log keeps it, to the last digit: amounts on it are reckoned by it.
pub fn land_words(area: f64) -> Option<String> {
    Some(format!("{} ac", plain("ac")?.amount_from_base(area)))
}
