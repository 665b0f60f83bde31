//! What a grower should look at twice before it is stored: a stage that goes backwards, a share that leaps, a day long ago.
//!
//! Comes in: what was noted, and what was seen before. Goes out: doubts to be asked about; none of them is an error. The
//! limits below are this program's own, wide enough for a week of bloom; common practice, not published figures.

use super::apart::apart;
use super::note::{DayDoubt, Noted, NotedValue, TypedDay};
use super::value::SeenValue;
use super::{Grove, Sighting};
use crate::plan::{Kind, NameId, Plan};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A share that changes by so much …
const LEAP: f64 = 0.5;
/// … within so many days is asked about.
const LEAP_DAYS: i64 = 3;
/// A count or a length that grows to more than so many times itself, or shrinks to less than its half, …
const TIMES: f64 = 4.0;
/// … within so many days is asked about, and counts only from this many on.
const TIMES_DAYS: i64 = 7;
/// See [`TIMES_DAYS`].
const FEW: f64 = 5.0;
/// So much rain in a day, in millimetres, is asked about: it may be a slip of the point.
const MUCH_RAIN: f64 = 150.0;

/// Something that does not follow from what was seen before.
#[derive(Clone, PartialEq, Debug)]
pub struct Doubt {
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// Why one should look twice.
    pub why: Unlikely,
}

/// Why one should look twice.
#[derive(Clone, PartialEq, Debug)]
pub enum Unlikely {
    /// A stage that lies before an earlier one.
    Backwards(NameId, SeenValue, Sighting),
    /// A value that lies far from the one before.
    Leap(NameId, SeenValue, Sighting),
    /// Two observations that would both count, and do not go together.
    Apart((NameId, Sighting), (NameId, Sighting)),
    /// Rain that was typed with a comma, as it was read.
    Comma(String),
    /// Very much rain.
    Rain(f64),
    /// A day that may be another.
    Day(NaiveDate, DayDoubt),
}

/// Returns what is to be asked about, of a grove as it is and as it would stand with the notes.
pub fn doubts(noted: &[Noted], (grove, after): (&Grove, &Grove), plan: &Plan) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = Vec::new();
    let today = grove.as_of.date_naive();
    let days: BTreeMap<NaiveDate, DayDoubt> = noted
        .iter()
        .filter_map(|it| Some((it.day, TypedDay { date: it.day, year: it.year }.doubt(today)?)))
        .collect();
    let asked = days.into_iter().map(|(day, why)| Unlikely::Day(day, why));
    doubts.extend(asked.map(|why| Doubt { trees: Vec::new(), why }));
    for rain in noted.iter().filter_map(|it| it.rain.as_ref()).filter(|rain| rain.depth > MUCH_RAIN) {
        doubts.push(Doubt { trees: Vec::new(), why: Unlikely::Rain(rain.depth) });
    }
    for rain in noted.iter().filter_map(|it| it.rain.as_ref()).filter(|rain| rain.comma) {
        doubts.push(Doubt { trees: Vec::new(), why: Unlikely::Comma(rain.written.clone()) });
    }
    for (day, tree, value) in latest(noted, plan) {
        let Some(before) = before(grove, tree, value, day) else { continue };
        let Some(why) = unlikely(value, before, day, plan) else { continue };
        of_tree(&mut doubts, tree, why);
    }
    for (tree, one, other) in apart(noted, after, plan) {
        of_tree(&mut doubts, tree, Unlikely::Apart(one, other));
    }
    doubts
}

