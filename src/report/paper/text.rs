//! Papers as text.

use super::Paper;
use super::layout::{Line, lay};
use crate::report::Lines;
use textwrap::core::display_width;

/// Returns papers one after the other, in lines no longer than a width.
pub fn text(papers: &[Paper], width: usize) -> String {
    let mut lines = Lines::new(width);
    let width = lines.width();
    for (at, paper) in papers.iter().enumerate() {
        if at > 0 {
            lines.blank();
        }
        let mut laid = lay(paper, width, 1.0).into_iter().peekable();
        while let Some(line) = laid.next() {
            match line {
                // The rule under a heading goes on behind it, and takes no line of its own.
                Line::Heading(text) if matches!(laid.peek(), Some(Line::Rule(_))) => {
                    let rule = width.saturating_sub(display_width(&text) + 1);
                    lines.raw(0, &format!("{text} {}", "-".repeat(rule)));
                    laid.next();
                }
                Line::Rule(character) => lines.rule(character),
                Line::Plain(text) if text.is_empty() => lines.blank(),
                Line::Title(text)
                | Line::Heading(text)
                | Line::Plain(text)
                | Line::Large(text)
                | Line::Written(text) => lines.raw(0, &text),
            }
        }
    }
    lines.finish()
}
