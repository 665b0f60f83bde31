//! The map of a grove: its rows in walking order, how many trees stand in each, and which cultivars.

use super::Lines;
use crate::grove::Grove;
use crate::sprayday::{Row, rows};
use crate::words::Language;
use std::collections::BTreeMap;
use textwrap::core::display_width;

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

/// So many rows are drawn on a map, and so many trees of a row.
const DRAWN: (usize, usize) = (24, 50);

/// Returns the rows in walking order with some trees marked, a line each: the rows that have such trees, and those beside them.
/// Rows that are too many or too long to be seen at a glance are not drawn.
pub fn marked(grove: &Grove, trees: &[usize]) -> Vec<String> {
    let rows = rows(grove);
    let is_marked = |tree: &usize| trees.binary_search(tree).is_ok();
    let has: Vec<bool> = rows.iter().map(|row| row.trees.iter().any(is_marked)).collect();
    let near = |at: usize| (at.saturating_sub(1)..=at + 1).any(|other| has.get(other) == Some(&true));
    let near: Vec<_> = rows.iter().enumerate().filter(|(at, _)| near(*at)).map(|(_, row)| row).collect();
    if near.len() > DRAWN.0 || near.iter().any(|row| row.trees.len() > DRAWN.1) {
        return Vec::new();
    }
    let width = near.iter().map(|row| display_width(&row.name(grove))).max().unwrap_or(0);
    let line = |row: &&Row| {
        let name = row.name(grove);
        let gap = " ".repeat(width - display_width(&name) + 2);
        let signs: String = row.trees.iter().map(|tree| if is_marked(tree) { 'X' } else { '·' }).collect();
        format!("{name}{gap}{signs}")
    };
    near.iter().map(line).collect()
}
