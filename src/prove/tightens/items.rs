//! Item by item what an overlay opens beside verdicts: labels, hours, warnings, ranges, held against its base in the space of both.

use super::{Loosened, Loosens, NotProved, Tightening, loosens};
use crate::decide::Logic;
use crate::plan::{
    Always, Condition, Definitions, ExprNode, Gate, NameId, Origin, Plan, ProductId, Shut, SpeaksOf,
};
use crate::prove::compare::items::meanings::{Reading, items};
use crate::prove::compare::pair::Pair;
use crate::prove::space::always;
use crate::prove::space::free_sets::FreeSets;
use crate::prove::space::roots::Root;
use crate::situation::Set;
use std::collections::BTreeSet;

/// A base and its overlay in the space of both.
pub(crate) struct Against<'p, 'f> {
    pub(crate) pair: Pair<'p>,
    /// Both with the ranges that they have by themselves.
    pub(super) own: [&'p Plan; 2],
    pub(crate) found: &'f mut Tightening,
}

impl<'p> Against<'p, '_> {
    pub(crate) fn plan(&self, book: usize) -> &'p Plan {
        self.pair.space.books[book].plan
    }

    /// Relates caps on the same amounts: within the smaller one no stronger strength fits.
    pub(super) fn relate_caps(&mut self) {
        for was in 0..self.plan(0).gates.len() {
            for now in 0..self.plan(1).gates.len() {
                let Some((low, high)) = self.are_caps_of_one(was, now) else { continue };
                let count = self.pair.space.diagrams.cells(low);
                let mut sets = Vec::new();
                for level in 0..count {
                    let here = self.pair.space.diagrams.test(high, |cell| cell == level);
                    let below = self.pair.space.diagrams.test(low, |cell| cell <= level);
                    sets.push(self.pair.space.diagrams.both(here, below));
                }
                let all = self.pair.space.diagrams.any(sets);
                self.pair.space.relations.push(all);
            }
        }
    }

    /// Returns the variables of two caps on the same amounts of a product with the same strengths: that of the smaller cap first.
    fn are_caps_of_one(&self, was: usize, now: usize) -> Option<(u16, u16)> {
        let mut found = Vec::new();
        for (book, gate) in [(0, was), (1, now)] {
            let plan = self.plan(book);
            let (product, name) = plan.gates.get(gate)?.fits?;
            let of = cap_of(plan, &self.pair.space.rooted[book].definitions, name)?;
            let product = &plan[product];
            let amounts: Vec<u64> = (0..product.strengths.len())
                .map(|at| crate::prove::compare::items::amount_meaning(product, at as u8))
                .collect();
            let variable = self.pair.space.variable(book, name)?;
            found.push(((product.name.clone(), of.counts, amounts), of.at_most, variable));
        }
        let [(one, first, a), (other, second, b)] = &found[..] else { return None };
        if one != other || a == b {
            return None;
        }
        Some(if first <= second { (*a, *b) } else { (*b, *a) })
    }

    fn is_somewhere(&mut self, set: Set) -> bool {
        !set.is_none() && self.pair.space.witness(&[set]).is_some()
    }

    pub(crate) fn items(&mut self) {
        self.labels();
        self.hours();
        self.warnings();
        self.ranges();
        self.always();
        self.promises();
        if self.pair.space.diagrams.is_spent() && !self.found.not_proved.contains(&NotProved::Verdicts) {
            self.found.not_proved.push(NotProved::Verdicts);
        }
    }

    /// What the base says is never so the overlay refuses, too.
    fn always(&mut self) {
        let (base, overlay) = (self.plan(0), self.plan(1));
        let space = &mut self.pair.space;
        let kept: Vec<Set> = overlay.always.iter().map(|it| always::kept(space, 1, it)).collect();
        let kept = space.diagrams.all(kept);
        let known = |statement: &Condition| {
            let meanings = [0, 1].map(|book| &self.pair.space.rooted[book].definitions);
            let own = meanings[0].condition(statement);
            overlay.always.iter().any(|it| meanings[1].condition(&it.statement) == own)
        };
        let others: Vec<&Always> = base.always.iter().filter(|it| !known(&it.statement)).collect();
        for statement in others {
            let refused = always::refused(&mut self.pair.space, 0, statement);
            let taken = self.pair.space.diagrams.both(refused, kept);
            if self.is_somewhere(taken) {
                let now = overlay.always.iter().find(|it| it.name == statement.name).map(|it| it.span);
                self.found.loosened.push(loosens(format!("always {}", statement.name), Loosens::Always, now));
            }
        }
    }

    /// What the base promises is promised where it was, and no less of it, if it is promised still.
    fn promises(&mut self) {
        let [was, now] = [0, 1].map(|book| {
            let plan = self.plan(book);
            items(plan, &self.pair.space.rooted[book].definitions, Reading::Meant)
        });
        for promise in &self.plan(0).promises {
            let name = format!("promise {}", promise.name);
            let (Some(before), Some(after)) = (was.get(&name), now.get(&name)) else { continue };
            let own = self.plan(1).promises.iter().find(|it| it.name == promise.name);
            let [whenever, here] = [(0, Some(promise)), (1, own)].map(|(book, promise)| {
                let axes = &self.pair.space.books[book].rules.axes;
                let logic = promise.map(|it| Logic::new(&it.whenever, axes));
                logic.map_or(Set::NONE, |logic| self.pair.space.holds(book, &logic))
            });
            let open = self.pair.space.diagrams.without(whenever, here);
            if before.rest != after.rest || self.is_somewhere(open) {
                self.found.weaker_promises.push((promise.name.to_string(), after.span, before.span));
            }
        }
    }

    /// Each label line of the base is one of the overlay, or one of these shuts wherever it does.
    fn labels(&mut self) {
        let (base, overlay) = (self.plan(0), self.plan(1));
        for (at, gate) in base.gates.iter().enumerate() {
            let Some(line) = &gate.line else { continue };
            let name = |plan: &Plan, id: ProductId| plan[id].name.clone();
            let product = name(base, line.product);
            let Some(id) = overlay.product(&product) else { continue };
            let other = line.other.map(|it| name(base, it));
            if other.as_ref().is_some_and(|other| overlay.product(other).is_none()) {
                continue;
            }
            let alike = |it: &&(usize, &Gate)| {
                it.1.line.as_ref().is_some_and(|of| {
                    of.product == id
                        && of.word == line.word
                        && of.other.map(|it| name(overlay, it)) == other
                        && covers((overlay, &it.1.shuts), (base, &gate.shuts))
                })
            };
            let lines: Vec<(usize, &Gate)> =
                overlay.gates.iter().enumerate().filter(|it| alike(&it)).collect();
            let item = format!("label of {product} {}", line.word.word());
            let now = lines.first().map(|(_, gate)| gate.span).unwrap_or(overlay[id].span);
            let how = if lines.is_empty() { Loosens::LabelGone } else { Loosens::Label };
            let is_kept = if let Some((_, name)) = gate.fits {
                let of = |book: usize, name: NameId| {
                    cap_of(self.plan(book), &self.pair.space.rooted[book].definitions, name)
                };
                let was = of(0, name);
                lines.iter().any(|(_, other)| {
                    let now = other.fits.and_then(|(_, name)| of(1, name));
                    was.as_ref()
                        .zip(now)
                        .is_some_and(|(was, now)| was.counts == now.counts && now.at_most <= was.at_most)
                })
            } else {
                let speaks = |book: usize, at: usize| self.pair.meanings[book].speaks.gates.get(at).copied();
                let before = speaks(0, at).unwrap_or(Set::NONE);
                let after: Vec<Set> = lines.iter().filter_map(|(at, _)| speaks(1, *at)).collect();
                let after = self.pair.space.diagrams.any(after);
                let open = self.pair.space.diagrams.without(before, after);
                !self.is_somewhere(open)
            };
            let told = |it: &Loosened| matches!(it, Loosened::Item { item: known, .. } if *known == item);
            if !is_kept && !self.found.loosened.iter().any(told) {
                self.found.loosened.push(loosens(item, how, Some(now)));
            }
        }
    }

    /// In every hour that a gate of the base shuts a gate of the overlay does.
    fn hours(&mut self) {
        let (base, overlay) = (self.plan(0), self.plan(1));
        for (at, gate) in base.gates.iter().enumerate() {
            let Some(hours) = &gate.hours else { continue };
            let is_there = |product: &ProductId| overlay.product(&base[*product].name).is_some();
            let shuts: Vec<Shut> = gate
                .shuts
                .iter()
                .filter(|shut| match shut {
                    Shut::Product(product) => is_there(product),
                    Shut::Mix(a, b) => is_there(a) && is_there(b),
                    Shut::Spraying | Shut::Group(_) => true,
                })
                .cloned()
                .collect();
            let before = self.pair.meanings[0].speaks.gates.get(at).copied().unwrap_or(Set::NONE);
            let mut shutting: Vec<Option<&Condition>> = Vec::new();
            for (other, it) in overlay.gates.iter().enumerate() {
                if it.line.is_some() || !covers((overlay, &it.shuts), (base, &shuts)) {
                    continue;
                }
                let after = self.pair.meanings[1].speaks.gates.get(other).copied().unwrap_or(Set::NONE);
                let open = self.pair.space.diagrams.without(before, after);
                if !self.is_somewhere(open) {
                    shutting.push(it.hours.as_ref());
                }
            }
            let item = format!("gate {}", gate.name);
            let now = overlay.gates.iter().find(|it| it.name == gate.name).map(|it| it.span);
            match is_within([base, overlay], hours, &shutting) {
                Some(true) => {}
                Some(false) => self.found.loosened.push(loosens(item, Loosens::Hours, now)),
                None => self.found.not_proved.push(NotProved::Item { item, now }),
            }
        }
    }

    /// Warnings are given wherever the base gives them, but for what a figure or a measure changes in them.
    fn warnings(&mut self) {
        let written = [self.plan(0), self.plan(1)].map(Definitions::as_written);
        for (at, warning) in self.plan(0).warnings.iter().enumerate() {
            let place = self.plan(1).warnings.iter().position(|it| it.name == warning.name);
            let when = |book: usize, it: &SpeaksOf| {
                [&it.condition, &it.unless].map(|it| it.as_ref().map(|it| written[book].condition(it)))
            };
            let other = place.and_then(|at| self.plan(1).warnings.get(at));
            if other.is_some_and(|other| when(0, &warning.speaks) == when(1, &other.speaks)) {
                continue;
            }
            let logic = self.pair.space.books[0].rules.warnings.get(at);
            let Some(before) = logic.map(|logic| self.pair.space.holds(0, logic)) else { continue };
            let logic = place.and_then(|at| self.pair.space.books[1].rules.warnings.get(at));
            let after = logic.map_or(Set::NONE, |logic| self.pair.space.holds(1, logic));
            let silent = self.pair.space.diagrams.without(before, after);
            if self.is_somewhere(silent) {
                let now = place.and_then(|at| self.plan(1).warnings.get(at)).map(|it| it.speaks.span);
                self.found.loosened.push(loosens(format!("warning {}", warning.name), Loosens::Warning, now));
            }
        }
    }

    /// No range is wider, so that nothing is taken that the base refuses; and a narrower one leaves something of all that is told
    /// apart, so that what was not seen can be as much as before.
    fn ranges(&mut self) {
        let [base, overlay] = self.own;
        for (id, name, was) in base.observations() {
            let Some((_, of, now)) = overlay.observations().find(|(_, of, _)| of.word == name.word) else {
                continue;
            };
            if was.range == now.range || of.kind != name.kind {
                continue;
            }
            let ends = |range: Option<(f64, f64)>| range.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
            let (was, now) = (ends(was.range), ends(now.range));
            let item = format!("observe {}", name.word);
            if now.0 < was.0 || now.1 > was.1 {
                self.found.loosened.push(loosens(item, Loosens::Range, Some(of.span)));
                continue;
            }
            match self.all_is_left(id, now) {
                Some(true) => {}
                Some(false) => self.found.loosened.push(loosens(item, Loosens::Range, Some(of.span))),
                None => self.found.not_proved.push(NotProved::Item { item, now: Some(of.span) }),
            }
        }
    }

    /// Returns whether a range has something of each piece of what is seen; nothing where it is reckoned together with others.
    fn all_is_left(&self, seen: NameId, (low, high): (f64, f64)) -> Option<bool> {
        let space = &self.pair.space;
        let meaning = space.rooted[0].definitions.name(seen);
        let mut variables: BTreeSet<u16> = space.of_meaning.get(&meaning).copied().into_iter().collect();
        for rooted in &space.rooted {
            for (name, _) in rooted.plan.named() {
                let roots = rooted.roots(name);
                let is_of_it = |(of, root): (&u64, &Root<'_>)| {
                    *of == meaning
                        || matches!(root, Root::Leaf(expr) if matches!(&*expr.node,
                            ExprNode::OfPanicles(_, name) if rooted.definitions.name(*name) == meaning))
                };
                if roots.len() > 1
                    && roots.iter().any(is_of_it)
                    && !matches!(rooted.plan[name].origin, Origin::Band(_))
                {
                    return None;
                }
                let own = roots.iter().filter(|(of, root)| is_of_it((of, root)));
                variables.extend(own.filter_map(|(of, _)| space.of_meaning.get(of)));
            }
        }
        let pieces = variables.iter().filter_map(|it| space.variables.get(usize::from(*it)));
        let mut ends = pieces.flat_map(|it| &it.pieces).filter_map(|piece| piece.ends());
        Some(ends.all(|(from, to)| from <= high && low <= to))
    }
}

