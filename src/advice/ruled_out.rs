//! Sprays of the log that the guide would not have allowed: the gates of the rulebook at the hours in which they were made.
//!
//! Comes in: a grove as it stood when the spray began, without it. Goes out: the gates that certainly spoke. What the
//! labels say of a spray is said elsewhere.

use super::Advisor;
use super::hours::shutting_between;
use crate::grove::{Grove, SprayRow};
use crate::measure::WeatherMeasures;
use crate::plan::{GateId, Plan, ProductId, Shut};
use crate::trace::{Shutter, Truth};

/// A gate that spoke when a spray was made.
#[derive(Clone, PartialEq, Debug)]
pub struct RuledOut {
    /// The gate.
    pub gate: GateId,
    /// What it shut of what was in the tank; nothing where it shuts all spraying.
    pub products: Vec<ProductId>,
    /// The place of the strongest strength that it left, where it only holds a product to one.
    pub held_to: Option<u8>,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
}

/// Returns the gates of the rulebook that ruled a spray out, by their places in it; `grove` and `weather_measures` are of the moment
/// at which it began.
pub fn ruled_out(
    plan: &Plan,
    grove: &Grove,
    weather_measures: &WeatherMeasures<'_>,
    row: &SprayRow,
) -> Vec<RuledOut> {
    let advisor = Advisor::new(plan, grove, weather_measures, row.start);
    let is_above = |product: ProductId, most: u8| {
        let mut parts = row.parts.iter().filter(|part| part.product == Some(product));
        parts.any(|part| part.is_above(most, &plan[product], &grove.shed))
    };
    let sprayed = |product: ProductId| row.parts.iter().any(|part| part.product == Some(product));
    let of_guide = |gate: GateId| plan[gate].line.is_none();
    let gates: Vec<GateId> = (0..plan.gates.len() as u32).map(GateId).collect();
    let mut in_hours = shutting_between(plan, weather_measures, &gates, (row.start, row.end));
    in_hours.sort();
    let mut found: Vec<RuledOut> = Vec::new();
    let mut add = |gate: GateId, products: Vec<ProductId>, held_to: Option<u8>, tree: usize| {
        let same = |it: &&mut RuledOut| (it.gate, &it.products, it.held_to) == (gate, &products, held_to);
        match found.iter_mut().find(same) {
            Some(known) => known.trees.push(tree),
            None => found.push(RuledOut { gate, products, held_to, trees: vec![tree] }),
        }
    };
    for tree in row.trees(&grove.trees) {
        let Some(case) = advisor.case_of(&advisor.tree(tree)) else { continue };
        for (products, shutter) in &case.shut {
            let Shutter::Gate(gate) = *shutter else { continue };
            if of_guide(gate) && products.iter().all(|product| sprayed(*product)) {
                add(gate, products.clone(), None, tree);
            }
        }
        for (product, most, gate) in &case.held {
            if of_guide(*gate) && is_above(*product, *most) {
                add(*gate, vec![*product], Some(*most), tree);
            }
        }
        for gate in &in_hours {
            let speaks = case.decision.trace.gates.get(gate.index()) == Some(&Truth::Yes);
            if let Some(products) = shut_of(plan, *gate, row).filter(|_| speaks) {
                add(*gate, products, None, tree);
            }
        }
    }
    found.sort_by_key(|it| it.gate);
    found
}

/// Returns what a gate shuts of a tank, nothing in it where it shuts all spraying; nothing at all where it shuts none of
/// what was in it.
fn shut_of(plan: &Plan, gate: GateId, row: &SprayRow) -> Option<Vec<ProductId>> {
    let shuts = &plan[gate].shuts;
    if shuts.contains(&Shut::Spraying) {
        return Some(Vec::new());
    }
    let of_tank: Vec<ProductId> = row.parts.iter().filter_map(|part| part.product).collect();
    let is_shut = |product: &ProductId| {
        shuts.iter().any(|shut| match shut {
            Shut::Spraying => true,
            Shut::Group(group) => plan[*product].groups.contains(group),
            Shut::Product(one) => one == product,
            Shut::Mix(one, other) => {
                [one, other].contains(&product) && [one, other].iter().all(|it| of_tank.contains(it))
            }
        })
    };
    let products: Vec<ProductId> = of_tank.iter().copied().filter(is_shut).collect();
    (!products.is_empty()).then_some(products)
}
