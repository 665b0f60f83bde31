//! Two rulebooks in the set of all situations of both: what each says, as verdicts that they can share, and where one may say
//! otherwise.

use super::causes::cause_names;
use super::direction::Figures;
use super::items::amount_meaning;
use super::regions::Said;
use crate::decide::{Outcome, decide};
use crate::plan::{NameId, Plan, ProductId};
use crate::prove::meaning::Meaning;
use crate::prove::space::Space;
use crate::prove::space::places::{Written, written};
use crate::situation::{Set, Stretch};
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// A verdict as two rulebooks can share it: products by their names, strengths by what they amount to.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Same {
    Spray(Vec<(String, u64)>),
    Hold,
    Uncovered,
    /// The choices that lead do not agree; these are their verdicts.
    Undecided(Vec<Same>),
}

/// Verdicts, each with where it is given.
pub(crate) type Parts = Vec<(Same, Set)>;

/// A verdict that becomes another, and where.
#[derive(Clone, Debug)]
pub(crate) struct VerdictChange {
    pub(crate) was: Same,
    pub(crate) now: Same,
    pub(crate) set: Set,
}

/// The choices of a rulebook by their names.
type ByName<'n> = BTreeMap<&'n str, usize>;

/// Two rulebooks.
#[derive(Clone)]
pub(crate) struct Pair<'p> {
    pub(crate) space: Space<'p>,
    pub(crate) meanings: [Meaning; 2],
    /// Gates and choices that speak elsewhere in the one rulebook than in the other.
    pub(crate) turned: Vec<(String, [Set; 2])>,
    /// What each gate and each choice is called where it makes a difference.
    pub(crate) causes: [Vec<(String, bool)>; 2],
    /// The thresholds with which the rulebooks compare each variable.
    pub(crate) written: Vec<Written>,
    /// What strengths amount to.
    pub(crate) figures: Figures,
}

impl<'p> Pair<'p> {
    /// Reads two rulebooks in a space.
    pub(crate) fn new(mut space: Space<'p>) -> Self {
        let meanings = [Meaning::of(&mut space, 0), Meaning::of(&mut space, 1)];
        let [old, new] = [space.books[0].plan, space.books[1].plan];
        let causes = [cause_names(old, new), cause_names(new, old)];
        let mut sets: BTreeMap<String, [Set; 2]> = BTreeMap::new();
        for (book, meaning) in meanings.iter().enumerate() {
            let speak = meaning.speaks.gates.iter().chain(&meaning.speaks.choices);
            for ((name, _), set) in causes[book].iter().zip(speak) {
                let place = &mut sets.entry(name.clone()).or_insert([Set::NONE; 2])[book];
                *place = space.diagrams.either(*place, *set);
            }
        }
        let turned = sets.into_iter().filter(|(_, [was, now])| was != now).collect();
        let mut thresholds = vec![Written::new(); space.variables.len()];
        for (at, book) in space.books.iter().enumerate() {
            // A name that is computed from a variable has thresholds of its own, and units.
            let definitions = &space.rooted[at].definitions;
            let is = |name: NameId| space.of_meaning.get(&definitions.name(name)).copied();
            written(
                book.plan,
                &|name| space.variable(at, name).filter(|it| is(name) == Some(*it)),
                &mut thresholds,
            );
        }
        let figures = Figures::of([old, new]);
        Self { space, meanings, turned, causes, written: thresholds, figures }
    }

