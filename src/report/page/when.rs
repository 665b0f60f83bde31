//! Lengths of time, and until when people keep out.

use crate::advice::{KeepOut, Turn, Window};
use crate::trace::Verdict;
use crate::words::Words;
use chrono::NaiveDate;

/// Returns what a verdict waits for until a day on which enough days have passed since the last spray, with the key of its
/// label: one that advises none because the trees are covered, or one that allows none yet.
pub fn due_words(words: Words<'_>, verdict: &Verdict, day: NaiveDate) -> Option<(&'static str, String)> {
    match verdict {
        Verdict::Hold => Some(("page.covered", words.day(day))),
        Verdict::AllShut => Some(("page.until", words.say("page.until.days", &[("day", &words.day(day))]))),
        Verdict::Spray(_) | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => None,
    }
}

/// Returns how much time passes in a window, whole minutes of it: `1 h 59 min`.
pub fn length(window: &Window) -> String {
    minutes((window.to - window.from).num_minutes())
}

/// Returns minutes: `45 min`, `2 h`, `1 h 59 min`.
pub fn minutes(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// Says what a verdict becomes, and when, if the forecast holds.
pub fn turn_words(words: Words<'_>, turn: &Turn) -> String {
    let at = match turn.at.format("%H:%M").to_string().as_str() {
        "00:00" => words.day(turn.at.date_naive()),
        _ => words.moment(turn.at),
    };
    words.say("page.turn.words", &[("at", &at), ("then", &words.verdict(&turn.verdict))])
}

/// Says until when people keep out after a spray that begins as its first hours open.
pub fn keep_out_words(words: Words<'_>, out: &KeepOut) -> String {
    let (until, from) = (words.moment(out.until), words.moment(out.done.from));
    match out.done.to {
        Some(to) => {
            let same_day = to.date_naive() == out.done.from.date_naive();
            let done = if same_day { words.clock(to.time()) } else { words.moment(to) };
            words.say("page.keep-out.words", &[("until", &until), ("from", &from), ("to", &done)])
        }
        None => {
            let hours = crate::units::show(out.hours, "h");
            words.say("page.keep-out.at-least", &[("until", &until), ("from", &from), ("hours", &hours)])
        }
    }
}
