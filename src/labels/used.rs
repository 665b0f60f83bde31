//! What was used before a spray, as far as a line of a label counts it: each earlier spray is looked at once.

use crate::grove::{Counting, Grove, SprayRow};
use crate::plan::{Plan, Sprayed};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

/// What a line counts of the sprays of a tree, kept from one spray to the next.
#[derive(Clone, Debug, Default)]
pub struct Used {
    /// The day from which it counts.
    from: Option<NaiveDate>,
    /// How many of the sprays were looked at, or are of an earlier day.
    done: usize,
    /// The last tank with what is counted.
    last: Option<(DateTime<Tz>, DateTime<Tz>)>,
    tanks: u32,
    amount: f64,
    /// Whether the amount of one of them is not known.
    is_unknown: bool,
}

impl Used {
    /// Returns the day of the last spray that had something in the tank.
    pub fn last_day(&mut self, before: &[&SprayRow], what: &Sprayed, plan: &Plan) -> Option<NaiveDate> {
        self.count_tanks(None, before, what, plan);
        self.last.map(|(_, end)| end.date_naive())
    }

    /// Returns how many sprays since a day had something in the tank.
    pub fn sprays(&mut self, from: NaiveDate, before: &[&SprayRow], what: &Sprayed, plan: &Plan) -> u32 {
        self.count_tanks(Some(from), before, what, plan);
        self.tanks
    }

    /// Returns how much of something was put on the area of a tree since a day; nothing where that is not known.
    pub fn amount(
        &mut self,
        from: NaiveDate,
        before: &[&SprayRow],
        (what, tree): (Counting<'_>, usize),
        (plan, grove): (&Plan, &Grove),
    ) -> Option<f64> {
        self.count(Some(from), before, |used, row| match grove.amount_put(row, tree, what, plan) {
            Ok(more) => used.amount += more,
            Err(_) => used.is_unknown = true,
        });
        (!self.is_unknown).then_some(self.amount)
    }

    fn count_tanks(&mut self, from: Option<NaiveDate>, before: &[&SprayRow], what: &Sprayed, plan: &Plan) {
        self.count(from, before, |used, row| {
            let tank = Some((row.start, row.end));
            if used.last != tank && row.holds(what, plan) {
                (used.last, used.tanks) = (tank, used.tanks + 1);
            }
        });
    }

    /// Counts the sprays that were not counted yet; from another day on, all of them anew.
    fn count(
        &mut self,
        from: Option<NaiveDate>,
        before: &[&SprayRow],
        mut add: impl FnMut(&mut Self, &SprayRow),
    ) {
        if self.from != from {
            let done = before.partition_point(|row| Some(row.day()) < from);
            *self = Self { from, done, ..Self::default() };
        }
        for row in before.get(self.done..).unwrap_or_default() {
            add(self, row);
        }
        self.done = self.done.max(before.len());
    }
}
