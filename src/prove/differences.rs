//! In which situations two rulebooks decide differently: proved, as disjoint regions, each shown by a situation that was
//! decided under both.

use super::headlines::Draft;
pub use super::headlines::{Except, Headline, Turn};
use super::items::{self, ItemChange, amount_meaning};
use super::places::{Named, Where, Written, run, written};
use super::tightened::{Way, moved};
use super::witness::{Witness, witness};
use super::{Book, Meaning, Space};
use crate::decide::{Certified, Outcome, Rules, decide};
use crate::measure::Extent;
use crate::plan::{NameId, Plan};
use crate::situation::{Set, Stretch};
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// How many regions are worked out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regions {
    /// One of each change of verdict.
    One,
    /// Some, for a page.
    Some,
    /// All, as far as they are not more than a program can read.
    All,
}

impl Regions {
    /// Returns how many regions are worked out at most, and of one change of verdict at least.
    fn room(self) -> (usize, usize) {
        match self {
            Regions::One => (0, 1),
            Regions::Some => (64, 4),
            Regions::All => (4_000, 20),
        }
    }
}

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

/// How two rulebooks differ.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Whether every situation is proved to be decided the same.
    pub same: bool,
    /// The regions in which decisions differ, disjoint, largest first.
    pub regions: Vec<Region>,
    /// The regions in few words.
    pub headlines: Vec<Headline>,
    /// The items that differ.
    pub items: Vec<ItemChange>,
    /// Regions whose situation was not decided as it was proved; none, unless the program is wrong.
    pub unconfirmed: usize,
    /// Whether there are more regions than are listed.
    pub more: bool,
    /// Whether the comparison could not be finished within the budget.
    pub spent: bool,
}

/// Compares two rulebooks.
pub fn compare(old: &Plan, new: &Plan, budget: usize, regions: Regions) -> Comparison {
    let (old_rules, new_rules) = (Rules::new(old, Certified::No), Rules::new(new, Certified::No));
    let books = [Book { plan: old, rules: &old_rules }, Book { plan: new, rules: &new_rules }];
    let space = Space::of_two(books, budget);
    let mut pair = Pair::new(space);
    let mut comparison = Comparison {
        same: false,
        regions: Vec::new(),
        headlines: Vec::new(),
        items: items::changes(old, new),
        unconfirmed: 0,
        more: false,
        spent: false,
    };
    let mut changes = pair.changes();
    // The small ones first: they are told as a whole.
    changes.sort_by_key(|(_, _, set)| pair.space.diagrams.size(*set));
    let (mut left, least) = regions.room();
    let free = pair.space.impossible();
    let (mut patches, mut drafts) = (Vec::new(), Vec::new());
    comparison.spent = pair.space.diagrams.is_spent();
    for (at, (was, now, set)) in changes.iter().enumerate() {
        // What was found stays found where the budget is reached while regions are told apart.
        if pair.space.diagrams.is_spent() {
            comparison.more = true;
            break;
        }
        let kept = least * (changes.len() - at - 1);
        let (boxes, rest) = pair.space.diagrams.boxes(*set, free, left.saturating_sub(kept).max(least));
        left = left.saturating_sub(boxes.len());
        comparison.more |= pair.space.diagrams.is_spent() || pair.space.witness(&[rest]).is_some();
        drafts.extend(pair.regions(was, now, *set, &boxes, (regions, &mut comparison)));
        // What is left when there are too many boxes is patched as a whole.
        let mut told = rest;
        for sides in &boxes {
            let here = pair.set_of(sides);
            told = pair.space.diagrams.either(told, here);
        }
        patches.push((now, told));
    }
    if !pair.space.diagrams.is_spent() && patches.len() == changes.len() && !pair.is_patched(&patches) {
        comparison.unconfirmed += 1;
    }
    comparison.headlines = pair.headlines(drafts);
    comparison.more |= pair.space.diagrams.is_spent() && !comparison.spent;
    comparison.same = changes.is_empty() && comparison.unconfirmed == 0 && !comparison.spent;
    comparison.regions.sort_by(|a, b| {
        b.share.total_cmp(&a.share).then_with(|| {
            a.situation.values.iter().map(|it| it.0).cmp(b.situation.values.iter().map(|it| it.0))
        })
    });
    comparison
}

