//! Sprays of the log that broke a label. They count all the same; that they did is said.

use super::facts::season_start;
use crate::grove::{Counting, Grove, SprayRow};
use crate::measure::{Extent, Truth, compare};
use crate::plan::{
    Condition, Counted, ExprNode, Gate, LabelLine, NameId, Origin, Plan, ProductId, Shut, Sprayed, Subject,
};
use crate::problems::{Finding, Problem, Problems};
use chrono::{Datelike, NaiveDate};
use rustc_hash::FxHashSet;

/// Finds the sprays of the season under way that broke a line of a label of rulebook or jug, each said at its row.
///
/// Labels are read as they stand now. What cannot be known, such as an amount that a row does not give, breaks nothing.
/// Trees that were sprayed alike, in one block and with one harvest, are looked at once.
pub fn broken_labels(plan: &Plan, grove: &Grove) -> Problems {
    let mut found = Problems::default();
    let since = season_start(plan.head.season.0, grove.as_of.date_naive());
    let lines: Vec<(&Gate, &LabelLine)> =
        plan.gates.iter().filter_map(|gate| Some((gate, gate.line.as_ref()?))).collect();
    if lines.is_empty() || grove.log.rows().is_empty() {
        return found;
    }
    let (mut alike, mut told) = (FxHashSet::default(), FxHashSet::default());
    for tree in 0..grove.trees.len() {
        if !alike.insert((grove.log.history_of(tree), grove.trees.block(tree), grove.harvest(tree))) {
            continue;
        }
        let rows: Vec<&SprayRow> = grove.log.of_tree(tree).collect();
        for row in rows.iter().filter(|row| row.day() >= since) {
            let past = Past { plan, grove, tree, rows: &rows, row };
            for (gate, line) in &lines {
                let Some((product, why)) = past.breaks(gate) else { continue };
                let owner = &plan[line.product].name;
                let message = format!(
                    "`{}` broke the label of `{owner}` here, {}: {why}; it counts all the same",
                    plan[product].name, line.written
                );
                if told.insert((row.at, owner.clone(), line.written.clone())) {
                    found.push(Problem::new(Finding::InputNote, row.at, message));
                }
            }
        }
    }
    found
}

/// A spray of a tree, and those before it.
struct Past<'a> {
    plan: &'a Plan,
    grove: &'a Grove,
    tree: usize,
    rows: &'a [&'a SprayRow],
    row: &'a SprayRow,
}

