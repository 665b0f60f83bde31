//! What a rulebook says, as sets of situations: when gates speak, which products they leave, what choices come to, and
//! each verdict. Built from the same rules as [`crate::decide`], and held against it by tests.

pub(super) mod altered;
pub(crate) mod point;

use crate::decide::Outcome;
use crate::plan::{ChoiceId, GateId, ProductId, Way};
use crate::prove::space::Space;
use crate::situation::Set;
use crate::trace::{Shutter, Verdict};
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};

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
    /// For each choice, where something that acts outranks it.
    pub above: Vec<Set>,
    /// For each choice, where it acts and nothing that acts outranks it.
    pub leads: Vec<Set>,
    /// For each choice, what it comes to where it holds.
    pub outcomes: Vec<Vec<(Outcome, Set)>>,
    /// For each choice, where each of its alternatives is the first that is allowed.
    pub ways: Vec<Vec<Set>>,
    /// Where some choice holds.
    pub covered: Set,
}

impl Meaning {
    /// Reads a rulebook.
    pub fn of(space: &mut Space<'_>, book: usize) -> Self {
        let speaks = Speaks::of(space, book);
        Self::new(space, book, speaks)
    }

    /// Reads a rulebook whose gates speak and whose choices hold where it is said.
    pub fn new(space: &mut Space<'_>, book: usize, speaks: Speaks) -> Self {
        let plan = space.books[book].plan;
        let mut weighing = Weighing::new(space, book, &speaks.gates, Set::ALL);
        let (mut outcomes, mut ways) = (Vec::new(), Vec::new());
        for (choice, holds) in plan.choices.iter().zip(&speaks.choices) {
            let (comes, firsts) = weighing.weigh(space, &choice.ways, *holds);
            outcomes.push(comes);
            ways.push(firsts);
        }
        let products: Vec<ProductId> = (0..plan.products.len() as u32).map(ProductId).collect();
        let shut = products.iter().map(|product| weighing.limits(space, *product).shut).collect();
        Self::led(space, book, speaks, shut, outcomes, ways)
    }

    /// Finds which choices lead, and the verdicts.
    pub(crate) fn led(
        space: &mut Space<'_>,
        book: usize,
        speaks: Speaks,
        shut: Vec<Set>,
        outcomes: Vec<Comes>,
        ways: Vec<Vec<Set>>,
    ) -> Self {
        let acts: Vec<Set> = speaks
            .choices
            .iter()
            .zip(&outcomes)
            .map(|(holds, comes)| space.diagrams.without(*holds, aside(comes)))
            .collect();
        let above = above(space, book, &acts);
        let leads: Vec<Set> =
            acts.iter().zip(&above).map(|(acts, above)| space.diagrams.without(*acts, *above)).collect();
        let covered = space.diagrams.any(speaks.choices.iter().copied());
        Self { speaks, shut, acts, above, leads, outcomes, ways, covered }
    }

    /// Returns where no choice holds.
    pub fn uncovered(&self, space: &mut Space<'_>) -> Set {
        space.diagrams.not(self.covered)
    }

    /// Returns where choices that lead disagree, of some situations.
    pub fn undecided(&self, space: &mut Space<'_>, within: Set) -> Set {
        self.verdicts(space, within).1
    }

    /// Returns where each outcome is the verdict, of some situations, and where choices that lead disagree. The rest of what
    /// is covered is all shut.
    fn verdicts(&self, space: &mut Space<'_>, within: Set) -> (BTreeMap<Outcome, Set>, Set) {
        let leads: Vec<Set> = self.leads.iter().map(|leads| space.diagrams.both(*leads, within)).collect();
        verdicts(space, self.outcomes.iter().zip(leads))
    }

    /// Returns where every alternative of all choices that hold is shut, of some situations.
    pub fn all_shut(&self, space: &mut Space<'_>, within: Set) -> Set {
        let acts: Vec<Set> = self.acts.iter().map(|acts| space.diagrams.both(*acts, within)).collect();
        let acting = space.diagrams.any(acts);
        let covered = space.diagrams.both(self.covered, within);
        space.diagrams.without(covered, acting)
    }

    /// Returns each verdict with those of some situations in which it is the one: disjoint, and together all of them. A hold
    /// is one verdict, advised or not.
    pub fn partition(&self, space: &mut Space<'_>, within: Set) -> Vec<(Verdict, Set)> {
        let (verdicts, undecided) = self.verdicts(space, within);
        let all_shut = self.all_shut(space, within);
        let uncovered = space.diagrams.without(within, self.covered);
        parts(space, verdicts, undecided, all_shut, uncovered)
    }

    /// Returns the choices that lead in a situation.
    pub fn leading(&self, space: &Space<'_>, situation: &[u16]) -> Vec<ChoiceId> {
        let found =
            self.leads.iter().enumerate().filter(|(_, set)| space.diagrams.contains(**set, situation));
        found.map(|(at, _)| ChoiceId(at as u32)).collect()
    }
}

