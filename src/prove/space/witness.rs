//! A situation in words that a person would recognise: round numbers inside a cell, and only the names that matter.

use super::Space;
use super::build::RootMeanings;
use super::compute;
use super::numbers::Numbers;
use super::variables::FAR;
use crate::measure::{Extent, Possible};
use crate::plan::{Datum, ExprNode, Kind, Name, NameId, Origin, Plan, TakenValue};
use crate::units::clean;
use chrono::NaiveDate;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// A situation that shows something.
#[derive(Clone, PartialEq, Default, Debug)]
pub struct Witness {
    /// The values of the names that matter.
    pub values: BTreeMap<String, Value>,
    /// What several of them come from: no weather or log may allow them together. Empty: it can be seen.
    pub shared: Vec<String>,
}

/// Returns a situation in words, as far as names of a rulebook matter to it.
pub fn witness(space: &Space<'_>, book: usize, situation: &[u16], names: &BTreeSet<NameId>) -> Witness {
    let plan = space.books[book].plan;
    let mut values = BTreeMap::new();
    let mut from: BTreeMap<&str, BTreeSet<u16>> = BTreeMap::new();
    let mut shown: BTreeSet<NameId> = BTreeSet::new();
    for name in names {
        shown.insert(*name);
        // Of a name that is computed its roots are what a person can see.
        if !matches!(plan[*name].origin, Origin::Band(_)) {
            shown.extend(roots_with_names(space, book, *name));
        }
    }
    let numbers = Numbers::of(space, book, situation, &shown);
    for name in &shown {
        let Some(value) = value_of(space, book, situation, *name, &numbers) else { continue };
        values.insert(plan[*name].word.to_string(), value);
        if let Some(variable) = space.variable(book, *name)
            && let Some(of) = space.variables.get(usize::from(variable))
        {
            of.from.iter().for_each(|source| {
                from.entry(source).or_default().insert(variable);
            });
        }
    }
    let shared = from.into_iter().filter(|(_, variables)| variables.len() > 1);
    let mut shared: BTreeSet<String> = shared.map(|(source, _)| source.to_owned()).collect();
    // What no numbers were found for may not be: its names come from the same.
    for name in shown.intersection(&numbers.missed) {
        let roots = roots_with_names(space, book, *name);
        shared.extend(roots.into_iter().map(|root| plan[root].word.to_string()));
    }
    Witness { values, shared: shared.into_iter().collect() }
}

/// Returns the names of the roots of a name.
fn roots_with_names(space: &Space<'_>, book: usize, name: NameId) -> Vec<NameId> {
    let rooted = &space.rooted[book];
    let meanings: BTreeSet<_> = rooted.roots(name).into_keys().collect();
    let named = rooted.plan.named().filter(|(id, of)| {
        !of.hidden && meanings.contains(&rooted.definitions.name(*id)) && space.read(book, *id).is_some()
    });
    named.map(|(id, _)| id).filter(|id| space.read(book, *id).is_some()).collect()
}

/// Returns the value of a name in a situation, as `values` are written.
fn value_of(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    name: NameId,
    numbers: &Numbers,
) -> Option<Value> {
    let variable = space.variable(book, name).filter(|_| space.books[book].plan[name].kind == Kind::Text);
    let piece = variable.and_then(|it| Some((it, situation.get(usize::from(it)).copied()?)));
    if let Some(text) = piece.and_then(|(variable, piece)| space.text(variable, piece)) {
        return Some(json!({ "value": text }));
    }
    let (extent, whole) = extent_with(space, book, situation, name, numbers)?;
    Some(json(space.books[book].plan, name, extent, whole))
}

/// Returns what a worked example takes a name for in a situation; nothing where it need not or cannot say so: a time
/// longer than any, a text that the rulebook does not know.
pub(crate) fn taken_value(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    name: NameId,
) -> Option<TakenValue> {
    let plan = space.books[book].plan;
    let (extent, whole) = extent_of(space, book, situation, name)?;
    Some(match extent.can_be {
        Possible::Nothing => TakenValue::Empty,
        Possible::Words(set) => TakenValue::One(Datum::Word(set.trailing_zeros() as u16)),
        Possible::Text(text) => {
            plan.texts.get(text.0 as usize)?;
            TakenValue::One(Datum::Text(text))
        }
        Possible::AnyText => return None,
        Possible::Numbers(..) => TakenValue::One(Datum::Number(number_in(plan, name, extent, whole)?)),
    })
}

/// Returns what a name can be in a situation, and whether only whole numbers are meant.
pub(crate) fn extent_of(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    name: NameId,
) -> Option<(Extent, bool)> {
    extent_with(space, book, situation, name, &Numbers::default())
}

/// Returns what a name can be in a situation whose numbers are chosen.
fn extent_with(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    name: NameId,
    numbers: &Numbers,
) -> Option<(Extent, bool)> {
    let rooted = &space.rooted[book];
    let plan = rooted.plan;
    if let Some(levels) = space.bands.get(book).and_then(|bands| bands.get(&name)) {
        let level = levels.iter().position(|set| space.diagrams.contains(*set, situation))?;
        return Some((Extent::word(level as u16), false));
    }
    let read = space.read(book, name)?;
    let piece = usize::from(situation.get(usize::from(read.variable)).copied()?);
    let extent = read.extents.get(piece).copied()?;
    let variable = space.variables.get(usize::from(read.variable))?;
    let chosen = numbers.root(rooted.definitions.name(name)).or_else(|| numbers.computed(space, book, name));
    if let Some(chosen) = chosen {
        return Some((chosen, variable.whole));
    }
    let (meaning, is_root) = (rooted.definitions.name(name), is_root(space, book, name));
    let first = || plan.named().map(|(id, _)| id).find(|id| rooted.definitions.name(*id) == meaning);
    let owner = variable.name.filter(|(at, _)| *at == book).map(|(_, root)| root);
    let owner = owner.or_else(|| first().filter(|_| is_root));
    if let Some(root) = owner.filter(|root| *root != name)
        && let Some(number) = number_in(plan, root, *variable.pieces.get(piece)?, variable.whole)
    {
        // It is read from its root, or is its root by another name: what the root's value makes of it.
        let number = Extent::number(number);
        let of = rooted.definitions.name(root);
        let at = RootMeanings { rooted, values: &|meaning| (meaning == of).then_some(number) };
        let made = if is_root { number } else { compute::of_name(plan, name, &at) };
        return Some((made, variable.whole));
    }
    Some((extent, variable.whole))
}

