//! The map of a grove: its rows in walking order, how many trees stand in each, and which cultivars.

use super::Lines;
use crate::grove::Grove;
use crate::sprayday::rows;
use crate::words::Language;
use std::collections::BTreeMap;

/// Returns the rows of a grove with their counts, in a language, in lines no longer than a width.
///
/// A row ends where the block or the letters before the number of a tree's name change.
pub fn map(grove: &Grove, language: Language, width: usize) -> String {
    let mut lines = Lines::new(width);
    let rows = rows(grove);
    let said = match rows.len() {
        1 => language.say("map.row", &[]),
        count => language.say("map.rows", &[("count", &count.to_string())]),
    };
    let trees = language.trees(grove.trees.len());
    let title = [("grove", &*grove.title), ("trees", &trees), ("rows", &said)];
    lines.text(0, &language.say("map.title", &title));
    let unnamed = language.say("map.cultivar.none", &[]);
    for row in &rows {
        let (Some(first), Some(last)) = (row.trees.first(), row.trees.last()) else { continue };
        let names = if first == last {
            grove.trees.name(*first).to_string()
        } else {
            format!("{}–{}", grove.trees.name(*first), grove.trees.name(*last))
        };
        let mut cultivars: BTreeMap<&str, usize> = BTreeMap::new();
        for tree in &row.trees {
            let cultivar = grove.trees.cultivar(*tree).map_or(&*unnamed, |cultivar| cultivar);
            *cultivars.entry(cultivar).or_default() += 1;
        }
        let cultivars: Vec<String> =
            cultivars.iter().map(|(cultivar, count)| format!("{count} {cultivar}")).collect();
        let block = grove.block_of(*first).map_or("", |block| &block.name);
        let trees = language.trees(row.trees.len());
        let words = [("block", block), ("trees", &trees), ("cultivars", &cultivars.join(", "))];
        let words = language.say("map.row.words", &words);
        lines.field(&names, words.trim_start_matches([',', ' ']));
    }
    lines.finish()
}