impl Past<'_> {
    /// Returns the product of the row that a gate shut when it was sprayed, and why.
    fn breaks(&self, gate: &Gate) -> Option<(ProductId, String)> {
        if let Some((product, name)) = gate.fits {
            return self
                .has(self.row, product)
                .then(|| self.above_cap(name))
                .flatten()
                .map(|why| (product, why));
        }
        match gate.shuts[..] {
            [Shut::Product(product)] if self.has(self.row, product) => {
                Some((product, self.shut(gate.condition.as_ref()?)?))
            }
            [Shut::Mix(one, other)] if self.has(self.row, one) => {
                let both = self.rows.iter().filter(|row| self.of_tank(row)).any(|row| self.has(row, other));
                both.then(|| (one, format!("it was in one tank with {}", self.plan[other].label)))
            }
            _ => None,
        }
    }

    fn has(&self, row: &SprayRow, product: ProductId) -> bool {
        row.parts.iter().any(|part| part.product == Some(product))
    }

    /// Returns whether a row is of the same tank: it began and ended at the same time.
    fn of_tank(&self, row: &SprayRow) -> bool {
        (row.start, row.end) == (self.row.start, self.row.end)
    }

    /// Returns the sprays before it, the oldest first.
    fn before(&self) -> impl DoubleEndedIterator<Item = &SprayRow> {
        self.rows.iter().copied().filter(|row| row.end <= self.row.end && !self.of_tank(row))
    }

    fn is_of(&self, row: &SprayRow, what: &Sprayed) -> bool {
        match what {
            Sprayed::Any => true,
            Sprayed::Product(product) => self.has(row, *product),
            Sprayed::Group(group) => {
                let products = row.parts.iter().filter_map(|part| part.product);
                products.map(|id| &self.plan[id]).any(|product| product.groups.contains(group))
            }
        }
    }

    /// Returns why the condition of a label's gate held, if it did.
    fn shut(&self, condition: &Condition) -> Option<String> {
        let Condition::Test(test) = condition else { return None };
        let Subject::Name(name) = test.subject else { return None };
        let (value, why) = match self.node(name)? {
            ExprNode::DaysSinceLast(what) => {
                let last = self.before().rfind(|row| self.is_of(row, what))?;
                let days = (self.row.day() - last.day()).num_days();
                let of = match what {
                    Sprayed::Product(product) => &*self.plan[*product].label,
                    Sprayed::Any | Sprayed::Group(_) => "the last spray",
                };
                (days as f64 * 24.0, format!("{of} was sprayed {days} d before, on {}", last.day()))
            }
            ExprNode::SpraysOf(what, over) => {
                let from = self.begin(*over)?;
                let mut tanks: Vec<_> = self
                    .before()
                    .filter(|row| row.day() >= from && self.is_of(row, what))
                    .map(|row| (row.start, row.end))
                    .collect();
                tanks.dedup();
                (tanks.len() as f64, format!("it was spray number {}", tanks.len() + 1))
            }
            ExprNode::DaysToHarvest => {
                let harvest = self.grove.harvest(self.tree)?;
                let days = (harvest - self.row.day()).num_days();
                // After the harvest the label speaks of the next one.
                let days = Some(days).filter(|days| *days >= 0)?;
                (days as f64 * 24.0, format!("the harvest is {days} d after, on {harvest}"))
            }
            _ => return None,
        };
        (compare(Extent::number(value), &test.compare) == Truth::Yes).then_some(why)
    }

    /// Returns by how much a cap on amounts was passed, if it was.
    fn above_cap(&self, name: NameId) -> Option<String> {
        let ExprNode::Fitting { product, ingredient, used, at_most } = self.node(name)? else { return None };
        let what = ingredient.as_deref().map_or(Counting::Product(*product), Counting::Ingredient);
        let of = |row: &SprayRow| self.grove.amount_of_row(row, self.tree, what, self.plan);
        let tank: Option<f64> = self.rows.iter().filter(|row| self.of_tank(row)).map(|row| of(row)).sum();
        let before: Option<f64> = match used.map(|used| (used, self.node(used))) {
            Some((_, Some(ExprNode::AmountOf(_, over) | ExprNode::AmountOfProduct(_, over)))) => {
                let from = self.begin(*over)?;
                self.before().filter(|row| row.day() >= from).map(of).sum()
            }
            Some(_) => None,
            None => Some(0.0),
        };
        let sum = tank? + before?;
        let said = match used {
            Some(used) => format!("{} were put on with it", self.plan.number_of(*used, sum)),
            None => {
                format!("it was {} times as much", crate::units::show(sum / at_most.value(), "").trim_end())
            }
        };
        (!at_most.is_kept_by(sum, true)).then_some(said)
    }

    fn node(&self, name: NameId) -> Option<&ExprNode> {
        match &self.plan[name].origin {
            Origin::Measure(measure) => Some(&measure.expr.node),
            Origin::Observed(_)
            | Origin::Tally(_)
            | Origin::Band(_)
            | Origin::Cultivar
            | Origin::Block
            | Origin::Date => None,
        }
    }

    /// Returns the first day of the season or year in which the spray was.
    fn begin(&self, over: Counted) -> Option<NaiveDate> {
        let day = self.row.day();
        match over {
            Counted::ThisSeason => Some(season_start(self.plan.head.season.0, day)),
            Counted::ThisYear => NaiveDate::from_ymd_opt(day.year(), 1, 1),
            Counted::ThatDay | Counted::LastDays(_) => None,
        }
    }
}
