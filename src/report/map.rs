//! The map of a grove: its rows in walking order, how many trees stand in each, and which cultivars.

use super::{Lines, count};
use crate::grove::Grove;
use std::collections::BTreeMap;

/// Returns the rows of a grove with their counts, in lines no longer than a width.
///
/// A row ends where the block or the letters before the number of a tree's name change.
pub fn map(grove: &Grove, width: usize) -> String {
    let mut lines = Lines::new(width);
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for tree in 0..grove.trees.len() {
        let key = |tree: usize| (grove.trees.block(tree), letters(grove.trees.name(tree)));
        match rows.last_mut() {
            Some(row) if row.last().is_some_and(|last| key(*last) == key(tree)) => row.push(tree),
            Some(_) | None => rows.push(vec![tree]),
        }
    }
    lines.text(
        0,
        &format!("{}: {} in {} rows, in walking order", grove.title, count(grove.trees.len()), rows.len()),
    );
    for row in &rows {
        let (Some(first), Some(last)) = (row.first(), row.last()) else { continue };
        let names = if first == last {
            grove.trees.name(*first).to_string()
        } else {
            format!("{}–{}", grove.trees.name(*first), grove.trees.name(*last))
        };
        let mut cultivars: BTreeMap<&str, usize> = BTreeMap::new();
        for tree in row {
            let cultivar = grove.trees.cultivar(*tree).map_or("cultivar not given", |cultivar| cultivar);
            *cultivars.entry(cultivar).or_default() += 1;
        }
        let cultivars: Vec<String> =
            cultivars.iter().map(|(cultivar, count)| format!("{count} {cultivar}")).collect();
        let block = grove.block_of(*first).map_or(String::new(), |block| format!("{}, ", block.name));
        lines.field(&names, &format!("{block}{}: {}", count(row.len()), cultivars.join(", ")));
    }
    lines.finish()
}

/// Returns the letters before the number at the end of a name.
fn letters(name: &str) -> &str {
    name.trim_end_matches(|sign: char| sign.is_ascii_digit())
}
