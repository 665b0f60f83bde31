//! Reads one item: to its tree, or to everything that can be said about what is wrong in it.
//!
//! Comes in: the text of one item. Goes out: the item, or problems. Knows no other item.

use super::build_item::{item_kind, omitted_kind};
use super::explain::{self, Stop, Unread};
use super::found;
use super::grammar::{self, Rule};
use super::pieces::{self, PieceWalk, RulePiece};
use super::tree::{Clause, Item, ItemKind, Name, Spanned, UnreadItem};
use super::words::{self, with_article};
use crate::problems::{Finding, Problem, nearest};
use crate::source::{SourceId, Span};

/// The largest item that is read, in bytes.
pub(super) const LARGEST: usize = 1 << 20;

/// How many problems of one item are reported.
const MOST_PROBLEMS: usize = 5;

/// The text of one item and its place.
#[derive(Clone, Copy)]
pub(super) struct ItemText<'s> {
    /// From its first column to the next item.
    pub text: &'s str,
    /// The byte at which it begins in its source.
    pub base: usize,
    /// Its source.
    pub source: SourceId,
}

/// Why an item is not in the tree.
pub(super) struct Failure<'s> {
    /// The item, as far as its head could be read.
    pub unread: Option<UnreadItem<'s>>,
    /// A head that names a base, as far as it could be read: what builds on that base is not mistaken because of it.
    pub head: Option<Item<'s>>,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
}

impl<'s> ItemText<'s> {
    /// Reads the item; its pieces stay in the list that is lent for them.
    pub fn read(self, pieces: &mut Vec<RulePiece>) -> Result<Item<'s>, Failure<'s>> {
        let word = first_word(self.text);
        let Some(rule) = head_rule(word) else { return Err(self.unknown(word)) };
        if self.text.len() > LARGEST {
            let message = "this item is larger than 1 MB";
            let help = "split it into several items";
            return Err(self.failure(vec![self.problem(word.len(), message).help(help)]));
        }
        let error = match grammar::read(rule, self.text) {
            Ok(pairs) => {
                pieces::flatten(pairs, pieces);
                let refusal = match PieceWalk::new(self.text, pieces, self.base, self.source).item() {
                    Ok(item) => return Ok(item),
                    Err(refusal) => refusal,
                };
                let problem = Problem::new(Finding::Syntax, refusal.at, refusal.message).help(refusal.help);
                return Err(self.failure(vec![problem]));
            }
            Err(error) => Stop::new(error),
        };
        let head = self.head_before(&error, pieces);
        Err(Failure { head, ..self.failure(self.problems(error)) })
    }

