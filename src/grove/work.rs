//! When the grower works: `work: 4:00 am to 7:00 am, 6 pm to 10 pm`.

use super::clock::time_of_day;
use super::trouble::Trouble;
use crate::phrase::said;
use chrono::Timelike;

/// Reads the spans in which the grower works, each in hours after midnight; one that reaches into the next day ends before it
/// begins.
pub(super) fn read(text: &str) -> Result<Vec<(f64, f64)>, Trouble> {
    text.split(',').map(span).collect()
}

fn span(text: &str) -> Result<(f64, f64), Trouble> {
    let example = "write when you work: `work: 4 am to 7 am, 6 pm to 10 pm`";
    let (from, to) = text.split_once(" to ").or_else(|| text.split_once(['–', '-'])).ok_or_else(|| {
        Trouble::new(said!("`{text}` is no span of hours", text = text.trim())).help(example)
    })?;
    let hours = |text: &str| {
        let time = time_of_day(text).ok_or_else(|| {
            Trouble::new(said!("`{text}` is not a time of day", text = text.trim())).help(example)
        })?;
        Ok(f64::from(time.num_seconds_from_midnight()) / 3600.0)
    };
    let (from, to) = (hours(from)?, hours(to)?);
    if from == to {
        return Err(Trouble::new(said!("`{text}` begins when it ends", text = text.trim())).help(example));
    }
    Ok((from, to))
}
