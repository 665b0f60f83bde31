//! Breaks what is too long for a line: conditions before `and` and `or`, lists after a comma, texts at a blank.
//!
//! Comes in: the tokens of a clause. Goes out: lines. Knows no clauses.

use super::tokens::{Token, TokenSort};

/// The longest line, in characters.
pub(super) const WIDTH: usize = 100;

/// A text that begins right of this begins in a new line instead.
const LAST_TEXT_COLUMN: usize = 64;

/// Lines in the making: the last one may still grow.
pub(super) struct TidyLines {
    /// The lines.
    pub lines: Vec<String>,
}

impl TidyLines {
    /// Begins with the head of a first line.
    pub fn new(head: String) -> Self {
        Self { lines: vec![head] }
    }

    /// Returns the column at which the last line ends.
    fn column(&self) -> usize {
        self.lines.last().map_or(0, |line| line.chars().count())
    }

    fn write(&mut self, words: &str) {
        if let Some(line) = self.lines.last_mut() {
            line.push_str(words);
        }
    }

    /// Begins a new line, unless the last one is still empty.
    fn break_line(&mut self, indent: usize) {
        let blank = " ".repeat(indent);
        match self.lines.last_mut() {
            Some(line) if line.trim_matches(' ').is_empty() => *line = blank,
            Some(line) => {
                line.truncate(line.trim_end_matches(' ').len());
                self.lines.push(blank);
            }
            None => self.lines.push(blank),
        }
    }

    /// Writes tokens behind what stands in the last line; further lines are indented so far.
    pub fn lay(&mut self, tokens: &[Token], indent: usize) {
        if self.column() + width(tokens) <= WIDTH {
            return self.write(&flat(tokens));
        }
        if let Some(depth) = shallowest(tokens, TokenSort::Joint) {
            let parts = split(tokens, |token| token.sort == TokenSort::Joint && token.depth == depth, true);
            for (at, part) in parts.into_iter().enumerate() {
                if at > 0 {
                    self.break_line(indent);
                }
                // A part that is itself too long goes on further right than the parts beside it.
                self.lay_without_joints(part, depth, if at > 0 { indent + 4 } else { indent + 2 });
            }
            return;
        }
        for (sort, before) in [(TokenSort::Comma, false), (TokenSort::Soft, true)] {
            let Some(depth) = shallowest(tokens, sort) else { continue };
            let parts = split(tokens, |token| token.sort == sort && token.depth == depth, before);
            for (at, part) in parts.into_iter().enumerate() {
                let blank = usize::from(at > 0);
                if at > 0 && self.column() + blank + width(part) > WIDTH {
                    self.break_line(indent);
                } else if at > 0 {
                    self.write(" ");
                }
                self.fill(part, indent + 2);
            }
            return;
        }
        self.fill(tokens, indent);
    }

    /// Lays a part of a condition that holds no joint of its own at this depth.
    fn lay_without_joints(&mut self, part: &[Token], depth: usize, indent: usize) {
        let deeper = part.iter().any(|token| token.sort == TokenSort::Joint && token.depth > depth);
        if self.column() + width(part) <= WIDTH || !deeper {
            return self.fill(part, indent);
        }
        // The words before the parenthesis stay in the line, and what stands in it is broken.
        let open = part.iter().position(|token| token.sort == TokenSort::Open).map_or(0, |at| at + 1);
        let (head, rest) = part.split_at(open.min(part.len()));
        self.write(&flat(head));
        self.lay(rest, indent);
    }

    /// Fills lines with tokens, as many as fit.
    fn fill(&mut self, tokens: &[Token], indent: usize) {
        for (at, token) in tokens.iter().enumerate() {
            let blank = usize::from(at > 0 && !token.glued);
            // What is glued to a token must fit behind it.
            let tail =
                tokens.iter().skip(at + 1).take_while(|next| next.glued && next.sort != TokenSort::Text);
            let tail: usize = tail.map(|next| next.text.chars().count()).sum();
            let long = self.column() + blank + token.text.chars().count() + tail > WIDTH;
            let begins = self.lines.last().is_some_and(|line| line.trim_matches(' ').is_empty());
            if token.sort == TokenSort::Text && long {
                if self.column() > LAST_TEXT_COLUMN && !begins {
                    self.break_line(indent);
                } else if blank > 0 {
                    self.write(" ");
                }
                self.wrap(&token.text, tail);
                continue;
            }
            if long && blank > 0 && !begins {
                self.break_line(indent);
            } else if blank > 0 && !begins {
                self.write(" ");
            }
            self.write(&token.text);
        }
    }

    /// Writes a text over several lines, each of which begins below the first letter of the text.
    fn wrap(&mut self, text: &str, tail: usize) {
        let indent = self.column() + 1;
        let words = breakable(text);
        let last = words.len().saturating_sub(1);
        for (at, word) in words.into_iter().enumerate() {
            let room = if at == last { tail } else { 0 };
            if at > 0 && self.column() + 1 + word.chars().count() + room > WIDTH {
                self.break_line(indent);
            } else if at > 0 {
                self.write(" ");
            }
            self.write(word);
        }
    }
}

/// Returns tokens in one line.
pub(super) fn flat(tokens: &[Token]) -> String {
    let mut out = String::new();
    for (at, token) in tokens.iter().enumerate() {
        if at > 0 && !token.glued {
            out.push(' ');
        }
        out.push_str(&token.text);
    }
    out
}

/// Returns how wide tokens are in one line.
pub(super) fn width(tokens: &[Token]) -> usize {
    let blanks = tokens.iter().skip(1).filter(|token| !token.glued).count();
    blanks + tokens.iter().map(|token| token.text.chars().count()).sum::<usize>()
}

/// Returns in how few parentheses a token of a sort stands.
fn shallowest(tokens: &[Token], sort: TokenSort) -> Option<usize> {
    tokens.iter().filter(|token| token.sort == sort).map(|token| token.depth).min()
}

/// Splits tokens before or behind each that is asked for.
fn split(tokens: &[Token], at: impl Fn(&Token) -> bool, before: bool) -> Vec<&[Token]> {
    let (mut parts, mut start) = (Vec::new(), 0);
    for (number, token) in tokens.iter().enumerate() {
        let cut = if before { number } else { number + 1 };
        if at(token) && cut > start {
            parts.extend(tokens.get(start..cut));
            start = cut;
        }
    }
    parts.extend(tokens.get(start..).filter(|rest| !rest.is_empty()));
    parts
}

/// Splits a text at single blanks: only these come back as they were when a line is broken there.
fn breakable(text: &str) -> Vec<&str> {
    let bytes = text.as_bytes();
    let is_blank = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_none_or(u8::is_ascii_whitespace);
    let (mut parts, mut start) = (Vec::new(), 0);
    for (at, byte) in bytes.iter().enumerate() {
        let at_an_end = at <= 1 || at + 2 >= bytes.len();
        if *byte == b' ' && !at_an_end && !is_blank(at.checked_sub(1)) && !is_blank(Some(at + 1)) {
            parts.extend(text.get(start..at));
            start = at + 1;
        }
    }
    parts.extend(text.get(start..));
    parts
}
