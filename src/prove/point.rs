//! What a rulebook says in one situation where gates speak and choices hold as given: the verdict alone, and quickly.

use super::space::Space;
use super::{Book, Speaks};
use crate::decide::Outcome;
use crate::plan::{ChoiceId, GateId, ProductId, Way};
use crate::situation::Set;
use crate::trace::{Shutter, Verdict};

/// A gate or a choice that speaks elsewhere than in the rulebook.
#[derive(Clone, Copy, Debug)]
pub(super) enum Altered {
    /// A gate, by its number, speaks there.
    Gate(usize, Set),
    /// A choice, by its number, holds there.
    Choice(usize, Set),
}

/// One situation, with which gates speak and which choices hold in it.
#[derive(Clone, Debug)]
pub(super) struct Point {
    /// By the gate's number.
    pub(super) gates: Vec<bool>,
    /// By the choice's number.
    pub(super) choices: Vec<bool>,
    /// For each product, how many of its strengths fit its caps.
    fits: Vec<Option<u16>>,
}

impl Point {
    /// Reads a situation; nothing where a cap is not settled in it.
    pub(super) fn new(space: &Space<'_>, book: usize, speaks: &Speaks, situation: &[u16]) -> Option<Self> {
        let rules = space.books[book].rules;
        let holds = |set: &Set| space.diagrams.contains(*set, situation);
        let mut fits = Vec::with_capacity(rules.products.len());
        for product in &rules.products {
            let mut least: Option<u16> = None;
            for (_, name) in &product.fits {
                let read = space.read(book, *name)?;
                let piece = situation.get(usize::from(read.variable)).copied().unwrap_or(0);
                let cell = read.cells.get(usize::from(piece))?.only()?;
                least = Some(least.map_or(cell, |least| least.min(cell)));
            }
            fits.push(least);
        }
        let gates = speaks.gates.iter().map(holds).collect();
        Some(Self { gates, choices: speaks.choices.iter().map(holds).collect(), fits })
    }

    /// Returns the same situation with gates and choices altered.
    pub(super) fn with(mut self, space: &Space<'_>, altered: &[Altered], situation: &[u16]) -> Self {
        for one in altered {
            let (list, at, set) = match one {
                Altered::Gate(at, set) => (&mut self.gates, *at, *set),
                Altered::Choice(at, set) => (&mut self.choices, *at, *set),
            };
            if let Some(place) = list.get_mut(at) {
                *place = space.diagrams.contains(set, situation);
            }
        }
        self
    }

    /// Returns the verdict; every hold is one.
    pub(super) fn verdict(&self, book: Book<'_>) -> Verdict {
        let mut acting: Vec<(ChoiceId, Outcome)> = Vec::new();
        let mut held = false;
        let mut acts = vec![false; self.choices.len()];
        for (at, choice) in book.plan.choices.iter().enumerate().filter(|(at, _)| self.holds(*at)) {
            held = true;
            if let Some(outcome) = choice.ways.iter().find_map(|way| self.comes_to(book, way)) {
                acting.push((ChoiceId(at as u32), outcome));
                acts[at] = true;
            }
        }
        let outranked = |choice: &ChoiceId| {
            let above = book.rules.outranked_by.get(choice.index());
            above.is_some_and(|list| list.iter().any(|it| acts.get(it.index()) == Some(&true)))
        };
        let mut leading: Option<&Outcome> = None;
        for (choice, outcome) in &acting {
            match leading {
                Some(first) if first == outcome => {}
                _ if outranked(choice) => {}
                Some(_) => return Verdict::Undecided,
                None => leading = Some(outcome),
            }
        }
        match leading {
            Some(Outcome::Spray(doses)) => Verdict::Spray(doses.clone()),
            Some(Outcome::Hold | Outcome::Aside) => Verdict::Hold,
            None if held => Verdict::Hold,
            None => Verdict::Uncovered,
        }
    }

    fn holds(&self, choice: usize) -> bool {
        self.choices.get(choice).copied().unwrap_or(false)
    }

    fn speaks(&self, gate: GateId) -> bool {
        self.gates.get(gate.index()).copied().unwrap_or(false)
    }

    /// Returns what an alternative comes to, if it is allowed.
    fn comes_to(&self, book: Book<'_>, way: &Way) -> Option<Outcome> {
        let Way::Spray(doses) = way else { return Some(Outcome::Hold) };
        let has = |one: ProductId| doses.iter().any(|(product, _)| *product == one);
        let mixed = book.rules.mixes.iter().any(|(gate, a, b)| has(*a) && has(*b) && self.speaks(*gate));
        if mixed {
            return None;
        }
        let mut out = Vec::with_capacity(doses.len());
        for (product, wanted) in doses {
            out.push((*product, self.strength(book, *product, *wanted)?));
        }
        out.sort_unstable();
        Some(Outcome::Spray(out))
    }

    /// Returns the strength that a dose comes out at, if its product is allowed.
    fn strength(&self, book: Book<'_>, product: ProductId, wanted: u8) -> Option<u8> {
        let Some(rules) = book.rules.products.get(product.index()) else { return Some(wanted) };
        let shut = rules.shut_by.iter().any(|shutter| match shutter {
            Shutter::Gate(gate) => self.speaks(*gate),
            Shutter::Certified => true,
        });
        // Cell 0 of a cap is that no strength fits, cell 1 the weakest.
        let fits = self.fits.get(product.index()).copied().flatten();
        if shut || fits == Some(0) {
            return None;
        }
        let held = rules.held_by.iter().filter(|(gate, _)| self.speaks(*gate)).map(|(_, strength)| *strength);
        let fits = fits.map(|cell| u8::try_from(cell - 1).unwrap_or(u8::MAX));
        held.chain(fits).fold(wanted, u8::min).into()
    }
}
