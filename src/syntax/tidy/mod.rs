//! The one canonical form of a rulebook.
//!
//! Comes in: the text of a rulebook. Goes out: the same rulebook, item by item and clause by clause in its own order,
//! with its comments. Knows no meaning.

mod tokens;
mod layout;
mod entries;
mod write_item;
mod clauses;

use super::cut::{self, Cuts};
use super::parse_text;
use super::read_item::{ItemText, LARGEST};
use super::tree::Tree;
use crate::problems::{Finding, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
pub use clauses::{ClauseLine, ItemClauses};
use entries::{ClauseEntry, Entries, EntryRole};
use layout::{WIDTH, flat, width};
pub use tokens::quoted;
use tokens::{Comment, Token};
use write_item::TidyLine;

/// The column right of which comments at the ends of lines are not aligned.
const LAST_COMMENT_COLUMN: usize = 72;

/// Returns the canonical form of a rulebook, or what keeps it from being read.
pub fn tidy(sources: &Sources, id: SourceId) -> Result<String, Problems> {
    sources.get(id).map_or_else(|| Ok(String::new()), |source| tidy_text(&source.text, id))
}

/// Returns the canonical form of a rulebook's text, which bears this number among its sources.
pub fn tidy_text(text: &str, id: SourceId) -> Result<String, Problems> {
    let (tree, problems) = parse_text(text, id);
    if problems.any_error() {
        return Err(problems);
    }
    let cuts = cut::cut(text);
    let blocks = blocks(text, &cuts, id);
    let out = printed(&arranged(&blocks));
    if same(text, &tree, &out, id) {
        return Ok(out);
    }
    let mut problems = Problems::default();
    let too_large = cut::cut(&out).items.into_iter().any(|item| item.len() > LARGEST);
    let (message, help) = if too_large {
        ("an item of this rulebook would be larger than 1 MB in its tidy form", "split it into several items")
    } else {
        let help = "the fault is in this program: please report this file";
        ("the tidy form of this rulebook would not mean the same, so it is left as it is", help)
    };
    problems.push(Problem::new(Finding::Syntax, Span::new(id, 0, 0), message).help(help));
    Err(problems)
}

/// Returns whether the tidy text has the same tree and the same comments as the text.
fn same(text: &str, tree: &Tree<'_>, out: &str, id: SourceId) -> bool {
    let (tidied, problems) = parse_text(out, id);
    problems.is_empty() && *tree == tidied && comment_texts(text) == comment_texts(out)
}

/// Returns the comments of a text in the order of their words, found by quotes and `#` alone.
fn comment_texts(text: &str) -> Vec<&str> {
    let (mut found, mut at, mut in_text) = (Vec::new(), 0, false);
    let bytes = text.as_bytes();
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'\\' if in_text => at += 1,
            b'"' => in_text = !in_text,
            b'#' if !in_text => {
                let rest = text.get(at..).unwrap_or_default();
                let line = rest.split('\n').next().unwrap_or_default();
                found.push(line.trim_end());
                at += line.len();
            }
            _ => {}
        }
        at += 1;
    }
    found.sort_unstable();
    found
}

/// An item, or comments that belong to none.
struct ItemBlock {
    /// Comments before it, each in its own line.
    leading: Vec<Comment>,
    /// The item.
    entries: Option<Entries>,
    /// Whether a blank line stands before its head.
    after_blank: bool,
}

impl ItemBlock {
    /// Returns the tokens of the head where the whole item is one line of at most the width.
    fn one_line(&self) -> Option<&[Token]> {
        let entries = self.entries.as_ref()?;
        let [head] = entries.list.as_slice() else { return None };
        let bare = entries.above.is_empty() && entries.end.is_empty() && head.before.is_empty();
        (head.role == EntryRole::Head && bare && width(&head.tokens) <= WIDTH).then_some(&head.tokens[..])
    }
}

/// Reads a text into items and the comments before each; the last block holds the comments behind the last item.
fn blocks(text: &str, cuts: &Cuts, id: SourceId) -> Vec<ItemBlock> {
    let mut blocks = Vec::new();
    let mut leading = comments_before(text, cuts);
    let mut pieces = Vec::new();
    for range in &cuts.items {
        let item =
            ItemText { text: text.get(range.clone()).unwrap_or_default(), base: range.start, source: id };
        if item.read(&mut pieces).is_err() {
            continue;
        }
        let (tokens, comments) = tokens::tokens(item.text, &pieces);
        let mut entries = entries::entries(&pieces, tokens, comments);
        let after = std::mem::take(&mut entries.after);
        let after_blank = tokens::blank_line_before(text, range.start);
        blocks.push(ItemBlock {
            leading: std::mem::replace(&mut leading, after),
            entries: Some(entries),
            after_blank,
        });
    }
    if !leading.is_empty() {
        blocks.push(ItemBlock { leading, entries: None, after_blank: false });
    }
    blocks
}

