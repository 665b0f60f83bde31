//! What a spray bars afterwards: products that a label keeps apart from one of its own for some days.
//!
//! Comes in: the products of a spray. Goes out: each product that it bars, with the line of the label.

use crate::plan::{Gate, LabelLimit, LabelWord, Plan, ProductId, Shut};

/// A product that may not follow a spray for some days.
#[derive(Clone, Copy, Debug)]
pub struct Barred<'p> {
    /// The product.
    pub product: ProductId,
    /// The gate of the label line.
    pub gate: &'p Gate,
    /// For how many days.
    pub days: f64,
}

/// Returns the products that a spray of these bars afterwards, each by the label that asks for most.
pub fn barred<'p>(plan: &'p Plan, sprayed: &[ProductId]) -> Vec<Barred<'p>> {
    let mut found: Vec<Barred<'p>> = Vec::new();
    for gate in &plan.gates {
        // Of the gates that such a line makes, the one of the mix names both products.
        let [Shut::Mix(one, other)] = gate.shuts[..] else { continue };
        let Some(line) = gate.line.as_ref().filter(|line| line.word == LabelWord::Apart) else { continue };
        let LabelLimit::Days(days) = line.limit else { continue };
        for (sprayed_one, product) in [(one, other), (other, one)] {
            if !sprayed.contains(&sprayed_one) || sprayed.contains(&product) {
                continue;
            }
            let bars = Barred { product, gate, days };
            match found.iter_mut().find(|known| known.product == product) {
                Some(known) if known.days >= days => {}
                Some(known) => *known = bars,
                None => found.push(bars),
            }
        }
    }
    found.sort_by_key(|it| it.product);
    found
}
