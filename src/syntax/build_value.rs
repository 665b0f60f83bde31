//! Builds what is written as it is: texts, numbers, quantities, dates and clock times.
//!
//! Comes in: pieces. Goes out: literals and values of the tree. Does not ask whether a day exists or a unit fits.

use super::grammar::Rule;
use super::pieces::{Built, PieceWalk, RulePiece};
use super::tree::{Clock, Date, DayOfYear, Literal, Number, Quantity, Spanned, Text, UnitWord, Value};
use crate::source::Span;

/// The months as the language writes them, in their order.
pub(super) const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// The units in their canonical spelling.
pub(super) const UNITS: [&str; 30] = [
    "%", "°C", "°F", "mm", "cm", "m", "km", "in", "ft", "mph", "km/h", "m/s", "kPa", "ac", "ha", "fl oz",
    "gal", "qt", "pt", "L", "mL", "lb", "oz", "kg", "g", "mg", "h", "d", "min", "ppm",
];

impl<'s> PieceWalk<'s, '_> {
    /// Takes a literal or a name.
    pub fn value(&mut self) -> Built<Value<'s>> {
        Ok(match self.peek() {
            Some(Rule::name | Rule::weather) => Value::Name(self.name()?),
            _ => Value::Literal(self.literal()?),
        })
    }

    /// Returns whether the next piece is a literal.
    pub fn literal_ahead(&self) -> bool {
        let literals = [
            Rule::quantity,
            Rule::text,
            Rule::kw_yes,
            Rule::kw_no,
            Rule::date,
            Rule::clock,
            Rule::day_of_year,
        ];
        self.peek().is_some_and(|rule| literals.contains(&rule))
    }

    /// Takes a literal.
    pub fn literal(&mut self) -> Built<Literal<'s>> {
        Ok(match self.peek() {
            Some(Rule::quantity) => Literal::Quantity(self.quantity()?),
            Some(Rule::text) => Literal::Text(self.text()?),
            Some(Rule::date) => Literal::Date(self.date()?),
            Some(Rule::day_of_year) => Literal::DayOfYear(self.day_of_year()?),
            Some(Rule::clock) => Literal::Clock(self.clock()?),
            Some(rule @ (Rule::kw_yes | Rule::kw_no)) => {
                let piece = self.take()?;
                Literal::YesNo(self.spanned(rule == Rule::kw_yes, piece))
            }
            _ => return self.odd(),
        })
    }

    /// Takes a text, without its quotes.
    pub fn text(&mut self) -> Built<Text> {
        let piece = self.expect(Rule::text)?;
        let words = self.words(piece);
        let inner = words.get(1..words.len().saturating_sub(1)).unwrap_or_default();
        Ok(self.spanned(unfold(inner), piece))
    }

    /// Takes a text if one is next.
    pub fn maybe_text(&mut self, whole: RulePiece) -> Built<Option<Text>> {
        if self.peek_in(whole) == Some(Rule::text) { self.text().map(Some) } else { Ok(None) }
    }

    /// Takes a date.
    pub fn date(&mut self) -> Built<Spanned<Date>> {
        let piece = self.expect(Rule::date)?;
        let mut parts = self.words(piece).split('-');
        let year = parts.next().and_then(|part| part.parse().ok());
        let month = parts.next().and_then(|part| part.parse().ok());
        let day = parts.next().and_then(|part| part.parse().ok());
        let (Some(year), Some(month), Some(day)) = (year, month, day) else { return self.odd() };
        Ok(self.spanned(Date { year, month, day }, piece))
    }

    /// Takes a day of the year.
    pub fn day_of_year(&mut self) -> Built<Spanned<DayOfYear>> {
        let piece = self.expect(Rule::day_of_year)?;
        let words = self.words(piece);
        let digits = words.bytes().take_while(u8::is_ascii_digit).count();
        let day = words.get(..digits).and_then(|part| part.parse().ok());
        let month = words.get(words.len().saturating_sub(3)..);
        let month = month.and_then(|word| MONTHS.iter().position(|month| *month == word));
        let (Some(day), Some(month)) = (day, month) else { return self.odd() };
        Ok(self.spanned(DayOfYear { month: month as u8 + 1, day }, piece))
    }

    /// Takes a time of day.
    pub fn clock(&mut self) -> Built<Spanned<Clock>> {
        let piece = self.expect(Rule::clock)?;
        let parts = self.words(piece).split_once(':');
        let parts = parts.and_then(|(hour, minute)| Some((hour.parse().ok()?, minute.parse().ok()?)));
        let Some((hour, minute)) = parts else { return self.odd() };
        Ok(self.spanned(Clock { hour, minute }, piece))
    }

    /// Takes a number.
    pub fn number(&mut self) -> Built<Spanned<Number<'s>>> {
        let piece = self.take()?;
        let digits = self.words(piece);
        let Ok(value) = digits.parse() else { return self.odd() };
        Ok(self.spanned(Number { value, digits }, piece))
    }

    /// Takes a number and its unit, if it has one.
    pub fn quantity(&mut self) -> Built<Quantity<'s>> {
        let whole = self.expect(Rule::quantity)?;
        let number = self.number()?.value;
        let unit = if self.peek_in(whole).is_some() { Some(self.unit()?.value) } else { None };
        Ok(Quantity { number, unit, span: self.span(whole) })
    }

    /// Takes a unit.
    pub fn unit(&mut self) -> Built<Spanned<UnitWord<'s>>> {
        let piece = self.take()?;
        match piece.rule {
            Rule::unit => {
                let Some(unit) = canonical(self.words(piece)) else { return self.odd() };
                Ok(self.spanned(UnitWord::Plain(unit), piece))
            }
            Rule::rate => {
                let amount = self.expect(Rule::amount_unit)?;
                let per = if self.peek() == Some(Rule::number) { Some(self.number()?.value) } else { None };
                let base = self.expect(Rule::base_unit)?;
                let (Some(amount), Some(base)) = (canonical(self.words(amount)), canonical(self.words(base)))
                else {
                    return self.odd();
                };
                Ok(self.spanned(UnitWord::Rate { amount, per, base }, piece))
            }
            Rule::ppm => {
                let of = self.name()?;
                Ok(Spanned::new(UnitWord::Ppm(of.value), self.span(piece).to(of.span)))
            }
            _ => self.odd(),
        }
    }

    /// Takes a number of a scale's codes.
    pub fn code(&mut self) -> Built<Spanned<u32>> {
        let piece = self.expect(Rule::code)?;
        let Ok(code) = self.words(piece).parse() else {
            let at: Span = self.span(piece);
            return self.refuse(at, "this code is too long", "a code has at most nine digits: `511`");
        };
        Ok(self.spanned(code, piece))
    }
}

/// Returns the one spelling of a unit.
pub(super) fn canonical(word: &str) -> Option<&'static str> {
    match word {
        "F" => Some("°F"),
        "C" => Some("°C"),
        _ if word.starts_with("fl") => Some("fl oz"),
        _ => UNITS.into_iter().find(|unit| *unit == word),
    }
}

/// Resolves the escapes of a text, and makes each line break with the blanks around it one blank.
pub(super) fn unfold(inner: &str) -> String {
    if !inner.contains(['\\', '\n']) {
        return inner.to_owned();
    }
    let mut out = String::with_capacity(inner.len());
    let mut signs = inner.chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '\\' => match signs.next() {
                Some('n') => out.push('\n'),
                Some(other) => out.push(other),
                None => {}
            },
            '\n' => {
                out.truncate(out.trim_end_matches([' ', '\t', '\r']).len());
                while signs.next_if(|next| matches!(next, ' ' | '\t' | '\r' | '\n')).is_some() {}
                out.push(' ');
            }
            _ => out.push(sign),
        }
    }
    out
}
