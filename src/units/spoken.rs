//! Quantities as growers say them: `2 TBSP per gallon`, `1:100`, `½ oz/gal`, `600 ppm copper`.
//!
//! Comes in: a cell or a word of the command line. Goes out: a number with an exact unit. Spaces, capitals and
//! plurals do not matter.

use super::{Dimension, Unit, clean, plain};
use crate::phrase::{Phrase, said};
use crate::problems::nearest;
use std::sync::Arc;

/// A number with its unit, and of what it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Spoken {
    /// The number as said.
    pub number: f64,
    /// Its unit; plain where none was said. `per tree` is not part of it.
    pub unit: Unit,
    /// Whether it is for each tree.
    pub per_tree: bool,
    /// Of what it is, where that was said: `copper` in `3 lb/ac copper`.
    pub of: Option<Arc<str>>,
}

impl Spoken {
    /// Returns the amount in base units; of a temperature it is a difference.
    pub fn amount(&self) -> f64 {
        self.unit.amount_to_base(self.number)
    }

    /// Returns the point on its scale in base units: 212 °F is 100.
    pub fn point(&self) -> f64 {
        self.unit.point_to_base(self.number)
    }

    /// Returns whether it is a number without any unit.
    pub fn is_bare(&self) -> bool {
        self.unit.symbol.is_empty() && !self.per_tree && self.of.is_none()
    }
}

/// Why something is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unspoken {
    /// It does not begin with a number.
    NoNumber,
    /// Its number cannot be read; the text says what to write.
    Number(Phrase),
    /// Its unit is not known; nearest to it is this one.
    Unit(String, Option<&'static str>),
}

/// Reads a quantity.
pub fn parse(text: &str) -> Result<Spoken, Unspoken> {
    let (number, rest) = number(text.trim())?;
    if let Some(parts) = rest.strip_prefix(':') {
        let (parts, rest) = self::number(parts.trim())?;
        if !rest.is_empty() || parts <= 0.0 {
            return Err(Unspoken::Number("1:100".to_string().into()));
        }
        let symbol = format!("in {}", clean(parts)).into();
        let unit = Unit { symbol, dimension: Dimension::NONE, factor: 1.0 / parts, offset: 0.0 };
        return Ok(Spoken { number, unit, per_tree: false, of: None });
    }
    let said = said(rest)?;
    let unit = said.unit.unwrap_or_else(Unit::none);
    Ok(Spoken { number, unit, per_tree: said.per_tree, of: said.of })
}

/// Reads a unit without a number, as in the header of a column.
pub fn unit(text: &str) -> Result<Unit, Unspoken> {
    let said = said(text.trim())?;
    said.unit.filter(|_| !said.per_tree).ok_or_else(|| Unspoken::Unit(text.trim().to_string(), None))
}

/// Returns units of a dimension that a message can offer, `mph, km/h, m/s or knots`.
pub fn offered(dimension: Dimension) -> Phrase {
    let per_area = Dimension::VOLUME.over(Dimension::AREA);
    let units: Vec<&str> = match dimension {
        Dimension::CONCENTRATION => vec!["lb/gal", "g/L", "oz / 100 gal"],
        Dimension::RATE => vec!["lb/ac", "oz/ac", "kg/ha"],
        Dimension::LENGTH => vec!["in", "mm", "ft", "m"],
        Dimension::VOLUME => vec!["gal", "fl oz", "L", "mL"],
        Dimension::TEMPERATURE => vec!["°F", "°C"],
        Dimension::TIME => vec!["h", "d", "min"],
        Dimension::NONE => vec!["%"],
        other if other == per_area => vec!["gal/ac", "L/ha"],
        other if other == Dimension::VOLUME.over(Dimension::TIME) => vec!["gal/h", "L/h"],
        other => super::symbols(other),
    };
    listed(&units)
}

