//! What a rulebook says, as sets of situations: when gates speak, which products they leave, what choices come to, and
//! each verdict. Built from the same rules as [`crate::decide`], and held against it by tests.

use super::space::Space;
use crate::decide::{Outcome, Rules};
use crate::plan::{ChoiceId, GateId, Plan, ProductId, Way};
use crate::situation::Set;
use crate::trace::{Shutter, Verdict};
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

/// When gates speak and choices hold.
#[derive(Clone, PartialEq, Debug)]
pub struct Speaks {
    /// By the gate's number.
    pub gates: Vec<Set>,
    /// By the choice's number.
    pub choices: Vec<Set>,
}

impl Speaks {
    /// Reads the conditions of a rulebook.
    pub fn of(space: &mut Space<'_>, book: usize) -> Self {
        let rules = space.books[book].rules;
        Self {
            gates: rules.gates.iter().map(|logic| space.holds(book, logic)).collect(),
            choices: rules.choices.iter().map(|logic| space.holds(book, logic)).collect(),
        }
    }
}

/// What a rulebook says in every situation.
#[derive(Clone, Debug)]
pub struct Meaning {
    /// When gates speak and choices hold.
    pub speaks: Speaks,
    /// For each product, where it is shut.
    pub shut: Vec<Set>,
    /// For each choice, where it holds and has an allowed alternative.
    pub acts: Vec<Set>,
    /// For each choice, where it acts and nothing that acts outranks it.
    pub leads: Vec<Set>,
    /// For each choice, what it comes to where it holds.
    pub outcomes: Vec<Vec<(Outcome, Set)>>,
    /// For each choice, where each of its alternatives is the first that is allowed.
    pub ways: Vec<Vec<Set>>,
    /// Where some choice holds.
    pub covered: Set,
    /// Where choices that lead disagree.
    pub undecided: Set,
    /// Where each verdict is the one: of sprays and an advised hold. The rest of what is covered is all shut.
    pub verdicts: BTreeMap<Outcome, Set>,
}

impl Meaning {
    /// Reads a rulebook.
    pub fn of(space: &mut Space<'_>, book: usize) -> Self {
        let speaks = Speaks::of(space, book);
        Self::new(space, book, speaks)
    }

