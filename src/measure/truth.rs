//! Whether something holds, where not everything is known.

use super::{Extent, Possible};

/// Whether something holds, as far as is known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Truth {
    /// It does not hold.
    No,
    /// It holds in some of the possible states of the world.
    Open,
    /// It holds.
    Yes,
}

impl Truth {
    /// Returns the truth of a fact.
    pub fn of(holds: bool) -> Self {
        if holds { Truth::Yes } else { Truth::No }
    }

    /// Returns what is true of a yes-no value; an empty one does not hold.
    pub fn of_extent(extent: Extent) -> Self {
        match extent.can_be {
            Possible::Words(0b10) if !extent.may_be_empty => Truth::Yes,
            Possible::Words(set) if set & 0b10 != 0 => Truth::Open,
            Possible::Words(_)
            | Possible::Nothing
            | Possible::Numbers(..)
            | Possible::Text(_)
            | Possible::AnyText => Truth::No,
        }
    }

    /// Returns the yes-no value of this truth.
    pub fn extent(self) -> Extent {
        match self {
            Truth::No => Extent::NO,
            Truth::Open => Extent::YES_OR_NO,
            Truth::Yes => Extent::YES,
        }
    }

    /// Returns whether all hold.
    pub fn all(truths: impl IntoIterator<Item = Truth>) -> Self {
        truths.into_iter().min().unwrap_or(Truth::Yes)
    }

    /// Returns whether any holds.
    pub fn any(truths: impl IntoIterator<Item = Truth>) -> Self {
        truths.into_iter().max().unwrap_or(Truth::No)
    }

    /// Returns the truth in two states of the world.
    pub fn either(self, other: Self) -> Self {
        if self == other { self } else { Truth::Open }
    }
}

impl std::ops::Not for Truth {
    type Output = Self;

    /// Returns the truth of the opposite.
    fn not(self) -> Self {
        match self {
            Truth::No => Truth::Yes,
            Truth::Open => Truth::Open,
            Truth::Yes => Truth::No,
        }
    }
}
