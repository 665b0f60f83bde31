//! Amounts as a scale or a measuring cup shows them: rounded down, so that nothing is ever too strong.

use crate::units::{clean, plain};

/// Returns a mass in grams in grams and in ounces; from 16 oz on in pounds.
pub fn shown_mass(grams: f64) -> Vec<String> {
    let ounces = plain("oz").map_or(0.0, |unit| grams / unit.factor);
    let us = if clean(ounces) >= 16.0 {
        format!("{} lb", down(ounces / 16.0, 2))
    } else {
        small(ounces, 1.0, 2, "oz")
    };
    vec![small(grams, 100.0, 1, "g"), us]
}

/// Returns a volume in millilitres in millilitres and in fluid ounces; from 128 fl oz on in gallons.
pub fn shown_volume(millilitres: f64) -> Vec<String> {
    let ounces = plain("fl oz").map_or(0.0, |unit| millilitres * 1e3 / unit.factor);
    let us = if clean(ounces) >= 128.0 {
        format!("{} gal", down(ounces / 128.0, 2))
    } else {
        small(ounces, 1.0, 2, "fl oz")
    };
    vec![small(millilitres, 100.0, 1, "mL"), us]
}

/// Returns a number with some decimals below a bound, and with one fewer from there on; what would be shown as nothing is
/// said to be less than the first step.
fn small(number: f64, bound: f64, decimals: i32, symbol: &str) -> String {
    let decimals = if clean(number) < bound { decimals } else { decimals - 1 };
    let step = libm::pow(10.0, f64::from(-decimals));
    if number > 0.0 && clean(number / step) < 1.0 {
        return format!("less than {step} {symbol}");
    }
    format!("{} {symbol}", down(number, decimals))
}

/// Returns a number rounded down; what only the noise of binary numbers keeps below a step counts as that step.
pub(super) fn down(number: f64, decimals: i32) -> String {
    let steps = libm::pow(10.0, f64::from(decimals));
    let whole = libm::floor(clean(number * steps));
    format!("{:.*}", decimals.max(0) as usize, whole / steps)
}
