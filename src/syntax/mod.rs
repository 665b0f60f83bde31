//! The text of a rulebook and its tree: reading with recovery, and the one canonical form.
//!
//! Comes in: text. Goes out: a [`tree::Tree`] with every item that could be read, and a finding for each that
//! could not. Knows no units and no meaning.

pub mod tree;
mod grammar;
mod cut;
mod pieces;
mod build_value;
mod build_condition;
mod build_expression;
mod build_deciding;
mod build_item;
mod words;
mod found;
mod hints;
mod explain;
mod read_item;
mod tidy;

use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use read_item::ItemText;
pub use tidy::{tidy, tidy_text};
use tree::Tree;

/// How many problems of one file are reported.
const MOST_PROBLEMS: usize = 1000;

/// Reads a rulebook: its tree with every item that could be read, and a finding for each that could not.
pub fn parse(sources: &Sources, id: SourceId) -> (Tree<'_>, Problems) {
    sources.get(id).map_or_else(Default::default, |source| parse_text(&source.text, id))
}

/// Reads the text of a rulebook that bears this number among its sources.
pub fn parse_text(text: &str, id: SourceId) -> (Tree<'_>, Problems) {
    let (mut tree, mut problems) = (Tree::default(), Problems::default());
    let cuts = cut::cut(text);
    if let Some(problem) = before_the_first_item(text, &cuts, id) {
        problems.push(problem);
    }
    let mut pieces = Vec::new();
    for range in cuts.items {
        let item =
            ItemText { text: text.get(range.clone()).unwrap_or_default(), base: range.start, source: id };
        match item.read(&mut pieces) {
            Ok(item) => tree.items.push(item),
            Err(failure) => {
                tree.unread.extend(failure.unread);
                failure.problems.into_iter().for_each(|problem| problems.push(problem));
            }
        }
        if problems.len() > MOST_PROBLEMS {
            let at = Span::new(id, range.start, range.start);
            let message = "more than a thousand problems: reading ends here";
            problems.push(Problem::new(Finding::Syntax, at, message).help("is this file a rulebook?"));
            break;
        }
    }
    (tree, problems)
}

/// Reports what stands before the first item and is no comment.
fn before_the_first_item(text: &str, cuts: &cut::Cuts, id: SourceId) -> Option<Problem> {
    let before = text.get(cuts.before.clone())?;
    let at = cut::first_sign(before)?;
    let line = before.get(at..)?.lines().next()?.trim_end();
    let start = cuts.before.start + at;
    let span = Span::new(id, start, start + line.len());
    let message = "this stands before the first item";
    let help = "an item begins in the first column: is the line indented that should begin one?";
    Some(Problem::new(Finding::Syntax, span, message).label("belongs to no item").help(help))
}