/// Returns the comments before the first item.
fn comments_before(text: &str, cuts: &Cuts) -> Vec<Comment> {
    let (mut comments, mut at) = (Vec::new(), cuts.before.start);
    for line in text.get(cuts.before.clone()).unwrap_or_default().split_inclusive('\n') {
        if let Some(start) = line.find('#') {
            let end = line.trim_end().len();
            comments.push(tokens::comment_at(text, at + start, at + end));
        }
        at += line.len();
    }
    comments
}

/// Puts the blocks below one another, with a blank line between them.
///
/// Items of one line that stand directly below one another stay so, with their signs of equality aligned.
fn arranged(blocks: &[ItemBlock]) -> Vec<TidyLine> {
    let mut lines: Vec<TidyLine> = Vec::new();
    let mut at = 0;
    while let Some(block) = blocks.get(at) {
        if !lines.is_empty() {
            lines.push(TidyLine::default());
        }
        for (number, comment) in block.leading.iter().enumerate() {
            if number > 0 && comment.after_blank {
                lines.push(TidyLine::default());
            }
            lines.push(TidyLine::of(comment, 0));
        }
        let Some(entries) = &block.entries else { break };
        if block.after_blank && !block.leading.is_empty() {
            lines.push(TidyLine::default());
        }
        let run = run(blocks.get(at..).unwrap_or_default());
        if run.len() < 2 {
            lines.extend(write_item::write(entries, None));
            at += 1;
            continue;
        }
        let heads = heads(&run);
        for (block, head) in blocks.iter().skip(at).zip(&heads) {
            if let Some(entries) = &block.entries {
                lines.extend(write_item::write(entries, Some(head)));
            }
        }
        at += run.len();
    }
    lines
}

/// Returns the heads of the items at the beginning of a list that stand directly below one another, a line each.
fn run(blocks: &[ItemBlock]) -> Vec<&[Token]> {
    let family = |tokens: &[Token]| match tokens.first().map(|word| word.text.as_str()) {
        Some("daily" | "hourly") => "hourly".to_owned(),
        word => word.unwrap_or_default().to_owned(),
    };
    let mut run: Vec<&[Token]> = Vec::new();
    for block in blocks {
        let Some(head) = block.one_line() else { break };
        let Some(first) = run.first() else {
            run.push(head);
            continue;
        };
        if block.after_blank || !block.leading.is_empty() || family(first) != family(head) {
            break;
        }
        run.push(head);
    }
    run
}

/// Returns the heads with their words and names padded, except where that would make a line too long.
fn heads(run: &[&[Token]]) -> Vec<String> {
    let parts: Vec<[&[Token]; 3]> = run.iter().map(|tokens| head_parts(tokens)).collect();
    let widest = |part: usize| {
        parts.iter().filter_map(|parts| parts.get(part)).map(|tokens| width(tokens)).max().unwrap_or_default()
    };
    let (words, names) = (widest(0), widest(1));
    let padded = parts.iter().zip(run).map(|([word, name, rest], tokens)| {
        if words + names + width(rest) + 2 > WIDTH {
            return flat(tokens);
        }
        format!("{:<words$} {:<names$} {}", flat(word), flat(name), flat(rest))
            .trim_end_matches(' ')
            .to_owned()
    });
    padded.collect()
}

/// Splits a head into its words, its name, and what stands from `=` or the label on.
fn head_parts(tokens: &[Token]) -> [&[Token]; 3] {
    let overlay = tokens.first().is_some_and(|word| matches!(word.text.as_str(), "replace" | "omit"));
    let (words, rest) = tokens.split_at((1 + usize::from(overlay)).min(tokens.len()));
    let equals = rest.iter().position(|token| token.text == "=");
    let (name, rest) = rest.split_at(equals.unwrap_or(rest.len().min(1)));
    [words, name, rest]
}

/// Prints the lines, and aligns the comments at the ends of lines that follow one another.
fn printed(lines: &[TidyLine]) -> String {
    let mut out = String::new();
    let column_of = |line: &TidyLine| line.text.chars().count() + 2;
    for lines in lines.chunk_by(|line, next| line.comment.is_some() == next.comment.is_some()) {
        let column = lines.iter().map(column_of).max().unwrap_or_default();
        for line in lines {
            out += &line.text;
            if let Some(comment) = &line.comment {
                let column = if column <= LAST_COMMENT_COLUMN { column } else { column_of(line) };
                out += &" ".repeat(column.saturating_sub(line.text.chars().count()));
                out += comment;
            }
            out.push('\n');
        }
    }
    out
}
