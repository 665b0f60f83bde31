//! Regions in which two rulebooks decide differently, told in words.

use super::Regions;
use super::direction::Direction;
use super::pair::{Pair, VerdictChange};
use super::way::{Way, moved};
use crate::measure::Extent;
use crate::plan::NameId;
use crate::prove::space::places::{Named, Where, Written, distinct, run};
use crate::prove::space::witness::{self, Witness};
use crate::situation::{Set, Stretch};
use crate::trace::Verdict;
use std::collections::BTreeSet;

/// What a rulebook says in a region.
#[derive(Clone, PartialEq, Debug)]
pub struct Said {
    /// The verdict in words, strengths as figures: `spray copper 2 g/L`.
    pub verdict: String,
    /// The verdict.
    pub is: Verdict,
    /// The choices that lead there.
    pub choices: Vec<String>,
}

/// Situations in which the decisions differ in one way.
#[derive(Clone, Debug)]
pub struct Region {
    /// What the situations have in common.
    pub place: Vec<Where>,
    /// What the old rulebook says.
    pub was: Said,
    /// What the new rulebook says.
    pub now: Said,
    /// The items that made the difference.
    pub because_of: Vec<String>,
    /// One of the situations; where not all regions are worked out, of the first of each change alone.
    pub situation: Witness,
    /// Whether the verdict became stricter.
    pub way: Way,
    /// Which way the verdict moved.
    pub direction: Direction,
    /// The share of all combinations of cells.
    pub share: f64,
}

impl Region {
    /// Returns whether something is in the region for sure, by what each name can be under each rulebook: one extent, or one
    /// for each group of panicles, of which any will do.
    pub fn has(&self, can_be: &dyn Fn(usize, &str) -> Vec<Extent>) -> bool {
        let lies = |it: &Where| can_be(it.book, &it.name).into_iter().any(|extent| it.has(extent));
        self.place.iter().all(|it| lies(it) && it.other.as_deref().is_none_or(lies))
    }
}

/// What is told of a change of verdict.
#[derive(Default)]
pub(crate) struct Told {
    pub(crate) regions: Vec<Region>,
    /// The boxes of the regions.
    pub(crate) ways: Vec<Vec<Stretch>>,
    /// Whether there are more than are told.
    pub(crate) is_cut: bool,
    /// Regions whose situation was not decided as it was proved.
    pub(crate) unconfirmed: usize,
}

