//! Values of a name as its author would write them.

use super::{Datum, Kind, NameId, Plan};
use crate::units::{Unit, clean};

impl Plan {
    /// Returns a number in base units as an author would write it for a name: `90 °F`, `5`, `20 %`, `7 d`.
    pub fn number_of(&self, name: NameId, base: f64) -> String {
        number_in(self[name].kind, &self[name].unit, base)
    }

    /// Returns the word at a place of a name's list: a stage, a level, yes or no.
    pub fn word_of(&self, name: NameId, place: u16) -> String {
        self.word_in(self[name].kind, place)
    }

    /// Returns the word at a place of a kind's list; none of a kind that has no words.
    pub fn word_in(&self, kind: Kind, place: u16) -> String {
        if kind == Kind::YesNo {
            return if place == 1 { "yes" } else { "no" }.to_string();
        }
        let word = kind.list().and_then(|list| self[list].words.get(usize::from(place)));
        word.map_or_else(String::new, |word| word.name.to_string())
    }

    /// Returns a datum of a kind as a rulebook writes it, a number in its unit.
    pub fn datum_in(&self, kind: Kind, unit: &Unit, datum: Datum) -> String {
        match datum {
            Datum::Number(number) => number_in(kind, unit, number),
            Datum::Word(place) => self.word_in(kind, place),
            Datum::Text(text) => {
                format!("\"{}\"", self.texts.get(text.0 as usize).map_or("", |text| &**text))
            }
        }
    }

    /// Returns whether the words of a kind have an order that means something.
    pub fn orders(&self, kind: Kind) -> bool {
        kind.list().is_some_and(|list| self[list].ordered)
    }

    /// Returns whether a name's words have an order that means something.
    pub fn is_ordered(&self, name: NameId) -> bool {
        self.orders(self[name].kind)
    }
}

/// Returns a number in base units in a unit, unrounded.
pub fn number_in(kind: Kind, unit: &Unit, base: f64) -> String {
    match kind {
        Kind::Date => chrono::NaiveDate::from_num_days_from_ce_opt(base as i32)
            .map_or_else(|| format!("day {base}"), |date| date.format("%Y-%m-%d").to_string()),
        Kind::Clock => {
            let minutes = (base * 60.0).round() as i64;
            format!("{:02}:{:02}", minutes / 60, minutes % 60)
        }
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::YesNo
        | Kind::Text
        | Kind::Words(_) => {
            let number = if kind == Kind::Temperature {
                unit.point_from_base(base)
            } else {
                unit.amount_from_base(base)
            };
            let number = clean(number);
            if unit.symbol.is_empty() { number.to_string() } else { format!("{number} {}", unit.symbol) }
        }
    }
}
