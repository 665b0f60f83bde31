//! Whether something changes a verdict: a gate that speaks elsewhere, a choice that holds elsewhere, a row that is left out.
//!
//! A gate matters only where no other gate does the same to its product and a choice that nothing outranks comes to it;
//! a choice only where it leads or is the only one that holds. There some situations are tried, which mostly settles it,
//! and the rest is worked out for that part of all situations alone.

use super::findings::Prover;
use super::meaning::limiting;
use super::panicles;
use super::point::{Altered, Point};
use super::taken::Taken;
use super::worked::{holds, lies_in};
use crate::measure::Extent;
use crate::plan::{Definitions, Origin, ProductId, Way, Worked};
use crate::situation::{Search, Set};
use crate::trace::Shutter;

/// How many situations are tried before it is worked out.
const TRIES: u32 = 16;

/// How many of them are looked for without making sets.
pub(super) const GLIMPSES: u32 = 3;

/// Where a gate's own say can matter.
#[derive(Clone, Debug)]
pub(super) struct Grounds {
    /// For each product, what its gates do to it.
    products: Vec<Limited>,
    /// For each choice and each of its alternatives, where it is come to and nothing that acts outranks the choice.
    come_to: Vec<Vec<Set>>,
    /// Where at most one choice holds.
    hold_at_most_once: Set,
}

#[derive(Clone, Debug)]
struct Limited {
    shut: Limit,
    /// For each strength, where the product is held to it or a weaker one.
    held: Vec<Limit>,
    /// Where some choice that nothing outranks comes to an alternative with it.
    wanted: Set,
    /// For each strength, where that is so of an alternative with it at a stronger one.
    wanted_above: Vec<Set>,
}

/// Where nothing limits a product, and where at most one gate does.
#[derive(Clone, Copy, Debug)]
struct Limit {
    free: Set,
    at_most_one: Set,
}

/// Sets of which all are meant together.
type Place = Vec<Set>;

