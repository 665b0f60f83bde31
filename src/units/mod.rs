//! Dimensions, exact unit factors, quantities, and how near to a threshold a number is on it.
//!
//! Comes in: numbers with the symbol of a unit. Goes out: numbers in base units (mm, g, h, °C), and back.
//! Factors are those of NIST SP 811 (appendix B) and Handbook 44; US gallons. Knows no rulebook.

mod display;
pub mod spoken;
mod table;
mod threshold;

pub use display::{clean, show, show_beside};
pub use table::{plain, symbols};
pub use threshold::Threshold;

use crate::phrase::{Phrase, said};
use std::sync::Arc;

/// The exponents of length, mass, time and temperature.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Dimension {
    /// Exponent of length; its base unit is the millimetre.
    pub length: i8,
    /// Exponent of mass; its base unit is the gram.
    pub mass: i8,
    /// Exponent of time; its base unit is the hour.
    pub time: i8,
    /// Exponent of temperature differences; its base unit is the degree Celsius.
    pub temperature: i8,
}

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self::of(0, 0, 0, 0);
    /// A length or a depth.
    pub const LENGTH: Self = Self::of(1, 0, 0, 0);
    /// An area.
    pub const AREA: Self = Self::of(2, 0, 0, 0);
    /// A volume.
    pub const VOLUME: Self = Self::of(3, 0, 0, 0);
    /// A mass.
    pub const MASS: Self = Self::of(0, 1, 0, 0);
    /// A duration.
    pub const TIME: Self = Self::of(0, 0, 1, 0);
    /// A difference of temperatures.
    pub const TEMPERATURE: Self = Self::of(0, 0, 0, 1);
    /// A speed.
    pub const SPEED: Self = Self::of(1, 0, -1, 0);
    /// A pressure.
    pub const PRESSURE: Self = Self::of(-1, 1, -2, 0);
    /// A mass in a volume.
    pub const CONCENTRATION: Self = Self::of(-3, 1, 0, 0);
    /// A mass on an area.
    pub const RATE: Self = Self::of(-2, 1, 0, 0);

    /// Makes a dimension from its exponents of length, mass, time and temperature.
    pub const fn of(length: i8, mass: i8, time: i8, temperature: i8) -> Self {
        Self { length, mass, time, temperature }
    }

    /// Returns the dimension of a product of quantities.
    pub fn times(self, other: Self) -> Self {
        self.combine(other, i8::saturating_add)
    }

    /// Returns the dimension of a quotient of quantities.
    pub fn over(self, other: Self) -> Self {
        self.combine(other, i8::saturating_sub)
    }

    fn combine(self, other: Self, with: fn(i8, i8) -> i8) -> Self {
        Self {
            length: with(self.length, other.length),
            mass: with(self.mass, other.mass),
            time: with(self.time, other.time),
            temperature: with(self.temperature, other.temperature),
        }
    }

    /// Returns the dimension of a whole power, nothing where an exponent leaves its range.
    pub fn power(self, exponent: i8) -> Option<Self> {
        Some(Self {
            length: self.length.checked_mul(exponent)?,
            mass: self.mass.checked_mul(exponent)?,
            time: self.time.checked_mul(exponent)?,
            temperature: self.temperature.checked_mul(exponent)?,
        })
    }

    /// Returns what a quantity of this dimension is called, `a duration`.
    pub fn called(self) -> Phrase {
        let known = [
            (Self::NONE, "a plain number"),
            (Self::LENGTH, "a length"),
            (Self::AREA, "an area"),
            (Self::VOLUME, "a volume"),
            (Self::MASS, "a mass"),
            (Self::TIME, "a duration"),
            (Self::TEMPERATURE, "a difference of temperatures"),
            (Self::SPEED, "a speed"),
            (Self::PRESSURE, "a pressure"),
            (Self::CONCENTRATION, "a concentration"),
            (Self::RATE, "a rate per area"),
        ];
        if let Some((_, name)) = known.iter().find(|(dimension, _)| *dimension == self) {
            return (*name).into();
        }
        let parts = [
            ("length", self.length),
            ("mass", self.mass),
            ("time", self.time),
            ("temperature", self.temperature),
        ];
        let words: Vec<String> = parts
            .iter()
            .filter(|(_, exponent)| *exponent != 0)
            .map(
                |(name, exponent)| {
                    if *exponent == 1 { (*name).to_string() } else { format!("{name}^{exponent}") }
                },
            )
            .collect();
        said!("a quantity of {parts}", parts = words.join(" · "))
    }
}

/// A unit: its symbol, what it measures and how to bring a number of it to base units.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The canonical symbol, `°F`, `lb / 100 gal`; empty for a plain number.
    pub symbol: Arc<str>,
    /// What it measures.
    pub dimension: Dimension,
    /// How many base units one of it is.
    pub factor: f64,
    /// What is taken from the number before the factor applies to a point on a scale; zero but for °F.
    pub offset: f64,
}

impl Unit {
    /// The unit of plain numbers.
    pub fn none() -> Self {
        Self { symbol: "".into(), dimension: Dimension::NONE, factor: 1.0, offset: 0.0 }
    }

    /// Returns `amount / per base`: a mass or a volume by a volume or an area.
    pub fn rate(amount: &Unit, per: f64, base: &Unit) -> Self {
        let symbol = if per == 1.0 && amount.is_metric() && base.is_metric() {
            format!("{}/{}", amount.symbol, base.symbol)
        } else if per == 1.0 {
            format!("{} / {}", amount.symbol, base.symbol)
        } else {
            format!("{} / {} {}", amount.symbol, clean(per), base.symbol)
        };
        Self {
            symbol: symbol.into(),
            dimension: amount.dimension.over(base.dimension),
            factor: amount.factor / (per * base.factor),
            offset: 0.0,
        }
    }

    /// Returns `ppm X`: milligrams of an ingredient in a litre of spray.
    pub fn ppm(ingredient: &str) -> Self {
        let symbol = format!("ppm {ingredient}");
        Self { symbol: symbol.into(), dimension: Dimension::CONCENTRATION, factor: 1e-3 / 1e6, offset: 0.0 }
    }

    fn is_metric(&self) -> bool {
        matches!(&*self.symbol, "mg" | "g" | "kg" | "mL" | "L" | "m³" | "ha" | "m²")
    }

    /// Returns whether the unit is that of a temperature.
    pub fn is_temperature(&self) -> bool {
        self.dimension == Dimension::TEMPERATURE
    }

    /// Returns a point on the unit's scale in base units: 212 °F is 100.
    pub fn point_to_base(&self, number: f64) -> f64 {
        if self.offset == 0.0 { number * self.factor } else { (number - self.offset) * 5.0 / 9.0 }
    }

    /// Returns an amount of the unit in base units: 9 °F is a difference of 5.
    pub fn amount_to_base(&self, number: f64) -> f64 {
        number * self.factor
    }

    /// Returns a point in base units as a number on the unit's scale.
    pub fn point_from_base(&self, base: f64) -> f64 {
        if self.offset == 0.0 { clean(base / self.factor) } else { clean(base * 9.0 / 5.0 + self.offset) }
    }

    /// Returns an amount in base units as a number of the unit.
    pub fn amount_from_base(&self, base: f64) -> f64 {
        clean(base / self.factor)
    }
}
