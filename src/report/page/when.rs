//! Moments and spans of time as a grower reads them.

use crate::advice::{KeepOut, Window};
use crate::words::Words;
use chrono::DateTime;
use chrono_tz::Tz;

/// Returns how old something is in whole hours, from two days on in days.
pub fn age(then: DateTime<Tz>, now: DateTime<Tz>) -> String {
    let hours = (now - then).num_hours();
    match hours {
        0 => "less than 1 h old".to_string(),
        hours if hours < 0 => "from a later moment".to_string(),
        hours if hours < 48 => format!("{hours} h old"),
        hours => format!("{} days old", hours / 24),
    }
}

/// Returns how much time passes in a window, whole minutes of it: `1 h 59 min`.
pub fn length(window: &Window) -> String {
    minutes((window.to - window.from).num_minutes())
}

/// Returns minutes in words: `45 min`, `2 h`, `1 h 59 min`.
pub fn minutes(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// Says until when people keep out after a spray that begins as its first hours open.
pub fn keep_out_words(out: &KeepOut, words: Words<'_>) -> String {
    let moment = |moment| words.moment(moment);
    let until = moment(out.until);
    match out.to {
        Some(to) => {
            let same_day = to.date_naive() == out.from.date_naive();
            let done = if same_day { words.clock(to.time()) } else { moment(to) };
            format!("until {until}, if you start {} and are done {done}", moment(out.from))
        }
        None => {
            let hours = crate::units::show(out.hours, "h");
            format!(
                "at least until {until}: {hours} after the end of a spray that starts {}",
                moment(out.from)
            )
        }
    }
}
