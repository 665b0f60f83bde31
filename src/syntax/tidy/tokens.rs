//! The words and signs of one item in their canonical spelling, and its comments.
//!
//! Comes in: an item's text and the pieces that the grammar found in it. Goes out: tokens. Knows no lines.

use crate::syntax::build_value::{MONTHS, canonical, unfold};
use crate::syntax::grammar::Rule;
use crate::syntax::pieces::RulePiece;

/// What a token is to the layout.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum TokenSort {
    /// A word, a number or an operator.
    Word,
    /// `and` or `or` between conditions.
    Joint,
    /// A word before which a long value or mix may go on in a new line.
    Soft,
    /// A sign after which a long list may go on in a new line.
    Comma,
    /// An opening parenthesis.
    Open,
    /// A closing parenthesis.
    Close,
    /// A text in quotes.
    Text,
}

/// One word or sign.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// Its canonical spelling.
    pub text: String,
    /// What it is to the layout.
    pub sort: TokenSort,
    /// Whether it stands directly behind the one before it.
    pub glued: bool,
    /// In how many parentheses it stands.
    pub depth: usize,
    /// The number of the piece that it is, or whose neighbour it is.
    pub piece: usize,
    /// Its first byte in the item's text.
    pub start: usize,
    /// The byte after its last.
    pub end: usize,
}

/// One comment, from its `#` to the end of its line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Comment {
    /// Its text.
    pub text: String,
    /// Its first byte in the text.
    pub start: usize,
    /// Whether nothing but blanks stands before it in its line.
    pub own_line: bool,
    /// Whether it begins in the first column.
    pub first_column: bool,
    /// Whether the line before is blank.
    pub after_blank: bool,
}

/// Lists the tokens and the comments of an item.
pub(super) fn tokens(text: &str, pieces: &[RulePiece]) -> (Vec<Token>, Vec<Comment>) {
    let mut made = Tokens { text, tokens: Vec::new(), comments: Vec::new(), depth: 0 };
    let mut parents: Vec<(Rule, u32)> = Vec::new();
    let mut from = 0;
    for (at, piece) in pieces.iter().enumerate() {
        parents.retain(|(_, next)| *next > at as u32);
        if piece.next > at as u32 + 1 {
            parents.push((piece.rule, piece.next));
            continue;
        }
        made.between(from, piece.start as usize, at);
        if piece.rule != Rule::EOI {
            made.leaf(*piece, at, parents.last().map(|(rule, _)| *rule));
        }
        from = piece.end as usize;
    }
    made.between(from, text.len(), pieces.len());
    glue_rates(&mut made.tokens);
    (made.tokens, made.comments)
}

struct Tokens<'t> {
    text: &'t str,
    tokens: Vec<Token>,
    comments: Vec<Comment>,
    depth: usize,
}