/// A verdict as two rulebooks can share it: products by their names, strengths by what they amount to.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Same {
    Spray(Vec<(String, u64)>),
    Hold,
    Uncovered,
    /// The choices that lead do not agree; these are their verdicts.
    Undecided(Vec<Same>),
}

pub(super) struct Pair<'p> {
    pub(super) space: Space<'p>,
    pub(super) meanings: [Meaning; 2],
    /// Gates and choices that speak elsewhere in the one rulebook than in the other.
    turned: Vec<(String, [Set; 2])>,
    /// The thresholds with which the rulebooks compare each variable.
    written: Vec<Written>,
}

impl<'p> Pair<'p> {
    fn new(mut space: Space<'p>) -> Self {
        let meanings = [Meaning::of(&mut space, 0), Meaning::of(&mut space, 1)];
        let mut sets: BTreeMap<String, [Set; 2]> = BTreeMap::new();
        for (book, meaning) in meanings.iter().enumerate() {
            let plan = space.books[book].plan;
            let gates = plan.gates.iter().map(|gate| format!("gate {}", gate.name));
            let choices = plan.choices.iter().map(|choice| format!("choice {}", choice.name));
            let speak = gates.zip(&meaning.speaks.gates).chain(choices.zip(&meaning.speaks.choices));
            speak.for_each(|(name, set)| sets.entry(name).or_insert([Set::NONE; 2])[book] = *set);
        }
        let turned = sets.into_iter().filter(|(_, [was, now])| was != now).collect();
        let mut thresholds = vec![Written::new(); space.variables.len()];
        for (at, book) in space.books.iter().enumerate() {
            written(book.plan, &|name| space.variable(at, name), &mut thresholds);
        }
        Self { space, meanings, turned, written: thresholds }
    }

    /// Returns whether the old decisions, patched with the places of all changes, each with its new decision, are the new
    /// ones. The places are disjoint.
    fn is_patched(&mut self, patches: &[(&Same, Set)]) -> bool {
        let mut patched: BTreeMap<Same, Set> = self.parts(0).into_iter().collect();
        for (now, here) in patches {
            for set in patched.values_mut() {
                *set = self.space.diagrams.without(*set, *here);
            }
            let place = patched.entry((*now).clone()).or_insert(Set::NONE);
            *place = self.space.diagrams.either(*place, *here);
        }
        let new: BTreeMap<Same, Set> = self.parts(1).into_iter().collect();
        let verdicts: BTreeSet<&Same> = patched.keys().chain(new.keys()).collect();
        verdicts.into_iter().all(|verdict| {
            let of = |parts: &BTreeMap<Same, Set>| parts.get(verdict).copied().unwrap_or(Set::NONE);
            let (one, other) = (of(&patched), of(&new));
            [(one, other), (other, one)].into_iter().all(|(a, b)| {
                let apart = self.space.diagrams.without(a, b);
                self.space.witness(&[apart]).is_none()
            })
        })
    }

    /// Returns each change of verdict with where it happens.
    fn changes(&mut self) -> Vec<(Same, Same, Set)> {
        let (was, now) = (self.parts(0), self.parts(1));
        let mut changes = Vec::new();
        for (before, one) in &was {
            // Most of what was said is said still.
            let same = now.iter().find(|(after, _)| after == before).map_or(Set::NONE, |(_, set)| *set);
            let moved = self.space.diagrams.without(*one, same);
            if moved.is_none() {
                continue;
            }
            for (after, other) in now.iter().filter(|(after, _)| after != before) {
                let set = self.space.diagrams.both(moved, *other);
                if !set.is_none() && self.space.witness(&[set]).is_some() {
                    changes.push((before.clone(), after.clone(), set));
                }
            }
        }
        changes
    }