/// A cap, and what it counts.
struct CountedCap {
    counts: (Option<String>, Option<u64>),
    at_most: f64,
}

fn cap_of(plan: &Plan, definitions: &Definitions<'_>, name: NameId) -> Option<CountedCap> {
    let Origin::Measure(measure) = &plan[name].origin else { return None };
    match &*measure.expr.node {
        ExprNode::Fitting { ingredient, used, at_most, .. } => Some(CountedCap {
            counts: (ingredient.as_ref().map(|it| it.to_string()), used.map(|it| definitions.name(it))),
            at_most: at_most.value(),
        }),
        _ => None,
    }
}

/// Returns whether hours are all among those in which gates shut; a gate without hours shuts in all. Nothing where that hangs on
/// what can be together in one hour.
fn is_within(plans: [&Plan; 2], hours: &Condition, shutting: &[Option<&Condition>]) -> Option<bool> {
    if shutting.is_empty() {
        return Some(false);
    }
    if shutting.contains(&None) {
        return Some(true);
    }
    let meanings = plans.map(Definitions::of);
    let own = meanings[0].condition(hours);
    if shutting.iter().flatten().any(|it| meanings[1].condition(it) == own) {
        return Some(true);
    }
    let conditions: Vec<(usize, &Condition)> =
        std::iter::once((0, hours)).chain(shutting.iter().flatten().map(|it| (1, *it))).collect();
    let mut sets = FreeSets::of(plans, &conditions);
    let before = sets.set(0, hours)?;
    let after: Option<Vec<Set>> = shutting.iter().flatten().map(|it| sets.set(1, it)).collect();
    let after = sets.diagrams.any(after?);
    let open = sets.diagrams.without(before, after);
    if open.is_none() {
        return Some(true);
    }
    sets.is_certain(open).then_some(false)
}