fn is_root(space: &Space<'_>, book: usize, name: NameId) -> bool {
    let rooted = &space.rooted[book];
    space.of_meaning.contains_key(&rooted.definitions.name(name))
}

/// Returns what a name can be as `values` are written: of a range a round number.
pub(crate) fn json(plan: &Plan, name: NameId, extent: Extent, whole: bool) -> Value {
    let of = &plan[name];
    match extent.can_be {
        Possible::Nothing => json!({ "empty": "there is no such value" }),
        Possible::Words(set) => json!({ "value": plan.word_of(name, set.trailing_zeros() as u16) }),
        Possible::Text(text) => {
            let word = plan.texts.get(text.0 as usize).map_or("any other", |text| &**text);
            json!({ "value": word })
        }
        Possible::AnyText => json!({ "value": "any" }),
        Possible::Numbers(..) => match number_in(plan, name, extent, whole) {
            None => json!({ "value": "longer than any" }),
            Some(number) if of.kind == Kind::Date => {
                let date = NaiveDate::from_num_days_from_ce_opt(number as i32);
                json!({ "value": date.map_or_else(String::new, |date| date.to_string()) })
            }
            Some(number) => {
                let (number, symbol) = (from_base(of, number), &of.unit.symbol);
                // A whole number is written as one.
                let number = if number.fract() == 0.0 && number.abs() < 1e15 {
                    json!(number as i64)
                } else {
                    json!(number)
                };
                if symbol.is_empty() {
                    json!({ "value": number })
                } else {
                    json!({ "value": number, "unit": &**symbol })
                }
            }
        },
    }
}

/// Returns a round number of an extent in base units; nothing where it is larger than any.
pub(crate) fn number_in(plan: &Plan, name: NameId, extent: Extent, whole: bool) -> Option<f64> {
    let (low, high) = extent.ends()?;
    if low == high {
        return low.is_finite().then_some(low);
    }
    let of = &plan[name];
    // The longest time since a spray is no time that a person would say.
    let is_age =
        matches!(&of.origin, Origin::Measure(it) if matches!(&*it.expr.node, ExprNode::DaysSinceLast(_)));
    let high = if is_age && high >= FAR { f64::INFINITY } else { high };
    if of.kind == Kind::Date || (whole && of.unit.symbol.is_empty()) {
        let (low, high) = near((low, high));
        return Some(libm::ceil(low).max(libm::floor(if of.kind == Kind::Date {
            f64::midpoint(low, high)
        } else {
            round(low, high)
        })));
    }
    let (low, high) = near((from_base_raw(of, low), from_base_raw(of, high)));
    let number = round(low, high);
    let base = to_base(of, number);
    let (from, to) = extent.ends()?;
    Some(if base >= from && base <= to { base } else { to_base(of, f64::midpoint(low, high)) })
}

/// Returns the part of a range in which a person would look: not far from its end, where it has only one.
fn near((low, high): (f64, f64)) -> (f64, f64) {
    let reach = |end: f64| (end.abs() * 0.25).max(10.0);
    match (low.is_finite() && low.abs() < 1e8, high.is_finite() && high.abs() < 1e8) {
        (true, true) => (low, high),
        (true, false) => (low, low + reach(low)),
        (false, true) => (high - reach(high), high),
        (false, false) => (0.0, 10.0),
    }
}

/// Returns the roundest number between two.
fn round(low: f64, high: f64) -> f64 {
    let middle = f64::midpoint(low, high);
    for step in [100.0, 50.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.001, 0.0001] {
        let candidates = [libm::round(middle / step), libm::ceil(low / step), libm::floor(high / step)];
        // Only what is in the range but for the noise of arithmetic is made clean.
        let may_lie = |it: &f64| *it >= low - it.abs() * 1e-10 && *it <= high + it.abs() * 1e-10;
        let near = candidates.into_iter().map(|count| count * step).filter(may_lie);
        let near: Vec<f64> = near.map(clean).collect();
        let inside = near.iter().find(|it| **it > low && **it < high);
        let inside = inside.or_else(|| near.iter().find(|it| **it >= low && **it <= high)).copied();
        if let Some(number) = inside {
            return number;
        }
    }
    middle
}

fn from_base_raw(of: &Name, base: f64) -> f64 {
    if !base.is_finite() {
        base
    } else if of.kind == Kind::Temperature {
        of.unit.point_from_base(base)
    } else {
        of.unit.amount_from_base(base)
    }
}

fn from_base(of: &Name, base: f64) -> f64 {
    clean(from_base_raw(of, base))
}

fn to_base(of: &Name, number: f64) -> f64 {
    if of.kind == Kind::Temperature { of.unit.point_to_base(number) } else { of.unit.amount_to_base(number) }
}
