//! Moments as they are written: ISO 8601, local to the grove or with an offset.

use super::trouble::Trouble;
use crate::phrase::said;
use crate::tables::read_stamp;
use chrono::{DateTime, Datelike, NaiveDate, TimeZone};
use chrono_tz::Tz;

/// Reads a moment, `2027-02-10T18:00` or `2027-02-10T18:00-04:00`.
///
/// A local time that the change of the clocks leaves out, or shows twice, is refused: the offset says which is meant.
pub(crate) fn moment(text: &str, zone: Tz) -> Result<DateTime<Tz>, Trouble> {
    let text = text.trim();
    let Some(stamp) = read_stamp(text).filter(|stamp| (1900..=2200).contains(&stamp.local.year())) else {
        let trouble = if super::value::date(text).is_ok() {
            Trouble::new(said!("`{text}` is a date without a time of day", text))
        } else {
            Trouble::new(said!("`{text}` is not a moment", text))
        };
        return Err(trouble.help("write the date and the time of day: `2027-02-10T18:00`"));
    };
    if let Some(moment) = stamp.moment() {
        return Ok(moment.with_timezone(&zone));
    }
    match zone.from_local_datetime(&stamp.local) {
        chrono::LocalResult::Single(moment) => Ok(moment),
        chrono::LocalResult::Ambiguous(first, second) => {
            Err(Trouble::new(said!("the clocks of {zone} show `{text}` twice on that night", zone, text))
                .help(said!(
                    "write which is meant: `{first}` or `{second}`",
                    first = iso(&first),
                    second = iso(&second)
                )))
        }
        chrono::LocalResult::None => Err(Trouble::new(said!(
            "the clocks of {zone} leave `{text}` out: they are put forward then",
            zone,
            text
        ))
        .help("write a time before or after the change")),
    }
}

/// Reads a day, `2027-02-10`, or a moment of which the day counts.
pub(super) fn day_or_moment(text: &str, zone: Tz) -> Result<(NaiveDate, Option<DateTime<Tz>>), Trouble> {
    if text.len() <= 10 {
        return super::value::date(text).map(|date| (date, None));
    }
    moment(text, zone).map(|moment| (moment.date_naive(), Some(moment)))
}

/// Returns a moment to the minute with its offset.
pub(crate) fn iso(moment: &DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}
