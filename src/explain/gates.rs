//! What gates do to products: those that speak, those that may, those that nearly do.

use super::conditions::only_failing;
use super::{Claim, Item, Role, Statement, Telling};
use crate::advice::Case;
use crate::plan::{GateId, NameId, Plan, ProductId, Shut, Subject};
use crate::trace::{Shutter, Trace, Truth};
use std::collections::BTreeMap;

/// The tanks that the choices which hold, or may hold, would fill.
#[derive(Clone, Debug, Default)]
pub struct WantedTanks(pub Vec<Vec<ProductId>>);

impl WantedTanks {
    /// Returns whether one of the tanks holds all of these products.
    pub fn names(&self, products: &[ProductId]) -> bool {
        self.0.iter().any(|tank| products.iter().all(|product| tank.contains(product)))
    }

    /// Returns the products, each once.
    pub fn products(&self) -> impl Iterator<Item = ProductId> {
        let mut products: Vec<ProductId> = self.0.iter().flatten().copied().collect();
        products.sort();
        products.dedup();
        products.into_iter()
    }
}

/// What a gate does to a product.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Effect {
    /// It shuts it.
    Shuts,
    /// It holds it to the strength at this place.
    Holds(u8),
    /// It does nothing.
    Nothing,
    /// That is not known.
    Open,
}

/// Returns what a gate of today does to a product.
pub fn effect(plan: &Plan, trace: &Trace, id: GateId, product: ProductId) -> Effect {
    let Some(gate) = plan.gates.get(id.index()) else { return Effect::Nothing };
    if gate.hours.is_some() {
        return Effect::Nothing;
    }
    if let Some((fitted, name)) = gate.fits {
        return if fitted == product { fitting(plan, trace, product, name) } else { Effect::Nothing };
    }
    let holds = gate.holds.iter().find(|(held, _)| *held == product).map(|(_, strength)| *strength);
    let shuts = gate.shuts.iter().any(|shut| shut_product(plan, shut, product));
    match (trace.gates.get(id.index()), shuts, holds) {
        (Some(Truth::Yes), true, _) => Effect::Shuts,
        (Some(Truth::Yes), false, Some(strength)) => Effect::Holds(strength),
        (Some(Truth::Open), true, _) | (Some(Truth::Open), false, Some(_)) => Effect::Open,
        _ => Effect::Nothing,
    }
}

/// Returns whether a gate's `shuts` speaks of a product by itself.
pub fn shut_product(plan: &Plan, shut: &Shut, product: ProductId) -> bool {
    match shut {
        Shut::Spraying => true,
        Shut::Group(group) => {
            plan.products.get(product.index()).is_some_and(|product| product.groups.contains(group))
        }
        Shut::Product(one) => *one == product,
        Shut::Mix(..) => false,
    }
}

/// Returns what a cap does: cell 0 of its name is no strength, cell 1 the weakest.
fn fitting(plan: &Plan, trace: &Trace, product: ProductId, name: NameId) -> Effect {
    let strengths = plan.products.get(product.index()).map_or(0, |product| product.strengths.len());
    match trace.cells.get(name.index()).and_then(|cells| cells.only()) {
        Some(0) => Effect::Shuts,
        Some(cell) if usize::from(cell) >= strengths => Effect::Nothing,
        Some(cell) => Effect::Holds((cell - 1) as u8),
        None => Effect::Open,
    }
}

/// Tells of the gates that shut something, those of the products that were wanted first.
pub fn shut(telling: &mut Telling<'_, '_>, case: &Case, wanted: &WantedTanks) -> Vec<Statement> {
    let plan = telling.basis.plan;
    let mut by_shutter: BTreeMap<(bool, Shutter), Vec<Vec<ProductId>>> = BTreeMap::new();
    for (products, shutter) in &case.shut {
        let aside = !wanted.names(products);
        by_shutter.entry((aside, *shutter)).or_default().push(products.clone());
    }
    let between: Vec<Statement> =
        case.shut_between.iter().filter_map(|(tank, gates)| shut_between(plan, tank, gates)).collect();
    let tell = |((aside, shutter), products): ((bool, Shutter), Vec<Vec<ProductId>>)| {
        let role = if aside { Role::ShutBeside } else { Role::Shut };
        let claim = Claim::Shut(products, shutter);
        match shutter {
            Shutter::Gate(gate) => telling.gate(role, gate, claim),
            Shutter::Certified => Statement::new(role, Item::Certified, plan.head.span, claim),
        }
    };
    between.into_iter().chain(by_shutter.into_iter().map(tell)).collect()
}

