//! Rows as passes: an air-blast sprayer drives between rows, and blows to both sides at once.

use super::rows::{Row, rows};
use crate::grove::{Grove, Sprayer};

/// One drive along an alley, or along the outside of the first or last row.
#[derive(Clone, PartialEq, Debug)]
pub struct Pass {
    /// The row before the alley in walking order, and what is sprayed of it.
    pub before: Option<PassSide>,
    /// The row behind it.
    pub behind: Option<PassSide>,
}

/// One side of a pass.
#[derive(Clone, PartialEq, Debug)]
pub struct PassSide {
    /// The name of the row.
    pub row: String,
    /// The trees to be sprayed, as runs of neighbours; none: this side is shut off.
    pub runs: Vec<Vec<usize>>,
    /// Whether the whole row is sprayed.
    pub whole: bool,
}

/// Returns whether a sprayer blows spray into rows that it passes.
pub fn is_air_blast(sprayer: &Sprayer) -> bool {
    let kind = sprayer.kind.as_deref().unwrap_or_default().to_lowercase();
    ["blast", "mist", "fan"].iter().any(|word| kind.contains(word))
}

/// Returns the passes that reach trees from both sides, in walking order.
pub fn passes(grove: &Grove, trees: &[usize]) -> Vec<Pass> {
    let rows = rows(grove);
    let mut passes = Vec::new();
    for block in rows.chunk_by(|a, b| a.block == b.block) {
        for alley in 0..=block.len() {
            let side = |at: Option<usize>| at.and_then(|at| block.get(at)).map(|row| side(grove, row, trees));
            let pass = Pass { before: side(alley.checked_sub(1)), behind: side(Some(alley)) };
            let sprays = |side: &Option<PassSide>| side.as_ref().is_some_and(|side| !side.runs.is_empty());
            if sprays(&pass.before) || sprays(&pass.behind) {
                passes.push(pass);
            }
        }
    }
    passes
}

fn side(grove: &Grove, row: &Row, trees: &[usize]) -> PassSide {
    let wanted = |tree: &usize| trees.binary_search(tree).is_ok();
    let runs = row.trees.chunk_by(|a, b| wanted(a) == wanted(b));
    let runs: Vec<Vec<usize>> =
        runs.filter(|run| run.first().is_some_and(wanted)).map(<[usize]>::to_vec).collect();
    let whole = runs.iter().map(Vec::len).sum::<usize>() == row.trees.len();
    PassSide { row: row.name(grove), runs, whole }
}
