//! Literals and values at places that ask for a kind.
//!
//! Comes in: what is written, and the kind that its place takes. Goes out: a datum in base units with the unit in
//! which it is written and the figure that it is, or a finding that says what would do.

use super::Checker;
use super::kinds;
use super::wording;
use crate::plan::{Datum, FigureId, ItemKind, Kind, TextId, WordListId};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{
    Clock, Date, DayOfYear, Literal, Name, Number, Quantity, Spanned, UnitWord, Value,
};
use crate::units::{self, Dimension, Unit};
use chrono::{Datelike, NaiveDate};
use std::sync::Arc;

/// A value at a place that asked for its kind.
pub(super) struct Given {
    /// The value in base units.
    pub(super) datum: Datum,
    /// The unit in which it is written.
    pub(super) unit: Unit,
    /// The figure that it is.
    pub(super) figure: Option<FigureId>,
    /// Where it stands.
    pub(super) span: Span,
}

impl Given {
    /// Returns its number, nothing for words and texts.
    pub(super) fn number(&self) -> Option<f64> {
        match self.datum {
            Datum::Number(number) => Some(number),
            Datum::Word(_) | Datum::Text(_) => None,
        }
    }
}

/// Returns a unit as written; nothing where a rate is by no volume or area at all.
pub(super) fn unit_of(word: &UnitWord<'_>) -> Option<Unit> {
    match word {
        UnitWord::Plain(symbol) => units::plain(symbol),
        UnitWord::Ppm(ingredient) => Some(Unit::ppm(ingredient)),
        UnitWord::Rate { amount, per, base } => {
            let per = per.map_or(1.0, |number| number.value);
            if !per.is_finite() || per <= 0.0 {
                return None;
            }
            Some(Unit::rate(&units::plain(amount)?, per, &units::plain(base)?))
        }
    }
}

impl<'a> Checker<'a> {
    /// Returns a number that can be reckoned with.
    pub(super) fn finite(&mut self, number: Number<'_>, at: Span) -> Option<f64> {
        if number.value.is_finite() {
            return Some(number.value);
        }
        let message = format!("`{}` is too great a number to reckon with", number.digits);
        self.fail(Problem::new(Finding::OutOfRange, at, message).help("numbers go up to about `1e308`"))
    }

    /// Returns a unit as written.
    pub(super) fn unit(&mut self, word: &UnitWord<'_>, at: Span) -> Option<Unit> {
        let unit = unit_of(word).filter(|unit| unit.factor.is_finite() && unit.factor > 0.0);
        if unit.is_none() {
            let message = "a rate is by some volume or area, and this one is by none or too much";
            let help = "write the volume or the area that it is by: `2 lb / 100 gal`";
            return self.fail(Problem::new(Finding::OutOfRange, at, message).help(help));
        }
        unit
    }

    /// Returns a whole number from one on, as windows take it.
    pub(super) fn whole(&mut self, number: &Spanned<Number<'_>>) -> Option<u32> {
        let value = self.finite(number.value, number.span)?;
        if value.fract() == 0.0 && (1.0..=1e6).contains(&value) {
            return Some(value as u32);
        }
        let message = format!("`{}` is not a whole number from 1 on", number.value.digits);
        self.fail(
            Problem::new(Finding::OutOfRange, number.span, message)
                .help("write a whole number of hours, days or nights, at most 1000000"),
        )
    }

    /// Returns a date that exists.
    pub(super) fn date(&mut self, date: Spanned<Date>) -> Option<NaiveDate> {
        let Date { year, month, day } = date.value;
        let found = NaiveDate::from_ymd_opt(i32::from(year), u32::from(month), u32::from(day));
        if found.is_none() {
            let problem = Problem::new(
                Finding::OutOfRange,
                date.span,
                format!("there is no day `{}`", wording::literal(&Literal::Date(date))),
            );
            return self.fail(problem.help("dates are year, month and day: `2027-02-11`"));
        }
        found
    }