impl Tokens<'_> {
    /// Takes signs and comments between two leaves.
    fn between(&mut self, start: usize, end: usize, next: usize) {
        let mut at = start;
        while let Some(sign) = self.text.get(at..end).and_then(|rest| rest.chars().next()) {
            let before = self.tokens.last().map_or(0, |last| last.piece);
            match sign {
                '#' => {
                    at = self.comment(at, end);
                    continue;
                }
                ',' => self.sign(",", TokenSort::Comma, true, before, at),
                '(' => {
                    self.sign("(", TokenSort::Open, false, next, at);
                    self.depth += 1;
                }
                ')' => {
                    self.depth = self.depth.saturating_sub(1);
                    self.sign(")", TokenSort::Close, true, before, at);
                }
                '/' => self.sign("/", TokenSort::Word, false, next, at),
                _ => {}
            }
            at += sign.len_utf8();
        }
    }

    fn sign(&mut self, text: &str, sort: TokenSort, glued: bool, piece: usize, at: usize) {
        self.push(text.to_owned(), sort, glued, piece, at, at + text.len());
    }

    fn push(&mut self, text: String, sort: TokenSort, glued: bool, piece: usize, start: usize, end: usize) {
        let behind_open = self.tokens.last().is_none_or(|last| last.sort == TokenSort::Open);
        self.tokens.push(Token {
            text,
            sort,
            glued: glued || behind_open,
            depth: self.depth,
            piece,
            start,
            end,
        });
    }

    /// Takes a comment and returns where it ends.
    fn comment(&mut self, start: usize, end: usize) -> usize {
        let rest = self.text.get(start..end).unwrap_or_default();
        let length = rest.find('\n').unwrap_or(rest.len());
        self.comments.push(comment_at(self.text, start, start + length));
        start + length
    }

    fn leaf(&mut self, piece: RulePiece, at: usize, parent: Option<Rule>) {
        let (start, end) = (piece.start as usize, piece.end as usize);
        let words = self.text.get(start..end).unwrap_or_default();
        let mut sort = TokenSort::Word;
        let text = match piece.rule {
            Rule::text => {
                sort = TokenSort::Text;
                quoted(&unfold(words.get(1..words.len().saturating_sub(1)).unwrap_or_default()))
            }
            Rule::unit | Rule::amount_unit | Rule::base_unit => canonical(words).unwrap_or(words).to_owned(),
            Rule::clock if words.len() < 5 => format!("0{words}"),
            Rule::kw_and | Rule::kw_or if matches!(parent, Some(Rule::condition | Rule::band_condition)) => {
                sort = TokenSort::Joint;
                words.to_owned()
            }
            Rule::plus | Rule::minus | Rule::kw_with => {
                sort = TokenSort::Soft;
                words.to_owned()
            }
            _ if words.contains([' ', '\t', '\n', '\r', '#']) => {
                self.comments_inside(start, end);
                if piece.rule == Rule::or_else {
                    sort = TokenSort::Soft;
                }
                phrase(words, piece.rule)
            }
            _ => words.to_owned(),
        };
        match text.split_once(' ') {
            // The clause's word is `kept`; `from` begins what follows it.
            Some((kept, from)) if piece.rule == Rule::kept_from => {
                self.push(kept.to_owned(), sort, false, at, start, start);
                self.push(from.to_owned(), sort, false, at, start, end);
            }
            _ => self.push(text, sort, false, at, start, end),
        }
    }

    /// Takes the comments between the words of a phrase.
    fn comments_inside(&mut self, start: usize, end: usize) {
        let mut at = start;
        while let Some(next) = self.text.get(at..end).and_then(|rest| rest.find('#')) {
            at = self.comment(at + next, end);
        }
    }
}

/// Returns the comment between two bytes of a text.
pub(super) fn comment_at(text: &str, start: usize, end: usize) -> Comment {
    let before = text.get(..start).unwrap_or_default();
    let line = before.rfind('\n').map_or(0, |at| at + 1);
    let lead = before.get(line..).unwrap_or_default();
    Comment {
        text: text.get(start..end).unwrap_or_default().trim_end().to_owned(),
        start,
        own_line: lead.trim_matches([' ', '\t', '\r', '\u{feff}']).is_empty(),
        first_column: lead.trim_matches('\u{feff}').is_empty(),
        after_blank: blank_line_before(text, line),
    }
}

/// Returns whether the line before the one that begins here is blank.
pub(super) fn blank_line_before(text: &str, line_start: usize) -> bool {
    let before = text.get(..line_start).unwrap_or_default();
    before.strip_suffix('\n').is_some_and(|before| {
        let last = before.rsplit('\n').next().unwrap_or_default();
        last.trim_matches([' ', '\t', '\r', '\u{feff}']).is_empty()
    })
}

/// Returns a phrase with one blank between its words, and a day as its number and month.
fn phrase(words: &str, rule: Rule) -> String {
    let lines = words.split('\n').map(|line| line.split('#').next().unwrap_or_default());
    let parts: Vec<&str> = lines.flat_map(str::split_whitespace).collect();
    match (rule, parts.as_slice()) {
        (Rule::day_of_year, [day, month]) if MONTHS.contains(month) => {
            let day = day.trim_start_matches('0');
            format!("{} {month}", if day.is_empty() { "0" } else { day })
        }
        _ => parts.join(" "),
    }
}

/// Returns a text in quotes, with its escapes, as a rulebook writes it.
pub fn quoted(value: &str) -> String {
    let mut out = String::with_capacity(value.len() + 2);
    out.push('"');
    for sign in value.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            _ => out.push(sign),
        }
    }
    out.push('"');
    out
}

/// Writes `g/L` without blanks, as the trade does; any other rate has them: `lb / 100 gal`.
fn glue_rates(tokens: &mut [Token]) {
    for at in 1..tokens.len() {
        let per_litre = tokens.get(at).is_some_and(|token| token.text == "L");
        let slash =
            tokens.get(at - 1).is_some_and(|token| token.text == "/" && token.piece == at_piece(tokens, at));
        if per_litre && slash {
            for glued in [at - 1, at] {
                if let Some(token) = tokens.get_mut(glued) {
                    token.glued = true;
                }
            }
        }
    }
}

fn at_piece(tokens: &[Token], at: usize) -> usize {
    tokens.get(at).map_or(0, |token| token.piece)
}
