//! What gates do to products: those that speak, those that may, those that nearly do.

use super::conditions::{only_failing, parts};
use super::{Role, Statement, Telling, phrase::met};
use crate::advice::Case;
use crate::plan::{Gate, GateId, LabelWord, NameId, Plan, ProductId, Shut, Subject};
use crate::trace::{Shutter, Trace, Truth};
use std::collections::BTreeMap;

/// Returns a gate in words; of a label line whose label it is, and what that asks for.
pub fn gate_words(plan: &Plan, gate: GateId) -> String {
    let Some(gate) = plan.gates.get(gate.index()) else { return String::new() };
    let Some(line) = &gate.line else { return gate.label.to_string() };
    let label = |id: ProductId| plan.products.get(id.index()).map_or("", |product| &*product.label);
    let owner = label(line.product);
    let days = gate.label_days(plan).map(|days| match days {
        1.0 => "1 day".to_string(),
        days => format!("{} days", crate::units::clean(days)),
    });
    match (line.word, days, line.other) {
        (LabelWord::Apart, Some(days), Some(other)) => {
            format!("the {owner} label asks for {days} between {owner} and {}", label(other))
        }
        (LabelWord::Interval, Some(days), _) => {
            format!("the {owner} label asks for {days} between sprays")
        }
        (LabelWord::BeforeHarvest, Some(days), _) => {
            format!("the {owner} label asks for {days} before harvest")
        }
        _ => format!("the {owner} label: {}", line.written),
    }
}

/// Returns the names of products in one tank: `copper with oil`.
pub fn products_words(plan: &Plan, products: &[ProductId]) -> String {
    let names: Vec<&str> = products
        .iter()
        .filter_map(|id| plan.products.get(id.index()))
        .map(|product| &*product.label)
        .collect();
    names.join(" with ")
}

/// The tanks that the choices which hold, or may hold, would fill.
#[derive(Clone, Debug, Default)]
pub struct Wanted(pub Vec<Vec<ProductId>>);

impl Wanted {
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
pub fn shut(telling: &mut Telling<'_, '_>, case: &Case, wanted: &Wanted) -> Vec<Statement> {
    let plan = telling.scene.plan;
    let mut by_shutter: BTreeMap<(bool, Shutter), Vec<String>> = BTreeMap::new();
    for (products, shutter) in &case.shut {
        let aside = !wanted.names(products);
        by_shutter.entry((aside, *shutter)).or_default().push(products_words(plan, products));
    }
    by_shutter
        .into_iter()
        .map(|((aside, shutter), products)| {
            let role = if aside { Role::ShutBeside } else { Role::Shut };
            let products = products.join(", ");
            match shutter {
                Shutter::Gate(gate) => telling.gate(role, gate, &format!("{products} not allowed")),
                Shutter::Certified => {
                    let says = format!(
                        "{products} not allowed: this grove is certified organic, and not so classed"
                    );
                    Statement::new(role, "certified organic", plan.head.span, says)
                }
            }
        })
        .collect()
}

/// Tells of the gates that hold a product to a weaker strength.
///
/// Of a spray those count first that it uses; without one, those that were wanted.
pub fn held(telling: &mut Telling<'_, '_>, case: &Case, wanted: &Wanted) -> Vec<Statement> {
    let plan = telling.scene.plan;
    let ours = |product: ProductId| match &case.spray[..] {
        [] => wanted.names(&[product]),
        spray => spray.iter().any(|(one, _)| *one == product),
    };
    let mut by_gate: BTreeMap<(bool, GateId), Vec<String>> = BTreeMap::new();
    for (id, strength, gate) in &case.held {
        let Some(product) = plan.products.get(id.index()) else { continue };
        let strength = product.strengths.get(usize::from(*strength)).map_or("", |strength| &strength.shown);
        by_gate
            .entry((!ours(*id), *gate))
            .or_default()
            .push(format!("{} no stronger than {}", product.label, strength));
    }
    let tell = |((beside, gate), products): ((bool, GateId), Vec<String>)| {
        let role = if beside { Role::HeldBeside } else { Role::Held };
        telling.gate(role, gate, &products.join(", "))
    };
    by_gate.into_iter().map(tell).collect()
}

/// Tells of the gates of wanted products of which it is not known whether they speak.
pub fn open(telling: &mut Telling<'_, '_>, wanted: &Wanted) -> Vec<Statement> {
    let (plan, trace) = (telling.scene.plan, telling.trace);
    let mut found = Vec::new();
    for at in 0..plan.gates.len() as u32 {
        let products: Vec<ProductId> = wanted
            .products()
            .filter(|product| effect(plan, trace, GateId(at), *product) == Effect::Open)
            .collect();
        if !products.is_empty() {
            let names: Vec<String> =
                products.iter().map(|product| products_words(plan, &[*product])).collect();
            found.push(telling.gate(
                Role::Open,
                GateId(at),
                &format!("{} perhaps not allowed", names.join(", ")),
            ));
        }
    }
    found
}

/// Tells of the gates of the rulebook that speak but for one condition.
pub fn nearly(telling: &mut Telling<'_, '_>, case: &Case) -> Vec<Statement> {
    let plan = telling.scene.plan;
    let mut found = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        if gate.line.is_some() || gate.hours.is_some() || telling.trace.gates.get(at) != Some(&Truth::No) {
            continue;
        }
        let parts = parts(telling.scene, gate.condition.as_ref(), gate.unless.as_ref(), &telling.trace.cells);
        let Some(part) = only_failing(&parts) else { continue };
        let turns = matches!(part.test.subject, Subject::Name(name) if case.flips.iter().any(|flip| flip.name == name));
        if parts.len() < 2 && !turns {
            continue;
        }
        let says = format!(
            "{} still allowed; only this fails: {}",
            shuts_words(plan, gate),
            met(telling.scene, telling.values, part.test, part.sense)
        );
        let statement = Statement::new(Role::NearlyShut, format!("gate {}", gate.name), gate.span, says);
        found.push(statement.owing(plan, &gate.why));
    }
    found
}

