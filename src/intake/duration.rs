//! Intervals of ISO 8601, `2027-02-09T05:00:00+00:00/PT3H`.

use chrono::{DateTime, Duration, Utc};

/// Reads an interval: start and length, start and end, or length and end.
pub(super) fn interval(text: &str) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let (one, other) = text.trim().split_once('/')?;
    match (length(one), length(other)) {
        (None, Some(length)) => moment(one).map(|from| (from, from + length)),
        (Some(length), None) => moment(other).map(|to| (to - length, to)),
        (None, None) => moment(one).zip(moment(other)),
        (Some(_), Some(_)) => None,
    }
}

/// Reads a moment with its offset.
pub(super) fn moment(text: &str) -> Option<DateTime<Utc>> {
    crate::tables::read_stamp(text)?.moment()
}

/// Reads `P3DT14H`, `PT1H`, `P1W`.
fn length(text: &str) -> Option<Duration> {
    let rest = text.trim().strip_prefix('P')?;
    let (date, time) = rest.split_once('T').unwrap_or((rest, ""));
    let mut whole = Duration::zero();
    for (part, units) in [(date, [('W', 10080), ('D', 1440)]), (time, [('H', 60), ('M', 1)])] {
        let mut digits = String::new();
        for letter in part.chars() {
            if letter.is_ascii_digit() {
                digits.push(letter);
                continue;
            }
            let minutes = units.iter().find(|(unit, _)| *unit == letter).map(|(_, minutes)| *minutes)?;
            whole +=
                Duration::minutes(digits.parse::<i64>().ok().filter(|count| *count < 100_000)? * minutes);
            digits.clear();
        }
        if !digits.is_empty() {
            return None;
        }
    }
    Some(whole)
}
