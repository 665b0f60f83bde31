//! What the sprays of a season come to: ingredients on the land, groups in a row, trees that were never sprayed.

use super::Season;
use super::row::ingredients;
use crate::grove::Counting;
use crate::plan::Sprayed;
use std::collections::{BTreeMap, BTreeSet};

/// How much of an ingredient the land of a block has had.
#[derive(Clone, PartialEq, Debug)]
pub struct OnLand {
    /// The ingredient.
    pub ingredient: String,
    /// The block.
    pub block: String,
    /// The least and the most on an area where its trees stand (g/mm²); nothing where a row does not say how much.
    pub amount: Option<(f64, f64)>,
}

/// What trees that were sprayed alike have had.
#[derive(Clone, PartialEq, Debug)]
pub struct Rotation {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// The groups of each tank, the oldest first.
    pub groups: Vec<Vec<String>>,
    /// How many of the latest sprays in a row had each group of the last tank.
    pub in_a_row: Vec<(String, u32)>,
}

/// Returns the ingredients on the land, block by block.
pub fn on_land(season: &Season) -> Vec<OnLand> {
    let grove = season.grove;
    let all: BTreeSet<String> = season.rows().flat_map(|row| ingredients(season, row)).collect();
    // Trees of a block that were sprayed alike have the same on their land.
    let mut kinds: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for tree in 0..grove.trees.len() {
        kinds.entry((grove.trees.block(tree), grove.log.history_of(tree))).or_insert(tree);
    }
    let mut found = Vec::new();
    for ingredient in &all {
        for (at, block) in grove.blocks.iter().enumerate() {
            let trees = kinds.range((at, 0)..(at + 1, 0)).map(|(_, tree)| *tree);
            let amounts: Result<Vec<f64>, _> = trees
                .map(|tree| {
                    grove.amount_sprayed(tree, Counting::Ingredient(ingredient), season.days, season.plan)
                })
                .collect();
            let ends = amounts.ok().and_then(|amounts| {
                let low = amounts.iter().copied().reduce(f64::min)?;
                Some((low, amounts.iter().copied().reduce(f64::max)?))
            });
            if ends.is_none_or(|(_, high)| high > 0.0) {
                let (ingredient, block) = (ingredient.clone(), block.name.to_string());
                found.push(OnLand { ingredient, block, amount: ends });
            }
        }
    }
    found
}

/// Returns the rotation of each group of trees that were sprayed alike, in walking order; those never sprayed are left
/// out. Rows of one tank (the same start and end) are one spray.
pub fn rotations(season: &Season) -> Vec<Rotation> {
    let grove = season.grove;
    let mut trees: Vec<Vec<usize>> = vec![Vec::new(); grove.log.histories()];
    for tree in 0..grove.trees.len() {
        if let Some(list) = trees.get_mut(grove.log.history_of(tree)) {
            list.push(tree);
        }
    }
    let (first, last) = season.days;
    let mut found = Vec::new();
    for (history, trees) in trees.into_iter().enumerate().filter(|(_, trees)| !trees.is_empty()) {
        let rows: Vec<_> =
            grove.log.of_history(history).filter(|row| (first..=last).contains(&row.day())).collect();
        let groups: Vec<Vec<String>> = rows
            .chunk_by(|a, b| (a.start, a.end) == (b.start, b.end))
            .map(|tank| {
                let parts = tank.iter().flat_map(|row| &row.parts);
                let groups = parts.filter_map(|part| part.product).flat_map(|id| &season.plan[id].groups);
                groups.map(|group| group.to_string()).collect::<BTreeSet<_>>().into_iter().collect()
            })
            .collect();
        let Some(latest) = groups.last() else { continue };
        let in_a_row = latest.iter().filter_map(|group| {
            let of = Sprayed::Group(group.as_str().into());
            Some((group.clone(), grove.log.in_a_row(history, &of, grove.as_of, season.plan)?))
        });
        let in_a_row = in_a_row.collect();
        found.push(Rotation { trees, groups, in_a_row });
    }
    found.sort_by_key(|rotation| rotation.trees.first().copied());
    found
}

/// Returns the trees that had no spray in these days, in walking order.
pub fn unsprayed(season: &Season) -> Vec<usize> {
    let mut sprayed = vec![false; season.grove.trees.len()];
    for row in season.rows() {
        row.each_tree(&season.grove.trees, |tree| {
            if let Some(tree) = sprayed.get_mut(tree) {
                *tree = true;
            }
        });
    }
    sprayed.iter().enumerate().filter(|(_, sprayed)| !**sprayed).map(|(tree, _)| tree).collect()
}