/// Returns each verdict with where it is the one, of what is found of each; every hold is one verdict.
pub(crate) fn parts(
    space: &mut Space<'_>,
    verdicts: BTreeMap<Outcome, Set>,
    undecided: Set,
    all_shut: Set,
    uncovered: Set,
) -> Vec<(Verdict, Set)> {
    let advised = verdicts.get(&Outcome::Hold).copied().unwrap_or(Set::NONE);
    let sprays = verdicts.into_iter().filter_map(|(outcome, set)| match outcome {
        Outcome::Spray(doses) => Some((Verdict::Spray(doses), set)),
        Outcome::Hold | Outcome::Aside => None,
    });
    let mut parts: Vec<(Verdict, Set)> = sprays.collect();
    parts.push((Verdict::Hold, space.diagrams.either(advised, all_shut)));
    parts.push((Verdict::Undecided, undecided));
    parts.push((Verdict::Uncovered, uncovered));
    parts.retain(|(_, set)| !set.is_none());
    parts
}

/// Returns where each outcome is the verdict, of what choices come to where they lead; and where they disagree.
pub(crate) fn verdicts<'c>(
    space: &mut Space<'_>,
    leading: impl Iterator<Item = (&'c Comes, Set)>,
) -> (BTreeMap<Outcome, Set>, Set) {
    let mut by_outcome: BTreeMap<Outcome, Vec<Set>> = BTreeMap::new();
    for (comes, leads) in leading {
        for (outcome, set) in comes.iter().filter(|(outcome, _)| *outcome != Outcome::Aside) {
            let here = space.diagrams.both(*set, leads);
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
    (verdicts, undecided)
}

/// Returns for each choice where something that acts outranks it: what outranks it directly, and what outranks that.
fn above(space: &mut Space<'_>, book: usize, acts: &[Set]) -> Vec<Set> {
    let (plan, rules) = (space.books[book].plan, space.books[book].rules);
    let mut higher: Vec<Vec<usize>> = vec![Vec::new(); acts.len()];
    let mut open: Vec<usize> = vec![0; acts.len()];
    for (at, choice) in plan.choices.iter().enumerate() {
        for lower in &choice.outranks {
            higher[lower.index()].push(at);
            open[lower.index()] += 1;
        }
    }
    let mut known: Vec<Option<Set>> = vec![None; acts.len()];
    let mut todo: Vec<usize> = (0..acts.len()).filter(|at| open[*at] == 0).collect();
    while let Some(at) = todo.pop() {
        let sets: Vec<Set> = higher[at]
            .iter()
            .map(|it| space.diagrams.either(acts[*it], known[*it].unwrap_or(Set::NONE)))
            .collect();
        known[at] = Some(space.diagrams.any(sets));
        for lower in &plan.choices[at].outranks {
            open[lower.index()] -= 1;
            if open[lower.index()] == 0 {
                todo.push(lower.index());
            }
        }
    }
    // In a circle of ranks, which is an error of its own, all others of it are above each.
    let all = |space: &mut Space<'_>, at: usize| {
        let above: Vec<Set> = rules.outranked_by[at].iter().map(|it| acts[it.index()]).collect();
        space.diagrams.any(above)
    };
    known.into_iter().enumerate().map(|(at, set)| set.unwrap_or_else(|| all(space, at))).collect()
}

/// What something comes to, and where.
pub(crate) type Comes = Vec<(Outcome, Set)>;

/// Returns where a choice steps aside, of what it comes to.
pub(crate) fn aside(comes: &Comes) -> Set {
    comes.last().map_or(Set::NONE, |(_, set)| *set)
}

/// What alternatives come to where gates speak as given, each worked out once.
pub(super) struct Weighing<'g> {
    book: usize,
    gates: &'g [Set],
    /// Where alone it is asked.
    within: Set,
    products: Vec<Option<Limits>>,
    ways: FxHashMap<Way, (Set, Comes)>,
}

impl<'g> Weighing<'g> {
    pub(crate) fn new(space: &Space<'_>, book: usize, gates: &'g [Set], within: Set) -> Self {
        let products = vec![None; space.books[book].plan.products.len()];
        Self { book, gates, within, products, ways: FxHashMap::default() }
    }

    fn limits(&mut self, space: &mut Space<'_>, product: ProductId) -> Limits {
        if let Some(Some(known)) = self.products.get(product.index()) {
            return known.clone();
        }
        let limits = Limits::of(space, self.book, product, self.gates, self.within);
        if let Some(place) = self.products.get_mut(product.index()) {
            *place = Some(limits.clone());
        }
        limits
    }

    /// Returns what a list of alternatives comes to where a choice holds, and where each of them is the first allowed.
    pub(crate) fn weigh(&mut self, space: &mut Space<'_>, ways: &[Way], holds: Set) -> (Comes, Vec<Set>) {
        self.weigh_with(space, ways, holds, &|_, _| Set::NONE)
    }