/// Adds a tree to those of which the same is to be asked.
fn of_tree(doubts: &mut Vec<Doubt>, tree: usize, why: Unlikely) {
    let same = |a: &Sighting, b: &Sighting| (a.on, &a.value) == (b.on, &b.value);
    let alike = |doubt: &&mut Doubt| match (&doubt.why, &why) {
        (Unlikely::Backwards(a, now, then), Unlikely::Backwards(b, other, earlier))
        | (Unlikely::Leap(a, now, then), Unlikely::Leap(b, other, earlier)) => {
            (a, now) == (b, other) && same(then, earlier)
        }
        (Unlikely::Apart(a, share), Unlikely::Apart(b, other)) => {
            (a.0, share.0) == (b.0, other.0) && same(&a.1, &b.1) && same(&share.1, &other.1)
        }
        _ => false,
    };
    match doubts.iter_mut().find(alike) {
        Some(doubt) if doubt.trees.contains(&tree) => {}
        Some(doubt) => doubt.trees.push(tree),
        None => doubts.push(Doubt { trees: vec![tree], why }),
    }
}

/// Whether a value is of a group of panicles, how far it reaches, and the value.
type ValueReach<'n> = (bool, Option<f64>, &'n NotedValue);

/// Returns for each day, tree and name the value that reaches furthest: of several groups of panicles the most advanced.
fn latest<'n>(noted: &'n [Noted], plan: &Plan) -> Vec<(NaiveDate, usize, &'n NotedValue)> {
    let mut found: BTreeMap<(NaiveDate, usize, NameId), ValueReach<'_>> = BTreeMap::new();
    for note in noted {
        for value in &note.values {
            let reaches = value.value.ends().map(|(_, high)| high);
            for tree in &note.place.trees {
                let now = (note.share.is_some(), reaches, value);
                let entry = found.entry((note.day, *tree, value.name)).or_insert(now);
                // A later note corrects an earlier one, but for another group of the same note.
                if !(now.0 && entry.0) || reaches > entry.1 {
                    *entry = now;
                }
            }
        }
    }
    let unordered = |name: NameId| matches!(plan[name].kind, Kind::Words(list) if !plan[list].ordered);
    found
        .into_iter()
        .filter(|((_, _, name), _)| !unordered(*name))
        .map(|((day, tree, _), (_, _, value))| (day, tree, value))
        .collect()
}

/// Returns what was seen before: of several groups of panicles the least advanced.
fn before(grove: &Grove, tree: usize, value: &NotedValue, day: NaiveDate) -> Option<Sighting> {
    let groups = grove.groups(tree).len();
    let of_groups = (0..groups).filter_map(|group| grove.seen_in_group(tree, group, value.name));
    let least = of_groups.min_by(|a, b| {
        let low = |sighting: &Sighting| sighting.value.ends().map_or(0.0, |(low, _)| low);
        low(a).total_cmp(&low(b))
    });
    least.filter(|sighting| sighting.on <= day)
}

fn unlikely(value: &NotedValue, before: Sighting, day: NaiveDate, plan: &Plan) -> Option<Unlikely> {
    let (low, high) = value.value.ends()?;
    let (low_before, high_before) = before.value.ends()?;
    let days = (day - before.on).num_days();
    let leap = |leaps: bool| leaps.then(|| Unlikely::Leap(value.name, value.value.clone(), before.clone()));
    match plan[value.name].kind {
        Kind::Words(_) if high < low_before => {
            Some(Unlikely::Backwards(value.name, value.value.clone(), before))
        }
        Kind::Share => {
            let far = (low - high_before).max(low_before - high);
            leap(days <= LEAP_DAYS && far >= LEAP - 1e-9)
        }
        Kind::Count => leap(days <= TIMES_DAYS && far_apart((low, high), (low_before, high_before), FEW)),
        Kind::Quantity(_) => {
            leap(days <= TIMES_DAYS && far_apart((low, high), (low_before, high_before), 0.0))
        }
        Kind::Words(_)
        | Kind::YesNo
        | Kind::Text
        | Kind::Number
        | Kind::Temperature
        | Kind::Date
        | Kind::Clock => None,
    }
}

fn far_apart((low, high): (f64, f64), (low_before, high_before): (f64, f64), few: f64) -> bool {
    let grows = low > high_before * TIMES && low > few;
    let shrinks = high < low_before / 2.0 && low_before > few;
    (grows && high_before > 0.0) || shrinks
}
