//! Which way a verdict moved.

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
pub(crate) fn moved(old: &Plan, new: &Plan, was: &Verdict, now: &Verdict) -> Way {
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
