//! The day of a note: `today`, `yesterday`, `sat`, `8 feb`, `2/8`, `2 days ago`, `2027-02-08`; in Spanish `hoy`, `ayer`,
//! `lun`, `8 de ene`.
//!
//! A weekday is the latest one, today among them; a day without a year the latest such day, which is asked about where it
//! lies long ago. No day lies ahead.

use super::signs::Word;
use crate::grove::figures::{DateOrder, InFigures};
use crate::grove::trouble::Trouble;
use crate::phrase::said;
use chrono::{Datelike, Days, NaiveDate, Weekday};

/// A day without a year that lies more than so many days back is asked about: it may be one to come.
const LONG_AGO: i64 = 21;

/// A day as it was typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TypedDay {
    /// The day.
    pub date: NaiveDate,
    /// Where its year comes from.
    pub year: Year,
}

/// Where the year of a typed day comes from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Year {
    /// It was typed, or follows from what was: `2027-02-08`, `sat`, `2 days ago`.
    Said,
    /// It was left out: that of the nearest past day is taken.
    Nearest,
}

/// Why a day should be looked at twice.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DayDoubt {
    /// Its year was left out, and the nearest past one lies so many days back.
    LongAgo(i64),
    /// It is still to come.
    ToCome,
}

impl TypedDay {
    fn said(date: NaiveDate) -> Self {
        Self { date, year: Year::Said }
    }

    /// Returns why it should be looked at twice, if it should.
    pub fn doubt(self, today: NaiveDate) -> Option<DayDoubt> {
        let back = (today - self.date).num_days();
        match self.year {
            Year::Nearest if back > LONG_AGO => Some(DayDoubt::LongAgo(back)),
            Year::Said | Year::Nearest => (back < 0).then_some(DayDoubt::ToCome),
        }
    }
}

/// From where days are counted, and how figures are read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Calendar {
    /// The day of the note.
    pub today: NaiveDate,
    /// Which figure is the month.
    pub order: DateOrder,
}

/// Reads a day at the beginning of some words, and how many words it takes; nothing where there is none.
pub(super) fn day(words: &[Word], at: Calendar) -> Option<Result<(TypedDay, usize), Trouble>> {
    let today = at.today;
    let small = |at: usize| words.get(at).map_or("", |word| word.small.as_str());
    if matches!(small(0), "on" | "at" | "el") {
        return match day(words.get(1..)?, at)? {
            Ok((found, count)) => Some(Ok((found, count + 1))),
            Err(trouble) => Some(Err(trouble)),
        };
    }
    match small(0) {
        "today" | "hoy" => return Some(Ok((TypedDay::said(today), 1))),
        "yesterday" | "ayer" => return Some(Ok((TypedDay::said(before(today, 1)), 1))),
        "tomorrow" | "mañana" => {
            return Some(Err(Trouble::new("tomorrow is still to come").help(said!(
                "write it down when it is done: `yesterday`, `sat`, `{today}`, or nothing for today",
                today
            ))));
        }
        _ => {}
    }
    if let (Ok(count), "day" | "days" | "d", "ago") = (small(0).parse::<u64>(), small(1), small(2)) {
        return Some(Ok((TypedDay::said(before(today, count)), 3)));
    }
    if let ("hace", Ok(count), "día" | "días" | "dia" | "dias") =
        (small(0), small(1).parse::<u64>(), small(2))
    {
        return Some(Ok((TypedDay::said(before(today, count)), 3)));
    }
    // The morning of a note is that of its day; `mañana` alone is tomorrow.
    if let ("this" | "esta" | "este", "morning" | "afternoon" | "evening" | "mañana" | "tarde" | "mediodía") =
        (small(0), small(1))
    {
        return Some(Ok((TypedDay::said(today), 2)));
    }
    if let Some(figures) = InFigures::of(small(0)) {
        let year = if figures.has_year() { Year::Said } else { Year::Nearest };
        let read = figures.day(at.order, today, small(0)).and_then(|date| not_ahead(date, today));
        return Some(read.map(|date| (TypedDay { date, year }, 1)));
    }
    if looks_like_a_date(small(0)) {
        let read = crate::grove::value::date(small(0));
        return Some(read.and_then(|date| not_ahead(date, today)).map(|date| (TypedDay::said(date), 1)));
    }
    if small(0) == "last"
        && let Some(weekday) = weekday(small(1))
    {
        return Some(Ok((TypedDay::said(latest(weekday, before(today, 1))), 2)));
    }
    if let Some(weekday) = weekday(small(0)) {
        // `mon 8 feb` says it twice, and must agree with itself.
        return Some(match words.get(1..).and_then(|rest| of_month(rest, today)) {
            Some(Ok((day, count))) if day.date.weekday() == weekday => Ok((day, count + 1)),
            Some(Ok((day, _))) => Err(Trouble::new(said!(
                "{day} is not a {weekday}",
                day = day.date.format("%-d %b %Y"),
                weekday = small(0)
            ))
            .help(said!("it is a {day}: write the one that is meant", day = day.date.format("%a")))),
            Some(Err(trouble)) => Err(trouble),
            // `mar 8` is a day of March, `mar` the Spanish Tuesday.
            None => of_month(words, today).unwrap_or(Ok((TypedDay::said(latest(weekday, today)), 1))),
        });
    }
    of_month(words, today)
}

