//! Dates and times as stations and spreadsheets write them.

use crate::tables::read_stamp;
use chrono::{Datelike, Duration, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone};
use chrono_tz::{OffsetName, Tz};
use std::borrow::Cow;

/// A time as far as a cell tells it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct ToldTime {
    pub(super) day: Option<ToldDay>,
    /// Seconds after midnight; those of a whole day are its end.
    pub(super) seconds: Option<u32>,
    /// How many seconds the clock is ahead of UTC, where the cell says so.
    pub(super) ahead: Option<i32>,
    pub(super) is_day_number: bool,
}

/// A date as far as it can be told.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum ToldDay {
    Is(NaiveDate),
    /// The two may be day and month, or month and day.
    Either(u32, u32, i32),
}

/// Which of two numbers is the day.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum DateOrder {
    DayFirst,
    MonthFirst,
}

impl DateOrder {
    pub(super) fn word(self) -> &'static str {
        match self {
            DateOrder::DayFirst => "day-first",
            DateOrder::MonthFirst => "month-first",
        }
    }
}

impl ToldDay {
    pub(super) fn date(self, order: DateOrder) -> Option<NaiveDate> {
        match (self, order) {
            (ToldDay::Is(date), _) => Some(date),
            (ToldDay::Either(day, month, year), DateOrder::DayFirst)
            | (ToldDay::Either(month, day, year), DateOrder::MonthFirst) => {
                NaiveDate::from_ymd_opt(year, month, day)
            }
        }
    }
}

impl ToldTime {
    /// Returns what the clock shows.
    pub(super) fn local(&self, order: DateOrder) -> Option<NaiveDateTime> {
        let date = self.day?.date(order)?;
        Some(date.and_time(NaiveTime::MIN) + Duration::seconds(i64::from(self.seconds.unwrap_or(0))))
    }

    /// Puts a date and a time of day together.
    pub(super) fn with(self, clock: ToldTime) -> Self {
        Self { seconds: clock.seconds.or(self.seconds), ahead: clock.ahead.or(self.ahead), ..self }
    }
}

/// The first letters of months in English, Spanish and German.
const MONTHS: &[(&str, u32)] = &[
    ("jan", 1),
    ("ene", 1),
    ("feb", 2),
    ("mar", 3),
    ("mae", 3),
    ("mrz", 3),
    ("apr", 4),
    ("abr", 4),
    ("may", 5),
    ("mai", 5),
    ("jun", 6),
    ("jul", 7),
    ("aug", 8),
    ("ago", 8),
    ("sep", 9),
    ("set", 9),
    ("oct", 10),
    ("okt", 10),
    ("nov", 11),
    ("dec", 12),
    ("dic", 12),
    ("dez", 12),
];

/// Reads a cell of a column of times, whose clock may stand behind it: `UTC`, or the letters that the zone of the grove has.
pub(super) fn read_in(text: &str, zone: Tz) -> Option<ToldTime> {
    if let Some(told) = read(text) {
        return Some(told);
    }
    let (time, letters) = text.rsplit_once(' ')?;
    let told = read(time.trim_end())?;
    if ["UTC", "GMT", "Z"].contains(&letters) {
        return Some(ToldTime { ahead: Some(0), ..told });
    }
    let date = told.day?.date(DateOrder::DayFirst).or(told.day?.date(DateOrder::MonthFirst))?;
    let months = [date.with_day(1)?.with_month(1)?, date.with_day(1)?.with_month(7)?];
    let offsets = months.map(|date| zone.offset_from_utc_datetime(&date.and_time(NaiveTime::MIN)));
    let offset = offsets.into_iter().find(|offset| offset.abbreviation() == Some(letters))?;
    Some(ToldTime { ahead: Some(offset.fix().local_minus_utc()), ..told })
}

