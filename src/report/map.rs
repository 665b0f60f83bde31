//! The map of a grove: its rows in walking order, how many trees stand in each, and which cultivars.

use super::{Lines, count};
use crate::grove::Grove;
use crate::sprayday::rows;
use std::collections::BTreeMap;

/// Returns the rows of a grove with their counts, in lines no longer than a width.
///
/// A row ends where the block or the letters before the number of a tree's name change.
pub fn map(grove: &Grove, width: usize) -> String {
    let mut lines = Lines::new(width);
    let rows = rows(grove);
    let said = if rows.len() == 1 { "1 row".to_string() } else { format!("{} rows", rows.len()) };
    lines.text(0, &format!("{}: {} in {}, in walking order", grove.title, count(grove.trees.len()), said));
    for row in &rows {
        let (Some(first), Some(last)) = (row.trees.first(), row.trees.last()) else { continue };
        let names = if first == last {
            grove.trees.name(*first).to_string()
        } else {
            format!("{}–{}", grove.trees.name(*first), grove.trees.name(*last))
        };
        let mut cultivars: BTreeMap<&str, usize> = BTreeMap::new();
        for tree in &row.trees {
            let cultivar = grove.trees.cultivar(*tree).map_or("cultivar not given", |cultivar| cultivar);
            *cultivars.entry(cultivar).or_default() += 1;
        }
        let cultivars: Vec<String> =
            cultivars.iter().map(|(cultivar, count)| format!("{count} {cultivar}")).collect();
        let block = grove.block_of(*first).map_or(String::new(), |block| format!("{}, ", block.name));
        lines.field(&names, &format!("{block}{}: {}", count(row.trees.len()), cultivars.join(", ")));
    }
    lines.finish()
}
