//! Which way an item moved, where that can be said of it alone.

use super::meanings::{BookItem, Role};
use super::sets::SetChange;
use super::{ItemDirection, ItemPair, holds};
use crate::plan::{ExprNode, Origin, Plan};
use crate::prove::space::free_sets::FreeSets;
use crate::source::Span;
use std::collections::BTreeSet;

impl<'p> ItemPair<'p> {
    /// Returns which way an item moved, if that can be said; nothing where it means the same.
    pub(super) fn moved(&mut self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<Option<ItemDirection>> {
        let is_rest_so = was.rest == now.rest;
        let by = |change: SetChange, more: ItemDirection, fewer: ItemDirection| match change {
            SetChange::Same => None,
            SetChange::Wider => Some(Some(more)),
            SetChange::Narrower => Some(Some(fewer)),
            SetChange::Other => Some(None),
        };
        let (stricter, looser) = (ItemDirection::Stricter, ItemDirection::Looser);
        match (&was.role, &now.role) {
            (Role::Gate(_), Role::Gate(_)) => {
                if self.gates_agree() {
                    None
                } else if is_rest_so {
                    by(self.sets().when(was.when, now.when), stricter, looser)
                } else {
                    let is_when_so = self.sets().when(was.when, now.when) == SetChange::Same;
                    let direction = holds::direction(self.plans, (was, now));
                    Some(direction.filter(|_| is_when_so))
                }
            }
            (Role::HourGate(_), Role::HourGate(_)) if is_rest_so => {
                let when = match was.when == now.when {
                    true => SetChange::Same,
                    false => self.sets().when(was.when, now.when),
                };
                let hours = self.hours(was, now);
                let both = match (when, hours) {
                    (SetChange::Same, other) | (other, SetChange::Same) => other,
                    (one, other) if one == other => one,
                    _ => SetChange::Other,
                };
                by(both, ItemDirection::FewerHours, ItemDirection::MoreHours)
            }
            (Role::HourGate(_), Role::HourGate(_)) => {
                let is_so = was.when == now.when && self.hours(was, now) == SetChange::Same;
                Some(holds::direction(self.plans, (was, now)).filter(|_| is_so).map(ItemDirection::of_hours))
            }
            (Role::Prefer, Role::Prefer) => match self.hours(was, now) {
                SetChange::Same => None,
                _ => Some(None),
            },
            (Role::Label(one), Role::Label(other)) => self.label(was, now, (one, other)),
            (Role::Choice(_), Role::Choice(_)) => {
                let is_so = self.choices_agree()
                    || is_rest_so && self.sets().when(was.when, now.when) == SetChange::Same;
                (!is_so).then_some(None)
            }
            (Role::Speaking, Role::Speaking) if is_rest_so => {
                (self.sets().when(was.when, now.when) != SetChange::Same).then_some(None)
            }
            (Role::Promise, Role::Promise) if is_rest_so => {
                by(self.sets().when(was.when, now.when), stricter, looser)
            }
            // What is kept to in more situations refuses less.
            (Role::Always(one), Role::Always(other)) => by(self.sets().kept(*one, *other), looser, stricter),
            (Role::Band(one), Role::Band(other)) => (!self.sets().bands_agree(*one, *other)).then_some(None),
            (Role::Definition, Role::Definition) => Some(self.known(was, now)),
            (Role::Other, Role::Other) => Some(self.strengths(was, now)),
            (Role::Head(clause), Role::Head(_)) => {
                Some(clause.direction(&self.plans[0].head, &self.plans[1].head))
            }
            (Role::Fact(fact), Role::Fact(_)) => {
                let [was, now] = [was, now].map(|it| it.written.as_deref().unwrap_or_default());
                Some(fact.direction(was, now))
            }
            _ => Some(None),
        }
    }

    /// Returns how the hours of an item changed.
    fn hours(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> SetChange {
        let (Some(was), Some(now)) = (was.hours, now.hours) else { return SetChange::Other };
        let mut sets = FreeSets::of(self.plans, &[(0, was), (1, now)]);
        let (Some(was), Some(now)) = (sets.set(0, was), sets.set(1, now)) else { return SetChange::Other };
        let (more, fewer) = (sets.alone(now, was), sets.alone(was, now));
        match (more.is_none(), fewer.is_none()) {
            (true, true) => SetChange::Same,
            (false, true) => SetChange::Wider,
            (true, false) => SetChange::Narrower,
            (false, false) => SetChange::Other,
        }
    }

    fn label(
        &mut self,
        was: &BookItem<'p>,
        now: &BookItem<'p>,
        (one, other): (&[usize], &[usize]),
    ) -> Option<Option<ItemDirection>> {
        let product = |book: usize, span: Span| self.plans[book].products.iter().find(|it| it.span == span);
        if one.is_empty() && other.is_empty() {
            let hours = |book, span| product(book, span).and_then(|it| it.re_entry).unwrap_or(0.0);
            let stricter = hours(1, now.span) > hours(0, was.span);
            return Some(Some(if stricter { ItemDirection::Stricter } else { ItemDirection::Looser }));
        }
        let caps = [(0, one), (1, other)]
            .map(|(book, gates): (usize, &[usize])| gates.first().and_then(|at| cap(self.plans[book], *at)));
        if let [Some(was), Some(now)] = caps {
            let direction = if now < was { ItemDirection::Stricter } else { ItemDirection::Looser };
            return Some((now != was).then_some(direction));
        }
        match self.sets().gates(one, other) {
            SetChange::Same if was.rest == now.rest => None,
            SetChange::Wider if was.rest == now.rest => Some(Some(ItemDirection::Stricter)),
            SetChange::Narrower if was.rest == now.rest => Some(Some(ItemDirection::Looser)),
            _ => Some(None),
        }
    }

    /// Returns which way what is known moved, of an observation whose assumption or age alone changed.
    fn known(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<ItemDirection> {
        let seen = |book: usize, span: Span| {
            let name = self.plans[book].names.iter().find(|name| name.span == span && !name.hidden)?;
            match &name.origin {
                Origin::Observed(seen) => Some((name.kind, seen)),
                _ => None,
            }
        };
        let ((_, was), (_, now)) = seen(0, was.span).zip(seen(1, now.span))?;
        if was.range != now.range {
            return None;
        }
        let lasts = |hours: Option<f64>| hours.unwrap_or(f64::INFINITY);
        let lasts = lasts(now.lasts).total_cmp(&lasts(was.lasts));
        let assumed = now.assume.is_some().cmp(&was.assume.is_some());
        match (lasts, assumed) {
            _ if was.assume.as_ref().zip(now.assume.as_ref()).is_some_and(|(one, other)| {
                (one.value, &one.condition) != (other.value, &other.condition)
            }) =>
            {
                None
            }
            (std::cmp::Ordering::Less | std::cmp::Ordering::Equal, std::cmp::Ordering::Less)
            | (std::cmp::Ordering::Less, std::cmp::Ordering::Equal) => Some(ItemDirection::MustLook),
            (std::cmp::Ordering::Greater | std::cmp::Ordering::Equal, std::cmp::Ordering::Greater)
            | (std::cmp::Ordering::Greater, std::cmp::Ordering::Equal) => Some(ItemDirection::Looser),
            _ => None,
        }
    }

    /// Returns which way the strengths of a product moved, of the same names.
    fn strengths(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<ItemDirection> {
        let product = |book: usize, span: Span| self.plans[book].products.iter().find(|it| it.span == span);
        let (was, now) = product(0, was.span).zip(product(1, now.span))?;
        let mut ways = BTreeSet::new();
        for strength in &was.strengths {
            let other = now.strengths.iter().find(|it| it.name == strength.name)?;
            if (other.amount.of, other.amount.unit.dimension)
                != (strength.amount.of, strength.amount.unit.dimension)
            {
                return None;
            }
            let (before, after) = [strength, other].map(|it| crate::units::clean(it.amount.quantity)).into();
            if before != after {
                ways.insert(if after > before { ItemDirection::Stronger } else { ItemDirection::Weaker });
            }
        }
        ways.first().copied().filter(|_| ways.len() == 1 && was.strengths.len() == now.strengths.len())
    }
}

/// Returns the cap of a gate that holds a product to the strongest strength within it.
fn cap(plan: &Plan, gate: usize) -> Option<f64> {
    let (_, name) = plan.gates.get(gate)?.fits?;
    let Origin::Measure(measure) = &plan[name].origin else { return None };
    match &*measure.expr.node {
        ExprNode::Fitting { at_most, .. } => Some(at_most.value()),
        _ => None,
    }
}
