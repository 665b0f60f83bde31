//! Days, times of day, and how long ago they were, in the one form of each language and each system of units.

use super::{Speech, Words};
use crate::advice::Window;
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, Timelike};
use chrono_tz::Tz;

impl Words<'_> {
    /// Returns a day with its weekday: `Thu, Feb 11, 2027` in US units, else `Thu 11 Feb 2027`.
    pub fn day(&self, day: NaiveDate) -> String {
        self.dated("day", day)
    }

    /// Returns a day whose year goes without saying: `Thu, Feb 11`.
    pub fn day_ahead(&self, day: NaiveDate) -> String {
        self.dated("day.ahead", day)
    }

    fn dated(&self, key: &str, day: NaiveDate) -> String {
        let key = if self.speech == Speech::Us { format!("{key}.us") } else { key.to_string() };
        let weekday = self.say(&format!("weekday.{}", day.weekday().num_days_from_monday() + 1), &[]);
        let month = self.say(&format!("month.{}", day.month()), &[]);
        let (number, year) = (day.day().to_string(), day.year().to_string());
        self.say(&key, &[("weekday", &weekday), ("day", &number), ("month", &month), ("year", &year)])
    }

    /// Returns a time of day: `7:00 pm` in US units, else `19:00`.
    pub fn clock(&self, time: NaiveTime) -> String {
        if self.speech != Speech::Us {
            return time.format("%H:%M").to_string();
        }
        let (is_pm, hour) = time.hour12();
        let time = format!("{hour}:{:02}", time.minute());
        self.say(if is_pm { "clock.pm" } else { "clock.am" }, &[("time", &time)])
    }

    /// Returns a moment with its weekday: `Thu, Feb 11, 2027, 5:30 am`.
    pub fn moment(&self, moment: DateTime<Tz>) -> String {
        format!("{}, {}", self.day(moment.date_naive()), self.clock(moment.time()))
    }

    /// Returns a moment of the next days: `Thu, Feb 11, 5:30 am`.
    pub fn moment_ahead(&self, moment: DateTime<Tz>) -> String {
        format!("{}, {}", self.day_ahead(moment.date_naive()), self.clock(moment.time()))
    }

    /// Returns a moment of the days after another by its weekday alone, `Thu 5:30 am`; what is a week ahead, or past, with its day.
    pub fn moment_soon(&self, moment: DateTime<Tz>, now: DateTime<Tz>) -> String {
        if !(0..7).contains(&(moment.date_naive() - now.date_naive()).num_days()) {
            return self.moment_ahead(moment);
        }
        let weekday = self.say(&format!("weekday.{}", moment.weekday().num_days_from_monday() + 1), &[]);
        format!("{} {}", self.say("day.soon", &[("weekday", &weekday)]), self.clock(moment.time()))
    }

    /// Returns a span of the days after a moment by their weekdays: `Thu 5:30 am–7:00 am`.
    pub fn span_soon(&self, (from, to): (DateTime<Tz>, DateTime<Tz>), now: DateTime<Tz>) -> String {
        let begins = self.moment_soon(from, now);
        if from.date_naive() == to.date_naive() {
            // `4:45–5:15 am` says of both which half of the day it is.
            let ends = self.clock(to.time());
            let half = ends.rsplit_once(' ').map(|(_, half)| half);
            let begins = half.and_then(|half| begins.strip_suffix(half)).map_or(&*begins, str::trim_end);
            return format!("{begins}–{ends}");
        }
        self.say("span", &[("from", &begins), ("to", &self.moment_soon(to, now))])
    }

    /// Returns a window of the next days: `Thu 11 Feb, 05:30–07:00`.
    pub fn window(&self, window: &Window) -> String {
        self.span_ahead(window.from, window.to)
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

    /// Returns a span of time, `Thu 11 Feb 2027, 05:30–07:00`, or with both days where it runs over midnight.
    pub fn span(&self, from: DateTime<Tz>, to: DateTime<Tz>) -> String {
        self.spanning(from, to, |day| self.day(day))
    }

    /// Returns a span of the next days: `Thu, Feb 11, 5:30 am–7:00 am`.
    pub fn span_ahead(&self, from: DateTime<Tz>, to: DateTime<Tz>) -> String {
        self.spanning(from, to, |day| self.day_ahead(day))
    }

    fn spanning(&self, from: DateTime<Tz>, to: DateTime<Tz>, day: impl Fn(NaiveDate) -> String) -> String {
        let one =
            |moment: DateTime<Tz>| format!("{}, {}", day(moment.date_naive()), self.clock(moment.time()));
        if from.date_naive() == to.date_naive() {
            return format!("{}–{}", one(from), self.clock(to.time()));
        }
        self.say("span", &[("from", &one(from)), ("to", &one(to))])
    }

    /// Returns from which day fruit may be picked; that on that day people are kept out for a time, is said with it.
    pub fn pick(&self, day: NaiveDate, re_entry: Option<DateTime<Tz>>) -> String {
        let barred = re_entry.is_some_and(|until| until.date_naive() >= day);
        let key = if barred { "sheet.pick.words.entry" } else { "sheet.pick.words" };
        self.say(key, &[("day", &self.day(day))])
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

/// Returns the date of a number of days of the common era.
pub fn day_of(base: f64) -> Option<NaiveDate> {
    if base.is_finite() { NaiveDate::from_num_days_from_ce_opt(base as i32) } else { None }
}

/// Returns hours after midnight as programs write a time of day, `06:30`.
pub fn clock(hours: f64) -> String {
    let minutes = minutes_of(hours);
    format!("{:02}:{:02}", minutes.div_euclid(60), minutes.rem_euclid(60))
}

/// Returns hours after midnight as a time of day; midnight at the end of a day is that of the next.
pub(super) fn time_of(hours: f64) -> Option<NaiveTime> {
    let seconds = minutes_of(hours).rem_euclid(24 * 60) * 60;
    NaiveTime::from_num_seconds_from_midnight_opt(u32::try_from(seconds).ok()?, 0)
}

fn minutes_of(hours: f64) -> i64 {
    (hours * 60.0).round() as i64
}