/// Tells of the gates that shut hours for a product of the spray.
pub fn hours(telling: &mut Telling<'_, '_>, case: &Case) -> Vec<Statement> {
    let plan = telling.scene.plan;
    let mut found = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        let speaks = telling.trace.gates.get(at).copied().unwrap_or(Truth::No);
        let ours = case
            .spray
            .iter()
            .any(|(product, _)| gate.shuts.iter().any(|shut| shut_product(plan, shut, *product)));
        if gate.hours.is_none() || speaks == Truth::No || !ours {
            continue;
        }
        let lead = format!("{} not in hours when {}", shuts_words(plan, gate), hours_words(telling, gate));
        found.push(telling.gate(Role::Hours, GateId(at as u32), &lead));
    }
    found
}

/// Returns the author's words for the hours that a gate shuts.
fn hours_words(telling: &Telling<'_, '_>, gate: &Gate) -> String {
    let item = telling.scene.written(gate.span);
    let Some((_, words)) = item.split_once(" in hours when ") else {
        return "its condition holds".to_string();
    };
    let ends = [" if ", " unless ", " because \"", " cites "];
    let end = ends.iter().filter_map(|clause| words.find(clause)).min().unwrap_or(words.len());
    words.get(..end).unwrap_or(words).to_string()
}

/// Returns what a gate shuts or holds, in words.
fn shuts_words(plan: &Plan, gate: &Gate) -> String {
    let one = |shut: &Shut| match shut {
        Shut::Spraying => "spraying".to_string(),
        Shut::Group(group) => format!("group {group}"),
        Shut::Product(product) => products_words(plan, &[*product]),
        Shut::Mix(a, b) => products_words(plan, &[*a, *b]),
    };
    let held = gate.holds.iter().filter_map(|(product, strength)| {
        let product = plan.products.get(product.index())?;
        let above = product.strengths.get(usize::from(*strength))?;
        Some(format!("{} above {}", product.label, above.shown))
    });
    gate.shuts.iter().map(one).chain(held).collect::<Vec<_>>().join(", ")
}