    /// Returns the same where alternatives are shut in some situations besides.
    pub(super) fn weigh_with(
        &mut self,
        space: &mut Space<'_>,
        ways: &[Way],
        holds: Set,
        also_shut: &dyn Fn(&mut Space<'_>, &Way) -> Set,
    ) -> (Comes, Vec<Set>) {
        let mut rest = holds;
        let mut comes: Comes = Vec::new();
        let mut firsts = Vec::new();
        for way in ways {
            let (shut, outs) = self.comes_to(space, way);
            let besides = also_shut(space, way);
            let shut = space.diagrams.either(shut, besides);
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
        (comes, firsts)
    }

    /// Returns where an alternative is shut, and where it comes to what if it is not.
    fn comes_to(&mut self, space: &mut Space<'_>, way: &Way) -> (Set, Comes) {
        if let Some(known) = self.ways.get(way) {
            return known.clone();
        }
        let found = self.comes_anew(space, way);
        self.ways.insert(way.clone(), found.clone());
        found
    }

    fn comes_anew(&mut self, space: &mut Space<'_>, way: &Way) -> (Set, Comes) {
        let Way::Spray(doses) = way else { return (Set::NONE, vec![(Outcome::Hold, Set::ALL)]) };
        let limits: Vec<(ProductId, u8, Limits)> =
            doses.iter().map(|(product, wanted)| (*product, *wanted, self.limits(space, *product))).collect();
        let mut shut: Vec<Set> = limits.iter().map(|(_, _, limits)| limits.shut).collect();
        let has = |one: &ProductId| doses.iter().any(|(product, _)| product == one);
        let together = space.books[self.book].rules.mixes.iter().filter(|(_, a, b)| has(a) && has(b));
        shut.extend(together.filter_map(|(gate, _, _)| self.gates.get(gate.index()).copied()));
        let shut = space.diagrams.any(shut);
        let mut outs: Vec<(Vec<(ProductId, u8)>, Set)> = vec![(Vec::new(), Set::ALL)];
        for (product, wanted, limits) in &limits {
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
}

/// Returns where each shutter of a product speaks; and for each strength where each gate and cap speaks that holds the product
/// to it or a weaker one.
pub(super) fn limiting(
    space: &mut Space<'_>,
    book: usize,
    product: ProductId,
    gates: &[Set],
) -> (Vec<Set>, Vec<Vec<Set>>) {
    let (plan, rules) = (space.books[book].plan, space.books[book].rules);
    let count = plan.products.get(product.index()).map_or(0, |product| product.strengths.len());
    let Some(of) = rules.products.get(product.index()) else { return (Vec::new(), vec![Vec::new(); count]) };
    let speaks = |gate: GateId| gates.get(gate.index()).copied().unwrap_or(Set::NONE);
    let mut shut: Vec<Set> = of
        .shut_by
        .iter()
        .map(|shutter| match shutter {
            Shutter::Gate(gate) => speaks(*gate),
            Shutter::Certified => Set::ALL,
        })
        .collect();
    let mut held: Vec<Vec<Set>> = (0..count)
        .map(|at| {
            let to_it = of.held_by.iter().filter(|(_, strength)| usize::from(*strength) <= at);
            let once: BTreeSet<GateId> = to_it.map(|(gate, _)| *gate).collect();
            once.into_iter().map(speaks).collect()
        })
        .collect();
    for (_, name) in &of.fits {
        // Word 0 of a cap is that no strength fits, word 1 the weakest strength.
        let mut cells = crate::situation::Cells::one(0);
        shut.push(space.test(book, *name, &cells));
        for (strength, sets) in held.iter_mut().enumerate() {
            cells.insert(strength as u16 + 1);
            sets.push(space.test(book, *name, &cells));
        }
    }
    (shut, held)
}

/// Returns where a product that is wanted comes out at a strength or a stronger one, as far as gates leave it.
pub(crate) fn comes_out(
    space: &mut Space<'_>,
    book: usize,
    product: ProductId,
    strength: u8,
    gates: &[Set],
) -> Set {
    let limits = Limits::of(space, book, product, gates, Set::ALL);
    let weaker = usize::from(strength).checked_sub(1).and_then(|at| limits.held.get(at));
    let kept = space.diagrams.either(limits.shut, weaker.copied().unwrap_or(Set::NONE));
    space.diagrams.not(kept)
}

/// What the gates of today leave of a product.
#[derive(Clone)]
struct Limits {
    shut: Set,
    /// For each strength, where the product is held to it or a weaker one.
    held: Vec<Set>,
}

impl Limits {
    fn of(space: &mut Space<'_>, book: usize, product: ProductId, gates: &[Set], within: Set) -> Self {
        let (shut, held) = limiting(space, book, product, gates);
        let mut any_within = |sets: Vec<Set>| {
            let sets: Vec<Set> = sets.into_iter().map(|set| space.diagrams.both(set, within)).collect();
            space.diagrams.any(sets)
        };
        let shut = any_within(shut);
        Self { shut, held: held.into_iter().map(any_within).collect() }
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
