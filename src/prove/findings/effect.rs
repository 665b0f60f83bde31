//! Whether something changes a verdict: a gate that speaks elsewhere, a choice that holds elsewhere, a row that is left out.
//!
//! A gate matters only where no other gate does the same to its product and a choice that nothing outranks comes to it;
//! a choice only where it leads or is the only one that holds. There some situations are tried, which mostly settles it,
//! and the rest is worked out for that part of all situations alone.

use super::Prover;
use crate::measure::Extent;
use crate::plan::{Definitions, Origin, Plan, ProductId, Way, Worked};
use crate::prove::meaning::altered::Altered;
use crate::prove::meaning::limiting;
use crate::prove::meaning::point::Point;
use crate::prove::space::panicles;
use crate::prove::space::taken::{Taken, holds, lies_in};
use crate::situation::{Search, Set};
use crate::trace::Shutter;
use std::cell::OnceCell;

/// How many situations are tried before it is worked out.
const TRIES: u32 = 16;

/// How many of them are looked for without making sets.
pub(super) const GLIMPSES: u32 = 3;

/// Where a gate's own say can matter. Each part is worked out when it is first asked for.
#[derive(Clone, Debug)]
pub(crate) struct Grounds {
    /// For each product, what its gates do to it.
    limited: Vec<OnceCell<Limited>>,
    /// For each product, where it is wanted.
    wanted: Vec<OnceCell<WantedEffect>>,
    /// For each choice and each of its alternatives, where it is come to and nothing that acts outranks the choice.
    come_to: OnceCell<Vec<Vec<Set>>>,
    /// Where at most one choice holds.
    hold_at_most_once: OnceCell<Set>,
}

impl Grounds {
    /// Makes those of a rulebook.
    pub(crate) fn of(plan: &Plan) -> Self {
        let count = plan.products.len();
        Self {
            limited: vec![OnceCell::new(); count],
            wanted: vec![OnceCell::new(); count],
            come_to: OnceCell::new(),
            hold_at_most_once: OnceCell::new(),
        }
    }
}

#[derive(Clone, Debug)]
struct Limited {
    shut: Limit,
    /// For each strength, where the product is held to it or a weaker one.
    held: Vec<Limit>,
}

#[derive(Clone, Debug)]
struct WantedEffect {
    /// Where some choice that nothing outranks comes to an alternative with the product.
    at_all: Set,
    /// For each strength, where that is so of an alternative with it at a stronger one.
    above: Vec<Set>,
}

/// Where nothing limits a product, and where at most one gate does.
#[derive(Clone, Copy, Debug)]
struct Limit {
    free: Set,
    at_most_one: Set,
}

/// A product at a strength, by its place.
type PlacedDose = (ProductId, u8);

/// Sets of which all are meant together.
type JointSets = Vec<Set>;

