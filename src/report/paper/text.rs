//! Papers as text.

use super::Paper;
use super::layout::{Line, lay};
use crate::report::Lines;

/// Returns papers one after the other, in lines no longer than a width.
pub fn text(papers: &[Paper], width: usize) -> String {
    let mut lines = Lines::new(width);
    let width = lines.width();
    for (at, paper) in papers.iter().enumerate() {
        if at > 0 {
            lines.blank();
        }
        for line in lay(paper, width) {
            match line {
                Line::Rule(character) => lines.rule(character),
                Line::Plain(text) if text.is_empty() => lines.blank(),
                Line::Title(text) | Line::Heading(text) | Line::Plain(text) | Line::Written(text) => {
                    lines.raw(0, &text);
                }
            }
        }
    }
    lines.finish()
}
