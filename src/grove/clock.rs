//! Times of a day as people say them: `5:30`, `5:30 am`, `7pm`, `noon`, `mediodía`.

use chrono::{NaiveTime, Timelike};

/// Reads a time of a day. Twelve at night is `12:00 am`, twelve at noon `12:00 pm`, as watches have it.
pub fn time_of_day(text: &str) -> Option<NaiveTime> {
    let text: String =
        text.to_lowercase().chars().filter(|sign| !sign.is_whitespace() && *sign != '.').collect();
    match &*text {
        "noon" | "midday" | "mediodía" | "mediodia" => return NaiveTime::from_hms_opt(12, 0, 0),
        "midnight" | "medianoche" => return NaiveTime::from_hms_opt(0, 0, 0),
        _ => {}
    }
    let half = ["am", "pm"].into_iter().find_map(|half| Some((text.strip_suffix(half)?, half)));
    match half {
        Some((time, half)) => {
            let time = if time.contains(':') { time.to_string() } else { format!("{time}:00") };
            NaiveTime::parse_from_str(&format!("{time}{half}"), "%I:%M%p").ok()
        }
        None => NaiveTime::parse_from_str(&text, "%H:%M").ok(),
    }
}

/// Returns whether a time was typed as twelve at night, `12:00 am`, which many mean for noon.
pub fn is_midnight(text: &str) -> bool {
    let bare: String =
        text.to_lowercase().chars().filter(|sign| !sign.is_whitespace() && *sign != '.').collect();
    bare.ends_with("am") && time_of_day(text).is_some_and(|time| time.hour() == 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twelve_at_night_is_midnight() {
        let clock = |text: &str| time_of_day(text).map(|time| (time.hour(), time.minute()));
        for (text, time) in [
            ("12:00 am", Some((0, 0))),
            ("12am", Some((0, 0))),
            ("12:30 a. m.", Some((0, 30))),
            ("12:00 pm", Some((12, 0))),
            ("noon", Some((12, 0))),
            ("Mediodía", Some((12, 0))),
            ("midnight", Some((0, 0))),
            ("7pm", Some((19, 0))),
            ("5:30", Some((5, 30))),
            ("12", None),
            ("25:00", None),
        ] {
            assert_eq!(clock(text), time, "{text}");
        }
        assert!(is_midnight("12 am") && is_midnight("12:30 a.m."));
        assert!(
            !is_midnight("12:00 pm")
                && !is_midnight("00:00")
                && !is_midnight("7am")
                && !is_midnight("midnight")
        );
    }
}
