//! The rows of a grove in walking order.

use crate::grove::Grove;

/// A row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Row {
    /// Its trees, in walking order.
    pub trees: Vec<usize>,
    /// Its block, by its number.
    pub block: usize,
}

/// Returns the rows: one ends where the block or the letters before the number of a tree's name change.
pub fn rows(grove: &Grove) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let key = |tree: usize| (grove.trees.block(tree), letters(grove.trees.name(tree)));
    for tree in 0..grove.trees.len() {
        match rows.last_mut() {
            Some(row) if row.trees.last().is_some_and(|last| key(*last) == key(tree)) => row.trees.push(tree),
            Some(_) | None => rows.push(Row { trees: vec![tree], block: grove.trees.block(tree) }),
        }
    }
    rows
}

impl Row {
    /// Returns the name of a row: the letters of its trees, or its first and last tree where they have none.
    pub fn name(&self, grove: &Grove) -> String {
        let name = |tree: Option<&usize>| tree.map_or("", |tree| grove.trees.name(*tree));
        let (first, last) = (name(self.trees.first()), name(self.trees.last()));
        match letters(first).trim_end_matches(['-', '_', ' ']) {
            "" if first == last => first.to_string(),
            "" => format!("{first}–{last}"),
            letters => letters.to_string(),
        }
    }
}

/// Returns the letters before the number at the end of a name.
fn letters(name: &str) -> &str {
    name.trim_end_matches(|letter: char| letter.is_ascii_digit())
}
