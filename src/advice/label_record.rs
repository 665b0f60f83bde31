//! What the labels say of a spray that was done: each line of the rulebook and of the jugs, the stricter counts.
//!
//! Comes in: a row of the log. Goes out: for each label line of its products whether it was kept, with the value met.
//! The lines are the plan's own gates; the log is read as it stood before that spray.

use super::facts::TreeFacts;
use super::jugs::with_jugs;
use super::others::Others;
use super::past_labels::sprayed_as;
use crate::grove::{Counting, Grove, SprayRow, first_picking, next_spray, picking, re_entry};
use crate::measure::{Judge, Reading, Sky, Truth, World};
use crate::plan::{
    Condition, ExprNode, Gate, LabelLimit, LabelWord, NameId, Origin, Plan, ProductId, Shut, Subject,
};
use crate::weather::Site;
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use std::sync::Arc;

/// What the labels say of a spray.
#[derive(Clone, Debug)]
pub struct LabelRecord {
    /// The plan with the labels of the jugs that were used.
    pub plan: Plan,
    /// The lines that were looked at, broken ones first.
    pub lines: Vec<LineKept>,
    /// When people may go back in; nothing where no label gives a time.
    pub re_entry: Option<DateTime<Tz>>,
    /// The first day on which fruit may be picked, never before people may go in.
    pub picking: Option<NaiveDate>,
    /// For each product with an interval the first day of its next spray.
    pub next: Vec<(ProductId, NaiveDate)>,
}

/// A line of a label and some trees.
#[derive(Clone, PartialEq, Debug)]
pub struct LineKept {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// The product.
    pub product: ProductId,
    /// Which line.
    pub word: LabelWord,
    /// The product whose label it is: the same, or another that is kept apart from it.
    pub owner: ProductId,
    /// The other product of a line that keeps two apart.
    pub other: Option<ProductId>,
    /// How much it allows, or how long it asks for.
    pub limit: LabelLimit,
    /// The line as written.
    pub written: Arc<str>,
    /// Whether it was broken; open where that is not known.
    pub broken: Truth,
    /// What was met.
    pub met: LineMet,
}

/// What a label line met.
#[derive(Clone, PartialEq, Debug)]
pub enum LineMet {
    /// A value before the spray: days, or sprays.
    Value(NameId, Reading),
    /// A number of sprays with this one, and how many there may be.
    Sprays(f64, f64),
    /// An amount on an area with this spray (nothing: not known), and the cap; of an ingredient, or of the product.
    Amount(Option<f64>, f64, Option<Arc<str>>),
    /// Two products in one tank that are kept apart.
    Together,
}

/// Looks at the labels of a spray of the log. `plan` is the rulebook without the jugs.
pub fn label_record(plan: &Plan, grove: &Grove, site: &Site, row: &SprayRow) -> LabelRecord {
    let mut then = grove.clone();
    then.log = grove.log.before(row, &grove.trees);
    // Each product's label is that of the jug that was used.
    let plan = with_used(plan, grove, row);
    let sky = Sky::new(&plan, None, site, row.end.with_timezone(&Utc));
    let judge = Judge { plan: &plan, sky: &sky, today: row.day(), grove: None };
    let mut lines: Vec<LineKept> = Vec::new();
    for trees in alike(&then, row) {
        let Some(first) = trees.first() else { continue };
        let facts = TreeFacts {
            plan: &plan,
            grove: &then,
            others: &Others::default(),
            tree: *first,
            as_of: row.end,
            today: row.day(),
        };
        for gate in &plan.gates {
            let Some((line, product)) = gate.line.as_ref().zip(product_shut(gate, row)) else { continue };
            let Some((broken, met)) = looked_at(gate, &judge, &facts, row) else { continue };
            let kept = LineKept {
                trees: trees.clone(),
                product,
                word: line.word,
                owner: line.product,
                other: line.other,
                limit: line.limit.clone(),
                written: line.written.clone(),
                broken,
                met,
            };
            let same =
                lines.iter_mut().find(|other| LineKept { trees: trees.clone(), ..(*other).clone() } == kept);
            match same {
                Some(other) => other.trees.extend(&trees),
                None => lines.push(kept),
            }
        }
    }
    lines.iter_mut().for_each(|line| line.trees.sort_unstable());
    lines.sort_by_key(|line| std::cmp::Reverse(line.broken));
    let label = |of: &dyn Fn(&crate::plan::Product) -> Option<f64>| {
        row.parts.iter().filter_map(|part| of(&plan[part.product?])).reduce(f64::max)
    };
    // A jug of a product that the rulebook does not know has a label all the same.
    let jugs = |of: &dyn Fn(&crate::grove::JugLabel) -> Option<f64>| {
        row.parts.iter().filter_map(|part| of(&grove.shed.get(part.jug?)?.label)).reduce(f64::max)
    };
    let stricter = |book: Option<f64>, jug: Option<f64>| book.into_iter().chain(jug).reduce(f64::max);
    let hours = stricter(label(&|product| product.re_entry), jugs(&|label| label.re_entry));
    let days = stricter(label(&|product| product.before_harvest), jugs(&|label| label.before_harvest));
    let next = intervals(&plan, row);
    let until = hours.map(|hours| re_entry(row.end, [hours]));
    LabelRecord {
        re_entry: until,
        picking: picking(days.map(|days| first_picking(row.day(), days)), until),
        next: next.into_iter().map(|(product, days)| (product, next_spray(row.day(), days))).collect(),
        plan,
        lines,
    }
}

