//! Where in all situations something is so, in the values that a name has there.

use super::variables::FAR;
use crate::measure::{Extent, Possible};
use crate::plan::{Bound, Compare, Kind, NameId, Plan, Subject, each_test_of_a_tree, number_in};
use crate::units::{Dimension, Threshold, Unit, clean};
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeSet;

/// A run of values of a name: between ends that count or do not, or words.
#[derive(Clone, PartialEq, Debug)]
pub struct Run {
    /// The lower end in words, and whether it counts.
    pub from: Option<(String, bool)>,
    /// The upper end in words, and whether it counts.
    pub to: Option<(String, bool)>,
    /// What has no ends: one word, or that there is no such value.
    pub is: Option<String>,
    /// The values themselves, piece by piece; thresholds are pieces of their own.
    pieces: Vec<Extent>,
    /// Of dates that are compared with days of the year alone those days, as month and day: they are told of every year.
    days: Option<BTreeSet<(u32, u32)>>,
}

/// A name with the values that it has in a region.
#[derive(Clone, PartialEq, Debug)]
pub struct Where {
    /// The name.
    pub name: String,
    /// The rulebook that the name is of: 0 the old one, 1 the new one.
    pub book: usize,
    /// Its values.
    pub runs: Vec<Run>,
    /// The same as the other rulebook reads it, where that knows other texts.
    pub other: Option<Box<Where>>,
    /// Whether the other rulebook defines a name of the same word otherwise, so that it must be said of which one this is.
    pub is_redefined: bool,
}

impl Where {
    /// Returns whether all that a name can be is among its values here.
    pub fn has(&self, extent: Extent) -> bool {
        self.runs.iter().any(|run| run.has(extent))
    }
}

impl Run {
    fn has(&self, extent: Extent) -> bool {
        let can_be_empty = self.pieces.iter().any(|piece| piece.is_empty());
        if extent.may_be_empty && !can_be_empty {
            return false;
        }
        match extent.can_be {
            Possible::Nothing => true,
            Possible::Numbers(low, high) if self.days.is_some() => {
                let days = days_from(low, high);
                self.days.as_ref().is_some_and(|own| days.is_some_and(|days| days.is_subset(own)))
            }
            Possible::Numbers(low, high) => {
                let ends: Vec<(f64, f64)> = self.pieces.iter().filter_map(|piece| piece.ends()).collect();
                let least = ends.iter().map(|(low, _)| *low).fold(f64::INFINITY, f64::min);
                let most = ends.iter().map(|(_, high)| *high).fold(f64::NEG_INFINITY, f64::max);
                least <= low && high <= most
            }
            Possible::Words(set) => set & !self.pieces.iter().fold(0, |all, it| all | it.word_set()) == 0,
            Possible::Text(_) | Possible::AnyText => {
                self.pieces.iter().any(|piece| piece.can_be == extent.can_be)
            }
        }
    }
}

/// Returns runs without those of which another has all days of the year: they are the same in another year.
pub(crate) fn distinct(runs: Vec<Run>) -> Vec<Run> {
    let is_told = |at: usize, run: &Run| {
        let Some(days) = &run.days else { return false };
        runs.iter().enumerate().any(|(other, it)| {
            let within = it.days.as_ref().is_some_and(|it| days.is_subset(it) && (days != it || other < at));
            other != at && within
        })
    };
    let kept = runs.iter().enumerate().filter(|(at, run)| !is_told(*at, run));
    kept.map(|(_, run)| run.clone()).collect()
}

/// Returns the days of the year from one date to another, as month and day; nothing where these are no dates, or years apart.
fn days_from(low: f64, high: f64) -> Option<BTreeSet<(u32, u32)>> {
    let first = NaiveDate::from_num_days_from_ce_opt(low as i32)?;
    (high - low < 800.0).then(|| {
        let days = first.iter_days().take((high - low) as usize + 1);
        days.map(|day| (day.month(), day.day())).collect()
    })
}

/// The thresholds of a name, each with the unit in which an author wrote it.
pub(crate) type Written = Vec<(Threshold, Unit)>;

/// Adds the thresholds with which a rulebook compares names to the lists of the variables that these are, each once.
pub(crate) fn written(plan: &Plan, variable: &dyn Fn(NameId) -> Option<u16>, lists: &mut [Written]) {
    each_test_of_a_tree(plan, &mut |test| {
        let Subject::Name(name) = test.subject else { return };
        let Some(list) = variable(name).and_then(|at| lists.get_mut(usize::from(at))) else { return };
        bounds(&test.compare, &mut |bound| {
            if !list.iter().any(|(at, unit)| *at == bound.at && *unit == bound.unit) {
                list.push((bound.at, bound.unit.clone()));
            }
        });
    });
}