/// Returns `a, b or c`.
fn listed(words: &[&str]) -> Phrase {
    match words {
        [] => Phrase::default(),
        [one] => (*one).to_string().into(),
        [first @ .., last] => said!("{one} or {other}", one = first.join(", "), other = last),
    }
}

/// Canonical symbol, and what else people write, in small letters and without the `s` of the plural; Spanish beside English.
#[rustfmt::skip]
const SAID: &[(&str, &[&str])] = &[
    ("%",     &["percent", "pct", "per cent"]),
    ("mm",    &["millimetre", "millimeter", "milímetro", "milimetro"]),
    ("cm",    &["centimetre", "centimeter", "centímetro", "centimetro"]),
    ("m",     &["metre", "meter", "metro"]),
    ("km",    &["kilometre", "kilometer"]),
    ("in",    &["inch", "inche", "pulgada"]),
    ("ft",    &["foot", "feet", "pie"]),
    ("yd",    &["yard"]),
    ("mi",    &["mile"]),
    ("mph",   &["mi/h", "miles per hour", "mile per hour"]),
    ("km/h",  &["kmh", "kph", "km per hour", "km per h"]),
    ("m/s",   &["mps", "m per s", "m/sec", "metres per second", "meters per second"]),
    ("knots", &["knot", "kn", "kt"]),
    ("kPa",   &[]),
    ("hPa",   &["mbar"]),
    ("m²",    &["m2", "sq m", "square metre", "square meter"]),
    ("ft²",   &["ft2", "sq ft", "square foot", "square feet"]),
    ("ac",    &["acre"]),
    ("ha",    &["hectare"]),
    ("mL",    &["millilitre", "milliliter", "cc"]),
    ("L",     &["litre", "liter", "ltr", "litro"]),
    ("m³",    &["m3", "cubic metre", "cubic meter"]),
    ("gal",   &["gallon", "us gal", "us gallon", "galón", "galon", "galone"]),
    ("qt",    &["quart"]),
    ("pt",    &["pint"]),
    ("fl oz", &["floz", "fluid oz", "fluid ounce", "fl ounce"]),
    ("lb",    &["pound", "libra"]),
    ("oz",    &["ounce", "onza"]),
    ("kg",    &["kilogram", "kilo"]),
    ("g",     &["gram", "gm", "gramo"]),
    ("mg",    &["milligram"]),
    ("h",     &["hour", "hr"]),
    ("d",     &["day"]),
    ("min",   &["minute"]),
    ("°C",    &["c", "degc", "deg c", "celsius", "degrees celsius", "degree celsius", "º c", "ºc", "° c"]),
    ("°F",    &["f", "degf", "deg f", "fahrenheit", "degrees fahrenheit", "degree fahrenheit", "ºf", "° f"]),
];

const LITRE: f64 = 1e6;
const GALLON: f64 = 3.785411784 * LITRE;
const FOOT: f64 = 304.8;

/// Units that only growers speak: symbol, other words, dimension, factor. Exact by definition: Handbook 44,
/// appendix C (US measures: a cup is 8 fl oz, a tablespoon 1/2, a teaspoon 1/6); the imperial gallon is 4.54609 L.
#[rustfmt::skip]
const SPOKEN_ONLY: &[(&str, &[&str], Dimension, f64)] = &[
    ("cup",     &[],                                                  Dimension::VOLUME, GALLON / 16.0),
    ("tbsp",    &["tablespoon", "tbs", "tblsp"],                      Dimension::VOLUME, GALLON / 256.0),
    ("tsp",     &["teaspoon"],                                        Dimension::VOLUME, GALLON / 768.0),
    ("imp gal", &["imperial gallon", "imperial gal", "imp gallon", "uk gal"], Dimension::VOLUME, 4.54609 * LITRE),
    ("ft³",     &["ft3", "cu ft", "cubic foot", "cubic feet"],        Dimension::VOLUME, FOOT * FOOT * FOOT),
    ("% w/v",   &["%w/v", "percent w/v", "% m/v"],                    Dimension::CONCENTRATION, 10.0 / LITRE),
    ("% v/v",   &["%v/v", "percent v/v"],                             Dimension::NONE, 0.01),
    ("ppm",     &["parts per million"],                               Dimension::CONCENTRATION, 1e-3 / LITRE),
    ("sprays",  &["spray", "application"],                            Dimension::NONE, 1.0),
    ("trees",   &["tree"],                                            Dimension::NONE, 1.0),
];

