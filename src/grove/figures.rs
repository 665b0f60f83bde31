//! Days written in figures: `2/9/2027`, `9.2.27`, `2/9`. Which figure is the month is not guessed from the figures: it comes
//! first where the grove speaks in US units, and second elsewhere.

use super::UnitSystem;
use super::trouble::Trouble;
use crate::phrase::said;
use chrono::{Datelike, NaiveDate};

/// Which figure of a day is the month.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DateOrder {
    /// The first: `2/9` is 9 February.
    MonthFirst,
    /// The second: `9/2` is 9 February.
    DayFirst,
}

impl From<UnitSystem> for DateOrder {
    fn from(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Us => Self::MonthFirst,
            UnitSystem::Metric => Self::DayFirst,
        }
    }
}

/// A day in figures as it was typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct InFigures {
    first: u32,
    second: u32,
    year: Option<i32>,
}

impl InFigures {
    /// Takes a word apart; nothing where it is no day in figures. Without a year only strokes part the two.
    pub fn of(word: &str) -> Option<Self> {
        let sign = ['/', '.', '-'].into_iter().find(|sign| word.contains(*sign))?;
        let parts: Vec<&str> = word.split(sign).collect();
        let figure = |part: &str| -> Option<u32> {
            let fits = (1..=2).contains(&part.len()) && part.bytes().all(|it| it.is_ascii_digit());
            part.parse().ok().filter(|number| fits && (1..=31).contains(number))
        };
        match parts[..] {
            [first, second] if sign == '/' => {
                Some(Self { first: figure(first)?, second: figure(second)?, year: None })
            }
            [first, second, year] => {
                let number: i32 = year.parse().ok().filter(|_| year.bytes().all(|it| it.is_ascii_digit()))?;
                let year = match year.len() {
                    2 => 2000 + number,
                    4 => Some(number).filter(|number| (1900..=2200).contains(number))?,
                    _ => return None,
                };
                Some(Self { first: figure(first)?, second: figure(second)?, year: Some(year) })
            }
            _ => None,
        }
    }

    /// Returns whether its year was typed.
    pub fn has_year(self) -> bool {
        self.year.is_some()
    }

    /// Returns the day, of a year that was left out the latest one up to today; or what to write.
    pub fn day(self, order: DateOrder, today: NaiveDate, typed: &str) -> Result<NaiveDate, Trouble> {
        let (month, day) = match order {
            DateOrder::MonthFirst => (self.first, self.second),
            DateOrder::DayFirst => (self.second, self.first),
        };
        let found = match self.year {
            Some(year) => NaiveDate::from_ymd_opt(year, month, day),
            None => (0..8)
                .filter_map(|back| NaiveDate::from_ymd_opt(today.year() - back, month, day))
                .find(|date| *date <= today),
        };
        found.ok_or_else(|| self.no_day(order, today, typed))
    }

    /// Says why there is no such day: often the figures stand the other way round.
    fn no_day(self, order: DateOrder, today: NaiveDate, typed: &str) -> Trouble {
        let (month, day) = match order {
            DateOrder::MonthFirst => (self.second, self.first),
            DateOrder::DayFirst => (self.first, self.second),
        };
        let other = NaiveDate::from_ymd_opt(self.year.unwrap_or(today.year()), month, day);
        let trouble = match order {
            DateOrder::MonthFirst => Trouble::new(said!(
                "`{text}` is no day with the month first, as `units: us` has it",
                text = typed
            )),
            DateOrder::DayFirst => Trouble::new(said!(
                "`{text}` is no day with the day first, as `units: metric` has it",
                text = typed
            )),
        };
        match other {
            Some(date) => trouble.help(said!("write `{date}` if that is the day", date)),
            None => trouble.help("write year, month and day: `2027-02-11`"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_in_figures_goes_by_the_order_of_the_grove() {
        let today = NaiveDate::from_ymd_opt(2027, 2, 9).unwrap();
        let day = |text: &str, order| InFigures::of(text).unwrap().day(order, today, text).ok();
        let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day);
        for (text, us, metric) in [
            ("2/8/2027", date(2027, 2, 8), date(2027, 8, 2)),
            ("2/8/27", date(2027, 2, 8), date(2027, 8, 2)),
            ("8.2.2027", date(2027, 8, 2), date(2027, 2, 8)),
            ("2/8", date(2027, 2, 8), date(2026, 8, 2)),
            ("13/2/2027", None, date(2027, 2, 13)),
            ("2/29", date(2024, 2, 29), None),
        ] {
            assert_eq!(day(text, DateOrder::MonthFirst), us, "{text}");
            assert_eq!(day(text, DateOrder::DayFirst), metric, "{text}");
        }
        for text in ["2", "2-8", "8.2", "2027-02-08", "0/4", "2/8/202", "a/b", "40/50/2027", "1/2/3/4"] {
            assert_eq!(InFigures::of(text), None, "{text}");
        }
    }
}
