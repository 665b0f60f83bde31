//! What to look at: only what would change a decision today, in walking order.
//!
//! Comes in: the needs and answers of an advice. Goes out: stops of a walk, as a page, a sheet to write on, and JSON.

mod json;
mod page;
mod sheet;

#[cfg(test)]
pub(super) use json::AskForm;
pub use json::ask_json;
pub use page::ask_paper;
pub use sheet::scouting_sheet;

use super::GroveGround;
use super::page::{Facts, Page};
use crate::advice::{Advice, Case, Need};
use crate::plan::{Kind, NameId, Place, Plan};
use crate::trace::Verdict;
use crate::words::Scene;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// All that the pages of a walk are made from.
#[derive(Clone, Copy)]
pub struct Asking<'a> {
    /// What statements are made from.
    pub scene: &'a Scene<'a>,
    /// What is said beside the advice.
    pub facts: &'a Facts<'a>,
    /// The grove.
    pub ground: &'a GroveGround<'a>,
    /// The advice.
    pub advice: &'a Advice,
    /// The days whose rain only the grower's gauge can tell.
    pub gauge: &'a [NaiveDate],
    /// The sheets of days that are over, of which the log knows nothing, in order of their days.
    pub sheets: &'a [OpenSheet],
    /// The trees that are asked about.
    pub chosen: &'a [usize],
}

/// A sheet that was made for the crew, and of which nobody said whether it was sprayed.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct OpenSheet {
    /// The day for which it was made.
    pub day: NaiveDate,
    /// Its number.
    pub number: u64,
}

/// Trees of which the same is to be found out.
#[derive(Clone, Debug)]
pub struct Stop<'a> {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// What they share.
    pub case: &'a Case,
    /// Until when people keep out of them.
    pub keep_out_until: Option<DateTime<Tz>>,
}

/// A single look: one question at one place.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Look {
    /// Where.
    pub place: Spot,
    /// What.
    pub need: Need,
}

/// Where one looks.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Spot {
    /// Anywhere: the answer is the same for the whole grove.
    Grove,
    /// In a block, by its number.
    Block(usize),
    /// At a tree.
    Tree(usize),
}

/// What one look does.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Worth {
    /// How many trees it settles by itself.
    pub alone: usize,
    /// How many trees wait for it.
    pub waiting: usize,
}

impl Asking<'_> {
    fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.scene.language.say(key, places)
    }

    fn page(&self) -> Page<'_> {
        Page { scene: self.scene, facts: self.facts, ground: self.ground, advice: self.advice }
    }

    /// Returns the single look that settles most, the first in walking order of equal ones.
    pub fn first(&self, stops: &[Stop<'_>]) -> Option<(Look, Worth)> {
        let mut looks: BTreeMap<Look, Worth> = BTreeMap::new();
        for stop in stops {
            for tree in &stop.trees {
                let needs = stop.case.needs_of(&[*tree]);
                let places = needs.iter().map(|need| self.look(need, *tree));
                let places: std::collections::BTreeSet<Look> = places.collect();
                let alone = usize::from(places.len() == 1);
                // Missing hours are asked for once, and are nothing to look at.
                for look in places.into_iter().filter(|look| look.need != Need::Weather) {
                    let worth = looks.entry(look).or_default();
                    worth.alone += alone;
                    worth.waiting += 1;
                }
            }
        }
        looks.into_iter().rev().max_by_key(|(_, worth)| (worth.alone, worth.waiting))
    }

    fn look(&self, need: &Need, tree: usize) -> Look {
        let place = match need {
            Need::Name(name) => match scope(self.scene.plan, *name) {
                Place::Grove => Spot::Grove,
                Place::Block => Spot::Block(self.ground.trees.grove.trees.block(tree)),
                Place::Tree | Place::Panicles => Spot::Tree(tree),
            },
            Need::OfTree(_, other) => Spot::Tree(*other),
            Need::Sprays | Need::Harvest | Need::Weather | Need::Sprayer => Spot::Grove,
        };
        // Of another tree's the question is the same as of its own.
        let need = match need {
            Need::OfTree(name, _) => Need::Name(*name),
            other => other.clone(),
        };
        Look { place, need }
    }

    fn block(&self, number: usize) -> &str {
        self.ground.trees.grove.blocks.get(number).map_or("", |block| &block.name)
    }
}

/// Returns the trees that are due to be looked at again and are no stop, by when they were last seen.
fn due_again(asking: &Asking<'_>, stops: &[Stop<'_>]) -> Vec<(Option<NaiveDate>, Vec<usize>)> {
    let today = asking.advice.as_of.date_naive();
    let stage = stage_lasts(asking.scene.plan);
    let mut due: BTreeMap<Option<NaiveDate>, Vec<usize>> = BTreeMap::new();
    for tree in asking.chosen.iter().filter(|tree| !stops.iter().any(|stop| stop.trees.contains(tree))) {
        let Some(of_tree) = asking.advice.trees.get(*tree) else { continue };
        let old = stage.is_some_and(|(name, lasts)| {
            let seen = asking.ground.trees.grove.seen(*tree, name).map(|sighting| sighting.on);
            let age = seen.map(|on| (today - on).num_days() as f64);
            age.is_some_and(|age| age > lasts)
        });
        let said = of_tree.recheck.is_some_and(|day| day <= today);
        if of_tree.seen.is_none() || old || said {
            due.entry(of_tree.seen).or_default().push(*tree);
        }
    }
    due.into_iter().collect()
}

/// Returns the observation of the stage, and for how many days what was seen of it counts.
fn stage_lasts(plan: &Plan) -> Option<(NameId, f64)> {
    plan.observations().find_map(|(id, name, seen)| {
        let is_stage = matches!(name.kind, Kind::Words(list) if plan[list].ordered);
        seen.lasts.filter(|_| is_stage).map(|lasts| (id, lasts / 24.0))
    })
}

fn scope(plan: &Plan, name: crate::plan::NameId) -> Place {
    plan.names.get(name.index()).map_or(Place::Tree, |name| name.scope)
}

/// Returns the stops of a walk: trees that may be entered first, each in walking order; then those that people keep
/// out of, by when that ends.
pub fn stops<'a>(advice: &'a Advice, chosen: &[usize]) -> Vec<Stop<'a>> {
    let mut stops: Vec<Stop<'a>> = Vec::new();
    for tree in chosen {
        let Some(of_tree) = advice.trees.get(*tree) else { continue };
        let Some(case) = advice.case_of(of_tree).filter(|case| case.decision.verdict == Verdict::Look) else {
            continue;
        };
        let keep_out_until = of_tree.keep_out_until.filter(|until| *until > advice.as_of);
        let same = |stop: &&mut Stop<'a>| {
            stop.keep_out_until == keep_out_until
                && stop.case.needs == case.needs
                && stop.case.answers == case.answers
                && stop.case.answers_are == case.answers_are
                && stop.case.safe == case.safe
        };
        match stops.iter_mut().find(same) {
            Some(stop) => stop.trees.push(*tree),
            None => stops.push(Stop { trees: vec![*tree], case, keep_out_until }),
        }
    }
    stops.sort_by_key(|stop| (stop.keep_out_until, stop.trees.first().copied()));
    stops
}
