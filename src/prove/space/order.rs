//! In which order variables stand in the diagrams: those that meet in the same rules next to one another.
//!
//! A diagram must remember at each variable what was met before and matters after. Bands and products are what rules
//! have in common, so that the variables of a band or of a product's label are drawn together around it. Found by
//! moving everything to the middle of what it belongs to, again and again (Aloul, Markov and Sakallah 2003).

use super::Book;
use super::roots::Rooted;
use crate::decide::Logic;
use crate::plan::{Meaning, NameId};
use crate::trace::Shutter;
use rustc_hash::FxHashMap;

/// How often everything is moved.
const ROUNDS: usize = 60;

/// What rules have in common.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum SharedNames {
    Root(Meaning),
    Band(usize, NameId),
    Product(usize, u32),
}

/// Sorts roots; what they stand in at first is the order of equals.
pub(crate) fn sort(books: &[Book<'_>], rooted: &[Rooted<'_>], roots: &mut [Meaning]) {
    let mut places: FxHashMap<SharedNames, f64> =
        roots.iter().enumerate().map(|(at, root)| (SharedNames::Root(*root), at as f64)).collect();
    let mut groups: Vec<Vec<SharedNames>> = Vec::new();
    for (book, (of, rooted)) in books.iter().zip(rooted).enumerate() {
        groups.extend(groups_of(book, of, rooted));
    }
    let middle = roots.len() as f64 / 2.0;
    groups.iter().flatten().for_each(|point| {
        places.entry(*point).or_insert(middle);
    });
    groups.retain(|group| group.len() > 1);
    let mut best: Option<(f64, Vec<Meaning>)> = None;
    for _ in 0..ROUNDS {
        let mut pulled: FxHashMap<SharedNames, (f64, f64)> = FxHashMap::default();
        for group in &groups {
            let of = |point: &SharedNames| places.get(point).copied().unwrap_or(middle);
            let centre = group.iter().map(of).sum::<f64>() / group.len() as f64;
            // What few have in common draws them together more than what many have.
            let weight = 1.0 / (group.len() as f64 - 1.0);
            for point in group {
                let pull = pulled.entry(*point).or_default();
                *pull = (pull.0 + centre * weight, pull.1 + weight);
            }
        }
        for (point, (sum, weight)) in pulled {
            places.insert(point, sum / weight);
        }
        let mut order: Vec<(SharedNames, f64)> = places.iter().map(|(point, at)| (*point, *at)).collect();
        let number = |point: &SharedNames| match point {
            SharedNames::Root(meaning) => (0, *meaning, 0),
            SharedNames::Band(book, name) => (1, *book as u64, name.0),
            SharedNames::Product(book, product) => (2, *book as u64, *product),
        };
        order.sort_by(|a, b| a.1.total_cmp(&b.1).then_with(|| number(&a.0).cmp(&number(&b.0))));
        for (at, (point, _)) in order.iter().enumerate() {
            places.insert(*point, at as f64);
        }
        let span: f64 = groups
            .iter()
            .map(|group| {
                let at = |point: &SharedNames| places.get(point).copied().unwrap_or(middle);
                let (low, high) = group
                    .iter()
                    .map(at)
                    .fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)));
                high - low
            })
            .sum();
        if best.as_ref().is_none_or(|(least, _)| span < *least) {
            let sorted = order.iter().filter_map(|(point, _)| match point {
                SharedNames::Root(meaning) => Some(*meaning),
                SharedNames::Band(..) | SharedNames::Product(..) => None,
            });
            best = Some((span, sorted.collect()));
        }
    }
    let Some((_, sorted)) = best else { return };
    let rank: FxHashMap<Meaning, usize> = sorted.into_iter().enumerate().map(|(at, it)| (it, at)).collect();
    roots.sort_by_key(|root| rank.get(root).copied().unwrap_or(usize::MAX));
}

/// Returns what meets in each rule of a book.
fn groups_of(book: usize, of: &Book<'_>, rooted: &Rooted<'_>) -> Vec<Vec<SharedNames>> {
    let mut groups = Vec::new();
    let points = |logic: &Logic| {
        let mut points = Vec::new();
        logic.each_name(&mut |name| points.extend(points_of(book, of, rooted, name)));
        points
    };
    for band in &of.rules.bands {
        for (_, _, row) in &band.rows {
            let mut group = points(row);
            group.push(SharedNames::Band(book, band.name));
            groups.push(group);
        }
    }
    for (product, rules) in of.rules.products.iter().enumerate() {
        let here = SharedNames::Product(book, product as u32);
        let shut = rules.shut_by.iter().filter_map(|shutter| match shutter {
            Shutter::Gate(gate) => Some(*gate),
            Shutter::Certified => None,
        });
        for gate in shut.chain(rules.held_by.iter().map(|(gate, _)| *gate)) {
            let mut group = of.rules.gates.get(gate.index()).map(&points).unwrap_or_default();
            group.push(here);
            groups.push(group);
        }
        for (_, name) in &rules.fits {
            let mut group = points_of(book, of, rooted, *name);
            group.push(here);
            groups.push(group);
        }
    }
    // Products are not drawn to the choices that advise them: the best shared products would draw all together.
    groups.extend(of.rules.choices.iter().map(&points));
    for group in &mut groups {
        group.sort_by_key(|point| match point {
            SharedNames::Root(meaning) => (0, *meaning),
            SharedNames::Band(_, name) => (1, u64::from(name.0)),
            SharedNames::Product(_, product) => (2, u64::from(*product)),
        });
        group.dedup();
    }
    groups
}

fn points_of(book: usize, of: &Book<'_>, rooted: &Rooted<'_>, name: NameId) -> Vec<SharedNames> {
    if of.rules.bands.iter().any(|band| band.name == name) && !rooted.cut.contains(&name) {
        return vec![SharedNames::Band(book, name)];
    }
    rooted.roots(name).into_keys().map(SharedNames::Root).collect()
}
