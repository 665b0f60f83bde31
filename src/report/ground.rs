//! What a page needs of an advised grove: its trees, their values, and where those came from.

use super::page::Ground;
use super::{GroveTrees, Trees, job_words};
use crate::advice::{Advisor, Spray};
use crate::explain::{Origins, Sighting};
use crate::grove::{LastSpray, SeenOf, SprayRow};
use crate::measure::{Facts, Gauged, Provenance, Sky};
use crate::plan::{Expr, ExprNode, Kind, NameId, Plan, Sprayed};
use crate::sprayday::{Work, jobs};
use crate::words::{Speech, Words};
use chrono::DateTime;
use chrono_tz::Tz;

/// An advised grove.
#[derive(Clone, Copy)]
pub struct GroveGround<'a> {
    /// Its trees.
    pub trees: GroveTrees<'a>,
    /// The weather.
    pub sky: &'a Sky<'a>,
    /// What advised it.
    pub advisor: &'a Advisor<'a>,
}

impl Trees for GroveGround<'_> {
    fn name(&self, tree: usize) -> &str {
        self.trees.name(tree)
    }

    fn block(&self, tree: usize) -> &str {
        self.trees.block(tree)
    }

    fn text(&self, tree: usize, name: NameId) -> Option<String> {
        self.trees.text(tree, name)
    }

    fn sample(&self, tree: usize, name: NameId, group: usize) -> Option<(u32, u32)> {
        self.trees.sample(tree, name, group)
    }
}

impl Ground for GroveGround<'_> {
    fn count(&self) -> usize {
        self.trees.grove.trees.len()
    }

    fn position(&self, tree: usize) -> Option<(f64, f64)> {
        self.trees.grove.trees.position(tree)
    }

    fn mix(&self, spray: &Spray, trees: &[usize], words: Words<'_>) -> Vec<String> {
        match jobs(self.trees.plan, self.trees.grove, spray, trees) {
            Ok(jobs) => jobs.iter().flat_map(|job| job_words(job, words)).collect(),
            Err(why) => vec![words.say("tank.no-amounts", &[("why", &words.no_jobs(&why))])],
        }
    }

    fn work(&self, spray: &Spray, trees: &[usize]) -> Option<Work> {
        Work::of(self.trees.grove, &jobs(self.trees.plan, self.trees.grove, spray, trees).ok()?)
    }

    fn gauge(&self, tree: usize) -> Gauged {
        self.advisor.gauge(tree)
    }
}

impl Origins for GroveGround<'_> {
    fn sighting(&self, tree: usize, name: NameId, group: usize) -> Option<Sighting> {
        let found = self.trees.sighting(tree, name, group)?;
        let of = match found.of {
            SeenOf::Grove => "the grove".to_string(),
            SeenOf::Block => format!("block {}", self.trees.block(tree)),
            SeenOf::Cultivar => "its cultivar in the block".to_string(),
            SeenOf::Range => "a range of trees".to_string(),
            SeenOf::Tree => "this tree".to_string(),
            SeenOf::Group => "these panicles".to_string(),
        };
        let sample = self.trees.sample(tree, name, group);
        Some(Sighting { on: found.on, who: found.who, of, sample })
    }

    fn computed(&self, tree: usize, part: &Expr, words: Words<'_>) -> Vec<String> {
        let facts = self.advisor.facts(tree);
        match &*part.node {
            ExprNode::Aggregate(aggregate, window) => {
                let found = self.sky.explain_aggregate(aggregate, window, &facts);
                found.map(|found| provenance(&found, part.kind, words)).into_iter().collect()
            }
            ExprNode::DaysSinceLast(what) | ExprNode::SpraysInARow(what) | ExprNode::SpraysOf(what, _) => {
                vec![self.last(tree, what, words)]
            }
            ExprNode::AmountOf(..) | ExprNode::AmountOfProduct(..) => self.latest(tree, words),
            ExprNode::DaysToHarvest => vec![match facts.harvest() {
                Some(day) => format!("harvest expected {}", words.day(day)),
                None => "no harvest date is given".to_string(),
            }],
            _ => Vec::new(),
        }
    }

    fn added_up(&self, tree: usize, tally: NameId, words: Words<'_>) -> Vec<String> {
        let days = self.sky.tally_days(tally, &self.advisor.facts(tree));
        let Some(item) = self.trees.plan.names.get(tally.index()) else { return Vec::new() };
        let as_written = Words { speech: Speech::AsWritten, ..words };
        let number = |base: f64| as_written.number(item, base);
        let latest = days.iter().rev().take(DAYS).rev();
        let said: Vec<String> = latest
            .filter_map(|(day, extent)| Some(format!("{} {}", words.day(*day), number(extent.one_number()?))))
            .collect();
        if said.is_empty() { said } else { vec![format!("the latest days: {}", said.join(", "))] }
    }

    fn text(&self, tree: usize, name: NameId) -> Option<String> {
        self.trees.text(tree, name)
    }
}

