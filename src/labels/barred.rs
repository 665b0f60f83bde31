//! What a spray bars afterwards: products that a label keeps apart from one of its own for some days.
//!
//! Comes in: the products of a spray. Goes out: each product that it bars, with the line of the label.

use super::{Asks, Restriction, passed};
use crate::plan::{Gate, GateId, LabelLimit, LabelLine, Plan, ProductId, Shut};
use crate::units::Threshold;
use chrono::NaiveDate;

/// A product that may not follow a spray for some days.
#[derive(Clone, Copy, Debug)]
pub struct Barred<'p> {
    /// The product.
    pub product: ProductId,
    /// The line of the label.
    pub line: &'p LabelLine,
    /// The gate of it that shuts this product.
    pub gate: GateId,
    /// For how many days.
    days: f64,
}

impl Barred<'_> {
    /// Returns the first day on which it may follow a spray that is done on a day.
    pub fn until(&self, done: NaiveDate) -> NaiveDate {
        passed(done, &Threshold::of_hours(self.days * 24.0), true)
    }
}

/// Returns the products that a spray of these bars afterwards, each by the label that asks for most.
pub fn barred<'p>(plan: &'p Plan, sprayed: &[ProductId]) -> Vec<Barred<'p>> {
    let mut found: Vec<Barred<'p>> = Vec::new();
    for line in Restriction::all(plan) {
        // Of what such a line asks, that they are not in one tank names both products.
        let (Asks::Apart(other), LabelLimit::Days(days)) = (line.asks, &line.label.limit) else { continue };
        for (sprayed_one, product) in [(line.product, other), (other, line.product)] {
            if !sprayed.contains(&sprayed_one) || sprayed.contains(&product) {
                continue;
            }
            let shuts = |gate: &Gate| {
                gate.shuts == [Shut::Product(product)] && gate.line.as_ref() == Some(line.label)
            };
            let Some(gate) = plan.gates.iter().position(shuts) else { continue };
            let bars = Barred { product, line: line.label, gate: GateId(gate as u32), days: *days };
            match found.iter_mut().find(|known| known.product == product) {
                Some(known) if known.days >= *days => {}
                Some(known) => *known = bars,
                None => found.push(bars),
            }
        }
    }
    found.sort_by_key(|it| it.product);
    found
}
