//! The pieces of one item: what the grammar found, flat and in order, and a walk over them.
//!
//! Comes in: the parser's tokens. Goes out: words, places and the next rule. Knows no tree.

use super::grammar::Rule;
use super::tree::{At, Name, Spanned};
use crate::source::{SourceId, Span};
use pest::Token;
use pest::iterators::Pairs;

/// One rule that matched. Its parts follow it in the list, up to `next`.
#[derive(Clone, Copy, Debug)]
pub(super) struct RulePiece {
    /// Which rule.
    pub rule: Rule,
    /// Its first byte in the item's text.
    pub start: u32,
    /// The byte after its last.
    pub end: u32,
    /// The number of the first piece that is not a part of it.
    pub next: u32,
}

/// Lists what the parser found, parents before their parts.
pub(super) fn flatten(pairs: Pairs<'_, Rule>, into: &mut Vec<RulePiece>) {
    into.clear();
    let (mut open, mut last_end) = (Vec::new(), 0);
    for token in pairs.tokens() {
        match token {
            Token::Start { rule, pos } => {
                open.push(into.len());
                let start = pos.pos() as u32;
                into.push(RulePiece { rule, start, end: start, next: 0 });
            }
            Token::End { rule, pos } => {
                let Some(at) = open.pop() else { continue };
                let next = into.len();
                // The parser counts the blanks before what might have followed; a piece ends with its last part.
                let whole = next == at + 1 || matches!(rule, Rule::parenthesis | Rule::parenthesised);
                last_end = if whole { pos.pos() as u32 } else { last_end };
                if let Some(piece) = into.get_mut(at) {
                    piece.end = last_end;
                    piece.next = next as u32;
                }
            }
        }
    }
}

/// Why an item that the grammar has read makes no tree.
#[derive(Debug)]
pub(super) struct Unbuilt {
    /// Where.
    pub at: Span,
    /// One clause, as a problem has it.
    pub message: String,
    /// What to write instead.
    pub help: &'static str,
}

/// A result that may be a refusal. It is boxed, since it hardly ever happens.
pub(super) type Built<T> = Result<T, Box<Unbuilt>>;

/// A walk over the pieces of one item.
pub(super) struct PieceWalk<'s, 'p> {
    text: &'s str,
    pieces: &'p [RulePiece],
    at: usize,
    base: usize,
    source: SourceId,
    /// How many parentheses are open.
    pub depth: usize,
}

impl<'s, 'p> PieceWalk<'s, 'p> {
    /// Begins a walk over the pieces of an item whose text begins at a byte of its source.
    pub fn new(text: &'s str, pieces: &'p [RulePiece], base: usize, source: SourceId) -> Self {
        Self { text, pieces, at: 0, base, source, depth: 0 }
    }

    /// Returns all pieces of the item.
    pub fn pieces(&self) -> &'p [RulePiece] {
        self.pieces
    }

    /// Returns the rule of the next piece.
    pub fn peek(&self) -> Option<Rule> {
        self.pieces.get(self.at).map(|piece| piece.rule)
    }

    /// Returns the rule of the next piece if it is a part of another.
    pub fn peek_in(&self, whole: RulePiece) -> Option<Rule> {
        if self.at < whole.next as usize { self.peek() } else { None }
    }

    /// Steps over the next piece and into its parts.
    pub fn take(&mut self) -> Built<RulePiece> {
        let Some(piece) = self.pieces.get(self.at) else { return self.odd() };
        self.at += 1;
        Ok(*piece)
    }

    /// Steps over the next piece, which must be of this rule.
    pub fn expect(&mut self, rule: Rule) -> Built<RulePiece> {
        if self.peek() == Some(rule) { self.take() } else { self.odd() }
    }

    /// Steps over the next piece if it is of this rule, and says whether it was.
    pub fn skip(&mut self, rule: Rule) -> bool {
        let there = self.peek() == Some(rule);
        self.at += usize::from(there);
        there
    }

    /// Returns the words of a piece.
    pub fn words(&self, piece: RulePiece) -> &'s str {
        self.text.get(piece.start as usize..piece.end as usize).unwrap_or_default()
    }

    /// Returns whether a blank stands before a piece.
    pub fn blank_before(&self, piece: RulePiece) -> bool {
        let before = (piece.start as usize).checked_sub(1).and_then(|at| self.text.as_bytes().get(at));
        before.is_some_and(u8::is_ascii_whitespace)
    }

    /// Returns the place of a piece.
    pub fn span(&self, piece: RulePiece) -> Span {
        Span::new(self.source, self.base + piece.start as usize, self.base + piece.end as usize)
    }

    /// Returns the place of a piece, as a tree keeps it.
    pub fn place(&self, piece: RulePiece) -> At {
        At(self.span(piece))
    }

    /// Joins a value with the place of a piece.
    pub fn spanned<T>(&self, value: T, piece: RulePiece) -> Spanned<T> {
        Spanned::new(value, self.span(piece))
    }

    /// Takes the next piece as a name.
    pub fn name(&mut self) -> Built<Name<'s>> {
        let piece = self.take()?;
        Ok(self.spanned(self.words(piece), piece))
    }

    /// Takes names up to the end of another piece.
    pub fn names(&mut self, whole: RulePiece) -> Built<Vec<Name<'s>>> {
        let mut names = Vec::new();
        while self.peek_in(whole).is_some() {
            names.push(self.name()?);
        }
        Ok(names)
    }

    /// Refuses the item at a place.
    pub fn refuse<T>(&self, at: Span, message: impl Into<String>, help: &'static str) -> Built<T> {
        Err(Box::new(Unbuilt { at, message: message.into(), help }))
    }

    /// Refuses the item because its pieces do not follow one another as the grammar says: a fault of this program.
    pub fn odd<T>(&self) -> Built<T> {
        let last = self.at.min(self.pieces.len().saturating_sub(1));
        let at = self.pieces.get(last).map(|piece| self.span(*piece)).unwrap_or_default();
        self.refuse(
            at,
            "this fits the grammar, and yet it could not be understood",
            "the fault is in this program: please report the item that it is shown at",
        )
    }
}