    /// Returns a day of the year that exists in some year, as month and day.
    pub(super) fn day_of_year(&mut self, day: Spanned<DayOfYear>) -> Option<(u8, u8)> {
        let DayOfYear { month, day: of_month } = day.value;
        if NaiveDate::from_ymd_opt(2000, u32::from(month), u32::from(of_month)).is_some() {
            return Some((month, of_month));
        }
        let message = format!("there is no day `{}`", wording::literal(&Literal::DayOfYear(day)));
        self.fail(
            Problem::new(Finding::OutOfRange, day.span, message)
                .help("write a day that the month has: `28 Feb`"),
        )
    }

    /// Returns a time of day that exists, in hours.
    pub(super) fn clock(&mut self, clock: Spanned<Clock>) -> Option<f64> {
        let Clock { hour, minute } = clock.value;
        if hour < 24 && minute < 60 {
            return Some(f64::from(hour) + f64::from(minute) / 60.0);
        }
        let message = format!("there is no time `{}`", wording::literal(&Literal::Clock(clock)));
        self.fail(
            Problem::new(Finding::OutOfRange, clock.span, message).help("times go from `00:00` to `23:59`"),
        )
    }

    /// Returns the number of a text that the rulebook compares.
    pub(super) fn text(&mut self, text: &str) -> TextId {
        if let Some(id) = self.texts.get(text) {
            return *id;
        }
        let (id, text): (_, Arc<str>) = (TextId(self.plan.texts.len() as u32), text.into());
        self.plan.texts.push(text.clone());
        self.texts.insert(text, id);
        id
    }

    /// Returns a quantity in base units at a place that asks for a kind, and the unit in which it is written.
    pub(super) fn quantity(&mut self, quantity: &Quantity<'_>, kind: Kind) -> Option<(f64, Unit)> {
        let number = self.finite(quantity.number, quantity.span)?;
        let unit = match &quantity.unit {
            Some(word) => Some(self.unit(word, quantity.span)?),
            None => None,
        };
        let value = match (kind, &unit) {
            (Kind::Share, Some(unit)) if &*unit.symbol == "%" => Some(unit.amount_to_base(number)),
            // Also a volume in a volume, `1 gal / 100 gal`.
            (Kind::Number, Some(unit)) if unit.dimension == Dimension::NONE => {
                Some(unit.amount_to_base(number))
            }
            (Kind::Number, None) => Some(number),
            (Kind::Count, None) => {
                if number.fract() != 0.0 || number < 0.0 {
                    let message = format!(
                        "`{}` is no count: counts are whole and not negative",
                        quantity.number.digits
                    );
                    return self.fail(Problem::new(Finding::OutOfRange, quantity.span, message));
                }
                Some(number)
            }
            (Kind::Temperature, Some(unit)) if unit.is_temperature() => Some(unit.point_to_base(number)),
            (Kind::Quantity(dimension), Some(unit)) if unit.dimension == dimension => {
                Some(unit.amount_to_base(number)).filter(|_| &*unit.symbol != "%")
            }
            (Kind::Quantity(Dimension::NONE), None) => Some(number),
            _ => None,
        };
        match value {
            Some(value) if value.is_finite() => Some((value, unit.unwrap_or_else(Unit::none))),
            Some(_) => {
                let message = format!("`{}` is too much to reckon with", wording::quantity(quantity));
                self.fail(
                    Problem::new(Finding::OutOfRange, quantity.span, message)
                        .help("no field, tree or sprayer has so much: write it as it is meant"),
                )
            }
            None => self.wrong_unit(quantity, kind),
        }
    }

    fn wrong_unit<T>(&mut self, quantity: &Quantity<'_>, kind: Kind) -> Option<T> {
        let written = wording::quantity(quantity);
        let due = self.called(kind);
        if !kind.is_numeric() || matches!(kind, Kind::Date | Kind::Clock) {
            let message = format!("expected {due}, but `{written}` is not one");
            let help = self.would_do(kind);
            return self.fail(Problem::new(Finding::KindMismatch, quantity.span, message).maybe_help(help));
        }
        let found = match &quantity.unit {
            None => "has no unit".to_string(),
            Some(word) => match unit_of(word) {
                Some(unit) if unit.is_temperature() => "is a temperature".to_string(),
                Some(unit) if &*unit.symbol == "%" => "is a share".to_string(),
                Some(unit) => format!("is {}", unit.dimension.called()),
                None => "is something else".to_string(),
            },
        };
        let digits = quantity.number.digits;
        let symbols = kinds::unit_symbols(kind);
        let help = if symbols.is_empty() {
            format!("write the number alone: `{digits}`")
        } else if kind == Kind::Share && quantity.unit.is_none() {
            let per_cent = units::clean(quantity.number.value * 100.0);
            if (0.0..=1.0).contains(&quantity.number.value) {
                format!("write `{digits} %`, or `{per_cent} %` if a part of one is meant")
            } else {
                format!("write `{digits} %`")
            }
        } else if quantity.unit.is_none() {
            let ways: Vec<String> = symbols.iter().map(|symbol| format!("{digits} {symbol}")).collect();
            format!("write {}", wording::either(ways.iter().map(String::as_str)))
        } else {
            format!("use one of these units: {}", wording::both(symbols))
        };
        let message = format!("expected {due}, but `{written}` {found}");
        self.fail(Problem::new(Finding::UnitMismatch, quantity.span, message).help(help))
    }

