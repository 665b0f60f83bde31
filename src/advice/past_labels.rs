//! Sprays of the log that broke a label. They count all the same; that they did is said.

use super::facts::season_start;
use crate::grove::{Counting, Grove, SprayRow};
use crate::measure::{Extent, Truth, compare};
use crate::plan::{
    Condition, Counted, ExprNode, Gate, LabelLine, NameId, Origin, Plan, ProductId, Shut, Sprayed, Subject,
};
use crate::problems::{Finding, Problem, Problems};
use chrono::{DateTime, Datelike, NaiveDate};
use chrono_tz::Tz;
use rustc_hash::FxHashSet;

/// Finds the sprays of the season under way that broke a line of a label of rulebook or jug, each said at its row.
///
/// Labels are read as they stand now. What cannot be known, such as an amount that a row does not give, breaks nothing.
/// Trees that were sprayed alike, in one block and with one harvest, are looked at once.
pub fn broken_labels(plan: &Plan, grove: &Grove) -> Problems {
    let mut found = Problems::default();
    let since = season_start(plan.head.season.0, grove.as_of.date_naive());
    let (mut alike, mut told) = (FxHashSet::default(), FxHashSet::default());
    let trees = (0..grove.trees.len()).filter(|tree| alike.insert(sprayed_as(grove, *tree)));
    each_broken(
        plan,
        grove,
        trees,
        |row| row.day() >= since,
        |broken| {
            let PastBreak { row, line, product, ref why, .. } = broken;
            let owner = &plan[line.product].name;
            if told.insert((row.at, owner.clone(), line.written.clone())) {
                let message = format!(
                    "`{}` broke the label of `{owner}` here, {}: {why}; it counts all the same",
                    plan[product].name, line.written
                );
                found.push(Problem::new(Finding::InputNote, row.at, message));
            }
        },
    );
    found
}

/// A line of a label that a spray of the log broke.
pub(super) struct PastBreak<'a> {
    /// One of the trees.
    pub tree: usize,
    /// The spray.
    pub row: &'a SprayRow,
    /// The line.
    pub line: &'a LabelLine,
    /// The product that was sprayed against it.
    pub product: ProductId,
    /// What was met, in words.
    pub why: String,
}

/// Returns what the labels of two trees with the same are the same for: a history, a block and a harvest.
pub(super) fn sprayed_as(grove: &Grove, tree: usize) -> (usize, usize, Option<NaiveDate>) {
    (grove.log.history_of(tree), grove.trees.block(tree), grove.harvest(tree))
}

/// Goes through the sprays of trees, those of one tree from the oldest on, and gives each line of a label that one of them
/// broke. Sprays that are not judged count all the same; each is looked at once.
pub(super) fn each_broken<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    trees: impl Iterator<Item = usize>,
    is_judged: impl Fn(&SprayRow) -> bool,
    mut each: impl FnMut(PastBreak<'a>),
) {
    let lines: Vec<(&Gate, &LabelLine)> =
        plan.gates.iter().filter_map(|gate| Some((gate, gate.line.as_ref()?))).collect();
    if lines.is_empty() || grove.log.rows().is_empty() {
        return;
    }
    for tree in trees {
        let rows: Vec<&SprayRow> = grove.log.of_tree(tree).collect();
        let mut so_far = vec![SoFar::new(None, 0); lines.len()];
        let mut done = 0;
        for tank in rows.chunk_by(|a, b| a.is_one_with(b)) {
            let before = rows.get(..done).unwrap_or_default();
            done += tank.len();
            for row in tank.iter().filter(|row| is_judged(row)) {
                let past = Past { plan, grove, tree, before, tank, row };
                for ((gate, line), so_far) in lines.iter().zip(&mut so_far) {
                    if let Some((product, why)) = past.breaks(gate, so_far) {
                        each(PastBreak { tree, row, line, product, why });
                    }
                }
            }
        }
    }
}

/// A spray of a tree, with what was in the tank with it, and those before it, the oldest first.
struct Past<'a> {
    plan: &'a Plan,
    grove: &'a Grove,
    tree: usize,
    before: &'a [&'a SprayRow],
    tank: &'a [&'a SprayRow],
    row: &'a SprayRow,
}

