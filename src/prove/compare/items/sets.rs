//! Conditions of items of two rulebooks as sets of situations: whether they hold in the same, and whether all gates of today,
//! or all choices, come to the same together, however they are parted into items.

use super::meanings::{amount_meaning, hash};
use crate::decide::{Logic, Ranks};
use crate::plan::{Condition, Meaning, NameId, Plan, ProductId, Way};
use crate::prove::meaning::Speaks;
use crate::prove::meaning::limiting;
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::prove::space::always;
use crate::situation::Set;
use std::collections::{BTreeMap, BTreeSet};

/// How one set of cases stands to that which it was.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum SetChange {
    Same,
    Wider,
    Narrower,
    Other,
}

/// Two rulebooks in one space.
pub(super) struct ItemSets<'p> {
    space: Space<'p>,
    speaks: [Speaks; 2],
}

impl<'p> ItemSets<'p> {
    pub(crate) fn of(books: [Book<'p>; 2], budget: usize) -> Self {
        let mut space = Space::of_two(books, budget);
        let speaks = [0, 1].map(|book| Speaks::of(&mut space, book));
        Self { space, speaks }
    }

    /// Returns whether the budget was reached: then nothing is sure.
    pub(crate) fn is_spent(&self) -> bool {
        self.space.diagrams.is_spent()
    }

    /// Returns how the cases of an `if` and an `unless` changed.
    pub(crate) fn when(&mut self, was: [Option<&Condition>; 2], now: [Option<&Condition>; 2]) -> SetChange {
        let [was, now] = [(0, was), (1, now)].map(|(book, [condition, unless])| {
            let logic = Logic::when(condition, unless, &self.space.books[book].rules.axes);
            self.space.holds(book, &logic)
        });
        self.change(was, now)
    }

    /// Returns how the cases of gates changed, each with the one at its place in the other list.
    pub(crate) fn gates(&mut self, was: &[usize], now: &[usize]) -> SetChange {
        if was.len() != now.len() {
            return SetChange::Other;
        }
        let mut all = SetChange::Same;
        for (was, now) in was.iter().zip(now) {
            let [was, now] = [(0, was), (1, now)].map(|(book, at): (usize, &usize)| {
                self.speaks[book].gates.get(*at).copied().unwrap_or(Set::NONE)
            });
            all = match (all, self.change(was, now)) {
                (SetChange::Same, one) => one,
                (all, SetChange::Same) => all,
                (all, one) if all == one => all,
                _ => SetChange::Other,
            };
        }
        all
    }

    /// Returns how the cases changed in which a grove is taken, by two statements on what is always so.
    pub(super) fn kept(&mut self, was: usize, now: usize) -> SetChange {
        let statements =
            [(0, was), (1, now)].map(|(book, at): (usize, usize)| &self.space.books[book].plan.always[at]);
        let [was, now] = [0, 1].map(|book| {
            let kept = always::kept(&mut self.space, book, statements[book]);
            let refused = always::refused(&mut self.space, book, statements[book]);
            // Of names that are compared with one another there are situations that are both.
            let both = self.space.diagrams.both(kept, refused);
            (kept, self.space.witness(&[both]).is_none())
        });
        if was.1 && now.1 { self.change(was.0, now.0) } else { SetChange::Other }
    }

    /// Returns whether two bands are at the same level in every situation.
    pub(super) fn bands_agree(&mut self, was: NameId, now: NameId) -> bool {
        let plans = [self.space.books[0].plan, self.space.books[1].plan];
        let levels = |book: usize, name: NameId| match plans[book][name].kind {
            crate::plan::Kind::Words(list) => plans[book][list].words.len() as u16,
            _ => 0,
        };
        let count = levels(0, was);
        count == levels(1, now)
            && (0..count).all(|level| {
                let cell = crate::situation::Cells::one(level);
                let (one, other) = (self.space.test(0, was, &cell), self.space.test(1, now, &cell));
                self.agree(one, other)
            })
    }

    /// Returns whether all gates of today together shut the same, and hold to the same amounts.
    pub(super) fn gates_agree(&mut self) -> bool {
        let plans = [self.space.books[0].plan, self.space.books[1].plan];
        if plans[0].products.len() != plans[1].products.len() {
            return false;
        }
        for (at, product) in plans[0].products.iter().enumerate() {
            let Some(other) = plans[1].product(&product.name) else { return false };
            let amounts = |plan: &Plan, id: ProductId| -> Vec<Meaning> {
                (0..plan[id].strengths.len()).map(|it| amount_meaning(&plan[id], it as u8)).collect()
            };
            let id = ProductId(at as u32);
            if amounts(plans[0], id) != amounts(plans[1], other) {
                return false;
            }
            let [was, now] = [(0, id), (1, other)].map(|(book, product)| {
                let gates = self.speaks[book].gates.clone();
                let (shut, held) = limiting(&mut self.space, book, product, &gates);
                let mut sets = vec![self.space.diagrams.any(shut)];
                sets.extend(held.into_iter().map(|held| self.space.diagrams.any(held)));
                sets
            });
            if !was.into_iter().zip(now).all(|(was, now)| self.agree(was, now)) {
                return false;
            }
        }
        let [was, now] = [0, 1].map(|book| {
            let of = self.space.books[book];
            let mut mixes: BTreeMap<BTreeSet<String>, Set> = BTreeMap::new();
            for (gate, a, b) in &of.rules.mixes {
                let names = [a, b].map(|it| of.plan[*it].name.to_string()).into();
                let place = mixes.entry(names).or_insert(Set::NONE);
                let speaks = self.speaks[book].gates.get(gate.index()).copied().unwrap_or(Set::NONE);
                *place = self.space.diagrams.either(*place, speaks);
            }
            mixes
        });
        let names: BTreeSet<&BTreeSet<String>> = was.keys().chain(now.keys()).collect();
        names.into_iter().all(|it| {
            let of = |mixes: &BTreeMap<_, Set>| mixes.get(it).copied().unwrap_or(Set::NONE);
            let (one, other) = (of(&was), of(&now));
            self.agree(one, other)
        })
    }

    /// Returns whether all choices together come to the same, whatever is shut: those with the same alternatives hold in the
    /// same situations, and have the same rank to others.
    pub(super) fn choices_agree(&mut self) -> bool {
        let (Some(was), Some(now)) = (self.groups(0), self.groups(1)) else { return false };
        was.len() == now.len()
            && was.into_iter().all(|(key, (set, below))| match now.get(&key) {
                Some((other, ranks)) => below == *ranks && self.agree(set, *other),
                None => false,
            })
    }

    /// Returns the choices of a rulebook by what they advise: where one of each kind holds, and the kinds below it; nothing
    /// where not all of one kind have the same rank to all of another.
    fn groups(&mut self, book: usize) -> Option<BTreeMap<Meaning, (Set, BTreeSet<Meaning>)>> {
        let plan = self.space.books[book].plan;
        let keys: Vec<Meaning> = plan
            .choices
            .iter()
            .map(|choice| {
                let way = |way: &Way| match way {
                    Way::Hold => Vec::new(),
                    Way::Spray(doses) => {
                        let of = |(product, at): &(ProductId, u8)| {
                            (plan[*product].name.to_string(), amount_meaning(&plan[*product], *at))
                        };
                        let mut doses: Vec<_> = doses.iter().map(of).collect();
                        doses.sort();
                        doses
                    }
                };
                let ways: Vec<_> = choice.ways.iter().map(way).collect();
                hash((ways, choice.within.map(f64::to_bits), choice.recheck.map(f64::to_bits)))
            })
            .collect();
        let mut groups: BTreeMap<Meaning, (Set, BTreeSet<Meaning>)> = BTreeMap::new();
        for (key, holds) in keys.iter().zip(self.speaks[book].choices.clone()) {
            let place = groups.entry(*key).or_insert((Set::NONE, BTreeSet::new()));
            place.0 = self.space.diagrams.either(place.0, holds);
        }
        // All pairs of two kinds have a rank to one another, or none.
        let kinds: Vec<Meaning> = groups.keys().copied().collect();
        let of: Vec<usize> = keys.iter().filter_map(|key| kinds.binary_search(key).ok()).collect();
        let mut members: Vec<Vec<usize>> = vec![Vec::new(); kinds.len()];
        of.iter().enumerate().for_each(|(at, kind)| members[*kind].push(at));
        let ranks = Ranks::of(plan);
        for (above, choices) in members.iter().enumerate() {
            let mut pairs = vec![0_usize; kinds.len()];
            for choice in choices {
                ranks.below(*choice).for_each(|lower| pairs[of[lower.index()]] += 1);
            }
            for (lower, pairs) in pairs.into_iter().enumerate().filter(|(lower, _)| *lower != above) {
                if pairs > 0 && pairs != choices.len() * members[lower].len() {
                    return None;
                }
                if pairs > 0 {
                    groups.get_mut(&kinds[above])?.1.insert(kinds[lower]);
                }
            }
        }
        Some(groups)
    }

    fn agree(&mut self, was: Set, now: Set) -> bool {
        self.change(was, now) == SetChange::Same
    }

    fn change(&mut self, was: Set, now: Set) -> SetChange {
        let (more, fewer) = (self.space.diagrams.without(now, was), self.space.diagrams.without(was, now));
        let mut is_somewhere = |set: Set| !set.is_none() && self.space.witness(&[set]).is_some();
        let found = match (is_somewhere(more), is_somewhere(fewer)) {
            (false, false) => SetChange::Same,
            (true, false) => SetChange::Wider,
            (false, true) => SetChange::Narrower,
            (true, true) => SetChange::Other,
        };
        if self.is_spent() { SetChange::Other } else { found }
    }
}
