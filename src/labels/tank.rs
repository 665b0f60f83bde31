//! What the labels of rulebook and jug allow in one spray, held against what goes into the tank.

use super::{Asks, Restriction};
use crate::grove::Jug;
use crate::plan::{LabelLimit, Plan, ProductId};
use crate::units::Threshold;
use std::sync::Arc;

/// A limit and whether a mix keeps it.
#[derive(Clone, PartialEq, Debug)]
pub struct MixLimit {
    /// The limit as it is written.
    pub written: Arc<str>,
    /// How much it allows in one spray.
    pub limit: LabelLimit,
    /// Whether it is kept; nothing where that is not known.
    pub kept: Option<bool>,
}

/// Returns the limits of rulebook and jug on one spray, and whether they are kept by so much of what is in the jug on an area:
/// a mass (g/mm²), or a volume (mm) of a liquid.
pub fn single_limits(
    plan: &Plan,
    product: Option<ProductId>,
    jug: &Jug,
    on_area: Option<f64>,
) -> Vec<MixLimit> {
    let kept = |ingredient: Option<&str>, at_most: &Threshold| {
        let amount = match ingredient {
            Some(ingredient) => on_area? * jug.strength(ingredient)?,
            None => on_area?,
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
        Some(MixLimit { written, limit, kept: kept(of.ingredient(), at_most) })
    });
    let of_jug = jug.label.amounts.iter().filter(|cap| cap.total.is_none()).map(|cap| MixLimit {
        written: format!("single at most {}", cap.written).into(),
        limit: LabelLimit::Amount(cap.written.clone(), cap.unit.clone()),
        kept: kept(cap.of.as_deref(), &cap.at_most),
    });
    of_book.chain(of_jug).collect()
}
