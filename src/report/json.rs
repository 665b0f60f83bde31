//! The few pieces that JSON is made of, written into a buffer.

use crate::advice::Window;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::io::Write;

/// Writes a text with its quotes.
pub fn text(out: &mut Vec<u8>, text: &str) {
    // Writing into a buffer cannot fail.
    let _ = serde_json::to_writer(&mut *out, text);
}

/// Writes a number: whole ones without a point, others with the fewest digits that give them back.
pub fn number(out: &mut Vec<u8>, number: f64) {
    let number = crate::units::clean(number);
    if !number.is_finite() {
        out.extend_from_slice(b"null");
    } else if number == number.trunc() && number.abs() < 9e15 {
        let _ = write!(out, "{}", number as i64);
    } else {
        let _ = serde_json::to_writer(&mut *out, &number);
    }
}

/// Writes a key with its colon.
pub fn key(out: &mut Vec<u8>, key: &str) {
    text(out, key);
    out.push(b':');
}

/// Writes a list, one call for each of its members.
pub fn list<T>(
    out: &mut Vec<u8>,
    members: impl IntoIterator<Item = T>,
    mut one: impl FnMut(&mut Vec<u8>, T),
) {
    out.push(b'[');
    for (at, member) in members.into_iter().enumerate() {
        if at > 0 {
            out.push(b',');
        }
        one(out, member);
    }
    out.push(b']');
}

/// Writes a list of texts.
pub fn texts<'t>(out: &mut Vec<u8>, texts: impl IntoIterator<Item = &'t str>) {
    list(out, texts, text);
}

/// Writes a moment with its offset, or null.
pub fn moment(out: &mut Vec<u8>, moment: Option<DateTime<Tz>>) {
    match moment {
        Some(moment) => text(out, &moment.format("%Y-%m-%dT%H:%M:%S%:z").to_string()),
        None => out.extend_from_slice(b"null"),
    }
}

/// Writes a day, or null.
pub fn day(out: &mut Vec<u8>, day: Option<NaiveDate>) {
    match day {
        Some(day) => {
            let _ = write!(out, "\"{}\"", day.format("%Y-%m-%d"));
        }
        None => out.extend_from_slice(b"null"),
    }
}

/// Writes the two ends of a window, without braces.
pub fn window(out: &mut Vec<u8>, window: &Window) {
    out.extend_from_slice(b"\"from\":");
    moment(out, Some(window.from));
    out.extend_from_slice(b",\"to\":");
    moment(out, Some(window.to));
}
