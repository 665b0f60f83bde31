//! What a value can be: one value, several, none, or empty.

use super::Cause;
use crate::plan::{Datum, Kind, Name, Origin, Plan, TakenValue, TextId};

/// What a value can be. A known value is an extent of one; an unknown one is all that its kind allows.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Extent {
    /// The values that it can have.
    pub can_be: Possible,
    /// Whether there may be no such value.
    pub may_be_empty: bool,
}

/// From here on a number says only that it was too great to reckon with: arithmetic ends at about `1.8e308`.
const ENDLESS: f64 = 1e300;

/// The values that something can have.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Possible {
    /// None: it is empty.
    Nothing,
    /// Every number between two ends, both counted, in base units; an end may be infinite.
    Numbers(f64, f64),
    /// The words of this set, the bit of a word being its place; of yes-no `no` is bit 0.
    Words(u64),
    /// One text.
    Text(TextId),
    /// Any text.
    AnyText,
}

impl Extent {
    /// There is no such value.
    pub const EMPTY: Self = Self { can_be: Possible::Nothing, may_be_empty: true };
    /// Yes.
    pub const YES: Self = Self { can_be: Possible::Words(0b10), may_be_empty: false };
    /// No.
    pub const NO: Self = Self { can_be: Possible::Words(0b01), may_be_empty: false };
    /// Yes or no.
    pub const YES_OR_NO: Self = Self { can_be: Possible::Words(0b11), may_be_empty: false };

    /// One number.
    pub fn number(value: f64) -> Self {
        Self::between(value, value)
    }

    /// Every number between two ends; a number that does not exist makes it empty.
    pub fn between(low: f64, high: f64) -> Self {
        if low.is_nan() || high.is_nan() {
            return Self::EMPTY;
        }
        Self { can_be: Possible::Numbers(low.min(high), high.max(low)), may_be_empty: false }
    }

    /// One word of a list.
    pub fn word(place: u16) -> Self {
        Self::words(1u64.checked_shl(u32::from(place)).unwrap_or(0))
    }

    /// The words of a set.
    pub fn words(set: u64) -> Self {
        Self { can_be: Possible::Words(set), may_be_empty: false }
    }

    /// What is taken for granted of a name; nothing where it is left unknown.
    pub fn taken(value: &TakenValue) -> Option<Self> {
        Some(match value {
            TakenValue::One(datum) => Self::datum(*datum),
            TakenValue::FromTo(Datum::Number(low), Datum::Number(high)) => Self::between(*low, *high),
            TakenValue::FromTo(Datum::Word(low), Datum::Word(high)) => Self::words(
                (*low..=*high).fold(0, |set, place| set | 1u64.checked_shl(u32::from(place)).unwrap_or(0)),
            ),
            TakenValue::FromTo(one, _) => Self::datum(*one),
            TakenValue::Unknown => return None,
            TakenValue::Empty => Self::EMPTY,
        })
    }

    /// One value.
    pub fn datum(datum: Datum) -> Self {
        match datum {
            Datum::Number(value) => Self::number(value),
            Datum::Word(place) => Self::word(place),
            Datum::Text(text) => Self { can_be: Possible::Text(text), may_be_empty: false },
        }
    }

    /// All that a kind allows: what an unknown value can be. It may not be empty.
    pub fn anything(kind: Kind, plan: &Plan) -> Self {
        let can_be = match kind {
            Kind::Share => Possible::Numbers(0.0, 1.0),
            Kind::Count => Possible::Numbers(0.0, f64::INFINITY),
            Kind::Clock => Possible::Numbers(0.0, 24.0),
            Kind::Number | Kind::Temperature | Kind::Quantity(_) | Kind::Date => {
                Possible::Numbers(f64::NEG_INFINITY, f64::INFINITY)
            }
            Kind::YesNo => Possible::Words(0b11),
            Kind::Text => Possible::AnyText,
            Kind::Words(list) => {
                let count = plan[list].words.len().min(64) as u32;
                Possible::Words(if count == 64 { u64::MAX } else { (1u64 << count) - 1 })
            }
        };
        Self { can_be, may_be_empty: false }
    }

    /// The same, but it may also be empty.
    pub fn or_empty(self) -> Self {
        Self { may_be_empty: true, ..self }
    }

    /// Returns whether there is certainly no such value.
    pub fn is_empty(self) -> bool {
        self.can_be == Possible::Nothing
    }

