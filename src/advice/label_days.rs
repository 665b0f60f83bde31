//! Days and times that labels set: until when people keep out, from when fruit may be picked, up to which day a spray
//! leaves time enough before the harvest.

use super::{Hours, Spray, Window, facts::TreeFacts};
use crate::grove::{Grove, JugLabel, Pace, SprayPart, SprayRow, first_picking, re_entry};
use crate::plan::{Plan, Product, ProductId};
use chrono::{DateTime, Days, Duration, NaiveDate};
use chrono_tz::Tz;

/// Returns when people may go in after a logged spray; nothing where neither the rulebook nor a jug gives a time. Of both
/// the longer counts.
pub fn re_entry_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<DateTime<Tz>> {
    let waits = waits(plan, grove, row, |label| label.re_entry, |product| product.re_entry);
    (!waits.is_empty()).then(|| re_entry(row.end, waits))
}

/// Returns the first day on which fruit may be picked after a logged spray; nothing where neither the rulebook nor a jug
/// gives a number of days. Of both the longer counts.
pub fn first_picking_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<NaiveDate> {
    let waits = waits(plan, grove, row, |label| label.before_harvest, |product| product.before_harvest);
    waits.into_iter().map(|wait| first_picking(row.day(), wait)).max()
}

/// Returns what the label of each product in a tank says, of the jug and of the rulebook the longer.
fn waits(
    plan: &Plan,
    grove: &Grove,
    row: &SprayRow,
    of_jug: impl Fn(&JugLabel) -> Option<f64>,
    of_book: impl Fn(&Product) -> Option<f64>,
) -> Vec<f64> {
    let longest = |part: &SprayPart| {
        let jug = part.jug.and_then(|jug| grove.shed.get(jug)).and_then(|jug| of_jug(&jug.label));
        let book = part.product.and_then(|product| of_book(&plan[product]));
        jug.into_iter().chain(book).reduce(f64::max)
    };
    row.parts.iter().filter_map(longest).collect()
}

/// Until when people keep out after a spray that begins as its first hours open.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct KeepOut {
    /// When it begins.
    pub from: DateTime<Tz>,
    /// When it ends; nothing where the pace of the sprayer is not known, so that it ends at some time after it begins.
    pub to: Option<DateTime<Tz>>,
    /// For how many hours after its end people keep out.
    pub hours: f64,
    /// Until when people keep out; where the end is not known, until then at least.
    pub until: DateTime<Tz>,
}

/// Returns until when people keep out after a spray that takes so many hours and begins as its first hours open; nothing
/// where no label asks for it or no hours are left.
pub fn keep_out_after(
    plan: &Plan,
    spray: impl IntoIterator<Item = ProductId>,
    hours: &Hours,
    takes: Option<f64>,
) -> Option<KeepOut> {
    let waits = spray.into_iter().filter_map(|product| plan[product].re_entry).reduce(f64::max)?;
    let best = hours.compromise.as_ref().map(|(window, _)| window).filter(|_| hours.windows.is_empty());
    let windows: Vec<&Window> = hours.windows.iter().chain(best).collect();
    let from = windows.first()?.from;
    let to = takes.map(|takes| end_of_work(&windows, takes, from));
    Some(KeepOut { from, to, hours: waits, until: re_entry(to.unwrap_or(from), [waits]) })
}

/// Returns when work ends that takes so many hours in windows one after the other, to the next whole five minutes; what
/// does not fit into them goes on after the last.
fn end_of_work(windows: &[&Window], takes: f64, from: DateTime<Tz>) -> DateTime<Tz> {
    let mut left = libm::ceil((takes * 3600.0).clamp(0.0, 1e9) - 1e-6) as i64;
    let mut end = from;
    for (at, window) in windows.iter().enumerate() {
        let length = (window.to - window.from).num_seconds();
        end = window.from + Duration::seconds(left.min(length));
        left -= length;
        if left <= 0 {
            break;
        }
        if at + 1 == windows.len() {
            end += Duration::seconds(left);
        }
    }
    let over = end.timestamp().rem_euclid(300);
    if over == 0 { end } else { end + Duration::seconds(300 - over) }
}

/// Returns when people may go in again to one tree: after the sprays already done, and after the one advised, where it
/// alone is sprayed as its first hours open.
pub fn keep_out_until(
    plan: &Plan,
    facts: &TreeFacts<'_>,
    spray: &[ProductId],
    hours: &Hours,
) -> Option<DateTime<Tz>> {
    let done = facts.grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    let done = done.filter_map(|row| re_entry_of(plan, facts.grove, row));
    let ahead = keep_out_after(plan, spray.iter().copied(), hours, takes_alone(facts));
    done.filter(|until| *until > facts.as_of).chain(ahead.map(|ahead| ahead.until)).max()
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

/// Returns the first day on which fruit may be picked: after the sprays already done, and after the one advised.
pub fn pick_not_before(
    plan: &Plan,
    facts: &TreeFacts<'_>,
    spray: &[ProductId],
    advised: Option<&Window>,
    today: NaiveDate,
) -> Option<NaiveDate> {
    let days = |product: ProductId| plan[product].before_harvest;
    let rows = facts.grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    let done = rows.filter_map(|row| first_picking_of(plan, facts.grove, row));
    // A window that ends at midnight is one of the day before.
    let on = advised.map_or(today, |window| (window.to - Duration::minutes(1)).date_naive());
    let ahead = spray.iter().copied().filter_map(days).map(|wait| first_picking(on, wait));
    done.filter(|day| *day > today).chain(ahead).max()
}

/// Returns the last day on which a spray leaves the days before harvest that its labels ask for.
pub fn last_day(plan: &Plan, facts: &TreeFacts<'_>, spray: &Spray) -> Option<NaiveDate> {
    let harvest = facts.grove.harvest(facts.tree)?;
    let longest = spray.iter().filter_map(|(product, _)| plan[*product].before_harvest).reduce(f64::max)?;
    harvest.checked_sub_days(Days::new(longest.ceil().max(0.0) as u64))
}
