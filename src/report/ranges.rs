//! Trees in walking order, as ranges.

use super::Trees;
use crate::words::Language;

/// Returns the names of trees, given in the grove's order, those that follow one another as ranges: `A01–A05, A07`.
///
/// A range ends where the block or the letters of the name change, so that nobody has to guess what lies between.
pub fn ranges(trees: &dyn Trees, list: &[usize]) -> String {
    ranges_in(Language::English, trees, list)
}

/// Returns the same in a language, where not all of them can be named.
pub fn ranges_in(language: Language, trees: &dyn Trees, list: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for tree in list {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *tree && follow(trees, *last, *tree) => *last = *tree,
            _ => runs.push((*tree, *tree)),
        }
    }
    let mut words: Vec<String> = Vec::new();
    let untold: usize = runs.iter().skip(MOST).map(|(first, last)| last - first + 1).sum();
    for (first, last) in runs.into_iter().take(MOST) {
        match last - first {
            0 => words.push(trees.name(first).to_string()),
            1 => words.extend([trees.name(first).to_string(), trees.name(last).to_string()]),
            _ => words.push(format!("{}–{}", trees.name(first), trees.name(last))),
        }
    }
    if untold > 0 {
        words.push(language.say("trees.more", &[("trees", &language.trees(untold))]));
    }
    words.join(", ")
}

/// So many ranges are told: more than a grove of a few hundred trees can have.
const MOST: usize = 400;

/// Returns `1 tree`, `6 trees`.
pub fn count(trees: usize) -> String {
    Language::English.trees(trees)
}

fn follow(trees: &dyn Trees, a: usize, b: usize) -> bool {
    let letters = |tree: usize| trees.name(tree).trim_end_matches(|letter: char| letter.is_ascii_digit());
    trees.block(a) == trees.block(b) && letters(a) == letters(b)
}
