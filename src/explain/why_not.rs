//! Why a product is not advised.

use super::gates::{Effect, effect};
use super::{Basis, Claim, Item, Role, Statement, Telling, Values};
use crate::advice::Case;
use crate::plan::{Choice, ChoiceId, GateId, ProductId, Way};
use crate::trace::{Met, Shutter, Truth};

/// Returns why a product is not advised: the gates that shut it, and what becomes of each choice that names it.
pub fn why_not(basis: &Basis<'_>, values: &Values, case: &Case, product: ProductId) -> Vec<Statement> {
    let plan = basis.plan;
    let Some(item) = plan.products.get(product.index()) else { return Vec::new() };
    let mut telling = Telling::new(basis, values, &case.decision.trace);
    let of_product =
        |role: Role, claim: Claim| Statement::new(role, Item::Product(product), item.span, claim);
    if case.spray.iter().any(|(one, _)| *one == product) {
        return vec![of_product(Role::Choice, Claim::InSpray(case.spray.clone())).owing(&item.why)];
    }
    let mut found = Vec::new();
    for id in (0..plan.gates.len() as u32).map(GateId) {
        match effect(plan, telling.trace, id, product) {
            Effect::Shuts => {
                let claim = Claim::Shut(vec![vec![product]], Shutter::Gate(id));
                found.push(telling.gate(Role::Shut, id, claim));
            }
            Effect::Open => found.push(telling.gate(Role::Open, id, Claim::PerhapsShut(vec![product]))),
            Effect::Holds(_) | Effect::Nothing => {}
        }
    }
    if case.shut.iter().any(|(products, by)| *by == Shutter::Certified && products[..] == [product]) {
        let claim = Claim::Shut(vec![vec![product]], Shutter::Certified);
        found.push(Statement::new(Role::Shut, Item::Certified, item.span, claim));
    }
    let mut named = false;
    for (at, choice) in plan.choices.iter().enumerate() {
        let place = choice.ways.iter().position(|way| names(way, product));
        let (Some(place), Some(met)) = (place, telling.trace.choices.get(at)) else { continue };
        named = true;
        let id = ChoiceId(at as u32);
        found.push(match of_choice(choice, met, place) {
            Some((role, claim)) => telling.choice(role, id, claim),
            None => not_held(&mut telling, (id, choice)),
        });
    }
    if !named {
        found.push(of_product(Role::NearlyHeld, Claim::NeverNamed));
    }
    found
}

/// Returns what became of a choice that names a product at a place; nothing of one that does not hold.
fn of_choice(choice: &Choice, met: &Met, place: usize) -> Option<(Role, Claim)> {
    Some(match (met.holds, met.outranked_by, met.way) {
        (Truth::No, _, _) => return None,
        (_, Some(above), _) => (Role::Outranked, Claim::WouldGiveWay(above)),
        (Truth::Open, None, _) => (Role::Open, Claim::WouldPerhaps),
        (Truth::Yes, None, Some(way)) if usize::from(way) < place => {
            let first = choice.ways.get(usize::from(way)).cloned().unwrap_or(Way::Hold);
            (Role::Choice, Claim::NamedAfter(first))
        }
        (Truth::Yes, None, _) if met.aside => (Role::Aside, Claim::NamedAside),
        (Truth::Yes, None, _) => (Role::Choice, Claim::Named),
    })
}

/// Tells of a choice that does not hold, with the conditions that fail.
fn not_held(telling: &mut Telling<'_, '_>, (id, choice): (ChoiceId, &Choice)) -> Statement {
    let parts = telling.parts(choice.condition.as_ref(), choice.unless.as_ref());
    let failing: Vec<_> = parts.iter().filter(|part| part.truth == Truth::No).collect();
    let claim = Claim::WouldAdvise(failing.iter().map(|part| telling.compared(part)).collect());
    let from = failing.into_iter().map(|part| telling.part(part)).collect();
    Statement::new(Role::NearlyHeld, Item::Choice(id), choice.span, claim).owing(&choice.why).resting_on(from)
}

fn names(way: &Way, product: ProductId) -> bool {
    match way {
        Way::Hold => false,
        Way::Spray(doses) => doses.iter().any(|(one, _)| *one == product),
    }
}
