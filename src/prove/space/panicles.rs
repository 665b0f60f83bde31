//! Which answers about a tree's panicles go together: those for which a set of groups exists that gives them.

use super::compute;
use super::relations::pairs;
use super::roots::{Root, names_in};
use super::shares::{self, Sum};
use super::{Read, Space};
use crate::measure::Extent;
use crate::plan::{Condition, ExprNode, NameId, Origin, Plan, Quantifier, Statistic};
use crate::situation::Set;
use std::collections::BTreeSet;

/// Returns the names that a root speaks of inside conditions on panicles or trees.
pub(crate) fn names_inside(plan: &Plan, root: Root<'_>, names: &mut Vec<NameId>) {
    let Root::Leaf(expr) = root else { return };
    match &*expr.node {
        ExprNode::Panicles(_, condition)
        | ExprNode::ShareOfPanicles(condition)
        | ExprNode::ShareOfTrees(_, condition) => names_in(condition, names),
        ExprNode::OfPanicles(_, name) => names.push(*name),
        _ => {}
    }
    let _ = plan;
}

/// What is asked of all groups of a tree.
enum AskedOfGroups<'p> {
    Some(&'p Condition),
    All(&'p Condition),
    Share(&'p Condition),
    Of(Statistic, NameId),
}

/// Adds what must hold of the answers about panicles so that groups exist which give them.
///
/// A set of groups gives the answers where every group keeps to what is denied and asked of all, and for each answer
/// that asks for a group there is one. `shares` says how shares add up.
///
/// The tree is the same for all rulebooks of the space, so that what they ask is answered by the same groups.
pub(crate) fn add(space: &mut Space<'_>) {
    let mut seen = BTreeSet::new();
    let mut groups = GroupSpace { keeps: Set::ALL, there: Vec::new(), shares: Vec::new(), means: Vec::new() };
    for book in 0..space.books.len() {
        for (read, asked) in &questions(space, book, &mut seen) {
            groups.ask(space, book, read, asked);
        }
    }
    if !seen.is_empty() {
        groups.relate(space);
    }
}

/// Returns what is asked of a tree's panicles, but what is taken and what was asked before.
fn questions<'p>(space: &Space<'p>, book: usize, seen: &mut BTreeSet<u16>) -> Vec<(Read, AskedOfGroups<'p>)> {
    let plan = space.rooted[book].plan;
    let mut all: Vec<(Read, AskedOfGroups<'_>)> = Vec::new();
    for (id, name) in plan.named() {
        let Origin::Measure(measure) = &name.origin else { continue };
        if measure.valid_if.is_some() || compute::is_arithmetic(&measure.expr) {
            continue;
        }
        let asked = match &*measure.expr.node {
            ExprNode::Panicles(Quantifier::Some, condition) => AskedOfGroups::Some(condition),
            ExprNode::Panicles(Quantifier::All, condition) => AskedOfGroups::All(condition),
            ExprNode::ShareOfPanicles(condition) => AskedOfGroups::Share(condition),
            ExprNode::OfPanicles(statistic, of) => AskedOfGroups::Of(*statistic, *of),
            _ => continue,
        };
        let free = !space.rooted[book].cut.contains(&id);
        if let Some(read) = space.read(book, id).filter(|read| free && seen.insert(read.variable)) {
            all.push((read.clone(), asked));
        }
    }
    all
}

/// Adds that the tree has one group of panicles: each answer is what its condition says of that group.
pub(crate) fn one_group(space: &mut Space<'_>, book: usize) {
    for (read, asked) in questions(space, book, &mut BTreeSet::new()) {
        match asked {
            AskedOfGroups::Some(condition) | AskedOfGroups::All(condition) => {
                let yes = where_piece(space, &read, &|it| it.word_set() & 0b10 != 0);
                agree(space, book, condition, yes, None);
            }
            AskedOfGroups::Share(condition) => {
                let one = where_piece(space, &read, &|it| it.ends().is_some_and(|(_, high)| high >= 1.0));
                let none = where_piece(space, &read, &|it| it.ends().is_some_and(|(low, _)| low <= 0.0));
                agree(space, book, condition, one, Some(none));
            }
            AskedOfGroups::Of(_, of) => {
                if let Some(group) = space.read(book, of).cloned() {
                    pairs(space, &read, &group, &|a, b| match (place(a), place(b)) {
                        (Some((low, high)), Some((from, to))) => low <= to && from <= high,
                        _ => true,
                    });
                }
            }
        }
    }
}

/// Relates an answer to its condition: `yes` where it holds, and `no`, or else whatever is not `yes`, where it does not.
fn agree(space: &mut Space<'_>, book: usize, condition: &Condition, yes: Set, no: Option<Set>) {
    let (held, not_held) = (space.may_hold(book, condition, true), space.may_hold(book, condition, false));
    let no = match no {
        Some(no) => no,
        None => space.diagrams.not(yes),
    };
    let first = space.diagrams.both(held, yes);
    let second = space.diagrams.both(not_held, no);
    let set = space.diagrams.either(first, second);
    space.relations.push(set);
}

/// Whether two shares may add up so, each from its lowest to its highest.
type Adds = fn((f64, f64), (f64, f64)) -> bool;

/// The groups that a tree may have, with the other variables as they are.
struct GroupSpace {
    /// What every group keeps to.
    keeps: Set,
    /// Either of these must hold, or a group of that sort exist.
    there: Vec<(Set, Set)>,
    /// The shares with their conditions.
    shares: Vec<(Read, Set, Set)>,
    /// The means with what they are of.
    means: Vec<(Read, Read)>,
}

impl GroupSpace {
    fn ask(&mut self, space: &mut Space<'_>, book: usize, read: &Read, asked: &AskedOfGroups<'_>) {
        match asked {
            AskedOfGroups::Some(condition) | AskedOfGroups::All(condition) => {
                let some = matches!(asked, AskedOfGroups::Some(_));
                let held = space.may_hold(book, condition, true);
                let not_held = space.may_hold(book, condition, false);
                let yes = where_piece(space, read, &|it| it.word_set() & 0b10 != 0);
                let no = space.diagrams.not(yes);
                let (freed, kept, missed) = if some { (yes, not_held, held) } else { (no, held, not_held) };
                let other = if some { no } else { yes };
                self.keep(space, freed, kept);
                self.there.push((other, missed));
            }
            AskedOfGroups::Share(condition) => {
                let held = space.may_hold(book, condition, true);
                let not_held = space.may_hold(book, condition, false);
                let some = where_piece(space, read, &|it| it.ends().is_none_or(|(_, high)| high > 0.0));
                let not_all = where_piece(space, read, &|it| it.ends().is_none_or(|(low, _)| low < 1.0));
                self.keep(space, some, not_held);
                self.keep(space, not_all, held);
                let none = where_piece(space, read, &|it| it.ends().is_none_or(|(low, _)| low <= 0.0));
                let all = where_piece(space, read, &|it| it.ends().is_none_or(|(_, high)| high >= 1.0));
                self.there.push((none, held));
                self.there.push((all, not_held));
                self.shares.push((read.clone(), held, not_held));
            }
            AskedOfGroups::Of(statistic, of) => {
                let Some(group) = space.read(book, *of).cloned() else { return };
                if *statistic == Statistic::Mean {
                    self.means.push((read.clone(), group.clone()));
                }
                for (piece, extent) in read.extents.iter().enumerate() {
                    let Some((low, high)) = place(*extent) else { continue };
                    let here = space.diagrams.test(read.variable, |it| usize::from(it) == piece);
                    let elsewhere = space.diagrams.not(here);
                    let not_below = where_piece(space, &group, &|it| place(*it).is_none_or(|it| it.1 >= low));
                    let not_above =
                        where_piece(space, &group, &|it| place(*it).is_none_or(|it| it.0 <= high));
                    let on = space.diagrams.both(not_below, not_above);
                    match statistic {
                        Statistic::Lowest => {
                            self.keep(space, elsewhere, not_below);
                            self.there.push((elsewhere, on));
                        }
                        Statistic::Highest => {
                            self.keep(space, elsewhere, not_above);
                            self.there.push((elsewhere, on));
                        }
                        Statistic::Mean | Statistic::Total => {
                            self.there.push((elsewhere, not_below));
                            self.there.push((elsewhere, not_above));
                        }
                    }
                }
            }
        }
    }

    /// Every group keeps to a condition, except in some situations.
    fn keep(&mut self, space: &mut Space<'_>, except: Set, condition: Set) {
        let kept = space.diagrams.either(except, condition);
        self.keeps = space.diagrams.both(self.keeps, kept);
    }

    fn relate(self, space: &mut Space<'_>) {
        let shares =
            self.shares.iter().cloned().map(|(read, held, not_held)| Sum::Share(read, held, not_held));
        let means = self.means.iter().cloned().map(|(read, group)| Sum::Mean(read, group));
        shares::relate(space, &shares.chain(means).collect::<Vec<_>>());
        let of_group: Vec<bool> = space.variables.iter().map(|it| it.of_group).collect();
        let group = |variable: u16| of_group.get(usize::from(variable)).copied().unwrap_or(false);
        let some = space.diagrams.exists(self.keeps, &group);
        space.relations.push(some);
        for (otherwise, sort) in self.there {
            let such = space.diagrams.both(self.keeps, sort);
            let some = space.diagrams.exists(such, &group);
            let relation = space.diagrams.either(otherwise, some);
            if !relation.is_all() {
                space.relations.push(relation);
            }
        }
        for (at, (a, held_a, not_a)) in self.shares.iter().enumerate() {
            for (b, held_b, not_b) in self.shares.iter().skip(at + 1) {
                let sums: [(Set, Set, Adds); 4] = [
                    (*held_a, *not_b, |a, b| a.0 <= b.1),
                    (*not_a, *held_b, |a, b| b.0 <= a.1),
                    (*held_a, *held_b, |a, b| a.0 + b.0 <= 1.0),
                    (*not_a, *not_b, |a, b| a.1 + b.1 >= 1.0),
                ];
                for (one, other, may) in sums {
                    let sort = space.diagrams.both(one, other);
                    let such = space.diagrams.both(self.keeps, sort);
                    let some = space.diagrams.exists(such, &group);
                    let before = space.relations.len();
                    pairs(space, a, b, &|a, b| match (a.ends(), b.ends()) {
                        (Some(a), Some(b)) => may(a, b),
                        _ => true,
                    });
                    if space.relations.len() > before
                        && let Some(relation) = space.relations.pop()
                    {
                        let relation = space.diagrams.either(some, relation);
                        space.relations.push(relation);
                    }
                }
            }
        }
    }
}

fn where_piece(space: &mut Space<'_>, read: &Read, is: &dyn Fn(&Extent) -> bool) -> Set {
    let within: Vec<bool> = read.extents.iter().map(is).collect();
    space.diagrams.test(read.variable, |piece| within.get(usize::from(piece)).copied().unwrap_or(false))
}

/// Returns the ends of a piece: of numbers, or of words by their places.
fn place(extent: Extent) -> Option<(f64, f64)> {
    match extent.word_set() {
        0 => extent.ends(),
        set => Some((f64::from(set.trailing_zeros()), f64::from(63 - set.leading_zeros()))),
    }
}
