//! The sources, numbered; what was written down from memory, and what has no source yet.

use super::Bulletin;
use crate::plan::Citation;
use crate::report::paper::Piece;

/// How figures without a source are marked.
const TO_BE_SOURCED: &str = "to-be-sourced";
const COMMON_PRACTICE: &str = "common-practice";

impl Bulletin<'_> {
    /// Returns the sources with their numbers, and what their marks mean.
    pub(super) fn cited(&self) -> Vec<Piece> {
        let sources = self.plan().sources.iter().enumerate();
        let one = |(at, source): (usize, &crate::plan::Cited)| {
            let words = match source.recalled {
                true => self.say("source.recalled", &[("source", &source.citation)]),
                false => source.citation.to_string(),
            };
            Piece::Field(format!("[{}]", at + 1), vec![words])
        };
        let mut pieces: Vec<Piece> = sources.map(one).collect();
        for (mark, key) in [("[P]", "guide.source.practice"), ("[?]", "guide.source.none")] {
            pieces.push(Piece::Field(mark.to_owned(), vec![self.say(key, &[])]));
        }
        pieces
    }

    /// Returns citations as the numbers of their sources: `[3] [P] [?]`.
    pub(super) fn numbers(&self, cites: &[Citation]) -> String {
        let one = |citation: &Citation| {
            let number = match &*citation.key {
                TO_BE_SOURCED => "[?]".to_owned(),
                COMMON_PRACTICE => "[P]".to_owned(),
                key => match self.plan().sources.iter().position(|source| &*source.key == key) {
                    Some(at) => format!("[{}]", at + 1),
                    None => key.to_owned(),
                },
            };
            match &citation.locator {
                Some(locator) => format!("{number} {locator}"),
                None => number,
            }
        };
        cites.iter().map(one).collect::<Vec<_>>().join(" ")
    }
}
