//! Whether a row of a band matters: to a verdict, a task or a warning.

use super::Prover;
use super::effect::{GLIMPSES, Grounds};
use crate::decide::{Logic, Rules, decide};
use crate::plan::NameId;
use crate::prove::meaning::altered::Altered;
use crate::prove::space::Bands;
use crate::situation::{CellSet, Search, Set};
use crate::trace::Verdict;
use std::collections::BTreeSet;

impl Prover<'_> {
    /// Returns whether a band's row changes a verdict, or whether a task or a warning is given.
    pub(super) fn row_matters(
        &mut self,
        grounds: &Grounds,
        without: &mut Rules,
        band: NameId,
        row: usize,
    ) -> bool {
        let (before, changed) = self.space.with_row(0, band, row, None);
        if self.row_shows(without, (band, row), &before, &changed) {
            self.space.put_back(0, before);
            return true;
        }
        let spoken = self.spoken.clone();
        let (altered, after) = (self.altered(&changed), self.spoken(Some(&changed)));
        self.space.put_back(0, before);
        let said = spoken.iter().zip(&after).any(|(a, b)| {
            let apart = self.apart(*a, *b);
            !apart.is_none() && self.space.witness(&[apart]).is_some()
        });
        said || self.effect(grounds, &altered).is_some()
    }

    /// Tries some situations in which a row sets the level of its band and a choice leads that speaks of the band, or of
    /// another that changed: they are decided with and without the row.
    fn row_shows(
        &mut self,
        without: &mut Rules,
        (band, row): (NameId, usize),
        before: &Bands,
        changed: &BTreeSet<NameId>,
    ) -> bool {
        let rules = self.book.rules;
        let moved = self.space.moved_levels(0, band, before);
        let Some(place) = row_of(without, band, row) else { return false };
        let logic = std::mem::replace(place, Logic::NEVER);
        let speak = |it: &(&Logic, &Set)| it.0.names_any(changed);
        let leads: Vec<Set> =
            rules.choices.iter().zip(&self.meaning.leads).filter(speak).map(|(_, set)| *set).collect();
        let shows = self.leads_elsewhere(without, moved, leads);
        if let Some(place) = row_of(without, band, row) {
            *place = logic;
        }
        shows
    }

    /// Tries some situations in which a band moved and a choice leads: whether one is decided otherwise by other rules.
    fn leads_elsewhere(&mut self, other: &Rules, moved: Set, mut leads: Vec<Set>) -> bool {
        let plan = self.book.plan;
        let verdict = |rules: &Rules, cells: &[CellSet]| {
            let verdict = decide(plan, rules, cells).ok().map(|it| it.verdict);
            // Every hold is one.
            verdict.map(|it| if it == Verdict::AllShut { Verdict::Hold } else { it })
        };
        for number in 0..GLIMPSES {
            for lead in std::mem::take(&mut leads) {
                let found = self.space.glimpse(&mut vec![moved, lead], number);
                let Search::Found(situation) = found else { continue };
                let cells = self.space.cells(0, &situation);
                if verdict(self.book.rules, &cells) != verdict(other, &cells) {
                    return true;
                }
                leads.push(lead);
            }
        }
        false
    }

    /// Returns gates and choices that speak elsewhere since some bands changed.
    pub(crate) fn altered(&mut self, changed: &BTreeSet<NameId>) -> Vec<Altered> {
        let rules = self.book.rules;
        let mut altered = Vec::new();
        for (at, logic) in rules.gates.iter().enumerate().filter(|(_, logic)| logic.names_any(changed)) {
            altered.push(Altered::Gate(at, self.space.holds(0, logic)));
        }
        for (at, logic) in rules.choices.iter().enumerate().filter(|(_, logic)| logic.names_any(changed)) {
            altered.push(Altered::Choice(at, self.space.holds(0, logic)));
        }
        altered
    }

    /// Returns when tasks are to be done, warnings are given and hours are shut; where bands changed, only what speaks of them
    /// is read again.
    pub(crate) fn spoken(&mut self, changed: Option<&BTreeSet<NameId>>) -> Vec<Set> {
        let rules = self.book.rules;
        let hours = self.book.plan.gates.iter().zip(&rules.gates).filter(|(gate, _)| gate.hours.is_some());
        let logic = rules.tasks.iter().chain(&rules.warnings).chain(hours.map(|(_, logic)| logic));
        let known = self.spoken.clone();
        logic
            .enumerate()
            .map(|(at, logic)| match (changed, known.get(at)) {
                (Some(changed), Some(known)) if !logic.names_any(changed) => *known,
                _ => self.space.holds(0, logic),
            })
            .collect()
    }
}

/// Returns when a row of a band holds.
fn row_of(rules: &mut Rules, band: NameId, row: usize) -> Option<&mut Logic> {
    let band = rules.bands.iter_mut().find(|it| it.name == band)?;
    band.rows.get_mut(row).map(|(_, _, logic)| logic)
}