/// Reads a cell of a column of times.
pub(super) fn read(text: &str) -> Option<ToldTime> {
    let text = &*plainly(text);
    if let Some(stamp) = read_stamp(text) {
        let seconds =
            u32::try_from((stamp.local - stamp.local.date().and_time(NaiveTime::MIN)).num_seconds()).ok();
        let day = Some(ToldDay::Is(stamp.local.date()));
        return Some(ToldTime { day, seconds, ahead: stamp.ahead, is_day_number: false });
    }
    if let Ok(number) = text.parse::<f64>()
        && let Some(time) = of_number(text, number)
    {
        return Some(time);
    }
    let mut told = ToldTime::default();
    let spaced = part_at_t(text);
    let mut dates: Vec<&str> = Vec::new();
    let mut clock: Option<&str> = None;
    let mut half = None;
    for word in spaced.split_whitespace() {
        match (half_day(word), word.contains(':')) {
            (Some(is_pm), _) => half = Some(is_pm),
            (None, true) => clock = Some(word),
            (None, false) => dates.push(word),
        }
    }
    if let Some(word) = clock {
        let letters = word.find(|sign: char| sign.is_alphabetic());
        let (digits, letters) = word.split_at(letters.unwrap_or(word.len()));
        let half = half.or(half_day(letters));
        if !letters.is_empty() && half_day(letters).is_none() {
            return None;
        }
        told.seconds = Some(seconds(digits, ':', half)?);
    }
    // A time of day with a point, or its hour alone, behind a whole date.
    if let ([date, last], None) = (&dates[..], clock)
        && day(date).is_some()
        && let Some(found) = seconds(last, '.', half).or_else(|| hour_alone(date, last))
    {
        told.seconds = Some(found);
        dates.truncate(1);
    }
    if !dates.is_empty() {
        let whole = dates.join(" ");
        match day(&whole) {
            Some(day) => told.day = Some(day),
            // A time of day with a point, as some write it.
            None if told.seconds.is_none() => told.seconds = Some(seconds(&whole, '.', half)?),
            None => return None,
        }
    }
    Some(told)
}

/// Makes the blanks of spreadsheets plain, and `6:30 a. m.` one word.
fn plainly(text: &str) -> Cow<'_, str> {
    if !text.contains(['\u{a0}', '\u{202f}']) && !text.contains(". ") {
        return Cow::Borrowed(text);
    }
    let plain = text.replace(['\u{a0}', '\u{202f}'], " ");
    let joined =
        [("a. m.", "am"), ("p. m.", "pm"), ("A. M.", "am"), ("P. M.", "pm"), ("a. m", "am"), ("p. m", "pm")];
    Cow::Owned(joined.iter().fold(plain, |text, (from, to)| text.replace(from, to)))
}

/// Reads the hour behind a date of eight digits, `20270208 07`.
fn hour_alone(date: &str, hour: &str) -> Option<u32> {
    let is_plain = date.len() == 8 && hour.len() == 2;
    hour.parse::<u32>().ok().filter(|hour| is_plain && *hour <= 24).map(|hour| hour * 3600)
}

/// Reads a bare number: seconds or milliseconds since 1970, the days of a spreadsheet, or `0500`.
fn of_number(text: &str, number: f64) -> Option<ToldTime> {
    let whole = |seconds: i64| {
        let at = chrono::DateTime::from_timestamp(seconds, 0)?.naive_utc();
        let seconds = (at - at.date().and_time(NaiveTime::MIN)).num_seconds();
        let day = Some(ToldDay::Is(at.date()));
        Some(ToldTime { day, seconds: u32::try_from(seconds).ok(), ahead: Some(0), is_day_number: false })
    };
    if let Some(time) = of_digits(text) {
        return Some(time);
    }
    if (1e12..1e13).contains(&number) {
        return whole((number / 1e3) as i64);
    }
    if (5e8..1e10).contains(&number) {
        return whole(number as i64);
    }
    if (20_000.0..80_000.0).contains(&number) {
        let minutes = (number * 1440.0).round() as i64;
        let at = NaiveDate::from_ymd_opt(1899, 12, 30)?.and_time(NaiveTime::MIN) + Duration::minutes(minutes);
        let seconds = (at - at.date().and_time(NaiveTime::MIN)).num_seconds();
        let day = Some(ToldDay::Is(at.date()));
        return Some(ToldTime {
            day,
            seconds: u32::try_from(seconds).ok(),
            ahead: None,
            is_day_number: true,
        });
    }
    let is_clock = text.len() == 4 && text.bytes().all(|digit| digit.is_ascii_digit());
    let (hour, minute) = text.split_at_checked(2).filter(|_| is_clock)?;
    let seconds = seconds(&format!("{hour}:{minute}"), ':', None)?;
    Some(ToldTime { seconds: Some(seconds), ..ToldTime::default() })
}

