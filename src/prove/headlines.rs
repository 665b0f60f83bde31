//! What a page says of a comparison: each cause with its place, who decides otherwise there, and what becomes of verdicts.

use super::pair::Pair;
use super::places::Where;
use super::regions::Region;
use super::tightened::Way;
use super::witness::{Witness, witness};
use crate::plan::{NameId, Origin};
use crate::situation::{Set, Stretch};
use std::collections::BTreeSet;

/// How many of those who decide elsewhere are named.
const NAMED: usize = 3;

/// How many ways through a place are looked at for the widest.
const WAYS: usize = 200;

/// What one cause changes in one place, in few words.
#[derive(Clone, Debug)]
pub struct Headline {
    /// The items that made the difference.
    pub because_of: Vec<String>,
    /// Where, as far as the changed items themselves speak of it: the widest part of it.
    pub place: Vec<Where>,
    /// How many parts the place has besides.
    pub elsewhere: usize,
    /// Who decides as before, or otherwise, in some of that place.
    pub except: Except,
    /// What becomes of verdicts there, the most regions first.
    pub turns: Vec<Turn>,
    /// One of the situations.
    pub situation: Witness,
}

/// Who decides in some situations: all empty where there are none.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Except {
    /// Choices that lead there, a few of them.
    pub choices: Vec<String>,
    /// Whether everything that holds is shut in some of them.
    pub all_shut: bool,
    /// Whether no choice holds in some of them.
    pub uncovered: bool,
    /// Whether other choices lead there too.
    pub others: bool,
}

impl Except {
    /// Returns whether there is nobody.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A verdict that becomes another.
#[derive(Clone, Debug)]
pub struct Turn {
    /// What was said.
    pub was: String,
    /// What is said.
    pub now: String,
    /// Which way the verdict moved.
    pub way: Way,
    /// In how many regions.
    pub regions: usize,
}

impl Headline {
    /// Returns in how many regions the verdict changes.
    pub fn regions(&self) -> usize {
        self.turns.iter().map(|turn| turn.regions).sum()
    }
}

/// The regions of one cause and one change of verdict.
pub(super) struct Draft {
    /// The first of them.
    pub(super) first: Region,
    /// A situation of it.
    pub(super) situation: Vec<u16>,
    /// All situations in which the verdict changes so, of whatever cause.
    pub(super) set: Set,
    /// How many there are.
    pub(super) regions: usize,
}

/// Drafts of one cause in one place.
struct Group {
    place: Set,
    drafts: Vec<Draft>,
}

impl Pair<'_> {
    /// Tells regions in few words: those of one cause in one place together, the most regions first.
    pub(super) fn headlines(&mut self, drafts: Vec<Draft>) -> Vec<Headline> {
        let mut groups: Vec<Group> = Vec::new();
        for draft in drafts {
            let place = self.place_of_cause(draft.set, &draft.first.because_of);
            let is_same = |group: &Group| {
                group.place == place
                    && group.drafts.iter().all(|it| it.first.because_of == draft.first.because_of)
            };
            match groups.iter().position(is_same).and_then(|at| groups.get_mut(at)) {
                Some(group) => group.drafts.push(draft),
                None => groups.push(Group { place, drafts: vec![draft] }),
            }
        }
        let mut headlines: Vec<Headline> =
            groups.into_iter().filter_map(|group| self.headline(group)).collect();
        headlines.sort_by_key(|it| (std::cmp::Reverse(it.regions()), it.because_of.clone()));
        headlines
    }

    fn headline(&mut self, Group { place, mut drafts }: Group) -> Option<Headline> {
        drafts.sort_by(|a, b| {
            let said = |it: &Draft| (it.first.was.verdict.clone(), it.first.now.verdict.clone());
            b.regions.cmp(&a.regions).then_with(|| said(a).cmp(&said(b)))
        });
        let changed = self.space.diagrams.any(drafts.iter().map(|it| it.set));
        let rest = self.space.diagrams.not(changed);
        let except = self.who_decides(vec![place, rest]);
        let ways = self.space.diagrams.ways(place, WAYS);
        let elsewhere = ways.len().saturating_sub(1);
        let widest = ways.into_iter().max_by(|a, b| self.width(a).total_cmp(&self.width(b)))?;
        let first = drafts.first()?;
        let because_of = first.first.because_of.clone();
        let names = self.names_of(&because_of);
        let situation = if names.is_empty() {
            first.first.situation.clone()
        } else {
            // One of the place that is told, where the same items make the difference there.
            let here = self.set_of(&widest);
            let there = self.space.witness(&[here, first.set]);
            let there = there.filter(|it| self.because_of(it) == because_of);
            witness(&self.space, 1, there.as_ref().unwrap_or(&first.situation), &names)
        };
        let turn = |draft: &Draft| Turn {
            was: draft.first.was.verdict.clone(),
            now: draft.first.now.verdict.clone(),
            way: draft.first.way,
            regions: draft.regions,
        };
        Some(Headline {
            because_of,
            place: widest.iter().map(|(variable, runs)| self.place(*variable, runs)).collect(),
            elsewhere,
            except,
            turns: drafts.iter().map(turn).collect(),
            situation,
        })
    }

