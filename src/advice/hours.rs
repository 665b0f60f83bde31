//! The hours that gates leave for a spray, or the best compromise among them. No open minute is left out: a piece shorter
//! than the rulebook's window stands beside the windows.

use super::{Case, Hours, Window};
use crate::measure::{Truth, WeatherMeasures};
use crate::plan::{Condition, GateId, HourlyId, Plan, ProductId, Series, Shut, Subject, Yields};
use chrono::{DateTime, Duration, NaiveDate};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// What hours are looked for.
#[derive(Debug)]
pub struct HoursWanted<'a> {
    /// The moment of the advice.
    pub as_of: DateTime<Tz>,
    /// The hour gates that speak for this tree and this spray, or may.
    pub gates: &'a [GateId],
    /// Hours from now within which it should be done.
    pub within: f64,
    /// The shortest window in hours.
    pub at_least: f64,
}

/// One hour ahead.
struct HourAhead {
    from: DateTime<Tz>,
    to: DateTime<Tz>,
    shut_by: Vec<GateId>,
    not_checked: Vec<GateId>,
    allowed: bool,
    preferred: bool,
}

/// Finds the hours for a spray; `allowed` tells whether the labels allow it on a day.
pub fn hours(
    plan: &Plan,
    weather_measures: &WeatherMeasures<'_>,
    wanted: &HoursWanted<'_>,
    allowed: &dyn Fn(NaiveDate) -> bool,
) -> Hours {
    let ahead = look_ahead(plan, weather_measures, wanted, allowed);
    let open = |hour: &HourAhead| hour.allowed && hour.shut_by.is_empty() && hour.not_checked.is_empty();
    let (windows, short): (Vec<Window>, Vec<Window>) =
        runs(&ahead, open).into_iter().filter_map(window).partition(|window| window.holds(wanted.at_least));
    let unchecked =
        |hour: &HourAhead| hour.allowed && hour.shut_by.is_empty() && !hour.not_checked.is_empty();
    let not_checked = runs(&ahead, unchecked)
        .into_iter()
        .filter_map(|run| {
            let mut gates: Vec<GateId> =
                run.iter().flat_map(|hour| hour.not_checked.iter().copied()).collect();
            gates.sort();
            gates.dedup();
            Some((window(run)?, gates))
        })
        .collect();
    let compromise = if windows.is_empty() { compromise(plan, &ahead, wanted) } else { None };
    Hours { windows, short, not_checked, compromise }
}

/// Returns the hour gates that speak for a spray on a tree of a case, or may.
pub fn hour_gates(plan: &Plan, case: &Case) -> Vec<GateId> {
    let has = |product: &ProductId| case.spray.iter().any(|(it, _)| it == product);
    let shuts_spray = |shut: &Shut| match shut {
        Shut::Spraying => true,
        Shut::Group(group) => case.spray.iter().any(|(it, _)| plan[*it].groups.contains(group)),
        Shut::Product(product) => has(product),
        Shut::Mix(a, b) => has(a) && has(b),
    };
    let speaks =
        |gate: &GateId| case.decision.trace.gates.get(gate.index()).is_some_and(|it| *it != Truth::No);
    let gates = (0..plan.gates.len() as u32).map(GateId);
    let of_hours = |gate: &GateId| plan[*gate].hours.is_some() && plan[*gate].shuts.iter().any(shuts_spray);
    gates.filter(|gate| of_hours(gate) && speaks(gate)).collect()
}

/// Returns those of some hour gates that shut any of the hours from one moment to another, whatever else they hang on; those
/// that shut most of them first.
pub fn shutting_between(
    plan: &Plan,
    weather_measures: &WeatherMeasures<'_>,
    gates: &[GateId],
    (from, to): (DateTime<Tz>, DateTime<Tz>),
) -> Vec<GateId> {
    // The last hour is looked at as a whole.
    let within = (to - from).num_minutes() as f64 / 60.0 + 1.0;
    let wanted = HoursWanted { as_of: from, gates, within, at_least: 1.0 };
    let hours = look_ahead(plan, weather_measures, &wanted, &|_| true);
    let taken = hours.iter().filter(|hour| hour.from < to || hour.from == from);
    let mut hours_of: BTreeMap<GateId, usize> = BTreeMap::new();
    taken.flat_map(|hour| &hour.shut_by).for_each(|gate| *hours_of.entry(*gate).or_default() += 1);
    let mut shut: Vec<GateId> = hours_of.keys().copied().collect();
    shut.sort_by_key(|gate| std::cmp::Reverse(hours_of.get(gate).copied()));
    shut
}

