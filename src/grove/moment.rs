//! Moments as they are written: ISO 8601, local to the grove or with an offset.

use super::clock::time_of_day;
use super::figures::{DateOrder, InFigures};
use super::trouble::Trouble;
use crate::phrase::said;
use crate::tables::read_stamp;
use chrono::{DateTime, Datelike, NaiveDate, TimeZone};
use chrono_tz::Tz;
use std::borrow::Cow;

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

/// Returns a day or a moment as this program writes it, where a spreadsheet has saved it in figures, `2/8/2027 5:30 AM`; which
/// figure is the month goes by the grove's units.
pub(super) fn from_spreadsheet(text: &str, order: DateOrder) -> Result<Cow<'_, str>, Trouble> {
    let text = text.trim();
    let (day, time) = text.split_once([' ', 'T']).unwrap_or((text, ""));
    let Some(figures) = InFigures::of(day).filter(|figures| figures.has_year()) else {
        return Ok(Cow::Borrowed(text));
    };
    // The year is typed: today has no part in it.
    let date = figures.day(order, NaiveDate::default(), day)?;
    if time.trim().is_empty() {
        return Ok(Cow::Owned(date.to_string()));
    }
    // A spreadsheet may add seconds.
    let clock = time_of_day(time).or_else(|| {
        let (hours, seconds) = time.trim().rsplit_once(':')?;
        let half = seconds.get(2..).unwrap_or_default();
        time_of_day(&format!("{hours}{half}"))
    });
    match clock {
        Some(clock) => Ok(Cow::Owned(format!("{date}T{}", clock.format("%H:%M")))),
        None => Ok(Cow::Borrowed(text)),
    }
}

/// Reads a day, `2027-02-10`, or a moment of which the day counts.
pub(super) fn day_or_moment(
    text: &str,
    zone: Tz,
    order: DateOrder,
) -> Result<(NaiveDate, Option<DateTime<Tz>>), Trouble> {
    let text = from_spreadsheet(text, order)?;
    if text.len() <= 10 {
        return super::value::date(&text).map(|date| (date, None));
    }
    moment(&text, zone).map(|moment| (moment.date_naive(), Some(moment)))
}

/// Returns a moment to the minute with its offset.
pub(crate) fn iso(moment: &DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}
