//! The moments of a table's rows: the order of day and month, the clock, the step from row to row.

use super::clock::{ClockReader, ClockSign, FileClock, sign};
use super::doubt;
use super::layout::Layout;
use super::times::{self, DateOrder, ToldDay, ToldTime};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::phrase::said;
use crate::problems::Problem;
use chrono::{DateTime, Duration, NaiveDateTime, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// The moments of the rows of a table.
pub(super) struct Moments {
    /// Of each row its moment; nothing where it has none.
    pub(super) rows: Vec<Option<DateTime<Utc>>>,
    /// Minutes from one row to the next.
    pub(super) step: i64,
    /// Whether a midnight is written as 24:00.
    pub(super) has_24: bool,
    /// Whether no row tells a time of day.
    pub(super) is_daily: bool,
    /// What the clock showed at each row.
    pub(super) locals: Vec<Option<NaiveDateTime>>,
}

/// Finds the moments of the rows; nothing where it must be asked first.
pub(super) fn of_rows(
    layout: &Layout<'_>,
    draft: &mut IntakeDraft<'_>,
) -> Result<Option<Moments>, Box<Problem>> {
    let told: Vec<Option<ToldTime>> =
        layout.rows.iter().map(|row| told(layout, row, draft.place.site.zone())).collect();
    let unread = told.iter().position(Option::is_none);
    let count = told.iter().flatten().count();
    if let Some(row) = unread.filter(|_| count * 2 <= told.len()).and_then(|at| layout.rows.get(at)) {
        let cell = row.cell(layout.time.0);
        let message = said!("`{text}` is not a time", text = cell);
        let help = "write dates as 2027-02-09 and times as 17:30, or 02/09/2027 and 5:30 PM";
        return Err(draft.document.problem(row.at, message, help));
    }
    if let Some(date) =
        told.iter().flatten().find(|told| told.is_day_number).and_then(|told| told.local(DateOrder::DayFirst))
    {
        draft.intake.facts.push(FormFact::DayNumbers(date.date()));
    }
    let said_clock = said_clock(&layout.said);
    let Some(order) = order(&told, said_clock, draft) else { return Ok(None) };
    let locals: Vec<Option<NaiveDateTime>> =
        told.iter().map(|told| told.and_then(|told| told.local(order))).collect();
    let Some(clock) = clock(&told, &locals, said_clock, draft) else { return Ok(None) };
    let mut rows = moments(draft, &told, &locals, clock);
    doubt::another_time(&mut rows, draft);
    let is_daily = told.iter().flatten().all(|told| told.seconds.is_none());
    let has_24 = told.iter().flatten().any(|told| told.seconds == Some(24 * 3600));
    let step = step(&rows);
    Ok(Some(Moments { rows, step, has_24, is_daily, locals }))
}

fn told(layout: &Layout<'_>, row: &crate::tables::LooseRow, zone: Tz) -> Option<ToldTime> {
    if let Some(parts) = &layout.parts {
        return parts.read(row);
    }
    let read = |place: usize| times::read_in(row.cell(place), zone);
    let day = read(layout.time.0).filter(|told| told.day.is_some())?;
    match layout.time.1 {
        None => Some(day),
        Some(clock) => read(clock).filter(|told| told.seconds.is_some()).map(|clock| day.with(clock)),
    }
}

/// Returns the moments in the order of the file; of a file that begins with the newest, from its end.
fn moments(
    draft: &IntakeDraft<'_>,
    told: &[Option<ToldTime>],
    locals: &[Option<NaiveDateTime>],
    clock: FileClock,
) -> Vec<Option<DateTime<Utc>>> {
    let mut reader = ClockReader::new(draft.place.site.zone(), clock);
    let mut one = |(told, local): (&Option<ToldTime>, &Option<NaiveDateTime>)| {
        local.and_then(|local| reader.moment(local, told.and_then(|told| told.ahead)))
    };
    let pairs = told.iter().zip(locals);
    if is_backwards(locals) {
        let mut rows: Vec<_> = pairs.rev().map(&mut one).collect();
        rows.reverse();
        rows
    } else {
        pairs.map(&mut one).collect()
    }
}

fn is_backwards(locals: &[Option<NaiveDateTime>]) -> bool {
    let mut there = locals.iter().flatten();
    let first = there.next();
    first.zip(there.next_back()).is_some_and(|(first, last)| last < first)
}

/// Finds whether day or month comes first; nothing where it must be asked.
fn order(
    told: &[Option<ToldTime>],
    said: Option<FileClock>,
    draft: &mut IntakeDraft<'_>,
) -> Option<DateOrder> {
    let mut either = told.iter().flatten().filter_map(|told| match told.day {
        Some(ToldDay::Either(one, two, _)) => Some((one, two)),
        Some(ToldDay::Is(_)) | None => None,
    });
    let Some(first) = either.clone().next() else { return Some(DateOrder::DayFirst) };
    let fact = |draft: &mut IntakeDraft<'_>, order: DateOrder, why: &'static str| {
        draft.intake.facts.push(FormFact::Dates(order.word(), why));
        Some(order)
    };
    if either.clone().any(|(one, _)| one > 12) {
        return fact(draft, DateOrder::DayFirst, "no-month");
    }
    if either.any(|(_, two)| two > 12) {
        return fact(draft, DateOrder::MonthFirst, "no-month");
    }
    let both = [DateOrder::DayFirst, DateOrder::MonthFirst];
    if let Some(answer) = draft.answer(Topic::Dates) {
        return both.into_iter().find(|order| order.word() == answer);
    }
    let [day_first, month_first] = both.map(|order| {
        let locals: Vec<_> = told.iter().map(|told| told.and_then(|told| told.local(order))).collect();
        let rows = moments(draft, told, &locals, said.unwrap_or(FileClock::Wall));
        let ahead = rows.iter().flatten().any(|at| *at > draft.place.as_of);
        (uneven(&rows), ahead)
    });
    match (day_first.0.cmp(&month_first.0), day_first.1, month_first.1) {
        (std::cmp::Ordering::Less, ..) => fact(draft, DateOrder::DayFirst, "steps"),
        (std::cmp::Ordering::Greater, ..) => fact(draft, DateOrder::MonthFirst, "steps"),
        // What was measured cannot lie ahead.
        (_, true, false) => fact(draft, DateOrder::MonthFirst, "ahead"),
        (_, false, true) => fact(draft, DateOrder::DayFirst, "ahead"),
        (_, true, true) | (_, false, false) if first.0 == first.1 => Some(DateOrder::DayFirst),
        (_, true, true) | (_, false, false) => {
            let about = vec![format!("{}/{}", first.0, first.1)];
            draft.ask(FormQuestion { topic: Topic::Dates, is_needed: true, proposed: None, about });
            None
        }
    }
}

/// Returns the common step between rows, in minutes.
fn step(rows: &[Option<DateTime<Utc>>]) -> i64 {
    steps(rows).into_iter().max_by_key(|(step, count)| (*count, -*step)).map_or(60, |(step, _)| step)
}

fn steps(rows: &[Option<DateTime<Utc>>]) -> BTreeMap<i64, usize> {
    let mut times: Vec<DateTime<Utc>> = rows.iter().flatten().copied().collect();
    times.sort_unstable();
    times.dedup();
    let mut counts = BTreeMap::new();
    for pair in times.windows(2) {
        if let [one, next] = pair {
            *counts.entry((*next - *one).num_minutes().max(1)).or_insert(0) += 1;
        }
    }
    counts
}

/// Returns how many steps between neighbours are not the common one.
fn uneven(rows: &[Option<DateTime<Utc>>]) -> usize {
    let step = step(rows);
    let there: Vec<DateTime<Utc>> = rows.iter().flatten().copied().collect();
    let lost = rows.len() - there.len();
    let other =
        |pair: &&[DateTime<Utc>]| matches!(pair, [one, next] if (*next - *one).num_minutes().abs() != step);
    let back = |pair: &&[DateTime<Utc>]| matches!(pair, [one, next] if next < one);
    let pairs = || there.windows(2);
    let backwards = pairs().filter(back).count();
    let wrong_way = backwards.min(pairs().count() - backwards);
    lost + pairs().filter(other).count() + wrong_way
}

/// Returns the clock that the lines before the rows name: `UTC-4`, `LST`, `standard time`.
fn said_clock(said: &str) -> Option<FileClock> {
    for name in ["utc", "gmt"] {
        let Some((_, rest)) = said.split_once(name) else { continue };
        let rest = rest.trim_start();
        let sign = match rest.chars().next() {
            Some('+') => 1,
            Some('-' | '\u{2212}' | '\u{2013}') => -1,
            _ => return Some(FileClock::Ahead(0)),
        };
        let rest: String = rest.chars().skip(1).collect();
        let rest = rest.trim_start();
        let end = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
        let (digits, rest) = rest.split_at(end);
        // `-4`, `-04:00`, `-0400`.
        let (hours, minutes) = match digits.len() {
            3 | 4 => digits.split_at(digits.len() - 2),
            _ => (digits, rest.strip_prefix(':').and_then(|rest| rest.get(..2)).unwrap_or("0")),
        };
        let hours = hours.parse::<i32>().ok().filter(|hours| *hours <= 15)?;
        return Some(FileClock::Ahead(sign * (hours * 3600 + minutes.parse::<i32>().unwrap_or(0) * 60)));
    }
    let standard = said.contains("standard")
        || said.split(|letter: char| !letter.is_alphanumeric()).any(|word| word == "lst");
    standard.then_some(FileClock::Standard)
}

/// Finds the clock of a file; nothing where it must be asked.
fn clock(
    told: &[Option<ToldTime>],
    locals: &[Option<NaiveDateTime>],
    said: Option<FileClock>,
    draft: &mut IntakeDraft<'_>,
) -> Option<FileClock> {
    if told.iter().flatten().all(|told| told.ahead.is_some()) {
        return Some(FileClock::Wall);
    }
    let mut there: Vec<NaiveDateTime> = locals.iter().flatten().copied().collect();
    if is_backwards(locals) {
        there.reverse();
    }
    let found = sign(draft.place.site.zone(), &there);
    let settled = match (said, found) {
        (Some(FileClock::Ahead(seconds)), _) => {
            let (sign, minutes) = (if seconds < 0 { '-' } else { '+' }, seconds.abs() / 60);
            let shown = format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60);
            Some((FileClock::Ahead(seconds), shown, "said"))
        }
        (Some(clock), _) => Some((clock, "standard".to_string(), "said")),
        (None, ClockSign::NeverShown) => Some((FileClock::Standard, "standard".to_string(), "never-shown")),
        (None, ClockSign::NotTwice) => Some((FileClock::Standard, "standard".to_string(), "not-twice")),
        (None, ClockSign::ShownTwice) => Some((FileClock::Wall, "wall".to_string(), "shown-twice")),
        (None, ClockSign::LeftOut) => Some((FileClock::Wall, "wall".to_string(), "left-out")),
        (None, ClockSign::NoSummer) => return Some(FileClock::Wall),
        (None, ClockSign::Nothing) => None,
    };
    if let Some((clock, shown, why)) = settled {
        draft.intake.facts.push(FormFact::Clock(shown, why));
        return Some(clock);
    }
    match draft.answer(Topic::Clock) {
        Some("standard") => Some(FileClock::Standard),
        Some(_) => Some(FileClock::Wall),
        None => {
            let about = there.first().map(|first| first.format("%Y-%m-%d %H:%M").to_string());
            let about = about.into_iter().collect();
            draft.ask(FormQuestion { topic: Topic::Clock, is_needed: true, proposed: None, about });
            None
        }
    }
}

/// Returns whether a file begins a step after a full hour and ends on one, so that its rows end at their times.
pub(super) fn ends_on_the_hour(moments: &Moments) -> bool {
    let mut there: Vec<NaiveDateTime> = moments.locals.iter().flatten().copied().collect();
    there.sort_unstable();
    let full = |at: NaiveDateTime| at.and_utc().timestamp() % 3600 == 0;
    match (there.first(), there.last()) {
        (Some(first), Some(last)) => {
            moments.step < 60 && full(*last) && full(*first - Duration::minutes(moments.step))
        }
        _ => false,
    }
}
