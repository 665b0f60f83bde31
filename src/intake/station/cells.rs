//! Cells of a table: numbers with and without units, what says that nothing was measured, traces of rain.

use crate::intake::unit_words::Scale;

/// What stands in a cell.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum CellSays {
    /// A number, with the unit that stands behind it.
    Number(f64, Option<Scale>),
    /// Nothing was measured.
    Missing,
    /// Less rain than the gauge can tell.
    Trace,
    /// Something that is not understood.
    Unreadable,
}

const MISSING: &[&str] =
    &["-", "--", "---", "na", "n/a", "#n/a", "nan", "null", "none", "m", "x", "****", "///", "–", "—"];
const TRACE: &[&str] = &["t", "tr", "trace"];
/// Numbers that loggers write where they have none.
const MARKS: &[f64] = &[
    9999.0, -9999.0, -999.0, -99.9, 999.9, 9999.9, -999.9, 32767.0, -32768.0, 65535.0, 7999.0, -7999.0,
    6999.0, -6999.0,
];

/// Which sign stands before the decimals.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum DecimalSign {
    Point,
    Comma,
}

/// Reads a cell.
pub(super) fn read(text: &str, decimals: DecimalSign) -> CellSays {
    if text.is_empty() {
        return CellSays::Missing;
    }
    if let Some(number) = number(text, decimals) {
        return if MARKS.contains(&number) { CellSays::Missing } else { CellSays::Number(number, None) };
    }
    let small = text.to_lowercase();
    if MISSING.contains(&small.as_str()) {
        return CellSays::Missing;
    }
    if TRACE.contains(&small.as_str()) {
        return CellSays::Trace;
    }
    let end = text
        .find(|sign: char| !(sign.is_ascii_digit() || matches!(sign, '.' | ',' | '-' | '+' | '\u{2212}')));
    let (digits, unit) = text.split_at(end.unwrap_or(text.len()));
    match (number(digits, decimals), Scale::written(unit)) {
        (Some(number), Some(scale)) => CellSays::Number(number, Some(scale)),
        _ => CellSays::Unreadable,
    }
}

/// Reads a number with its decimals behind the one sign and its thousands parted by the other.
fn number(text: &str, decimals: DecimalSign) -> Option<f64> {
    let first = text.bytes().next()?;
    if !(first.is_ascii_digit() || matches!(first, b'-' | b'+' | b'.' | b',' | 0xe2)) {
        return None;
    }
    let plain = || text.parse::<f64>().ok().filter(|number| number.is_finite());
    let is_plain = text.bytes().all(|sign| sign.is_ascii_digit() || matches!(sign, b'-' | b'+' | b'.'));
    match decimals {
        DecimalSign::Point if is_plain => plain(),
        DecimalSign::Point => {
            text.replace(',', "").replace('\u{2212}', "-").parse().ok().filter(|it: &f64| it.is_finite())
        }
        DecimalSign::Comma => {
            let bare = text.replace('.', "").replace(',', ".").replace('\u{2212}', "-");
            // Without a comma a point is what it is elsewhere.
            if text.contains(',') { bare.parse().ok().filter(|it: &f64| it.is_finite()) } else { plain() }
        }
    }
}

/// Returns whether a cell can only be a number with a decimal comma: `12,5`.
pub(super) fn has_decimal_comma(text: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|sign| sign.is_ascii_digit());
    text.trim_start_matches(['-', '+'])
        .split_once(',')
        .is_some_and(|(whole, decimals)| digits(whole) && digits(decimals) && decimals.len() <= 3)
}

/// Returns whether a comma of a cell may part thousands: `1,234`.
pub(super) fn has_thousands(text: &str) -> bool {
    text.rsplit_once(',')
        .is_some_and(|(whole, digits)| digits.len() == 3 && !whole.trim_start_matches('-').starts_with('0'))
}
