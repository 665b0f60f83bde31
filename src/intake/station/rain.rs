//! What a column of rain counts, and what fell between the readings of a counter.

use super::titles::Manner;
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::hour_values::HourBounds;
use crate::intake::timeline::FellOver;
use chrono::{DateTime, Timelike, Utc};
use chrono_tz::Tz;

/// What a column of rain counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum RainCount {
    /// What fell in the time of each row.
    OfTheRow,
    /// What has fallen since the day began.
    DayTotal,
    /// What has ever fallen, until the counter is set back.
    Running,
    /// It is not read.
    LeftOut,
}

/// Of fewer readings above nothing it cannot be seen whether they run on.
const FEWEST: usize = 3;

/// A reading of the gauge.
pub(super) type GaugeRead = (DateTime<Utc>, HourBounds);

/// Finds what a column of rain counts; nothing where it must be asked.
pub(super) fn kind(
    manner: Manner,
    readings: &[GaugeRead],
    title: &str,
    draft: &mut IntakeDraft<'_>,
) -> Option<RainCount> {
    match draft.answer(Topic::RainIs) {
        Some("day-total") => return Some(RainCount::DayTotal),
        Some("counter") => return Some(RainCount::Running),
        Some("leave-out") => return Some(RainCount::LeftOut),
        Some(_) => return Some(RainCount::OfTheRow),
        None => {}
    }
    let proposed = match (manner, runs_on(readings)) {
        (Manner::DayTotal, _) => {
            draft.intake.facts.push(FormFact::DayTotal);
            return Some(RainCount::DayTotal);
        }
        (Manner::Plain, _) if starts_anew(readings, draft.place.site.zone()) => "day-total",
        (Manner::Plain, false) => return Some(RainCount::OfTheRow),
        (Manner::Plain | Manner::Counter, _) => "counter",
    };
    let shown = readings.iter().filter_map(|(_, amount)| amount.one());
    let mut about = vec![title.to_string()];
    about.extend(changes(shown).map(|amount| crate::units::clean(amount).to_string()));
    draft.ask(FormQuestion { topic: Topic::RainIs, is_needed: true, proposed: Some(proposed), about });
    None
}

/// Returns the first few numbers that differ from the one before.
fn changes(numbers: impl Iterator<Item = f64>) -> impl Iterator<Item = f64> {
    let mut last = None;
    numbers.filter(move |number| last.replace(*number) != Some(*number)).take(4)
}

/// Returns whether amounts look like those of a counter: they rise, hardly ever fall, and do not end at nothing. The rain of
/// rows falls again at once.
fn runs_on(readings: &[GaugeRead]) -> bool {
    let numbers: Vec<f64> = readings.iter().filter_map(|(_, amount)| amount.one()).collect();
    let rises = numbers.windows(2).filter(|pair| matches!(pair, [one, next] if next > one)).count();
    let falls = numbers.windows(2).filter(|pair| matches!(pair, [one, next] if next < one)).count();
    let first = readings.first().map(|(at, _)| *at);
    let days = first.zip(readings.last()).map_or(1, |(first, (last, _))| (*last - first).num_days().max(1));
    let seldom = falls <= usize::try_from(days).unwrap_or(usize::MAX) && falls <= rises;
    let above = numbers.iter().filter(|number| **number > 0.0).count();
    rises > 0 && above >= FEWEST && seldom && numbers.last().is_some_and(|last| *last > 0.0)
}

/// Returns whether amounts look like those of the day so far: within a day they never fall, and at midnight they begin anew.
fn starts_anew(readings: &[GaugeRead], zone: Tz) -> bool {
    let local = |at: DateTime<Utc>| at.with_timezone(&zone).naive_local();
    let midnight = |at: DateTime<Utc>| local(at).time() == chrono::NaiveTime::MIN;
    let mut falls = 0;
    let (mut above, mut rises) = (0, 0);
    for pair in readings.windows(2) {
        let [(from, before), (to, after)] = pair else { continue };
        above += usize::from(after.from > 0.0);
        rises += usize::from(after.from > before.from);
        if after.from < before.from {
            let is_anew = local(*from).date() != local(*to).date() || midnight(*from) || midnight(*to);
            if !is_anew {
                return false;
            }
            falls += 1;
        }
    }
    falls > 0 && rises > 0 && above > FEWEST && above > rises
}

/// Returns what fell between the readings of a counter. Where it falls, at least what it shows since fell; a day's total that
/// begins anew at a reading shows all of it.
pub(super) fn between(
    readings: &[GaugeRead],
    count: RainCount,
    draft: &mut IntakeDraft<'_>,
) -> Vec<FellOver> {
    let zone = draft.place.site.zone();
    let midnight = |at: DateTime<Utc>| {
        let local = at.with_timezone(&zone);
        (local.hour(), local.minute()) == (0, 0)
    };
    let day = |at: DateTime<Utc>| at.with_timezone(&zone).date_naive();
    let mut falls = 0;
    let mut fell = Vec::new();
    for pair in readings.windows(2) {
        let [(from, before), (to, after)] = pair else { continue };
        let (Some(before), Some(after)) = (before.one(), after.one()) else { continue };
        let more = ((after - before) * 1e3).round() / 1e3;
        let begins_anew = count == RainCount::DayTotal && midnight(*from);
        let over_midnight =
            count == RainCount::DayTotal && !midnight(*from) && !midnight(*to) && day(*from) != day(*to);
        let amount = if begins_anew {
            HourBounds::is(after)
        } else if more >= 0.0 && !over_midnight {
            HourBounds::is(more)
        } else {
            falls += usize::from(!over_midnight);
            HourBounds::at_least(after)
        };
        fell.push(FellOver { from: *from, to: *to, amount });
    }
    if falls > 0 {
        draft.intake.facts.push(FormFact::CounterFell(falls));
    }
    fell
}
