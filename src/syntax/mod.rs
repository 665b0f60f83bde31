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
use read_item::{Failure, ItemText};
use std::ops::Range;
pub use tidy::{ClauseLine, ItemClauses, quoted, tidy, tidy_text};
use tree::{Item, Tree};

/// How many problems of one file are reported.
const MOST_PROBLEMS: usize = 1000;

/// The text, in bytes, from which on it is worth while to read two halves side by side.
const LONG: usize = 1 << 14;

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
    for (range, read) in cuts.items.iter().zip(read_items(text, &cuts.items, id)) {
        match read {
            Ok(item) => tree.items.push(item),
            Err(failure) => {
                tree.unread.extend(failure.unread);
                tree.items.extend(failure.head);
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

/// Reads items in their order. Of a long text one half is read beside the other.
fn read_items<'s>(
    text: &'s str,
    items: &[Range<usize>],
    source: SourceId,
) -> Vec<Result<Item<'s>, Failure<'s>>> {
    let read = move |items: &[Range<usize>]| -> Vec<_> {
        let mut pieces = Vec::new();
        let item = |range: &Range<usize>| {
            let text = text.get(range.clone()).unwrap_or_default();
            ItemText { text, base: range.start, source }.read(&mut pieces)
        };
        items.iter().map(item).collect()
    };
    if text.len() < LONG {
        return read(items);
    }
    let middle = items.iter().position(|range| range.end > text.len() / 2).unwrap_or(0);
    let (first, second) = items.split_at(middle);
    std::thread::scope(|scope| {
        let beside = scope.spawn(|| read(second));
        let mut all = read(first);
        all.extend(beside.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        all
    })
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
