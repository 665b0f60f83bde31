//! What a page needs of an advised grove: its trees, their values, and where those came from.

use super::page::Ground;
use super::{GroveTrees, Trees, job_words};
use crate::advice::{Advisor, Spray};
use crate::explain::{Computed, Origins, Sighting, SprayDone};
use crate::grove::{LastSpray, SprayRow};
use crate::measure::{Facts, Gauged, WeatherMeasures};
use crate::plan::{Expr, ExprNode, Kind, NameId, ProductId, Sprayed};
use crate::sprayday::{Work, jobs};
use crate::units::Dimension;
use crate::words::Words;

/// An advised grove.
#[derive(Clone, Copy)]
pub struct GroveGround<'a> {
    /// Its trees.
    pub trees: GroveTrees<'a>,
    /// The weather.
    pub weather_measures: &'a WeatherMeasures<'a>,
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

    fn sample(&self, tree: usize, name: NameId, group: usize) -> Option<(u32, u32)> {
        self.trees.sample(tree, name, group)
    }

    fn work(&self, spray: &Spray, trees: &[usize]) -> Option<Work> {
        self.trees.work(spray, trees)
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
            Err(why) => vec![words.no_amounts(&why)],
        }
    }

    fn gauge(&self, tree: usize) -> Gauged {
        self.advisor.gauge(tree)
    }

    fn lacks(&self, product: ProductId) -> bool {
        let grove = self.trees.grove;
        !grove.shed.is_empty() && grove.jug(product).is_none()
    }
}

impl Origins for GroveGround<'_> {
    fn sighting(&self, tree: usize, name: NameId, group: usize) -> Option<Sighting> {
        let found = self.trees.sighting(tree, name, group)?;
        let sample = self.trees.sample(tree, name, group);
        let block = self.trees.block(tree).to_string();
        Some(Sighting { on: found.on, who: found.who, of: found.of, block, sample })
    }

    fn computed(&self, tree: usize, part: &Expr) -> Option<Computed> {
        let facts = self.advisor.facts(tree);
        match &*part.node {
            ExprNode::Aggregate(aggregate, window) => {
                let found = self.weather_measures.explain_aggregate(aggregate, window, &facts)?;
                // Of a statistic every hour counts, which says nothing that is not said already.
                let of_time = part.kind == Kind::Quantity(Dimension::TIME);
                let counted = of_time || found.of_days;
                Some(Computed::Window(found, counted))
            }
            ExprNode::DaysSinceLast(what) | ExprNode::SpraysInARow(what) | ExprNode::SpraysOf(what, _) => {
                Some(self.last(tree, what))
            }
            ExprNode::AmountOf(..) | ExprNode::AmountOfProduct(..) => {
                let rows = self.trees.grove.log.of_tree(tree).rev().take(SPRAYS);
                Some(Computed::LatestSprays(rows.map(spray_done).collect()))
            }
            ExprNode::DaysToHarvest => Some(Computed::Harvest(facts.harvest())),
            _ => None,
        }
    }

    fn added_up(&self, tree: usize, tally: NameId) -> Option<Computed> {
        let days = self.weather_measures.tally_days(tally, &self.advisor.facts(tree));
        let latest = days.iter().rev().take(DAYS).rev();
        let days: Vec<_> = latest.filter_map(|(day, extent)| Some((*day, extent.one_number()?))).collect();
        (!days.is_empty()).then_some(Computed::Days(tally, days))
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
    fn last(&self, tree: usize, what: &Sprayed) -> Computed {
        let log = &self.trees.grove.log;
        match log.last(log.history_of(tree), what, self.trees.grove.as_of, self.trees.plan) {
            LastSpray::Unknown => Computed::NoLog,
            LastSpray::Never => Computed::LastSpray(what.clone(), None),
            LastSpray::Row(row) => Computed::LastSpray(what.clone(), Some(spray_done(row))),
        }
    }
}

fn spray_done(row: &SprayRow) -> SprayDone {
    SprayDone {
        end: row.end,
        parts: row.parts.iter().map(|part| (part.word.clone(), part.product, part.strength)).collect(),
        sheet: row.fields.get("sheet").cloned(),
    }
}
