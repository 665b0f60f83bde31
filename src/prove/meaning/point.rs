//! What a rulebook says in one situation where gates speak and choices hold as given: the verdict alone, and quickly.

use super::Speaks;
use super::altered::Altered;
use crate::decide::Outcome;
use crate::plan::{ChoiceId, GateId, ProductId, Way};
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::situation::Set;
use crate::trace::{Shutter, Verdict};
use std::collections::BTreeMap;

/// What is left of each product that was asked for.
type Left = BTreeMap<ProductId, Option<u8>>;

/// One situation of a rulebook, with where its gates speak and its choices hold.
pub(crate) struct Point<'a, 'p> {
    space: &'a Space<'p>,
    book: Book<'p>,
    speaks: &'a Speaks,
    situation: &'a [u16],
    /// For each product, how many of its strengths fit its caps.
    fits: Vec<Option<u16>>,
}

impl<'a, 'p> Point<'a, 'p> {
    /// Reads a situation of the first rulebook; nothing where a cap is not settled in it.
    pub(crate) fn new(space: &'a Space<'p>, speaks: &'a Speaks, situation: &'a [u16]) -> Option<Self> {
        let book = *space.books.first()?;
        let mut fits = Vec::with_capacity(book.rules.products.len());
        for product in &book.rules.products {
            let mut least: Option<u16> = None;
            for (_, name) in &product.fits {
                let read = space.read(0, *name)?;
                let piece = situation.get(usize::from(read.variable)).copied().unwrap_or(0);
                let cell = read.cells.get(usize::from(piece))?.only()?;
                least = Some(least.map_or(cell, |least| least.min(cell)));
            }
            fits.push(least);
        }
        Some(Self { space, book, speaks, situation, fits })
    }

    /// Returns the verdict with gates and choices altered; every hold is one. Choices are asked from the highest rank down,
    /// and gates only where a choice comes to what they close.
    pub(crate) fn verdict(&self, altered: &[Altered]) -> Verdict {
        let mut acting: Vec<(ChoiceId, Outcome)> = Vec::new();
        let mut held = false;
        let mut left = Left::new();
        for choice in &self.book.rules.by_rank {
            let below = |(it, _): &(ChoiceId, Outcome)| {
                self.book.rules.is_above(*it, *choice) && !self.book.rules.is_above(*choice, *it)
            };
            if acting.iter().any(below) || !self.holds(*choice, altered) {
                continue;
            }
            held = true;
            let ways = &self.book.plan[*choice].ways;
            let outcome = ways.iter().find_map(|way| self.comes_to(way, altered, &mut left));
            let settled = outcome.is_some() && self.book.rules.outranks_rest[choice.index()];
            acting.extend(outcome.map(|it| (*choice, it)));
            if settled {
                break;
            }
        }
        let leads = |(choice, _): &&(ChoiceId, Outcome)| {
            !acting.iter().any(|(it, _)| self.book.rules.is_above(*it, *choice))
        };
        let mut leading = acting.iter().filter(leads).map(|(_, outcome)| outcome);
        match leading.next() {
            Some(first) if leading.any(|other| other != first) => Verdict::Undecided,
            Some(Outcome::Spray(doses)) => Verdict::Spray(doses.clone()),
            Some(Outcome::Hold | Outcome::Aside) => Verdict::Hold,
            None if held => Verdict::Hold,
            None => Verdict::Uncovered,
        }
    }

    fn holds(&self, choice: ChoiceId, altered: &[Altered]) -> bool {
        let other = altered.iter().find_map(|one| match one {
            Altered::Choice(at, set) if *at == choice.index() => Some(set),
            Altered::Choice(..) | Altered::Gate(..) => None,
        });
        self.is_in(other.or_else(|| self.speaks.choices.get(choice.index())))
    }

    fn speaks(&self, gate: GateId, altered: &[Altered]) -> bool {
        let other = altered.iter().find_map(|one| match one {
            Altered::Gate(at, set) if *at == gate.index() => Some(set),
            Altered::Choice(..) | Altered::Gate(..) => None,
        });
        self.is_in(other.or_else(|| self.speaks.gates.get(gate.index())))
    }

    fn is_in(&self, set: Option<&Set>) -> bool {
        set.is_some_and(|set| self.space.diagrams.contains(*set, self.situation))
    }

    /// Returns what an alternative comes to, if it is allowed.
    fn comes_to(&self, way: &Way, altered: &[Altered], left: &mut Left) -> Option<Outcome> {
        let Way::Spray(doses) = way else { return Some(Outcome::Hold) };
        let has = |one: ProductId| doses.iter().any(|(product, _)| *product == one);
        let mut mixes = self.book.rules.mixes.iter().filter(|(_, a, b)| has(*a) && has(*b));
        if mixes.any(|(gate, _, _)| self.speaks(*gate, altered)) {
            return None;
        }
        let mut out = Vec::with_capacity(doses.len());
        for (product, wanted) in doses {
            let left = *left.entry(*product).or_insert_with(|| self.left(*product, altered));
            out.push((*product, left?.min(*wanted)));
        }
        out.sort_unstable();
        Some(Outcome::Spray(out))
    }

    /// Returns the strongest strength of a product that is left, if it is allowed.
    fn left(&self, product: ProductId, altered: &[Altered]) -> Option<u8> {
        let Some(rules) = self.book.rules.products.get(product.index()) else { return Some(u8::MAX) };
        let shut = rules.shut_by.iter().any(|shutter| match shutter {
            Shutter::Gate(gate) => self.speaks(*gate, altered),
            Shutter::Certified => true,
        });
        // Cell 0 of a cap is that no strength fits, cell 1 the weakest.
        let fits = self.fits.get(product.index()).copied().flatten();
        if shut || fits == Some(0) {
            return None;
        }
        let held = rules.held_by.iter().filter(|(gate, _)| self.speaks(*gate, altered));
        let fits = fits.map(|cell| u8::try_from(cell - 1).unwrap_or(u8::MAX));
        held.map(|(_, strength)| *strength).chain(fits).fold(u8::MAX, u8::min).into()
    }
}
