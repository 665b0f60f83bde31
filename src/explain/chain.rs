//! The chain of a verdict: choices, gates, what nearly was, with conditions and values.

use super::conditions::only_failing;
use super::phrase::met;
use super::{Role, Scene, Statement, Telling, Values, gates};
use crate::advice::{Case, Spray};
use crate::plan::{Choice, ChoiceId, Plan, ProductId, SpeaksOf, Subject, Way};
use crate::trace::{Met, Truth, Verdict};

/// Returns the chain of a case, most important first.
///
/// Values that are not given are not said: the chain that trees share says conditions only.
pub fn chain(scene: &Scene<'_>, values: &Values, case: &Case) -> Vec<Statement> {
    let plan = scene.plan;
    let trace = &case.decision.trace;
    let mut telling = Telling::new(scene, values, trace);
    let wanted = wanted(plan, case);
    let mut chain = Vec::new();
    for id in &case.decision.choices {
        let says = advises(plan, case, *id);
        chain.push(telling.choice(Role::Choice, *id, says));
    }
    let met: Vec<(ChoiceId, &Choice, &Met)> = ids(plan)
        .zip(&plan.choices)
        .zip(&trace.choices)
        .map(|((id, choice), met)| (id, choice, met))
        .filter(|(id, _, _)| !case.decision.choices.contains(id))
        .collect();
    if case.decision.verdict == Verdict::Look {
        for (id, _, _) in met.iter().filter(|(_, _, met)| is_open(met)) {
            let says = format!("perhaps {}", ways_words(plan, *id));
            chain.push(telling.choice(Role::Open, *id, says));
        }
        chain.extend(gates::open(&mut telling, &wanted));
    }
    chain.extend(gates::shut(&mut telling, case, &wanted));
    chain.extend(gates::held(&mut telling, case, &wanted));
    chain.extend(gates::hours(&mut telling, case));
    for (id, _, _) in met.iter().filter(|(_, _, met)| met.holds == Truth::Yes && met.aside) {
        let says = format!("holds and steps aside: {} not allowed", ways_words(plan, *id));
        chain.push(telling.choice(Role::Aside, *id, says));
    }
    for (id, _, met) in met.iter().filter(|(_, _, met)| met.holds == Truth::Yes && !met.aside) {
        if let Some(above) = met.outranked_by.and_then(|above| plan.choices.get(above.index())) {
            let says = format!("holds and gives way to {}: {}", above.label, ways_words(plan, *id));
            chain.push(telling.choice(Role::Outranked, *id, says));
        }
    }
    chain.extend(gates::nearly(&mut telling, case));
    for (_, choice, _) in met.iter().filter(|(_, _, met)| met.holds == Truth::No) {
        chain.extend(nearly_held(&telling, case, choice));
    }
    for task in case.tasks.iter().filter_map(|at| plan.tasks.get(*at)) {
        let item = (Role::Task, format!("task {}", task.name), task.does.to_string());
        chain.push(speaks(&mut telling, item, &task.speaks));
    }
    for warning in case.warnings.iter().filter_map(|at| plan.warnings.get(*at)) {
        let item = (Role::Warning, format!("warning {}", warning.name), warning.says.to_string());
        chain.push(speaks(&mut telling, item, &warning.speaks));
    }
    chain
}

fn ids(plan: &Plan) -> impl Iterator<Item = ChoiceId> {
    (0..plan.choices.len() as u32).map(ChoiceId)
}

/// Returns whether it is not known what becomes of a choice.
fn is_open(met: &Met) -> bool {
    match met.holds {
        Truth::Open => met.outranked_by.is_none(),
        Truth::Yes => !met.aside && met.way.is_none() && met.outranked_by.is_none(),
        Truth::No => false,
    }
}

/// Returns the tanks that the choices which hold, or may hold, would fill.
fn wanted(plan: &Plan, case: &Case) -> gates::Wanted {
    let mut tanks: Vec<Vec<ProductId>> = Vec::new();
    for (choice, met) in plan.choices.iter().zip(&case.decision.trace.choices) {
        if met.holds == Truth::No || met.outranked_by.is_some() {
            continue;
        }
        for way in &choice.ways {
            if let Way::Spray(doses) = way {
                tanks.push(doses.iter().map(|(product, _)| *product).collect());
            }
        }
    }
    gates::Wanted(tanks)
}

