//! What stored notes and sprays share: the doubts of their pages, and parts of their JSON forms.

use super::{Lines, json};
use crate::grove::NewRow;
use crate::words::Language;

/// Writes what should be looked at twice, if anything should.
pub(super) fn twice(lines: &mut Lines, doubts: &[String], language: Language) {
    if !doubts.is_empty() {
        lines.blank();
        lines.text(0, &language.say("stored.twice", &[]));
        doubts.iter().for_each(|doubt| lines.text(2, doubt));
    }
}

/// Writes texts under a key.
pub(super) fn texts_json(out: &mut Vec<u8>, key: &str, texts: &[String]) {
    out.push(b',');
    json::key(out, key);
    json::texts(out, texts.iter().map(String::as_str));
}

/// Writes whether something was stored, and where: `"stored":true,"file":…,"line":…`.
pub(super) fn stored_json(out: &mut Vec<u8>, stored: Option<(&str, usize)>) {
    json::key(out, "stored");
    match stored {
        Some((file, line)) => {
            out.extend_from_slice(b"true,\"file\":");
            json::text(out, file);
            out.extend_from_slice(b",\"line\":");
            json::number(out, line as f64);
        }
        None => out.extend_from_slice(b"false"),
    }
}

/// Writes a row of a log as an object, its columns in their order.
pub(super) fn row_json(out: &mut Vec<u8>, row: &NewRow) {
    out.push(b'{');
    for (at, (column, value)) in row.iter().enumerate() {
        if at > 0 {
            out.push(b',');
        }
        json::key(out, column);
        json::text(out, value);
    }
    out.push(b'}');
}
