//! Text broken into lines that begin with signs of their own.

use super::lines::wrapped;
use textwrap::core::display_width;

/// Breaks a text at blanks into lines no longer than the width; a word that is longer than a line is broken. The first
/// line begins with the one text, all others with the other.
pub fn filled(text: &str, first: &str, further: &str, width: usize) -> Vec<String> {
    let room = |before: &str| width.saturating_sub(display_width(before)).max(1);
    let lines = wrapped(text, room(first), room(further)).into_iter().enumerate();
    lines.map(|(at, line)| format!("{}{line}", if at == 0 { first } else { further })).collect()
}

/// Breaks a paragraph into lines, each with its end.
pub fn paragraph(text: &str, width: usize) -> String {
    filled(text, "", "  ", width).iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
