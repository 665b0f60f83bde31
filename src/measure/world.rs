//! A possible state of the world: some values fixed, the rest as it is.

use super::Extent;
use crate::plan::NameId;

/// A place at which a state of the world can be fixed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum WorldInput {
    /// A name: an observation, or a measure or tally cut off from its inputs.
    Name(NameId),
    /// An observation of panicles in the group of this number.
    InGroup(usize, NameId),
    /// How many of the other trees a measure over trees counts.
    Others(NameId),
}

impl WorldInput {
    /// Returns the name whose value it is, or that hangs on it.
    pub fn name(self) -> NameId {
        match self {
            WorldInput::Name(name) | WorldInput::InGroup(_, name) | WorldInput::Others(name) => name,
        }
    }

    /// Returns what tells it from every other leaf, to be compared or hashed.
    pub fn bits(self) -> [u64; 2] {
        let kind = match self {
            WorldInput::Name(_) => 0,
            WorldInput::Others(_) => 1,
            WorldInput::InGroup(group, _) => 2 + group as u64,
        };
        [kind, u64::from(self.name().0)]
    }
}

/// A possible state of the world: what is fixed in it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct World {
    fixed: Vec<(WorldInput, Extent)>,
}

impl World {
    /// Returns to what a leaf is fixed.
    pub fn fixed(&self, leaf: WorldInput) -> Option<Extent> {
        self.fixed.iter().rev().find(|(known, _)| *known == leaf).map(|(_, extent)| *extent)
    }

    /// Returns all that is fixed.
    pub fn each(&self) -> impl Iterator<Item = (WorldInput, Extent)> + '_ {
        self.fixed.iter().copied()
    }

    /// Returns this world with one more leaf fixed.
    pub fn with(&self, leaf: WorldInput, extent: Extent) -> Self {
        let mut fixed: Vec<(WorldInput, Extent)> =
            self.fixed.iter().filter(|(known, _)| *known != leaf).copied().collect();
        fixed.push((leaf, extent));
        Self { fixed }
    }

    /// Returns whether nothing is fixed.
    pub fn is_as_it_is(&self) -> bool {
        self.fixed.is_empty()
    }
}
