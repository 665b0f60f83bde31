//! What is written as it is: literals, quantities, dates; and the names that stand for them.

use super::{Name, Spanned, Text};
use crate::source::Span;

/// A literal or a name (of a figure, a stage, a level or a word).
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'s> {
    /// A literal.
    Literal(Literal<'s>),
    /// A name.
    Name(Name<'s>),
}

impl Value<'_> {
    /// Returns where the value stands.
    pub fn span(&self) -> Span {
        match self {
            Value::Literal(literal) => literal.span(),
            Value::Name(name) => name.span,
        }
    }
}

/// A literal.
#[derive(Clone, Debug, PartialEq)]
pub enum Literal<'s> {
    /// `2027-02-11`
    Date(Spanned<Date>),
    /// `1 Dec`
    DayOfYear(Spanned<DayOfYear>),
    /// `06:30`
    Clock(Spanned<Clock>),
    /// `61 °F`, `12`, `2 lb / 100 gal`
    Quantity(Quantity<'s>),
    /// `"Kent"`
    Text(Text),
    /// `yes`, `no`
    YesNo(Spanned<bool>),
}

impl Literal<'_> {
    /// Returns where the literal stands.
    pub fn span(&self) -> Span {
        match self {
            Literal::Date(it) => it.span,
            Literal::DayOfYear(it) => it.span,
            Literal::Clock(it) => it.span,
            Literal::Quantity(it) => it.span,
            Literal::Text(it) => it.span,
            Literal::YesNo(it) => it.span,
        }
    }
}

/// A date as written; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Date {
    /// The year.
    pub year: u16,
    /// The month as written.
    pub month: u8,
    /// The day as written.
    pub day: u8,
}

/// A day of the year; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayOfYear {
    /// The month, 1 to 12.
    pub month: u8,
    /// The day as written.
    pub day: u8,
}

/// A time of day; whether it exists is for the checker to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clock {
    /// The hour as written.
    pub hour: u8,
    /// The minute as written.
    pub minute: u8,
}

/// A number with its digits.
#[derive(Clone, Copy, Debug)]
pub struct Number<'s> {
    /// Its value; infinite where it does not fit.
    pub value: f64,
    /// As written, with its sign.
    pub digits: &'s str,
}

impl PartialEq for Number<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.digits == other.digits
    }
}

/// A number and its unit, if it has one.
#[derive(Clone, Debug)]
pub struct Quantity<'s> {
    /// The number.
    pub number: Number<'s>,
    /// The unit.
    pub unit: Option<UnitWord<'s>>,
    /// Where both stand.
    pub span: Span,
}

impl PartialEq for Quantity<'_> {
    fn eq(&self, other: &Self) -> bool {
        (&self.number, &self.unit) == (&other.number, &other.unit)
    }
}

/// A unit as written, in its one canonical spelling (`°F` for `F`, `fl oz` with one blank).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitWord<'s> {
    /// A plain unit.
    Plain(&'static str),
    /// `lb / 100 gal`; without a number it is one of the lower unit.
    Rate {
        /// The mass or volume.
        amount: &'static str,
        /// How many of the lower unit.
        per: Option<Number<'s>>,
        /// The volume or area.
        base: &'static str,
    },
    /// `ppm copper`
    Ppm(&'s str),
}