fn look_ahead(
    plan: &Plan,
    weather_measures: &WeatherMeasures<'_>,
    wanted: &HoursWanted<'_>,
    allowed: &dyn Fn(NaiveDate) -> bool,
) -> Vec<HourAhead> {
    let until = wanted.as_of + Duration::seconds((wanted.within * 3600.0) as i64);
    let mut hours = Vec::new();
    let mut number = weather_measures.hour_under_way();
    loop {
        let (starts, to) = (weather_measures.hour_start(number), weather_measures.hour_start(number + 1));
        if to > until {
            return hours;
        }
        let mut hour = HourAhead {
            from: starts.max(wanted.as_of),
            to,
            shut_by: Vec::new(),
            not_checked: Vec::new(),
            allowed: allowed(starts.date_naive()),
            preferred: true,
        };
        for gate in wanted.gates {
            let Some(condition) = &plan[*gate].hours else { continue };
            let met = weather_measures.hour(condition, number, &|_| crate::measure::Extent::EMPTY);
            match met.truth {
                Truth::No => {}
                Truth::Open if met.not_checked => hour.not_checked.push(*gate),
                // An hour that the sun cuts is shut, either way.
                Truth::Open | Truth::Yes => hour.shut_by.push(*gate),
            }
        }
        hour.preferred = !plan.prefers.is_empty()
            && plan.prefers.iter().all(|prefer| {
                weather_measures.hour(&prefer.hours, number, &|_| crate::measure::Extent::EMPTY).truth
                    == Truth::Yes
            });
        hours.push(hour);
        number += 1;
    }
}

/// Returns the runs of hours one after the other for which something is true.
fn runs(hours: &[HourAhead], is: impl Fn(&HourAhead) -> bool) -> Vec<&[HourAhead]> {
    hours.chunk_by(|a, b| is(a) == is(b)).filter(|run| run.first().is_some_and(&is)).collect()
}

fn window(run: &[HourAhead]) -> Option<Window> {
    let preferred = run.iter().filter(|hour| hour.preferred).count() as u32;
    Some(Window { from: run.first()?.from, to: run.last()?.to, preferred: (preferred, run.len() as u32) })
}

/// Finds the hours that break the fewest gates, among those that labels and the gates of clock and sun leave.
fn compromise(plan: &Plan, hours: &[HourAhead], wanted: &HoursWanted<'_>) -> Option<(Window, Vec<GateId>)> {
    let size = (wanted.at_least.ceil() as usize).max(1);
    let fixed = |gate: &GateId| plan[*gate].hours.as_ref().is_some_and(|it| speaks_of_the_sun(plan, it));
    let left =
        |hour: &HourAhead| hour.allowed && hour.not_checked.is_empty() && !hour.shut_by.iter().any(fixed);
    let mut best: Option<(usize, u32, usize, Window, Vec<GateId>)> = None;
    for (at, run) in hours.windows(size).enumerate() {
        let Some(found) = window(run).filter(|found| found.holds(wanted.at_least)) else {
            continue;
        };
        if !run.iter().all(left) {
            continue;
        }
        let mut breaks: Vec<GateId> = run.iter().flat_map(|hour| hour.shut_by.iter().copied()).collect();
        breaks.sort();
        breaks.dedup();
        let rank = (breaks.len(), u32::MAX - found.preferred.0, at);
        if best.as_ref().is_none_or(|best| rank < (best.0, best.1, best.2)) {
            best = Some((rank.0, rank.1, rank.2, found, breaks));
        }
    }
    best.map(|(_, _, _, window, breaks)| (window, breaks))
}

/// Returns whether a condition on hours speaks of clock or sun: such a gate is there for people and pollinators, and
/// no compromise breaks it.
fn speaks_of_the_sun(plan: &Plan, condition: &Condition) -> bool {
    let mut found = false;
    condition.each_test(&mut |test| {
        found |= match test.subject {
            Subject::Series(series) => {
                matches!(
                    series,
                    Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset
                )
            }
            Subject::Hourly(hourly) => hourly_speaks_of_the_sun(plan, hourly),
            Subject::Name(_) | Subject::Daily(_) => false,
        };
    });
    found
}

fn hourly_speaks_of_the_sun(plan: &Plan, hourly: HourlyId) -> bool {
    match &plan[hourly].yields {
        Yields::Condition(condition) => speaks_of_the_sun(plan, condition),
        Yields::Value(expr) => matches!(
            *expr.node,
            crate::plan::ExprNode::Series(
                Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset
            )
        ),
    }
}
