//! Days, times of day, and how long ago they were.

use super::Words;
use super::language::Language;
use crate::advice::Window;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

impl Words<'_> {
    /// Returns a day with its weekday: `Thu 11 Feb 2027`.
    pub fn day(&self, day: NaiveDate) -> String {
        self.language.day(day)
    }

    /// Returns a moment with its weekday: `Thu 11 Feb 2027, 05:30`.
    pub fn moment(&self, moment: DateTime<Tz>) -> String {
        self.language.moment(moment)
    }

    /// Returns a window: `Thu 11 Feb 2027, 05:30–07:00`, or with both days where it runs over midnight.
    pub fn window(&self, window: &Window) -> String {
        self.language.span(window.from, window.to)
    }

    /// Returns how long ago a day was: `today`, `yesterday`, `5 days ago`.
    pub fn ago(&self, day: NaiveDate, today: NaiveDate) -> String {
        self.days_ago((today - day).num_days())
    }

    /// Returns how long ago so many days are.
    pub fn days_ago(&self, days: i64) -> String {
        let count = days.abs().to_string();
        let key = match days {
            0 => "ago.today",
            1 => "ago.yesterday",
            -1 => "ago.tomorrow",
            days if days > 0 => "ago.days",
            _ => "ago.in",
        };
        self.say(key, &[("count", &count)])
    }

    /// Returns a day of a year: `Feb 9`.
    pub fn day_of_year(&self, (month, day): (u8, u8)) -> String {
        let month = self.say(&format!("month.{month}"), &[]);
        self.say("value.day-of-year", &[("day", &day.to_string()), ("month", &month)])
    }
}

/// Returns a day with its weekday in English: `Thu 11 Feb 2027`.
pub fn weekday(date: NaiveDate) -> String {
    Language::English.day(date)
}

/// Returns the date of a number of days of the common era.
pub fn day_of(base: f64) -> Option<NaiveDate> {
    if base.is_finite() { NaiveDate::from_num_days_from_ce_opt(base as i32) } else { None }
}

/// Returns hours after midnight as a time of day.
pub fn clock(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    format!("{:02}:{:02}", minutes.div_euclid(60), minutes.rem_euclid(60))
}
