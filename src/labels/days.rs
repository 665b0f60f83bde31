//! Days and times that labels set: when people may go back in, when fruit may be picked, when the next spray is allowed, up
//! to which day a spray leaves time enough before the harvest.

use crate::grove::{Grove, SprayRow};
use crate::plan::{Plan, ProductId};
use crate::tables::read_stamp;
use crate::units::Threshold;
use chrono::{DateTime, Days, Duration, NaiveDate};
use chrono_tz::Tz;

/// How long labels ask people to keep out, and fruit to hang, after a spray: of all labels the longest.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Waits {
    /// Hours until people may go back in; nothing where no label gives a time.
    pub re_entry: Option<f64>,
    /// Days before harvest; nothing where no label gives a number.
    pub before_harvest: Option<f64>,
}

impl Waits {
    /// Returns what the labels of products ask for.
    pub fn of(plan: &Plan, products: impl IntoIterator<Item = ProductId>) -> Self {
        let each = products.into_iter().filter_map(|id| plan.products.get(id.index()));
        each.fold(Self::default(), |all, it| all.longer(it.re_entry, it.before_harvest))
    }

    /// Returns what the labels ask for of what a logged spray was made of, those of the rulebook and of the jugs.
    pub fn of_row(plan: &Plan, grove: &Grove, row: &SprayRow) -> Self {
        let book = Self::of(plan, row.parts.iter().filter_map(|part| part.product));
        let jugs = row.parts.iter().filter_map(|part| grove.shed.get(part.jug?));
        jugs.fold(book, |all, jug| all.longer(jug.label.re_entry, jug.label.before_harvest))
    }

    fn longer(self, re_entry: Option<f64>, before_harvest: Option<f64>) -> Self {
        let longer = |one: Option<f64>, other: Option<f64>| one.into_iter().chain(other).reduce(f64::max);
        Self {
            re_entry: longer(self.re_entry, re_entry),
            before_harvest: longer(self.before_harvest, before_harvest),
        }
    }

    /// Returns when people may go in after a spray that ended so.
    pub fn keep_out(self, end: DateTime<Tz>) -> Option<DateTime<Tz>> {
        self.re_entry.map(|hours| re_entry(end, hours))
    }

    /// Returns the first day on which fruit may be picked after a spray of a day, by the days before harvest alone.
    pub fn first_picking(self, day: NaiveDate) -> Option<NaiveDate> {
        self.before_harvest.map(|days| first_picking(day, days))
    }
}

/// Returns when people may go in after a logged spray; nothing where neither the rulebook nor a jug gives a time. Of both
/// the longer counts.
pub fn re_entry_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<DateTime<Tz>> {
    // The jug may have left the shed since: what the row keeps counts too.
    let kept = row.fields.get("keep-out-until").and_then(|text| read_stamp(text)?.moment());
    let kept = kept.map(|kept| kept.with_timezone(&row.end.timezone()));
    Waits::of_row(plan, grove, row).keep_out(row.end).into_iter().chain(kept).max()
}

/// Returns the first day on which fruit may be picked after a logged spray, never before people may go in; nothing where
/// neither the rulebook nor a jug gives a number of days. Of both the longer counts.
pub fn first_picking_of(plan: &Plan, grove: &Grove, row: &SprayRow) -> Option<NaiveDate> {
    let kept = row.fields.get("pick-not-before").and_then(|text| text.parse().ok());
    let by_days = Waits::of_row(plan, grove, row).first_picking(row.day()).into_iter().chain(kept).max();
    picking(by_days, re_entry_of(plan, grove, row))
}

/// Returns when people may go in again to all trees of a logged spray, and the first day on which their fruit may be picked:
/// after it, after those before it that still count, and after those that were put on while people were kept out.
pub fn open_after(plan: &Plan, grove: &Grove, row: &SprayRow) -> (Option<DateTime<Tz>>, Option<NaiveDate>) {
    let trees = row.trees(&grove.trees);
    let rows: Vec<&SprayRow> = trees.iter().flat_map(|tree| grove.log.of_tree(*tree)).collect();
    let (earlier, mut later): (Vec<_>, Vec<_>) = rows.into_iter().partition(|it| it.end <= row.end);
    let entry = |it: &SprayRow| re_entry_of(plan, grove, it);
    let entries = earlier.iter().filter_map(|it| entry(it)).filter(|until| *until > row.end);
    let mut keep_out = entry(row).into_iter().chain(entries).max();
    later.sort_by_key(|it| it.end);
    later.retain(|it| {
        let is_closed = keep_out.is_some_and(|until| it.end <= until);
        if is_closed {
            keep_out = keep_out.max(entry(it));
        }
        is_closed
    });
    let picks = earlier.iter().chain(&later).filter_map(|it| first_picking_of(plan, grove, it));
    (keep_out, picking_after_all(picks, first_picking_of(plan, grove, row), keep_out, row.day()))
}

/// Returns the first day on which fruit may be picked after sprays on record, of which those count that bar picking beyond a
/// day, and after one of that day.
pub fn picking_after_all(
    on_record: impl Iterator<Item = NaiveDate>,
    ahead: Option<NaiveDate>,
    keep_out: Option<DateTime<Tz>>,
    today: NaiveDate,
) -> Option<NaiveDate> {
    picking(on_record.filter(|day| *day > today).chain(ahead).max(), keep_out)
}

/// Returns when people may go back in, so many elapsed hours from the end of the spray. The clocks may change in between.
pub fn re_entry(end: DateTime<Tz>, hours: f64) -> DateTime<Tz> {
    let seconds = steps(&Threshold::of_hours(hours.min(1e6)), 1.0 / 3600.0, true);
    end.checked_add_signed(Duration::seconds(seconds)).unwrap_or(end)
}

/// Returns the first day on which fruit may be picked: the day of the spray and the days before harvest, counted as
/// calendar days. A part of a day counts as a day.
pub fn first_picking(spray: NaiveDate, before_harvest: f64) -> NaiveDate {
    passed(spray, &Threshold::of_hours(before_harvest * DAY), true)
}

/// Returns the first day on which fruit may be picked by both: the label's days before harvest, and the day on which people
/// may go in again. Where no label gives days before harvest, there is none.
pub fn picking(by_days: Option<NaiveDate>, re_entry: Option<DateTime<Tz>>) -> Option<NaiveDate> {
    let entry = re_entry.map(|until| until.date_naive());
    by_days.map(|day| entry.map_or(day, |entry| day.max(entry)))
}

/// Returns the last day on which a spray leaves the days before harvest that its labels ask for.
pub fn last_day(harvest: NaiveDate, waits: Waits) -> Option<NaiveDate> {
    let days = whole_days(&Threshold::of_hours(waits.before_harvest? * DAY), true);
    harvest.checked_sub_days(days)
}

/// Hours of a day on the calendar.
const DAY: f64 = 24.0;

/// Returns the first day that is so long after another, counted as calendar days, or longer where that itself does not count.
pub fn passed(day: NaiveDate, least: &Threshold, on_counts: bool) -> NaiveDate {
    day.checked_add_days(whole_days(least, on_counts)).unwrap_or(day)
}

fn whole_days(least: &Threshold, on_counts: bool) -> Days {
    Days::new(steps(least, DAY, on_counts).min(100_000).unsigned_abs())
}

/// Returns how many steps of so many hours reach a duration.
fn steps(least: &Threshold, step: f64, on_counts: bool) -> i64 {
    let whole = libm::floor(least.value() / step).max(0.0);
    if least.is_reached_by(whole * step, on_counts) { whole as i64 } else { whole as i64 + 1 }
}
