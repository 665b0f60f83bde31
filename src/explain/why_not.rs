//! Why a product is not advised.

use super::gates::{Effect, effect};
use super::{Role, Scene, Statement, Telling, Values};
use crate::advice::Case;
use crate::plan::{Choice, ChoiceId, GateId, ProductId, Way};
use crate::trace::{Shutter, Truth};

/// Returns why a product is not advised: the gates that shut it, and what becomes of each choice that names it.
pub fn why_not(scene: &Scene<'_>, values: &Values, case: &Case, product: ProductId) -> Vec<Statement> {
    let plan = scene.plan;
    let Some(item) = plan.products.get(product.index()) else { return Vec::new() };
    let mut telling = Telling::new(scene, values, &case.decision.trace);
    let name = format!("product {}", item.name);
    if case.spray.iter().any(|(one, _)| *one == product) {
        let says = format!("{} is advised: {}", item.label, scene.words().doses(&case.spray));
        return vec![Statement::new(Role::Choice, name, item.span, says).owing(scene, &item.why)];
    }
    let mut found = Vec::new();
    for at in 0..plan.gates.len() as u32 {
        match effect(plan, telling.trace, GateId(at), product) {
            Effect::Shuts => {
                let lead = format!("{} not allowed", item.label);
                found.push(telling.gate(Role::Shut, GateId(at), &lead));
            }
            Effect::Open => {
                let lead = format!("{} perhaps not allowed", item.label);
                found.push(telling.gate(Role::Open, GateId(at), &lead));
            }
            Effect::Holds(_) | Effect::Nothing => {}
        }
    }
    if case.shut.iter().any(|(products, by)| *by == Shutter::Certified && products[..] == [product]) {
        let says =
            format!("{} not allowed: this grove is certified organic, and it is not so classed", item.label);
        found.push(Statement::new(Role::Shut, "certified organic", item.span, says));
    }
    let mut named = false;
    for (at, choice) in plan.choices.iter().enumerate() {
        let place = choice.ways.iter().position(|way| names(way, product));
        let (Some(place), Some(met)) = (place, telling.trace.choices.get(at)) else { continue };
        named = true;
        let id = ChoiceId(at as u32);
        let above = met.outranked_by.and_then(|above| plan.choices.get(above.index()));
        let (role, says) = match (met.holds, above, met.way) {
            (Truth::No, _, _) => (Role::NearlyHeld, "would advise it, and does not hold".to_string()),
            (_, Some(above), _) => {
                (Role::Outranked, format!("would advise it, and gives way to {}", above.label))
            }
            (Truth::Open, None, _) => {
                (Role::Open, "would advise it; whether it holds is not known".to_string())
            }
            (Truth::Yes, None, Some(way)) if usize::from(way) < place => {
                let first = choice.ways.get(usize::from(way));
                let instead = match first {
                    Some(Way::Spray(doses)) => scene.words().doses(doses),
                    Some(Way::Hold) | None => "not to spray".to_string(),
                };
                (Role::Choice, format!("holds, and names it only after {instead}, which is allowed"))
            }
            (Truth::Yes, None, _) if met.aside => {
                (Role::Aside, "holds and steps aside, since none of its alternatives is allowed".to_string())
            }
            (Truth::Yes, None, _) => (Role::Choice, "holds, and names it among its alternatives".to_string()),
        };
        if met.holds == Truth::No {
            found.push(not_held(&mut telling, choice, says));
        } else {
            found.push(telling.choice(role, id, says));
        }
    }
    if !named {
        let says = format!("no choice of this guide ever advises {}", item.label);
        found.push(Statement::new(Role::NearlyHeld, name, item.span, says));
    }
    found
}

/// Tells of a choice that does not hold, with the conditions that fail.
fn not_held(telling: &mut Telling<'_, '_>, choice: &Choice, says: String) -> Statement {
    let parts = telling.parts(choice.condition.as_ref(), choice.unless.as_ref());
    let failing: Vec<Statement> =
        parts.iter().filter(|part| part.truth == Truth::No).map(|part| telling.part(part)).collect();
    let words: Vec<&str> = failing.iter().map(|part| &*part.says).collect();
    let says = format!("{says}: {}", words.join("; "));
    let item = format!("choice {}", choice.name);
    Statement::new(Role::NearlyHeld, item, choice.span, says)
        .owing(telling.scene, &choice.why)
        .resting_on(failing)
}

fn names(way: &Way, product: ProductId) -> bool {
    match way {
        Way::Hold => false,
        Way::Spray(doses) => doses.iter().any(|(one, _)| *one == product),
    }
}