/// Reads a date and a time of day in one number, `202702081300`.
fn of_digits(text: &str) -> Option<ToldTime> {
    let is_one = matches!(text.len(), 12 | 14) && text.bytes().all(|digit| digit.is_ascii_digit());
    let (date, clock) = text.split_at_checked(8).filter(|_| is_one)?;
    let (hour, rest) = clock.split_at_checked(2)?;
    let found = seconds(&format!("{hour}:{}", rest.get(..2)?), ':', None)?;
    Some(ToldTime { day: Some(day(date)?), seconds: Some(found), ..ToldTime::default() })
}

/// Parts a date and a time that a `T` joins.
fn part_at_t(text: &str) -> String {
    match text.split_once('T') {
        Some((date, time))
            if date.ends_with(|it: char| it.is_ascii_digit())
                && time.starts_with(|it: char| it.is_ascii_digit()) =>
        {
            format!("{date} {time}")
        }
        _ => text.to_string(),
    }
}

/// Reads `AM`, `p.m.`; whether it is the second half of the day.
fn half_day(word: &str) -> Option<bool> {
    let letters: String = word.chars().filter(|sign| sign.is_alphabetic()).collect::<String>().to_lowercase();
    let bare = word.chars().all(|sign| sign.is_alphabetic() || sign == '.');
    match letters.as_str() {
        "am" | "a" if bare => Some(false),
        "pm" | "p" if bare => Some(true),
        _ => None,
    }
}

/// Reads hours, minutes and seconds parted by a sign.
fn seconds(text: &str, sign: char, half: Option<bool>) -> Option<u32> {
    let mut parts = text.split(sign);
    let mut number = |most: u32, from: usize| {
        let part = parts.next()?;
        let part = part.split('.').next().unwrap_or(part);
        let fits = part.len() >= from && part.len() <= 2 && part.bytes().all(|digit| digit.is_ascii_digit());
        part.parse::<u32>().ok().filter(|number| fits && *number <= most)
    };
    let (hour, minute) = (number(24, 1)?, number(59, 2)?);
    let second = number(59, 2).unwrap_or(0);
    let hour = match half {
        None => hour,
        Some(is_pm) if (1..=12).contains(&hour) => hour % 12 + if is_pm { 12 } else { 0 },
        Some(_) => return None,
    };
    let seconds = hour * 3600 + minute * 60 + second;
    (seconds <= 24 * 3600).then_some(seconds)
}

/// Reads a date in three parts.
fn day(text: &str) -> Option<ToldDay> {
    let points = text.contains('.');
    let parts: Vec<&str> = text.split(['/', '-', '.', ' ', ',']).filter(|part| !part.is_empty()).collect();
    let month = parts.iter().find_map(|part| month(part));
    let numbers: Vec<(u32, usize)> =
        parts.iter().filter_map(|part| part.parse().ok().map(|number| (number, part.len()))).collect();
    let year = |(number, digits): (u32, usize)| {
        let year = if digits <= 2 { 2000 + number } else { number };
        i32::try_from(year).ok().filter(|year| (1900..2200).contains(year))
    };
    if let Some(month) = month {
        let [one, other] = numbers[..] else { return None };
        let (day, of) = if one.1 == 4 { (other, one) } else { (one, other) };
        return NaiveDate::from_ymd_opt(year(of)?, month, day.0).map(ToldDay::Is);
    }
    if let (8, [(number, 8)]) = (text.len(), &numbers[..]) {
        let year = i32::try_from(number / 10_000).ok().filter(|year| (1900..2200).contains(year))?;
        return NaiveDate::from_ymd_opt(year, number / 100 % 100, number % 100).map(ToldDay::Is);
    }
    let [one, two, three] = numbers[..] else { return None };
    if parts.len() != 3 {
        return None;
    }
    if one.1 == 4 {
        return NaiveDate::from_ymd_opt(year(one)?, two.0, three.0).map(ToldDay::Is);
    }
    let year = year(three).filter(|_| one.1 <= 2 && two.1 <= 2)?;
    if points {
        return NaiveDate::from_ymd_opt(year, two.0, one.0).map(ToldDay::Is);
    }
    let fits = |number: u32| (1..=31).contains(&number);
    (fits(one.0) && fits(two.0)).then_some(ToldDay::Either(one.0, two.0, year))
}

fn month(word: &str) -> Option<u32> {
    let letters: String = word.to_lowercase().replace('ä', "ae").chars().take(3).collect();
    let is_word = word.chars().all(char::is_alphabetic) && letters.len() == 3;
    MONTHS.iter().find(|(known, _)| *known == letters).filter(|_| is_word).map(|(_, month)| *month)
}