impl Prover<'_> {
    /// Works out where a gate's own say can matter.
    pub(super) fn grounds(&mut self) -> Grounds {
        let plan = self.book.plan;
        let come_to = self.come_to();
        let mut products = Vec::with_capacity(plan.products.len());
        let gates = self.meaning.speaks.gates.clone();
        for (number, product) in plan.products.iter().enumerate() {
            let (shut, held) = limiting(&mut self.space, 0, ProductId(number as u32), &gates);
            products.push(Limited {
                shut: self.limit(shut),
                held: held.into_iter().map(|sets| self.limit(sets)).collect(),
                wanted: self.wanted(&come_to, &[ProductId(number as u32)], None),
                wanted_above: (0..product.strengths.len() as u8)
                    .map(|at| self.wanted(&come_to, &[ProductId(number as u32)], Some(at)))
                    .collect(),
            });
        }
        let hold_at_most_once = self.limit(self.meaning.speaks.choices.clone()).at_most_one;
        Grounds { products, come_to, hold_at_most_once }
    }

    /// Returns for each choice and each of its alternatives where it is come to, and nothing that acts outranks the choice.
    fn come_to(&mut self) -> Vec<Vec<Set>> {
        let mut come_to = Vec::with_capacity(self.book.plan.choices.len());
        for (at, holds) in self.meaning.speaks.choices.clone().into_iter().enumerate() {
            let mut rest = self.space.diagrams.without(holds, self.meaning.above[at]);
            let mut ways = Vec::new();
            for taken in &self.meaning.ways[at] {
                ways.push(rest);
                rest = self.space.diagrams.without(rest, *taken);
            }
            come_to.push(ways);
        }
        come_to
    }

    /// Returns where some choice that nothing outranks comes to an alternative with some products, above a strength.
    fn wanted(&mut self, come_to: &[Vec<Set>], products: &[ProductId], above: Option<u8>) -> Set {
        let mut places = Vec::new();
        for (choice, come_to) in self.book.plan.choices.iter().zip(come_to) {
            for (way, here) in choice.ways.iter().zip(come_to) {
                let Way::Spray(doses) = way else { continue };
                let is = |it: &ProductId| {
                    doses.iter().any(|(product, at)| product == it && above.is_none_or(|above| *at > above))
                };
                if products.iter().all(is) {
                    places.push(*here);
                }
            }
        }
        self.space.diagrams.any(places)
    }

    fn limit(&mut self, sets: Vec<Set>) -> Limit {
        let diagrams = &mut self.space.diagrams;
        // Where some of them hold, and where two or more do.
        let mut all: Vec<(Set, Set)> = sets.into_iter().map(|set| (set, Set::NONE)).collect();
        while all.len() > 1 {
            let join = |pair: &[(Set, Set)]| match pair {
                [(a, a_twice), (b, b_twice)] => {
                    let both = diagrams.both(*a, *b);
                    let twice = diagrams.either(*a_twice, *b_twice);
                    (diagrams.either(*a, *b), diagrams.either(twice, both))
                }
                [one, ..] => *one,
                [] => (Set::NONE, Set::NONE),
            };
            all = all.chunks(2).map(join).collect();
        }
        let (some, twice) = all.first().copied().unwrap_or((Set::NONE, Set::NONE));
        Limit { free: diagrams.not(some), at_most_one: diagrams.not(twice) }
    }

    /// Returns a situation in which the verdict is another with gates and choices altered, if there is one.
    pub(super) fn effect(&mut self, grounds: &Grounds, altered: &[Altered]) -> Option<Vec<u16>> {
        let mut places: Vec<Place> = Vec::new();
        for one in altered {
            places.extend(self.places(grounds, *one));
        }
        self.tried(places, altered).or_else(|| {
            let within = self.within(grounds, altered);
            self.worked_out(within, altered)
        })
    }

    /// Returns such a situation within a set.
    pub(super) fn effect_within(
        &mut self,
        grounds: &Grounds,
        altered: &[Altered],
        set: Set,
    ) -> Option<Vec<u16>> {
        let within = self.within(grounds, altered);
        let within = self.space.diagrams.both(within, set);
        self.worked_out(within, altered)
    }

    /// Tries to find such a situation in all of some sets.
    pub(super) fn effect_in(
        &mut self,
        grounds: &Grounds,
        altered: &[Altered],
        sets: &[Set],
    ) -> Option<Vec<u16>> {
        let mut places: Vec<Place> = Vec::new();
        for one in altered {
            places.extend(self.places(grounds, *one));
            // What one of them opens up, another may use.
            let moved = self.moved(*one);
            places.push(vec![moved]);
        }
        places.iter_mut().for_each(|place| place.extend(sets));
        self.tried(places, altered)
    }

    /// Returns sets in all of which the panicles of a tree are one group.
    pub(super) fn as_one_group(&mut self) -> Vec<Set> {
        let before = self.space.relations.len();
        for book in 0..self.space.books.len() {
            panicles::one_group(&mut self.space, book);
        }
        self.space.relations.split_off(before)
    }

    /// Returns where the log says of what no worked example can take what an example assumes.
    pub(super) fn as_assumed(&mut self) -> Set {
        let plan = self.book.plan;
        let definitions = Definitions::of(plan);
        let taken = Taken::of(plan, &definitions, &Worked::default());
        let mut sets = Vec::new();
        for (id, name) in plan.named().filter(|(_, name)| name.hidden) {
            let Origin::Measure(measure) = &name.origin else { continue };
            let variable =
                self.space.variable(0, id).and_then(|at| self.space.variables.get(usize::from(at)));
            let is_its_own = variable.is_some_and(|it| it.name == Some((0, id)));
            if let Some(assumed) = taken.assumed(&measure.expr).filter(|_| is_its_own) {
                let is = |piece: &Extent| lies_in(*piece, assumed) || holds(*piece, assumed);
                sets.push(self.space.where_name(0, id, &is));
            }
        }
        self.space.diagrams.all(sets)
    }

    /// Returns where gates and choices altered can change the verdict: nowhere else do they.
    pub(super) fn within(&mut self, grounds: &Grounds, altered: &[Altered]) -> Set {
        let within: Vec<Set> = match altered {
            [one] => {
                let places = self.places(grounds, *one);
                places.into_iter().map(|place| self.space.diagrams.all(place)).collect()
            }
            // What one of them opens up, another may use.
            _ => altered.iter().map(|one| self.moved(*one)).collect(),
        };
        self.space.diagrams.any(within)
    }

    /// Returns where something altered speaks otherwise than in the rulebook.
    fn moved(&mut self, altered: Altered) -> Set {
        let (before, after) = match altered {
            Altered::Gate(at, set) => (self.meaning.speaks.gates[at], set),
            Altered::Choice(at, set) => (self.meaning.speaks.choices[at], set),
        };
        self.apart(before, after)
    }

    /// Returns where two sets differ.
    pub(super) fn apart(&mut self, a: Set, b: Set) -> Set {
        let (one, other) = (self.space.diagrams.without(a, b), self.space.diagrams.without(b, a));
        self.space.diagrams.either(one, other)
    }

    /// Returns where something altered can change the verdict: nowhere else does it.
    fn places(&mut self, grounds: &Grounds, altered: Altered) -> Vec<Place> {
        let mut places = match altered {
            Altered::Gate(at, set) => self.places_of_gate(grounds, at, set),
            Altered::Choice(at, set) => self.places_of_choice(grounds, at, set),
        };
        places.retain(|place| place.iter().all(|set| !set.is_none()));
        places
    }

    fn places_of_gate(&mut self, grounds: &Grounds, at: usize, set: Set) -> Vec<Place> {
        let before = self.meaning.speaks.gates[at];
        let gone = self.space.diagrams.without(before, set);
        let new = self.space.diagrams.without(set, before);
        let rules = self.book.rules;
        let mut places = Vec::new();
        for (of, limited) in rules.products.iter().zip(&grounds.products) {
            let shuts = of.shut_by.iter().any(|it| matches!(it, Shutter::Gate(gate) if gate.index() == at));
            let held = of.held_by.iter().filter(|(gate, _)| gate.index() == at).map(|(_, to)| *to).min();
            if shuts {
                places.push(vec![gone, limited.shut.at_most_one, limited.wanted]);
                places.push(vec![new, limited.shut.free, limited.wanted]);
            }
            let held = held.map(usize::from);
            if let Some((limit, wanted)) =
                held.and_then(|to| Some((limited.held.get(to)?, *limited.wanted_above.get(to)?)))
            {
                places.push(vec![gone, limit.at_most_one, limited.shut.free, wanted]);
                places.push(vec![new, limit.free, limited.shut.free, wanted]);
            }
        }
        for (_, a, b) in rules.mixes.iter().filter(|(gate, _, _)| gate.index() == at) {
            let moved = self.space.diagrams.either(gone, new);
            places.push(vec![moved, self.wanted(&grounds.come_to, &[*a, *b], None)]);
        }
        places
    }

    fn places_of_choice(&mut self, grounds: &Grounds, at: usize, set: Set) -> Vec<Place> {
        let before = self.meaning.speaks.choices[at];
        let gone = self.space.diagrams.without(before, set);
        let new = self.space.diagrams.without(set, before);
        let leads = self.space.diagrams.without(new, self.meaning.above[at]);
        vec![vec![gone, self.meaning.leads[at]], vec![leads], vec![gone, grounds.hold_at_most_once]]
    }

    /// Tries some situations of each place: at first such as are found without making sets, since most effects show there.
    fn tried(&mut self, mut places: Vec<Place>, altered: &[Altered]) -> Option<Vec<u16>> {
        for number in 0..GLIMPSES {
            let mut left = Vec::with_capacity(places.len());
            for mut place in places {
                match self.space.glimpse(&mut place, number) {
                    Search::Found(situation) if self.changes(&situation, altered) => return Some(situation),
                    Search::Found(_) | Search::TooLong => left.push(place),
                    Search::Nothing => {}
                }
            }
            places = left;
        }
        for number in 0..TRIES {
            for place in &mut places {
                let found = self.space.varied(place, number).filter(|it| self.changes(it, altered));
                if found.is_some() {
                    return found;
                }
            }
        }
        None
    }

    /// Returns whether the verdict of a situation is another with gates and choices altered.
    fn changes(&self, situation: &[u16], altered: &[Altered]) -> bool {
        let Some(point) = Point::new(&self.space, 0, &self.meaning.speaks, situation) else { return false };
        let before = point.verdict(self.book);
        point.with(&self.space, altered, situation).verdict(self.book) != before
    }

    /// Works out in which situations of a set the verdict is another, and returns one.
    fn worked_out(&mut self, within: Set, altered: &[Altered]) -> Option<Vec<u16>> {
        if within.is_none() {
            return None;
        }
        let meaning = self.meaning.altered(&mut self.space, altered, within);
        let after = meaning.partition(&mut self.space);
        for (verdict, set) in self.parts.clone() {
            let same = after.iter().find(|(it, _)| *it == verdict).map_or(Set::NONE, |(_, set)| *set);
            let here = self.space.diagrams.both(set, within);
            let changed = self.space.diagrams.without(here, same);
            if let Some(situation) = self.space.witness(&[changed]) {
                return Some(situation);
            }
        }
        None
    }
}
