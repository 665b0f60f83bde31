//! One situation worked out: the verdict of all that it leaves open, and what holds whatever is found out.
//!
//! Comes in: a tree's values, and the walk through what is not known of it. Goes out: a [`Case`]. Knows not which
//! trees share it.

use super::needs::{self, Questions};
use super::worlds::{Gauge, TooMany, WorldNode, WorldWalk};
use super::{Case, Need, Spray, tipping};
use crate::decide::{Logic, Weighed};
use crate::measure::{Gauged, WorldInput};
use crate::plan::{ChoiceId, GateId, NameId, Place, Plan, ProductId, Way};
use crate::situation::{CellSet, Cells};
use crate::trace::{Decision, Shutter, Trace, Truth, Verdict};

/// How many worlds are looked at for one question before it counts as open.
const WORLDS: u32 = 1_000;

/// What the walk of all that is not known of a tree leads to.
pub struct Walked {
    verdict: Verdict,
    choices: Vec<ChoiceId>,
    /// Of a hold whether in some of the states of the world it is none that a choice advises.
    shut_in_some: bool,
    asked: Questions,
}

/// How much of a case is worked out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Depth {
    /// The verdict, the choices that lead to it, and whether it waits for weather.
    Verdict,
    /// What was met on the way to it too, so that it can be explained.
    Reasons,
    /// All: also what is asked, what each answer leads to, and what would change it.
    Whole,
}

/// Walks all that is not known of a tree: the one verdict to which all of it leads, or to look, and what is asked then.
pub fn walked(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode, depth: Depth) -> Walked {
    let mut walked = settle(walk, gauge, root);
    if walked.verdict == Verdict::Look {
        if depth == Depth::Whole {
            walked.asked = needs::questions(walk, gauge, root);
        } else if walk.everything_open(gauge, root).iter().flatten().any(|need| *need == Need::Weather) {
            walked.asked.needs.push(Need::Weather);
        }
    }
    walked
}

/// Works out a situation.
pub fn work_out(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    walked: &Walked,
    depth: Depth,
) -> Case {
    let turns = depth == Depth::Whole && walked.verdict != Verdict::Look;
    let mut decision = Decision {
        verdict: walked.verdict.clone(),
        choices: walked.choices.clone(),
        trace: walk.weighed(root).into_trace(walk.rules),
    };
    if depth > Depth::Verdict {
        decision.trace = refined(walk, gauge, root, decision.trace);
    }
    if decision.verdict == Verdict::AllShut {
        // Choices of which it is not known whether they hold are named only where none is known to.
        let holds =
            |it: &ChoiceId| decision.trace.choices.get(it.index()).is_some_and(|met| met.holds == Truth::Yes);
        if decision.choices.iter().any(holds) {
            decision.choices.retain(holds);
        }
    }
    let trace = &decision.trace;
    let all = |truths: &[Truth]| {
        truths.iter().enumerate().filter(|(_, it)| **it == Truth::Yes).map(|(at, _)| at).collect::<Vec<_>>()
    };
    let (mut tasks, mut warnings) = (all(&trace.tasks), all(&trace.warnings));
    tasks.sort_by_key(|at| walk.plan.tasks.get(*at).map(|task| &task.name));
    warnings.sort_by_key(|at| walk.plan.warnings.get(*at).map(|warning| &warning.name));
    Case {
        spray: in_author_order(walk.plan, &decision),
        shut_between: shut_between(walk, &decision),
        shut: shut(walk, trace),
        held: held(walk, trace),
        needs: walked.asked.needs.clone(),
        answers: walked.asked.answers.clone(),
        answers_are: walked.asked.answers_are,
        safe: walked.asked.safe.clone(),
        tipping_points: if turns {
            tipping::points(walk, gauge, root, &decision.verdict)
        } else {
            Vec::new()
        },
        rests_on: if turns { rests_on(walk, gauge, root, &decision.verdict) } else { Vec::new() },
        tasks,
        warnings,
        shut_in_some: walked.shut_in_some,
        decision,
    }
}

/// Decides a tree: the one verdict of all its worlds, or to look.
fn settle(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode) -> Walked {
    let weighed = walk.weighed(root);
    let asked = Questions::default();
    if let Some((verdict, choices)) = weighed.verdict(walk.rules) {
        return Walked { verdict, choices, shut_in_some: false, asked };
    }
    walk.budget.set(WORLDS);
    if let Ok(leads) = walk.leads(gauge, root)
        && leads.one().is_some()
    {
        // A hold that is advised in some worlds is told by what advises it, not by what would spray if it were allowed.
        let advised = leads.ends.iter().find(|(verdict, _)| *verdict != Verdict::AllShut);
        if let Some((verdict, choices)) = advised.or(leads.ends.first()) {
            let (verdict, mut choices) = (verdict.clone(), choices.clone());
            choices.sort_by(|a, b| walk.plan[*a].name.cmp(&walk.plan[*b].name));
            return Walked { verdict, choices, shut_in_some: leads.ends.len() > 1, asked };
        }
    }
    Walked { verdict: Verdict::Look, choices: Vec::new(), shut_in_some: false, asked }
}