impl Pair<'_> {
    /// Tells the regions of one change of verdict, at most so many. Each is drawn around a situation that can be, and no two have
    /// one in common.
    pub(crate) fn tell(&mut self, change: &VerdictChange, at_most: usize, tells: Regions) -> Told {
        let mut told = Told::default();
        let (mut rest, mut free) = (change.set, self.space.impossible());
        while let Some(situation) = self.space.witness(&[rest]) {
            if told.ways.len() >= at_most {
                told.is_cut = true;
                break;
            }
            let way = self.space.diagrams.box_around(rest, free, &situation);
            let here = self.set_of(&way);
            rest = self.space.diagrams.without(rest, here);
            free = self.space.diagrams.without(free, here);
            // All of a box that can be is of the change.
            let way = self.narrowed(way, &[], situation.clone());
            match self.region(change, &way, &situation) {
                Some(mut region) => {
                    if tells == Regions::All || told.regions.is_empty() {
                        region.situation = self.example(&variables(&way), &situation);
                    }
                    told.regions.push(region);
                    told.ways.push(way);
                }
                None => {
                    told.unconfirmed += 1;
                    told.is_cut = true;
                    break;
                }
            }
        }
        told.is_cut |= self.space.diagrams.is_spent();
        told
    }

    /// Cuts a box to that part of it which can be, in some sets: each cell of its sides that is kept is that of a situation. One is
    /// known.
    pub(crate) fn narrowed(
        &mut self,
        way: Vec<Stretch>,
        within: &[Set],
        situation: Vec<u16>,
    ) -> Vec<Stretch> {
        let here = self.set_of(&way);
        let mut known = vec![situation];
        let mut narrow = Vec::with_capacity(way.len());
        for (variable, runs) in way {
            let at = usize::from(variable);
            let cells = runs.iter().flat_map(|(first, last)| *first..=*last);
            let (mut kept, mut open): (BTreeSet<u16>, BTreeSet<u16>) =
                cells.partition(|cell| known.iter().any(|it| it.get(at) == Some(cell)));
            while !open.is_empty() {
                let there = self.space.diagrams.test(variable, |cell| open.contains(&cell));
                let sets: Vec<Set> = within.iter().copied().chain([here, there]).collect();
                let Some(found) = self.space.witness(&sets) else { break };
                let cell = found.get(at).copied().unwrap_or(0);
                // What was met there is met at other sides, too.
                if !open.remove(&cell) {
                    break;
                }
                kept.insert(cell);
                known.push(found);
            }
            // Where the budget is reached nothing is known of the rest.
            if self.space.diagrams.is_spent() {
                kept.append(&mut open);
            }
            narrow.push((variable, runs_of(&kept)));
        }
        narrow
    }

    fn region(&mut self, change: &VerdictChange, way: &[Stretch], situation: &[u16]) -> Option<Region> {
        let said: Vec<Said> = (0..2).filter_map(|book| self.said(book, situation)).collect();
        let [before, after] = &said[..] else { return None };
        if self.same(0, &before.is, situation) != change.was
            || self.same(1, &after.is, situation) != change.now
        {
            return None;
        }
        let set = self.set_of(way);
        Some(Region {
            place: way.iter().map(|(variable, runs)| self.place(*variable, runs)).collect(),
            way: moved(self.space.books[0].plan, self.space.books[1].plan, &before.is, &after.is),
            direction: self.figures.direction(&change.was, &change.now),
            was: before.clone(),
            now: after.clone(),
            because_of: self.because_of(situation),
            situation: Witness::default(),
            share: self.space.diagrams.share(set),
        })
    }

    /// Returns a situation by the names that are some variables: those of the new rulebook, and of the old one where it has others
    /// of their own.
    pub(crate) fn example(&self, variables: &BTreeSet<u16>, situation: &[u16]) -> Witness {
        let in_book = |book: usize| -> BTreeSet<NameId> {
            let names = variables.iter().filter(|it| book == 1 || self.name_in(1, **it).is_none());
            names.filter_map(|variable| self.name_in(book, *variable)).collect()
        };
        let mut shown = witness::witness(&self.space, 1, situation, &in_book(1));
        let (old, plan) = (in_book(0), self.space.books[0].plan);
        let before = witness::witness(&self.space, 0, situation, &old);
        for (word, value) in before.values {
            let name = plan.named().find(|(_, of)| *of.word == *word).map(|(id, _)| id);
            let word = match name {
                Some(id) if self.is_redefined(0, id) => {
                    self.align(id, &word, situation, &mut shown);
                    format!("{word} (was)")
                }
                _ => word,
            };
            shown.values.entry(word).or_insert(value);
        }
        for source in before.shared {
            if !shown.shared.contains(&source) {
                shown.shared.push(source);
            }
        }
        shown
    }

    /// Takes the same number for both definitions of a name where each can be it, since no weather may give others.
    fn align(&self, old: NameId, word: &str, situation: &[u16], shown: &mut Witness) {
        let plans = [self.space.books[0].plan, self.space.books[1].plan];
        let Some((new, _)) = plans[1].named().find(|(_, of)| *of.word == *word) else { return };
        let extents =
            [(0, old), (1, new)].map(|(book, id)| witness::extent_of(&self.space, book, situation, id));
        let [Some((was, whole)), Some((now, _))] = extents else { return };
        let (Some((low, high)), Some((from, to))) = (was.ends(), now.ends()) else { return };
        if low.max(from) <= high.min(to) {
            let both = Extent::between(low.max(from), high.min(to));
            let value = witness::json(plans[1], new, both, whole);
            shown.values.insert(word.to_owned(), value.clone());
            shown.values.insert(format!("{word} (was)"), value);
        }
    }

    /// Returns whether the other rulebook has a name of the same word that is something else.
    pub(crate) fn is_redefined(&self, book: usize, name: NameId) -> bool {
        let other = 1 - book;
        let word = &self.space.books[book].plan[name].word;
        let named = self.space.books[other].plan.named().find(|(_, of)| of.word == *word);
        named.is_some_and(|(id, _)| {
            self.space.variable(other, id).is_some_and(|it| Some(it) != self.space.variable(book, name))
        })
    }

    /// Returns the name of a variable in a book: that which it is, before one that is read from it.
    fn name_in(&self, book: usize, variable: u16) -> Option<NameId> {
        let rooted = &self.space.rooted[book];
        let named = rooted.plan.named().filter(|(id, _)| self.space.variable(book, *id) == Some(variable));
        let is_read = |id: NameId| {
            self.space.of_meaning.get(&rooted.definitions.name(id)).is_none_or(|it| *it != variable)
        };
        named.min_by_key(|(id, name)| (is_read(*id), name.hidden, name.word.clone())).map(|(id, _)| id)
    }

    /// Returns the runs of a variable's pieces in words.
    pub(crate) fn place(&self, variable: u16, runs: &[(u16, u16)]) -> Where {
        let of = self.space.variables.get(usize::from(variable));
        let Some((book, name)) = of.and_then(|it| it.name) else {
            let name = "an expression".to_owned();
            return Where { name, book: 1, runs: Vec::new(), other: None, is_redefined: false };
        };
        let mut place = self.place_in(book, name, variable, runs);
        let has_texts = self.space.text(variable, 0).is_some();
        if has_texts && let Some((book, name)) = self.named(variable).find(|(at, _)| *at != book) {
            place.other = Some(Box::new(self.place_in(book, name, variable, runs)));
        }
        place
    }

    /// Returns the names of the rulebooks that are a variable.
    fn named(&self, variable: u16) -> impl Iterator<Item = (usize, NameId)> {
        let names = self
            .space
            .books
            .iter()
            .enumerate()
            .flat_map(|(at, of)| of.plan.named().map(move |(id, _)| (at, id)).collect::<Vec<_>>());
        names.filter(move |(at, id)| self.space.variable(*at, *id) == Some(variable))
    }

    fn place_in(&self, book: usize, name: NameId, variable: u16, runs: &[(u16, u16)]) -> Where {
        let plan = self.space.books[book].plan;
        let extents = self.space.read(book, name).map(|read| read.extents.clone()).unwrap_or_default();
        let whole = self.space.variables.get(usize::from(variable)).is_some_and(|it| it.whole);
        let none = Written::new();
        let thresholds = self.written.get(usize::from(variable)).unwrap_or(&none);
        let texts = |piece: u16| self.space.text(variable, piece);
        let named = Named { name, written: thresholds, texts: &texts };
        let runs =
            runs.iter().map(|(first, last)| run(plan, &named, &extents, whole, *first, *last)).collect();
        let runs = distinct(runs);
        let is_redefined = self.is_redefined(book, name);
        Where { name: plan[name].word.to_string(), book, runs, other: None, is_redefined }
    }
}

/// Returns the variables of a box.
pub(crate) fn variables(way: &[Stretch]) -> BTreeSet<u16> {
    way.iter().map(|(variable, _)| *variable).collect()
}

/// Returns the runs of some cells, each from its first to its last.
fn runs_of(cells: &BTreeSet<u16>) -> Vec<(u16, u16)> {
    let mut runs: Vec<(u16, u16)> = Vec::new();
    for cell in cells {
        match runs.last_mut().filter(|(_, last)| last + 1 == *cell) {
            Some((_, last)) => *last = *cell,
            None => runs.push((*cell, *cell)),
        }
    }
    runs
}
