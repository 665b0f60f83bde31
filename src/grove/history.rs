//! What a history of sprays says: the last of something, how many, how many in a row.
//!
//! Rows of one tank (the same start and end) are one spray. Days are calendar days of the grove.

use super::log::{LastSpray, SprayLog, SprayRow};
use crate::plan::{Plan, Sprayed};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

impl SprayLog {
    /// Returns the last spray of something that ended at a moment or before it.
    pub fn last(&self, history: usize, what: &Sprayed, until: DateTime<Tz>, plan: &Plan) -> LastSpray<'_> {
        if !self.is_known() {
            return LastSpray::Unknown;
        }
        let mut rows = self.of_history(history).rev().filter(|row| row.end <= until);
        rows.find(|row| row.holds(what, plan)).map_or(LastSpray::Never, LastSpray::Row)
    }

    /// Returns how many sprays of something there were from one day to another, both counted; nothing where the log is
    /// not known.
    pub fn count(
        &self,
        history: usize,
        what: &Sprayed,
        days: (NaiveDate, NaiveDate),
        plan: &Plan,
    ) -> Option<u32> {
        let in_days = |row: &&SprayRow| (days.0..=days.1).contains(&row.day());
        let mut sprays = 0u32;
        self.each_spray(history, |rows| {
            sprays += u32::from(rows.iter().filter(|row| in_days(row)).any(|row| row.holds(what, plan)));
        });
        self.is_known().then_some(sprays)
    }

    /// Returns how many sprays of something ended on a day that begins so many minutes after midnight; nothing where
    /// the log is not known.
    pub fn count_on(
        &self,
        history: usize,
        what: &Sprayed,
        day: NaiveDate,
        begins: u16,
        plan: &Plan,
    ) -> Option<u32> {
        let on_day = |row: &&SprayRow| {
            (row.end.naive_local() - chrono::Duration::minutes(i64::from(begins))).date() == day
        };
        let mut sprays = 0u32;
        self.each_spray(history, |rows| {
            sprays += u32::from(rows.iter().filter(|row| on_day(row)).any(|row| row.holds(what, plan)));
        });
        self.is_known().then_some(sprays)
    }

    /// Returns how many of the latest sprays up to a moment were all of something; nothing where the log is not known.
    pub fn in_a_row(&self, history: usize, what: &Sprayed, until: DateTime<Tz>, plan: &Plan) -> Option<u32> {
        let mut sprays = 0u32;
        self.each_spray(history, |rows| {
            if rows.iter().all(|row| row.end <= until) {
                sprays = if rows.iter().any(|row| row.holds(what, plan)) { sprays + 1 } else { 0 };
            }
        });
        self.is_known().then_some(sprays)
    }

    /// Goes through the sprays of a history, the oldest first, with the rows of each.
    fn each_spray(&self, history: usize, mut each: impl FnMut(&[&SprayRow])) {
        let rows: Vec<&SprayRow> = self.of_history(history).collect();
        for same in rows.chunk_by(|a, b| (a.start, a.end) == (b.start, b.end)) {
            each(same);
        }
    }
}
