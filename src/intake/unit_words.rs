//! Units as files write them: `Deg C`, `wmoUnit:km_h-1`, `meters/second`, and the ° that an encoding broke.

use crate::units::{Dimension, Unit, plain};
use crate::weather::Column;

/// How a number of a file becomes base units.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Scale {
    pub(super) unit: Unit,
    /// What is taken from the number before its unit counts: kelvin are °C less 273.15.
    less: f64,
    /// By what the number is multiplied before its unit counts.
    times: f64,
}

/// What files write, without blanks, in small letters, and our symbol.
const SPELLED: &[(&str, &str)] = &[
    ("c", "°C"),
    ("degc", "°C"),
    ("celsius", "°C"),
    ("centigrade", "°C"),
    ("gradc", "°C"),
    ("gradosc", "°C"),
    ("f", "°F"),
    ("degf", "°F"),
    ("fahrenheit", "°F"),
    ("gradosf", "°F"),
    ("k", "K"),
    ("kelvin", "K"),
    ("%", "%"),
    ("percent", "%"),
    ("pct", "%"),
    ("prozent", "%"),
    ("porciento", "%"),
    ("mm", "mm"),
    ("millimeters", "mm"),
    ("millimetres", "mm"),
    ("kgm-2", "mm"),
    ("kg/m2", "mm"),
    ("kg/m^2", "mm"),
    ("l/m2", "mm"),
    ("l/m²", "mm"),
    ("cm", "cm"),
    ("m", "m"),
    ("in", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("pulgadas", "in"),
    ("\"", "in"),
    ("mph", "mph"),
    ("mi/h", "mph"),
    ("miles/hour", "mph"),
    ("milesperhour", "mph"),
    ("km/h", "km/h"),
    ("kmh-1", "km/h"),
    ("kmh", "km/h"),
    ("kph", "km/h"),
    ("m/s", "m/s"),
    ("ms-1", "m/s"),
    ("mps", "m/s"),
    ("meters/second", "m/s"),
    ("metres/second", "m/s"),
    ("kt", "knots"),
    ("kts", "knots"),
    ("kn", "knots"),
    ("knot", "knots"),
    ("knots", "knots"),
    ("min", "min"),
    ("minutes", "min"),
];

impl Scale {
    /// Returns the scale of one of our own symbols; kelvin are among them.
    pub(super) fn of(symbol: &str) -> Option<Self> {
        let less = if symbol == "K" { 273.15 } else { 0.0 };
        let unit = plain(if symbol == "K" { "°C" } else { symbol })?;
        Some(Self { unit, less, times: 1.0 })
    }

    /// Returns the scale of a unit as a file writes it.
    pub(super) fn written(text: &str) -> Option<Self> {
        let text = text.trim();
        let (_, own) = text.rsplit_once(':').unwrap_or(("", text));
        let bare: String = own
            .to_lowercase()
            .chars()
            .filter(|sign| !matches!(sign, ' ' | '.' | '_' | '°' | 'º' | '˚' | '\u{fffd}' | '?' | 'â'))
            .map(|sign| if sign == '\u{2212}' { '-' } else { sign })
            .collect();
        SPELLED.iter().find(|(spelled, _)| *spelled == bare).and_then(|(_, symbol)| Self::of(symbol))
    }

    /// Returns the scale of counts of which each is an amount of rain, `0.01 in`.
    pub(super) fn of_tip(text: &str) -> Option<Self> {
        let end = text.find(|sign: char| !sign.is_ascii_digit() && sign != '.')?;
        let (size, unit) = text.split_at(end);
        let scale = Self::written(unit).filter(|scale| scale.unit.dimension == Dimension::LENGTH)?;
        let size = size.parse::<f64>().ok().filter(|size| *size > 0.0)?;
        Some(scale.times(size))
    }

    /// The same scale for numbers that are to be multiplied first.
    pub(super) fn times(self, factor: f64) -> Self {
        Self { times: self.times * factor, ..self }
    }

    /// Returns whether a column can be given in it.
    pub(super) fn fits(&self, column: Column) -> bool {
        let dimension = self.unit.dimension;
        match column {
            Column::Temperature | Column::DewPoint => dimension == Dimension::TEMPERATURE,
            Column::Rain => dimension == Dimension::LENGTH,
            Column::Wind | Column::Gust => dimension == Dimension::SPEED,
            Column::Humidity => &*self.unit.symbol == "%",
            Column::LeafWet => &*self.unit.symbol == "%" || dimension == Dimension::TIME,
        }
    }

    /// Returns the symbol for pages.
    pub(super) fn symbol(&self) -> &str {
        if self.less > 0.0 { "K" } else { &self.unit.symbol }
    }

    /// Returns a number in base units. Amounts of a thousandth of a millimetre and less are the noise of sums.
    pub(super) fn to_base(&self, number: f64) -> f64 {
        let number = number * self.times - self.less;
        if self.unit.is_temperature() {
            self.unit.point_to_base(number)
        } else if self.unit.dimension == Dimension::LENGTH {
            (self.unit.amount_to_base(number) * 1e3).round() / 1e3
        } else {
            self.unit.amount_to_base(number)
        }
    }
}
