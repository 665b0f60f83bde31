//! What a rulebook says in some of all situations if gates and choices speak elsewhere than it says.

use super::{Comes, Meaning, Weighing, aside, parts, verdicts};
use crate::decide::Outcome;
use crate::plan::{ChoiceId, GateId, ProductId, Way};
use crate::prove::space::Space;
use crate::situation::Set;
use crate::trace::{Shutter, Verdict};

/// A gate or a choice that speaks elsewhere than in the rulebook.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Altered {
    /// A gate, by its number, speaks there.
    Gate(usize, Set),
    /// A choice, by its number, holds there.
    Choice(usize, Set),
}

impl Meaning {
    /// Returns each verdict of the first rulebook, with gates and choices altered, with those of some situations in which it
    /// is the one: disjoint, and together all of them. Every hold is one verdict.
    pub(crate) fn altered(
        &self,
        space: &mut Space<'_>,
        altered: &[Altered],
        within: Set,
    ) -> Vec<(Verdict, Set)> {
        let (plan, rules) = (space.books[0].plan, space.books[0].rules);
        let mut gates = self.speaks.gates.clone();
        for one in altered {
            if let Altered::Gate(at, set) = one {
                gates[*at] = *set;
            }
        }
        let products = touched(space, altered);
        let is_touched = |way: &Way| matches!(way, Way::Spray(doses) if doses.iter().any(|(product, _)| products[product.index()]));
        let mut weighing = Weighing::new(space, 0, &gates, within);
        let mut higher: Vec<Vec<ChoiceId>> = vec![Vec::new(); plan.choices.len()];
        for (at, choice) in plan.choices.iter().enumerate() {
            choice.outranks.iter().for_each(|lower| higher[lower.index()].push(ChoiceId(at as u32)));
        }
        let mut covered = Set::NONE;
        // Of each choice, where it acts as far as nothing that acts outranks it, and where something does.
        let mut acts = vec![Set::NONE; plan.choices.len()];
        let mut above = vec![Set::NONE; plan.choices.len()];
        let mut comes_to: Vec<Comes> = vec![Comes::new(); plan.choices.len()];
        for id in &rules.by_rank {
            let at = id.index();
            let circular = rules.circular[at];
            if !circular {
                let sets: Vec<Set> =
                    higher[at].iter().flat_map(|it| [acts[it.index()], above[it.index()]]).collect();
                above[at] = space.diagrams.any(sets);
            }
            let open = space.diagrams.without(within, above[at]);
            let other = altered.iter().find_map(|one| match one {
                Altered::Choice(number, set) if *number == at => Some(*set),
                Altered::Choice(..) | Altered::Gate(..) => None,
            });
            let holds = space.diagrams.both(other.unwrap_or(self.speaks.choices[at]), open);
            if holds.is_none() {
                continue;
            }
            covered = space.diagrams.either(covered, holds);
            let ways = &plan.choices[at].ways;
            comes_to[at] = if other.is_some() || ways.iter().any(is_touched) {
                weighing.weigh(space, ways, holds).0
            } else {
                let here =
                    |(outcome, set): &(Outcome, Set)| (outcome.clone(), space.diagrams.both(*set, holds));
                self.outcomes[at].iter().map(here).collect()
            };
            acts[at] = space.diagrams.without(holds, aside(&comes_to[at]));
        }
        let leads: Vec<Set> = (0..acts.len())
            .map(|at| {
                // In a circle of ranks all others of it are above each.
                let rivals = rules.outranked_by[at].iter().filter(|_| rules.circular[at]);
                let rivals: Vec<Set> = rivals.map(|it| acts[it.index()]).collect();
                let above = space.diagrams.any(rivals);
                space.diagrams.without(acts[at], above)
            })
            .collect();
        let (verdicts, undecided) = verdicts(space, comes_to.iter().zip(leads));
        let acting = space.diagrams.any(acts);
        let all_shut = space.diagrams.without(covered, acting);
        let uncovered = space.diagrams.without(within, covered);
        parts(space, verdicts, undecided, all_shut, uncovered)
    }
}

/// Returns for each product whether an altered gate says something of it.
fn touched(space: &Space<'_>, altered: &[Altered]) -> Vec<bool> {
    let rules = space.books[0].rules;
    let mut products = vec![false; rules.products.len()];
    for one in altered {
        let Altered::Gate(at, _) = one else { continue };
        for (product, of) in products.iter_mut().zip(&rules.products) {
            let shuts = |it: &Shutter| matches!(it, Shutter::Gate(gate) if gate.index() == *at);
            let holds = |it: &(GateId, u8)| it.0.index() == *at;
            *product |= of.shut_by.iter().any(shuts) || of.held_by.iter().any(holds);
        }
        for (_, a, b) in rules.mixes.iter().filter(|(gate, _, _)| gate.index() == *at) {
            let mixed: [ProductId; 2] = [*a, *b];
            mixed.iter().for_each(|product| products[product.index()] = true);
        }
    }
    products
}