/// Reads `8 feb`, `feb 8`, `8 feb 2027` and `8 de feb de 2027`.
fn of_month(words: &[Word], today: NaiveDate) -> Option<Result<(TypedDay, usize), Trouble>> {
    let said: Vec<(usize, &str)> = words
        .iter()
        .map(|word| word.small.as_str())
        .enumerate()
        .filter(|(_, word)| *word != "de")
        .take(3)
        .collect();
    let small = |at: usize| said.get(at).map_or("", |(_, word)| *word);
    let (number, month) = match (ordinal(small(0)), month(small(1)), month(small(0)), ordinal(small(1))) {
        (Some(number), Some(month), _, _) | (_, _, Some(month), Some(number)) => (number, month),
        _ => return None,
    };
    let year = small(2).parse::<i32>().ok().filter(|year| (1900..=2200).contains(year));
    let (count, given) = if year.is_some() { (3, Year::Said) } else { (2, Year::Nearest) };
    let count = said.get(count - 1).map_or(count, |(at, _)| at + 1);
    let of_year = |year: i32| NaiveDate::from_ymd_opt(year, month, number);
    let date = match year {
        Some(year) => of_year(year),
        // The latest such day; 29 February is one of a leap year.
        None => (0..8).filter_map(|back| of_year(today.year() - back)).find(|date| *date <= today),
    };
    Some(match date {
        Some(date) => not_ahead(date, today).map(|date| (TypedDay { date, year: given }, count)),
        None => Err(Trouble::new(said!("there is no day `{one} {other}`", one = small(0), other = small(1)))
            .help("write a day that there is: `8 feb` or `2027-02-08`")),
    })
}

/// Reads a day that is still to come, or was, in any usual form: `2027-06-20`, `6/20/2027`, `June 20`, `20 de junio`. Without a
/// year it is the next such day.
pub(super) fn to_come(words: &[Word], at: Calendar) -> Option<NaiveDate> {
    if let [word] = words {
        let figures = InFigures::of(&word.small).filter(|figures| figures.has_year());
        let read = figures.and_then(|figures| figures.day(at.order, at.today, &word.small).ok());
        return read.or_else(|| crate::grove::value::date(&word.small).ok());
    }
    let small = |word: &&Word| !matches!(&*word.small, "de" | "," | "of" | "the");
    let said: Vec<&str> = words.iter().filter(small).map(|word| word.small.as_str()).collect();
    let (one, other) = (said.first()?, said.get(1)?);
    let (month, number) = match (month(one), month(other)) {
        (Some(month), None) => (month, ordinal(other)?),
        (None, Some(month)) => (month, ordinal(one)?),
        _ => return None,
    };
    let of_year = |year: i32| NaiveDate::from_ymd_opt(year, month, number);
    match said.get(2) {
        Some(year) => of_year(year.parse().ok().filter(|year| (1900..=2200).contains(year))?),
        None => (0..8).filter_map(|ahead| of_year(at.today.year() + ahead)).find(|date| *date >= at.today),
    }
}

pub(super) fn not_ahead(date: NaiveDate, today: NaiveDate) -> Result<NaiveDate, Trouble> {
    if date > today {
        return Err(Trouble::new(said!("{date} is still to come", date = date.format("%a %-d %b %Y"))).help(
            said!(
                "write the day on which it was seen; today is {today}",
                today = today.format("%a %-d %b %Y")
            ),
        ));
    }
    Ok(date)
}

fn looks_like_a_date(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    matches!(&parts[..], [year, _, _] if year.len() == 4 && year.bytes().all(|it| it.is_ascii_digit()))
}

fn before(today: NaiveDate, days: u64) -> NaiveDate {
    today.checked_sub_days(Days::new(days)).unwrap_or(today)
}

fn latest(weekday: Weekday, until: NaiveDate) -> NaiveDate {
    let back = until.weekday().days_since(weekday);
    before(until, u64::from(back))
}

fn ordinal(word: &str) -> Option<u32> {
    let digits = word.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
    let ending = word.get(digits.len()..).unwrap_or_default();
    let number = digits.parse().ok().filter(|number| (1..=31).contains(number))?;
    matches!(ending, "" | "st" | "nd" | "rd" | "th").then_some(number)
}

/// Returns the month of a word: its name, or the first three letters of it.
pub(super) fn month(word: &str) -> Option<u32> {
    const MONTHS: [[&str; 2]; 12] = [
        ["january", "enero"],
        ["february", "febrero"],
        ["march", "marzo"],
        ["april", "abril"],
        ["may", "mayo"],
        ["june", "junio"],
        ["july", "julio"],
        ["august", "agosto"],
        ["september", "septiembre"],
        ["october", "octubre"],
        ["november", "noviembre"],
        ["december", "diciembre"],
    ];
    let is = |month: &&str| {
        word == *month || month.get(..3) == Some(word) || (word == "sept" && month.starts_with(word))
    };
    let place = MONTHS.iter().position(|names| names.iter().any(is));
    place.and_then(|place| u32::try_from(place + 1).ok())
}

fn weekday(word: &str) -> Option<Weekday> {
    match word {
        "mon" | "monday" | "lun" | "lunes" => Some(Weekday::Mon),
        "tue" | "tues" | "tuesday" | "mar" | "martes" => Some(Weekday::Tue),
        "wed" | "weds" | "wednesday" | "mié" | "mie" | "miércoles" | "miercoles" => Some(Weekday::Wed),
        "thu" | "thur" | "thurs" | "thursday" | "jue" | "jueves" => Some(Weekday::Thu),
        "fri" | "friday" | "vie" | "viernes" => Some(Weekday::Fri),
        "sat" | "saturday" | "sáb" | "sab" | "sábado" | "sabado" => Some(Weekday::Sat),
        "sun" | "sunday" | "dom" | "domingo" => Some(Weekday::Sun),
        _ => None,
    }
}
