//! When a spray began and ended, as it is typed or as its sheet planned it.

use super::end::Refusal;
use super::groves::Opened;
use super::spray_sheet::KeptSheet;
use crate::grove::{self, DateOrder, DayDoubt, TypedDay, Year, time_of_day};
use crate::phrase::said;
use chrono::{DateTime, Duration, NaiveDate};
use chrono_tz::Tz;

/// What is typed of the time of a spray.
#[derive(Clone, Copy, Debug)]
pub struct Typed<'t> {
    pub day: Option<&'t str>,
    pub start: Option<&'t str>,
    pub end: Option<&'t str>,
}

/// When a spray began and ended.
#[derive(Clone, PartialEq, Debug)]
pub struct Times {
    /// Its start and its end as the log takes them.
    pub start: String,
    pub end: String,
    /// The day that was typed and why it should be looked at twice, if it should.
    pub doubt: Option<(NaiveDate, DayDoubt)>,
}

/// Returns when a spray began and ended, or all that is wrong with it.
pub fn times(typed: Typed<'_>, sheet: &KeptSheet, read: &Opened) -> Result<Times, Vec<Refusal>> {
    let planned = |text: &Option<String>| text.as_ref().and_then(|text| read.outline.moment(text).ok());
    let (planned_start, planned_end) = (planned(&sheet.start), planned(&sheet.end));
    let today = read.as_of.date_naive();
    let typed_day = typed
        .day
        .map(|day| day_of(day, today, read.grove.units.into()))
        .transpose()
        .map_err(|refusal| vec![refusal])?;
    let doubt = typed_day.and_then(|day| Some((day.date, day.doubt(today)?)));
    let day = match (typed_day, planned_start) {
        (Some(day), _) => day.date,
        (None, Some(start)) => start.date_naive(),
        (None, None) => sheet.day.as_ref().and_then(|day| day.parse().ok()).unwrap_or(today),
    };
    let start = match (typed.start, planned_start) {
        (Some(text), _) => moment("--start", text, day, read),
        (None, Some(start)) => Ok((iso(&start), start)),
        (None, None) => Err(untimed("--start", "")),
    };
    let end = match (typed.end, planned_end) {
        // Without a start it is only looked at.
        (Some(text), _) => match &start {
            Ok((_, start)) => end_after(text, *start, read),
            Err(_) => moment("--end", text, day, read).map(|(written, _)| written),
        },
        (None, Some(end)) => Ok(iso(&end)),
        (None, None) => Err(untimed("--end", "")),
    };
    // A day may be typed with the start, too.
    let ahead = |start: &DateTime<Tz>| {
        let date = start.date_naive();
        let typed = typed.start.is_some_and(|text| time_of_day(text).is_none());
        (typed && date > today).then_some((date, DayDoubt::ToCome))
    };
    let doubt = doubt.or_else(|| start.as_ref().ok().and_then(|(_, start)| ahead(start)));
    match (start, end) {
        (Ok((start, _)), Ok(end)) => Ok(Times { start, end, doubt }),
        (start, end) => Err(start.err().into_iter().chain(end.err()).collect()),
    }
}

/// Reads a day: `2027-02-11`, which may lie ahead of a moment that the grove fixes, or `sat`.
fn day_of(text: &str, today: NaiveDate, order: DateOrder) -> Result<TypedDay, Refusal> {
    if let Ok(date) = text.parse() {
        return Ok(TypedDay { date, year: Year::Said });
    }
    grove::day_of(text, today, order)
        .map_err(|(message, help)| Refusal::of(said!("--day: {message}", message), help))
}

/// Reads the end of a spray. One that lies before the start, by the clock of one day, is on the next.
fn end_after(text: &str, start: DateTime<Tz>, read: &Opened) -> Result<String, Refusal> {
    let began = start.date_naive();
    let (written, end) = moment("--end", text, began, read)?;
    let next = began.succ_opt().filter(|_| end < start && time_of_day(text).is_some());
    let later = next.and_then(|next| moment("--end", text, next, read).ok());
    let later = later.filter(|(_, later)| *later - start < Duration::hours(12));
    Ok(later.map_or(written, |(written, _)| written))
}

/// Reads a moment, or a time of a day; as the log takes it, and what it is.
fn moment(flag: &str, text: &str, day: NaiveDate, read: &Opened) -> Result<(String, DateTime<Tz>), Refusal> {
    let time = time_of_day(text);
    let written = time.map_or_else(|| text.to_string(), |time| format!("{day}T{}", time.format("%H:%M")));
    match read.outline.moment(&written) {
        Ok(moment) => Ok((written, moment)),
        // A time that the clocks leave out or show twice has help of its own.
        Err(problem) if time.is_some() || text.len() >= "2027-02-11T05:30".len() => {
            Err(Refusal::of(said!("{flag}: {message}", flag, message = problem.message), problem.help))
        }
        Err(_) => Err(untimed(flag, text)),
    }
}

fn untimed(flag: &str, text: &str) -> Refusal {
    // An hour alone is morning or evening.
    if let Some(hour) = text.trim().parse::<u32>().ok().filter(|hour| (1..=12).contains(hour)) {
        return Refusal::new(said!("{flag}: `{text}` is not a time", flag, text)).help(said!(
            "write `{flag} {hour}am` or `{flag} {hour}pm`, or by 24 hours `{flag} {clock}`",
            flag,
            hour,
            clock = format!("{hour:02}:00")
        ));
    }
    Refusal::new(said!("{flag}: `{text}` is not a time", flag, text))
        .help(said!("write `{flag} 05:30`, `{flag} 7pm`, or with its day, `{flag} 2027-02-11T05:30`", flag))
}

/// Writes a moment with its offset, which is clear in every night.
pub fn iso(moment: &DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}