    /// Returns whether it says no more of a name than the name's kind and range do.
    pub fn is_anything(self, item: &Name, plan: &Plan) -> bool {
        if self.is_settled() {
            return false;
        }
        // Too great to reckon with: only that it has no end that could be named.
        if self.ends().is_some_and(|(low, high)| low >= ENDLESS || high <= -ENDLESS) {
            return true;
        }
        let kind = Extent::anything(item.kind, plan);
        let range = match (&item.origin, kind.ends()) {
            (Origin::Observed(seen), Some((low, high))) => {
                seen.range.map(|(from, to)| (low.max(from), high.min(to))).unwrap_or((low, high))
            }
            _ => return self.can_be == kind.can_be,
        };
        self.ends().is_some_and(|(low, high)| low <= range.0 && high >= range.1)
    }

    /// Returns whether it is exactly one value, or certainly empty.
    pub fn is_settled(self) -> bool {
        match self.can_be {
            Possible::Nothing => true,
            Possible::Numbers(low, high) => low == high && !self.may_be_empty,
            Possible::Words(set) => set.is_power_of_two() && !self.may_be_empty,
            Possible::Text(_) => !self.may_be_empty,
            Possible::AnyText => false,
        }
    }

    /// Returns the ends of its numbers, if it has any.
    pub fn ends(self) -> Option<(f64, f64)> {
        match self.can_be {
            Possible::Numbers(low, high) => Some((low, high)),
            Possible::Nothing | Possible::Words(_) | Possible::Text(_) | Possible::AnyText => None,
        }
    }

    /// Returns its one number, if it is one.
    pub fn one_number(self) -> Option<f64> {
        self.ends().filter(|(low, high)| low == high && !self.may_be_empty).map(|(low, _)| low)
    }

    /// Returns the set of its words, empty where it has none.
    pub fn word_set(self) -> u64 {
        match self.can_be {
            Possible::Words(set) => set,
            Possible::Nothing | Possible::Numbers(..) | Possible::Text(_) | Possible::AnyText => 0,
        }
    }

    /// Returns its one text, if it is one.
    pub fn text(self) -> Option<TextId> {
        match self.can_be {
            Possible::Text(text) if !self.may_be_empty => Some(text),
            Possible::Text(_)
            | Possible::Nothing
            | Possible::Numbers(..)
            | Possible::Words(_)
            | Possible::AnyText => None,
        }
    }

    /// Returns what tells it from every other extent, to be compared or hashed.
    pub fn bits(self) -> [u64; 3] {
        let empty = u64::from(self.may_be_empty);
        match self.can_be {
            Possible::Nothing => [empty, 1, 0],
            Possible::Numbers(low, high) => [empty | 2, low.to_bits(), high.to_bits()],
            Possible::Words(set) => [empty | 4, set, 0],
            Possible::Text(text) => [empty | 8, u64::from(text.0), 0],
            Possible::AnyText => [empty | 16, 0, 0],
        }
    }

    /// Returns everything that either can be.
    pub fn union(self, other: Self) -> Self {
        let can_be = match (self.can_be, other.can_be) {
            (Possible::Nothing, it) | (it, Possible::Nothing) => it,
            (Possible::Numbers(a, b), Possible::Numbers(c, d)) => Possible::Numbers(a.min(c), b.max(d)),
            (Possible::Words(a), Possible::Words(b)) => Possible::Words(a | b),
            (Possible::Text(a), Possible::Text(b)) if a == b => Possible::Text(a),
            (Possible::Numbers(..) | Possible::Words(_) | Possible::Text(_) | Possible::AnyText, _) => {
                if matches!(self.can_be, Possible::Text(_) | Possible::AnyText) {
                    Possible::AnyText
                } else {
                    self.can_be
                }
            }
        };
        Self { can_be, may_be_empty: self.may_be_empty || other.may_be_empty }
    }
}

/// An extent, and why it is not one value where it is not.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// What the value can be.
    pub extent: Extent,
    /// Why it is unknown, an interval, or empty; nothing where it is known.
    pub cause: Option<Cause>,
    /// Whether a forecast went into it.
    pub forecast: bool,
    /// Whether it was not seen but assumed, as the rulebook says.
    pub assumed: bool,
}

impl Reading {
    /// A value without a blemish.
    pub fn known(extent: Extent) -> Self {
        Self { extent, cause: None, forecast: false, assumed: false }
    }

    /// A value that is not known for certain, or does not exist.
    pub fn because(extent: Extent, cause: Cause) -> Self {
        Self { extent, cause: Some(cause), forecast: false, assumed: false }
    }
}
