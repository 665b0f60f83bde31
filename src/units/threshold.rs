//! Numbers that others are held against. Here alone it is said which number is on one, below it or above it.

use super::Unit;

/// A number in base units that readings are held against, with all the numbers that are on it.
///
/// A reading is on a threshold when the two differ by less than a part in a hundred million of the threshold, both in
/// the unit in which the author wrote it; of zero, by less than a hundred-millionth of that unit. Readings and
/// thresholds reach base units by different exact factors, so that they differ in the last digits of a binary number,
/// and no instrument reads so finely. Every number is on it, below it or above it, and never two of these.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Threshold {
    value: f64,
    low: f64,
    high: f64,
}

/// A part in a hundred million.
const PART: f64 = 1e-8;

/// How much of the offset of a scale is lost where a number goes to base units and back.
const LOST: f64 = 1e-13;

impl Threshold {
    /// Makes the threshold at a number in base units, on which are those that differ from it by less than so much.
    fn new(value: f64, near: f64) -> Self {
        if !value.is_finite() {
            return Self { value, low: value, high: value };
        }
        let (low, high) = ((value - near).next_up(), (value + near).next_down());
        Self { value, low: low.min(value), high: high.max(value) }
    }

    /// Makes the threshold at a day, which has no zero to be measured from.
    pub fn of_day(day: f64) -> Self {
        Self::new(day, PART)
    }

    /// Makes the threshold of a duration in hours, which are its base units.
    pub fn of_hours(hours: f64) -> Self {
        Unit::none().threshold_of_amount(hours)
    }

    /// Returns the number itself, in base units.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Returns the lowest and the highest number that are on it.
    pub fn on(&self) -> (f64, f64) {
        (self.low, self.high)
    }

    /// Returns whether a number is on it.
    pub fn is_on(&self, number: f64) -> bool {
        self.low <= number && number <= self.high
    }

    /// Returns whether a number reaches it: it is above it, or on it where that counts.
    #[inline]
    pub fn is_reached_by(&self, number: f64, on_counts: bool) -> bool {
        if on_counts { number >= self.low } else { number > self.high }
    }

    /// Returns whether a number keeps to it: it is below it, or on it where that counts.
    #[inline]
    pub fn is_kept_by(&self, number: f64, on_counts: bool) -> bool {
        if on_counts { number <= self.high } else { number < self.low }
    }

    /// Returns whether two thresholds are one: each is on the other.
    pub fn is_same(&self, other: &Self) -> bool {
        self.is_on(other.value) && other.is_on(self.value)
    }

    /// Returns whether a number that was reckoned may be meant for it, or for the rim of what is on it.
    pub fn is_by(&self, number: f64) -> bool {
        let (below, above) = (self.value - self.low, self.high - self.value);
        number == self.value || (number >= self.low - below && number <= self.high + above)
    }
}

impl Unit {
    /// Makes a threshold of an amount in base units that was written in this unit; of a temperature it is a difference.
    pub fn threshold_of_amount(&self, base: f64) -> Threshold {
        let near = if base == 0.0 { self.factor } else { base };
        Threshold::new(base, near.abs() * PART)
    }

    /// Makes a threshold of a point on this unit's scale, in base units: 100 for 212 °F.
    pub fn threshold_of_point(&self, base: f64) -> Threshold {
        if self.offset == 0.0 {
            return self.threshold_of_amount(base);
        }
        let lost = self.offset.abs() * LOST;
        let number = self.point_from_base(base).abs();
        let near = if number <= lost { PART } else { (number * PART).max(lost) };
        Threshold::new(base, near * self.factor)
    }
}
