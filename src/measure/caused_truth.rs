//! The truth of a condition with what it hangs on.

use super::{Cause, Truth};
use std::ops::Not;

/// A truth with what it hangs on.
#[derive(Clone, Copy)]
pub struct CausedTruth<'r> {
    /// Whether it holds.
    pub truth: Truth,
    /// Why it is open, where that is known.
    pub cause: Option<&'r Cause>,
    /// Whether a forecast went into it.
    pub forecast: bool,
    /// Whether it is so because of an assumed value.
    pub assumed: bool,
}

impl CausedTruth<'_> {
    /// What nothing is known of.
    pub const OPEN: Self = Self { truth: Truth::Open, cause: None, forecast: false, assumed: false };

    /// Joins conditions of which all must hold.
    pub fn all(parts: impl Iterator<Item = Self>) -> Self {
        Self::joined(parts, Truth::No, Truth::min)
    }

    /// Joins conditions of which one must hold.
    pub fn any(parts: impl Iterator<Item = Self>) -> Self {
        Self::joined(parts, Truth::Yes, Truth::max)
    }

    /// Joins conditions; `enough` is the truth that one of them alone gives to all. It is not because of an assumed value
    /// where one part that was seen is enough for it.
    fn joined(parts: impl Iterator<Item = Self>, enough: Truth, with: fn(Truth, Truth) -> Truth) -> Self {
        let mut all = Self { truth: enough.not(), ..Self::OPEN };
        let mut seen_is_enough = false;
        for part in parts {
            all.truth = with(all.truth, part.truth);
            all.cause = all.cause.or(part.cause);
            all.forecast |= part.forecast;
            all.assumed |= part.assumed;
            seen_is_enough |= part.truth == enough && !part.assumed;
        }
        Self {
            cause: all.cause.filter(|_| all.truth == Truth::Open),
            assumed: all.assumed && !seen_is_enough,
            ..all
        }
    }
}

impl Not for CausedTruth<'_> {
    type Output = Self;

    fn not(self) -> Self {
        Self { truth: self.truth.not(), ..self }
    }
}
