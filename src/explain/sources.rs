//! Citations in words.

use super::Statement;
use crate::plan::{Citation, Plan, Why};

/// Returns a citation in words: the source, the place in it, and whether it was written down from memory.
pub fn cited(plan: &Plan, citation: &Citation) -> String {
    let place = citation.locator.as_ref().map_or_else(String::new, |place| format!(", {place}"));
    match &*citation.key {
        "common-practice" => format!("common practice{place}"),
        "to-be-sourced" => format!("source still to be found{place}"),
        key => match plan.sources.iter().find(|source| &*source.key == key) {
            Some(source) if source.recalled => {
                format!("{}{place} (figures written down from memory)", source.citation)
            }
            Some(source) => format!("{}{place}", source.citation),
            None => format!("{key}{place}"),
        },
    }
}

impl Statement {
    /// Adds the reason and the sources of an item.
    pub fn owing(mut self, plan: &Plan, why: &Why) -> Self {
        self.because = why.because.clone();
        self.cites = why.cites.iter().map(|citation| cited(plan, citation)).collect();
        self
    }

    /// Adds what it rests on.
    pub fn resting_on(mut self, from: Vec<Statement>) -> Self {
        self.from = from;
        self
    }
}
