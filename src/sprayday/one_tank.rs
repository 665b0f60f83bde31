//! One mix for everything: which single mix is allowed on most trees, and what is lost by it.
//!
//! Comes in: the advice, the trees that are to be sprayed. Goes out: the mix that is certainly allowed on most of them.
//! Decides nothing anew: what a gate shuts or holds stands in each tree's trace.

use crate::advice::{Advice, Case, Spray};
use crate::decide::{Allowed, Rules};
use crate::grove::Grove;
use crate::plan::{DiseaseId, Goodness, Plan, Product, ProductId};
use crate::trace::Truth;

/// A single mix for all trees, and what is lost by it.
#[derive(Clone, PartialEq, Debug)]
pub struct OneTank {
    /// The mix.
    pub spray: Spray,
    /// The trees on which it is allowed, in walking order.
    pub allowed: Vec<usize>,
    /// The trees on which it is not allowed, or not certainly.
    pub left_out: Vec<usize>,
    /// For each disease the trees that should be protected from it, and by this mix are not.
    pub unguarded: Vec<(DiseaseId, Vec<usize>)>,
    /// The trees that get a product that is not advised for them.
    pub needless: Vec<usize>,
}

impl OneTank {
    /// Returns on how many trees it is allowed and leaves nothing unguarded.
    pub fn serves(&self) -> usize {
        let lost = |tree: &&usize| self.unguarded.iter().any(|(_, trees)| trees.contains(tree));
        self.allowed.iter().filter(|tree| !lost(tree)).count()
    }
}

/// Finds the single mix that is allowed on most trees, and, where that is another, the one with the least lost: that
/// guards most trees from all that they should be guarded from. None where all trees get the same mix anyway.
pub fn one_tank(plan: &Plan, rules: &Rules, advice: &Advice, trees: &[usize]) -> Vec<OneTank> {
    let case = |tree: usize| advice.trees.get(tree).and_then(|it| advice.case_of(it));
    let mut candidates: Vec<Spray> = Vec::new();
    for spray in trees.iter().filter_map(|tree| case(*tree)).map(|case| &case.spray) {
        let singly = spray.iter().map(|dose| vec![*dose]);
        for candidate in std::iter::once(spray.clone()).chain(singly) {
            if !candidates.contains(&candidate) {
                candidates.push(candidate);
            }
        }
    }
    let advised = |spray: &Spray| trees.iter().all(|tree| case(*tree).is_some_and(|it| it.spray == *spray));
    if candidates.iter().any(advised) {
        return Vec::new();
    }
    let weigh = |spray: Spray| {
        let tree_case = |tree: &usize| case(*tree).map(|case| (*tree, case));
        let cases: Vec<(usize, &Case)> = trees.iter().filter_map(tree_case).collect();
        let (allowed, left_out): (Vec<_>, Vec<_>) =
            cases.into_iter().partition(|(_, case)| is_allowed(rules, case, &spray));
        let mut unguarded: Vec<(DiseaseId, Vec<usize>)> = Vec::new();
        let mut needless = Vec::new();
        for (tree, case) in &allowed {
            for disease in aims(plan, case) {
                // What the advised mix does not reach either is not lost.
                if reaches(plan, &case.spray, disease) && !reaches(plan, &spray, disease) {
                    match unguarded.iter_mut().find(|(of, _)| *of == disease) {
                        Some((_, trees)) => trees.push(*tree),
                        None => unguarded.push((disease, vec![*tree])),
                    }
                }
            }
            let extra = |(product, _): &(_, u8)| !case.spray.iter().any(|(it, _)| it == product);
            if spray.iter().any(extra) {
                needless.push(*tree);
            }
        }
        let numbers = |cases: Vec<(usize, &Case)>| cases.into_iter().map(|(tree, _)| tree).collect();
        OneTank { spray, allowed: numbers(allowed), left_out: numbers(left_out), unguarded, needless }
    };
    let tanks: Vec<OneTank> = candidates.into_iter().map(weigh).collect();
    let lost = |tank: &&OneTank| tank.unguarded.iter().map(|(_, trees)| trees.len()).sum::<usize>();
    let most =
        tanks.iter().min_by_key(|tank| (usize::MAX - tank.allowed.len(), lost(tank), tank.needless.len()));
    let best = tanks.iter().min_by_key(|tank| (usize::MAX - tank.serves(), lost(tank), tank.needless.len()));
    let more = |best: &&OneTank| most.is_none_or(|most| best.serves() > most.serves());
    most.into_iter().chain(best.filter(more)).cloned().collect()
}

/// Returns whether every part of a mix is certainly allowed on a tree, at its strength and together.
fn is_allowed(rules: &Rules, case: &Case, spray: &Spray) -> bool {
    let trace = &case.decision.trace;
    let part = |(product, strength): &(_, u8)| {
        let allowed = Allowed::of(rules, *product, &trace.gates, &trace.cells);
        allowed.shut == Truth::No && *strength <= allowed.surely_up_to
    };
    let has = |product| spray.iter().any(|(it, _)| *it == product);
    let silent = |gate: crate::plan::GateId| trace.gates.get(gate.index()) == Some(&Truth::No);
    let together = rules.mixes.iter().all(|(gate, a, b)| !(has(*a) && has(*b)) || silent(*gate));
    spray.iter().all(part) && together
}

/// Returns the products of the shed that the guide certainly allows in all of some cases and that work on some of the diseases,
/// each at the strongest strength that it allows.
pub fn on_the_shelf(
    (plan, grove): (&Plan, &Grove),
    rules: &Rules,
    cases: &[&Case],
    diseases: &[DiseaseId],
) -> Spray {
    let in_shed = plan.products.iter().enumerate().map(|(at, product)| (ProductId(at as u32), product));
    let dose = |(id, product): (ProductId, &Product)| {
        grove.jug(id)?;
        let strongest = u8::try_from(product.strengths.len().checked_sub(1)?).ok()?;
        let up_to = cases.iter().map(|case| {
            let trace = &case.decision.trace;
            let allowed = Allowed::of(rules, id, &trace.gates, &trace.cells);
            (allowed.shut == Truth::No).then_some(allowed.surely_up_to)
        });
        let strength = up_to.collect::<Option<Vec<u8>>>()?.into_iter().fold(strongest, u8::min);
        let spray = vec![(id, strength)];
        diseases.iter().any(|disease| reaches(plan, &spray, *disease)).then_some((id, strength))
    };
    in_shed.filter_map(dose).collect()
}

/// Returns the diseases that the choices behind a case are against.
fn aims(plan: &Plan, case: &Case) -> Vec<DiseaseId> {
    let choices = case.decision.choices.iter().filter_map(|id| plan.choices.get(id.index()));
    let mut aims: Vec<DiseaseId> = choices.flat_map(|choice| choice.aims.iter().copied()).collect();
    aims.sort();
    aims.dedup();
    aims
}

/// Returns whether a part of a mix works on a disease, more than slightly.
fn reaches(plan: &Plan, spray: &Spray, disease: DiseaseId) -> bool {
    let products = spray.iter().filter_map(|(product, _)| plan.products.get(product.index()));
    products.flat_map(|product| &product.against).any(|(of, how)| *of == disease && *how != Goodness::Slight)
}