    /// Reads a rulebook whose gates speak and whose choices hold where it is said.
    pub fn new(space: &mut Space<'_>, book: usize, speaks: Speaks) -> Self {
        let (plan, rules) = (space.books[book].plan, space.books[book].rules);
        let products: Vec<Limits> = (0..plan.products.len() as u32)
            .map(|product| Limits::of(space, book, rules, ProductId(product), &speaks.gates))
            .collect();
        let mut known: FxHashMap<&Way, (Set, Comes)> = FxHashMap::default();
        let mut outcomes = Vec::with_capacity(plan.choices.len());
        let mut ways = Vec::with_capacity(plan.choices.len());
        for (choice, holds) in plan.choices.iter().zip(&speaks.choices) {
            let mut rest = *holds;
            let mut comes: Vec<(Outcome, Set)> = Vec::new();
            let mut firsts = Vec::new();
            for way in &choice.ways {
                let (shut, outs) =
                    known.entry(way).or_insert_with(|| comes_to(space, rules, &products, &speaks.gates, way));
                let (shut, outs) = (*shut, outs.clone());
                let taken = space.diagrams.without(rest, shut);
                firsts.push(taken);
                for (outcome, set) in outs {
                    let here = space.diagrams.both(taken, set);
                    match comes.iter_mut().find(|(known, _)| *known == outcome) {
                        Some((_, all)) => *all = space.diagrams.either(*all, here),
                        None => comes.push((outcome, here)),
                    }
                }
                rest = space.diagrams.both(rest, shut);
            }
            comes.push((Outcome::Aside, rest));
            outcomes.push(comes);
            ways.push(firsts);
        }
        let aside = |comes: &Vec<(Outcome, Set)>| comes.last().map_or(Set::NONE, |(_, set)| *set);
        let acts: Vec<Set> = speaks
            .choices
            .iter()
            .zip(&outcomes)
            .map(|(holds, comes)| space.diagrams.without(*holds, aside(comes)))
            .collect();
        let leads: Vec<Set> = (0..plan.choices.len())
            .map(|choice| {
                let above: Vec<Set> = rules.outranked_by[choice].iter().map(|it| acts[it.index()]).collect();
                let above = space.diagrams.any(above);
                space.diagrams.without(acts[choice], above)
            })
            .collect();
        let covered = space.diagrams.any(speaks.choices.iter().copied());
        let mut by_outcome: BTreeMap<Outcome, Vec<Set>> = BTreeMap::new();
        for (comes, leads) in outcomes.iter().zip(&leads) {
            for (outcome, set) in comes.iter().filter(|(outcome, _)| *outcome != Outcome::Aside) {
                let here = space.diagrams.both(*set, *leads);
                if !here.is_none() {
                    by_outcome.entry(outcome.clone()).or_default().push(here);
                }
            }
        }
        let mut verdicts: BTreeMap<Outcome, Set> =
            by_outcome.into_iter().map(|(outcome, sets)| (outcome, space.diagrams.any(sets))).collect();
        let (mut once, mut undecided) = (Set::NONE, Set::NONE);
        for set in verdicts.values() {
            let again = space.diagrams.both(once, *set);
            undecided = space.diagrams.either(undecided, again);
            once = space.diagrams.either(once, *set);
        }
        for set in verdicts.values_mut() {
            *set = space.diagrams.without(*set, undecided);
        }
        let shut = products.into_iter().map(|limits| limits.shut).collect();
        Self { speaks, shut, acts, leads, outcomes, ways, covered, undecided, verdicts }
    }

    /// Returns where no choice holds.
    pub fn uncovered(&self, space: &mut Space<'_>) -> Set {
        space.diagrams.not(self.covered)
    }

    /// Returns where the verdict is to hold: advised, or because every alternative of all that holds is shut.
    pub fn hold(&self, space: &mut Space<'_>) -> Set {
        let advised = self.verdicts.get(&Outcome::Hold).copied().unwrap_or(Set::NONE);
        let shut = self.all_shut(space);
        space.diagrams.either(advised, shut)
    }

    /// Returns where every alternative of all choices that hold is shut.
    pub fn all_shut(&self, space: &mut Space<'_>) -> Set {
        let acts = space.diagrams.any(self.acts.iter().copied());
        space.diagrams.without(self.covered, acts)
    }

    /// Returns each verdict with the situations in which it is the one: disjoint, and together all. A hold is one
    /// verdict, advised or not.
    pub fn partition(&self, space: &mut Space<'_>) -> Vec<(Verdict, Set)> {
        let mut parts: Vec<(Verdict, Set)> = Vec::new();
        for (outcome, set) in &self.verdicts {
            if let Outcome::Spray(doses) = outcome {
                parts.push((Verdict::Spray(doses.clone()), *set));
            }
        }
        parts.push((Verdict::Hold, self.hold(space)));
        parts.push((Verdict::Undecided, self.undecided));
        parts.push((Verdict::Uncovered, self.uncovered(space)));
        parts.retain(|(_, set)| !set.is_none());
        parts
    }

    /// Returns the choices that lead in a situation.
    pub fn leading(&self, space: &Space<'_>, situation: &[u16]) -> Vec<ChoiceId> {
        let found =
            self.leads.iter().enumerate().filter(|(_, set)| space.diagrams.contains(**set, situation));
        found.map(|(at, _)| ChoiceId(at as u32)).collect()
    }
}

/// What something comes to, and where.
type Comes = Vec<(Outcome, Set)>;

/// What the gates of today leave of a product.
struct Limits {
    shut: Set,
    /// For each strength, where the product is held to it or a weaker one.
    held: Vec<Set>,
}

