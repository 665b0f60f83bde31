//! A line of a label as it is held against a spray: a gate of the plan, taken apart once.

use crate::grove::Counting;
use crate::measure::{Reading, Truth};
use crate::plan::{
    Compare, Condition, Counted, DosePer, ExprNode, Gate, LabelLine, NameId, Plan, ProductId, Shut, Sprayed,
    Subject,
};
use crate::units::Threshold;
use chrono::NaiveDate;
use std::sync::Arc;

/// A line of a label.
#[derive(Clone, Copy, Debug)]
pub struct Restriction<'p> {
    /// What is written.
    pub label: &'p LabelLine,
    /// The product that may not be sprayed where it is broken: the label's own, or one that is kept apart from it.
    pub product: ProductId,
    /// What it asks.
    pub asks: Asks<'p>,
}

/// What a line asks of a spray.
#[derive(Clone, Copy, Debug)]
pub enum Asks<'p> {
    /// That what was before it does not meet a comparison.
    Not(NameId, Looks<'p>, &'p Compare),
    /// At most so much on an area, with what was put on over a time; nothing: in this spray alone.
    AtMost(Counting<'p>, Option<Counted>, &'p Threshold),
    /// At most so much in a volume of spray.
    NoStronger(Counting<'p>, &'p Threshold),
    /// That its product and another are not in one tank.
    Apart(ProductId),
}

/// What a line looks at before a spray.
#[derive(Clone, Copy, Debug)]
pub enum Looks<'p> {
    /// How long ago something was sprayed.
    Last(&'p Sprayed),
    /// How often something was sprayed over a time.
    Count(&'p Sprayed, Counted),
    /// How long it is until the harvest.
    Harvest,
}

impl<'p> Restriction<'p> {
    /// Takes the gate of a label line apart; nothing of another gate.
    pub fn of(plan: &'p Plan, gate: &'p Gate) -> Option<Self> {
        let label = gate.line.as_ref()?;
        let node = |name: NameId| plan[name].node();
        if let Some((product, name)) = gate.fits {
            let ExprNode::Fitting { ingredient, used, at_most, per, .. } = node(name)? else { return None };
            let of = ingredient.as_deref().map_or(Counting::Product(product), Counting::Ingredient);
            if *per == DosePer::Spray {
                return Some(Self { label, product, asks: Asks::NoStronger(of, at_most) });
            }
            let over = match used.map(node) {
                None => None,
                Some(Some(ExprNode::AmountOf(_, over) | ExprNode::AmountOfProduct(_, over))) => Some(*over),
                Some(_) => return None,
            };
            return Some(Self { label, product, asks: Asks::AtMost(of, over, at_most) });
        }
        let (product, asks) = match gate.shuts[..] {
            [Shut::Mix(one, other)] => (one, Asks::Apart(other)),
            [Shut::Product(product)] => {
                let Condition::Test(test) = gate.condition.as_ref()? else { return None };
                let Subject::Name(name) = test.subject else { return None };
                let looks = match node(name)? {
                    ExprNode::DaysSinceLast(what) => Looks::Last(what),
                    ExprNode::SpraysOf(what, over) => Looks::Count(what, *over),
                    ExprNode::DaysToHarvest => Looks::Harvest,
                    _ => return None,
                };
                (product, Asks::Not(name, looks, &test.compare))
            }
            _ => return None,
        };
        Some(Self { label, product, asks })
    }

    /// Returns the label lines of a plan, in its order.
    pub fn all(plan: &'p Plan) -> impl Iterator<Item = Self> {
        plan.gates.iter().filter_map(|gate| Self::of(plan, gate))
    }

    /// Returns the first day on which it no longer bars a spray, after the last one of what it looks for; nothing of a line
    /// that no time opens.
    pub fn bars_until(&self, last: NaiveDate) -> Option<NaiveDate> {
        let Asks::Not(_, Looks::Last(_), Compare::Numbers { high: Some(least), .. }) = self.asks else {
            return None;
        };
        Some(super::passed(last, &least.at, !least.closed))
    }
}

/// A line of a label and some trees.
#[derive(Clone, PartialEq, Debug)]
pub struct LineKept {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// The product.
    pub product: ProductId,
    /// The line; its label may be that of another product, which is kept apart from this one.
    pub label: LabelLine,
    /// Whether it was broken; open where that is not known.
    pub broken: Truth,
    /// What was met.
    pub met: LineMet,
}

impl LineKept {
    /// Returns whether another line says and met the same, be it on other trees.
    pub fn is_like(&self, other: &Self) -> bool {
        (self.product, self.broken) == (other.product, other.broken)
            && (&self.label, &self.met) == (&other.label, &other.met)
    }
}

/// What a label line met.
#[derive(Clone, PartialEq, Debug)]
pub enum LineMet {
    /// A value before the spray: days.
    Value(NameId, Reading),
    /// A number of sprays with this one, and how many there may be.
    Sprays(f64, f64),
    /// An amount on an area with this spray (nothing: not known), and the cap; of an ingredient, or of the product.
    Amount(Option<f64>, f64, Option<Arc<str>>),
    /// Two products in one tank that are kept apart.
    Together,
}
