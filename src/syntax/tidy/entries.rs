//! The lines that an item is written in: its head and its clauses, each with its comments.
//!
//! Comes in: tokens, comments and pieces of an item. Goes out: entries, in their order. Knows no columns.

use super::tokens::{Comment, Token};
use crate::syntax::build_item::edition_is_the_bases;
use crate::syntax::grammar::Rule;
use crate::syntax::pieces::RulePiece;

/// What an entry is to the alignment.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum EntryRole {
    /// The item's first line.
    Head,
    /// A clause that begins with its words.
    Clause,
    /// A row of a table.
    Row,
    /// `otherwise` of a table, which stands in line with the rows.
    Otherwise,
    /// A stage of a scale.
    Stage,
    /// A row of a band that raises.
    BandRow,
    /// `because` or `cites` of a band's row.
    OfBandRow,
    /// A strength of a product.
    Strength,
    /// An `add` of a tally.
    Add,
    /// A condition without a word of its own, and a row of a band that caps.
    Bare,
}

/// One clause, or the head of an item.
#[derive(Clone, Debug)]
pub(super) struct ClauseEntry {
    /// What it is.
    pub role: EntryRole,
    /// Its tokens.
    pub tokens: Vec<Token>,
    /// How many tokens are its words, such as `valid if`, or the keys of its row.
    pub words: usize,
    /// Comments that stand before it, each in its own line.
    pub before: Vec<Comment>,
    /// The comment at its end.
    pub behind: Option<Comment>,
}

/// An item in entries.
#[derive(Debug)]
pub(super) struct Entries {
    /// The head, and the clauses.
    pub list: Vec<ClauseEntry>,
    /// Comments that stand before the head because they stood within it.
    pub above: Vec<Comment>,
    /// Indented comments at its end.
    pub end: Vec<Comment>,
    /// Comments behind it that belong to what follows.
    pub after: Vec<Comment>,
}

/// Sorts the tokens and comments of an item into entries.
pub(super) fn entries(pieces: &[RulePiece], tokens: Vec<Token>, comments: Vec<Comment>) -> Entries {
    let starts = starts(pieces);
    let mut list: Vec<ClauseEntry> = starts
        .iter()
        .map(|(_, role, words)| ClauseEntry {
            role: *role,
            tokens: Vec::new(),
            words: *words,
            before: Vec::new(),
            behind: None,
        })
        .collect();
    for token in tokens {
        let number = starts.partition_point(|(piece, _, _)| *piece <= token.piece).saturating_sub(1);
        if let Some(entry) = list.get_mut(number) {
            entry.tokens.push(token);
        }
    }
    for entry in list.iter_mut().filter(|entry| entry.role == EntryRole::Row) {
        let cell = entry.words;
        entry.words = entry.tokens.iter().take_while(|token| token.piece < cell).count();
    }
    list.retain(|entry| !entry.tokens.is_empty());
    let mut made = Entries { list, above: Vec::new(), end: Vec::new(), after: Vec::new() };
    for comment in comments {
        made.place(comment);
    }
    made
}

impl Entries {
    /// Gives a comment to the clause that it precedes or trails.
    fn place(&mut self, comment: Comment) {
        let start = |entry: &ClauseEntry| entry.tokens.first().map_or(0, |token| token.start);
        let next = self.list.partition_point(|entry| start(entry) <= comment.start);
        let count = self.list.len();
        let current = next.checked_sub(1).and_then(|at| self.list.get_mut(at));
        let within = current
            .as_ref()
            .and_then(|entry| entry.tokens.last())
            .is_some_and(|last| comment.start < last.end);
        match current {
            Some(entry) if within && entry.role == EntryRole::Head => self.above.push(comment),
            Some(entry) if within => entry.before.push(comment),
            Some(entry) if !comment.own_line && entry.behind.is_none() => entry.behind = Some(comment),
            _ if next < count => {
                if let Some(entry) = self.list.get_mut(next) {
                    entry.before.push(comment);
                }
            }
            _ if comment.first_column || !self.after.is_empty() => self.after.push(comment),
            _ => self.end.push(comment),
        }
    }
}

/// Returns the pieces that begin an entry, what each is, and how many tokens are its words; for a row of a table, the
/// piece that its cell begins with.
fn starts(pieces: &[RulePiece]) -> Vec<(usize, EntryRole, usize)> {
    let mut starts = vec![(0, EntryRole::Head, 0)];
    let root = usize::from(pieces.first().is_some_and(|piece| piece.rule == Rule::replace)) * 2;
    let the_bases = edition_is_the_bases(pieces);
    let end = pieces.get(root).map_or(0, |piece| piece.next as usize);
    let (mut at, mut behind_equals) = (root + 1, false);
    while at < end {
        let Some(piece) = pieces.get(at) else { break };
        let (rule, next) = (piece.rule, piece.next as usize);
        let of_head = behind_equals || next == at + 1;
        behind_equals = rule == Rule::equals;
        if !of_head {
            let (role, words) = role(rule, pieces.get(at + 1).map(|first| first.rule));
            let is_cell = |part: &usize| pieces.get(*part).is_some_and(|part| part.rule == Rule::cell);
            let cell = (at..next).find(is_cell).filter(|_| role == EntryRole::Row);
            starts.push((at, role, cell.unwrap_or(words)));
            let inner = (at + 1..next).filter(|inner| {
                pieces.get(*inner).is_some_and(|inner| match inner.rule {
                    Rule::because | Rule::cites => rule == Rule::band_row,
                    Rule::edition => rule == Rule::builds_on && !the_bases,
                    _ => false,
                })
            });
            let inner_role = if rule == Rule::band_row { EntryRole::OfBandRow } else { EntryRole::Clause };
            starts.extend(inner.map(|inner| (inner, inner_role, 1)));
        }
        at = next;
    }
    starts
}

/// Returns what a clause is to the alignment, and how many tokens are its words.
fn role(rule: Rule, first: Option<Rule>) -> (EntryRole, usize) {
    match rule {
        Rule::row => (EntryRole::Row, 0),
        Rule::otherwise => (EntryRole::Otherwise, 1),
        Rule::stage => (EntryRole::Stage, 1),
        Rule::band_row if first == Some(Rule::at_most) => (EntryRole::Bare, 0),
        Rule::band_row => (EntryRole::BandRow, 1),
        Rule::condition => (EntryRole::Bare, 0),
        Rule::strength => (EntryRole::Strength, 1),
        Rule::add => (EntryRole::Add, 1),
        Rule::waits_for | Rule::valid_if | Rule::days_begin => (EntryRole::Clause, 2),
        _ => (EntryRole::Clause, 1),
    }
}
