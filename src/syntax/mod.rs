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

use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use pieces::{Piece, Refusal, Walk};
use std::ops::Range;
use tree::{Item, Tree};

/// Reads a rulebook: its tree with every item that could be read, and a finding for each that could not.
pub fn parse(sources: &Sources, id: SourceId) -> (Tree<'_>, Problems) {
    sources.get(id).map_or_else(Default::default, |source| parse_text(&source.text, id))
}

/// Reads the text of a rulebook that bears this number among its sources.
pub fn parse_text(text: &str, id: SourceId) -> (Tree<'_>, Problems) {
    let (mut tree, mut problems) = (Tree::default(), Problems::default());
    let cuts = cut::cut(text);
    if let Some(at) = text.get(cuts.before.clone()).and_then(cut::first_sign) {
        let start = cuts.before.start + at;
        let end = text.get(start..).and_then(|rest| rest.find('\n')).map_or(text.len(), |end| start + end);
        problems.push(
            Problem::new(Finding::Syntax, Span::new(id, start, end), "this stands before the first item")
                .label("belongs to no item")
                .help("an item begins in the first column of a line: `rulebook \"…\"`"),
        );
    }
    let mut pieces = Vec::new();
    for range in cuts.items {
        match parse_item(text, range, id, &mut pieces) {
            Ok(item) => tree.items.push(item),
            Err(found) => problems.extend(found),
        }
    }
    (tree, problems)
}

fn parse_item<'s>(
    text: &'s str,
    range: Range<usize>,
    id: SourceId,
    pieces: &mut Vec<Piece>,
) -> Result<Item<'s>, Problems> {
    let base = range.start;
    let item = text.get(range).unwrap_or_default();
    let word = first_word(item);
    let rule = match word {
        "replace" => grammar::Rule::replace,
        "omit" => grammar::Rule::omit,
        _ => match build_item::item_kind(word) {
            Some(kind) => grammar::item_rule(kind),
            None => {
                let mut problems = Problems::default();
                problems.push(Problem::new(
                    Finding::Syntax,
                    Span::new(id, base, base + word.len()),
                    "unknown item",
                ));
                return Err(problems);
            }
        },
    };
    match grammar::read(rule, item) {
        Ok(pairs) => {
            pieces::flatten(pairs, pieces);
            Walk::new(item, pieces, base, id).item().map_err(|refusal| refused(*refusal))
        }
        Err(error) => {
            let mut problems = Problems::default();
            let at = match error.location {
                pest::error::InputLocation::Pos(at) => at,
                pest::error::InputLocation::Span((at, _)) => at,
            };
            problems.push(Problem::new(
                Finding::Syntax,
                Span::new(id, base + at, base + at),
                format!("{:?}", error.variant),
            ));
            Err(problems)
        }
    }
}

/// Returns the word that a text begins with.
fn first_word(text: &str) -> &str {
    let end = text.find(|sign: char| !(sign.is_ascii_alphanumeric() || sign == '-' || sign == '_'));
    text.get(..end.unwrap_or(text.len())).unwrap_or_default()
}

fn refused(refusal: Refusal) -> Problems {
    let mut problems = Problems::default();
    problems.push(Problem::new(Finding::Syntax, refusal.at, refusal.message).help(refusal.help));
    problems
}