/// Returns a trace in which what holds in every state of the world holds, also where its parts are open.
fn refined(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode, trace: Trace) -> Trace {
    let open = |truths: &[Truth]| truths.contains(&Truth::Open);
    let fits = || walk.rules.products.iter().flat_map(|product| &product.fits).map(|(_, name)| *name);
    let several = |name: NameId| trace.cells.get(name.index()).is_some_and(|cells| cells.only().is_none());
    let choices: Vec<Truth> = trace.choices.iter().map(|met| met.holds).collect();
    let lists = [&trace.gates, &choices, &trace.tasks, &trace.warnings];
    if !lists.into_iter().any(|truths| open(truths)) && !fits().any(several) {
        return trace;
    }
    let truth = |known: &Truth, logic: &Logic| {
        if *known != Truth::Open {
            return *known;
        }
        walk.budget.set(WORLDS);
        walk.truth(gauge, root, logic).unwrap_or(Truth::Open)
    };
    let truths = |known: &[Truth], logics: &[Logic]| -> Vec<Truth> {
        known.iter().zip(logics).map(|(known, logic)| truth(known, logic)).collect()
    };
    let gates = truths(&trace.gates, &walk.rules.gates);
    let choices = truths(&choices, &walk.rules.choices);
    let (tasks, warnings) =
        (truths(&trace.tasks, &walk.rules.tasks), truths(&trace.warnings, &walk.rules.warnings));
    let mut cells = root.cells.clone();
    for name in fits().filter(|name| several(*name)) {
        let Some(slot) = cells.get_mut(name.index()) else { continue };
        let can_be = |cell: &u16| truth(&Truth::Open, &Logic::Test(name, Cells::one(*cell))) != Truth::No;
        if let Some(left) = CellSet::new(slot.iter().filter(can_be).collect()) {
            *slot = left;
        }
    }
    let weighed = Weighed::new(walk.plan, walk.rules, cells).knowing(walk.plan, walk.rules, gates, choices);
    Trace { tasks, warnings, ..weighed.into_trace(walk.rules) }
}

/// Returns the assumed values without which the verdict would not be sure to be the same: each that turns it alone, or
/// all where only several together do.
fn rests_on(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode, verdict: &Verdict) -> Vec<NameId> {
    let assumed = assumed_leaves(walk.plan, &root.gauged);
    let without = |leaves: &[WorldInput]| -> Result<Option<Verdict>, TooMany> {
        walk.budget.set(WORLDS);
        let node = leaves.iter().fold(root.clone(), |node, leaf| {
            walk.fixed(gauge, &node, *leaf, tipping::whole_range(walk.plan, leaf.name()))
        });
        walk.one(gauge, node)
    };
    let turns = |leaves: &[WorldInput]| without(leaves) != Ok(Some(verdict.essence()));
    if assumed.is_empty() || !turns(&assumed) {
        return Vec::new();
    }
    let alone: Vec<WorldInput> = assumed.iter().copied().filter(|leaf| turns(&[*leaf])).collect();
    let named = if alone.is_empty() { assumed } else { alone };
    let mut names: Vec<NameId> = named.into_iter().map(WorldInput::name).collect();
    names.sort_by(|a, b| walk.plan[*a].word.cmp(&walk.plan[*b].word));
    names.dedup();
    names
}

/// Returns the observations that are assumed, those of panicles in each of their groups.
fn assumed_leaves(plan: &Plan, gauged: &Gauged) -> Vec<WorldInput> {
    let assuming = plan.named().filter(
        |(_, name)| matches!(&name.origin, crate::plan::Origin::Observed(seen) if seen.assume.is_some()),
    );
    let is = |readings: &[crate::measure::Reading], id: NameId| {
        readings.get(id.index()).is_some_and(|reading| reading.assumed)
    };
    let mut found = Vec::new();
    for (id, name) in assuming {
        if name.scope == Place::Panicles {
            let groups = gauged.groups.iter().enumerate().filter(|(_, group)| is(&group.names, id));
            found.extend(groups.map(|(at, _)| WorldInput::InGroup(at, id)));
        } else if is(&gauged.names, id) {
            found.push(WorldInput::Name(id));
        }
    }
    found
}

/// Returns the spray of a verdict in the order in which its choice names the products.
fn in_author_order(plan: &Plan, decision: &Decision) -> Spray {
    let Verdict::Spray(doses) = &decision.verdict else { return Vec::new() };
    let way = decision.choices.iter().find_map(|choice| {
        let place = decision.trace.choices.get(choice.index())?.way?;
        plan[*choice].ways.get(usize::from(place))
    });
    match way {
        Some(Way::Spray(order)) => {
            let dose = |product: &ProductId| doses.iter().find(|(it, _)| it == product).copied();
            order.iter().filter_map(|(product, _)| dose(product)).collect()
        }
        Some(Way::Hold) | None => doses.clone(),
    }
}

