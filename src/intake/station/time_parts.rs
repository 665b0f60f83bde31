//! Times that stand in several columns: year, month, day and hour, or the day of the year.

use super::times::{self, ToldDay, ToldTime};
use super::titles::folded;
use crate::tables::LooseRow;
use chrono::NaiveDate;

/// The columns of the parts of a time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct TimeParts {
    year: usize,
    /// Month and day, or the day of the year.
    date: PartOfYear,
    hour: Option<usize>,
    minute: Option<usize>,
    /// The time of day in one column.
    clock: Option<usize>,
}

/// How a day of a year is told.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum PartOfYear {
    MonthDay(usize, usize),
    Day(usize),
}

impl TimeParts {
    /// Finds the parts among the titles; nothing where a year is not apart.
    pub(super) fn find<'t>(titles: impl Iterator<Item = &'t str>) -> Option<Self> {
        let titles: Vec<String> = titles.map(folded).collect();
        let place = |names: &[&str]| titles.iter().position(|title| names.contains(&title.as_str()));
        let month_day = || {
            let month = place(&["month", "mes", "monat", "mo"])?;
            Some(PartOfYear::MonthDay(month, place(&["day", "dia", "tag"])?))
        };
        let of_year = || place(&["doy", "day of year", "julian", "julian day", "jday"]).map(PartOfYear::Day);
        Some(Self {
            year: place(&["year", "ano", "jahr", "yyyy"])?,
            date: month_day().or_else(of_year)?,
            hour: place(&["hour", "hora", "stunde", "hr", "hh"]),
            minute: place(&["minute", "minuto", "min"]),
            clock: place(&["time", "hour minute", "hhmm"]),
        })
    }

    /// Returns whether a column is one of them.
    pub(super) fn has(&self, place: usize) -> bool {
        let date = match self.date {
            PartOfYear::MonthDay(month, day) => [Some(month), Some(day)],
            PartOfYear::Day(day) => [Some(day), None],
        };
        place == self.year
            || date.contains(&Some(place))
            || [self.hour, self.minute, self.clock].contains(&Some(place))
    }

    /// Reads the time of a row.
    pub(super) fn read(&self, row: &LooseRow) -> Option<ToldTime> {
        let number = |place: usize| row.cell(place).parse::<u32>().ok();
        let year = i32::try_from(number(self.year)?).ok().filter(|year| (1900..2200).contains(year))?;
        let date = match self.date {
            PartOfYear::MonthDay(month, day) => NaiveDate::from_ymd_opt(year, number(month)?, number(day)?),
            PartOfYear::Day(day) => NaiveDate::from_yo_opt(year, number(day)?),
        };
        let seconds = match (self.clock, self.hour) {
            (Some(clock), _) => times::read(row.cell(clock))?.seconds,
            (None, Some(hour)) => {
                let minute = self.minute.map_or(Some(0), number)?;
                Some(number(hour)? * 3600 + minute * 60).filter(|seconds| *seconds <= 24 * 3600)
            }
            (None, None) => None,
        };
        let day = Some(ToldDay::Is(date?));
        Some(ToldTime { day, seconds, ..ToldTime::default() })
    }
}
