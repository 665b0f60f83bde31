//! The plain units: symbol, dimension and exact factor to base units (mm, g, h, °C).

use super::{Dimension, Unit};

const MILLIMETRE3_PER_LITRE: f64 = 1e6;
const GALLON: f64 = 3.785411784 * MILLIMETRE3_PER_LITRE;
const POUND: f64 = 453.59237;
const FOOT: f64 = 304.8;
const ACRE: f64 = 43560.0 * FOOT * FOOT;
const HOURS2_PER_SECOND2: f64 = 3600.0 * 3600.0;

/// Symbol, other spellings, dimension, factor. Exact by definition: NIST SP 811, appendix B; Handbook 44,
/// appendix C (US liquid measure).
#[rustfmt::skip]
const UNITS: &[(&str, &[&str], Dimension, f64)] = &[
    ("%",    &[],                 Dimension::NONE,        0.01),
    ("mm",   &[],                 Dimension::LENGTH,      1.0),
    ("cm",   &[],                 Dimension::LENGTH,      10.0),
    ("m",    &[],                 Dimension::LENGTH,      1e3),
    ("km",   &[],                 Dimension::LENGTH,      1e6),
    ("in",   &[],                 Dimension::LENGTH,      25.4),
    ("ft",   &[],                 Dimension::LENGTH,      FOOT),
    ("yd",   &[],                 Dimension::LENGTH,      3.0 * FOOT),
    ("mi",   &[],                 Dimension::LENGTH,      5280.0 * FOOT),
    ("mph",  &[],                 Dimension::SPEED,       5280.0 * FOOT),
    ("km/h", &[],                 Dimension::SPEED,       1e6),
    ("m/s",  &[],                 Dimension::SPEED,       3.6e6),
    ("knots", &["knot", "kn"],    Dimension::SPEED,       1.852e6),
    ("kPa",  &[],                 Dimension::PRESSURE,    1e3 * HOURS2_PER_SECOND2),
    ("hPa",  &[],                 Dimension::PRESSURE,    1e2 * HOURS2_PER_SECOND2),
    ("m²",   &["m2"],             Dimension::AREA,        1e6),
    ("ft²",  &["ft2"],            Dimension::AREA,        FOOT * FOOT),
    ("ac",   &["acre", "acres"],  Dimension::AREA,        ACRE),
    ("ha",   &[],                 Dimension::AREA,        1e10),
    ("mL",   &["ml"],             Dimension::VOLUME,      1e3),
    ("L",    &["l"],              Dimension::VOLUME,      MILLIMETRE3_PER_LITRE),
    ("m³",   &["m3"],             Dimension::VOLUME,      1e9),
    ("gal",  &[],                 Dimension::VOLUME,      GALLON),
    ("qt",   &[],                 Dimension::VOLUME,      GALLON / 4.0),
    ("pt",   &[],                 Dimension::VOLUME,      GALLON / 8.0),
    ("fl oz", &["floz"],          Dimension::VOLUME,      GALLON / 128.0),
    ("lb",   &["lbs"],            Dimension::MASS,        POUND),
    ("oz",   &[],                 Dimension::MASS,        POUND / 16.0),
    ("kg",   &[],                 Dimension::MASS,        1e3),
    ("g",    &[],                 Dimension::MASS,        1.0),
    ("mg",   &[],                 Dimension::MASS,        1e-3),
    ("h",    &[],                 Dimension::TIME,        1.0),
    ("d",    &[],                 Dimension::TIME,        24.0),
    ("min",  &[],                 Dimension::TIME,        1.0 / 60.0),
    ("°C",   &["C", "degC", "ºC"], Dimension::TEMPERATURE, 1.0),
    ("°F",   &["F", "degF", "ºF"], Dimension::TEMPERATURE, 5.0 / 9.0),
];

/// Returns the plain unit of a symbol in any of its spellings, exactly as typed.
pub fn plain(symbol: &str) -> Option<Unit> {
    let (canonical, _, dimension, factor) =
        UNITS.iter().find(|(canonical, others, _, _)| *canonical == symbol || others.contains(&symbol))?;
    let offset = if *canonical == "°F" { 32.0 } else { 0.0 };
    Some(Unit { symbol: (*canonical).into(), dimension: *dimension, factor: *factor, offset })
}

/// Returns the symbols of a dimension, in the table's order, for messages.
pub fn symbols(dimension: Dimension) -> Vec<&'static str> {
    UNITS.iter().filter(|(_, _, other, _)| *other == dimension).map(|(symbol, _, _, _)| *symbol).collect()
}
