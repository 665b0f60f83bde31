//! In which situations two rulebooks decide differently: proved, as disjoint regions, each shown by a situation that was
//! decided under both.

pub(crate) mod pair;
pub(crate) mod causes;
pub mod direction;
pub(crate) mod called;
pub(crate) mod headlines;
pub(crate) mod opened;
pub(super) mod moved_figures;
pub(super) mod newly_broken;
pub(crate) mod regions;
pub mod way;
pub mod items;

use crate::decide::{Certified, Rules};
use crate::plan::{Class, Plan};
pub use crate::prove::compare::called::CalledOtherwise;
pub use crate::prove::compare::direction::Direction;
pub use crate::prove::compare::headlines::{Except, Headline, VerdictTurn};
pub use crate::prove::compare::newly_broken::ToMend;
pub use crate::prove::compare::opened::Opened;
pub use crate::prove::compare::regions::{Region, Said};
use crate::prove::space::Book;
use crate::prove::space::Space;
use crate::prove::space::across;
pub use crate::prove::space::across::Redefined;
use crate::prove::space::ranges::with_common_ranges;
use crate::situation::Set;
use items::ItemChange;
use newly_broken::to_mend;
use pair::{Pair, Parts, VerdictChange};
use regions::Told;
use std::collections::BTreeSet;
use std::thread;

/// How many regions are worked out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regions {
    /// One of each change of verdict.
    One,
    /// None but one of each change of verdict: a page says the rest in few words.
    Some,
    /// All, as far as they are not more than a program can read.
    All,
}

impl Regions {
    /// Returns how many regions are worked out at most, and of one change of verdict at least.
    fn room(self) -> (usize, usize) {
        match self {
            Regions::One | Regions::Some => (0, 1),
            Regions::All => (400, 12),
        }
    }
}

/// How two rulebooks differ.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Whether the whole advice is proved to be the same: every situation is decided the same, and no item differs in meaning.
    pub same: bool,
    /// Whether every situation is proved to be decided the same.
    pub same_verdicts: bool,
    /// The regions in which decisions differ, disjoint, largest first.
    pub regions: Vec<Region>,
    /// Every change of verdict that can be, once.
    pub turns: Vec<VerdictTurn>,
    /// Those of which not all regions are listed.
    pub cut: Vec<VerdictTurn>,
    /// What each cause changes, in few words.
    pub headlines: Vec<Headline>,
    /// The names that both rulebooks define, each otherwise.
    pub redefined: Vec<Redefined>,
    /// The strengths that bear another name at the same amount.
    pub called_otherwise: Vec<CalledOtherwise>,
    /// The items that differ.
    pub items: Vec<ItemChange>,
    /// The gates that let through what they shut.
    pub opened: Vec<Opened>,
    /// What the new rulebook breaks.
    pub to_mend: ToMend,
    /// Where groves that are certified organic are decided otherwise, if that was asked: where products are organic in the one rulebook
    /// only, or nothing else differs in verdicts.
    pub certified: Option<Box<Comparison>>,
    /// Regions whose situation was not decided as it was proved; none, unless the program is wrong.
    pub unconfirmed: usize,
    /// Whether the comparison could not be finished within the budget.
    pub spent: bool,
}

/// How many changes of verdict one looks at alone.
const FEW: usize = 8;

/// Compares two rulebooks.
pub fn compare(old: &Plan, new: &Plan, budget: usize, regions: Regions) -> Comparison {
    let taken = with_common_ranges([old, new]);
    let rules = taken.each_ref().map(|plan| Rules::new(plan, Certified::No));
    let books = [0, 1].map(|book| Book { plan: &taken[book], rules: &rules[book] });
    thread::scope(|scope| {
        let items = scope.spawn(|| items::changes([old, new], books, budget));
        let mut comparison = differences(books, budget, regions);
        comparison.items = joined(items);
        comparison.called_otherwise = called::called_otherwise(old, new);
        let is_any_meant = comparison.items.iter().any(ItemChange::in_meaning);
        let [was, now] = [organic(old), organic(new)];
        // Where nothing is left to such a grove, or everything is, the same holds there as elsewhere.
        let is_left_some = [(old, &was), (new, &now)]
            .iter()
            .any(|(plan, left)| !left.is_empty() && left.len() < plan.products.len());
        if is_any_meant && (was != now || comparison.same_verdicts && is_left_some) {
            comparison.certified = certified(taken.each_ref(), budget, regions);
        }
        comparison.same = comparison.same_verdicts && !is_any_meant;
        if !comparison.same && regions != Regions::One {
            comparison.to_mend = to_mend(old, new, budget);
        }
        comparison
    })
}

/// Compares two rulebooks in groves that are certified organic; nothing where these are decided the same.
fn certified(plans: [&Plan; 2], budget: usize, regions: Regions) -> Option<Box<Comparison>> {
    let rules = plans.map(|plan| Rules::new(plan, Certified::Organic));
    let books = [Book { plan: plans[0], rules: &rules[0] }, Book { plan: plans[1], rules: &rules[1] }];
    let comparison = differences(books, budget, regions);
    (!comparison.same_verdicts).then(|| Box::new(comparison))
}