pub(crate) fn bounds(compare: &Compare, add: &mut dyn FnMut(&Bound)) {
    match compare {
        Compare::Numbers { low, high } => low.iter().chain(high).for_each(add),
        Compare::NumberIsOneOf(list) => list.iter().for_each(add),
        Compare::Not(inner) => bounds(inner, add),
        Compare::Words(_) | Compare::Texts(_) | Compare::DaysOfYear(..) | Compare::Name(..) => {}
    }
}

/// What a name is called and compared with.
pub(crate) struct Named<'a> {
    /// The name.
    pub(crate) name: NameId,
    /// Its thresholds.
    pub(crate) written: &'a Written,
    /// The text that each of its pieces is; nothing where it is none that a rulebook knows.
    pub(crate) texts: &'a dyn Fn(u16) -> Option<&'a str>,
}

/// Returns a run of a name's pieces, from one to another, in words: its ends as an author wrote them.
pub(crate) fn run(
    plan: &Plan,
    named: &Named<'_>,
    extents: &[Extent],
    whole: bool,
    first: u16,
    last: u16,
) -> Run {
    let name = named.name;
    let at = |place: u16| extents.get(usize::from(place)).copied();
    let pieces: Vec<Extent> = (first..=last).filter_map(at).collect();
    // The piece for empty is the last one.
    let until = match at(last) {
        Some(extent) if extent.is_empty() && last > first => last - 1,
        _ => last,
    };
    let (Some(low), Some(high)) = (at(first), at(until)) else {
        return Run { from: None, to: None, is: None, pieces, days: None };
    };
    if low.is_empty() {
        return Run { from: None, to: None, is: Some("empty".to_owned()), pieces, days: None };
    }
    if let (Some((from, _)), Some((_, to))) = (low.ends(), high.ends()) {
        // What is compared with days of the year alone is so in every year.
        if plan[name].kind == Kind::Date && named.written.is_empty() && from.is_finite() && to.is_finite() {
            let day = |number: f64| {
                let date = NaiveDate::from_num_days_from_ce_opt(number as i32);
                date.map(|date| (date.format("%-d %b").to_string(), true))
            };
            return Run { from: day(from), to: day(to), is: None, pieces, days: days_from(from, to) };
        }
        let is_point = |extent: Extent| extent.ends().is_some_and(|(a, b)| a == b);
        let words = |number: f64| match named.written.iter().find(|(at, _)| at.is_by(number)) {
            Some((at, unit)) => number_in(plan[name].kind, unit, at.value()),
            None => plan.number_of(name, in_unit(plan, name, number)),
        };
        // What is longer ago than any day that is known has no end that an author would write.
        let is_far = |number: f64| plan[name].kind == Kind::Quantity(Dimension::TIME) && number >= FAR;
        if is_far(from) {
            return Run { from: None, to: None, is: Some("longer than any".to_owned()), pieces, days: None };
        }
        let is_end = |number: f64| number.is_finite() && !is_far(number);
        let end = |number: f64, closed: bool| is_end(number).then(|| (words(number), closed || whole));
        return Run {
            from: end(from, is_point(low) || first == 0),
            to: end(to, is_point(high) || usize::from(until) + 1 == extents.len()),
            is: None,
            pieces,
            days: None,
        };
    }
    let word = |place: u16| match at(place).map(|extent| extent.can_be) {
        Some(Possible::Words(set)) => plan.word_of(name, set.trailing_zeros() as u16),
        Some(Possible::Text(text)) => {
            let known = plan.texts.get(text.0 as usize).map_or("any other", |text| &**text);
            (named.texts)(place).unwrap_or(known).to_owned()
        }
        _ => "any".to_owned(),
    };
    if first == until {
        return Run { from: None, to: None, is: Some(word(first)), pieces, days: None };
    }
    if plan.is_ordered(name) {
        return Run {
            from: Some((word(first), true)),
            to: Some((word(until), true)),
            is: None,
            pieces,
            days: None,
        };
    }
    let all: Vec<String> = (first..=until).map(word).collect();
    Run { from: None, to: None, is: Some(all.join(", ")), pieces, days: None }
}

/// Returns an end without the little that a piece stays inside of its threshold.
fn in_unit(plan: &Plan, name: NameId, number: f64) -> f64 {
    let of = &plan[name];
    let point = of.kind == Kind::Temperature;
    let shown = if point { of.unit.point_from_base(number) } else { of.unit.amount_from_base(number) };
    let round = clean((shown * 1e4).round() / 1e4);
    if point { of.unit.point_to_base(round) } else { of.unit.amount_to_base(round) }
}