/// Returns the unit that a word or a few words name.
fn known(words: &str) -> Option<Unit> {
    let singular = words.strip_suffix('s').filter(|rest| rest.len() > 1);
    for words in [Some(words), singular].into_iter().flatten() {
        for (symbol, others) in SAID {
            if symbol.to_lowercase() == words || others.contains(&words) {
                return plain(symbol);
            }
        }
        for (symbol, others, dimension, factor) in SPOKEN_ONLY {
            if *symbol == words || others.contains(&words) {
                return Some(Unit {
                    symbol: (*symbol).into(),
                    dimension: *dimension,
                    factor: *factor,
                    offset: 0.0,
                });
            }
        }
    }
    None
}

/// What stands after a number.
#[derive(Default)]
struct SpokenUnit {
    unit: Option<Unit>,
    per_tree: bool,
    of: Option<Arc<str>>,
}

fn said(text: &str) -> Result<SpokenUnit, Unspoken> {
    let words = spaced(text);
    if words.is_empty() {
        return Ok(SpokenUnit::default());
    }
    let (top, mut of) = match leading(&words) {
        Some((unit, rest)) => (unit, rest),
        None => return Err(unknown(&words)),
    };
    let by = ["/", "per ", "a ", "an "].iter().find_map(|by| of.strip_prefix(by));
    let Some(under) = by.map(str::trim) else {
        return Ok(with_ingredient(top, false, of));
    };
    let (per, below) = number(under).map_or((1.0, under), |(per, rest)| (per, rest));
    if per <= 0.0 {
        return Err(Unspoken::Number("100 gal".to_string().into()));
    }
    let (base, rest) = leading(below).ok_or_else(|| unknown(below))?;
    of = rest;
    if &*base.symbol == "trees" {
        let unit = Unit { factor: top.factor / per, ..top };
        return Ok(with_ingredient(unit, true, of));
    }
    Ok(with_ingredient(Unit::rate(&top, per, &base), false, of))
}

/// Joins a unit with what it is of; water and spray are no ingredients.
fn with_ingredient(unit: Unit, per_tree: bool, rest: &str) -> SpokenUnit {
    let rest = rest.strip_prefix("of ").unwrap_or(rest).trim();
    let of = Some(rest).filter(|rest| !matches!(*rest, "" | "water" | "spray" | "each")).map(Arc::from);
    let unit = match &of {
        Some(ingredient) if &*unit.symbol == "ppm" => Unit::ppm(ingredient),
        _ => unit,
    };
    SpokenUnit { unit: Some(unit), per_tree, of }
}

/// Returns the longest unit that a text begins with, and the rest.
fn leading(text: &str) -> Option<(Unit, &str)> {
    let mut ends: Vec<usize> = text.match_indices(' ').map(|(at, _)| at).collect();
    ends.extend(text.match_indices('/').map(|(at, _)| at));
    ends.push(text.len());
    ends.sort_unstable();
    ends.dedup();
    ends.iter().take(6).rev().find_map(|end| {
        let (head, rest) = text.split_at_checked(*end)?;
        known(head.trim()).map(|unit| (unit, rest.trim()))
    })
}

