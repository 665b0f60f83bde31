//! What makes the difference between two rulebooks in a situation: the changed items without which nothing would change there.

use super::items::amount_meaning;
use super::pair::{Pair, Same, same_outcome, spray};
use crate::decide::Weighed;
use crate::plan::{Choice, Gate, Plan, ProductId, Way};
use crate::situation::Set;
use crate::trace::{Truth, Verdict};
use std::collections::{BTreeMap, BTreeSet};

/// The gates and choices of a rulebook that a cause stands for, by their places.
#[derive(Default)]
pub(crate) struct CausePlaces {
    pub(crate) gates: Vec<usize>,
    pub(crate) choices: Vec<usize>,
}

impl Pair<'_> {
    /// Returns the items that have a part in what changes in a situation, and where all of them have it.
    pub(crate) fn cause(&mut self, situation: &[u16]) -> (Vec<String>, Set) {
        let (turned, others) = self.causes(situation);
        let mut all = Set::ALL;
        for name in &turned {
            let Some((_, [was, now])) = self.turned.iter().find(|(known, _)| known == name) else { continue };
            let (was, now) = (*was, *now);
            let is_one = self.space.diagrams.contains(was, situation);
            let (with, without) = if is_one { (was, now) } else { (now, was) };
            let here = self.space.diagrams.without(with, without);
            all = self.space.diagrams.both(all, here);
        }
        for (_, here) in &others {
            all = self.space.diagrams.both(all, *here);
        }
        let mut names = turned;
        names.extend(others.into_iter().map(|(name, _)| name));
        (once(names), all)
    }

    /// Returns the items that have a part in what changes in a situation.
    pub(crate) fn because_of(&mut self, situation: &[u16]) -> Vec<String> {
        let (mut names, others) = self.causes(situation);
        names.extend(others.into_iter().map(|(name, _)| name));
        once(names)
    }

    /// Returns the items that speak in one of the rulebooks alone and have a part, and those that come to something else, each
    /// with where it does.
    fn causes(&mut self, situation: &[u16]) -> (Vec<String>, Vec<(String, Set)>) {
        let differs = |(_, [was, now]): &&(String, [Set; 2])| {
            self.space.diagrams.contains(*was, situation) != self.space.diagrams.contains(*now, situation)
        };
        let all: Vec<String> = self.turned.iter().filter(differs).map(|(name, _)| name.clone()).collect();
        let [was, now] = [0, 1].map(|book| self.turned_back(book, situation, &[]));
        // Those that the new rulebook has are turned back one after the other, as long as nothing changes by it; then those
        // that it has not are taken from the old one.
        let mut turned = all.clone();
        for book in [1, 0] {
            let has = |name: &String| self.has(book, name) && (book == 1 || !self.has(1, name));
            let own: Vec<String> = turned.iter().filter(|it| has(it)).cloned().collect();
            let is = if book == 1 { &now } else { &was };
            let mut idle: Vec<String> = Vec::new();
            for name in own {
                let with: Vec<String> = idle.iter().cloned().chain([name]).collect();
                if self.turned_back(book, situation, &with) == *is {
                    idle = with;
                }
            }
            turned.retain(|it| !idle.contains(it));
        }
        let is_all = !turned.is_empty()
            && (turned.iter().any(|it| !self.has(1, it)) || self.turned_back(1, situation, &turned) == was);
        let others = if is_all { Vec::new() } else { self.come_otherwise(situation) };
        if turned.is_empty() && others.is_empty() { (all, others) } else { (turned, others) }
    }

    /// Returns whether a rulebook has an item.
    fn has(&self, book: usize, name: &str) -> bool {
        let places = self.places(book, name);
        !places.gates.is_empty() || !places.choices.is_empty()
    }

    /// Returns the gates and choices of a rulebook that a cause stands for.
    pub(crate) fn places(&self, book: usize, name: &str) -> CausePlaces {
        let mut found = CausePlaces::default();
        for (at, (known, is_choice)) in self.causes[book].iter().enumerate() {
            if known == name {
                let gates = self.space.books[book].plan.gates.len();
                if *is_choice { found.choices.push(at - gates) } else { found.gates.push(at) }
            }
        }
        found
    }

    /// Returns where a rulebook's gates and choices that a cause stands for speak.
    pub(crate) fn speaks(&mut self, book: usize, name: &str) -> Set {
        let (places, speaks) = (self.places(book, name), &self.meanings[book].speaks);
        let gates = places.gates.iter().filter_map(|at| speaks.gates.get(*at));
        let sets: Vec<Set> =
            gates.chain(places.choices.iter().filter_map(|at| speaks.choices.get(*at))).copied().collect();
        self.space.diagrams.any(sets)
    }

    /// Returns the variables of the gates that hold to a weaker strength what a choice advises.
    pub(super) fn limits_of(&self, name: &str) -> BTreeSet<u16> {
        let mut found = BTreeSet::new();
        for (book, of) in self.space.books.iter().enumerate() {
            let ways = self.places(book, name).choices.into_iter().flat_map(|at| &of.plan.choices[at].ways);
            let doses = ways.filter_map(|way| match way {
                Way::Spray(doses) => Some(doses),
                Way::Hold => None,
            });
            let products: BTreeSet<ProductId> = doses.flatten().map(|(product, _)| *product).collect();
            let holding = of.plan.gates.iter().zip(&self.meanings[book].speaks.gates);
            let holding = holding.filter(|(gate, _)| gate.holds.iter().any(|(it, _)| products.contains(it)));
            found.extend(holding.flat_map(|(_, set)| self.space.diagrams.depends_on(*set)));
        }
        found
    }

    /// Returns what a rulebook says in a situation where some items speak as they do in the other rulebook.
    fn turned_back(&self, book: usize, situation: &[u16], names: &[String]) -> Option<Same> {
        let of = self.space.books[book];
        let weighed = Weighed::new(of.plan, of.rules, self.space.cells(book, situation));
        let mut gates = weighed.trace().gates.clone();
        let mut holds: Vec<Truth> = weighed.trace().choices.iter().map(|met| met.holds).collect();
        for name in names {
            let places = self.places(book, name);
            let sets = self.turned.iter().find(|(known, _)| known == name).map(|(_, sets)| sets[1 - book]);
            let speaks = sets.is_some_and(|set| self.space.diagrams.contains(set, situation));
            for (list, all) in [(&places.gates, &mut gates), (&places.choices, &mut holds)] {
                for at in list {
                    all.get_mut(*at).into_iter().for_each(|it| *it = Truth::of(speaks));
                }
            }
        }
        let weighed = weighed.knowing(of.plan, of.rules, gates, holds);
        let (verdict, _) = weighed.verdict(of.rules)?;
        Some(match verdict {
            Verdict::Spray(doses) => spray(of.plan, &doses),
            Verdict::Hold | Verdict::AllShut | Verdict::Look => Same::Hold,
            Verdict::Uncovered => Same::Uncovered,
            Verdict::Undecided => Same::Undecided(Vec::new()),
        })
    }

    /// Returns the gates that hold to another amount of what is sprayed in a situation, else the choices that lead there and
    /// come to something else, each with where it does.
    fn come_otherwise(&mut self, situation: &[u16]) -> Vec<(String, Set)> {
        let doses: Vec<BTreeMap<String, u64>> = (0..2)
            .map(|book| match self.turned_back(book, situation, &[]) {
                Some(Same::Spray(doses)) => doses.into_iter().collect(),
                _ => BTreeMap::new(),
            })
            .collect();
        let other = |(product, amount): (&String, &u64)| {
            doses[1].get(product).is_some_and(|it| it != amount).then(|| product.clone())
        };
        let stronger: BTreeSet<String> = doses[0].iter().filter_map(other).collect();
        let mut found = Vec::new();
        let [old, new] = [0, 1].map(|book| self.space.books[book].plan);
        for (at, gate) in old.gates.iter().enumerate().filter(|(_, gate)| gate.line.is_none()) {
            let Some(other) = new.gates.iter().position(|it| it.name == gate.name) else { continue };
            let (was, now) = (held(old, gate), held(new, &new.gates[other]));
            let is_held = stronger.iter().any(|product| was.get(product) != now.get(product));
            let of = |book: usize, at: usize| self.meanings[book].speaks.gates.get(at).copied();
            let (Some(was), Some(now)) = (of(0, at), of(1, other)) else { continue };
            let here = self.space.diagrams.both(was, now);
            if is_held && self.space.diagrams.contains(here, situation) {
                found.push((format!("gate {}", gate.name), here));
            }
        }
        if found.is_empty() { self.choices_otherwise(situation) } else { found }
    }

    fn choices_otherwise(&mut self, situation: &[u16]) -> Vec<(String, Set)> {
        let comes = |book: usize| {
            let (plan, meaning) = (self.space.books[book].plan, &self.meanings[book]);
            let one = |(at, choice): (usize, &Choice)| {
                let here = meaning.outcomes[at]
                    .iter()
                    .find(|(_, set)| self.space.diagrams.contains(*set, situation));
                let same = here.and_then(|(outcome, _)| same_outcome(plan, outcome));
                let is_leading = self.space.diagrams.contains(meaning.leads[at], situation);
                (choice.name.to_string(), (same, is_leading, meaning.leads[at]))
            };
            plan.choices.iter().enumerate().map(one).collect::<BTreeMap<String, (Option<Same>, bool, Set)>>()
        };
        let (was, now) = (comes(0), comes(1));
        let names: BTreeSet<&String> = was.keys().chain(now.keys()).collect();
        let mut found = Vec::new();
        for name in names {
            let sides = [was.get(name), now.get(name)];
            let key = |it: Option<&(Option<Same>, bool, Set)>| it.map(|it| (it.0.clone(), it.1));
            if key(sides[0]) == key(sides[1]) || !sides.iter().flatten().any(|it| it.1) {
                continue;
            }
            let leads = sides.iter().flatten().map(|it| it.2).collect::<Vec<Set>>();
            found.push((format!("choice {name}"), self.space.diagrams.any(leads)));
        }
        found
    }
}

