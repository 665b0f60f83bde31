//! When the spray that is advised is done, and the days and times that labels set from then on.

use super::{Hours, Spray, Window, facts::TreeFacts};
use crate::grove::{Grove, Pace};
use crate::labels::{self, Waits, first_picking_of, picking_after_all, re_entry, re_entry_of};
use crate::plan::{Plan, ProductId};
use crate::units::Threshold;
use chrono::{DateTime, Duration, NaiveDate};
use chrono_tz::Tz;

/// Returns until when people are kept out now, after the sprays already done; nothing where nobody is.
pub fn closed_until(plan: &Plan, grove: &Grove, facts: &TreeFacts<'_>) -> Option<DateTime<Tz>> {
    let done = grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    done.filter_map(|row| re_entry_of(plan, grove, row)).filter(|until| *until > facts.as_of).max()
}

/// How long a spray takes, in hours.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Takes<'a> {
    /// Each of its loads.
    pub loads: &'a [f64],
    /// Filling the tank before each of them.
    pub fill: f64,
}

/// When a spray is done that begins as its first hours open.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Done {
    /// When it begins.
    pub from: DateTime<Tz>,
    /// When it ends; nothing where the pace of the sprayer is not known, so that it ends at some time after it begins.
    pub to: Option<DateTime<Tz>>,
    /// The last day on which it may end.
    pub on: NaiveDate,
}

/// Until when people keep out after a spray that begins as its first hours open.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct KeepOut {
    /// When it is done.
    pub done: Done,
    /// For how many hours after its end people keep out.
    pub hours: f64,
    /// Until when people keep out; where the end is not known, until then at least.
    pub until: DateTime<Tz>,
}

/// Returns until when people keep out after a spray that takes so long and begins as its first hours open; nothing where
/// no label asks for it or no hours are left.
pub fn keep_out_after(
    plan: &Plan,
    spray: impl IntoIterator<Item = ProductId>,
    hours: &Hours,
    (takes, as_of): (Option<Takes<'_>>, DateTime<Tz>),
) -> Option<KeepOut> {
    let wait = Waits::of(plan, spray).re_entry?;
    let done = done_in(hours, takes, as_of)?;
    Some(KeepOut { done, hours: wait, until: re_entry(done.to.unwrap_or(done.from), wait) })
}

/// Returns when a spray is done that takes so long and begins as its first hours open, or if these are open already when the
/// tank is filled; nothing where no hours are left.
fn done_in(hours: &Hours, takes: Option<Takes<'_>>, as_of: DateTime<Tz>) -> Option<Done> {
    let windows = hours.for_spray(takes.map(|takes| takes.loads));
    let first = windows.first()?;
    Some(match takes {
        Some(takes) => {
            let (from, to) = sprayed_out(&windows, takes, (first.from, as_of));
            Done { from, to: Some(to), on: to.date_naive() }
        }
        // A window that ends at midnight is one of the day before.
        None => Done { from: first.from, to: None, on: (first.to - Duration::minutes(1)).date_naive() },
    })
}

/// Returns the first day on which fruit may be picked after a spray that takes so long and begins as its first hours open;
/// nothing where no label asks for days.
pub fn picking_after(
    plan: &Plan,
    spray: impl IntoIterator<Item = ProductId>,
    hours: &Hours,
    (takes, as_of): (Option<Takes<'_>>, DateTime<Tz>),
) -> Option<NaiveDate> {
    Waits::of(plan, spray)
        .first_picking(done_in(hours, takes, as_of).map_or(as_of.date_naive(), |done| done.on))
}

/// Returns when a spray begins and ends whose loads are sprayed one after the other, each in the first window that is long
/// enough for what it takes; one that fits into none follows the load before it. The end is the next whole five minutes.
fn sprayed_out(
    windows: &[Window],
    takes: Takes<'_>,
    (first, as_of): (DateTime<Tz>, DateTime<Tz>),
) -> (DateTime<Tz>, DateTime<Tz>) {
    let since = |moment: DateTime<Tz>| (moment - first).num_seconds() as f64 / 3600.0;
    let at = |hours: f64| first + Duration::seconds(libm::ceil(hours.clamp(0.0, 1e6) * 3600.0 - 1e-6) as i64);
    let mut begins = None;
    // The first tank is filled before its hour comes, but not before now.
    let mut ends = (since(as_of)).min(0.0);
    for load in takes.loads {
        let filled = (ends + takes.fill).max(0.0);
        let fitting = windows.iter().find_map(|window| {
            let start = since(window.from).max(filled);
            Threshold::of_hours(since(window.to) - start).is_kept_by(*load, true).then_some(start)
        });
        let start = fitting.unwrap_or(filled);
        begins = begins.or(Some(start));
        ends = start + load;
    }
    let end = at(ends);
    let over = end.timestamp().rem_euclid(300);
    let end = if over == 0 { end } else { end + Duration::seconds(300 - over) };
    (at(begins.unwrap_or(0.0)), end)
}

/// Returns when people may go in again to one tree, and the first day on which its fruit may be picked: after the sprays
/// already done (people are kept out until `closed`), and after the one advised, where this tree alone is sprayed as its first
/// hours open.
pub fn open_again(
    (plan, facts, closed): (&Plan, &TreeFacts<'_>, Option<DateTime<Tz>>),
    spray: &[ProductId],
    hours: &Hours,
) -> (Option<DateTime<Tz>>, Option<NaiveDate>) {
    let load = takes_alone(facts);
    let fill = facts.grove.sprayer.as_ref().and_then(|sprayer| sprayer.fill).unwrap_or(0.0);
    let takes = load.as_ref().map(|load| Takes { loads: std::slice::from_ref(load), fill });
    let takes = (takes, facts.as_of);
    let products = || spray.iter().copied();
    let ahead = keep_out_after(plan, products(), hours, takes);
    let keep_out = closed.into_iter().chain(ahead.map(|ahead| ahead.until)).max();
    let today = facts.as_of.date_naive();
    let rows = facts.grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    let done = rows.filter_map(|row| first_picking_of(plan, facts.grove, row));
    let ahead = picking_after(plan, products(), hours, takes);
    (keep_out, picking_after_all(done, ahead, keep_out, today))
}

/// Returns how many hours it takes to spray one tree.
fn takes_alone(facts: &TreeFacts<'_>) -> Option<f64> {
    let (sprayer, block) = (facts.grove.sprayer.as_ref()?, facts.grove.block_of(facts.tree)?);
    match sprayer.pace? {
        Pace::Volume(by_hour) => Some(sprayer.volume_per_tree(block)? / by_hour),
        Pace::Area(by_hour) => Some(block.spacing?.area() / by_hour),
        Pace::Trees(by_hour) => Some(1.0 / by_hour),
    }
}

/// Returns the last day on which a spray leaves the days before harvest that its labels ask for.
pub fn last_day(plan: &Plan, facts: &TreeFacts<'_>, spray: &Spray) -> Option<NaiveDate> {
    let harvest = facts.grove.harvest(facts.tree)?;
    labels::last_day(harvest, Waits::of(plan, spray.iter().map(|(product, _)| *product)))
}
