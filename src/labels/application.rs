//! A spray of one tree, held against the lines of labels.

use super::{Asks, LineMet, Looks, Restriction, Used};
use crate::grove::{Grove, SprayRow};
use crate::measure::{Cause, Extent, Reading, Truth, compare, days_counted};
use crate::plan::{Compare, Plan, ProductId, Sprayed};

/// A spray of one tree, with what was sprayed on it before.
#[derive(Clone, Copy, Debug)]
pub struct Application<'a> {
    /// The plan with the labels of the jugs that were used.
    pub plan: &'a Plan,
    /// The grove.
    pub grove: &'a Grove,
    /// The tree.
    pub tree: usize,
    /// The sprays of the tree before it, the oldest first.
    pub before: &'a [&'a SprayRow],
    /// All rows of this tank.
    pub tank: &'a [&'a SprayRow],
    /// The row that is looked at.
    pub row: &'a SprayRow,
}

impl Application<'_> {
    /// Returns of which product a line speaks, whether this spray broke it, and what it met; nothing where the line does not
    /// speak of the row. `used` is kept for the next spray of the tree.
    pub fn hold(&self, line: &Restriction<'_>, used: &mut Used) -> Option<(ProductId, Truth, LineMet)> {
        let has = |row: &SprayRow, product: ProductId| row.holds(&Sprayed::Product(product), self.plan);
        let spoken_of = match line.asks {
            Asks::Apart(other) => [line.product, other],
            Asks::Not(..) | Asks::AtMost(..) | Asks::NoStronger(..) => [line.product; 2],
        };
        let own = spoken_of.into_iter().find(|product| has(self.row, *product))?;
        if !spoken_of.iter().all(|product| self.tank.iter().any(|row| has(row, *product))) {
            return None;
        }
        let (broken, met) = match line.asks {
            Asks::Apart(_) => (Truth::Yes, LineMet::Together),
            Asks::Not(name, looks, forbidden) => {
                let reading = self.before(looks, used);
                let broken = compare(reading.extent, forbidden);
                // After the harvest the label speaks of the next one, which the grove does not say yet.
                let is_past = matches!(looks, Looks::Harvest)
                    && self.grove.harvest(self.tree).is_some_and(|harvest| harvest < self.row.day());
                let broken = if is_past { Truth::Open } else { broken };
                match (forbidden, reading.extent.one_number()) {
                    (Compare::Numbers { low: Some(most), .. }, Some(sprays)) => {
                        (broken, LineMet::Sprays(sprays + 1.0, most.value()))
                    }
                    _ => (broken, LineMet::Value(name, reading)),
                }
            }
            Asks::NoStronger(of, at_most) => {
                let strength = self.grove.in_spray(self.row, self.tree, of, self.plan);
                let broken = strength.map_or(Truth::Open, |it| Truth::of(!at_most.is_kept_by(it, true)));
                (broken, LineMet::Amount(strength, at_most.value(), of.ingredient().map(Into::into)))
            }
            Asks::AtMost(of, over, at_most) => {
                let put = |row: &&SprayRow| self.grove.amount_put(row, self.tree, of, self.plan).ok();
                let dose: Option<f64> = self.tank.iter().map(put).sum();
                let before = match over {
                    None => Some(0.0),
                    Some(over) => {
                        let (from, _) = days_counted(over, self.plan.head.season.0, self.row.day());
                        used.amount(from, self.before, (of, self.tree), (self.plan, self.grove))
                    }
                };
                let broken = match (dose, before) {
                    (Some(dose), least) if !at_most.is_kept_by(least.unwrap_or(0.0) + dose, true) => {
                        Truth::Yes
                    }
                    (Some(_), Some(_)) => Truth::No,
                    _ => Truth::Open,
                };
                let total = dose.zip(before).map(|(dose, before)| before + dose);
                (broken, LineMet::Amount(total, at_most.value(), of.ingredient().map(Into::into)))
            }
        };
        Some((own, broken, met))
    }

    /// Returns what a line looks at, as it was before this spray.
    fn before(&self, looks: Looks<'_>, used: &mut Used) -> Reading {
        let days = |days: i64| Reading::known(Extent::number(days as f64 * 24.0));
        match looks {
            Looks::Last(what) => match used.last_day(self.before, what, self.plan) {
                Some(last) => days((self.row.day() - last).num_days()),
                None => Reading::known(Extent::number(f64::INFINITY)),
            },
            Looks::Count(what, over) => {
                let (from, _) = days_counted(over, self.plan.head.season.0, self.row.day());
                let sprays = used.sprays(from, self.before, what, self.plan);
                Reading::known(Extent::number(f64::from(sprays)))
            }
            Looks::Harvest => match self.grove.harvest(self.tree) {
                Some(harvest) => days((harvest - self.row.day()).num_days()),
                None => Reading::because(Extent::between(f64::NEG_INFINITY, f64::INFINITY), Cause::Harvest),
            },
        }
    }
}
