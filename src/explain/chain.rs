//! The chain of a verdict: choices, gates, what nearly was, with conditions and values.

use super::conditions::only_failing;
use super::{Basis, Claim, Item, Role, Statement, Telling, Values, gates};
use crate::advice::{Case, Spray};
use crate::plan::{Choice, ChoiceId, Plan, ProductId, SpeaksOf, Subject, Way};
use crate::trace::{Met, Truth, Verdict};

/// Returns the chain of a case, most important first.
///
/// Values that are not given are not said: the chain that trees share says conditions only.
pub fn chain(basis: &Basis<'_>, values: &Values, case: &Case) -> Vec<Statement> {
    let plan = basis.plan;
    let trace = &case.decision.trace;
    let mut telling = Telling::new(basis, values, trace);
    let wanted = wanted(plan, case);
    let mut chain = Vec::new();
    for id in &case.decision.choices {
        chain.push(telling.choice(Role::Choice, *id, advises(plan, case, *id)));
    }
    let met: Vec<(ChoiceId, &Choice, &Met)> = ids(plan)
        .zip(&plan.choices)
        .zip(&trace.choices)
        .map(|((id, choice), met)| (id, choice, met))
        .filter(|(id, _, _)| !case.decision.choices.contains(id))
        .collect();
    if case.decision.verdict == Verdict::Look {
        for (id, choice, met) in met.iter().filter(|(_, _, met)| is_open(met)) {
            let ways = choice.ways.clone();
            let claim =
                if met.holds == Truth::Yes { Claim::AdvisesOneOf(ways) } else { Claim::Perhaps(ways) };
            chain.push(telling.choice(Role::Open, *id, claim));
        }
        chain.extend(gates::open(&mut telling, &wanted));
    }
    chain.extend(gates::shut(&mut telling, case, &wanted));
    chain.extend(gates::held(&mut telling, case, &wanted));
    chain.extend(gates::hours(&mut telling, case));
    for (id, choice, _) in met.iter().filter(|(_, _, met)| met.holds == Truth::Yes && met.aside) {
        chain.push(telling.choice(Role::Aside, *id, Claim::Aside(choice.ways.clone())));
    }
    for (id, choice, met) in met.iter().filter(|(_, _, met)| met.holds == Truth::Yes && !met.aside) {
        if let Some(above) = met.outranked_by {
            let claim = Claim::Outranked(above, choice.ways.clone());
            chain.push(telling.choice(Role::Outranked, *id, claim));
        }
    }
    chain.extend(gates::nearly(&mut telling, case));
    for (id, choice, _) in met.iter().filter(|(_, _, met)| met.holds == Truth::No) {
        chain.extend(nearly_held(&telling, case, (*id, choice)));
    }
    for (at, task) in case.tasks.iter().filter_map(|at| Some((*at, plan.tasks.get(*at)?))) {
        chain.push(speaks(&mut telling, (Role::Task, Item::Task(at), Claim::Do), &task.speaks));
    }
    for (at, warning) in case.warnings.iter().filter_map(|at| Some((*at, plan.warnings.get(*at)?))) {
        chain.push(speaks(&mut telling, (Role::Warning, Item::Warning(at), Claim::Warn), &warning.speaks));
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
fn wanted(plan: &Plan, case: &Case) -> gates::WantedTanks {
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
    gates::WantedTanks(tanks)
}

/// Returns what a choice that led to the verdict advises, and why not an earlier alternative.
fn advises(plan: &Plan, case: &Case, id: ChoiceId) -> Claim {
    let ways = plan.choices.get(id.index()).map_or(&[][..], |choice| &choice.ways);
    let met = case.decision.trace.choices.get(id.index());
    let way = met.and_then(|met| met.way).and_then(|way| Some((way, ways.get(usize::from(way))?)));
    match way {
        None if case.decision.verdict == Verdict::AllShut || met.is_some_and(|met| met.aside) => {
            Claim::NoneAllowed(ways.to_vec())
        }
        None => Claim::AdvisesOneOf(ways.to_vec()),
        Some((place, way)) => {
            let held = match (way, &case.decision.verdict) {
                (Way::Spray(wanted), Verdict::Spray(_)) if !same_doses(wanted, &case.spray) => {
                    Some(case.spray.clone())
                }
                _ => None,
            };
            let instead_of = ways.iter().take(usize::from(place)).cloned().collect();
            Claim::Advises { way: way.clone(), held, instead_of }
        }
    }
}

fn same_doses(a: &Spray, b: &Spray) -> bool {
    a.len() == b.len() && a.iter().all(|dose| b.contains(dose))
}

fn nearly_held(
    telling: &Telling<'_, '_>,
    case: &Case,
    (id, choice): (ChoiceId, &Choice),
) -> Option<Statement> {
    let parts = telling.parts(choice.condition.as_ref(), choice.unless.as_ref());
    let part = only_failing(&parts)?;
    let turns = matches!(part.test.subject, Subject::Name(name) if case.tipping_points.iter().any(|point| point.name == name));
    if parts.len() < 2 && !turns && case.decision.verdict != Verdict::Uncovered {
        return None;
    }
    let claim = Claim::NearlyHolds(telling.compared(part));
    Some(Statement::new(Role::NearlyHeld, Item::Choice(id), choice.span, claim).owing(&choice.why))
}

fn speaks(
    telling: &mut Telling<'_, '_>,
    (role, item, claim): (Role, Item, Claim),
    of: &SpeaksOf,
) -> Statement {
    let from = telling.conditions(of.condition.as_ref(), of.unless.as_ref());
    Statement::new(role, item, of.span, claim).owing(&of.why).resting_on(from)
}
