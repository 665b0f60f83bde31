//! What a gate shuts, and to what amounts it holds products, beside what it did.

use super::ItemDirection;
use super::meanings::{BookItem, Role};
use crate::plan::{Gate, Plan, Product, ProductId, Shut};
use crate::prove::compare::causes::held;
use std::collections::{BTreeMap, BTreeSet};

/// Returns which way a gate moved that speaks where it did; nothing where that cannot be said.
pub(crate) fn direction(
    plans: [&Plan; 2],
    (was, now): (&BookItem<'_>, &BookItem<'_>),
) -> Option<ItemDirection> {
    let gates = [gate(plans[0], was)?, gate(plans[1], now)?];
    let [shut, shuts] = [0, 1].map(|book| shuts(plans[book], gates[book]));
    let [before, after] = [0, 1].map(|book| amounts(plans[book], gates[book]));
    let covers = |one: &Amounts, other: &Amounts| {
        other.iter().all(|(product, (most, _))| one.get(product).is_some_and(|(held, _)| held <= most))
    };
    match (
        shuts.is_superset(&shut) && covers(&after, &before),
        shut.is_superset(&shuts) && covers(&before, &after),
    ) {
        (true, false) => Some(ItemDirection::Stricter),
        (false, true) => Some(ItemDirection::Looser),
        (true, true) | (false, false) => None,
    }
}

/// Returns what a gate held to and holds to in words, where that alone differs.
pub(crate) fn words(
    plans: [&Plan; 2],
    (was, now): (&BookItem<'_>, &BookItem<'_>),
) -> Option<(String, String)> {
    let gates = [gate(plans[0], was)?, gate(plans[1], now)?];
    let both = [0, 1].map(|book| held(plans[book], gates[book]));
    if shuts(plans[0], gates[0]) != shuts(plans[1], gates[1]) || both[0] == both[1] {
        return None;
    }
    let amounts = [0, 1].map(|book| amounts(plans[book], gates[book]));
    let products: BTreeSet<&String> = both.iter().flat_map(BTreeMap::keys).collect();
    let differ: Vec<&String> =
        products.into_iter().filter(|it| both[0].get(*it) != both[1].get(*it)).collect();
    let say = |of: &Amounts| {
        let one = |product: &&String| match of.get(*product) {
            Some((_, written)) => format!("{product} held to {written}"),
            None => format!("{product} not held"),
        };
        differ.iter().map(one).collect::<Vec<String>>().join(", ")
    };
    Some((say(&amounts[0]), say(&amounts[1])))
}

/// What products are held to: the amount, and how it is written.
type Amounts = BTreeMap<String, (f64, String)>;

fn amounts(plan: &Plan, gate: &Gate) -> Amounts {
    let of = |(product, at): &(ProductId, u8)| {
        let of = &plan[*product];
        let amount = &of.strengths.get(usize::from(*at))?.amount;
        Some((of.name.to_string(), (crate::units::clean(amount.quantity), amount.written.to_string())))
    };
    gate.holds.iter().filter_map(of).collect()
}

fn gate<'p>(plan: &'p Plan, item: &BookItem<'_>) -> Option<&'p Gate> {
    match item.role {
        Role::Gate(at) | Role::HourGate(at) => plan.gates.get(at),
        _ => None,
    }
}

/// Returns what a gate shuts, by names that two rulebooks share: each product, and each mix of two.
fn shuts(plan: &Plan, gate: &Gate) -> BTreeSet<BTreeSet<String>> {
    let name = |product: &ProductId| plan[*product].name.to_string();
    let alone = |is: &dyn Fn(&Product) -> bool| -> Vec<BTreeSet<String>> {
        plan.products.iter().filter(|it| is(it)).map(|it| BTreeSet::from([it.name.to_string()])).collect()
    };
    let of = |shut: &Shut| match shut {
        Shut::Spraying => alone(&|_| true),
        Shut::Group(group) => alone(&|it| it.groups.contains(group)),
        Shut::Product(product) => vec![BTreeSet::from([name(product)])],
        Shut::Mix(a, b) => vec![[name(a), name(b)].into_iter().collect()],
    };
    gate.shuts.iter().flat_map(of).collect()
}
