//! What a value of an hour can be: one number, or all between two ends.

use crate::weather::Column;

/// What a value can be, in base units; an upper end that is infinite is *at least*.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct HourBounds {
    /// The least that it can be.
    pub from: f64,
    /// The most that it can be.
    pub to: f64,
}

impl HourBounds {
    /// One value.
    pub fn is(value: f64) -> Self {
        Self { from: value, to: value }
    }

    /// Everything between two ends.
    pub fn between(from: f64, to: f64) -> Self {
        Self { from: from.min(to), to: to.max(from) }
    }

    /// A value and all above it.
    pub fn at_least(value: f64) -> Self {
        Self { from: value, to: f64::INFINITY }
    }

    /// Returns its one value, if it is one.
    pub fn one(self) -> Option<f64> {
        (self.from == self.to).then_some(self.from)
    }

    /// Returns whether it is nothing at all.
    pub fn is_zero(self) -> bool {
        self.from == 0.0 && self.to == 0.0
    }

    /// Returns the sum of two.
    pub fn plus(self, other: Self) -> Self {
        Self { from: self.from + other.from, to: self.to + other.to }
    }
}

/// What is known of an hour.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct HourSlots([Option<HourBounds>; Column::ALL.len()]);

impl HourSlots {
    pub(super) fn get(&self, column: Column) -> Option<HourBounds> {
        self.0.get(column as usize).copied().flatten()
    }

    pub(super) fn set(&mut self, column: Column, value: Option<HourBounds>) {
        if let Some(slot) = self.0.get_mut(column as usize) {
            *slot = value;
        }
    }
}
