//! The cautions of a head: those of its bases, then its own; and those that a replaced product loses.
//!
//! Comes in: the cautions below an overlay, its own, and the `omit caution` of its file. Goes out: the cautions that
//! its pages print, each text once, and findings about what is left out.

use super::Checker;
use super::clauses::named;
use super::overlay::{Book, called_at};
use crate::problems::{Finding, Problem, nearest};
use crate::source::Span;
use crate::syntax::quoted;
use crate::syntax::tree::{Clause, Item, ItemKind, Text, Verb};
use rustc_hash::FxHashSet;
use std::sync::Arc;

/// The longest text, in bytes, whose nearest is looked for letter by letter.
const LONGEST: usize = 1000;

/// How many cautions of a base are named where none is near.
const MOST: usize = 6;

impl<'a> Checker<'a> {
    /// Returns the cautions of the head of a layer: the base's in their order, those left out apart, then its own.
    pub(super) fn cautions(
        &mut self,
        head: &'a Item<'a>,
        layer: usize,
        base: Vec<Arc<str>>,
        own: Vec<Arc<str>>,
        book: &Book<'a>,
    ) -> Vec<Arc<str>> {
        // What stands in a head that could not be read is not known.
        let unread = book.broken_heads.iter().take(layer).any(|broken| *broken);
        let own_texts: FxHashSet<Arc<str>> = own.iter().cloned().collect();
        let mut dropped: FxHashSet<&str> = FxHashSet::default();
        for change in book.dropped.iter().filter(|change| change.layer == layer) {
            let Some(text) = &change.item.label else { continue };
            let is_there = base.iter().any(|caution| **caution == *text.value);
            if is_there {
                dropped.insert(&text.value);
                let is_said_again = own_texts.contains(text.value.as_str());
                self.dropped_caution(change.item, head, is_said_again, book.tightens(layer));
            } else if !unread {
                self.no_such_caution(change.item, text, layer, &base);
            }
        }
        let mut seen: FxHashSet<Arc<str>> = FxHashSet::default();
        let kept = base.into_iter().filter(|caution| !dropped.contains(&**caution));
        let cautions: Vec<Arc<str>> =
            kept.chain(own).filter(|caution| seen.insert(caution.clone())).collect();
        if cautions.is_empty() && !unread {
            let problem = Problem::new(Finding::NoCaution, called_at(head), "this rulebook has no caution");
            self.problems.push(problem.help(
                "add a line: `caution \"The product label in force is the law. Where it and this guide differ, \
                 follow the label.\"`",
            ));
        }
        cautions
    }

    /// Reports the cautions that products lose where they are replaced: a `replace` gives the whole item anew.
    pub(super) fn lost_cautions(&mut self, book: &Book<'a>) {
        // Where the head says `tightens`, it is proved of products too that none is lost.
        let tightens = |layer: usize| book.tightens(layer).is_some();
        let replaced =
            book.changes.iter().filter(|change| change.item.verb == Verb::Replace && !tightens(change.layer));
        for (item, below) in replaced.filter_map(|change| Some((change.item, change.below?))) {
            let own: FxHashSet<&str> = cautions_of(item).collect();
            for text in cautions_of(below).filter(|text| !own.contains(text)) {
                let message = format!("{} is replaced without its caution {}", named(item), quoted(text));
                self.problems.push(
                    Problem::new(Finding::CautionDropped, called_at(item), message)
                        .related(called_at(below), "the base has it here")
                        .help(format!(
                            "growers read it on no page then: add `caution {}`, unless this one says the same in its own \
                             words",
                            quoted(text)
                        )),
                );
            }
        }
    }

    /// Reports a caution of the base that is left out.
    fn dropped_caution(
        &mut self,
        item: &'a Item<'a>,
        head: &Item<'_>,
        is_said_again: bool,
        tightens: Option<Span>,
    ) {
        let at = called_at(item);
        if is_said_again {
            let message = format!("{} is left out, and stands in the head of this file", named(item));
            self.problems.push(
                Problem::new(Finding::DefinedTwice, at, message)
                    .related(called_at(head), "the head is here")
                    .help("leave this `omit` out to keep it, or take it out of the head"),
            );
            return;
        }
        let problem = match tightens {
            Some(says_so) => {
                let message =
                    format!("it says that it only tightens its base, and leaves out its {}", named(item));
                Problem::new(Finding::LoosensBase, at, message)
                    .related(says_so, "it says so here")
                    .help("leave this `omit` out, or take `tightens` out of the head")
            }
            None => {
                let message = format!("the base's {} is left out", named(item));
                Problem::new(Finding::CautionDropped, at, message)
                    .help("growers read it on no page then: keep it, unless this rulebook says the same in its own words")
            }
        };
        self.problems.push(problem);
    }

    /// Reports an `omit` of a caution that the base does not have.
    fn no_such_caution(&mut self, item: &Item<'_>, text: &Text, layer: usize, base: &[Arc<str>]) {
        let at = called_at(item);
        if layer == 0 {
            let message = "`omit` is for overlays, and this rulebook builds on nothing";
            self.problems.push(
                Problem::new(Finding::UnknownName, at, message)
                    .help("name the base in the head: `builds-on \"base.rulebook\"`"),
            );
            return;
        }
        let short = |caution: &&str| caution.len() <= LONGEST;
        let begun = base.iter().map(|it| &**it).find(|it| it.starts_with(text.value.as_str()));
        let near = begun.filter(|_| !text.value.is_empty()).or_else(|| {
            let text = Some(text.value.as_str()).filter(short)?;
            nearest(text, base.iter().map(|it| &**it).filter(short))
        });
        let written = |caution: &str| format!("`omit caution {}`", quoted(caution));
        let help = match near {
            Some(near) => format!("did you mean {}?", written(near)),
            None if base.is_empty() => "leave this `omit` out".to_owned(),
            None => {
                let all: Vec<String> = base.iter().take(MOST).map(|it| written(it)).collect();
                let more = if base.len() > MOST {
                    format!(", and {} more", base.len() - MOST)
                } else {
                    String::new()
                };
                format!("write the whole text of the one that is meant: {}{more}", all.join(", "))
            }
        };
        let message = format!("the base has no {}", named(item));
        self.problems.push(Problem::new(Finding::UnknownName, at, message).help(help));
    }
}

/// Returns the cautions of a product.
fn cautions_of<'i>(item: &'i Item<'_>) -> impl Iterator<Item = &'i str> {
    let clauses = item.clauses.iter().filter(|_| item.kind == ItemKind::Product);
    clauses.filter_map(|clause| match &clause.value {
        Clause::Caution(text) => Some(text.value.as_str()),
        _ => None,
    })
}
