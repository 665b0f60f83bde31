//! How much of a product or an ingredient a spray puts on an area.
//!
//! Comes in: a strength or the row of a log, the jug, the sprayer and the block. Goes out: a mass on an area (g/mm²),
//! or a volume on an area (mm) of a product that is measured.

use super::Grove;
use super::block::Block;
use super::log::{SprayPart, SprayRate, SprayRow, SprayVolume};
use super::shed::{Form, Jug};
use crate::plan::{Amount, AmountOf, DosePer, Plan, Product, ProductId};
use crate::units::Dimension;
use chrono::NaiveDate;
use std::sync::Arc;

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Counting<'w> {
    /// An ingredient, in whatever it was.
    Ingredient(&'w str),
    /// A product as it comes from the jug.
    Product(ProductId),
}

impl<'w> Counting<'w> {
    /// Returns the ingredient; nothing of a product as it comes from the jug.
    pub fn ingredient(self) -> Option<&'w str> {
        match self {
            Counting::Ingredient(ingredient) => Some(ingredient),
            Counting::Product(_) => None,
        }
    }
}

/// Why an amount is not known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AmountUnknown<'g> {
    /// The log is not known.
    NoLog,
    /// This row, with the jug, the sprayer and the spacing, does not say how much.
    Row(&'g Arc<str>, NaiveDate),
    /// The rulebook does not know this product, and no jug of it is in the shed: what it held is not known.
    Content(&'g Arc<str>, NaiveDate),
}

/// An amount by volume of spray, by area, by tree or in all.
struct TypedAmount<'d> {
    amount: f64,
    dimension: Dimension,
    per_tree: bool,
    of: Option<&'d str>,
}

impl Grove {
    /// Returns what a strength of a product puts on an area where a tree stands; of an ingredient a mass (g/mm²), of
    /// the product a mass, or a volume (mm) where it is a liquid; in a volume of spray as much by a millimetre of it. Nothing
    /// where jug, sprayer or block do not say enough.
    pub fn dose(
        &self,
        tree: usize,
        plan: &Plan,
        (product, strength): (ProductId, u8),
        ingredient: Option<&str>,
        per: DosePer,
    ) -> Option<f64> {
        let item = plan.products.get(product.index())?;
        let amount = &item.strengths.get(usize::from(strength))?.amount;
        let block = self.block_of(tree)?;
        let spray = self.sprayer.as_ref().and_then(|sprayer| sprayer.volume_per_area(block));
        let dose = dose_of(amount, item.contains.as_deref());
        match per {
            DosePer::Area => dose.on_area(spray, block, None)?.counted(ingredient, self.jug(product)),
            DosePer::Spray => dose.in_spray(spray, (block, None), ingredient, self.jug(product)),
        }
    }

