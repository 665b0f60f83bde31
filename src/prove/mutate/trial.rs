//! One small change, held against all situations: whether it changes a decision, breaks a promise, and which worked example
//! would notice it.

use super::mutants::{Mutant, MutantSite};
use super::suggestion::Shown;
use crate::decide::{Logic, Rules};
use crate::plan::{NameId, Plan, Promise};
use crate::prove::findings::effect::Grounds;
use crate::prove::findings::{Prover, breaks};
use crate::prove::meaning::altered::Altered;
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::prove::space::roots::each_condition_within;
use crate::situation::Set;
use std::collections::BTreeSet;

/// What came of a change.
pub(super) enum Judged {
    Caught,
    Equal,
    Broken,
    Unsayable,
    /// It changes the hours of gates or preferences alone.
    OfHours,
    Unnoticed(Option<String>),
}

/// One change, held against all situations.
pub(super) struct Trial<'t, 'p> {
    /// The rulebook without the warnings of changed conditions.
    pub(crate) plan: &'t Plan,
    pub(crate) prover: &'t mut Prover<'p>,
    pub(crate) grounds: &'t Grounds,
    /// The names that an example cannot take, since the change is in them.
    pub(super) untaken: BTreeSet<NameId>,
    /// The rulebook with a change of a definition, where that is the second one of the space.
    pub(crate) changed: Option<Book<'p>>,
}

