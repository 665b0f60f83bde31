//! Measures over trees: how many trees of the grove or block meet a condition, counted once.

use super::Need;
use super::facts::TreeFacts;
use crate::grove::Grove;
use crate::measure::{Evaluator, Inputs, Truth, World, speaks_of_trees};
use crate::plan::{Condition, NameId, Origin, Place, Plan, Subject};
use std::collections::{BTreeMap, BTreeSet};

/// The counts of all measures over trees.
#[derive(Debug, Default)]
pub struct Others {
    counted: BTreeMap<NameId, TreeCount>,
}

/// One measure over trees.
#[derive(Debug)]
struct TreeCount {
    place: Place,
    /// For each tree whether the condition holds.
    truths: Vec<Truth>,
    /// For each block, or for the whole grove: how many certainly, how many perhaps, how many in all.
    sums: Vec<(f64, f64, f64)>,
    /// For each block, or for the whole grove: of each tree that is not certain the observation that would tell, by the
    /// names of the trees.
    asks: Vec<Vec<Need>>,
}

impl Others {
    /// Counts all measures over trees, each after those that it speaks of.
    pub fn count(judge: &Evaluator<'_>, plan: &Plan, inputs: &Inputs, grove: &Grove) -> Self {
        let mut others = Self::default();
        for id in &plan.order {
            let Some((place, condition)) = speaks_of_trees(&plan[*id]) else { continue };
            let counted = others.counted(judge, plan, inputs, grove, place, condition);
            others.counted.insert(*id, counted);
        }
        others
    }

    fn counted(
        &self,
        judge: &Evaluator<'_>,
        plan: &Plan,
        inputs: &Inputs,
        grove: &Grove,
        place: Place,
        condition: &Condition,
    ) -> TreeCount {
        let places = if place == Place::Block { grove.blocks.len().max(1) } else { 1 };
        let sums = vec![(0.0, 0.0, 0.0); places];
        let mut counted = TreeCount { place, truths: Vec::new(), sums, asks: vec![Vec::new(); places] };
        let wanted = below_all(plan, inputs, condition);
        for tree in 0..grove.trees.len() {
            let (as_of, today) = (grove.as_of, grove.as_of.date_naive());
            let facts = TreeFacts { plan, grove, others: self, tree, as_of, today };
            let gauged = judge.gauge_names(&facts, &World::default(), &wanted);
            let truth = judge.holds(&facts, &World::default(), &gauged, condition);
            let place = counted.index(grove, tree);
            if truth == Truth::Open {
                let unsettled = |name: &NameId| {
                    gauged.names.get(name.index()).is_some_and(|reading| !reading.extent.is_settled())
                        || gauged.groups.iter().any(|group| {
                            plan[*name].scope == Place::Panicles
                                && group.names.get(name.index()).is_some_and(|it| !it.extent.is_settled())
                        })
                };
                let name = observed(plan, inputs, condition, &unsettled);
                if let Some((name, asks)) = name.zip(counted.asks.get_mut(place)) {
                    asks.push(Need::OfTree(name, tree));
                }
            }
            if let Some(sums) = counted.sums.get_mut(place) {
                sums.0 += f64::from(u8::from(truth == Truth::Yes));
                sums.1 += f64::from(u8::from(truth == Truth::Open));
                sums.2 += 1.0;
            }
            counted.truths.push(truth);
        }
        let tree_of = |need: &Need| match need {
            Need::OfTree(_, tree) => grove.trees.name(*tree),
            _ => "",
        };
        counted.asks.iter_mut().for_each(|asks| asks.sort_by(|a, b| tree_of(a).cmp(tree_of(b))));
        counted
    }

    /// Returns for one tree how many others certainly count, how many more may, and how many trees there are.
    pub fn beside(&self, name: NameId, tree: usize, grove: &Grove) -> Option<(f64, f64, f64)> {
        let counted = self.counted.get(&name)?;
        let (sure, perhaps, all) = *counted.sums.get(counted.index(grove, tree))?;
        Some(match counted.truths.get(tree)? {
            Truth::Yes => (sure - 1.0, perhaps, all),
            Truth::Open => (sure, perhaps - 1.0, all),
            Truth::No => (sure, perhaps, all),
        })
    }

    /// Returns the observations of trees for which a measure over trees waits, one of this tree itself among them, by the
    /// names of the trees: trees in one situation wait for the same.
    pub fn unseen(&self, name: NameId, tree: usize, grove: &Grove) -> &[Need] {
        let asks = self.counted.get(&name).and_then(|counted| counted.asks.get(counted.index(grove, tree)));
        asks.map_or(&[], Vec::as_slice)
    }

    /// Returns whether a measure over the trees of a block waits for observations.
    pub fn waits_in_blocks(&self) -> bool {
        self.counted
            .values()
            .any(|counted| counted.place == Place::Block && counted.asks.iter().any(|asks| !asks.is_empty()))
    }
}

impl TreeCount {
    fn index(&self, grove: &Grove, tree: usize) -> usize {
        if self.place == Place::Block { grove.trees.block(tree) } else { 0 }
    }
}

/// Returns all names that a condition speaks of, directly or through others, in the plan's order.
fn below_all(plan: &Plan, inputs: &Inputs, condition: &Condition) -> Vec<NameId> {
    let mut found = BTreeSet::new();
    let mut todo = Vec::new();
    condition.each_test(&mut |test| {
        if let Subject::Name(name) = test.subject {
            todo.push(name);
        }
    });
    while let Some(name) = todo.pop() {
        if found.insert(name) {
            todo.extend(inputs.direct(name));
        }
    }
    plan.order.iter().copied().filter(|name| found.contains(name)).collect()
}

/// Finds an observation below a condition that is not settled.
fn observed(
    plan: &Plan,
    inputs: &Inputs,
    condition: &Condition,
    unsettled: &dyn Fn(&NameId) -> bool,
) -> Option<NameId> {
    let mut names = Vec::new();
    condition.each_test(&mut |test| {
        if let Subject::Name(name) = test.subject {
            names.push(name);
        }
    });
    names.into_iter().find_map(|name| below(plan, inputs, name, unsettled))
}

fn below(plan: &Plan, inputs: &Inputs, name: NameId, unsettled: &dyn Fn(&NameId) -> bool) -> Option<NameId> {
    if matches!(plan[name].origin, Origin::Observed(_) | Origin::Cultivar) {
        return unsettled(&name).then_some(name);
    }
    inputs.direct(name).find_map(|input| below(plan, inputs, input, unsettled))
}
