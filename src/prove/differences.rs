//! In which situations two rulebooks decide differently: proved, as disjoint regions, each shown by a situation that was
//! decided under both.

use super::headlines::Draft;
pub use super::headlines::{Except, Headline, Turn};
use super::items::{self, ItemChange};
use super::pair::{Change, Pair, Parts};
use super::regions::Told;
pub use super::regions::{Region, Said};
use super::{Book, Space};
use crate::decide::{Certified, Rules};
use crate::plan::Plan;
use crate::situation::{Set, Stretch};
use std::sync::mpsc;
use std::thread;

/// How many regions are worked out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regions {
    /// One of each change of verdict.
    One,
    /// Some, for a page.
    Some,
    /// All, as far as they are not more than a program can read.
    All,
}

impl Regions {
    /// Returns how many regions are worked out at most, and of one change of verdict at least.
    fn room(self) -> (usize, usize) {
        match self {
            Regions::One => (0, 1),
            Regions::Some => (64, 4),
            Regions::All => (4_000, 20),
        }
    }
}

/// How two rulebooks differ.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Whether every situation is proved to be decided the same.
    pub same: bool,
    /// The regions in which decisions differ, disjoint, largest first.
    pub regions: Vec<Region>,
    /// The regions in few words.
    pub headlines: Vec<Headline>,
    /// The items that differ.
    pub items: Vec<ItemChange>,
    /// Regions whose situation was not decided as it was proved; none, unless the program is wrong.
    pub unconfirmed: usize,
    /// Whether there are more regions than are listed.
    pub more: bool,
    /// Whether the comparison could not be finished within the budget.
    pub spent: bool,
}

/// How many changes of verdict one looks at alone.
const FEW: usize = 8;

/// Compares two rulebooks.
pub fn compare(old: &Plan, new: &Plan, budget: usize, regions: Regions) -> Comparison {
    let (old_rules, new_rules) = (Rules::new(old, Certified::No), Rules::new(new, Certified::No));
    let books = [Book { plan: old, rules: &old_rules }, Book { plan: new, rules: &new_rules }];
    thread::scope(|scope| {
        let items = scope.spawn(|| items::changes(old, new));
        let comparison = differences(books, budget, regions);
        Comparison { items: joined(items), ..comparison }
    })
}

fn differences(books: [Book<'_>; 2], budget: usize, tells: Regions) -> Comparison {
    let mut pair = Pair::new(Space::of_two(books, budget));
    let within = pair.may_differ();
    let [was, now] = [0, 1].map(|book| pair.parts(book, within));
    let changes = pair.changes(&was, &now);
    let (mut changes, spent) = real(&mut pair, changes);
    // The small ones first: they are told as a whole.
    changes.sort_by_key(|change| pair.space.diagrams.size(change.set));
    let mut comparison = Comparison {
        same: false,
        regions: Vec::new(),
        headlines: Vec::new(),
        items: Vec::new(),
        unconfirmed: 0,
        more: false,
        spent,
    };
    let (mut left, least) = tells.room();
    let free = pair.space.impossible();
    let mut boxed = Vec::new();
    for (at, change) in changes.iter().enumerate() {
        // What was found stays found where the budget is reached while regions are told apart.
        if pair.space.diagrams.is_spent() {
            comparison.more = true;
            break;
        }
        let kept = least * (changes.len() - at - 1);
        let (boxes, rest) = pair.space.diagrams.boxes(change.set, free, left.saturating_sub(kept).max(least));
        left = left.saturating_sub(boxes.len());
        boxed.push(Boxed { change, boxes, rest });
    }
    // Two tell regions side by side; then one shows that nothing else differs, the other puts all in few words.
    let mut beside = pair.clone();
    let (first, second) = halves(&boxed);
    let (hand, taken) = mpsc::channel::<Vec<Draft>>();
    thread::scope(|scope| {
        let other = scope.spawn(move || {
            let mut told: Vec<Told> =
                second.iter().map(|it| beside.tell(it.change, &it.boxes, tells)).collect();
            let mut drafts: Vec<Draft> = taken.recv().unwrap_or_default();
            drafts.extend(told.iter_mut().flat_map(|it| it.drafts.drain(..)));
            (told, beside.headlines(drafts), beside.space.diagrams.is_spent())
        });
        let mut told: Vec<Told> = first.iter().map(|it| pair.tell(it.change, &it.boxes, tells)).collect();
        let _ = hand.send(told.iter_mut().flat_map(|it| it.drafts.drain(..)).collect());
        comparison.more |= more_is_left(&mut pair, &boxed);
        if !is_all(&mut pair, (was, now), &boxed, changes.len()) {
            comparison.unconfirmed += 1;
        }
        let (more, headlines, spent) = joined(other);
        comparison.headlines = headlines;
        comparison.more |= (spent || pair.space.diagrams.is_spent()) && !comparison.spent;
        for one in told.into_iter().chain(more) {
            comparison.regions.extend(one.regions);
            comparison.unconfirmed += one.unconfirmed;
        }
    });
    comparison.same = changes.is_empty() && comparison.unconfirmed == 0 && !comparison.spent;
    comparison.regions.sort_by(|a, b| {
        b.share.total_cmp(&a.share).then_with(|| {
            a.situation.values.iter().map(|it| it.0).cmp(b.situation.values.iter().map(|it| it.0))
        })
    });
    comparison
}

/// A change of verdict with the boxes that are told of it, and what is left where there are too many.
struct Boxed<'c> {
    change: &'c Change,
    boxes: Vec<Vec<Stretch>>,
    rest: Set,
}

