//! What stands at a place of an item that could not be read: words, signs and texts without an end.
//!
//! Comes in: the text of an item and a byte of it. Goes out: what an author would call it. Knows no grammar.

/// A text that is never closed, or holds an escape that is none.
pub(super) enum BrokenText {
    /// No quote closes the text that begins here.
    Open(usize),
    /// The backslash here begins no escape.
    Escape(usize),
}

/// Finds the first broken text of an item.
///
/// A forgotten quote turns what follows inside out: texts end where others should begin, and only the last one of the
/// item stays open. So the first text is named that runs into a line that begins with one of these words.
pub(super) fn broken_text(item: &str, clause_words: &[&str]) -> Option<BrokenText> {
    let mut suspect = None;
    for (start, inner) in ItemTexts(item, 0) {
        let Some(inner) = inner else { return Some(BrokenText::Open(suspect.unwrap_or(start))) };
        let mut signs = inner.char_indices();
        while let Some((at, sign)) = signs.next() {
            if sign == '\\' && !matches!(signs.next(), Some((_, '"' | '\\' | 'n'))) {
                return Some(BrokenText::Escape(start + 1 + at));
            }
        }
        let swallows = |line: &str| clause_words.iter().any(|words| begins_with(line.trim_start(), words));
        if suspect.is_none() && inner.lines().skip(1).any(swallows) {
            suspect = Some(start);
        }
    }
    None
}

/// Returns whether a line begins with these words, whatever blanks stand between them.
pub(super) fn begins_with(line: &str, words: &str) -> bool {
    let mut rest = line;
    for word in words.split(' ') {
        match rest.trim_start().strip_prefix(word) {
            Some(after)
                if !after.starts_with(|sign: char| sign.is_ascii_alphanumeric() || "-_".contains(sign)) =>
            {
                rest = after;
            }
            _ => return false,
        }
    }
    true
}

/// The texts of an item, each with its first quote; the last has no inside if nothing closes it.
struct ItemTexts<'t>(&'t str, usize);

impl<'t> Iterator for ItemTexts<'t> {
    type Item = (usize, Option<&'t str>);

    fn next(&mut self) -> Option<Self::Item> {
        let start = loop {
            let rest = self.0.get(self.1..)?;
            let at = self.1 + rest.find(['"', '#'])?;
            if self.0.as_bytes().get(at) == Some(&b'"') {
                break at;
            }
            self.1 = at + self.0.get(at..)?.find('\n')?;
        };
        let inner = self.0.get(start + 1..)?;
        let mut escaped = false;
        for (at, byte) in inner.bytes().enumerate() {
            match byte {
                b'"' if !escaped => {
                    self.1 = start + at + 2;
                    return Some((start, inner.get(..at)));
                }
                b'\\' => escaped = !escaped,
                _ => escaped = false,
            }
        }
        self.1 = self.0.len();
        Some((start, None))
    }
}

/// Returns the word, number, text or sign that stands at a place; empty at the end.
pub(super) fn token(text: &str, at: usize) -> &str {
    let rest = text.get(at..).unwrap_or_default();
    let Some(first) = rest.chars().next() else { return "" };
    let end = match first {
        '"' => rest.get(1..).and_then(|inner| inner.find('"')).map_or(rest.len(), |end| end + 2),
        '<' | '>' | '=' | '!' | '&' | '|' => {
            rest.bytes().take(2).take_while(|byte| b"<>=!&|".contains(byte)).count()
        }
        _ if in_word(first) => rest.find(|sign| !in_word(sign)).unwrap_or(rest.len()),
        _ => first.len_utf8(),
    };
    rest.get(..end).unwrap_or_default()
}

fn in_word(sign: char) -> bool {
    sign.is_alphanumeric() || "-_.:°%".contains(sign)
}

/// Returns the words at a place, one blank between them, at most so many.
pub(super) fn words_at(text: &str, at: usize, count: usize) -> String {
    let rest = text.get(at..).unwrap_or_default();
    // A very long word is nothing that was meant as a word of the language.
    let near: String = rest.chars().take(120).collect();
    near.split_whitespace().take(count).collect::<Vec<_>>().join(" ")
}

/// Returns a piece of text as a message quotes it: short, and on one line.
pub(super) fn quoted(text: &str) -> String {
    let mut shown: String =
        text.chars().take(40).map(|sign| if sign.is_control() { ' ' } else { sign }).collect();
    if text.chars().nth(40).is_some() {
        shown.push('…');
    }
    format!("`{shown}`")
}

/// Returns how many parentheses are open at the end of a text, outside its quoted texts and comments.
pub(super) fn open_parentheses(text: &str) -> i64 {
    let (mut open, mut in_text, mut in_comment, mut escaped) = (0, false, false, false);
    for byte in text.bytes() {
        match byte {
            b'\n' => in_comment = false,
            _ if in_comment => {}
            b'"' if !escaped => in_text = !in_text,
            b'#' if !in_text => in_comment = true,
            b'(' if !in_text => open += 1,
            b')' if !in_text => open -= 1,
            _ => {}
        }
        escaped = in_text && byte == b'\\' && !escaped;
    }
    open
}

/// Returns where the last sign ends that stands before a place and is neither a blank nor in a comment.
pub(super) fn end_before(text: &str, at: usize) -> usize {
    let (mut end, mut from) = (0, 0);
    let mut in_text = false;
    for line in text.get(..at).unwrap_or_default().split_inclusive('\n') {
        let mut escaped = false;
        for (offset, sign) in line.char_indices() {
            match sign {
                '#' if !in_text => break,
                '"' if !escaped => in_text = !in_text,
                _ => {}
            }
            escaped = sign == '\\' && !escaped;
            if !sign.is_whitespace() {
                end = from + offset + sign.len_utf8();
            }
        }
        from += line.len();
    }
    end
}
