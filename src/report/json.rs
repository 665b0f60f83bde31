//! What JSON forms are made of: numbers, days and moments, and members that are made as they are written.
//!
//! A form is a struct that borrows the facts and is serialized. In tests its JSON Schema is derived from the same struct,
//! where a comment on a field becomes its description.

use crate::advice::Window;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use serde::{Serialize, Serializer};
use std::cell::Cell;

/// Returns a form as one line.
pub fn line(form: &impl Serialize) -> String {
    // No form has a key that is no text, and so each can be written.
    serde_json::to_string(form).unwrap_or_default() + "\n"
}

/// Returns a form with a line for each of its fields.
pub fn lines(form: &impl Serialize) -> String {
    serde_json::to_string_pretty(form).unwrap_or_default() + "\n"
}

/// A number: whole ones without a point, others with the fewest digits that give them back; null where it is none.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline, description = ""))]
pub struct Number(pub f64);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let number = crate::units::clean(self.0);
        if number == number.trunc() && number.abs() < 9e15 {
            serializer.serialize_i64(number as i64)
        } else {
            serializer.serialize_f64(number)
        }
    }
}

/// Local time with its offset: `2027-02-11T05:30:00-04:00`.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[cfg_attr(test, schemars(extend("pattern" = "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}")))]
pub struct Moment(String);

impl From<DateTime<Tz>> for Moment {
    fn from(moment: DateTime<Tz>) -> Self {
        Self(moment.format("%Y-%m-%dT%H:%M:%S%:z").to_string())
    }
}

/// A day: `2027-02-11`.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[cfg_attr(test, schemars(extend("pattern" = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$")))]
pub struct Day(String);

impl From<NaiveDate> for Day {
    fn from(day: NaiveDate) -> Self {
        Self(day.to_string())
    }
}

/// A time with two ends.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct WindowEntry {
    from: Moment,
    to: Moment,
}

impl From<&Window> for WindowEntry {
    fn from(window: &Window) -> Self {
        Self { from: window.from.into(), to: window.to.into() }
    }
}

type Members<'a, T> = Cell<Option<Box<dyn Iterator<Item = T> + 'a>>>;

/// A list whose members are made as they are written, once: they never stand in memory together.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline, description = ""))]
pub struct List<'a, T>(#[cfg_attr(test, schemars(with = "Vec<T>"))] Members<'a, T>);

impl<'a, T> List<'a, T> {
    /// Makes a list of what an iterator gives.
    pub fn of(members: impl Iterator<Item = T> + 'a) -> Self {
        Self(Cell::new(Some(Box::new(members))))
    }
}

impl<T: Serialize> Serialize for List<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.take().into_iter().flatten())
    }
}

/// What is known only when it is written.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline, description = ""))]
pub struct Late<'a, T>(#[cfg_attr(test, schemars(with = "T"))] Box<dyn Fn() -> T + 'a>);

impl<'a, T> Late<'a, T> {
    /// Makes it of a function that tells.
    pub fn of(told: impl Fn() -> T + 'a) -> Self {
        Self(Box::new(told))
    }
}

impl<T: Serialize> Serialize for Late<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        (self.0)().serialize(serializer)
    }
}

/// An object with keys of its own, whose members are made as they are written, once.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline, description = ""))]
pub struct Object<'a, K, T>(
    #[cfg_attr(test, schemars(with = "std::collections::BTreeMap<K, T>"))] Members<'a, (K, T)>,
);

impl<'a, K, T> Object<'a, K, T> {
    /// Makes an object of the keys and members that an iterator gives.
    pub fn of(members: impl Iterator<Item = (K, T)> + 'a) -> Self {
        Self(Cell::new(Some(Box::new(members))))
    }
}

impl<K: Serialize, T: Serialize> Serialize for Object<'_, K, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.take().into_iter().flatten())
    }
}

#[cfg(test)]
mod tests {
    use super::{List, Number, line};
    use std::cell::Cell;

    #[test]
    fn a_member_is_made_when_it_is_written() {
        let made = Cell::new(0);
        let list = List::of((0..50_000).inspect(|_| made.set(made.get() + 1)));
        // Where nobody reads on nothing more is made.
        let mut room = [0; 20];
        assert!(serde_json::to_writer(&mut room[..], &list).is_err());
        assert_eq!((&room, made.get()), (b"[0,1,2,3,4,5,6,7,8,9", 11));
    }

    #[test]
    fn numbers_have_no_more_digits_than_they_need() {
        let numbers = [5.0, -0.0, 0.1 + 0.2, 1e12, f64::NAN, f64::INFINITY].map(Number);
        assert_eq!(line(&numbers), "[5,0,0.3,1000000000000,null,null]\n");
    }
}
