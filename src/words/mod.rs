//! The words of every page, in every language that the program has: values, comparisons, products, gates, days.
//!
//! Comes in: facts and the plan whose labels name them. Goes out: phrases. It decides nothing, and knows no page.

mod answers;
mod causes;
mod claims;
mod compared;
mod comparisons;
mod days;
mod labels;
pub mod language;
mod mixing;
mod origins;
mod products;
mod scene;
mod speech;
mod tank;
mod values;

pub use days::{clock, day_of};
pub use language::Language;
pub use scene::Scene;
pub use speech::Speech;

use crate::plan::Plan;

/// In which words facts are said: the language, the units, the plan whose labels they bear.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    /// The language.
    pub language: Language,
    /// In which units values are said.
    pub speech: Speech,
    /// The rulebook.
    pub plan: &'a Plan,
}

impl Words<'_> {
    /// Returns the words of a key of the catalogue, with its places filled in.
    pub fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.language.say(key, places)
    }
}
