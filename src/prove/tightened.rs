//! Which way a verdict moved, and whether an overlay only tightens its base.

use super::differences::{Region, Regions, compare};
use crate::plan::{Plan, ProductId};
use crate::trace::Verdict;
use std::collections::BTreeMap;

/// Which way a verdict moved.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Way {
    /// Less is sprayed.
    Stricter,
    /// More is sprayed.
    Looser,
    /// Another product.
    OtherProduct,
    /// The same product at another strength that is neither.
    OtherStrength,
    /// Neither verdict sprays.
    OtherAnswer,
}

impl Way {
    /// Returns the words for it.
    pub fn words(self) -> &'static str {
        match self {
            Way::Stricter => "stricter",
            Way::Looser => "looser",
            Way::OtherProduct => "another product",
            Way::OtherStrength => "another strength",
            Way::OtherAnswer => "another answer",
        }
    }
}

/// Returns which way a verdict moved.
pub(super) fn moved(old: &Plan, new: &Plan, was: &Verdict, now: &Verdict) -> Way {
    match (was, now) {
        (Verdict::Spray(before), Verdict::Spray(after)) => {
            let amounts = |plan: &Plan, doses: &[(ProductId, u8)]| {
                let all: BTreeMap<String, f64> = doses
                    .iter()
                    .filter_map(|(product, at)| {
                        let product = plan.products.get(product.index())?;
                        let strength = product.strengths.get(usize::from(*at))?;
                        Some((product.name.to_string(), strength.amount.quantity))
                    })
                    .collect();
                all
            };
            let (before, after) = (amounts(old, before), amounts(new, after));
            let part = |a: &BTreeMap<String, f64>, b: &BTreeMap<String, f64>| {
                a.iter().all(|(name, amount)| b.get(name).is_some_and(|other| amount <= other))
            };
            if part(&after, &before) {
                Way::Stricter
            } else if part(&before, &after) {
                Way::Looser
            } else if before.keys().eq(after.keys()) {
                Way::OtherStrength
            } else {
                Way::OtherProduct
            }
        }
        (Verdict::Spray(_), _) => Way::Stricter,
        (_, Verdict::Spray(_)) => Way::Looser,
        _ => Way::OtherAnswer,
    }
}

/// Whether an overlay keeps its promise to only tighten its base.
#[derive(Debug)]
pub enum Tightened {
    /// It does, in every situation.
    Yes,
    /// It does not; this is where.
    Loosened(Box<Region>),
    /// It changes the hours that this gate of its base shuts.
    Hours(String),
    /// There are too many situations to tell.
    NotDecided,
}

/// Proves that an overlay turns sprays only into none or into weaker ones, and leaves its base's hour gates as they are.
pub fn tightens(base: &Plan, overlay: &Plan, budget: usize) -> Tightened {
    // Which way a verdict moves is the same wherever it is so changed.
    let comparison = compare(base, overlay, budget, Regions::One);
    let only_tightens = |region: &Region| match (&region.was.is, &region.now.is) {
        (Verdict::Spray(_), Verdict::Hold | Verdict::AllShut | Verdict::Look) => true,
        (Verdict::Spray(before), Verdict::Spray(after)) => {
            region.way == Way::Stricter && before.len() == after.len()
        }
        _ => false,
    };
    if let Some(region) = comparison.regions.iter().find(|region| !only_tightens(region)) {
        return Tightened::Loosened(Box::new(region.clone()));
    }
    if comparison.spent {
        return Tightened::NotDecided;
    }
    let hour_gates = base.gates.iter().filter(|gate| gate.hours.is_some());
    let moved =
        |name: &str| comparison.items.iter().any(|it| it.in_meaning() && it.item == format!("gate {name}"));
    match hour_gates.map(|gate| &gate.name).find(|name| moved(name)) {
        Some(gate) => Tightened::Hours(gate.to_string()),
        None => Tightened::Yes,
    }
}