/// Returns whether more differs than boxes are told.
fn more_is_left(pair: &mut Pair<'_>, boxed: &[Boxed<'_>]) -> bool {
    boxed.iter().any(|it| pair.space.diagrams.is_spent() || pair.space.witness(&[it.rest]).is_some())
}

/// Returns whether nothing else differs: the old decisions, patched with all that is told, are the new ones. It is not asked
/// where the budget was reached before all changes were told.
fn is_all(pair: &mut Pair<'_>, (was, now): (Parts, Parts), boxed: &[Boxed<'_>], changes: usize) -> bool {
    let mut patches = Vec::new();
    for Boxed { change, boxes, rest } in boxed {
        // What is left when there are too many boxes is patched as a whole.
        let mut told = *rest;
        for sides in boxes {
            let here = pair.set_of(sides);
            told = pair.space.diagrams.either(told, here);
        }
        patches.push((&change.now, told));
    }
    pair.space.diagrams.is_spent() || patches.len() < changes || pair.is_patched(was, now, &patches)
}

/// Returns changes in two parts of about as many boxes.
fn halves<'b, 'c>(boxed: &'b [Boxed<'c>]) -> (&'b [Boxed<'c>], &'b [Boxed<'c>]) {
    let all: usize = boxed.iter().map(|it| it.boxes.len()).sum();
    let mut before = 0;
    let is_first = |it: &&Boxed<'_>| {
        before += it.boxes.len();
        before * 2 <= all
    };
    boxed.split_at(boxed.iter().take_while(is_first).count())
}

/// Returns the changes that are somewhere, and whether the budget was reached. Two look for many side by side.
fn real(pair: &mut Pair<'_>, mut changes: Vec<Change>) -> (Vec<Change>, bool) {
    let keep = |pair: &mut Pair<'_>, changes: &mut Vec<Change>| {
        changes.retain(|change| pair.space.witness(&[change.set]).is_some());
        pair.space.diagrams.is_spent()
    };
    if changes.len() < FEW {
        let spent = keep(pair, &mut changes);
        return (changes, spent);
    }
    pair.space.settle();
    let mut second = changes.split_off(changes.len() / 2);
    let mut beside = pair.clone();
    let spent = thread::scope(|scope| {
        let other = scope.spawn(|| keep(&mut beside, &mut second));
        keep(pair, &mut changes) | joined(other)
    });
    changes.append(&mut second);
    (changes, spent)
}

/// Returns what came out beside.
fn joined<T>(beside: thread::ScopedJoinHandle<'_, T>) -> T {
    beside.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}