/// Returns the products that may be sprayed in groves that are certified organic.
fn organic(plan: &Plan) -> BTreeSet<&str> {
    let of = plan.products.iter().filter(|product| product.class == Some(Class::Organic));
    of.map(|product| &*product.name).collect()
}

fn differences(books: [Book<'_>; 2], budget: usize, tells: Regions) -> Comparison {
    let mut pair = Pair::new(Space::of_two(books, budget));
    let within = pair.may_differ();
    let [was, now] = [0, 1].map(|book| pair.parts(book, within));
    let changes = pair.changes(&was, &now);
    let (mut changes, spent) = real(&mut pair, changes);
    // The small ones first: they are told as a whole.
    changes.sort_by_key(|change| pair.space.diagrams.size(change.set));
    let turns: Vec<VerdictTurn> = changes.iter().map(|change| pair.turn(change)).collect();
    let mut comparison = Comparison {
        same: false,
        same_verdicts: false,
        regions: Vec::new(),
        turns: turns.clone(),
        cut: Vec::new(),
        headlines: Vec::new(),
        redefined: across::redefined(&pair.space),
        called_otherwise: Vec::new(),
        items: Vec::new(),
        opened: pair.opened(),
        to_mend: ToMend::default(),
        certified: None,
        unconfirmed: 0,
        spent,
    };
    comparison.turns.sort_by(|a, b| (a.direction, &a.was, &a.now).cmp(&(b.direction, &b.was, &b.now)));
    // Two tell regions side by side, each those of every other change; one shows that nothing else differs, the other puts all in
    // few words.
    pair.space.settle();
    let mut beside = pair.clone();
    let (mut told, mut is_all) = (Vec::new(), true);
    thread::scope(|scope| {
        let (changes, turns) = (&changes, &turns);
        let other = scope.spawn(move || {
            let headlines = if tells == Regions::One { Vec::new() } else { beside.headlines(changes, turns) };
            (tell_half(&mut beside, changes, 1, tells), headlines)
        });
        let mine = tell_half(&mut pair, changes, 0, tells);
        let (others, headlines) = joined(other);
        comparison.headlines = headlines;
        let (mut mine, mut others) = (mine.into_iter(), others.into_iter());
        for at in 0..changes.len() {
            told.extend(if at % 2 == 0 { mine.next() } else { others.next() });
        }
        is_all = is_patched(&mut pair, (was, now), changes, &told);
    });
    comparison.unconfirmed += usize::from(!is_all);
    for (turn, one) in turns.into_iter().zip(told) {
        if one.is_cut {
            comparison.cut.push(turn);
        }
        comparison.regions.extend(one.regions);
        comparison.unconfirmed += one.unconfirmed;
    }
    comparison.same_verdicts = changes.is_empty() && comparison.unconfirmed == 0 && !comparison.spent;
    comparison.regions.sort_by(|a, b| {
        b.share.total_cmp(&a.share).then_with(|| {
            a.situation.values.iter().map(|it| it.0).cmp(b.situation.values.iter().map(|it| it.0))
        })
    });
    comparison
}

/// Tells the regions of every other change.
fn tell_half(pair: &mut Pair<'_>, changes: &[VerdictChange], first: usize, tells: Regions) -> Vec<Told> {
    let (room, least) = tells.room();
    let mut left = room / 2;
    let mut told = Vec::new();
    for (at, change) in changes.iter().enumerate().skip(first).step_by(2) {
        let kept = least * ((changes.len() - at - 1) / 2);
        let one = pair.tell(change, left.saturating_sub(kept).max(least), tells);
        left = left.saturating_sub(one.ways.len());
        told.push(one);
    }
    told
}

/// Returns whether nothing else differs: the old decisions, patched with all that is told, are the new ones. A change of which
/// not all regions are listed is told by its name, and patched as a whole. It is not asked where the budget is reached.
fn is_patched(
    pair: &mut Pair<'_>,
    (was, now): (Parts, Parts),
    changes: &[VerdictChange],
    told: &[Told],
) -> bool {
    let mut patches = Vec::new();
    for (change, one) in changes.iter().zip(told) {
        let mut set = if one.is_cut { change.set } else { Set::NONE };
        for way in &one.ways {
            let here = pair.set_of(way);
            set = pair.space.diagrams.either(set, here);
        }
        patches.push((&change.now, set));
    }
    pair.space.diagrams.is_spent() || pair.is_patched(was, now, &patches)
}

/// Returns the changes that are somewhere, and whether the budget was reached. Two look for many side by side.
fn real(pair: &mut Pair<'_>, mut changes: Vec<VerdictChange>) -> (Vec<VerdictChange>, bool) {
    let keep = |pair: &mut Pair<'_>, changes: &mut Vec<VerdictChange>| {
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