    /// Returns a duration in hours.
    pub(super) fn duration(&mut self, quantity: &Quantity<'_>) -> Option<f64> {
        let (hours, _) = self.quantity(quantity, Kind::Quantity(Dimension::TIME))?;
        if hours >= 0.0 {
            return Some(hours);
        }
        let message = format!("`{}` lies before nothing: a duration is due", wording::quantity(quantity));
        self.fail(Problem::new(Finding::OutOfRange, quantity.span, message).help("leave the sign out"))
    }

    /// Returns a literal at a place that asks for a kind.
    pub(super) fn literal(&mut self, literal: &Literal<'_>, kind: Kind) -> Option<Given> {
        let span = literal.span();
        let plain = |datum| Some(Given { datum, unit: Unit::none(), figure: None, span });
        match (literal, kind) {
            (Literal::Quantity(quantity), _) => {
                let (value, unit) = self.quantity(quantity, kind)?;
                Some(Given { datum: Datum::Number(value), unit, figure: None, span })
            }
            (Literal::Date(date), Kind::Date) => {
                let date = self.date(*date)?;
                plain(Datum::Number(f64::from(date.num_days_from_ce())))
            }
            (Literal::Clock(clock), Kind::Clock) => {
                let hours = self.clock(*clock)?;
                plain(Datum::Number(hours))
            }
            (Literal::YesNo(it), Kind::YesNo) => plain(Datum::Word(u16::from(it.value))),
            (Literal::Text(text), Kind::Text) => {
                let id = self.text(&text.value);
                plain(Datum::Text(id))
            }
            (Literal::DayOfYear(_), Kind::Date) => {
                let message = format!("`{}` is a day of every year", wording::literal(literal));
                self.fail(
                    Problem::new(Finding::KindMismatch, span, message)
                        .help("write a date with its year, or a season: `date from 1 Dec to 31 Mar`"),
                )
            }
            _ => self.wrong_kind(span, &wording::literal(literal), kinds::literal_called(literal), kind),
        }
    }

    /// Says that something of one kind stands where another is due.
    pub(super) fn wrong_kind<T>(&mut self, at: Span, written: &str, found: &str, due: Kind) -> Option<T> {
        let message = format!("expected {}, but `{written}` is {found}", self.called(due));
        let help = self.would_do(due);
        self.fail(Problem::new(Finding::KindMismatch, at, message).maybe_help(help))
    }

    /// Returns what to write for a value of a kind.
    fn would_do(&self, kind: Kind) -> Option<String> {
        Some(match kind {
            Kind::YesNo => "write `yes` or `no`".to_string(),
            Kind::Text => "write it in double quotes: `\"Kent\"`".to_string(),
            Kind::Date => "write a date: `2027-02-11`".to_string(),
            Kind::Clock => "write a time of day: `06:30`".to_string(),
            Kind::Words(list) => {
                let words = self.plan[list].words.iter().take(12).map(|word| &*word.name);
                format!("write {}", wording::either(words))
            }
            Kind::Share => "write a share: `35 %`".to_string(),
            Kind::Number | Kind::Count => "write a number without a unit".to_string(),
            Kind::Temperature | Kind::Quantity(_) => {
                let symbols = kinds::unit_symbols(kind);
                if symbols.is_empty() {
                    return None;
                }
                format!("use one of these units: {}", wording::both(symbols))
            }
        })
    }

