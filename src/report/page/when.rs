//! Lengths of time, and until when people keep out.

use crate::advice::{Case, KeepOut, Turn, Window};
use crate::trace::Verdict;
use crate::words::Words;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

/// Returns what a case waits for until a day on which enough days have passed since the last spray, and what may be sprayed
/// then, with the key of its label: one that advises none because the trees are covered, or one that allows none yet.
pub fn due_words(words: Words<'_>, case: &Case, day: NaiveDate) -> Option<(&'static str, String)> {
    let label = match case.decision.verdict {
        Verdict::Hold => "page.covered",
        Verdict::AllShut => "page.until",
        Verdict::Spray(_) | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => return None,
    };
    let mut then: Vec<String> = Vec::new();
    for (spray, _) in case.due(words.plan) {
        let doses = words.doses(spray);
        if !then.contains(&doses) {
            then.push(doses);
        }
    }
    let then = words.language.listed("list.or", &then);
    Some((label, words.say("page.due", &[("day", &words.day(day)), ("then", &then)])))
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
    match out.done.to {
        Some(to) => planned_out_words(words, out.until, (out.done.from, to)),
        None => {
            let (until, from) = (words.moment(out.until), words.moment(out.done.from));
            let hours = crate::units::show(out.hours, "h");
            words.say("page.keep-out.at-least", &[("until", &until), ("from", &from), ("hours", &hours)])
        }
    }
}

/// Says until when people keep out after a spray that is done from one moment to another.
pub fn planned_out_words(
    words: Words<'_>,
    until: DateTime<Tz>,
    (from, to): (DateTime<Tz>, DateTime<Tz>),
) -> String {
    let done = if to.date_naive() == from.date_naive() { words.clock(to.time()) } else { words.moment(to) };
    let (until, from) = (words.moment(until), words.moment(from));
    words.say("page.keep-out.words", &[("until", &until), ("from", &from), ("to", &done)])
}
