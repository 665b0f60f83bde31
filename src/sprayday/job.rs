//! The tank work of one spray on some trees: loads of the grower's own sprayer, and what goes into them from the jugs
//! on the shelf.

use super::{Loads, Mix, MixTrouble, Spray, WantedStrength, loads, mix};
use crate::advice;
use crate::grove::{Grove, Jug};
use crate::plan::{Amount, Plan, ProductId};
use crate::units::{Dimension, clean};
use std::sync::Arc;

/// Trees that are sprayed out of the same tanks.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// The least and the most spray that one of them takes, in cubic millimetres.
    pub per_tree: (f64, f64),
    /// The spray for all of them, in cubic millimetres.
    pub volume: f64,
    /// The land that they stand on, in square millimetres, if the spacings are known.
    pub area: Option<f64>,
    /// What the tank holds, in cubic millimetres, if that is known.
    pub tank: Option<f64>,
    /// Full tanks, and the last load in cubic millimetres.
    pub loads: Loads,
    /// What goes in.
    pub parts: Vec<TankPart<'a>>,
}

/// One product of a tank.
#[derive(Clone, Debug)]
pub struct TankPart<'a> {
    /// The product.
    pub product: ProductId,
    /// The place of its strength.
    pub strength: u8,
    /// The jug; nothing where the shed has none of it.
    pub jug: Option<&'a Jug>,
    /// What goes into a full tank, where there is one.
    pub full: Option<Result<Mix, MixTrouble>>,
    /// What goes into the last load, where there is one.
    pub last: Option<Result<Mix, MixTrouble>>,
}

/// Why no amounts are known.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoAmounts {
    /// The grower's files name no sprayer.
    NoSprayer,
    /// How much spray a tree of this block takes is not known.
    OfBlock(Arc<str>),
}

/// Returns the tank work for a spray on some trees, or why there is none.
pub fn jobs<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    spray: &advice::Spray,
    trees: &[usize],
) -> Result<Vec<Job<'a>>, NoAmounts> {
    let Some(sprayer) = &grove.sprayer else { return Err(NoAmounts::NoSprayer) };
    let mut batches: Vec<Batch> = Vec::new();
    for tree in trees {
        let block = grove.block_of(*tree);
        let per_tree = block.and_then(|block| sprayer.volume_per_tree(block));
        let Some(per_tree) = per_tree.filter(|volume| *volume > 0.0) else {
            return Err(NoAmounts::OfBlock(block.map_or("", |block| &block.name).into()));
        };
        let per_area = block.and_then(|block| sprayer.volume_per_area(block));
        match batches.iter_mut().find(|it| it.per_tree == (per_tree, per_tree) && it.per_area == per_area) {
            Some(batch) => batch.trees.push(*tree),
            None => batches.push(Batch {
                trees: vec![*tree],
                per_tree: (per_tree, per_tree),
                per_area,
                volume: 0.0,
            }),
        }
    }
    batches.iter_mut().for_each(|batch| batch.volume = clean(batch.per_tree.0 * batch.trees.len() as f64));
    let amounts = || spray.iter().filter_map(|(product, strength)| amount(plan, *product, *strength));
    let by_volume =
        |amount: &Amount| matches!(amount.unit.dimension, Dimension::CONCENTRATION | Dimension::NONE);
    if amounts().all(by_volume) {
        batches = batches.into_iter().reduce(Batch::with).into_iter().collect();
    }
    Ok(batches.iter().map(|batch| batch.job(plan, grove, spray, sprayer.tank)).collect())
}

/// Trees that take spray of one strength.
struct Batch {
    trees: Vec<usize>,
    per_tree: (f64, f64),
    per_area: Option<f64>,
    volume: f64,
}

impl Batch {
    fn with(self, other: Self) -> Self {
        let mut trees = [self.trees, other.trees].concat();
        trees.sort_unstable();
        Self {
            trees,
            per_tree: (self.per_tree.0.min(other.per_tree.0), self.per_tree.1.max(other.per_tree.1)),
            per_area: self.per_area.filter(|area| Some(*area) == other.per_area),
            volume: clean(self.volume + other.volume),
        }
    }

    fn job<'a>(&self, plan: &'a Plan, grove: &'a Grove, spray: &advice::Spray, tank: Option<f64>) -> Job<'a> {
        let loads = loads(self.volume, tank.unwrap_or(self.volume));
        let full = tank.filter(|_| loads.full > 0);
        let (loads, last) = match (tank, full) {
            (None, _) => (Loads { full: 0, last: self.volume }, Some(self.volume)),
            (Some(_), _) => (loads, Some(loads.last).filter(|last| *last > 0.0)),
        };
        let per_tree = Some(self.per_tree.0).filter(|one| *one == self.per_tree.1);
        let of = |volume: f64| Spray { volume, per_area: self.per_area, per_tree };
        let part = |(product, strength): &(ProductId, u8)| {
            let jug = grove.jug(*product);
            let wanted = amount(plan, *product, *strength).map(|amount| {
                let contains = plan.products.get(product.index()).and_then(|it| it.contains.as_ref());
                WantedStrength::of_plan(amount, contains)
            });
            let made = |volume: Option<f64>| Some(mix(jug?, wanted.as_ref()?, &of(volume?)));
            TankPart { product: *product, strength: *strength, jug, full: made(full), last: made(last) }
        };
        Job {
            trees: self.trees.clone(),
            per_tree: self.per_tree,
            volume: self.volume,
            area: area_of(grove, &self.trees),
            tank,
            loads,
            parts: spray.iter().map(part).collect(),
        }
    }
}

/// Returns the land that trees stand on, in square millimetres; nothing where a spacing is not known.
pub fn area_of(grove: &Grove, trees: &[usize]) -> Option<f64> {
    let areas = trees.iter().map(|tree| Some(grove.block_of(*tree)?.spacing?.area()));
    areas.sum::<Option<f64>>().map(clean)
}

/// Returns the amount of a strength.
pub fn amount(plan: &Plan, product: ProductId, strength: u8) -> Option<&Amount> {
    let product = plan.products.get(product.index())?;
    product.strengths.get(usize::from(strength)).map(|strength| &strength.amount)
}
