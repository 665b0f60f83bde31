//! What a statement owes to its author: the reason and the sources.

use super::{Scene, Statement};
use crate::plan::Why;

impl Statement {
    /// Adds the reason and the sources of an item.
    pub fn owing(mut self, scene: &Scene<'_>, why: &Why) -> Self {
        self.because = why.because.clone();
        self.cites = why.cites.iter().map(|citation| scene.words().cited(citation)).collect();
        self
    }

    /// Adds what it rests on.
    pub fn resting_on(mut self, from: Vec<Statement>) -> Self {
        self.from = from;
        self
    }
}
