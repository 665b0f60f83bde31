//! Days and times that labels set: until when people keep out, from when fruit may be picked, up to which day a spray
//! leaves time enough before the harvest.

use super::{Spray, Window, facts::TreeFacts};
use crate::grove::{Grove, JugLabel, SprayPart, SprayRow, first_picking, picking, re_entry};
use crate::plan::{Plan, Product, ProductId};
use chrono::{DateTime, Days, NaiveDate};
use chrono_tz::Tz;

/// Returns when people may go in after a logged spray; nothing where neither the rulebook nor a jug gives a time. Of both
/// the longer counts.
pub fn re_entry_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<DateTime<Tz>> {
    let waits = waits(plan, grove, row, |label| label.re_entry, |product| product.re_entry);
    let now = (!waits.is_empty()).then(|| re_entry(row.end, waits));
    // The jug may have left the shed since: what the row keeps counts too.
    let kept =
        row.fields.get("keep-out-until").and_then(|text| DateTime::parse_from_rfc3339(&seconds(text)).ok());
    now.into_iter().chain(kept.map(|kept| kept.with_timezone(&row.end.timezone()))).max()
}

/// Puts seconds into `2027-02-11T05:30-04:00`, as the standard form has them.
fn seconds(text: &str) -> String {
    let (minute, offset) = text.split_at_checked("2027-02-11T05:30".len()).unwrap_or((text, ""));
    format!("{minute}:00{offset}")
}

/// Returns the first day on which fruit may be picked after a logged spray, never before people may go in; nothing where
/// neither the rulebook nor a jug gives a number of days. Of both the longer counts.
pub fn first_picking_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<NaiveDate> {
    let waits = waits(plan, grove, row, |label| label.before_harvest, |product| product.before_harvest);
    let kept = row.fields.get("pick-not-before").and_then(|text| text.parse().ok());
    let by_days = waits.into_iter().map(|wait| first_picking(row.day(), wait)).chain(kept).max();
    picking(by_days, re_entry_of(plan, grove, row))
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

/// Returns until when people are kept out now, after the sprays already done; nothing where nobody is.
pub fn closed_until(plan: &Plan, grove: &Grove, facts: &TreeFacts<'_>) -> Option<DateTime<Tz>> {
    let done = grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    done.filter_map(|row| re_entry_of(plan, grove, row)).filter(|until| *until > facts.as_of).max()
}

/// Returns when people may go in again: after the sprays already done (`closed`), and after the one advised, done in its hours.
pub fn keep_out_until(
    plan: &Plan,
    closed: Option<DateTime<Tz>>,
    spray: &[ProductId],
    advised: Option<&Window>,
) -> Option<DateTime<Tz>> {
    let hours = |product: ProductId| plan[product].re_entry;
    let ahead = advised.map(|window| re_entry(window.to, spray.iter().copied().filter_map(hours)));
    let waits = spray.iter().any(|product| hours(*product).is_some());
    closed.into_iter().chain(ahead.filter(|_| waits)).max()
}

/// Returns the first day on which fruit may be picked: after the sprays already done, and after the one advised; never
/// before people may go in again.
pub fn pick_not_before(
    plan: &Plan,
    facts: &TreeFacts<'_>,
    spray: &[ProductId],
    advised: Option<&Window>,
    keep_out: Option<DateTime<Tz>>,
) -> Option<NaiveDate> {
    let days = |product: ProductId| plan[product].before_harvest;
    let today = facts.as_of.date_naive();
    let rows = facts.grove.log.of_tree(facts.tree).filter(|row| row.end <= facts.as_of);
    let done = rows.filter_map(|row| first_picking_of(plan, facts.grove, row));
    // A window that ends at midnight is one of the day before.
    let on = advised.map_or(today, |window| (window.to - chrono::Duration::minutes(1)).date_naive());
    let ahead = spray.iter().copied().filter_map(days).map(|wait| first_picking(on, wait));
    let on_record = done.filter(|day| *day > today || keep_out.is_some());
    picking(on_record.chain(ahead).max(), keep_out)
}

/// Returns the last day on which a spray leaves the days before harvest that its labels ask for.
pub fn last_day(plan: &Plan, facts: &TreeFacts<'_>, spray: &Spray) -> Option<NaiveDate> {
    let harvest = facts.grove.harvest(facts.tree)?;
    let longest = spray.iter().filter_map(|(product, _)| plan[*product].before_harvest).reduce(f64::max)?;
    harvest.checked_sub_days(Days::new(longest.ceil().max(0.0) as u64))
}