impl Prover<'_> {
    /// Works out all of where a gate's own say can matter.
    pub(crate) fn grounds(&mut self) -> Grounds {
        let grounds = Grounds::of(self.book.plan);
        for product in 0..self.book.plan.products.len() as u32 {
            self.limited(&grounds, ProductId(product));
            self.wanted_product(&grounds, ProductId(product));
        }
        self.hold_at_most_once(&grounds);
        grounds
    }

    fn limited(&mut self, grounds: &Grounds, product: ProductId) -> Option<Limited> {
        let place = grounds.limited.get(product.index())?;
        if let Some(known) = place.get() {
            return Some(known.clone());
        }
        let gates = self.meaning.speaks.gates.clone();
        let (shut, held) = limiting(&mut self.space, 0, product, &gates);
        let shut = self.limit(shut);
        let held = held.into_iter().map(|sets| self.limit(sets)).collect();
        Some(place.get_or_init(|| Limited { shut, held }).clone())
    }

    fn wanted_product(&mut self, grounds: &Grounds, product: ProductId) -> Option<WantedEffect> {
        let place = grounds.wanted.get(product.index())?;
        if let Some(known) = place.get() {
            return Some(known.clone());
        }
        // From the strongest on: what is above a strength is the next one, or above that.
        let strengths = self.book.plan[product].strengths.len();
        let (mut at_all, mut above) = (Set::NONE, Vec::with_capacity(strengths));
        for strength in (0..strengths as u8).rev() {
            above.push(at_all);
            let at_it = self.wanted(grounds, &|doses| doses.contains(&(product, strength)));
            at_all = self.space.diagrams.either(at_all, at_it);
        }
        above.reverse();
        Some(place.get_or_init(|| WantedEffect { at_all, above }).clone())
    }

    fn hold_at_most_once(&mut self, grounds: &Grounds) -> Set {
        if let Some(known) = grounds.hold_at_most_once.get() {
            return *known;
        }
        let set = self.limit(self.meaning.speaks.choices.clone()).at_most_one;
        *grounds.hold_at_most_once.get_or_init(|| set)
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

    /// Returns where some choice that nothing outranks comes to an alternative of a certain sort.
    fn wanted(&mut self, grounds: &Grounds, is: &dyn Fn(&[PlacedDose]) -> bool) -> Set {
        if grounds.come_to.get().is_none() {
            let _ = grounds.come_to.set(self.come_to());
        }
        let mut places = Vec::new();
        for (choice, come_to) in
            self.book.plan.choices.iter().zip(grounds.come_to.get().into_iter().flatten())
        {
            let ways = choice.ways.iter().zip(come_to);
            places.extend(ways.filter_map(|(way, here)| match way {
                Way::Spray(doses) if is(doses) => Some(*here),
                Way::Spray(_) | Way::Hold => None,
            }));
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
    pub(crate) fn effect(&mut self, grounds: &Grounds, altered: &[Altered]) -> Option<Vec<u16>> {
        let mut places: Vec<JointSets> = Vec::new();
        for one in altered {
            places.extend(self.places(grounds, *one));
        }
        self.tried(places, altered).or_else(|| {
            let within = self.within(grounds, altered);
            self.worked_out(within, altered)
        })
    }

    /// Returns such a situation within a set.
    pub(crate) fn effect_within(
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
    pub(crate) fn effect_in(
        &mut self,
        grounds: &Grounds,
        altered: &[Altered],
        sets: &[Set],
    ) -> Option<Vec<u16>> {
        let mut places: Vec<JointSets> = Vec::new();
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
    pub(crate) fn as_one_group(&mut self) -> Vec<Set> {
        let before = self.space.relations.len();
        for book in 0..self.space.books.len() {
            panicles::one_group(&mut self.space, book);
        }
        self.space.relations.split_off(before)
    }

    /// Returns where the log says of what no worked example can take what an example assumes.
    pub(crate) fn as_assumed(&mut self) -> Set {
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
                let is = |piece: &Extent| lies_in(name, *piece, assumed) || holds(*piece, assumed);
                sets.push(self.space.where_name(0, id, &is));
            }
        }
        self.space.diagrams.all(sets)
    }

    /// Returns where gates and choices altered can change the verdict: nowhere else do they.
    pub(crate) fn within(&mut self, grounds: &Grounds, altered: &[Altered]) -> Set {
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
    pub(crate) fn apart(&mut self, a: Set, b: Set) -> Set {
        let (one, other) = (self.space.diagrams.without(a, b), self.space.diagrams.without(b, a));
        self.space.diagrams.either(one, other)
    }

    /// Returns where something altered can change the verdict: nowhere else does it.
    fn places(&mut self, grounds: &Grounds, altered: Altered) -> Vec<JointSets> {
        let mut places = match altered {
            Altered::Gate(at, set) => self.places_of_gate(grounds, at, set),
            Altered::Choice(at, set) => self.places_of_choice(grounds, at, set),
        };
        places.retain(|place| place.iter().all(|set| !set.is_none()));
        places
    }

    fn places_of_gate(&mut self, grounds: &Grounds, at: usize, set: Set) -> Vec<JointSets> {
        let before = self.meaning.speaks.gates[at];
        let gone = self.space.diagrams.without(before, set);
        let new = self.space.diagrams.without(set, before);
        let rules = self.book.rules;
        let mut places = Vec::new();
        for (number, of) in rules.products.iter().enumerate() {
            let shuts = of.shut_by.iter().any(|it| matches!(it, Shutter::Gate(gate) if gate.index() == at));
            let held = of.held_by.iter().filter(|(gate, _)| gate.index() == at).map(|(_, to)| *to).min();
            if !shuts && held.is_none() {
                continue;
            }
            let product = ProductId(number as u32);
            let Some(limited) = self.limited(grounds, product) else { continue };
            let mut here: Vec<(JointSets, Option<usize>)> = Vec::new();
            if shuts {
                here.push((vec![gone, limited.shut.at_most_one], None));
                here.push((vec![new, limited.shut.free], None));
            }
            let held = held.map(usize::from);
            if let Some((to, limit)) = held.and_then(|to| Some((to, limited.held.get(to)?))) {
                here.push((vec![gone, limit.at_most_one, limited.shut.free], Some(to)));
                here.push((vec![new, limit.free, limited.shut.free], Some(to)));
            }
            // Where a product is wanted takes long to tell, and is asked only where its gates leave something.
            here.retain(|(place, _)| !self.space.diagrams.all(place.iter().copied()).is_none());
            if here.is_empty() {
                continue;
            }
            let Some(wanted) = self.wanted_product(grounds, product) else { continue };
            for (mut place, above) in here {
                place.push(above.map_or(wanted.at_all, |strength| wanted.above[strength]));
                places.push(place);
            }
        }
        for (_, a, b) in rules.mixes.iter().filter(|(gate, _, _)| gate.index() == at) {
            let moved = self.space.diagrams.either(gone, new);
            let has = |doses: &[PlacedDose], one: ProductId| doses.iter().any(|(it, _)| *it == one);
            places.push(vec![moved, self.wanted(grounds, &|doses| has(doses, *a) && has(doses, *b))]);
        }
        places
    }

    fn places_of_choice(&mut self, grounds: &Grounds, at: usize, set: Set) -> Vec<JointSets> {
        let before = self.meaning.speaks.choices[at];
        let gone = self.space.diagrams.without(before, set);
        let new = self.space.diagrams.without(set, before);
        let leads = self.space.diagrams.without(new, self.meaning.above[at]);
        vec![vec![gone, self.meaning.leads[at]], vec![leads], vec![gone, self.hold_at_most_once(grounds)]]
    }

    /// Tries some situations of each place: at first such as are found without making sets, since most effects show there.
    fn tried(&mut self, mut places: Vec<JointSets>, altered: &[Altered]) -> Option<Vec<u16>> {
        let mut hard = Vec::new();
        for number in 0..GLIMPSES {
            let mut left = Vec::with_capacity(places.len());
            for mut place in places {
                match self.space.glimpse(&mut place, number) {
                    Search::Found(situation) if self.changes(&situation, altered) => return Some(situation),
                    Search::Found(_) => left.push(place),
                    Search::TooLong => hard.push(place),
                    Search::Nothing => {}
                }
            }
            places = left;
        }
        places.extend(hard);
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
    pub(crate) fn changes(&self, situation: &[u16], altered: &[Altered]) -> bool {
        let Some(point) = Point::new(&self.space, &self.meaning.speaks, situation) else { return false };
        point.verdict(&[]) != point.verdict(altered)
    }

    /// Works out in which situations of a set the verdict is another, and returns one.
    fn worked_out(&mut self, within: Set, altered: &[Altered]) -> Option<Vec<u16>> {
        if within.is_none() {
            return None;
        }
        let after = self.meaning.altered(&mut self.space, altered, within);
        for (verdict, set) in self.meaning.partition(&mut self.space, within) {
            let same = after.iter().find(|(it, _)| *it == verdict).map_or(Set::NONE, |(_, set)| *set);
            let changed = self.space.diagrams.without(set, same);
            if let Some(situation) = self.space.witness(&[changed]) {
                return Some(situation);
            }
        }
        None
    }
}
