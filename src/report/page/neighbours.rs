//! Trees within reach of drift for which what is sprayed is not allowed.

use super::Page;
use crate::advice::Spray;
use crate::labels::barred;
use crate::plan::ProductId;
use crate::trace::{Shutter, Verdict};
use crate::words::Words;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

/// Trees within reach of drift for which a product is not allowed, for one reason.
#[derive(Clone, PartialEq, Debug)]
pub struct Risk {
    /// The product.
    pub product: ProductId,
    /// Why it is not allowed; nothing where that is not known yet.
    pub shutter: Option<Shutter>,
    /// The trees.
    pub trees: Vec<usize>,
}

impl Risk {
    /// Says why.
    pub fn why(&self, words: Words<'_>) -> String {
        match self.shutter {
            Some(Shutter::Gate(gate)) => words.gate(gate),
            Some(Shutter::Certified) => words.say("sheet.neighbours.certified", &[]),
            None => words.say("sheet.neighbours.open", &[]),
        }
    }
}

/// Returns a sentence for each reason for which a product of a spray is not allowed on trees near those sprayed.
pub fn at_risk(page: &Page<'_>, trees: &[usize], spray: &Spray) -> Vec<String> {
    let say = |risk: Risk| {
        let product = page.words().product(risk.product);
        let why = risk.why(page.words());
        let places = [("product", &*product), ("trees", &page.ranges(&risk.trees)), ("why", &why)];
        page.words().say("page.neighbours.words", &places)
    };
    risks(page, trees, spray).into_iter().map(say).collect()
}

/// Returns the trees near those sprayed for which a product of the spray is not allowed, reason by reason.
pub fn risks(page: &Page<'_>, sprayed: &[usize], spray: &Spray) -> Vec<Risk> {
    let near = NearPlaces::new(page, sprayed);
    let mut by_reason: BTreeMap<(usize, Option<Shutter>), Vec<usize>> = BTreeMap::new();
    for (tree, advice) in page.advice.trees.iter().enumerate() {
        let Some(case) = page.advice.case_of(advice) else { continue };
        let own: Vec<ProductId> = case.spray.iter().map(|(product, _)| *product).collect();
        let bars = barred(page.scene.plan, &own);
        let shut = spray.iter().find_map(|(product, _)| {
            // What is sprayed there today is kept apart from this product, too, whichever comes first.
            let bar = bars.iter().find(|it| it.product == *product).map(|it| Shutter::Gate(it.gate));
            let by = case.shut.iter().find(|(products, _)| products[..] == [*product]);
            // Of a tree that is to be looked at first a product counts as not allowed unless it is, whatever is found.
            let is_open = || {
                let is_safe = case.safe.iter().any(|safe| safe.iter().any(|(it, _)| it == product));
                case.decision.verdict == Verdict::Look && !is_safe
            };
            match by {
                Some((_, shutter)) => Some((product.index(), Some(*shutter))),
                None if bar.is_some() => Some((product.index(), bar)),
                None => is_open().then_some((product.index(), None)),
            }
        });
        if let Some(reason) = shut
            && sprayed.binary_search(&tree).is_err()
            && near.reaches(page, tree)
        {
            by_reason.entry(reason).or_default().push(tree);
        }
    }
    let risk = |((product, shutter), trees)| Risk { product: ProductId(product as u32), shutter, trees };
    by_reason.into_iter().map(risk).collect()
}

/// The places that a group's spray can drift to.
struct NearPlaces {
    reach: f64,
    cells: FxHashMap<(i64, i64), Vec<(f64, f64)>>,
    next_to: Vec<usize>,
}

impl NearPlaces {
    fn new(page: &Page<'_>, sprayed: &[usize]) -> Self {
        let reach = page.facts.drift.max(0.1);
        let mut near = Self { reach, cells: FxHashMap::default(), next_to: Vec::new() };
        for tree in sprayed {
            match page.ground.position(*tree) {
                Some(place) => near.cells.entry(near.cell(place)).or_default().push(place),
                // Without a place on the map those before and after it in walking order are its neighbours.
                None => near.next_to.extend(tree.checked_sub(1).into_iter().chain([tree + 1])),
            }
        }
        near.next_to.sort_unstable();
        near.next_to.dedup();
        near
    }

    fn cell(&self, (east, north): (f64, f64)) -> (i64, i64) {
        ((east / self.reach).floor() as i64, (north / self.reach).floor() as i64)
    }

    fn reaches(&self, page: &Page<'_>, tree: usize) -> bool {
        let Some(place) = page.ground.position(tree) else {
            let block = |tree: usize| page.ground.block(tree);
            let beside = [tree.wrapping_sub(1), tree + 1];
            return self.next_to.binary_search(&tree).is_ok()
                && beside
                    .into_iter()
                    .any(|other| other < page.ground.count() && block(other) == block(tree));
        };
        let (column, row) = self.cell(place);
        let around = (-1..=1).flat_map(|east| (-1..=1).map(move |north| (column + east, row + north)));
        around.filter_map(|cell| self.cells.get(&cell)).flatten().any(|other| {
            let (east, north) = (place.0 - other.0, place.1 - other.1);
            libm::hypot(east, north) <= self.reach
        })
    }
}
