//! What the labels of rulebook and jug allow in one spray, held against what goes into the tank.

use super::{Asks, Restriction};
use crate::grove::{Jug, JugCap};
use crate::plan::{LabelLimit, LabelWord, Plan, ProductId};
use crate::units::Threshold;
use std::sync::Arc;

/// A limit and whether a mix keeps it.
#[derive(Clone, PartialEq, Debug)]
pub struct MixLimit {
    /// What it limits: a spray, or its strength.
    pub word: LabelWord,
    /// The limit as it is written.
    pub written: Arc<str>,
    /// How much it allows in one spray.
    pub limit: LabelLimit,
    /// Whether it is kept; nothing where that is not known.
    pub kept: Option<bool>,
}

/// How much of what is in the jug a mix has: a mass of a powder, a volume of a liquid.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct OfJug {
    /// In a volume of spray, by cubic millimetre.
    pub in_spray: f64,
    /// On an area, by square millimetre, where that is known.
    pub on_area: Option<f64>,
}

/// Returns the limits of rulebook and jug on one spray, and whether they are kept by so much of what is in the jug.
pub fn single_limits(plan: &Plan, product: Option<ProductId>, jug: &Jug, mix: OfJug) -> Vec<MixLimit> {
    let kept = |amount: Option<f64>, ingredient: Option<&str>, at_most: &Threshold| {
        let amount = match ingredient {
            Some(ingredient) => amount? * jug.strength(ingredient)?,
            None => amount?,
        };
        Some(at_most.is_kept_by(amount, true))
    };
    // The lines of the jugs on the shelf stand among the gates too; this jug speaks for itself.
    let of_book = plan.gates.iter().filter(|gate| gate.span.source != jug.span.source);
    let of_book =
        of_book.filter_map(|gate| Restriction::of(plan, gate)).filter(|line| Some(line.product) == product);
    let of_book = of_book.filter_map(|line| {
        let Asks::AtMost(of, None, at_most) = line.asks else { return None };
        let (written, limit) = (line.label.written.clone(), line.label.limit.clone());
        Some(MixLimit {
            word: LabelWord::Single,
            written,
            limit,
            kept: kept(mix.on_area, of.ingredient(), at_most),
        })
    });
    let of_jug = |cap: &JugCap, word: LabelWord, amount: Option<f64>| MixLimit {
        word,
        written: format!("{} at most {}", word.word(), cap.written).into(),
        limit: LabelLimit::Amount(cap.written.clone(), cap.unit.clone()),
        kept: kept(amount, cap.of.as_deref(), &cap.at_most),
    };
    let single = jug.label.amounts.iter().filter(|cap| cap.total.is_none());
    let single = single.map(|cap| of_jug(cap, LabelWord::Single, mix.on_area));
    let strength = jug.label.strengths.iter();
    let strength = strength.map(|cap| of_jug(cap, LabelWord::Strength, Some(mix.in_spray)));
    of_book.chain(single).chain(strength).collect()
}