    /// Returns a value at a place that asks for a kind: a literal, a word of its list, or a figure.
    pub(super) fn value(&mut self, value: &Value<'a>, kind: Kind) -> Option<Given> {
        match value {
            Value::Literal(literal) => self.literal(literal, kind),
            Value::Name(name) => {
                if let Kind::Words(list) = kind
                    && let Some(place) = self.word(list, name.value)
                {
                    let datum = Datum::Word(place);
                    return Some(Given { datum, unit: Unit::none(), figure: None, span: name.span });
                }
                self.figure_value(name, kind)
            }
        }
    }

    /// Returns the place of a word in a list.
    pub(super) fn word(&self, list: WordListId, word: &str) -> Option<u16> {
        self.plan[list].words.iter().position(|known| &*known.name == word).map(|place| place as u16)
    }

    fn figure_value(&mut self, name: &Name<'a>, kind: Kind) -> Option<Given> {
        let Some(id) = self.figure(name.value) else {
            return self.unknown_value(name, kind);
        };
        if !self.figures_sound.contains(&id) {
            return None;
        }
        let figure = &self.plan[id];
        let (found, value, unit) = (figure.kind, figure.value, figure.unit.clone());
        let plain = |kind: Kind| matches!(kind, Kind::Share | Kind::Number | Kind::Count);
        let fits = found == kind || (plain(found) && plain(kind));
        if !fits {
            let (found_called, due) = (self.called(found), self.called(kind));
            let message = format!("expected {due}, but the figure `{}` is {found_called}", name.value);
            let units_differ = found.is_numeric()
                && kind.is_numeric()
                && !found.is_point()
                && !kind.is_point()
                && found.dimension() != kind.dimension();
            let finding = if units_differ { Finding::UnitMismatch } else { Finding::KindMismatch };
            let mut problem = Problem::new(finding, name.span, message)
                .related(self.plan[id].span, format!("`{}` is defined here", name.value));
            if found == Kind::Temperature && kind == Kind::Quantity(Dimension::TEMPERATURE) {
                problem = problem
                    .help("a figure is a temperature, never a difference: write the difference itself");
            }
            return self.fail(problem);
        }
        if let (Kind::Count, Datum::Number(number)) = (kind, value)
            && (number.fract() != 0.0 || number < 0.0)
        {
            let message = format!("expected a count, but `{}` is not whole or negative", name.value);
            return self.fail(Problem::new(Finding::OutOfRange, name.span, message));
        }
        Some(Given { datum: value, unit, figure: Some(id), span: name.span })
    }

    fn unknown_value<T>(&mut self, name: &Name<'a>, kind: Kind) -> Option<T> {
        if self.catalogue.is_broken(name.value) {
            return None;
        }
        if let Some(what) = self.catalogue.value_called(name.value) {
            let message = format!("expected a value or a figure, but `{}` is {what}", name.value);
            let help = "only an `always` compares two names; elsewhere name their difference in a `measure`";
            return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
        }
        let (message, near) = match kind {
            Kind::Words(list) => {
                let list = &self.plan[list];
                let message = if list.name.is_empty() {
                    format!(
                        "`{}` is not one of {}",
                        name.value,
                        wording::either(list.words.iter().map(|it| &*it.name))
                    )
                } else {
                    format!("`{}` is no word of `{}`", name.value, list.name)
                };
                let near = self.catalogue.near(name.value, list.words.iter().map(|word| &*word.name));
                (message, near)
            }
            Kind::YesNo | Kind::Text => {
                return self.wrong_kind(name.span, name.value, "a name", kind);
            }
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Temperature
            | Kind::Quantity(_)
            | Kind::Date
            | Kind::Clock => {
                let figures = self.catalogue.values(|kind, _| kind == ItemKind::Figure);
                let near = self.catalogue.near(name.value, figures.iter().copied());
                (format!("there is no figure `{}`", name.value), near)
            }
        };
        let help = match near {
            Some(near) => Some(format!("did you mean `{near}`?")),
            None if matches!(kind, Kind::Words(_)) => self.would_do(kind),
            None => Some(format!("write the value itself, or define it: `figure {} = …`", name.value)),
        };
        self.fail(Problem::new(Finding::UnknownName, name.span, message).maybe_help(help))
    }
}