/// Tells of gates of which one shuts a tank whatever is found; which of them is not known.
fn shut_between(plan: &Plan, tank: &[ProductId], gates: &[GateId]) -> Option<Statement> {
    let first = *gates.first()?;
    let at = plan.gates.get(first.index())?.span;
    let claim = Claim::ShutBetween(tank.to_vec(), gates.to_vec());
    Some(Statement::new(Role::Shut, Item::Gate(first), at, claim))
}

/// Tells of the gates that hold a product to a weaker strength.
///
/// Of a spray those count first that it uses; without one, those that were wanted.
pub fn held(telling: &mut Telling<'_, '_>, case: &Case, wanted: &WantedTanks) -> Vec<Statement> {
    let ours = |product: ProductId| match &case.spray[..] {
        [] => wanted.names(&[product]),
        spray => spray.iter().any(|(one, _)| *one == product),
    };
    let mut by_gate: BTreeMap<(bool, GateId), Vec<(ProductId, u8)>> = BTreeMap::new();
    for (id, strength, gate) in &case.held {
        by_gate.entry((!ours(*id), *gate)).or_default().push((*id, *strength));
    }
    let tell = |((beside, gate), products)| {
        let role = if beside { Role::HeldBeside } else { Role::Held };
        telling.gate(role, gate, Claim::Held(products))
    };
    by_gate.into_iter().map(tell).collect()
}

/// Tells of the gates of wanted products of which it is not known whether they speak.
pub fn open(telling: &mut Telling<'_, '_>, wanted: &WantedTanks) -> Vec<Statement> {
    let (plan, trace) = (telling.basis.plan, telling.trace);
    let mut found = Vec::new();
    for id in (0..plan.gates.len() as u32).map(GateId) {
        let open = |product: &ProductId| effect(plan, trace, id, *product) == Effect::Open;
        let products: Vec<ProductId> = wanted.products().filter(open).collect();
        if !products.is_empty() {
            found.push(telling.gate(Role::Open, id, Claim::PerhapsShut(products)));
        }
    }
    found
}

/// Tells of the gates of the rulebook that speak but for one condition.
pub fn nearly(telling: &mut Telling<'_, '_>, case: &Case) -> Vec<Statement> {
    let plan = telling.basis.plan;
    let mut found = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        if gate.line.is_some() || gate.hours.is_some() || telling.trace.gates.get(at) != Some(&Truth::No) {
            continue;
        }
        let parts = telling.parts(gate.condition.as_ref(), gate.unless.as_ref());
        let Some(part) = only_failing(&parts) else { continue };
        let turns = matches!(part.test.subject, Subject::Name(name) if case.tipping_points.iter().any(|point| point.name == name));
        if parts.len() < 2 && !turns {
            continue;
        }
        let (item, claim) = (Item::Gate(GateId(at as u32)), Claim::NearlyShut(telling.compared(part)));
        found.push(Statement::new(Role::NearlyShut, item, gate.span, claim).owing(&gate.why));
    }
    found
}

/// Tells of the gates that shut hours for a product of the spray.
pub fn hours(telling: &mut Telling<'_, '_>, case: &Case) -> Vec<Statement> {
    let plan = telling.basis.plan;
    let mut found = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        let speaks = telling.trace.gates.get(at).copied().unwrap_or(Truth::No);
        let shuts = |product| gate.shuts.iter().any(|shut| shut_product(plan, shut, product));
        let ours = case.spray.iter().any(|(product, _)| shuts(*product));
        if gate.hours.is_some() && speaks != Truth::No && ours {
            found.push(telling.gate(Role::Hours, GateId(at as u32), Claim::Hours));
        }
    }
    found
}
