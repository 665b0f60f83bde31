//! When a round is sprayed: its loads fitted into the hours that are left for it.
//!
//! Comes in: the hours of an advice, how long each load takes, what else is planned, when rain is forecast. Goes out:
//! stretches of time. A load that is mixed is sprayed out, so none is parted.

use crate::advice::{Hours, Window};
use crate::plan::GateId;
use chrono::{DateTime, Duration, NaiveDate, NaiveTime, TimeZone, Timelike};
use chrono_tz::Tz;

/// The plan of one round.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Planned {
    /// When it is sprayed, in order of time; several where no window is long enough for all of it.
    pub stretches: Vec<Stretch>,
    /// How many loads have no hours.
    pub unfitted: u64,
    /// On what ground.
    pub ground: PlanGround,
    /// The last window before the rain that is forecast.
    pub before_rain: Option<Window>,
    /// Why it does not begin sooner, where it waits for hours that are open.
    pub waits: Option<Wait>,
    /// Whether it does not fit into the hours in which the grower works.
    pub outside_work: bool,
}

/// Why a round does not begin sooner.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Wait {
    /// No hours are open before.
    Shut,
    /// What is open before is too short for it.
    Short,
    /// Other rounds take what is open before.
    Busy,
    /// The guide prefers the later hours.
    Preferred,
}

/// A stretch of time in which loads are sprayed one after the other.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Stretch {
    /// When it begins.
    pub from: DateTime<Tz>,
    /// When it is done; nothing where the pace of the sprayer is not known.
    pub to: Option<DateTime<Tz>>,
    /// How many loads.
    pub loads: u64,
}

/// On what ground hours are planned.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum PlanGround {
    /// They are open.
    Open,
    /// None of them will do: these are the best that labels and pollinators leave.
    Compromise {
        /// The gates that they break.
        gates: Vec<GateId>,
        /// Whether some are open, in pieces too short for a load, or of which it is not known what they are long enough for.
        short: bool,
    },
    /// Some are open, in pieces too short for a load, or of which it is not known what they are long enough for.
    Short,
    /// None is known to be open.
    Unknown,
    /// None is left.
    #[default]
    Nothing,
}

/// What a plan is made from.
pub struct PlanInputs<'a> {
    /// The hours that the advice leaves.
    pub hours: &'a Hours,
    /// How many hours each load takes; nothing where the pace is not known.
    pub loads: Option<&'a [f64]>,
    /// How long it takes to fill the tank again between two loads, in hours.
    pub fill: f64,
    /// What is planned already.
    pub busy: &'a [(DateTime<Tz>, DateTime<Tz>)],
    /// When the grower works, each span in hours after midnight; at any hour where it is empty.
    pub work: &'a [(f64, f64)],
    /// The first hour for which rain is forecast.
    pub rain: Option<DateTime<Tz>>,
    /// Whether a moment lies in an hour that the guide prefers.
    pub liked: &'a dyn Fn(DateTime<Tz>) -> bool,
}

type Span = (DateTime<Tz>, DateTime<Tz>);