    /// Returns how much of something was put on the area of a tree from one day to another, both counted.
    pub fn amount_sprayed(
        &self,
        tree: usize,
        what: Counting,
        days: (NaiveDate, NaiveDate),
        plan: &Plan,
    ) -> Result<f64, AmountUnknown<'_>> {
        if !self.log.is_known() {
            return Err(AmountUnknown::NoLog);
        }
        let rows = self.log.of_tree(tree).filter(|row| (days.0..=days.1).contains(&row.day()));
        rows.map(|row| self.amount_put(row, tree, what, plan)).sum()
    }

    /// Returns how much of something one row of the log put on the area of a tree.
    pub fn amount_put<'g>(
        &self,
        row: &'g SprayRow,
        tree: usize,
        what: Counting,
        plan: &Plan,
    ) -> Result<f64, AmountUnknown<'g>> {
        let parts = row.parts.iter().map(|part| {
            if matches!(what, Counting::Ingredient(_)) && !self.holds_what(part) {
                return Err(AmountUnknown::Content(&part.word, row.day()));
            }
            self.amount_in(row, part, tree, what, plan).ok_or(AmountUnknown::Row(&row.on, row.day()))
        });
        parts.sum()
    }

    /// Returns how much of something one row of the log put on the area of a tree; nothing where it does not say.
    pub fn amount_of_row(&self, row: &SprayRow, tree: usize, what: Counting, plan: &Plan) -> Option<f64> {
        let parts = row.parts.iter().map(|part| self.amount_in(row, part, tree, what, plan));
        parts.sum()
    }

    /// Returns whether it can be known what a product held: the rulebook says it, or its jug.
    fn holds_what(&self, part: &SprayPart) -> bool {
        part.product.is_some() || self.jug_of(part).is_some_and(|jug| !jug.contains.is_empty())
    }

    /// Returns what one product of a logged spray put on the area of a tree, as it comes from the jug: a mass (g/mm²), or
    /// a volume (mm) of a liquid.
    pub fn product_of_part(&self, row: &SprayRow, part: &SprayPart, tree: usize, plan: &Plan) -> Option<f64> {
        self.amount_in(row, part, tree, Counting::Product(part.product?), plan)
    }

    /// Returns how much of something one product of a logged spray put on the area of a tree; zero where it holds nothing
    /// of it, nothing where row, jug, sprayer and spacing do not say enough.
    pub fn amount_in(
        &self,
        row: &SprayRow,
        part: &SprayPart,
        tree: usize,
        what: Counting,
        plan: &Plan,
    ) -> Option<f64> {
        let Some(ingredient) = self.counted_in(part, what, plan) else { return Some(0.0) };
        let block = self.block_of(tree)?;
        let dose = dose_in(part, plan)?.on_area(self.spray_of_row(row, block), block, row.area)?;
        dose.counted(ingredient, self.jug_of(part))
    }

    /// Returns how much of something was in the spray that a row put on a tree: a mass (g/mm³), or the part of it that is a
    /// liquid; nothing where row, jug and sprayer do not say enough.
    pub fn in_spray(&self, row: &SprayRow, tree: usize, what: Counting, plan: &Plan) -> Option<f64> {
        let block = self.block_of(tree)?;
        let parts = row.parts.iter().map(|part| {
            let Some(ingredient) = self.counted_in(part, what, plan) else { return Some(0.0) };
            let spray = self.spray_of_row(row, block);
            dose_in(part, plan)?.in_spray(spray, (block, row.area), ingredient, self.jug_of(part))
        });
        parts.sum()
    }

    /// Returns the jug of a part: as the row keeps it, else the one in the shed.
    pub fn jug_of<'g>(&'g self, part: &'g SprayPart) -> Option<&'g Jug> {
        part.used.as_deref().or_else(|| part.jug.and_then(|at| self.shed.get(at)))
    }

    /// Returns what is counted in a part: an ingredient, or the product itself; nothing where it is not in it.
    fn counted_in<'w>(&self, part: &SprayPart, what: Counting<'w>, plan: &Plan) -> Option<Option<&'w str>> {
        let word = match what {
            Counting::Product(id) => return (part.product == Some(id)).then_some(None),
            Counting::Ingredient(word) => word,
        };
        let jug = self.jug_of(part);
        let contains = product_of(part, plan).and_then(|product| product.contains.as_deref());
        // Out of a jug that is not in the shed came what its like in the shed holds, but how much is not known.
        let alike = |other: &Jug| other.product == part.product && other.content(word).is_some();
        let holds = contains == Some(word)
            || jug.is_some_and(|jug| jug.content(word).is_some())
            || (jug.is_none() && part.product.is_some() && self.shed.iter().any(alike));
        holds.then_some(Some(word))
    }

    /// Returns the spray on an area, in millimetres: as the row says, else as the sprayer is set.
    fn spray_of_row(&self, row: &SprayRow, block: &Block) -> Option<f64> {
        match row.volume {
            Some(SprayVolume::PerArea(depth)) => Some(depth),
            Some(SprayVolume::PerTree(volume)) => Some(volume / block.spacing?.area()),
            Some(SprayVolume::Total(volume)) => Some(volume / row.area.filter(|area| *area > 0.0)?),
            None => self.sprayer.as_ref()?.volume_per_area(block),
        }
    }
}

fn product_of<'p>(part: &SprayPart, plan: &'p Plan) -> Option<&'p Product> {
    part.product.and_then(|id| plan.products.get(id.index()))
}

/// Returns the dose of a part: its rate in figures, else that of its strength.
fn dose_in<'d>(part: &'d SprayPart, plan: &'d Plan) -> Option<TypedAmount<'d>> {
    if let Some(rate) = &part.rate {
        return Some(TypedAmount::of_rate(rate));
    }
    let product = product_of(part, plan)?;
    let strength = product.strengths.get(usize::from(part.strength?))?;
    Some(dose_of(&strength.amount, product.contains.as_deref()))
}