    /// Reads a head up to the line at which reading stopped, with the base that it names there or behind.
    fn head_before(&self, stop: &Stop, pieces: &mut Vec<RulePiece>) -> Option<Item<'s>> {
        if self.kind().0 != Some(ItemKind::Rulebook) {
            return None;
        }
        let before = self.text.get(..self.text.get(..stop.at)?.rfind('\n')? + 1)?;
        pieces::flatten(grammar::read(grammar::item_rule(ItemKind::Rulebook), before).ok()?, pieces);
        let item = PieceWalk::new(before, pieces, self.base, self.source).item().ok()?;
        let mut item = item;
        let names_base = |clause: &Spanned<Clause<'_>>| matches!(clause.value, Clause::BuildsOn(..));
        if !item.clauses.iter().any(names_base) {
            item.clauses.push(self.base_behind(stop.at)?);
        }
        Some(item)
    }

    /// Returns the clause of a head that names its base, behind clauses that cannot be read: these are passed over.
    fn base_behind(&self, stop: usize) -> Option<Spanned<Clause<'s>>> {
        let (mut text, mut at) = (self.text.to_owned(), stop);
        for _ in 0..MOST_PROBLEMS {
            let start = text.get(..at)?.rfind('\n')? + 1;
            let end = self.next_clause(ItemKind::Rulebook, at).unwrap_or(text.len());
            let blank = " ".repeat(end.checked_sub(start)?);
            text.replace_range(start..end, &blank);
            let mut pieces = Vec::new();
            match grammar::read(grammar::item_rule(ItemKind::Rulebook), &text) {
                Ok(pairs) => pieces::flatten(pairs, &mut pieces),
                Err(error) => {
                    at = Stop::new(error).at;
                    continue;
                }
            }
            let item = PieceWalk::new(&text, &pieces, self.base, self.source).item().ok()?;
            return item.clauses.into_iter().find_map(|clause| match clause.value {
                Clause::BuildsOn(path, edition) => {
                    Some(Spanned::new(Clause::BuildsOn(path, edition), clause.span))
                }
                _ => None,
            });
        }
        None
    }

    /// Explains the first place at which reading stopped, and those behind it that a later clause shows.
    fn problems(&self, first: Stop) -> Vec<Problem> {
        let (kind, _) = self.kind();
        let unread = Unread { text: self.text, kind, base: self.base, source: self.source };
        let mut problems = vec![unread.explain(&first)];
        let open_text = found::broken_text(self.text, &[]).is_some();
        let Some((kind, rule)) = kind.and_then(|kind| Some((kind, grammar::rest_rule(kind, self.text)?)))
        else {
            return problems;
        };
        let (mut from, mut begun) = (self.line_before_clause(kind, &first, 0), 0);
        while !open_text && !first.too_deep && problems.len() < MOST_PROBLEMS {
            let Some(start) = self.next_clause(kind, from).filter(|start| *start > begun) else { break };
            begun = start;
            let rest = self.text.get(start..).unwrap_or_default();
            let Err(error) = grammar::read(rule, rest) else { break };
            let stop = Stop::new(error);
            let rest = Unread { text: rest, base: self.base + start, ..unread };
            problems.push(rest.explain(&stop));
            from = self.line_before_clause(kind, &stop, start);
        }
        problems
    }

    /// Returns from where to look for the next clause: where a clause begins the line that reading stopped at, it is
    /// the one before that lacks something.
    fn line_before_clause(&self, kind: ItemKind, stop: &Stop, start: usize) -> usize {
        let at = start + stop.at;
        let before = self.text.get(..at).unwrap_or_default().trim_end_matches([' ', '\t']);
        let rest = self.text.get(at..).unwrap_or_default();
        let begins = words::clauses(kind).iter().any(|words| found::begins_with(rest, words));
        if begins && before.ends_with('\n') && !stop.tried(Rule::EOI) { before.len() - 1 } else { at }
    }

    /// Finds the next line behind a place that begins with a clause of the item.
    fn next_clause(&self, kind: ItemKind, from: usize) -> Option<usize> {
        // A line that begins with `with` may as well go on with a tank mix.
        let clauses = || words::clauses(kind).iter().filter(|words| **words != "with");
        let mut at = from;
        loop {
            at += self.text.get(at..)?.find('\n')? + 1;
            let line = self.text.get(at..)?.split('\n').next()?;
            let blanks = line.len() - line.trim_start().len();
            if clauses().any(|words| found::begins_with(line, words)) {
                return Some(at + blanks);
            }
        }
    }

    /// An item whose first word begins no item.
    fn unknown(&self, word: &str) -> Failure<'s> {
        let items = || ItemKind::ALL.iter().map(|kind| kind.word()).chain(["replace", "omit"]);
        let owner = ItemKind::ALL
            .iter()
            .find(|kind| words::clauses(**kind).iter().any(|clause| found::begins_with(self.text, clause)));
        if word.is_empty() {
            let sign = found::token(self.text, 0);
            let message = format!("an item cannot begin with {}", found::quoted(sign));
            let help = "an item begins in the first column with a word such as `gate`; what belongs to the item above is indented";
            return self.failure(vec![self.problem(sign.len(), message).help(help)]);
        }
        let problem = self.problem(word.len(), format!("unknown item {}", found::quoted(word)));
        let problem =
            match (owner, (word.len() < 40).then(|| nearest(&word.to_lowercase(), items())).flatten()) {
                (Some(owner), _) => {
                    let message =
                        format!("`{word}` begins no item: it is a clause of {}", with_article(owner.word()));
                    self.problem(word.len(), message).help(format!("indent it: `  {word} …`"))
                }
                (None, Some(near)) => problem.help(format!("did you mean `{near}`?")),
                (None, None) => {
                    let all: Vec<String> =
                        ItemKind::ALL.iter().map(|kind| format!("`{}`", kind.word())).collect();
                    problem.help(format!(
                        "a line in the first column begins an item: {}",
                        words::joined(&all, "or")
                    ))
                }
            };
        self.failure(vec![problem])
    }

    fn problem(&self, length: usize, message: impl Into<crate::phrase::Phrase>) -> Problem {
        Problem::new(Finding::Syntax, Span::new(self.source, self.base, self.base + length), message)
    }

    fn failure(&self, problems: Vec<Problem>) -> Failure<'s> {
        Failure { unread: self.unread(), head: None, problems }
    }

    /// Returns which item this is, and what stands behind the word that says so.
    fn kind(&self) -> (Option<ItemKind>, usize) {
        let word = first_word(self.text);
        if !matches!(word, "replace" | "omit") {
            return (item_kind(word), word.len());
        }
        let rest = self.text.get(word.len()..).unwrap_or_default();
        let inner = rest.trim_start();
        let second = first_word(inner);
        let kind = if word == "omit" { omitted_kind(second) } else { item_kind(second) };
        (kind, self.text.len() - inner.len() + second.len())
    }

    /// Returns the kind and name of an item that could not be read.
    fn unread(&self) -> Option<UnreadItem<'s>> {
        let (kind, end) = self.kind();
        let inner = self.text.get(end..)?.trim_start();
        let name = first_word(inner);
        if !explain::is_name(name) {
            return None;
        }
        let start = self.base + self.text.len() - inner.len();
        let span = Span::new(self.source, start, start + name.len());
        Some(UnreadItem { kind: kind?, name: Name::new(name, span) })
    }
}

/// Returns the rule that reads an item which begins with this word.
fn head_rule(word: &str) -> Option<Rule> {
    match word {
        "replace" => Some(Rule::replace),
        "omit" => Some(Rule::omit),
        _ => item_kind(word).map(grammar::item_rule),
    }
}

/// Returns the word that a text begins with.
fn first_word(text: &str) -> &str {
    let end = text.find(|sign: char| !(sign.is_ascii_alphanumeric() || sign == '-' || sign == '_'));
    text.get(..end.unwrap_or(text.len())).unwrap_or_default()
}