/// Fits a round into its hours.
pub fn plan_round(wanted: &PlanInputs<'_>) -> Planned {
    let Hours { short, not_checked, compromise, .. } = wanted.hours;
    let open = wanted.hours.usable(wanted.loads);
    let (spans, ground): (Vec<Span>, PlanGround) = match compromise {
        _ if !open.is_empty() => (open.iter().map(|it| (it.from, it.to)).collect(), PlanGround::Open),
        Some((window, gates)) => {
            let short = !short.is_empty();
            (vec![(window.from, window.to)], PlanGround::Compromise { gates: gates.clone(), short })
        }
        None if !short.is_empty() => (Vec::new(), PlanGround::Short),
        None if not_checked.is_empty() => (Vec::new(), PlanGround::Nothing),
        None => (Vec::new(), PlanGround::Unknown),
    };
    let count = wanted.loads.map_or(1, |loads| loads.len() as u64);
    let fitted = |free: &[Span]| -> Vec<Stretch> {
        match wanted.loads {
            None => {
                let first = free.first().map(|(from, _)| Stretch { from: *from, to: None, loads: count });
                first.into_iter().collect()
            }
            Some(loads) => match in_one(wanted, free, hours_of(loads, wanted.fill)) {
                Some((from, to)) => vec![Stretch { from, to: Some(to), loads: count }],
                None => in_parts(free, loads, wanted.fill),
            },
        }
    };
    let planned = |stretches: &[Stretch]| stretches.iter().map(|stretch| stretch.loads).sum::<u64>();
    let mut free = without(&at_work(&spans, wanted.work), wanted.busy, wanted.fill);
    let mut stretches = fitted(&free);
    let mut outside_work = false;
    if planned(&stretches) < count && !wanted.work.is_empty() {
        let whole = without(&spans, wanted.busy, wanted.fill);
        let those = fitted(&whole);
        if planned(&those) > planned(&stretches) {
            (free, stretches, outside_work) = (whole, those, true);
        }
    }
    let planned = planned(&stretches);
    let before = |window: &&Window| wanted.rain.is_some_and(|rain| window.to <= rain);
    let before_rain = open.iter().rfind(before).copied();
    let first = stretches.first().filter(|_| ground == PlanGround::Open);
    let waits = first.map(|first| wait(wanted, (&spans, &free), first.from));
    Planned { stretches, unfitted: count.saturating_sub(planned), ground, before_rain, waits, outside_work }
}

/// Returns why a round that begins then does not begin sooner.
fn wait(wanted: &PlanInputs<'_>, (open, free): (&[Span], &[Span]), begins: DateTime<Tz>) -> Wait {
    let takes = duration(wanted.loads.map_or(0.0, |loads| hours_of(loads, wanted.fill)));
    let fits = |spans: &[Span]| spans.iter().any(|(from, to)| *from < begins && *from + takes <= *to);
    if !wanted.hours.open().iter().any(|window| window.from < begins) {
        Wait::Shut
    } else if fits(free) {
        Wait::Preferred
    } else if fits(open) {
        Wait::Busy
    } else {
        Wait::Short
    }
}

/// Returns what of some spans lies in the hours in which the grower works.
fn at_work(spans: &[Span], work: &[(f64, f64)]) -> Vec<Span> {
    if work.is_empty() {
        return spans.to_vec();
    }
    let parts = |(from, to): &Span| -> Vec<Span> {
        let (from, to) = (*from, *to);
        // Work that begins in the evening may reach into the day after it.
        let days = from.date_naive().pred_opt().into_iter().flat_map(|day| day.iter_days());
        let days = days.take_while(|day| *day <= to.date_naive());
        let of_day = days.flat_map(|day| {
            work.iter().filter_map(move |(begins, ends)| {
                let next = if ends <= begins { day.succ_opt()? } else { day };
                let (begins, ends) = (moment(day, *begins, from)?, moment(next, *ends, from)?);
                Some((from.max(begins), to.min(ends))).filter(|(from, to)| from < to)
            })
        });
        let mut parts: Vec<Span> = of_day.collect();
        parts.sort_unstable();
        parts
    };
    spans.iter().flat_map(parts).collect()
}

/// Returns a time of day as a moment; one that the clocks leave out is an hour later.
fn moment(day: NaiveDate, hours: f64, zone_of: DateTime<Tz>) -> Option<DateTime<Tz>> {
    let time = day.and_time(NaiveTime::MIN) + Duration::seconds((hours * 3600.0).round() as i64);
    let zone = zone_of.timezone();
    zone.from_local_datetime(&time)
        .earliest()
        .or_else(|| zone.from_local_datetime(&(time + Duration::hours(1))).earliest())
}