fn dose_of<'d>(amount: &Amount, contains: Option<&'d str>) -> TypedAmount<'d> {
    let of = match amount.of {
        AmountOf::Ingredient => contains,
        AmountOf::Product => None,
    };
    TypedAmount { amount: amount.quantity, dimension: amount.unit.dimension, per_tree: false, of }
}

/// Returns how much a strength and a rate put on the same area with the same spray, of the product or of its
/// ingredient; nothing where the two cannot be held against each other.
pub(super) fn both_ways(
    jug: Option<&Jug>,
    contains: Option<&str>,
    strength: &Amount,
    rate: &SprayRate,
) -> Option<(f64, f64)> {
    let (strength, rate) = (dose_of(strength, contains), TypedAmount::of_rate(rate));
    if rate.per_tree || strength.is_by_spray() != rate.is_by_spray() {
        return None;
    }
    let (strength, rate) = (strength.on_one_millimetre(), rate.on_one_millimetre());
    if strength.of == rate.of && strength.dimension == rate.dimension {
        return Some((strength.amount, rate.amount));
    }
    Some((strength.counted(contains, jug)?, rate.counted(contains, jug)?))
}

impl<'d> TypedAmount<'d> {
    fn of_rate(rate: &'d SprayRate) -> Self {
        TypedAmount {
            amount: rate.amount,
            dimension: rate.dimension,
            per_tree: rate.per_tree,
            of: rate.of.as_deref(),
        }
    }

    fn is_by_spray(&self) -> bool {
        matches!(self.dimension, Dimension::CONCENTRATION | Dimension::NONE)
    }

    /// Brings an amount by volume of spray to an area under a millimetre of spray; one by area stays.
    fn on_one_millimetre(self) -> Self {
        if !self.is_by_spray() {
            return self;
        }
        let dimension = self.dimension.times(Dimension::VOLUME.over(Dimension::AREA));
        Self { dimension, ..self }
    }

    /// Brings it to an area: with the spray on it (mm), the block's spacing, or the land that was sprayed in all.
    fn on_area(self, spray: Option<f64>, block: &Block, in_all: Option<f64>) -> Option<Self> {
        let per_area = |of: Dimension| of.over(Dimension::AREA);
        let is_amount = |of: Dimension| of == Dimension::MASS || of == Dimension::VOLUME;
        let (amount, dimension) = match self.dimension {
            of if self.per_tree && is_amount(of) => (self.amount / block.spacing?.area(), per_area(of)),
            of if is_amount(of) => (self.amount / in_all.filter(|area| *area > 0.0)?, per_area(of)),
            of @ (Dimension::CONCENTRATION | Dimension::NONE) => {
                (self.amount * spray?, of.times(per_area(Dimension::VOLUME)))
            }
            of @ (Dimension::RATE | Dimension::LENGTH) => (self.amount, of),
            _ => return None,
        };
        Some(Self { amount, dimension, per_tree: false, of: self.of })
    }

    /// Counts an ingredient, or the product as it comes from the jug, in a volume of spray of which so much is on an area (mm).
    fn in_spray(
        self,
        spray: Option<f64>,
        (block, in_all): (&Block, Option<f64>),
        ingredient: Option<&str>,
        jug: Option<&Jug>,
    ) -> Option<f64> {
        if self.is_by_spray() {
            return self.on_one_millimetre().counted(ingredient, jug);
        }
        let spray = spray.filter(|spray| *spray > 0.0)?;
        Some(self.on_area(Some(spray), block, in_all)?.counted(ingredient, jug)? / spray)
    }

    /// Counts an ingredient, or the product as it comes from the jug, in an amount on an area.
    fn counted(self, ingredient: Option<&str>, jug: Option<&Jug>) -> Option<f64> {
        if self.of.is_some() && self.of == ingredient {
            return (self.dimension == Dimension::RATE).then_some(self.amount);
        }
        // Of a rulebook's product without a jug the form is unknown, and with it nothing has to be brought over.
        let product = match self.of {
            Some(given) => self.amount / jug?.strength(given)?,
            None if ingredient.is_none() && jug.is_none() => self.amount,
            None => match (jug?.form, self.dimension) {
                (Form::Powder, Dimension::RATE) | (Form::Liquid(_), Dimension::LENGTH) => self.amount,
                (Form::Liquid(weight), Dimension::RATE) => self.amount / weight?,
                _ => return None,
            },
        };
        match ingredient {
            Some(ingredient) => Some(product * jug?.strength(ingredient)?),
            None => Some(product),
        }
    }
}
