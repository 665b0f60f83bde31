//! Tables of days: what they say is between what each day's temperature lay, and how much rain fell on it.

use super::gather::StationRow;
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::{IntakeDay, IntakeDraft};
use crate::intake::hour_values::HourBounds;
use crate::intake::timeline::FellOver;
use crate::weather::{Column, first_instant};
use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime};

/// The lowest and the highest temperature of a row, where the table has them.
pub(super) type DayEnds = (Option<HourBounds>, Option<HourBounds>);

/// Takes days. Hours are made of them only where it was answered which 24 hours a day is.
pub(super) fn read(rows: &[(NaiveDate, &StationRow, DayEnds)], draft: &mut IntakeDraft<'_>) {
    for (date, row, (lowest, highest)) in rows {
        let temperature = lowest.zip(*highest).map(|(low, high)| HourBounds::between(low.from, high.to));
        let rain = row.values.get(Column::Rain as usize).copied().flatten();
        draft.intake.days.push(IntakeDay { date: *date, temperature, rain });
    }
    draft.ask(FormQuestion { topic: Topic::Day, is_needed: false, proposed: None, about: Vec::new() });
    let Some(answer) = draft.answer(Topic::Day) else { return };
    let days = draft.intake.days.clone();
    let mut fell = Vec::new();
    for day in &days {
        let Some((from, to)) = hours(day.date, answer) else { continue };
        let zone = draft.place.site.zone();
        let (from, to) = (first_instant(zone, from), first_instant(zone, to));
        if let Some(temperature) = day.temperature {
            draft.timeline.holds(Column::Temperature, from, to, temperature);
        }
        fell.extend(day.rain.map(|amount| FellOver { from, to, amount }));
    }
    draft.fell(&fell);
}

/// Returns begin and end of a day: from midnight, or the 24 hours before it was read in the morning.
fn hours(date: NaiveDate, answer: &str) -> Option<(NaiveDateTime, NaiveDateTime)> {
    let midnight = |date: NaiveDate| date.and_time(NaiveTime::MIN);
    match NaiveTime::parse_from_str(answer, "%H:%M") {
        Ok(read) => Some((date.checked_sub_days(Days::new(1))?.and_time(read), date.and_time(read))),
        Err(_) => Some((midnight(date), midnight(date.checked_add_days(Days::new(1))?))),
    }
}