impl<'p> Trial<'_, 'p> {
    pub(crate) fn judge(&mut self, mutant: &Mutant, new: Option<&Logic>) -> Judged {
        let set = new.map_or(Set::NONE, |logic| self.prover.space.holds(0, logic));
        let rules = self.prover.book.rules;
        match mutant.site {
            MutantSite::Gate(at) => self.of_verdict(mutant, &[Altered::Gate(at, set)], None),
            MutantSite::Choice(at) => self.of_verdict(mutant, &[Altered::Choice(at, set)], None),
            MutantSite::Task(at) => self.of_speaking(mutant, &rules.tasks[at], set),
            MutantSite::Warning(at) => self.of_speaking(mutant, &rules.warnings[at], set),
            MutantSite::Name(_) | MutantSite::Hourly(_) | MutantSite::Daily(_) | MutantSite::TableRow(..) => {
                self.of_definition(mutant)
            }
            MutantSite::Row(name, at) => {
                let row = new.map(|_| set);
                let spoken = |trial: &mut Self| {
                    let logic = rules.tasks.iter().chain(&rules.warnings[..trial.plan.warnings.len()]);
                    logic.map(|logic| trial.prover.space.holds(0, logic)).collect::<Vec<Set>>()
                };
                let before = spoken(self);
                let (bands, changed) = self.prover.space.with_row(0, name, at, row);
                let (altered, after) = (self.prover.altered(&changed), spoken(self));
                self.prover.space.put_back(0, bands);
                self.of_verdict(mutant, &altered, Some((before, after)))
            }
        }
    }

    /// Judges a change of gates and choices; of tasks and warnings, where it changes them too.
    fn of_verdict(
        &mut self,
        mutant: &Mutant,
        altered: &[Altered],
        spoken: Option<(Vec<Set>, Vec<Set>)>,
    ) -> Judged {
        let Some(situation) = self.prover.effect(self.grounds, altered) else {
            return match spoken {
                Some((before, after)) => self.of_spoken(mutant, &before, &after),
                None => Judged::Equal,
            };
        };
        if self.breaks_a_promise(altered) {
            return Judged::Broken;
        }
        if self.changed.is_some() {
            return Judged::Unnoticed(self.example_of_one_group(mutant, altered));
        }
        let worked = self.example(mutant, altered, situation, &[]).or_else(|| {
            let assumed = self.prover.as_assumed();
            let situation = self.prover.effect_within(self.grounds, altered, assumed)?;
            self.example(mutant, altered, situation, &[assumed])
        });
        Judged::Unnoticed(worked)
    }

    /// Writes an example that shows a change, from a situation of some sets that shows it.
    fn example(
        &self,
        mutant: &Mutant,
        altered: &[Altered],
        situation: Vec<u16>,
        within: &[Set],
    ) -> Option<String> {
        let keeps = |trial: &Self, cells: &[u16]| {
            within.iter().all(|set| trial.prover.space.diagrams.contains(*set, cells))
                && trial.prover.changes(cells, altered)
        };
        let situation = &self.recognisable(situation, &keeps);
        self.shown(mutant, situation).of_verdict()
    }

    fn shown<'s>(&'s self, mutant: &'s Mutant, situation: &'s [u16]) -> Shown<'s, 'p> {
        Shown { plan: self.plan, prover: self.prover, mutant, situation, untaken: &self.untaken }
    }

    /// Writes an example for a change of a definition: a tree whose panicles are all alike, since an example can take no other.
    /// Where none is found that turns a verdict, one of the value itself.
    fn example_of_one_group(&mut self, mutant: &Mutant, altered: &[Altered]) -> Option<String> {
        let mut within = self.prover.as_one_group();
        let found = self.prover.effect_in(self.grounds, altered, &within);
        let example = found.and_then(|situation| self.example(mutant, altered, situation, &within));
        if example.is_some() {
            return example;
        }
        let assumed = self.prover.as_assumed();
        within.push(assumed);
        let found = self.prover.effect_in(self.grounds, altered, &within);
        let example = found.and_then(|situation| self.example(mutant, altered, situation, &within));
        example.or_else(|| self.example_of_value(mutant))
    }

    /// Writes an example in which a condition of a changed measure holds before or after the change alone.
    fn example_of_value(&mut self, mutant: &Mutant) -> Option<String> {
        let (MutantSite::Name(name), Some(changed)) = (mutant.site, self.changed) else { return None };
        let (mut before, mut after) = (Vec::new(), Vec::new());
        each_condition_within(self.plan, name, &mut |it| before.push(it));
        each_condition_within(changed.plan, name, &mut |it| after.push(it));
        let alike = self.prover.as_one_group();
        for (was, is) in before.into_iter().zip(after).filter(|(was, is)| was != is) {
            let space = &mut self.prover.space;
            let (was, is) = (space.may_hold(0, was, true), space.may_hold(1, is, true));
            let moved = self.prover.apart(was, is);
            let within: Vec<Set> = alike.iter().copied().chain([moved]).collect();
            let Some(situation) = self.prover.space.witness(&within) else { continue };
            let keeps = |trial: &Self, cells: &[u16]| {
                within.iter().all(|set| trial.prover.space.diagrams.contains(*set, cells))
            };
            let situation = self.recognisable(situation, &keeps);
            let example = self.shown(mutant, &situation).of_verdict();
            if example.is_some() {
                return example;
            }
        }
        None
    }

    /// Judges a change of a definition: what it changes in gates, choices, tasks and warnings.
    fn of_definition(&mut self, mutant: &Mutant) -> Judged {
        let (Some(changed), rules) = (self.changed, self.prover.book.rules) else { return Judged::Equal };
        let space = &mut self.prover.space;
        let mut altered = Vec::new();
        for (at, (was, is)) in rules.gates.iter().zip(&changed.rules.gates).enumerate() {
            if was.names_any(&self.untaken) && self.plan.gates[at].hours.is_none() {
                let (was, is) = (space.holds(0, was), space.holds(1, is));
                altered.extend((was != is).then_some(Altered::Gate(at, is)));
            }
        }
        for (at, (was, is)) in rules.choices.iter().zip(&changed.rules.choices).enumerate() {
            if was.names_any(&self.untaken) {
                let (was, is) = (space.holds(0, was), space.holds(1, is));
                altered.extend((was != is).then_some(Altered::Choice(at, is)));
            }
        }
        let mut spoken = |book: usize, rules: &Rules| -> Vec<Set> {
            rules.tasks.iter().chain(&rules.warnings).map(|logic| space.holds(book, logic)).collect()
        };
        let (before, after) = (spoken(0, rules), spoken(1, changed.rules));
        self.of_verdict(mutant, &altered, Some((before, after)))
    }

    /// Judges what a row changes in tasks and warnings.
    fn of_spoken(&mut self, mutant: &Mutant, before: &[Set], after: &[Set]) -> Judged {
        let mut judged = Judged::Equal;
        for (at, (before, after)) in before.iter().zip(after).enumerate() {
            match self.spoken(mutant, at, *before, *after) {
                Judged::Equal => {}
                Judged::Unsayable => judged = Judged::Unsayable,
                found => return found,
            }
        }
        judged
    }

    fn of_speaking(&mut self, mutant: &Mutant, old: &Logic, new: Set) -> Judged {
        let at = match mutant.site {
            MutantSite::Warning(at) => self.plan.tasks.len() + at,
            MutantSite::Task(at) => at,
            _ => 0,
        };
        let before = self.prover.space.holds(0, old);
        self.spoken(mutant, at, before, new)
    }

    /// Judges a task or, numbered after the tasks, a warning.
    fn spoken(&mut self, mutant: &Mutant, at: usize, before: Set, after: Set) -> Judged {
        let space = &mut self.prover.space;
        let (gone, new) = (space.diagrams.without(before, after), space.diagrams.without(after, before));
        let Some(situation) = space.witness(&[gone]) else {
            return if space.witness(&[new]).is_some() { Judged::Unsayable } else { Judged::Equal };
        };
        let of_task = |(_, promise): &(usize, &Promise)| promise.tasks.contains(&at);
        for (promise, _) in self.plan.promises.iter().enumerate().filter(of_task) {
            let whenever = whenever_of(space, self.changed, promise);
            if space.witness(&[whenever, gone]).is_some() {
                return Judged::Broken;
            }
        }
        let mut within = vec![gone];
        let situation = match self.changed {
            None => Some(situation),
            Some(_) => {
                within.extend(self.prover.as_one_group());
                self.prover.space.witness(&within)
            }
        };
        let Some(situation) = situation else { return Judged::Unnoticed(self.example_of_value(mutant)) };
        let situation = self.recognisable(situation, &|trial: &Self, cells: &[u16]| {
            within.iter().all(|set| trial.prover.space.diagrams.contains(*set, cells))
        });
        let example = self.shown(mutant, &situation).of_speaking(at);
        Judged::Unnoticed(example.or_else(|| self.example_of_value(mutant)))
    }

    fn breaks_a_promise(&mut self, altered: &[Altered]) -> bool {
        let prover = &mut *self.prover;
        let within = prover.within(self.grounds, altered);
        self.plan.promises.iter().enumerate().any(|(at, promise)| {
            let whenever = whenever_of(&mut prover.space, self.changed, at);
            let here = prover.space.diagrams.both(within, whenever);
            if here.is_none() {
                return false;
            }
            let parts = prover.meaning.altered(&mut prover.space, altered, here);
            parts.iter().any(|(verdict, set)| {
                breaks(prover.book, promise, verdict) && prover.space.witness(&[*set, here]).is_some()
            })
        })
    }

    /// Returns a situation with as many usual values as keep it what it is; never sprayed is the most usual.
    fn recognisable(&self, mut cells: Vec<u16>, keeps: &dyn Fn(&Self, &[u16]) -> bool) -> Vec<u16> {
        let space = &self.prover.space;
        for variable in 0..space.variables.len() {
            for usual in space.usual_cells(variable) {
                let before = std::mem::replace(&mut cells[variable], usual);
                let real = space.relations.iter().all(|it| space.diagrams.contains(*it, &cells));
                if real && keeps(self, &cells) {
                    break;
                }
                cells[variable] = before;
            }
        }
        cells
    }
}

/// Returns where a promise is to be kept; that of a changed rulebook says it with the names as they are defined there.
fn whenever_of(space: &mut Space<'_>, changed: Option<Book<'_>>, promise: usize) -> Set {
    let (number, book) = match changed {
        Some(book) => (1, book),
        None => (0, space.books[0]),
    };
    let whenever = book.plan.promises.get(promise).map(|it| Logic::new(&it.whenever, &book.rules.axes));
    whenever.map_or(Set::NONE, |logic| space.holds(number, &logic))
}
