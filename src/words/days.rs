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

    /// Returns a window: `Thu 11 Feb, 05:30–07:00`, or with both days where it runs over midnight.
    pub fn window(&self, window: &Window) -> String {
        let (from, to) = (window.from, window.to);
        let at = |moment: DateTime<Tz>| {
            let day = self.language.day_of_month(moment.date_naive());
            format!("{day}, {}", moment.format("%H:%M"))
        };
        if from.date_naive() == to.date_naive() {
            return format!("{}–{}", at(from), to.format("%H:%M"));
        }
        self.say("span", &[("from", &at(from)), ("to", &at(to))])
    }

    /// Returns how old something is in whole hours, from two days on in days.
    pub fn age(&self, then: DateTime<Tz>, now: DateTime<Tz>) -> String {
        match (now - then).num_hours() {
            0 => self.say("page.age.new", &[]),
            hours if hours < 0 => self.say("page.age.later", &[]),
            hours if hours < 48 => self.say("page.age.hours", &[("count", &hours.to_string())]),
            hours => self.say("page.age.days", &[("count", &(hours / 24).to_string())]),
        }
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
