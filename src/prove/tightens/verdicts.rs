//! Verdicts of an overlay that its base would not come to: neither its own, nor a hold, nor weaker, nor what it would take next
//! where something is shut.

use super::items::Against;
use super::{Loosened, Loosens, NotProved, loosens};
use crate::decide::Certified;
use crate::plan::{Choice, Origin, Plan, ProductId, Way};
use crate::prove::compare::pair::{Same, VerdictChange};
use crate::prove::meaning::{Meaning, Weighing};
use crate::prove::space::Space;
use crate::prove::space::witness::witness;
use crate::situation::Set;
use std::collections::{BTreeMap, BTreeSet};

/// How many changes of verdict are shown.
const SHOWN: usize = 6;

impl<'p> Against<'p, '_> {
    /// Finds the changes of verdict that loosen.
    pub(crate) fn verdicts(&mut self, certified: Certified) {
        let within = self.pair.may_differ();
        let [was, now] = [0, 1].map(|book| self.pair.parts(book, within));
        let amounts = DoseAmounts::of([self.plan(0), self.plan(1)]);
        let mut changes = self.pair.changes(&was, &now);
        changes.retain(|change| !amounts.tighter(&change.was, &change.now));
        // What was not sprayed at all is shown first.
        changes.sort_by_key(|change| matches!(change.was, Same::Spray(_)));
        if changes.iter().any(|change| matches!(change.was, Same::Spray(_))) {
            // What the overlay shuts may fall through to what the base would take next.
            let next = self.next(within);
            for change in changes.iter_mut().filter(|it| matches!(it.was, Same::Spray(_))) {
                let taken =
                    next.iter().filter(|(it, _)| *it == change.now || amounts.tighter(it, &change.now));
                let taken: Vec<Set> = taken.map(|(_, set)| *set).collect();
                let taken = self.pair.space.diagrams.any(taken);
                change.set = self.pair.space.diagrams.without(change.set, taken);
            }
        }
        let mut shown = 0;
        for change in &changes {
            let Some(situation) = self.pair.space.witness(&[change.set]) else { continue };
            if shown == SHOWN {
                self.found.more += 1;
                continue;
            }
            if let Some(loosened) = self.loosened(change, &situation, certified) {
                let told = self.found.loosened.iter().any(|it| match (it, &loosened) {
                    (Loosened::Verdict { was: a, now: b, .. }, Loosened::Verdict { was, now, .. }) => {
                        (a, b) == (was, now)
                    }
                    _ => false,
                });
                if !told {
                    shown += 1;
                    self.found.loosened.push(loosened);
                }
            }
        }
        if self.pair.space.diagrams.is_spent() && !self.found.not_proved.contains(&NotProved::Verdicts) {
            self.found.not_proved.push(NotProved::Verdicts);
        }
    }

    /// Finds choices of the overlay that lead to what the base says there, too, and give more time for it. A choice whose own times
    /// are longer was found before.
    pub(crate) fn times(&mut self) {
        let [was, now] = [0, 1].map(|book| self.pair.parts(book, Set::ALL));
        let amounts = DoseAmounts::of([self.plan(0), self.plan(1)]);
        let mut alike = Vec::new();
        for (verdict, here) in now.iter().filter(|(it, _)| matches!(it, Same::Spray(_) | Same::Hold)) {
            // A hold where the base sprays is stricter, whenever one looks again.
            let is_alike = |before: &Same| match (before, verdict) {
                (Same::Spray(_), Same::Spray(_)) => amounts.tighter(before, verdict),
                (before, now) => before == now,
            };
            let before: Vec<Set> = was.iter().filter(|it| is_alike(&it.0)).map(|it| it.1).collect();
            let before = self.pair.space.diagrams.any(before);
            alike.push(self.pair.space.diagrams.both(before, *here));
        }
        let alike = self.pair.space.diagrams.any(alike);
        let (base, overlay) = (self.plan(0), self.plan(1));
        let ahead = base.head.window.1;
        let within = |it: &Choice| it.within.unwrap_or(f64::INFINITY).min(ahead);
        let recheck = |it: &Choice| it.recheck.unwrap_or(f64::INFINITY);
        for (at, choice) in overlay.choices.iter().enumerate() {
            let item = format!("choice {}", choice.name);
            let sprays = choice.ways.iter().any(|way| matches!(way, Way::Spray(_)));
            let mut later = Vec::new();
            later.extend(self.is_later(at, alike, &recheck).then_some(Loosens::Recheck));
            later.extend((sprays && self.is_later(at, alike, &within)).then_some(Loosens::Within));
            for how in later {
                let is_it = |it: &Loosened| matches!(it, Loosened::Item { item: known, how: by, .. } if *known == item && *by == how);
                if !self.found.loosened.iter().any(is_it) {
                    self.found.loosened.push(loosens(item.clone(), how, Some(choice.span)));
                }
            }
        }
    }

    /// Returns whether a choice of the overlay leads, of some situations, where one of the base does that gives less time, and
    /// none of the overlay beside it that gives as little: of all that lead the least time counts.
    fn is_later(&mut self, at: usize, alike: Set, time: &dyn Fn(&Choice) -> f64) -> bool {
        let (base, overlay) = (self.plan(0), self.plan(1));
        let Some(own) = overlay.choices.get(at) else { return false };
        let leads = [0, 1].map(|book: usize| self.pair.meanings[book].leads.clone());
        let here = leads[1].get(at).copied().unwrap_or(Set::NONE);
        let here = self.pair.space.diagrams.both(here, alike);
        if here.is_none() {
            return false;
        }
        for (before, leading) in base.choices.iter().zip(&leads[0]).filter(|(it, _)| time(it) < time(own)) {
            let sooner = overlay.choices.iter().zip(&leads[1]).filter(|(it, _)| time(it) <= time(before));
            let sooner: Vec<Set> = sooner.map(|(_, set)| *set).collect();
            let sooner = self.pair.space.diagrams.any(sooner);
            let both = self.pair.space.diagrams.both(here, *leading);
            let later = self.pair.space.diagrams.without(both, sooner);
            if !later.is_none() && self.pair.space.witness(&[later]).is_some() {
                return true;
            }
        }
        false
    }

    fn loosened(
        &mut self,
        change: &VerdictChange,
        situation: &[u16],
        certified: Certified,
    ) -> Option<Loosened> {
        let said = [self.pair.said(0, situation)?, self.pair.said(1, situation)?];
        let because_of = self.pair.because_of(situation);
        let mut names = BTreeSet::new();
        let book = self.pair.space.books[1];
        for (gate, of) in book.plan.gates.iter().zip(&book.rules.gate_names) {
            if because_of.contains(&format!("gate {}", gate.name)) {
                names.extend(of.iter().copied());
            }
        }
        for (choice, of) in book.plan.choices.iter().zip(&book.rules.choice_names) {
            let leads = said.iter().any(|it| it.choices.iter().any(|name| *name == *choice.name));
            if leads || because_of.contains(&format!("choice {}", choice.name)) {
                names.extend(of.iter().copied());
            }
        }
        names.retain(|name| {
            self.pair.space.variable(1, *name).is_some() || matches!(book.plan[*name].origin, Origin::Band(_))
        });
        let [was, now] = said;
        // A verdict that one book cannot say in a situation of its own is none.
        let is_so = self.pair.same(0, &was.is, situation) == change.was
            && self.pair.same(1, &now.is, situation) == change.now;
        is_so.then(|| Loosened::Verdict {
            was: was.verdict,
            now: now.verdict,
            situation: witness(&self.pair.space, 1, situation, &names),
            because_of,
            certified: certified == Certified::Organic,
        })
    }

    /// Returns what the base would say where what the overlay shuts is shut in it, too.
    fn next(&mut self, within: Set) -> crate::prove::compare::pair::Parts {
        let (base, overlay) = (self.plan(0), self.plan(1));
        let [meaning, other] = [&self.pair.meanings[0], &self.pair.meanings[1]].map(Clone::clone);
        let space = &mut self.pair.space;
        let shut_there: Vec<Set> = base
            .products
            .iter()
            .map(|product| {
                let there = overlay.product(&product.name).and_then(|id| other.shut.get(id.index()));
                there.copied().unwrap_or(Set::ALL)
            })
            .collect();
        let shut: Vec<Set> = meaning
            .shut
            .iter()
            .zip(&shut_there)
            .map(|(one, other)| space.diagrams.either(*one, *other))
            .collect();
        let mut mixes: Vec<(BTreeSet<ProductId>, Set)> = Vec::new();
        for (gate, a, b) in &space.books[1].rules.mixes {
            let names = [a, b].map(|it| base.product(&overlay[*it].name));
            if let [Some(a), Some(b)] = names {
                let speaks = other.speaks.gates.get(gate.index()).copied().unwrap_or(Set::NONE);
                mixes.push(([a, b].into(), speaks));
            }
        }
        let mut weighing = Weighing::new(space, 0, &meaning.speaks.gates, Set::ALL);
        let (mut outcomes, mut firsts) = (Vec::new(), Vec::new());
        for (choice, holds) in base.choices.iter().zip(&meaning.speaks.choices) {
            let also = |space: &mut Space<'_>, way: &crate::plan::Way| {
                let crate::plan::Way::Spray(doses) = way else { return Set::NONE };
                let products: BTreeSet<ProductId> = doses.iter().map(|(product, _)| *product).collect();
                let alone = products.iter().filter_map(|it| shut_there.get(it.index()).copied());
                let together =
                    mixes.iter().filter(|(both, _)| both.is_subset(&products)).map(|(_, set)| *set);
                space.diagrams.any(alone.chain(together).collect::<Vec<_>>())
            };
            let (comes, first) = weighing.weigh_with(space, &choice.ways, *holds, &also);
            outcomes.push(comes);
            firsts.push(first);
        }
        let next = Meaning::led(space, 0, meaning.speaks.clone(), shut, outcomes, firsts);
        let own = std::mem::replace(&mut self.pair.meanings[0], next);
        let parts = self.pair.parts(0, within);
        self.pair.meanings[0] = own;
        parts
    }
}

