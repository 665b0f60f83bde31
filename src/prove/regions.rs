//! Regions in which two rulebooks decide differently, told in words.

use super::differences::Regions;
use super::headlines::Draft;
use super::pair::{Change, Pair};
use super::places::{Named, Where, Written, run};
use super::tightened::{Way, moved};
use super::witness::{Witness, witness};
use crate::measure::Extent;
use crate::plan::NameId;
use crate::situation::{Set, Stretch};
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// What a rulebook says in a region.
#[derive(Clone, PartialEq, Debug)]
pub struct Said {
    /// The verdict in words, `spray copper at reduced`.
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
    /// One of the situations; where not all regions are worked out, of the first of each cause only.
    pub situation: Witness,
    /// Which way the verdict moved.
    pub way: Way,
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
pub(super) struct Told {
    pub(super) regions: Vec<Region>,
    /// What headlines are made of.
    pub(super) drafts: Vec<Draft>,
    /// Regions whose situation was not decided as it was proved.
    pub(super) unconfirmed: usize,
}

impl Pair<'_> {
    /// Tells the regions of one change of verdict.
    pub(super) fn tell(&mut self, change: &Change, boxes: &[Vec<Stretch>], tells: Regions) -> Told {
        let mut told = Told::default();
        let mut by_cause: BTreeMap<Vec<String>, Draft> = BTreeMap::new();
        for way in boxes {
            let here = self.set_of(way);
            let Some(situation) = self.space.witness(&[here, change.set]) else { continue };
            let Some(mut region) = self.region(change, way, here, &situation) else {
                told.unconfirmed += 1;
                continue;
            };
            if tells == Regions::All || !by_cause.contains_key(&region.because_of) {
                region.situation = self.told(way, &situation);
            }
            let draft = by_cause.entry(region.because_of.clone()).or_insert_with(|| Draft {
                first: region.clone(),
                situation,
                set: change.set,
                regions: 0,
            });
            draft.regions += 1;
            told.regions.push(region);
        }
        told.drafts = by_cause.into_values().collect();
        told
    }

    fn region(&mut self, change: &Change, way: &[Stretch], set: Set, situation: &[u16]) -> Option<Region> {
        let said: Vec<Said> = (0..2).filter_map(|book| self.said(book, situation)).collect();
        let [before, after] = &said[..] else { return None };
        if self.same(0, &before.is, situation) != change.was
            || self.same(1, &after.is, situation) != change.now
        {
            return None;
        }
        Some(Region {
            place: way.iter().map(|(variable, runs)| self.place(*variable, runs)).collect(),
            way: moved(self.space.books[0].plan, self.space.books[1].plan, &before.is, &after.is),
            was: before.clone(),
            now: after.clone(),
            because_of: self.because_of(situation),
            situation: Witness::default(),
            share: self.space.diagrams.share(set),
        })
    }

    /// Returns a situation by the names that a region speaks of.
    fn told(&self, way: &[Stretch], situation: &[u16]) -> Witness {
        let mut names = BTreeSet::new();
        for (variable, _) in way {
            let of = self.space.variables.get(usize::from(*variable)).and_then(|it| it.name);
            names.extend(of.filter(|(book, _)| *book == 1).map(|(_, name)| name));
        }
        let in_new: BTreeSet<NameId> =
            way.iter().filter_map(|(variable, _)| self.name_in(1, *variable)).chain(names).collect();
        let mut shown = witness(&self.space, 1, situation, &in_new);
        let in_old: BTreeSet<NameId> = way
            .iter()
            .filter(|(variable, _)| self.name_in(1, *variable).is_none())
            .filter_map(|(variable, _)| self.name_in(0, *variable))
            .collect();
        shown.values.extend(witness(&self.space, 0, situation, &in_old).values);
        shown
    }

    /// Returns the name of a variable in a book.
    fn name_in(&self, book: usize, variable: u16) -> Option<NameId> {
        let plan = self.space.books[book].plan;
        let named = plan.named().filter(|(id, _)| self.space.variable(book, *id) == Some(variable));
        let of_variable = self.space.variables.get(usize::from(variable))?.name;
        named
            .min_by_key(|(id, name)| (of_variable != Some((book, *id)), name.hidden, name.word.clone()))
            .map(|(id, _)| id)
    }

    /// Returns the runs of a variable's pieces in words.
    pub(super) fn place(&self, variable: u16, runs: &[(u16, u16)]) -> Where {
        let of = self.space.variables.get(usize::from(variable));
        let Some((book, name)) = of.and_then(|it| it.name) else {
            return Where { name: "an expression".to_owned(), book: 1, runs: Vec::new(), other: None };
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
        Where { name: plan[name].word.to_string(), book, runs, other: None }
    }
}
