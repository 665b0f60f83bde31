//! The trees of a grove as reports name them.

use super::Trees;
use crate::advice::Spray;
use crate::grove::{Grove, SeenValue, Sighting};
use crate::plan::{NameId, Origin, Place, Plan};
use crate::sprayday::{Work, jobs};

/// The trees of a grove as reports name them.
#[derive(Clone, Copy, Debug)]
pub struct GroveTrees<'a> {
    /// The rulebook.
    pub plan: &'a Plan,
    /// The grove.
    pub grove: &'a Grove,
}

impl GroveTrees<'_> {
    /// Returns what was last seen of a tree, or of a group of its panicles, however old it is.
    pub fn sighting(&self, tree: usize, name: NameId, group: usize) -> Option<Sighting> {
        match self.plan.names.get(name.index())?.scope {
            Place::Panicles => self.grove.seen_in_group(tree, group, name),
            Place::Tree | Place::Block | Place::Grove => self.grove.seen(tree, name),
        }
    }

    /// Returns whether a sighting is not too old to count.
    pub fn holds(&self, name: NameId, sighting: &Sighting) -> bool {
        self.grove.holds(name, sighting, self.plan)
    }

    /// Returns the text that a tree has for a name, its cultivar, also one that the rulebook does not know.
    pub fn text(&self, tree: usize, name: NameId) -> Option<String> {
        match &self.plan.names.get(name.index())?.origin {
            Origin::Cultivar => self.grove.trees.cultivar(tree).map(|cultivar| cultivar.to_string()),
            Origin::Block => Some(self.block(tree).to_string()),
            Origin::Observed(_) => match self.sighting(tree, name, 0)?.value {
                SeenValue::Text(text) => Some(text.to_string()),
                SeenValue::Number(_)
                | SeenValue::Between(..)
                | SeenValue::Sample { .. }
                | SeenValue::Word(_)
                | SeenValue::Words(..) => None,
            },
            Origin::Measure(_) | Origin::Tally(_) | Origin::Band(_) | Origin::Date => None,
        }
    }
}

impl Trees for GroveTrees<'_> {
    fn name(&self, tree: usize) -> &str {
        self.grove.trees.name(tree)
    }

    fn block(&self, tree: usize) -> &str {
        self.grove.block_of(tree).map_or("", |block| &block.name)
    }

    fn sample(&self, tree: usize, name: NameId, group: usize) -> Option<(u32, u32)> {
        let sighting = self.sighting(tree, name, group)?;
        match sighting.value {
            SeenValue::Sample { found, of } if self.holds(name, &sighting) => Some((found, of)),
            SeenValue::Sample { .. }
            | SeenValue::Number(_)
            | SeenValue::Between(..)
            | SeenValue::Word(_)
            | SeenValue::Words(..)
            | SeenValue::Text(_) => None,
        }
    }

    fn work(&self, spray: &Spray, trees: &[usize]) -> Option<Work> {
        Work::of(self.grove, &jobs(self.plan, self.grove, spray, trees).ok()?)
    }
}