/// So many days of a tally are told.
const DAYS: usize = 5;
/// So many sprays are told.
const SPRAYS: usize = 4;

impl GroveGround<'_> {
    fn last(&self, tree: usize, what: &Sprayed, words: Words<'_>) -> String {
        let plan = self.trees.plan;
        let log = &self.trees.grove.log;
        let of = match what {
            Sprayed::Any => "anything".to_string(),
            Sprayed::Group(group) => format!("anything of group {group}"),
            Sprayed::Product(product) => plan
                .products
                .get(product.index())
                .map_or_else(String::new, |product| product.label.to_string()),
        };
        match log.last(log.history_of(tree), what, self.trees.grove.as_of, plan) {
            LastSpray::Unknown => "the spray log is not known".to_string(),
            LastSpray::Never => format!("the spray log of this tree has no spray of {of}"),
            LastSpray::Row(row) => format!("last sprayed with {of}: {}", sprayed(plan, row, words)),
        }
    }

    fn latest(&self, tree: usize, words: Words<'_>) -> Vec<String> {
        let plan = self.trees.plan;
        let rows = self.trees.grove.log.of_tree(tree).rev().take(SPRAYS);
        let said: Vec<String> = rows.map(|row| sprayed(plan, row, words)).collect();
        if said.is_empty() {
            return vec!["the spray log of this tree is empty or not known".to_string()];
        }
        vec![format!("the latest sprays of this tree: {}", said.join("; "))]
    }
}

/// Returns a spray of the log in words: `Sat 20 Feb 2027, 18:55, oil at thin (sheet 2)`.
fn sprayed(plan: &Plan, row: &SprayRow, words: Words<'_>) -> String {
    let parts = row.parts.iter().map(|part| {
        let product = part.product.and_then(|product| plan.products.get(product.index()));
        let strength = product.and_then(|it| it.strengths.get(usize::from(part.strength?)));
        let name = product.map_or(&*part.word, |product| &product.label);
        strength.map_or_else(|| name.to_string(), |strength| format!("{name} at {}", strength.name))
    });
    let parts = parts.collect::<Vec<_>>().join(" with ");
    let sheet = row.fields.get("sheet").map_or_else(String::new, |sheet| format!(" (sheet {sheet})"));
    format!("{}, {parts}{sheet}", words.moment(row.end))
}

/// Returns in words from which hours or days an aggregate was taken.
fn provenance(found: &Provenance, kind: Kind, words: Words<'_>) -> String {
    let unit = if found.of_days { "days" } else { "hours" };
    let at = |moment: DateTime<Tz>| {
        if found.of_days { words.day(moment.date_naive()) } else { words.moment(moment) }
    };
    let to = if found.of_days { found.to - chrono::Duration::minutes(1) } else { found.to };
    let mut said = format!("{} {unit} from {} to {}", found.steps, at(found.from), at(to));
    // Of a statistic every hour counts, which says nothing that the line does not say already.
    if matches!(kind, Kind::Quantity(dimension) if dimension == crate::units::Dimension::TIME)
        || found.of_days
    {
        said += &format!("; {} of them counted", found.counted);
    }
    if let Some((from, to)) = found.spell {
        said += &format!("; the spell from {} to {}", at(from), at(to));
    }
    if found.missing > 0 {
        said += &format!("; {} missing", found.missing);
    }
    if found.forecast > 0 {
        said += &format!("; {} from the forecast", found.forecast);
    }
    said
}
