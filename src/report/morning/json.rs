//! The morning in JSON: what is open now, what becomes another within a day, closed rows, and the mixes, from the same facts as
//! the page.

use super::plan::{OpenNow, Turned, open_now, opens, turned};
use crate::plan::Plan;
use crate::report::case_json::{DoseEntry, doses};
use crate::report::job_json::VolumeEntry;
use crate::report::json::{self, Moment};
use crate::report::{TreeGroup, Trees};
use crate::sprayday::{Day, Round};
use crate::words::Speech;
use chrono::DateTime;
use chrono_tz::Tz;
use serde::Serialize;
use std::collections::BTreeMap;

/// Which mixes can be sprayed now.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct NowEntry {
    open: Vec<OpenNowEntry>,
    /// When the first hours open; null where none do.
    opens: Option<Moment>,
}

/// Mixes by their numbers, of which the hours are open now.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct OpenNowEntry {
    until: Moment,
    mixes: Vec<usize>,
    /// Whether that is shorter than the rulebook's window.
    short: bool,
    /// What all of them take with all filling; null where the pace of the sprayer is not known.
    minutes: Option<i64>,
    /// Those of them that are planned to be done by then.
    done: Vec<usize>,
}

/// Trees whose verdict becomes another within 24 h, if the forecast holds.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct TomorrowEntry<'a> {
    at: Moment,
    then: String,
    trees: Vec<&'a str>,
}

/// Trees that people may not go to before a moment, after an earlier spray.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct ClosedEntry<'a> {
    until: Moment,
    trees: Vec<&'a str>,
}

/// One mix of the day, numbered as the page and the plan of the day number it.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct MorningMixEntry<'a> {
    number: usize,
    spray: Vec<DoseEntry<'a>>,
    /// In walking order.
    trees: Vec<&'a str>,
    volume: Option<VolumeEntry>,
    /// Whether the amount of each product is known.
    weighed: bool,
    /// When it is planned; the end is null where the pace of the sprayer is not known.
    from: Option<Moment>,
    to: Option<Moment>,
    /// The end of the last hours that are open for it, or of the last before rain.
    done_by: Option<Moment>,
    before_rain: bool,
    /// If it is finished as planned.
    keep_out_until: Option<Moment>,
    pick_not_before: Option<json::Day>,
}

/// Returns which mixes can be sprayed now.
pub(in crate::report) fn now_entry(day: &Day<'_>) -> NowEntry {
    let numbers = |at: &[usize]| at.iter().map(|at| at + 1).collect();
    let entry = |it: &OpenNow| OpenNowEntry {
        until: it.until.into(),
        mixes: numbers(&it.mixes),
        short: it.short,
        minutes: it.hours.map(|hours| libm::ceil(hours * 60.0 - 1e-6) as i64),
        done: numbers(&it.done),
    };
    NowEntry { open: open_now(day).iter().map(entry).collect(), opens: opens(day).map(Moment::from) }
}

/// Returns what becomes another within a day.
pub(in crate::report) fn tomorrow<'a>(
    plan: &Plan,
    trees: &'a dyn Trees,
    groups: &[TreeGroup],
    as_of: DateTime<Tz>,
) -> Vec<TomorrowEntry<'a>> {
    let entry = |it: &Turned| TomorrowEntry {
        at: it.turn.at.into(),
        then: it.turn.verdict.words(plan),
        trees: names(trees, &it.trees),
    };
    turned(groups).iter().filter(|it| it.is_soon(as_of)).map(entry).collect()
}

/// Returns the trees that are closed now, by the moment at which they open.
pub(in crate::report) fn closed_entries<'a>(
    trees: &'a dyn Trees,
    closed: &BTreeMap<DateTime<Tz>, Vec<usize>>,
) -> Vec<ClosedEntry<'a>> {
    let entry = |(until, those): (&DateTime<Tz>, &Vec<usize>)| ClosedEntry {
        until: (*until).into(),
        trees: names(trees, those),
    };
    closed.iter().map(entry).collect()
}

/// Returns the mixes of a day.
pub(in crate::report) fn mix_entries<'a>(
    plan: &'a Plan,
    trees: &'a dyn Trees,
    day: &Day<'_>,
    speech: Speech,
) -> Vec<MorningMixEntry<'a>> {
    let entry = |(at, round): (usize, &Round<'_>)| MorningMixEntry {
        number: at + 1,
        spray: doses(plan, &round.spray),
        trees: names(trees, &round.trees),
        volume: round.job.as_ref().ok().map(|job| VolumeEntry::of(job.volume, speech)),
        weighed: round.job.is_ok() && round.is_weighed(),
        from: round.planned.stretches.first().map(|it| it.from.into()),
        to: round.span().map(|(_, to)| to.into()),
        done_by: round.done_by.map(|by| by.at.into()),
        before_rain: round.done_by.is_some_and(|by| by.rain),
        keep_out_until: round.keep_out_until.map(Moment::from),
        pick_not_before: round.pick_not_before.map(json::Day::from),
    };
    day.rounds.iter().enumerate().map(entry).collect()
}

fn names<'a>(trees: &'a dyn Trees, those: &[usize]) -> Vec<&'a str> {
    those.iter().map(|tree| trees.name(*tree)).collect()
}
