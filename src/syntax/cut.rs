//! Cuts a file into items by their first column.
//!
//! Comes in: the text of a file. Goes out: the byte ranges of its items, and what stands before the first.

use std::ops::Range;

/// Where a file's items stand.
pub(super) struct Cuts {
    /// What stands before the first item: blanks and comments, if all is well.
    pub before: Range<usize>,
    /// The items, each from its first column to the next item.
    pub items: Vec<Range<usize>>,
}

/// Cuts a file: a line whose first sign is neither a blank nor `#` begins an item.
pub(super) fn cut(text: &str) -> Cuts {
    let bytes = text.as_bytes();
    let first = text.len() - text.trim_start_matches('\u{feff}').len();
    let mut starts = Vec::new();
    let mut at = first;
    while let Some(sign) = bytes.get(at) {
        if !matches!(sign, b' ' | b'\t' | b'\r' | b'\n' | b'#') {
            starts.push(at);
        }
        let rest = bytes.get(at..).unwrap_or_default();
        at = rest.iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| at + end + 1);
    }
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    let items = starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect();
    Cuts { before: first..starts.first().copied().unwrap_or(text.len()), items }
}

/// Returns where the first sign stands that is neither a blank nor in a comment.
pub(super) fn first_sign(text: &str) -> Option<usize> {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let inner = line.trim_start_matches([' ', '\t', '\r', '\n']);
        if !inner.is_empty() && !inner.starts_with('#') {
            return Some(at + line.len() - inner.len());
        }
        at += line.len();
    }
    None
}