/// What the strengths of both rulebooks amount to.
struct DoseAmounts {
    known: BTreeMap<(String, u64), (f64, String)>,
}

impl DoseAmounts {
    fn of(plans: [&Plan; 2]) -> Self {
        let mut known = BTreeMap::new();
        for product in plans.iter().flat_map(|plan| &plan.products) {
            for (at, strength) in product.strengths.iter().enumerate() {
                let counts = format!("{:?} {:?}", strength.amount.of, strength.amount.unit.dimension);
                let amount = (crate::units::clean(strength.amount.quantity), counts);
                known.insert(
                    (
                        product.name.to_string(),
                        crate::prove::compare::items::amount_meaning(product, at as u8),
                    ),
                    amount,
                );
            }
        }
        Self { known }
    }

    /// Returns whether a verdict is a hold, or a spray of the same products, none of them stronger. Of verdicts that contradict
    /// each other each is so of one that did.
    fn tighter(&self, was: &Same, now: &Same) -> bool {
        match (was, now) {
            (_, Same::Hold) => true,
            (Same::Spray(before), Same::Spray(after)) => {
                before.len() == after.len()
                    && after
                        .iter()
                        .all(|dose| before.iter().any(|it| it.0 == dose.0 && self.is_no_stronger(it, dose)))
            }
            (Same::Undecided(before), Same::Undecided(after)) => {
                after.iter().all(|now| before.iter().any(|was| was == now || self.tighter(was, now)))
            }
            (Same::Spray(_) | Same::Hold | Same::Uncovered | Same::Undecided(_), _) => false,
        }
    }

    fn is_no_stronger(&self, was: &(String, u64), now: &(String, u64)) -> bool {
        match (self.known.get(was), self.known.get(now)) {
            (Some((before, one)), Some((after, other))) => one == other && after <= before,
            _ => was == now,
        }
    }
}
