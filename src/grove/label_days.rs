//! The arithmetic of labels: when people may go back in, when fruit may be picked, when the next spray is allowed.

use chrono::{DateTime, Days, Duration, NaiveDate};
use chrono_tz::Tz;

/// Returns when people may go back in: the longest re-entry time of what was in the tank, in elapsed hours from the end
/// of the spray. The clocks may change in between.
pub fn re_entry(end: DateTime<Tz>, hours: impl IntoIterator<Item = f64>) -> DateTime<Tz> {
    let longest = hours.into_iter().filter(|hours| hours.is_finite()).fold(0.0, f64::max);
    let seconds = libm::ceil(longest.min(1e6) * 3600.0) as i64;
    end.checked_add_signed(Duration::seconds(seconds)).unwrap_or(end)
}

/// Returns the first day on which fruit may be picked: the day of the spray and the days before harvest, counted as
/// calendar days. A part of a day counts as a day.
pub fn first_picking(spray: NaiveDate, before_harvest: f64) -> NaiveDate {
    after_days(spray, before_harvest)
}

/// Returns the first day on which fruit may be picked by both: the label's days before harvest, and the day on which people
/// may go in again. Where no label gives days before harvest, there is none.
pub fn picking(by_days: Option<NaiveDate>, re_entry: Option<DateTime<Tz>>) -> Option<NaiveDate> {
    let entry = re_entry.map(|until| until.date_naive());
    by_days.map(|day| entry.map_or(day, |entry| day.max(entry)))
}

/// Returns the first day on which the next spray is allowed: with an interval of 7 days the seventh day after.
pub fn next_spray(last: NaiveDate, interval: f64) -> NaiveDate {
    after_days(last, interval)
}

fn after_days(day: NaiveDate, days: f64) -> NaiveDate {
    let whole = libm::ceil(days.clamp(0.0, 1e5)) as u64;
    day.checked_add_days(Days::new(whole)).unwrap_or(day)
}
