//! In which units a value is said: those of the author, or those that the grower speaks.

use crate::plan::Kind;
use crate::units::{Dimension, Unit, plain};

/// In which units values are said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Speech {
    /// As the rulebook's author wrote them.
    AsWritten,
    /// As the rulebook's author wrote them; thresholds also in the other system, in parentheses.
    Both,
    /// Degrees Fahrenheit, miles, inches, gallons, ounces.
    Us,
    /// Degrees Celsius, kilometres, millimetres, litres, grams.
    Metric,
}

/// What a unit becomes in the other speech. A unit that is not named stays.
const US: &[(&str, &str)] = &[
    ("°C", "°F"),
    ("mm", "in"),
    ("cm", "in"),
    ("m", "ft"),
    ("km", "mi"),
    ("km/h", "mph"),
    ("m/s", "mph"),
    ("ha", "ac"),
    ("m²", "ft²"),
    ("L", "gal"),
    ("mL", "fl oz"),
    ("kg", "lb"),
    ("g", "oz"),
    ("kg/ha", "lb / ac"),
    ("g/ha", "oz / ac"),
    ("L/ha", "gal / ac"),
    ("mL/ha", "fl oz / ac"),
    ("g/L", "oz / gal"),
    ("mL/L", "fl oz / gal"),
];

/// The same for metric speech.
const METRIC: &[(&str, &str)] = &[
    ("°F", "°C"),
    ("in", "mm"),
    ("ft", "m"),
    ("yd", "m"),
    ("mi", "km"),
    ("mph", "km/h"),
    ("knots", "km/h"),
    ("ac", "ha"),
    ("ft²", "m²"),
    ("gal", "L"),
    ("qt", "L"),
    ("pt", "L"),
    ("fl oz", "mL"),
    ("lb", "kg"),
    ("oz", "g"),
    ("lb / ac", "kg/ha"),
    ("oz / ac", "g/ha"),
    ("gal / ac", "L/ha"),
    ("fl oz / ac", "mL/ha"),
    ("oz / gal", "g/L"),
    ("lb / gal", "g/L"),
    ("fl oz / gal", "mL/L"),
];

impl Speech {
    /// Returns the unit in which a quantity written in this one is said.
    pub fn unit(self, written: &Unit) -> Unit {
        let table = match self {
            Speech::AsWritten | Speech::Both => return written.clone(),
            Speech::Us => US,
            Speech::Metric => METRIC,
        };
        let symbol = table.iter().find(|(from, _)| *from == &*written.symbol).map(|(_, to)| *to);
        symbol.and_then(unit_of).filter(|unit| unit.dimension == written.dimension).unwrap_or(written.clone())
    }

    /// Returns a number in base units in the unit in which it is said, with the unit's symbol.
    pub fn parts(self, kind: Kind, written: &Unit, base: f64) -> (f64, String) {
        if kind == Kind::Share {
            return (crate::units::clean(base * 100.0), "%".to_string());
        }
        let unit = self.unit(written);
        let number =
            if kind == Kind::Temperature { unit.point_from_base(base) } else { unit.amount_from_base(base) };
        (number, unit.symbol.to_string())
    }
}

/// Returns a plain unit or a rate by its canonical symbol.
fn unit_of(symbol: &str) -> Option<Unit> {
    if let Some(unit) = plain(symbol) {
        return Some(unit);
    }
    let (amount, base) = symbol.split_once('/')?;
    let unit = Unit::rate(&plain(amount.trim())?, 1.0, &plain(base.trim())?);
    (unit.dimension != Dimension::NONE || &*unit.symbol == symbol).then_some(unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 kg/ha = 0.892 lb/ac and 1 g/L = 0.1335 oz/gal: NIST SP 811, appendix B, from the exact pound, acre
    /// and gallon.
    #[test]
    fn rates_go_over_to_the_other_speech() {
        let kg_ha = unit_of("kg/ha").expect("a unit");
        let (number, symbol) = Speech::Us.parts(Kind::Quantity(Dimension::RATE), &kg_ha, kg_ha.factor);
        assert_eq!(symbol, "lb / ac");
        assert!((number - 0.892_179).abs() < 1e-5, "{number}");
        let g_l = unit_of("g/L").expect("a unit");
        let (number, symbol) = Speech::Us.parts(Kind::Quantity(Dimension::CONCENTRATION), &g_l, g_l.factor);
        assert_eq!(symbol, "oz / gal");
        assert!((number - 0.133_526).abs() < 1e-5, "{number}");
    }

    #[test]
    fn every_pair_is_of_one_dimension() {
        for (from, to) in US.iter().chain(METRIC) {
            let dimension = |symbol: &str| unit_of(symbol).map(|unit| unit.dimension);
            assert!(dimension(from).is_some(), "{from}");
            assert_eq!(dimension(from), dimension(to), "{from} and {to}");
        }
    }

    #[test]
    fn temperatures_are_points_and_their_differences_are_not() {
        let celsius = plain("°C").expect("a unit");
        let us = |kind: Kind, base: f64| Speech::Us.parts(kind, &celsius, base);
        assert_eq!(us(Kind::Temperature, 35.0), (95.0, "°F".to_string()));
        assert_eq!(us(Kind::Quantity(Dimension::TEMPERATURE), 10.0), (18.0, "°F".to_string()));
    }
}