impl Limits {
    fn of(space: &mut Space<'_>, book: usize, rules: &Rules, product: ProductId, gates: &[Set]) -> Self {
        let plan: &Plan = space.books[book].plan;
        let count = plan.products.get(product.index()).map_or(0, |product| product.strengths.len());
        let Some(of) = rules.products.get(product.index()) else {
            return Self { shut: Set::NONE, held: vec![Set::NONE; count] };
        };
        let speaks = |gate: GateId| gates.get(gate.index()).copied().unwrap_or(Set::NONE);
        let mut shut: Vec<Set> = of
            .shut_by
            .iter()
            .map(|shutter| match shutter {
                Shutter::Gate(gate) => speaks(*gate),
                Shutter::Certified => Set::ALL,
            })
            .collect();
        let mut held: Vec<Vec<Set>> = vec![Vec::new(); count];
        for (gate, strength) in &of.held_by {
            held.iter_mut().skip(usize::from(*strength)).for_each(|sets| sets.push(speaks(*gate)));
        }
        for (_, name) in &of.fits {
            // Word 0 of a cap is that no strength fits, word 1 the weakest strength.
            let up_to = |space: &mut Space<'_>, most: u16| {
                let mut cells = crate::situation::CellSet::default();
                cells.insert_range(0, most);
                space.test(book, *name, &cells)
            };
            shut.push(up_to(space, 0));
            for (strength, sets) in held.iter_mut().enumerate() {
                let set = up_to(space, strength as u16 + 1);
                sets.push(set);
            }
        }
        Self {
            shut: space.diagrams.any(shut),
            held: held.into_iter().map(|sets| space.diagrams.any(sets)).collect(),
        }
    }

    /// Returns where a product that is wanted at a strength comes out at another or the same.
    fn comes_out(&self, space: &mut Space<'_>, wanted: u8, at: u8) -> Set {
        let held = |strength: usize| self.held.get(strength).copied().unwrap_or(Set::NONE);
        let to_it = if at == wanted { Set::ALL } else { held(usize::from(at)) };
        match usize::from(at).checked_sub(1) {
            Some(weaker) => space.diagrams.without(to_it, held(weaker)),
            None => to_it,
        }
    }
}

/// Returns where an alternative is shut, and where it comes to what if it is not.
fn comes_to(
    space: &mut Space<'_>,
    rules: &Rules,
    products: &[Limits],
    gates: &[Set],
    way: &Way,
) -> (Set, Vec<(Outcome, Set)>) {
    let Way::Spray(doses) = way else { return (Set::NONE, vec![(Outcome::Hold, Set::ALL)]) };
    let mut shut: Vec<Set> =
        doses.iter().filter_map(|(it, _)| products.get(it.index())).map(|it| it.shut).collect();
    let has = |one: &ProductId| doses.iter().any(|(product, _)| product == one);
    let together = rules.mixes.iter().filter(|(_, a, b)| has(a) && has(b));
    shut.extend(together.filter_map(|(gate, _, _)| gates.get(gate.index()).copied()));
    let shut = space.diagrams.any(shut);
    let mut outs: Vec<(Vec<(ProductId, u8)>, Set)> = vec![(Vec::new(), Set::ALL)];
    for (product, wanted) in doses {
        let Some(limits) = products.get(product.index()) else { continue };
        let strengths: Vec<(u8, Set)> =
            (0..=*wanted).map(|at| (at, limits.comes_out(space, *wanted, at))).collect();
        let mut more = Vec::new();
        for (so_far, set) in &outs {
            for (at, here) in strengths.iter().filter(|(_, set)| !set.is_none()) {
                let set = space.diagrams.both(*set, *here);
                if !set.is_none() {
                    more.push((so_far.iter().copied().chain([(*product, *at)]).collect(), set));
                }
            }
        }
        outs = more;
    }
    let outs = outs.into_iter().map(|(mut doses, set)| {
        doses.sort_unstable();
        (Outcome::Spray(doses), set)
    });
    (shut, outs.collect())
}