/// Returns, where all is shut, what would be chosen and no one gate certainly shuts, with the gates of which one does.
fn shut_between(walk: &WorldWalk<'_>, decision: &Decision) -> Vec<(Vec<ProductId>, Vec<GateId>)> {
    if decision.verdict != Verdict::AllShut {
        return Vec::new();
    }
    let trace = &decision.trace;
    let shut = shut(walk, trace);
    let ways = decision.choices.iter().flat_map(|choice| &walk.plan[*choice].ways);
    let mut between = Vec::new();
    for way in ways {
        let Way::Spray(doses) = way else { continue };
        let tank: Vec<ProductId> = doses.iter().map(|(product, _)| *product).collect();
        let has = |products: &[ProductId]| products.iter().all(|product| tank.contains(product));
        if shut.iter().any(|(products, _)| has(products)) {
            continue;
        }
        let open = |gate: GateId| trace.gates.get(gate.index()) == Some(&Truth::Open);
        let of_products = tank.iter().filter_map(|product| walk.rules.products.get(product.index()));
        let alone = of_products.flat_map(|product| {
            let speaks = product.shut_by.iter().filter_map(|shutter| match shutter {
                Shutter::Gate(gate) => Some(*gate).filter(|gate| open(*gate)),
                Shutter::Certified => None,
            });
            let touches = |name: NameId| trace.cells.get(name.index()).is_some_and(|it| it.contains(0));
            speaks.chain(product.fits.iter().filter(move |(_, name)| touches(*name)).map(|(gate, _)| *gate))
        });
        let mixes = walk.rules.mixes.iter().filter(|(gate, a, b)| open(*gate) && has(&[*a, *b]));
        let mut gates: Vec<GateId> = alone.chain(mixes.map(|(gate, _, _)| *gate)).collect();
        gates.sort_by_key(|gate| &walk.plan[*gate].name);
        gates.dedup();
        between.push((tank, gates));
    }
    between.sort();
    between.dedup();
    between
}

/// Returns every product or mix that a gate certainly shuts, with the gate.
fn shut(walk: &WorldWalk<'_>, trace: &Trace) -> Vec<(Vec<ProductId>, Shutter)> {
    let mut shut = Vec::new();
    let speaks = |gate: GateId| trace.gates.get(gate.index()) == Some(&Truth::Yes);
    for (at, product) in walk.rules.products.iter().enumerate() {
        let id = ProductId(at as u32);
        let sure = product.shut_by.iter().filter(|shutter| match shutter {
            Shutter::Gate(gate) => speaks(*gate),
            Shutter::Certified => true,
        });
        shut.extend(sure.map(|shutter| (vec![id], *shutter)));
        let none_fits = product
            .fits
            .iter()
            .filter(|(_, name)| trace.cells.get(name.index()).is_some_and(|cells| cells.only() == Some(0)));
        shut.extend(none_fits.map(|(gate, _)| (vec![id], Shutter::Gate(*gate))));
    }
    let mixes = walk.rules.mixes.iter().filter(|(gate, _, _)| speaks(*gate));
    shut.extend(mixes.map(|(gate, a, b)| (vec![*a, *b], Shutter::Gate(*gate))));
    let gate = |shutter: &Shutter| match shutter {
        Shutter::Gate(gate) => Some(&walk.plan[*gate].name),
        Shutter::Certified => None,
    };
    let name = |product: &ProductId| &walk.plan[*product].name;
    shut.sort_by(|(a, by), (b, other)| {
        (a.len(), a.iter().map(name).collect::<Vec<_>>(), gate(by)).cmp(&(
            b.len(),
            b.iter().map(name).collect::<Vec<_>>(),
            gate(other),
        ))
    });
    shut.dedup();
    shut
}

/// Returns every product that a gate certainly holds to a strength, with the gate.
fn held(walk: &WorldWalk<'_>, trace: &Trace) -> Vec<(ProductId, u8, GateId)> {
    let mut held = Vec::new();
    for (at, product) in walk.rules.products.iter().enumerate() {
        let id = ProductId(at as u32);
        let strongest = walk.plan.products.get(at).map_or(0, |it| it.strengths.len().saturating_sub(1)) as u8;
        let sure =
            product.held_by.iter().filter(|(gate, _)| trace.gates.get(gate.index()) == Some(&Truth::Yes));
        held.extend(sure.map(|(gate, strength)| (id, *strength, *gate)));
        for (gate, name) in &product.fits {
            let most = trace.cells.get(name.index()).and_then(|cells| cells.iter().last());
            if let Some(most) = most.filter(|most| *most > 0 && most - 1 < u16::from(strongest)) {
                held.push((id, (most - 1) as u8, *gate));
            }
        }
    }
    held.sort_by_key(|(product, strength, gate)| {
        (&walk.plan[*product].name, *strength, &walk.plan[*gate].name)
    });
    held
}
