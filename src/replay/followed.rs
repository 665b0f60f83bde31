//! Where advice and log part: advised and not sprayed, sprayed and not advised, another product.
//!
//! Comes in: the days of a season. Goes out: partings, each of all trees of which it is the same. What is advised on mornings
//! that follow one another is one advice: a spray that begins before the morning after it follows it.

use super::{ReplayedDay, TankDone};
use crate::advice::Spray;
use crate::plan::ProductId;
use std::collections::{BTreeMap, BTreeSet};

/// A part of the season in which something else was done than was said.
#[derive(Clone, PartialEq, Debug)]
pub struct Parting {
    /// In what they part.
    pub kind: PartingKind,
    /// The first and the last morning, by their places among the days.
    pub days: (usize, usize),
    /// What was advised on the first of them; empty where nothing was.
    pub advised: Spray,
    /// The spray, by its place among those of its morning.
    pub done: Option<(usize, usize)>,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
}

/// In what advice and log part.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum PartingKind {
    /// A spray was advised, and none was done as long as it was.
    NotSprayed,
    /// A spray was still advised at the end of the season.
    StillOpen,
    /// A spray was done, of other products than were advised.
    OtherProduct,
    /// A spray was done on a morning that advised none.
    NotAdvised,
}

/// How often the trees were sprayed and how often a spray was advised, each tree for itself.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct TreeSprays {
    /// Advices to spray, each as long as it stood.
    pub advised: usize,
    /// Of these, advices that were followed.
    pub followed: usize,
    /// Sprays that were done.
    pub done: usize,
}

/// What a tree met on one morning: the advised spray, and the tanks it got until the next one, by their places.
struct TreeDay<'d> {
    advised: Option<&'d Spray>,
    done: Vec<usize>,
}

/// Finds where advice and log part, the earliest first, and counts both.
pub fn partings(days: &[ReplayedDay], trees: &[usize]) -> (Vec<Parting>, TreeSprays) {
    let (mut found, mut counts) = (Vec::new(), TreeSprays::default());
    for tree in trees {
        let met: Vec<TreeDay<'_>> = days.iter().map(|day| TreeDay::of(day, *tree)).collect();
        counts.done += met.iter().map(|day| day.done.len()).sum::<usize>();
        let mut at = 0;
        while let Some(day) = met.get(at) {
            let Some(advised) = day.advised else {
                // A morning without an answer advised nothing, and nothing against it.
                let answered = days.get(at).is_some_and(|day| day.blank.is_none());
                for tank in day.done.iter().filter(|_| answered) {
                    let (kind, done) = (PartingKind::NotAdvised, Some((at, *tank)));
                    let parting = Parting::new(kind, (at, at), &Spray::new(), done);
                    note(&mut found, parting, *tree);
                }
                at += 1;
                continue;
            };
            // The advice stands from here to the last morning that still advises, or on which something is done.
            let stands = met.iter().skip(at).take_while(|day| day.advised.is_some());
            let length = stands.count();
            let until = met.iter().skip(at).take(length).position(|day| !day.done.is_empty());
            let last = at + until.unwrap_or(length - 1);
            counts.advised += 1;
            match until {
                None => {
                    let is_end = last + 1 == met.len();
                    let kind = if is_end { PartingKind::StillOpen } else { PartingKind::NotSprayed };
                    note(&mut found, Parting::new(kind, (at, last), advised, None), *tree);
                }
                Some(_) => {
                    let then = met.get(last);
                    let on_day = then.and_then(|day| day.advised).unwrap_or(advised);
                    let tanks = then.map_or(&[][..], |day| &day.done);
                    let is_followed = |tank: &&usize| {
                        let done = days.get(last).and_then(|day| day.done.get(**tank));
                        done.is_some_and(|done| is_of(done, on_day))
                    };
                    let followed = tanks.iter().find(is_followed);
                    counts.followed += usize::from(followed.is_some());
                    for tank in tanks.iter().filter(|tank| followed.is_none_or(|it| it != *tank)) {
                        let (kind, done) = (PartingKind::OtherProduct, Some((last, *tank)));
                        note(&mut found, Parting::new(kind, (at, last), on_day, done), *tree);
                    }
                }
            }
            at = last + 1;
        }
    }
    found.sort_by(|a, b| (a.days.0, a.kind, &a.trees).cmp(&(b.days.0, b.kind, &b.trees)));
    (found, counts)
}

/// Counts how many tree sprays of each product were advised and done, by the product.
pub fn sprays_by_product(days: &[ReplayedDay], trees: &[usize]) -> BTreeMap<ProductId, (usize, usize)> {
    let mut counts: BTreeMap<ProductId, (usize, usize)> = BTreeMap::new();
    for tank in days.iter().flat_map(|day| &day.done) {
        let products: BTreeSet<ProductId> =
            tank.parts.iter().filter_map(|(_, product, _)| *product).collect();
        for product in products {
            counts.entry(product).or_default().1 += tank.trees.len();
        }
    }
    for tree in trees {
        let mut before: Option<&Spray> = None;
        for day in days {
            let met = TreeDay::of(day, *tree);
            let is_new = |product: &ProductId| before.is_none_or(|spray| !has(spray, *product));
            for (product, _) in met.advised.into_iter().flatten().filter(|(product, _)| is_new(product)) {
                counts.entry(*product).or_default().0 += 1;
            }
            before = met.advised.filter(|_| met.done.is_empty());
        }
    }
    counts
}

impl Parting {
    fn new(kind: PartingKind, days: (usize, usize), advised: &Spray, done: Option<(usize, usize)>) -> Self {
        Self { kind, days, advised: advised.clone(), done, trees: Vec::new() }
    }
}

impl<'d> TreeDay<'d> {
    fn of(day: &'d ReplayedDay, tree: usize) -> Self {
        let advised = day.decision(tree).filter(|group| day.blank.is_none() && group.verdict.is_spray());
        let has = |tank: &&TankDone| tank.trees.binary_search(&tree).is_ok();
        let tanks = day.done.iter().enumerate().filter(|(_, tank)| has(tank));
        Self { advised: advised.map(|group| &group.spray), done: tanks.map(|(at, _)| at).collect() }
    }
}

fn has(spray: &Spray, product: ProductId) -> bool {
    spray.iter().any(|(it, _)| *it == product)
}

/// Returns whether a tank has the products of a spray, and no others.
fn is_of(done: &TankDone, spray: &Spray) -> bool {
    let mut wanted: Vec<ProductId> = spray.iter().map(|(product, _)| *product).collect();
    wanted.sort_unstable();
    done.products().is_some_and(|products| products == wanted)
}

/// Notes a parting of a tree with those of other trees that are the same.
fn note(found: &mut Vec<Parting>, parting: Parting, tree: usize) {
    let key = |it: &Parting| (it.kind, it.days, it.done);
    let same = |it: &&mut Parting| key(it) == key(&parting) && it.advised == parting.advised;
    match found.iter_mut().find(same) {
        Some(known) => known.trees.push(tree),
        None => found.push(Parting { trees: vec![tree], ..parting }),
    }
}