/// Names the unit whose symbol or other word is nearest to what was said.
fn unknown(words: &str) -> Unspoken {
    let first = words.split(['/', ' ']).next().unwrap_or(words);
    let singular = first.strip_suffix('s').unwrap_or(first);
    let spoken_only = SPOKEN_ONLY.iter().map(|(symbol, others, ..)| (*symbol, *others));
    let all: Vec<(&str, &'static str)> = SAID
        .iter()
        .copied()
        .chain(spoken_only)
        .flat_map(|(symbol, others)| {
            others.iter().chain([&symbol]).map(|word| (*word, symbol)).collect::<Vec<_>>()
        })
        .collect();
    let near = nearest(singular, all.iter().map(|(word, _)| *word));
    let symbol = near.and_then(|near| all.iter().find(|(word, _)| *word == near)).map(|(_, symbol)| *symbol);
    Unspoken::Unit(words.to_string(), symbol)
}

/// Returns a text in small letters with single spaces, none around `/`, and without the dots of abbreviations.
fn spaced(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut digit = false;
    for letter in text.chars().flat_map(char::to_lowercase) {
        let gap = letter.is_whitespace() || (letter == '.' && !digit);
        digit = letter.is_ascii_digit() || (letter == '.' && digit);
        if gap {
            if !out.is_empty() && !out.ends_with([' ', '/']) {
                out.push(' ');
            }
        } else {
            if letter == '/' && out.ends_with(' ') {
                out.pop();
            }
            out.push(letter);
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Reads the number that a text begins with: `2`, `-0.5`, `1/2`, `1 1/2`, `½`. Returns it and the rest.
fn number(text: &str) -> Result<(f64, &str), Unspoken> {
    let (sign, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (-1.0, body),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, rest) = digits(body);
    let after = rest.trim_start();
    if let (Some((value, half)), true) = (vulgar(after), !whole.contains(['.', 'e'])) {
        let whole = if whole.is_empty() { 0.0 } else { finite(whole)? };
        return Ok((sign * (whole + value), half.trim_start()));
    }
    if whole.is_empty() {
        return Err(Unspoken::NoNumber);
    }
    if rest.starts_with(',') {
        return Err(Unspoken::Number("a point for the decimals and no commas: `1.5`, `1500`".into()));
    }
    if let Some((value, rest)) = fraction(body) {
        return Ok((sign * value, rest));
    }
    if let Some((value, rest)) =
        fraction(after).filter(|_| !whole.contains(['.', 'e']) && after.len() < rest.len())
    {
        return Ok((sign * (finite(whole)? + value), rest));
    }
    Ok((sign * finite(whole)?, after))
}

fn finite(digits: &str) -> Result<f64, Unspoken> {
    let number = digits.parse::<f64>().ok().filter(|number| number.is_finite());
    number.ok_or_else(|| Unspoken::Number(said!("a number such as `12` or `0.5`, not `{digits}`", digits)))
}

/// Splits off digits with at most one decimal point, and an exponent.
fn digits(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let run = |from: usize| bytes.iter().skip(from).take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = run(0);
    if bytes.get(end) == Some(&b'.') && run(end + 1) > 0 {
        end += 1 + run(end + 1);
    }
    if end > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = run(end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    text.split_at_checked(end).unwrap_or(("", text))
}

/// Reads `1/2`, `3/4`, `1/3`, `5/8`: the parts into which a measuring cup is divided.
fn fraction(text: &str) -> Option<(f64, &str)> {
    let (top, rest) = digits(text);
    let (bottom, rest) = digits(rest.strip_prefix('/')?);
    let parts = match bottom {
        "2" => 2.0,
        "3" => 3.0,
        "4" => 4.0,
        "8" => 8.0,
        "16" => 16.0,
        _ => return None,
    };
    Some((top.parse::<f64>().ok()? / parts, rest.trim_start()))
}

fn vulgar(text: &str) -> Option<(f64, &str)> {
    let letter = text.chars().next()?;
    let value = match letter {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        _ => return None,
    };
    Some((value, text.strip_prefix(letter)?))
}