/// Returns what a choice that led to the verdict advises, and why not an earlier alternative.
fn advises(plan: &Plan, case: &Case, id: ChoiceId) -> String {
    let Some(choice) = plan.choices.get(id.index()) else { return String::new() };
    let met = case.decision.trace.choices.get(id.index());
    let way = met.and_then(|met| met.way).and_then(|way| Some((way, choice.ways.get(usize::from(way))?)));
    match way {
        None if case.decision.verdict == Verdict::AllShut || met.is_some_and(|met| met.aside) => {
            format!("holds, and none of its alternatives is allowed: {}", ways_words(plan, id))
        }
        None => format!("advises {}", ways_words(plan, id)),
        Some((place, way)) => {
            let before: Vec<String> =
                choice.ways.iter().take(usize::from(place)).map(|way| way_words(plan, way)).collect();
            let instead = if before.is_empty() {
                String::new()
            } else {
                format!(", since {} not allowed", and_are(&before))
            };
            let held = match (way, &case.decision.verdict) {
                (Way::Spray(wanted), Verdict::Spray(_)) if !same_doses(wanted, &case.spray) => {
                    format!(", held to {}", dose_words(plan, &case.spray))
                }
                _ => String::new(),
            };
            format!("advises {}{held}{instead}", way_words(plan, way))
        }
    }
}

fn same_doses(a: &Spray, b: &Spray) -> bool {
    a.len() == b.len() && a.iter().all(|dose| b.contains(dose))
}

fn and_are(list: &[String]) -> String {
    match list {
        [] => String::new(),
        [one] => format!("{one} is"),
        [first @ .., last] => format!("{} and {last} are", first.join(", ")),
    }
}

/// Returns the alternatives of a choice in words.
fn ways_words(plan: &Plan, id: ChoiceId) -> String {
    let Some(choice) = plan.choices.get(id.index()) else { return String::new() };
    choice.ways.iter().map(|way| way_words(plan, way)).collect::<Vec<_>>().join(", or else ")
}

fn way_words(plan: &Plan, way: &Way) -> String {
    match way {
        Way::Hold => "not to spray".to_string(),
        Way::Spray(doses) => dose_words(plan, doses),
    }
}

/// Returns doses in a reader's words: `copper at reduced with sulfur at low`.
pub fn dose_words(plan: &Plan, doses: &Spray) -> String {
    let one = |(product, strength): &(ProductId, u8)| {
        let product = plan.products.get(product.index())?;
        let strength = product.strengths.get(usize::from(*strength))?;
        Some(format!("{} at {}", product.label, strength.shown))
    };
    doses.iter().filter_map(one).collect::<Vec<_>>().join(" with ")
}

fn nearly_held(telling: &Telling<'_, '_>, case: &Case, choice: &Choice) -> Option<Statement> {
    let parts = telling.parts(choice.condition.as_ref(), choice.unless.as_ref());
    let part = only_failing(&parts)?;
    let turns =
        matches!(part.test.subject, Subject::Name(name) if case.flips.iter().any(|flip| flip.name == name));
    if parts.len() < 2 && !turns && case.decision.verdict != Verdict::Uncovered {
        return None;
    }
    let says = format!(
        "nearly holds; only this fails: {}",
        met(telling.scene, telling.values, part.test, part.sense)
    );
    let statement = Statement::new(Role::NearlyHeld, format!("choice {}", choice.name), choice.span, says);
    Some(statement.owing(telling.scene.plan, &choice.why))
}

fn speaks(
    telling: &mut Telling<'_, '_>,
    (role, item, says): (Role, String, String),
    of: &SpeaksOf,
) -> Statement {
    let from = telling.conditions(of.condition.as_ref(), of.unless.as_ref());
    Statement::new(role, item, of.span, says).owing(telling.scene.plan, &of.why).resting_on(from)
}