    /// Returns who decides under the new rulebook in the situations that are in all of some sets.
    fn who_decides(&mut self, mut rest: Vec<Set>) -> Except {
        let mut found = Except::default();
        while let Some(situation) = self.space.witness(&rest) {
            let (plan, meaning) = (self.space.books[1].plan, &self.meanings[1]);
            let leading = meaning.leading(&self.space, &situation);
            let told = if !leading.is_empty() {
                if found.choices.len() >= NAMED {
                    found.others = true;
                    break;
                }
                found.choices.extend(leading.iter().map(|it| plan[*it].name.to_string()));
                let sets = leading.iter().filter_map(|it| meaning.leads.get(it.index()).copied());
                self.space.diagrams.any(sets)
            } else if self.space.diagrams.contains(meaning.covered, &situation) {
                found.all_shut = true;
                let meaning = meaning.clone();
                meaning.all_shut(&mut self.space, Set::ALL)
            } else {
                found.uncovered = true;
                self.space.diagrams.not(meaning.covered)
            };
            rest.push(self.space.diagrams.not(told));
        }
        found
    }

    /// Returns the share of all combinations that a way takes.
    fn width(&self, way: &[Stretch]) -> f64 {
        let share = |(variable, runs): &Stretch| {
            let cells: u16 = runs.iter().map(|(first, last)| last + 1 - first).sum();
            f64::from(cells) / f64::from(self.space.diagrams.cells(*variable).max(1))
        };
        way.iter().map(share).product()
    }

    /// Returns where a change happens as far as the items that caused it speak of it.
    fn place_of_cause(&mut self, set: Set, because_of: &[String]) -> Set {
        let mut changed = Vec::new();
        for item in because_of {
            let sets: Vec<Set> = (0..2)
                .map(|book| {
                    let (plan, meaning) = (self.space.books[book].plan, &self.meanings[book]);
                    let gate = plan.gates.iter().position(|gate| format!("gate {}", gate.name) == *item);
                    let choice = plan.choices.iter().position(|it| format!("choice {}", it.name) == *item);
                    gate.map(|at| meaning.speaks.gates[at])
                        .or(choice.map(|at| meaning.speaks.choices[at]))
                        .unwrap_or(Set::NONE)
                })
                .collect();
            if let [was, now] = sets[..] {
                let (gone, new) =
                    (self.space.diagrams.without(was, now), self.space.diagrams.without(now, was));
                let either = self.space.diagrams.either(gone, new);
                changed.push(if either.is_none() { was } else { either });
            }
        }
        let changed = self.space.diagrams.any(changed);
        let here = self.space.diagrams.both(set, changed);
        let own: BTreeSet<u16> = self.space.diagrams.depends_on(changed).into_iter().collect();
        self.space.diagrams.exists(here, &|variable| !own.contains(&variable))
    }

    /// Returns the names that some items speak of, in the new rulebook.
    fn names_of(&self, because_of: &[String]) -> BTreeSet<NameId> {
        let book = self.space.books[1];
        let mut names = BTreeSet::new();
        for item in because_of {
            let gate = book.plan.gates.iter().position(|gate| format!("gate {}", gate.name) == *item);
            let choice = book.plan.choices.iter().position(|it| format!("choice {}", it.name) == *item);
            names.extend(gate.and_then(|at| book.rules.gate_names.get(at)).into_iter().flatten());
            names.extend(choice.and_then(|at| book.rules.choice_names.get(at)).into_iter().flatten());
        }
        names.retain(|name| {
            self.space.variable(1, *name).is_some() || matches!(book.plan[*name].origin, Origin::Band(_))
        });
        names
    }
}