/// What a line of a label counts of the sprays before one, kept for the next one, so that each is looked at once.
#[derive(Clone)]
struct SoFar {
    /// The day from which it counts.
    from: Option<NaiveDate>,
    /// How many of the sprays were looked at, or are of an earlier day.
    done: usize,
    /// The last tank with what is counted.
    last: Option<(DateTime<Tz>, DateTime<Tz>)>,
    tanks: u32,
    /// The sum of their amounts; nothing where one is not known.
    amount: Option<f64>,
}

impl SoFar {
    /// Begins to count from a day on, after so many sprays.
    fn new(from: Option<NaiveDate>, done: usize) -> Self {
        Self { from, done, last: None, tanks: 0, amount: Some(0.0) }
    }
}

impl Past<'_> {
    /// Returns the product of the row that a gate shut when it was sprayed, and why.
    fn breaks(&self, gate: &Gate, so_far: &mut SoFar) -> Option<(ProductId, String)> {
        if let Some((product, name)) = gate.fits {
            let why = self.has(self.row, product).then(|| self.above_cap(name, so_far)).flatten();
            return Some((product, why?));
        }
        match gate.shuts[..] {
            [Shut::Product(product)] if self.has(self.row, product) => {
                Some((product, self.shut(gate.condition.as_ref()?, so_far)?))
            }
            [Shut::Mix(one, other)] if self.has(self.row, one) => {
                let both = self.tank.iter().any(|row| self.has(row, other));
                both.then(|| (one, format!("it was in one tank with {}", self.plan[other].name)))
            }
            _ => None,
        }
    }

    fn has(&self, row: &SprayRow, product: ProductId) -> bool {
        row.parts.iter().any(|part| part.product == Some(product))
    }

    /// Counts the sprays before this one from a day on that were not counted yet.
    fn count(&self, so_far: &mut SoFar, from: Option<NaiveDate>, mut add: impl FnMut(&mut SoFar, &SprayRow)) {
        if so_far.from != from {
            let done = self.before.partition_point(|row| Some(row.day()) < from);
            *so_far = SoFar::new(from, done);
        }
        for row in self.before.get(so_far.done..).unwrap_or_default() {
            add(so_far, row);
        }
        so_far.done = so_far.done.max(self.before.len());
    }

    /// Counts the tanks before this one that had something in them.
    fn count_tanks(&self, so_far: &mut SoFar, from: Option<NaiveDate>, what: &Sprayed) {
        self.count(so_far, from, |so_far, row| {
            let tank = Some((row.start, row.end));
            if so_far.last != tank && self.is_of(row, what) {
                (so_far.last, so_far.tanks) = (tank, so_far.tanks + 1);
            }
        });
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
    fn shut(&self, condition: &Condition, so_far: &mut SoFar) -> Option<String> {
        let Condition::Test(test) = condition else { return None };
        let Subject::Name(name) = test.subject else { return None };
        let (value, why) = match self.node(name)? {
            ExprNode::DaysSinceLast(what) => {
                self.count_tanks(so_far, None, what);
                let last = so_far.last?.1.date_naive();
                let days = (self.row.day() - last).num_days();
                let of = match what {
                    Sprayed::Product(product) => &*self.plan[*product].name,
                    Sprayed::Any | Sprayed::Group(_) => "the last spray",
                };
                (days as f64 * 24.0, format!("{of} was sprayed {days} d before, on {last}"))
            }
            ExprNode::SpraysOf(what, over) => {
                self.count_tanks(so_far, Some(self.begin(*over)?), what);
                (f64::from(so_far.tanks), format!("it was spray number {}", so_far.tanks + 1))
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
    fn above_cap(&self, name: NameId, so_far: &mut SoFar) -> Option<String> {
        let ExprNode::Fitting { product, ingredient, used, at_most } = self.node(name)? else { return None };
        let what = ingredient.as_deref().map_or(Counting::Product(*product), Counting::Ingredient);
        let of = |row: &SprayRow| self.grove.amount_of_row(row, self.tree, what, self.plan);
        let tank: Option<f64> = self.tank.iter().map(|row| of(row)).sum();
        let before = match used.map(|used| self.node(used)) {
            Some(Some(ExprNode::AmountOf(_, over) | ExprNode::AmountOfProduct(_, over))) => {
                self.count(so_far, Some(self.begin(*over)?), |so_far, row| {
                    so_far.amount = so_far.amount.zip(of(row)).map(|(sum, more)| sum + more);
                });
                so_far.amount
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
