//! Means, extremes and totals of hours or days, some of which may be in doubt.

use super::Extent;
use super::series::{Reach, Taken};
use crate::plan::Statistic;

/// One hour or day that takes part, or may.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Member {
    pub(super) taken: Taken,
    /// Whether it takes part for certain.
    pub(super) certain: bool,
}

/// What a statistic comes to.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Summed {
    /// What it can be; nothing where no value is there to take it from, though there should be.
    pub(super) extent: Option<Extent>,
    /// How many values were not there.
    pub(super) lost: i64,
}

/// A base unit in the whole parts in which values are added, so that sums are exact.
pub(super) const PARTS: f64 = 1e12;

/// Returns a value in whole parts, nothing where it has no end.
pub(super) fn parts(value: f64) -> Option<i128> {
    // Larger values than this have no meaning in any unit, and would not fit when added.
    (value.abs() < 1e21).then(|| libm::rint(value * PARTS) as i128)
}

/// Takes a statistic. A mean, a lowest and a highest are taken from what is there; a total is that of all values,
/// bounded where those that are not there are.
pub(super) fn statistic(which: Statistic, members: &[Member]) -> Summed {
    let there = |member: &&Member| !member.taken.extent.is_empty();
    let missing = |member: &Member| member.taken.reach != Reach::Sound;
    let endless = |member: &Member| {
        member.taken.extent.ends().is_some_and(|(low, high)| low.is_infinite() && high.is_infinite())
    };
    let leave_out = |member: &Member| missing(member) && (which != Statistic::Total || endless(member));
    let lost = members.iter().filter(there).filter(|member| leave_out(member)).count() as i64;
    let values: Vec<Ends> = members
        .iter()
        .filter(there)
        .filter(|member| !leave_out(member))
        .filter_map(|member| {
            let (low, high) = member.taken.extent.ends()?;
            Some(Ends { low, high, certain: member.certain && !member.taken.extent.may_be_empty })
        })
        .collect();
    let extent = match which {
        Statistic::Total => Some(total(&values)),
        _ if values.is_empty() => (lost == 0).then_some(Extent::EMPTY),
        Statistic::Mean => Some(mean(&values)),
        Statistic::Lowest => Some(extreme(&values, true)),
        Statistic::Highest => Some(extreme(&values, false)),
    };
    Summed { extent, lost }
}

#[derive(Clone, Copy)]
struct Ends {
    low: f64,
    high: f64,
    certain: bool,
}

/// Adds values exactly.
#[derive(Clone, Copy, Default)]
pub(super) struct Sum {
    whole: i128,
    endless: f64,
}

impl Sum {
    pub(super) fn add(&mut self, value: f64) {
        match parts(value) {
            Some(parts) => self.whole = self.whole.saturating_add(parts),
            None => self.endless += value,
        }
    }

    pub(super) fn over(self, count: f64) -> f64 {
        (self.whole as f64 / (PARTS * count)) + self.endless / count
    }
}

fn total(values: &[Ends]) -> Extent {
    let (mut low, mut high) = (Sum::default(), Sum::default());
    for value in values {
        low.add(if value.certain { value.low } else { value.low.min(0.0) });
        high.add(if value.certain { value.high } else { value.high.max(0.0) });
    }
    Extent::between(low.over(1.0), high.over(1.0))
}

/// Returns the lowest of the values, whichever of those in doubt take part, as its least and its greatest value.
fn lowest(values: &[Ends]) -> Option<(f64, f64, bool)> {
    let outermost = values.iter().map(|ends| ends.low).reduce(f64::min)?;
    let certain = values.iter().filter(|ends| ends.certain).map(|ends| ends.high).reduce(f64::min);
    let innermost = certain.or_else(|| values.iter().map(|ends| ends.high).reduce(f64::max))?;
    Some((outermost, innermost, certain.is_none()))
}

fn extreme(values: &[Ends], lowest_of_all: bool) -> Extent {
    let turned: Vec<Ends> =
        values.iter().map(|ends| Ends { low: -ends.high, high: -ends.low, ..*ends }).collect();
    let found = if lowest_of_all {
        lowest(values)
    } else {
        lowest(&turned).map(|(low, high, may_be_empty)| (-low, -high, may_be_empty))
    };
    let Some((low, high, may_be_empty)) = found else { return Extent::EMPTY };
    let extent = Extent::between(low, high);
    if may_be_empty { extent.or_empty() } else { extent }
}

/// Returns the mean, whichever of the values in doubt take part: one takes part in the greatest mean if it lies
/// above the mean of those that do.
fn mean(values: &[Ends]) -> Extent {
    let certain = values.iter().filter(|ends| ends.certain).count();
    let bound = |end: fn(&Ends) -> f64, sign: f64| {
        let mut sum = Sum::default();
        values.iter().filter(|ends| ends.certain).for_each(|ends| sum.add(end(ends)));
        let mut count = certain as f64;
        let mut doubtful: Vec<f64> = values.iter().filter(|ends| !ends.certain).map(end).collect();
        doubtful.sort_by(|a, b| (sign * b).total_cmp(&(sign * a)));
        for value in doubtful {
            if count > 0.0 && sign * value <= sign * sum.over(count) {
                break;
            }
            sum.add(value);
            count += 1.0;
        }
        sum.over(count.max(1.0))
    };
    let extent = Extent::between(bound(|ends| ends.low, -1.0), bound(|ends| ends.high, 1.0));
    if certain == 0 { extent.or_empty() } else { extent }
}