/// Returns the plan with the labels of the jugs that a spray used.
pub(super) fn with_used(plan: &Plan, grove: &Grove, row: &SprayRow) -> Plan {
    with_jugs(plan, row.parts.iter().filter_map(|part| grove.shed.get(part.jug?)))
}

/// Returns the trees of a row in sets with one history, block and harvest.
fn alike(grove: &Grove, row: &SprayRow) -> Vec<Vec<usize>> {
    let mut sets: Vec<(_, Vec<usize>)> = Vec::new();
    for tree in row.trees(&grove.trees) {
        let key = sprayed_as(grove, tree);
        match sets.iter_mut().find(|(known, _)| *known == key) {
            Some((_, trees)) => trees.push(tree),
            None => sets.push((key, vec![tree])),
        }
    }
    sets.into_iter().map(|(_, trees)| trees).collect()
}

/// Returns the product of a row that a label line speaks of.
fn product_shut(gate: &Gate, row: &SprayRow) -> Option<ProductId> {
    let sprayed = |product: ProductId| row.parts.iter().any(|part| part.product == Some(product));
    if let Some((product, _)) = gate.fits {
        return Some(product).filter(|product| sprayed(*product));
    }
    gate.shuts.iter().find_map(|shut| match shut {
        Shut::Product(product) => Some(*product).filter(|product| sprayed(*product)),
        Shut::Mix(one, other) => Some(*one).filter(|_| sprayed(*one) && sprayed(*other)),
        Shut::Spraying | Shut::Group(_) => None,
    })
}

fn looked_at(
    gate: &Gate,
    judge: &Judge<'_>,
    facts: &TreeFacts<'_>,
    row: &SprayRow,
) -> Option<(Truth, LineMet)> {
    if let Some((product, name)) = gate.fits {
        return cap(judge, facts, row, product, name);
    }
    let Some(condition) = &gate.condition else { return Some((Truth::Yes, LineMet::Together)) };
    let Condition::Test(test) = condition else { return None };
    let Subject::Name(name) = test.subject else { return None };
    let gauged = judge.gauge_names(facts, &World::default(), &[name]);
    let broken = judge.holds(facts, &World::default(), &gauged, condition);
    let reading = gauged.names.get(name.index())?.clone();
    // After the harvest the label speaks of the next one, which the grove does not say yet.
    let is_past = facts.grove.harvest(facts.tree).is_some_and(|harvest| harvest < row.day());
    let of_harvest = gate.line.as_ref().is_some_and(|line| line.word == LabelWord::BeforeHarvest);
    let broken = if of_harvest && is_past { Truth::Open } else { broken };
    let most = match &test.compare {
        crate::plan::Compare::Numbers { low: Some(low), .. } => Some(low.value()),
        _ => None,
    };
    let met = match (most, reading.extent.one_number()) {
        (Some(most), Some(before)) => LineMet::Sprays(before + 1.0, most),
        _ => LineMet::Value(name, reading),
    };
    Some((broken, met))
}

/// Holds the amount that was sprayed against a cap, with what was sprayed before.
fn cap(
    judge: &Judge<'_>,
    facts: &TreeFacts<'_>,
    row: &SprayRow,
    product: ProductId,
    name: NameId,
) -> Option<(Truth, LineMet)> {
    let Origin::Measure(measure) = &judge.plan[name].origin else { return None };
    let ExprNode::Fitting { ingredient, used, at_most, .. } = &*measure.expr.node else { return None };
    let counting = match ingredient {
        Some(ingredient) => Counting::Ingredient(ingredient),
        None => Counting::Product(product),
    };
    let doses =
        row.parts.iter().map(|part| facts.grove.amount_in(row, part, facts.tree, counting, judge.plan));
    let dose: Option<f64> = doses.sum();
    let before = match used {
        Some(used) => {
            let gauged = judge.gauge_names(facts, &World::default(), &[*used]);
            gauged.names.get(used.index())?.extent.ends()?
        }
        None => (0.0, 0.0),
    };
    let broken = match dose {
        Some(dose) if !at_most.is_kept_by(before.0 + dose, true) => Truth::Yes,
        Some(dose) if at_most.is_kept_by(before.1 + dose, true) => Truth::No,
        Some(_) | None => Truth::Open,
    };
    let total = dose.filter(|_| before.0 == before.1).map(|dose| before.0 + dose);
    Some((broken, LineMet::Amount(total, at_most.value(), ingredient.clone())))
}

/// Returns the products of a row that have an interval, with its days.
fn intervals(plan: &Plan, row: &SprayRow) -> Vec<(ProductId, f64)> {
    let of = |product: ProductId| {
        let gate = plan.gates.iter().find(|gate| {
            gate.line.as_ref().is_some_and(|line| line.product == product && line.word == LabelWord::Interval)
        })?;
        match gate.condition.as_ref()? {
            Condition::Test(test) => match &test.compare {
                crate::plan::Compare::Numbers { high: Some(high), .. } => {
                    Some((product, high.value() / 24.0))
                }
                _ => None,
            },
            Condition::Not(_) | Condition::All(_) | Condition::Any(_) => None,
        }
    };
    row.parts.iter().filter_map(|part| part.product).filter_map(of).collect()
}