/// Returns how long some loads take with the filling between them; the first is mixed before its hour comes.
pub fn hours_of(loads: &[f64], fill: f64) -> f64 {
    loads.iter().sum::<f64>() + fill * loads.len().saturating_sub(1) as f64
}

/// Finds the best time for all of it in one: before the rain, on the first day, in hours that the guide prefers, and early.
/// Better hours are waited for no longer than a day: disease does not wait.
fn in_one(wanted: &PlanInputs<'_>, free: &[Span], hours: f64) -> Option<Span> {
    let length = duration(hours);
    let first = free.iter().find(|(from, to)| *from + length <= *to)?.0;
    let mut best: Option<((bool, i64, u32), Span)> = None;
    for (start, end) in free {
        let mut from = *start;
        while from + length <= *end {
            let to = from + length;
            let late = wanted.rain.is_some_and(|rain| to > rain && *start < rain) || after(wanted.rain, from);
            let rank = (late, (from - first).num_hours() / 24, u32::MAX - liked(wanted, from, to));
            if best.as_ref().is_none_or(|(known, _)| rank < *known) {
                best = Some((rank, (from, to)));
            }
            from = next_hour(from);
        }
    }
    best.map(|(_, (from, to))| (from, tidy(to)))
}

fn after(rain: Option<DateTime<Tz>>, from: DateTime<Tz>) -> bool {
    rain.is_some_and(|rain| from >= rain)
}

/// Returns how many of a hundred moments of a span are liked.
fn liked(wanted: &PlanInputs<'_>, from: DateTime<Tz>, to: DateTime<Tz>) -> u32 {
    let seconds = (to - from).num_seconds().max(1);
    (0..100).filter(|at| (wanted.liked)(from + Duration::seconds(seconds * at / 100))).count() as u32
}

/// Puts the loads one after the other into the spans, in order of time.
fn in_parts(free: &[Span], loads: &[f64], fill: f64) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    let mut left = loads.iter();
    let mut load = left.next();
    for (from, end) in free {
        let (mut at, mut count) = (*from, 0);
        let with_fill = |count: u64, hours: f64| duration(if count > 0 { fill + hours } else { hours });
        while let Some(hours) = load.filter(|hours| at + with_fill(count, **hours) <= *end) {
            at += with_fill(count, *hours);
            count += 1;
            load = left.next();
        }
        if count > 0 {
            stretches.push(Stretch { from: *from, to: Some(tidy(at)), loads: count });
        }
    }
    stretches
}

/// Returns what is left of spans that other work takes a part of; before and after it the tank is rinsed and filled.
fn without(spans: &[Span], busy: &[Span], fill: f64) -> Vec<Span> {
    let mut free: Vec<Span> = spans.to_vec();
    let between = duration(fill);
    for (taken, done) in busy.iter().map(|(taken, done)| (*taken - between, *done + between)) {
        let (taken, done) = (&taken, &done);
        let parts = |(from, to): Span| {
            if to <= *taken || *done <= from {
                return vec![(from, to)];
            }
            let rest = [(from, to.min(*taken)), (from.max(*done), to)];
            rest.into_iter().filter(|(from, to)| from < to).collect()
        };
        free = free.into_iter().flat_map(parts).collect();
    }
    free
}

fn duration(hours: f64) -> Duration {
    Duration::seconds(libm::ceil(hours * 3600.0 - 1e-6) as i64)
}

/// Returns the beginning of the next hour of the clock.
fn next_hour(at: DateTime<Tz>) -> DateTime<Tz> {
    at + Duration::seconds(3600 - i64::from(at.minute() * 60 + at.second()) % 3600)
}

/// Returns the next moment that is a whole five minutes.
fn tidy(at: DateTime<Tz>) -> DateTime<Tz> {
    let over = i64::from(at.minute() * 60 + at.second()) % 300;
    if over == 0 { at } else { at + Duration::seconds(300 - over) }
}