    /// Returns whether the old decisions, patched with the places of all changes, each with its new decision, are the new
    /// ones. The places are disjoint.
    pub(super) fn is_patched(&mut self, was: Parts, now: Parts, patches: &[(&Same, Set)]) -> bool {
        let mut patched: BTreeMap<Same, Set> = was.into_iter().collect();
        for (now, here) in patches {
            for set in patched.values_mut() {
                *set = self.space.diagrams.without(*set, *here);
            }
            let place = patched.entry((*now).clone()).or_insert(Set::NONE);
            *place = self.space.diagrams.either(*place, *here);
        }
        let new: BTreeMap<Same, Set> = now.into_iter().collect();
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

    /// Returns each change of verdict with where it may happen: some of it may be nowhere, since not all situations of it can be.
    pub(crate) fn changes(&mut self, was: &Parts, now: &Parts) -> Vec<VerdictChange> {
        let mut changes = Vec::new();
        for (before, one) in was {
            // Most of what was said is said still.
            let same = now.iter().find(|(after, _)| after == before).map_or(Set::NONE, |(_, set)| *set);
            let moved = self.space.diagrams.without(*one, same);
            if moved.is_none() {
                continue;
            }
            for (after, other) in now.iter().filter(|(after, _)| after != before) {
                let set = self.space.diagrams.both(moved, *other);
                if !set.is_none() {
                    changes.push(VerdictChange { was: before.clone(), now: after.clone(), set });
                }
            }
        }
        changes
    }

    /// Returns where the rulebooks may decide differently: nowhere else do they, since there choices of the same names hold, come
    /// to the same and outrank one another.
    pub(crate) fn may_differ(&mut self) -> Set {
        let [old, new] = [0, 1].map(|book| by_name(self.space.books[book].plan));
        let reranked = self.reranked(&old, &new);
        let holds = |pair: &Self, book: usize, at: usize| pair.meanings[book].speaks.choices[at];
        let mut sets = Vec::new();
        for (name, was) in &old {
            let Some(now) = new.get(name) else {
                sets.push(holds(self, 0, *was));
                continue;
            };
            if reranked.contains(name) {
                sets.extend([holds(self, 0, *was), holds(self, 1, *now)]);
            }
            let (before, after) = (self.comes_to(0, *was), self.comes_to(1, *now));
            for outcome in before.keys().chain(after.keys()) {
                let of =
                    |comes: &BTreeMap<Option<Same>, Set>| comes.get(outcome).copied().unwrap_or(Set::NONE);
                let (one, other) = (of(&before), of(&after));
                sets.push(self.space.diagrams.without(one, other));
                sets.push(self.space.diagrams.without(other, one));
            }
        }
        let added = new.iter().filter(|(name, _)| !old.contains_key(*name));
        sets.extend(added.map(|(_, at)| holds(self, 1, *at)));
        self.space.diagrams.any(sets)
    }

    /// Returns the choices of both rulebooks that others outrank in the one than in the other.
    fn reranked<'n>(&self, old: &ByName<'n>, new: &ByName<'n>) -> BTreeSet<&'n str> {
        let lists = |book: usize, at: usize, all: bool| {
            let of = &self.space.books[book];
            let ids = if all { &of.rules.outranked_by[at] } else { &of.plan.choices[at].outranks };
            ids.iter().map(|it| &*of.plan[*it].name).collect::<BTreeSet<&str>>()
        };
        let differ = |all: bool| {
            let both = old.iter().filter_map(|(name, was)| Some((*name, *was, *new.get(name)?)));
            both.filter(move |(_, was, now)| lists(0, *was, all) != lists(1, *now, all))
                .map(|(name, ..)| name)
        };
        // Ranks are the same throughout where they are the same directly.
        if old.keys().eq(new.keys()) && differ(false).next().is_none() {
            return BTreeSet::new();
        }
        differ(true).collect()
    }

    /// Returns what a choice comes to where; nothing where it steps aside.
    fn comes_to(&mut self, book: usize, choice: usize) -> BTreeMap<Option<Same>, Set> {
        let plan = self.space.books[book].plan;
        let mut comes: BTreeMap<Option<Same>, Set> = BTreeMap::new();
        for (outcome, set) in &self.meanings[book].outcomes[choice] {
            let place = comes.entry(same_outcome(plan, outcome)).or_insert(Set::NONE);
            *place = self.space.diagrams.either(*place, *set);
        }
        comes
    }

    /// Returns each verdict of a rulebook with where it is given, of some situations.
    pub(crate) fn parts(&mut self, book: usize, within: Set) -> Parts {
        let meaning = self.meanings[book].clone();
        let plan = self.space.books[book].plan;
        let mut parts: BTreeMap<Same, Set> = BTreeMap::new();
        let mut disagree = Set::NONE;
        for (verdict, set) in meaning.partition(&mut self.space, within) {
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
        // Where no situation can be undecided, the sets of each two that disagree are not made.
        if self.space.witness(&[disagree]).is_none() {
            return parts.into_iter().collect();
        }
        // What is undecided is told apart by the verdicts that stand against each other.
        let mut undecided: Vec<(Vec<Same>, Set)> = vec![(Vec::new(), disagree)];
        let mut leading: BTreeMap<Same, Vec<Set>> = BTreeMap::new();
        for (comes, leads) in meaning.outcomes.iter().zip(&meaning.leads) {
            for (outcome, set) in comes {
                let Some(same) = same_outcome(plan, outcome) else { continue };
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

    /// Returns what a rulebook says in a situation.
    pub(crate) fn said(&self, book: usize, situation: &[u16]) -> Option<Said> {
        let of = self.space.books[book];
        let decision = decide(of.plan, of.rules, &self.space.cells(book, situation)).ok()?;
        Some(Said {
            verdict: self.figures.words(book, &self.same(book, &decision.verdict, situation)),
            is: decision.verdict,
            choices: decision.choices.iter().map(|it| of.plan[*it].name.to_string()).collect(),
        })
    }

    /// Returns a verdict of a rulebook in a situation as two can share it.
    pub(crate) fn same(&self, book: usize, verdict: &Verdict, situation: &[u16]) -> Same {
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
                    all.extend(here.and_then(|(outcome, _)| same_outcome(plan, outcome)));
                }
                Same::Undecided(all.into_iter().collect())
            }
        }
    }
}

/// Returns a spray as two rulebooks can share it.
pub(crate) fn spray(plan: &Plan, doses: &[(ProductId, u8)]) -> Same {
    let mut doses: Vec<(String, u64)> = doses
        .iter()
        .map(|(product, at)| (plan[*product].name.to_string(), amount_meaning(&plan[*product], *at)))
        .collect();
    doses.sort();
    Same::Spray(doses)
}

/// Returns what an outcome is as two rulebooks can share it; nothing where a choice steps aside.
pub(super) fn same_outcome(plan: &Plan, outcome: &Outcome) -> Option<Same> {
    match outcome {
        Outcome::Spray(doses) => Some(spray(plan, doses)),
        Outcome::Hold => Some(Same::Hold),
        Outcome::Aside => None,
    }
}

fn by_name(plan: &Plan) -> ByName<'_> {
    plan.choices.iter().enumerate().map(|(at, choice)| (&*choice.name, at)).collect()
}
