//! What changes nothing in a rulebook: gates, choices and rows that no verdict, task or warning hangs on.

use super::Prover;
use super::effect::Grounds;
use crate::decide::Rules;
use crate::plan::{NameId, Origin};
use crate::problems::{Finding, Problem, Problems};
use crate::prove::meaning::altered::Altered;
use crate::situation::Set;
use crate::source::Span;
use crate::trace::Shutter;

/// Something that may change nothing.
#[derive(Clone, Copy, Debug)]
pub(crate) enum IdleItem {
    /// A gate, by its number.
    Gate(usize),
    /// A choice, by its number.
    Choice(usize),
    /// A row of a band.
    Row(NameId, usize),
}

impl Prover<'_> {
    /// Returns all that may change nothing, in two halves for two to look at: what needs the same work stands together, gates
    /// that close the same products, choices, and rows.
    pub(crate) fn items(&self) -> [Vec<IdleItem>; 2] {
        let (plan, rules) = (self.book.plan, self.book.rules);
        let mut gates: Vec<usize> = (0..plan.gates.len()).collect();
        gates.sort_by_key(|at| {
            rules.products.iter().position(|of| {
                let shuts = |it: &Shutter| matches!(it, Shutter::Gate(gate) if gate.index() == *at);
                of.shut_by.iter().any(shuts) || of.held_by.iter().any(|(gate, _)| gate.index() == *at)
            })
        });
        let rows =
            rules.bands.iter().flat_map(|band| (0..band.rows.len()).map(|row| IdleItem::Row(band.name, row)));
        let choices = (0..plan.choices.len()).map(IdleItem::Choice);
        let mut all: Vec<IdleItem> =
            gates.into_iter().map(IdleItem::Gate).chain(choices).chain(rows).collect();
        let second = all.split_off(all.len() / 2);
        [all, second]
    }

    /// Returns which of some items change nothing.
    pub(crate) fn idle(&mut self, items: &[IdleItem]) -> Problems {
        let grounds = Grounds::of(self.book.plan);
        self.spoken = self.spoken(None);
        let mut without = self.book.rules.clone();
        let mut problems = Problems::default();
        for item in items {
            if let Some((span, words)) = self.idle_item(*item, &grounds, &mut without) {
                let message = format!("{words} changes no verdict in any situation");
                problems
                    .push(Problem::new(Finding::NoEffect, span, message).help(
                        "other rules already decide wherever it holds; omit it, or fix its conditions",
                    ));
            }
        }
        problems
    }

    /// Returns where an item stands and what it is called, if it changes nothing though it can hold.
    fn idle_item(
        &mut self,
        item: IdleItem,
        grounds: &Grounds,
        without: &mut Rules,
    ) -> Option<(Span, String)> {
        let plan = self.book.plan;
        match item {
            IdleItem::Gate(at) => {
                let gate = plan.gates.get(at).filter(|gate| gate.line.is_none() && gate.hours.is_none())?;
                let set = self.meaning.speaks.gates.get(at).copied()?;
                let idle = self.is_idle(set, grounds, Altered::Gate(at, Set::NONE));
                idle.then(|| (gate.span, format!("the gate `{}`", gate.name)))
            }
            IdleItem::Choice(at) => {
                let choice = plan.choices.get(at)?;
                let set = self.meaning.speaks.choices.get(at).copied()?;
                let idle = self.is_idle(set, grounds, Altered::Choice(at, Set::NONE));
                idle.then(|| (choice.span, format!("the choice `{}`", choice.name)))
            }
            IdleItem::Row(name, at) => {
                let Origin::Band(band) = &plan[name].origin else { return None };
                let row = band.rows.get(at)?;
                let rules = self.book.rules.bands.iter().find(|it| it.name == name)?;
                let set = self.space.holds(0, &rules.rows.get(at)?.2);
                if self.space.witness(&[set]).is_none() || self.row_matters(grounds, without, name, at) {
                    return None;
                }
                let level = plan.word_of(name, row.level);
                let kind = if row.caps { "at most " } else { "" };
                Some((row.span, format!("the row `{kind}{level}` of `{}`", plan[name].word)))
            }
        }
    }

    /// Returns whether something that can hold changes nothing where it is left out.
    fn is_idle(&mut self, set: Set, grounds: &Grounds, left_out: Altered) -> bool {
        self.space.witness(&[set]).is_some() && self.effect(grounds, &[left_out]).is_none()
    }
}