/// Returns whether all that some gate of the base shuts is shut by one of the overlay.
fn covers((overlay, by): (&Plan, &[Shut]), (base, shuts): (&Plan, &[Shut])) -> bool {
    let product = |id: &ProductId| {
        let name = &base[*id].name;
        by.iter().any(|shut| match shut {
            Shut::Spraying => true,
            Shut::Product(other) => overlay[*other].name == *name,
            Shut::Group(group) => overlay.product(name).is_some_and(|it| overlay[it].groups.contains(group)),
            Shut::Mix(..) => false,
        })
    };
    shuts.iter().all(|shut| match shut {
        Shut::Spraying => by.contains(&Shut::Spraying),
        Shut::Group(group) => {
            by.contains(&Shut::Spraying)
                || by.iter().any(|it| matches!(it, Shut::Group(other) if other == group))
        }
        Shut::Product(id) => product(id),
        Shut::Mix(a, b) => {
            let names: BTreeSet<_> = [a, b].map(|it| base[*it].name.clone()).into();
            let same = |it: &Shut| match it {
                Shut::Mix(a, b) => names == [a, b].map(|it| overlay[*it].name.clone()).into(),
                Shut::Spraying | Shut::Group(_) | Shut::Product(_) => false,
            };
            product(a) || product(b) || by.iter().any(same)
        }
    })
}
