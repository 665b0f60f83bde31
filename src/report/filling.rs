//! Text broken into lines.

use std::borrow::Cow;
use textwrap::{Options, WordSeparator, WordSplitter, wrap};

/// Breaks a text at blanks into lines no longer than the width; a word that is longer than a line is broken.
pub fn filled(text: &str, first: &str, further: &str, width: usize) -> Vec<String> {
    let options = Options::new(width.max(8))
        .initial_indent(first)
        .subsequent_indent(further)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    wrap(text, options).into_iter().map(Cow::into_owned).collect()
}

/// Breaks a paragraph into lines, each with its end.
pub fn paragraph(text: &str, width: usize) -> String {
    filled(text, "", "  ", width).iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