    /// Returns each verdict of a rulebook with where it is given.
    fn parts(&mut self, book: usize) -> Vec<(Same, Set)> {
        let meaning = self.meanings[book].clone();
        let plan = self.space.books[book].plan;
        let mut parts: BTreeMap<Same, Set> = BTreeMap::new();
        let mut disagree = Set::NONE;
        for (verdict, set) in meaning.partition(&mut self.space, Set::ALL) {
            let same = match &verdict {
                Verdict::Spray(doses) => spray(plan, doses),
                Verdict::Hold | Verdict::AllShut | Verdict::Look => Same::Hold,
                Verdict::Uncovered => Same::Uncovered,
                Verdict::Undecided => {
                    disagree = set;
                    continue;
                }
            };
            let before = parts.get(&same).copied().unwrap_or(Set::NONE);
            let all = self.space.diagrams.either(before, set);
            parts.insert(same, all);
        }
        // What is undecided is told apart by the verdicts that stand against each other.
        let mut undecided: Vec<(Vec<Same>, Set)> = vec![(Vec::new(), disagree)];
        let mut leading: BTreeMap<Same, Vec<Set>> = BTreeMap::new();
        for (comes, leads) in meaning.outcomes.iter().zip(&meaning.leads) {
            for (outcome, set) in comes {
                let same = match outcome {
                    Outcome::Spray(doses) => spray(plan, doses),
                    Outcome::Hold => Same::Hold,
                    Outcome::Aside => continue,
                };
                let here = self.space.diagrams.both(*set, *leads);
                let here = self.space.diagrams.both(here, disagree);
                if !here.is_none() {
                    leading.entry(same).or_default().push(here);
                }
            }
        }
        for (same, sets) in leading {
            let set = self.space.diagrams.any(sets);
            let mut told = Vec::new();
            for (names, all) in undecided {
                let with = self.space.diagrams.both(all, set);
                let without = self.space.diagrams.without(all, set);
                if !with.is_none() {
                    let named = names.iter().cloned().chain([same.clone()]).collect();
                    told.push((named, with));
                }
                if !without.is_none() {
                    told.push((names, without));
                }
            }
            undecided = told;
        }
        let mut all: Vec<(Same, Set)> = parts.into_iter().collect();
        all.extend(
            undecided
                .into_iter()
                .filter(|(_, set)| !set.is_none())
                .map(|(names, set)| (Same::Undecided(names), set)),
        );
        all
    }

    /// Adds the regions of one change of verdict; returns what headlines are made of.
    fn regions(
        &mut self,
        was: &Same,
        now: &Same,
        set: Set,
        boxes: &[Vec<Stretch>],
        (tells, comparison): (Regions, &mut Comparison),
    ) -> Vec<Draft> {
        let mut by_cause: BTreeMap<Vec<String>, Draft> = BTreeMap::new();
        for way in boxes {
            let here = self.set_of(way);
            let Some(situation) = self.space.witness(&[here, set]) else { continue };
            let Some(mut region) = self.region(was, now, way, here, &situation) else {
                comparison.unconfirmed += 1;
                continue;
            };
            if tells == Regions::All || !by_cause.contains_key(&region.because_of) {
                region.situation = self.told(way, &situation);
            }
            let draft = by_cause.entry(region.because_of.clone()).or_insert_with(|| Draft {
                first: region.clone(),
                situation,
                set,
                regions: 0,
            });
            draft.regions += 1;
            comparison.regions.push(region);
        }
        by_cause.into_values().collect()
    }

    pub(super) fn set_of(&mut self, way: &[Stretch]) -> Set {
        let tests: Vec<Set> = way
            .iter()
            .map(|(variable, runs)| {
                self.space
                    .diagrams
                    .test(*variable, |cell| runs.iter().any(|(first, last)| (*first..=*last).contains(&cell)))
            })
            .collect();
        self.space.diagrams.all(tests)
    }

