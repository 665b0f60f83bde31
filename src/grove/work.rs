//! When the grower works: `work: 4:00 am to 7:00 am, 6 pm to 10 pm`.

use super::trouble::Trouble;
use chrono::{NaiveTime, Timelike};

/// Reads the spans in which the grower works, each in hours after midnight; one that reaches into the next day ends before it
/// begins.
pub(super) fn read(text: &str) -> Result<Vec<(f64, f64)>, Trouble> {
    text.split(',').map(span).collect()
}

fn span(text: &str) -> Result<(f64, f64), Trouble> {
    let example = "write when you work: `work: 4 am to 7 am, 6 pm to 10 pm`";
    let (from, to) = text
        .split_once(" to ")
        .or_else(|| text.split_once(['–', '-']))
        .ok_or_else(|| Trouble::new(format!("`{}` is no span of hours", text.trim())).help(example))?;
    let hours = |text: &str| {
        let time = time_of_day(text)
            .ok_or_else(|| Trouble::new(format!("`{}` is not a time of day", text.trim())).help(example))?;
        Ok(f64::from(time.num_seconds_from_midnight()) / 3600.0)
    };
    let (from, to) = (hours(from)?, hours(to)?);
    if from == to {
        return Err(Trouble::new(format!("`{}` begins when it ends", text.trim())).help(example));
    }
    Ok((from, to))
}

/// Reads `05:30`, `5:30 am`, `7pm`.
pub fn time_of_day(text: &str) -> Option<NaiveTime> {
    let text: String =
        text.to_lowercase().chars().filter(|sign| !sign.is_whitespace() && *sign != '.').collect();
    let half = ["am", "pm"].into_iter().find_map(|half| Some((text.strip_suffix(half)?, half)));
    match half {
        Some((time, half)) => {
            let time = if time.contains(':') { time.to_string() } else { format!("{time}:00") };
            NaiveTime::parse_from_str(&format!("{time}{half}"), "%I:%M%p").ok()
        }
        None => NaiveTime::parse_from_str(&text, "%H:%M").ok(),
    }
}
