//! Amounts for the tank, and why there are none.

use super::{Speech, Words};
use crate::grove::Jug;
use crate::sprayday::ShownAmount;
use crate::units::plain;

impl Words<'_> {
    /// Returns an amount as a scale or a cup shows it, the grower's own unit first: `1.0 oz (30 g)`.
    pub fn amount(&self, shown: &[ShownAmount]) -> String {
        let one = |shown: &ShownAmount| match shown.less_than {
            Some(_) => self.say("amount.less-than", &[("amount", &shown.figure())]),
            None => shown.figure(),
        };
        let mut shown: Vec<String> = shown.iter().map(one).collect();
        if self.speech == Speech::Us && shown.len() > 1 {
            shown.swap(0, 1);
        }
        match &shown[..] {
            [] => String::new(),
            [one] => one.clone(),
            [first, rest @ ..] => format!("{first} ({})", rest.join(", ")),
        }
    }

    /// Returns a volume in the grower's unit and in the other: `4 gal (15.1 L)`.
    pub fn volume(&self, cubic: f64) -> String {
        let number = |symbol: &str| plain(symbol).map_or(0.0, |unit| unit.amount_from_base(cubic));
        let told = |symbol: &str, decimals: usize| {
            let digits = format!("{:.decimals$}", number(symbol));
            let short =
                if decimals > 0 { digits.trim_end_matches('0').trim_end_matches('.') } else { &digits };
            format!("{short} {symbol}")
        };
        // Beside the grower's own unit three digits of the other are enough.
        let other = |symbol: &str| match number(symbol) {
            number if number >= 100.0 => told(symbol, 0),
            number if number >= 10.0 => told(symbol, 1),
            _ => told(symbol, 2),
        };
        match self.speech {
            Speech::Metric => format!("{} ({})", told("L", 2), other("gal")),
            Speech::Us | Speech::AsWritten | Speech::Both => format!("{} ({})", told("gal", 2), other("L")),
        }
    }

    /// Returns a volume of spray in the grower's own unit alone: `12 gal`.
    pub fn volume_short(&self, cubic: f64) -> String {
        self.volume(cubic).split(" (").next().unwrap_or_default().to_string()
    }

    /// Returns when the label of a jug was read.
    pub fn label_read(&self, jug: &Jug) -> String {
        match jug.label_read {
            Some(day) => self.say("sheet.jug.read", &[("day", &self.day(day))]),
            None => self.say("sheet.jug.unread", &[]),
        }
    }
}