    fn region(
        &mut self,
        was: &Same,
        now: &Same,
        way: &[Stretch],
        set: Set,
        situation: &[u16],
    ) -> Option<Region> {
        let said: Vec<Said> = (0..2).filter_map(|book| self.said(book, situation)).collect();
        let [before, after] = &said[..] else { return None };
        if self.same(0, &before.is, situation) != *was || self.same(1, &after.is, situation) != *now {
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

    fn said(&self, book: usize, situation: &[u16]) -> Option<Said> {
        let of = self.space.books[book];
        let decision = decide(of.plan, of.rules, &self.space.cells(book, situation)).ok()?;
        Some(Said {
            verdict: decision.verdict.words(of.plan),
            is: decision.verdict,
            choices: decision.choices.iter().map(|it| of.plan[*it].name.to_string()).collect(),
        })
    }

    fn same(&self, book: usize, verdict: &Verdict, situation: &[u16]) -> Same {
        let plan = self.space.books[book].plan;
        match verdict {
            Verdict::Spray(doses) => spray(plan, doses),
            Verdict::Hold | Verdict::AllShut | Verdict::Look => Same::Hold,
            Verdict::Uncovered => Same::Uncovered,
            Verdict::Undecided => {
                let meaning = &self.meanings[book];
                let mut all = BTreeSet::new();
                for (comes, leads) in meaning.outcomes.iter().zip(&meaning.leads) {
                    if !self.space.diagrams.contains(*leads, situation) {
                        continue;
                    }
                    let here = comes.iter().find(|(_, set)| self.space.diagrams.contains(*set, situation));
                    match here {
                        Some((Outcome::Spray(doses), _)) => drop(all.insert(spray(plan, doses))),
                        Some((Outcome::Hold, _)) => drop(all.insert(Same::Hold)),
                        Some((Outcome::Aside, _)) | None => {}
                    }
                }
                Same::Undecided(all.into_iter().collect())
            }
        }
    }

    /// Returns the items that speak otherwise in a situation: gates and choices by whether they hold, else choices by
    /// what they come to.
    pub(super) fn because_of(&self, situation: &[u16]) -> Vec<String> {
        let differs = |(_, [was, now]): &&(String, [Set; 2])| {
            self.space.diagrams.contains(*was, situation) != self.space.diagrams.contains(*now, situation)
        };
        let found: Vec<String> = self.turned.iter().filter(differs).map(|(name, _)| name.clone()).collect();
        if !found.is_empty() {
            return found;
        }
        let comes = |book: usize| {
            let (plan, meaning) = (self.space.books[book].plan, &self.meanings[book]);
            let choices = plan.choices.iter().zip(&meaning.outcomes).zip(&meaning.leads);
            let all: BTreeMap<String, (Option<Same>, bool)> = choices
                .map(|((choice, comes), leads)| {
                    let here = comes.iter().find(|(_, set)| self.space.diagrams.contains(*set, situation));
                    let same = here.and_then(|(outcome, _)| match outcome {
                        Outcome::Spray(doses) => Some(spray(plan, doses)),
                        Outcome::Hold => Some(Same::Hold),
                        Outcome::Aside => None,
                    });
                    (
                        format!("choice {}", choice.name),
                        (same, self.space.diagrams.contains(*leads, situation)),
                    )
                })
                .collect();
            all
        };
        let (was, now) = (comes(0), comes(1));
        let names: BTreeSet<&String> = was.keys().chain(now.keys()).collect();
        names.into_iter().filter(|name| was.get(*name) != now.get(*name)).cloned().collect()
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

fn spray(plan: &Plan, doses: &[(crate::plan::ProductId, u8)]) -> Same {
    let mut doses: Vec<(String, u64)> = doses
        .iter()
        .map(|(product, at)| (plan[*product].name.to_string(), amount_meaning(&plan[*product], *at)))
        .collect();
    doses.sort();
    Same::Spray(doses)
}
