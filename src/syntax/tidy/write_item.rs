//! Writes one item: its clauses below one another, their words padded to a common column.
//!
//! Comes in: the entries of an item. Goes out: lines with their comments. Knows no other item.

use super::entries::{ClauseEntry, Entries, EntryRole};
use super::layout::{TidyLines, WIDTH, flat, width};
use super::tokens::{Comment, Token, TokenSort};

/// The blanks before a clause.
const INDENT: usize = 2;

/// The narrowest column of clause words.
const NARROWEST: usize = 8;

/// The longest word that the others of an item are padded to.
const LONGEST: usize = 12;

/// One line of the tidy text.
#[derive(Debug, Default)]
pub(super) struct TidyLine {
    /// What stands in it.
    pub text: String,
    /// The comment at its end.
    pub comment: Option<String>,
}

impl TidyLine {
    /// Makes a line that holds one comment.
    pub fn of(comment: &Comment, indent: usize) -> Self {
        Self { text: format!("{}{}", " ".repeat(indent), comment.text), comment: None }
    }
}

/// Writes an item; its head may have been padded by whoever aligns it with its neighbours.
pub(super) fn write(entries: &Entries, head: Option<&str>) -> Vec<TidyLine> {
    let mut out: Vec<TidyLine> = entries.above.iter().map(|comment| TidyLine::of(comment, 0)).collect();
    let columns = ClauseWidths::of(&entries.list);
    for entry in &entries.list {
        let indent = match entry.role {
            EntryRole::Head => 0,
            EntryRole::OfBandRow => columns.content(),
            _ => INDENT,
        };
        out.extend(entry.before.iter().map(|comment| TidyLine::of(comment, indent)));
        let lines = match (entry.role, head) {
            (EntryRole::Head, Some(head)) => vec![head.to_owned()],
            (EntryRole::Head, None) => {
                let mut lines = TidyLines::new(String::new());
                lines.lay(&entry.tokens, 2 * INDENT);
                lines.lines
            }
            _ => columns.write(entry),
        };
        let last = lines.len().saturating_sub(1);
        out.extend(lines.into_iter().enumerate().map(|(at, line)| {
            let comment = entry.behind.as_ref().filter(|_| at == last).map(|comment| comment.text.clone());
            TidyLine { text: line.trim_end_matches(' ').to_owned(), comment }
        }));
    }
    out.extend(entries.end.iter().map(|comment| TidyLine::of(comment, INDENT)));
    out
}

/// The widths that the clauses of an item share.
#[derive(Debug, Default)]
struct ClauseWidths {
    /// The clause words.
    words: usize,
    /// Each key of a table's rows, without its comma.
    keys: Vec<usize>,
    /// From the indent to the cells of a table.
    cells: usize,
    /// The names of a scale's stages.
    stages: usize,
    /// The codes of a scale's stages.
    codes: usize,
    /// The names of a product's strengths.
    strengths: usize,
    /// The amounts that a tally adds under a condition.
    amounts: usize,
}

impl ClauseWidths {
    fn of(entries: &[ClauseEntry]) -> Self {
        let mut columns = Self { words: NARROWEST, ..Self::default() };
        let mut has_rows = false;
        for entry in entries {
            let (words, rest) = entry.tokens.split_at(entry.words.min(entry.tokens.len()));
            match entry.role {
                EntryRole::Head | EntryRole::Bare | EntryRole::OfBandRow => {}
                EntryRole::Stage => {
                    columns.stages = columns.stages.max(width(words));
                    columns.codes = columns.codes.max(width(codes(rest)));
                }
                EntryRole::Row => {
                    has_rows = true;
                    for (at, key) in keys(words).into_iter().enumerate() {
                        columns.keys.resize(columns.keys.len().max(at + 1), 0);
                        if let Some(widest) = columns.keys.get_mut(at) {
                            *widest = (*widest).max(width(key));
                        }
                    }
                }
                EntryRole::Clause
                | EntryRole::Otherwise
                | EntryRole::BandRow
                | EntryRole::Strength
                | EntryRole::Add => {
                    if words.len() == 1 && !flat(words).contains(' ') && width(words) <= LONGEST {
                        columns.words = columns.words.max(width(words));
                    }
                    let amount = width(amount(rest));
                    if entry.role == EntryRole::Add && amount < width(rest) && amount <= LONGEST {
                        columns.amounts = columns.amounts.max(amount);
                    }
                    if entry.role == EntryRole::Strength {
                        columns.strengths = columns
                            .strengths
                            .max(rest.first().map_or(0, |name| width(std::slice::from_ref(name))));
                    }
                }
            }
        }
        if has_rows {
            let commas = 2 * columns.keys.len().saturating_sub(1);
            columns.cells = (columns.keys.iter().sum::<usize>() + commas + 2).max(columns.words + 1);
        }
        columns
    }

