//! Moments as they are written: ISO 8601, local to the grove or with an offset.

use super::trouble::Trouble;
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, TimeZone};
use chrono_tz::Tz;

/// Reads a moment, `2027-02-10T18:00` or `2027-02-10T18:00-04:00`.
///
/// A local time that the change of the clocks leaves out, or shows twice, is refused: the offset says which is meant.
pub(crate) fn moment(text: &str, zone: Tz) -> Result<DateTime<Tz>, Trouble> {
    let text = text.trim();
    if let Some(moment) = with_offset(text) {
        return in_reach(moment.year()).map(|()| moment.with_timezone(&zone)).ok_or_else(|| unreadable(text));
    }
    let Some(local) = local(text) else {
        let help = "write the date and the time of day: `2027-02-10T18:00`";
        return Err(if NaiveDate::parse_from_str(text, "%Y-%m-%d").is_ok() {
            Trouble::new(format!("`{text}` is a date without a time of day")).help(help)
        } else {
            unreadable(text)
        });
    };
    match zone.from_local_datetime(&local) {
        chrono::LocalResult::Single(moment) => Ok(moment),
        chrono::LocalResult::Ambiguous(first, second) => {
            Err(Trouble::new(format!("the clocks of {zone} show `{text}` twice on that night"))
                .help(format!("write which is meant: `{}` or `{}`", iso(&first), iso(&second))))
        }
        chrono::LocalResult::None => {
            Err(Trouble::new(format!("the clocks of {zone} leave `{text}` out: they are put forward then"))
                .help("write a time before or after the change"))
        }
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

fn unreadable(text: &str) -> Trouble {
    Trouble::new(format!("`{text}` is not a moment"))
        .help("write the date and the time of day: `2027-02-10T18:00`")
}

fn in_reach(year: i32) -> Option<()> {
    (1900..=2200).contains(&year).then_some(())
}

fn with_offset(text: &str) -> Option<DateTime<chrono::FixedOffset>> {
    let formats =
        ["%Y-%m-%dT%H:%M%#z", "%Y-%m-%dT%H:%M:%S%.f%#z", "%Y-%m-%d %H:%M%#z", "%Y-%m-%d %H:%M:%S%.f%#z"];
    let text = text.strip_suffix(['Z', 'z']).map_or_else(|| text.to_string(), |head| format!("{head}+00:00"));
    formats.iter().find_map(|format| DateTime::parse_from_str(&text, format).ok())
}

fn local(text: &str) -> Option<NaiveDateTime> {
    let formats = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S%.f"];
    let local = formats.iter().find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())?;
    in_reach(local.year()).map(|()| local)
}
