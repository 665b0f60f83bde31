//! From a trace and the values it met to ordered statements: what was decided, why, and on whose authority.
//!
//! Comes in: a plan, a case of an advice with its trace, the values of one tree or of several, and where they
//! came from. Goes out: [`Statement`]s. Decides nothing, and does not know how it is printed.

mod chain;
mod conditions;
mod gates;
mod origin;
mod phrase;
mod sources;
mod statement;
mod telling;
mod values;
mod why_not;

pub use chain::chain;
pub use origin::{NoOrigins, Origins, Sighting};
pub use phrase::met;
pub use statement::{Role, Statement};
use telling::Telling;
pub use values::Values;
pub use why_not::why_not;

use crate::decide::Rules;
use crate::measure::Inputs;
use crate::plan::Plan;
use crate::source::Sources;
use crate::words::{Language, Speech, Words};
use chrono::NaiveDate;

/// All that statements are made from, the same for every tree.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    /// The rulebook.
    pub plan: &'a Plan,
    /// The rulebook made ready.
    pub rules: &'a Rules,
    /// What each name is computed from.
    pub inputs: &'a Inputs,
    /// The texts that spans point into.
    pub sources: &'a Sources,
    /// Where values came from.
    pub origins: &'a dyn Origins,
    /// In which language.
    pub language: Language,
    /// In which units values are said.
    pub speech: Speech,
    /// The day of the advice.
    pub today: NaiveDate,
}

impl<'a> Scene<'a> {
    /// Returns the words in which facts are said.
    pub fn words(&self) -> Words<'a> {
        Words { language: self.language, speech: self.speech, plan: self.plan }
    }

    /// Returns the words under a span without comments, blanks and line breaks as one blank.
    pub fn written(&self, span: crate::source::Span) -> String {
        let words = self.sources.words(span).lines().flat_map(|line| uncommented(line).split_whitespace());
        words.collect::<Vec<_>>().join(" ")
    }
}

/// Returns a line without its comment.
fn uncommented(line: &str) -> &str {
    let mut quoted = false;
    for (at, letter) in line.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '#' if !quoted => return line.get(..at).unwrap_or(line),
            _ => {}
        }
    }
    line
}
