//! Whole hours as numbers, aligned to the clock of a place, and local times as moments.

use chrono::{DateTime, Days, Duration, LocalResult, NaiveDate, NaiveDateTime, Offset, TimeZone, Utc};
use chrono_tz::Tz;

/// The whole hours of a place, numbered one after the other as they pass, whatever the clock does.
///
/// An hour begins when the local clock shows a full hour, also where the zone lies half an hour or a quarter
/// off the others. Where a change of the clock itself is half an hour, the hours stay aligned to the moment
/// that the grid was made for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct HourGrid {
    zone: Tz,
    offset: i64,
}

/// What a local time stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LocalTime {
    /// One moment.
    Once(DateTime<Utc>),
    /// Two moments: the clock was put back, and showed it twice.
    Twice(DateTime<Utc>, DateTime<Utc>),
    /// No moment: the clock was put forward over it.
    Never,
}

impl HourGrid {
    /// Makes the grid of a zone, aligned to the clock at a moment.
    pub fn new(zone: Tz, at: DateTime<Utc>) -> Self {
        let ahead = zone.offset_from_utc_datetime(&at.naive_utc()).fix().local_minus_utc();
        Self { zone, offset: (-i64::from(ahead)).rem_euclid(3600) }
    }

    /// Returns the time zone.
    pub fn zone(self) -> Tz {
        self.zone
    }

    /// Returns the hour that contains a moment.
    pub fn hour_of(self, at: DateTime<Utc>) -> i64 {
        (at.timestamp() - self.offset).div_euclid(3600)
    }

    /// Returns the first hour that begins at a moment or after it.
    pub fn hour_from(self, at: DateTime<Utc>) -> i64 {
        let hour = self.hour_of(at);
        if self.start(hour) < at { hour + 1 } else { hour }
    }

    /// Returns the moment at which an hour begins.
    pub fn start(self, hour: i64) -> DateTime<Utc> {
        let seconds = hour.saturating_mul(3600).saturating_add(self.offset);
        DateTime::from_timestamp(seconds, 0).unwrap_or(if hour < 0 {
            DateTime::<Utc>::MIN_UTC
        } else {
            DateTime::<Utc>::MAX_UTC
        })
    }

    /// Returns the local time at which an hour begins.
    pub fn local(self, hour: i64) -> DateTime<Tz> {
        self.start(hour).with_timezone(&self.zone)
    }

    /// Returns the first hour of a day that begins so many minutes after midnight.
    pub fn day_start(self, date: NaiveDate, begins: u16) -> i64 {
        let naive = date.and_time(chrono::NaiveTime::MIN) + Duration::minutes(i64::from(begins));
        self.hour_from(first_instant(self.zone, naive))
    }

    /// Returns the hours of a day, the first one and the one after the last: 23, 24 or 25, as the clock has them.
    pub fn day(self, date: NaiveDate, begins: u16) -> (i64, i64) {
        (self.day_start(date, begins), self.day_start(next(date), begins))
    }

    /// Returns the date of the day that contains an hour, for days that begin so many minutes after midnight.
    pub fn date_of(self, hour: i64, begins: u16) -> NaiveDate {
        let naive = self.local(hour).naive_local();
        let date = (naive - Duration::minutes(i64::from(begins))).date();
        if self.day_start(date, begins) > hour {
            return date.pred_opt().unwrap_or(date);
        }
        let after = next(date);
        if self.day_start(after, begins) <= hour { after } else { date }
    }
}

/// Returns what a local time stands for.
pub fn resolve_local(zone: Tz, local: NaiveDateTime) -> LocalTime {
    match zone.from_local_datetime(&local) {
        LocalResult::Single(at) => LocalTime::Once(at.with_timezone(&Utc)),
        LocalResult::Ambiguous(first, second) => {
            let (first, second) = (first.with_timezone(&Utc), second.with_timezone(&Utc));
            LocalTime::Twice(first.min(second), first.max(second))
        }
        LocalResult::None => LocalTime::Never,
    }
}

/// Returns the first moment that a local time stands for; of one that the clock skipped, the moment at which it
/// would have been by the clock before.
pub fn first_instant(zone: Tz, local: NaiveDateTime) -> DateTime<Utc> {
    match resolve_local(zone, local) {
        LocalTime::Once(at) | LocalTime::Twice(at, _) => at,
        LocalTime::Never => {
            let before = zone.offset_from_utc_datetime(&(local - Duration::hours(24))).fix();
            (local - Duration::seconds(i64::from(before.local_minus_utc()))).and_utc()
        }
    }
}

fn next(date: NaiveDate) -> NaiveDate {
    date.checked_add_days(Days::new(1)).unwrap_or(date)
}
