//! Headings and sentences.

use crate::advice::Case;
use crate::trace::Verdict;
use crate::words::Words;

/// Returns the heading of a verdict.
pub fn verdict_heading(words: Words<'_>, case: &Case) -> String {
    match &case.decision.verdict {
        Verdict::Spray(_) => words.say("page.verdict.spray", &[("doses", &words.doses(&case.spray))]),
        Verdict::Hold => words.say("page.verdict.hold", &[]),
        Verdict::AllShut => words.say("page.verdict.all-shut", &[]),
        Verdict::Look => words.say("page.verdict.look", &[]),
        Verdict::Undecided => words.say("page.verdict.undecided", &[]),
        Verdict::Uncovered => words.say("page.verdict.uncovered", &[]),
    }
}

/// Returns a text that begins with a capital and ends in a full stop.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    let mut sentence: String = first.to_uppercase().chain(letters).collect();
    if !sentence.ends_with(['.', '!', '?']) {
        sentence.push('.');
    }
    sentence
}
