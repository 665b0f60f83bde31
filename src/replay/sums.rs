//! What a guide comes to over a season, so that two can be held against each other.

use super::{DecisionGroup, Replay, ReplayedDay, sprays_by_product};
use crate::grove::Counting;
use crate::plan::Plan;
use crate::trace::Verdict;
use crate::workspace::OpenGrove;
use std::collections::BTreeSet;
use std::sync::Arc;

/// What a guide comes to over a season.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct SeasonSums {
    /// How often each product was advised, each tree for itself and an advice once for as long as it stood, by its word.
    pub advised: Vec<(Arc<str>, usize)>,
    /// What lies on the land of the trees at the end, by the ingredient: the mean over the trees (g/mm²); nothing where a spray
    /// does not say how much.
    pub on_land: Vec<(Arc<str>, Option<f64>)>,
    /// On how many mornings of trees a spray is wanted: advised, or none allowed.
    pub wanted: usize,
    /// Of these, on how many none is allowed.
    pub shut: usize,
    /// On how many mornings of trees something is to be looked at first.
    pub looks: usize,
    /// How many hours are open on a morning that advises a spray, in the mean of its trees.
    pub hours_left: Option<f64>,
}

/// Sums a season up.
pub fn season_sums(open: &OpenGrove, replay: &Replay, trees: &[usize]) -> SeasonSums {
    let plan = &open.plan;
    let by_product = sprays_by_product(&replay.days, trees);
    let answered = || replay.days.iter().filter(|day| day.blank.is_none());
    let count = |is: &dyn Fn(&DecisionGroup) -> bool| answered().map(|day| day.count(is)).sum::<usize>();
    let shut = count(&|group| group.verdict == Verdict::AllShut);
    let (hours, mornings) = answered().fold((0.0, 0), |(hours, mornings), day| {
        let (more, trees) = day.hours_left;
        (hours + more, mornings + trees)
    });
    SeasonSums {
        advised: by_product
            .iter()
            .filter(|(_, (advised, _))| *advised > 0)
            .map(|(product, (advised, _))| (Arc::clone(&plan[*product].name), *advised))
            .collect(),
        on_land: on_land(open, replay, trees),
        wanted: shut + count(&|group| group.verdict.is_spray()),
        shut,
        looks: count(&|group| group.verdict == Verdict::Look),
        hours_left: (mornings > 0).then(|| hours / mornings as f64),
    }
}

/// Returns what lies on the land at the end of a season, in the mean of its trees.
fn on_land(open: &OpenGrove, replay: &Replay, trees: &[usize]) -> Vec<(Arc<str>, Option<f64>)> {
    let ends = replay.days.first().zip(replay.days.last());
    let grove = ends.and_then(|(_, last)| open.grove.at_with(last.morning, replay.log.clone()).ok());
    let Some((grove, (first, _))) = grove.zip(ends) else { return Vec::new() };
    let parts = replay.log.rows().iter().flat_map(|row| &row.parts);
    let held = parts.filter_map(|part| open.plan[part.product?].contains.clone());
    let ingredients: BTreeSet<Arc<str>> = held.collect();
    let days = (first.date(), open.as_of.date_naive());
    let mean = |ingredient: &Arc<str>| -> Option<f64> {
        let amounts = trees
            .iter()
            .map(|tree| grove.amount_sprayed(*tree, Counting::Ingredient(ingredient), days, &open.plan).ok());
        Some(amounts.sum::<Option<f64>>()? / trees.len().max(1) as f64)
    };
    ingredients.into_iter().map(|ingredient| (ingredient.clone(), mean(&ingredient))).collect()
}

/// Finds the first morning on which two guides say different things, by its place, with the trees for which they do.
pub fn first_difference(
    (one, other): (&Replay, &Replay),
    (plan, other_plan): (&Plan, &Plan),
    trees: &[usize],
) -> Option<(usize, Vec<usize>)> {
    let said = |day: &ReplayedDay, tree: usize, plan: &Plan| {
        day.decision(tree).map(|group| (group.verdict.words(plan), group.verdict == Verdict::AllShut))
    };
    one.days.iter().zip(&other.days).enumerate().find_map(|(at, (a, b))| {
        let differs = |tree: &usize| said(a, *tree, plan) != said(b, *tree, other_plan);
        let differ: Vec<usize> = trees.iter().copied().filter(differs).collect();
        (!differ.is_empty()).then_some((at, differ))
    })
}