    /// Returns the column at which what follows the clause words begins.
    fn content(&self) -> usize {
        INDENT + self.words + 1
    }

    /// Writes a clause.
    fn write(&self, entry: &ClauseEntry) -> Vec<String> {
        let (words, rest) = entry.tokens.split_at(entry.words.min(entry.tokens.len()));
        let blank = " ".repeat(INDENT);
        let (head, rest, indent) = match entry.role {
            EntryRole::Head | EntryRole::Bare => (blank, &entry.tokens[..], self.content()),
            EntryRole::Clause => (self.padded(words), rest, self.content()),
            EntryRole::BandRow => (self.padded(words), rest, self.content() + 3),
            EntryRole::OfBandRow => {
                let indent = self.content() + "because ".len();
                (format!("{}{:<8}", " ".repeat(self.content()), flat(words)), rest, indent)
            }
            EntryRole::Otherwise => {
                let cells = self.cells.max(self.words + 1);
                (format!("{blank}{:<cells$}", flat(words)), rest, self.content())
            }
            EntryRole::Row => (format!("{blank}{:<1$}", self.row(words), self.cells), rest, self.content()),
            EntryRole::Stage => {
                (format!("{blank}{}", self.stage(words, rest)), text_of(rest), self.content())
            }
            EntryRole::Strength => {
                let (name, amount) = rest.split_at(rest.len().min(1));
                let padded = format!("{}{:<2$}", self.padded(words), flat(name), self.strengths + 2);
                (padded, amount, self.content())
            }
            EntryRole::Add => {
                let amount = amount(rest);
                let condition = rest.get(amount.len()..).unwrap_or_default();
                let wide = width(amount) > LONGEST || condition.is_empty();
                let column = if wide { width(amount) + 1 } else { self.amounts + 2 };
                if WIDTH < self.content() + column {
                    (self.padded(words), rest, self.content())
                } else {
                    let padded = format!("{}{:<column$}", self.padded(words), flat(amount));
                    (padded, condition, self.content() + 3)
                }
            }
        };
        let mut lines = TidyLines::new(head);
        lines.lay(rest, indent);
        lines.lines
    }

    /// Returns clause words behind the indent, padded to the column of what follows.
    fn padded(&self, words: &[Token]) -> String {
        format!("{}{:<2$} ", " ".repeat(INDENT), flat(words), self.words)
    }

    /// Returns the keys of a table's row, each padded to its column.
    fn row(&self, words: &[Token]) -> String {
        let keys = keys(words);
        let last = keys.len().saturating_sub(1);
        let mut out = String::new();
        for (at, key) in keys.into_iter().enumerate() {
            let column = self.keys.get(at).map_or(0, |widest| widest + 1);
            match at == last {
                true => out += &flat(key),
                false => out += &format!("{:<column$} ", format!("{},", flat(key))),
            }
        }
        out
    }

    /// Returns a stage's name and codes, each padded where something follows.
    fn stage(&self, name: &[Token], rest: &[Token]) -> String {
        if rest.is_empty() {
            return flat(name);
        }
        let name = format!("{:<1$}", flat(name), self.stages + 2);
        if self.codes == 0 {
            return name;
        }
        format!("{name}{:<1$}", flat(codes(rest)), self.codes + 2)
    }
}

/// Splits the keys of a row, and drops the commas between them.
fn keys(words: &[Token]) -> Vec<&[Token]> {
    words.split(|token| token.sort == TokenSort::Comma).collect()
}

/// Returns the codes of a stage.
fn codes(rest: &[Token]) -> &[Token] {
    let count = rest.iter().take_while(|token| token.sort != TokenSort::Text).count();
    rest.get(..count).unwrap_or_default()
}

/// Returns the label of a stage.
fn text_of(rest: &[Token]) -> &[Token] {
    rest.get(codes(rest).len()..).unwrap_or_default()
}

/// Returns what a tally adds, without its condition.
fn amount(rest: &[Token]) -> &[Token] {
    let count = rest.iter().take_while(|token| token.depth > 0 || token.text != "if").count();
    rest.get(..count).unwrap_or_default()
}
