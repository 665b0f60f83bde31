//! Amounts as a scale or a measuring cup shows them: rounded down, so that nothing is ever too strong.

use crate::units::{clean, plain};

/// An amount as a scale or a measuring cup shows it.
#[derive(Clone, PartialEq, Debug)]
pub struct ShownAmount {
    /// The number, rounded down to the decimals that are shown.
    pub number: f64,
    /// How many decimals are shown.
    pub decimals: usize,
    /// The unit: `g`, `fl oz`.
    pub symbol: String,
    /// The first step of the scale, where the amount is less than that and would be shown as nothing.
    pub less_than: Option<f64>,
}

impl ShownAmount {
    /// Returns an amount rounded down to some decimals.
    pub(super) fn down(number: f64, decimals: usize, symbol: &str) -> Self {
        let steps = libm::pow(10.0, decimals as f64);
        // What only the noise of binary numbers keeps below a step counts as that step.
        let number_down = libm::floor(clean(number * steps)) / steps;
        let less_than = (number > 0.0 && number_down <= 0.0).then_some(1.0 / steps);
        Self { number: number_down, decimals, symbol: symbol.to_owned(), less_than }
    }

    /// Returns the number that is shown with its unit, or the first step of the scale with it: `9.0 g`.
    pub fn figure(&self) -> String {
        match self.less_than {
            Some(step) => format!("{step} {}", self.symbol),
            None => format!("{:.*} {}", self.decimals, self.number, self.symbol),
        }
    }
}

/// Returns a mass in grams in grams and in ounces; from 16 oz on in pounds.
pub fn shown_mass(grams: f64) -> Vec<ShownAmount> {
    let ounces = plain("oz").map_or(0.0, |unit| grams / unit.factor);
    let us = if clean(ounces) >= 16.0 {
        ShownAmount::down(ounces / 16.0, 2, "lb")
    } else {
        small(ounces, 1.0, 2, "oz")
    };
    vec![small(grams, 100.0, 1, "g"), us]
}

/// Returns a volume in millilitres in millilitres and in fluid ounces; from 128 fl oz on in gallons.
pub fn shown_volume(millilitres: f64) -> Vec<ShownAmount> {
    let ounces = plain("fl oz").map_or(0.0, |unit| millilitres * 1e3 / unit.factor);
    let us = if clean(ounces) >= 128.0 {
        ShownAmount::down(ounces / 128.0, 2, "gal")
    } else {
        small(ounces, 1.0, 2, "fl oz")
    };
    vec![small(millilitres, 100.0, 1, "mL"), us]
}

/// Returns a number with some decimals below a bound, and with one fewer from there on.
fn small(number: f64, bound: f64, decimals: usize, symbol: &str) -> ShownAmount {
    let decimals = if clean(number) < bound { decimals } else { decimals.saturating_sub(1) };
    ShownAmount::down(number, decimals, symbol)
}