/// Returns names in order, each once: one item may speak elsewhere and come to something else, too.
fn once(names: Vec<String>) -> Vec<String> {
    names.into_iter().collect::<BTreeSet<String>>().into_iter().collect()
}

/// Returns what a gate holds products to, in amounts.
pub(crate) fn held(plan: &Plan, gate: &Gate) -> BTreeMap<String, u64> {
    let of = |(product, at): &(ProductId, u8)| {
        (plan[*product].name.to_string(), amount_meaning(&plan[*product], *at))
    };
    gate.holds.iter().map(of).collect()
}

/// Returns what each gate and then each choice of a rulebook is called where it makes a difference, and whether it is a choice;
/// the label lines of a product that the other rulebook has not are the product's.
pub(super) fn cause_names(plan: &Plan, other: &Plan) -> Vec<(String, bool)> {
    let gate = |gate: &Gate| {
        let product = gate.line.as_ref().map(|line| &plan[line.product].name);
        match product.filter(|product| other.product(product).is_none()) {
            Some(product) => format!("product {product}"),
            None => format!("gate {}", gate.name),
        }
    };
    let gates = plan.gates.iter().map(|it| (gate(it), false));
    gates.chain(plan.choices.iter().map(|it| (format!("choice {}", it.name), true))).collect()
}
