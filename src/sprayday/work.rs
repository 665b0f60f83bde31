//! How long the spraying of some trees takes, and what of it fits into a piece of time.
//!
//! Comes in: jobs with their loads, the sprayer's pace and fill. Goes out: hours, loads, trees. A load that is mixed is
//! sprayed out, so none is parted.

use super::rounds::{LoadTrees, loads_of};
use super::{Job, hours_of};
use crate::advice::Takes;
use crate::grove::{Grove, Pace};
use crate::units::Threshold;

/// The work of a spray, where the sprayer's pace is known.
#[derive(Clone, PartialEq, Debug)]
pub struct Work {
    /// How many hours each load takes, in the order in which they are sprayed.
    loads: Vec<f64>,
    /// How many trees are done when each load is sprayed out.
    done: Vec<usize>,
    /// How many hours each tree takes, in walking order.
    trees: Vec<f64>,
    /// How long it takes to fill the tank again between two loads, in hours.
    fill: f64,
}

/// What of a work fits into a piece of time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fits {
    /// All of it.
    All,
    /// So many loads, and so many trees with them.
    Loads(usize, usize),
    /// No load as the work divides it; so many trees, with a smaller one.
    Trees(usize),
    /// Not one tree.
    Nothing,
}

impl Work {
    /// Returns the work of some jobs one after the other; nothing where the pace of the sprayer is not known.
    pub fn of(grove: &Grove, jobs: &[Job<'_>]) -> Option<Self> {
        let sprayer = grove.sprayer.as_ref()?;
        let mut work = Self {
            loads: Vec::new(),
            done: Vec::new(),
            trees: Vec::new(),
            fill: sprayer.fill.unwrap_or(0.0),
        };
        for job in jobs {
            let loads = loads_of(grove, job);
            work.loads.extend(load_hours(grove, job, &loads)?);
            let before = work.trees.len();
            let mut reached = before;
            work.done.extend(loads.iter().map(|load| {
                reached += load.trees.len() - usize::from(load.goes_on_with.is_some());
                reached
            }));
            let takes = takes(grove, job)?;
            let of_tree = |tree: &usize| {
                let volume = grove.block_of(*tree).and_then(|block| sprayer.volume_per_tree(block))?;
                Some(takes * volume / job.volume)
            };
            work.trees.extend(job.trees.iter().filter_map(of_tree));
        }
        (!work.loads.is_empty()).then_some(work)
    }

    /// Returns how many hours all of it takes, with the filling before each load.
    pub fn hours(&self) -> f64 {
        with_fills(&self.loads, self.fill)
    }

    /// Returns how long it takes to fill the tank, in hours.
    pub fn fill(&self) -> f64 {
        self.fill
    }

    /// Returns how long its loads take and the filling between them.
    pub fn takes(&self) -> Takes<'_> {
        Takes { loads: &self.loads, fill: self.fill }
    }

    /// Returns how many hours each load takes.
    pub fn loads(&self) -> &[f64] {
        &self.loads
    }

    /// Returns how many trees there are.
    pub fn trees(&self) -> usize {
        self.trees.len()
    }

    /// Returns what fits into so many hours, the first load filled before they begin.
    pub fn fits(&self, hours: f64) -> Fits {
        let within = |takes: f64| Threshold::of_hours(hours).is_kept_by(takes, true);
        let loads = (1..=self.loads.len())
            .take_while(|count| {
                self.loads.get(..*count).is_some_and(|some| within(hours_of(some, self.fill)))
            })
            .last();
        if let Some(count) = loads {
            let done = self.done.get(count - 1).copied().unwrap_or(0);
            return if count == self.loads.len() { Fits::All } else { Fits::Loads(count, done) };
        }
        let mut takes = 0.0;
        let trees = self.trees.iter().take_while(|tree| {
            takes += **tree;
            within(takes)
        });
        match trees.count() {
            0 => Fits::Nothing,
            count => Fits::Trees(count),
        }
    }
}

/// Returns how long some loads take with the filling before each of them.
pub(super) fn with_fills(loads: &[f64], fill: f64) -> f64 {
    hours_of(loads, fill) + if loads.is_empty() { 0.0 } else { fill }
}

/// Returns how many hours each load of a job takes; nothing where the pace of the sprayer is not known.
pub(super) fn load_hours(grove: &Grove, job: &Job<'_>, loads: &[LoadTrees]) -> Option<Vec<f64>> {
    let takes = takes(grove, job)?;
    let volume: f64 = loads.iter().map(|load| load.volume).sum();
    Some(loads.iter().map(|load| takes * load.volume / volume).collect())
}

/// Returns the hours that it takes to spray a job out.
fn takes(grove: &Grove, job: &Job<'_>) -> Option<f64> {
    match grove.sprayer.as_ref()?.pace? {
        Pace::Volume(by_hour) => Some(job.volume / by_hour),
        Pace::Area(by_hour) => Some(job.area? / by_hour),
        Pace::Trees(by_hour) => Some(job.trees.len() as f64 / by_hour),
    }
}
