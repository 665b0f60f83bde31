//! What would change a verdict: along each name the nearest values at which it becomes another, and readings that
//! a small error would turn.

use super::worlds::{Gauge, Node, Walk};
use super::{CloseCall, Flip};
use crate::measure::{Extent, Leaf, speaks_of_weather, wilson};
use crate::plan::{Aggregate, Bound, HourSeries, Kind, NameId, Origin, Place, Plan, Series};
use crate::situation::Axis;
use crate::trace::Verdict;
use crate::units::{Dimension, plain};

/// Finds for each name that a condition compares the nearest values at which the verdict becomes another.
pub fn flips(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node, verdict: &Verdict) -> Vec<Flip> {
    let mut names: Vec<NameId> = walk.inputs.tested().collect();
    names.sort_by(|a, b| walk.plan[*a].word.cmp(&walk.plan[*b].word));
    names.into_iter().flat_map(|name| of_name(walk, gauge, root, verdict, name)).collect()
}

fn of_name(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node, verdict: &Verdict, name: NameId) -> Vec<Flip> {
    let Some((leaf, axis)) = place(walk, root, name) else { return Vec::new() };
    let Some(here) = extent_at(root, leaf) else { return Vec::new() };
    let there = |extent: Extent| {
        let node = walk.fixed(gauge, root, leaf, extent);
        let then = walk.verdict(&node);
        (then.essence() != verdict.essence()).then_some(then)
    };
    let flip = |at: String, then: Verdict, from: Option<f64>| Flip {
        name,
        at,
        from,
        sprays: matches!(then, Verdict::Spray(_)),
        then: then.words(walk.plan),
    };
    if let Some(number) = here.one_number() {
        let cell = axis.cell(number);
        let domain = domain(walk.plan, name);
        let parts =
            |cells: Vec<u16>| cells.into_iter().filter_map(|cell| Some((cell, axis.part(cell, domain)?)));
        let up = parts((cell + 1..axis.empty()).collect())
            .find_map(|(cell, part)| Some((cell, part, there(Extent::number(typical(part, whole(axis))))?)));
        let down = parts((0..cell).rev().collect())
            .find_map(|(cell, part)| Some((cell, part, there(Extent::number(typical(part, whole(axis))))?)));
        let up =
            up.map(|(cell, part, then)| flip(upwards(walk.plan, name, axis, cell, part), then, Some(part.0)));
        let down =
            down.map(|(cell, part, then)| flip(downwards(walk.plan, name, axis, cell, part), then, None));
        return down.into_iter().chain(up).collect();
    }
    let set = here.word_set();
    let count = axis.empty();
    if !set.is_power_of_two() {
        return Vec::new();
    }
    let at = set.trailing_zeros() as u16;
    let word =
        |place: u16| there(Extent::word(place)).map(|then| flip(walk.plan.word_of(name, place), then, None));
    if walk.plan.is_ordered(name) {
        return (0..at).rev().find_map(word).into_iter().chain((at + 1..count).find_map(word)).collect();
    }
    (0..count).filter(|place| *place != at).filter_map(word).collect()
}

/// Returns where a name can be turned, and its axis; nothing for bands, which follow from others, and for texts.
fn place<'w>(walk: &'w Walk<'_>, root: &Node, name: NameId) -> Option<(Leaf, &'w Axis)> {
    let axis = walk.cuts.get(name.index())?;
    let item = &walk.plan[name];
    match item.origin {
        Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => None,
        Origin::Observed(_) if item.scope == Place::Panicles => {
            (root.gauged.groups.len() == 1).then_some((Leaf::InGroup(0, name), axis))
        }
        Origin::Measure(_) if item.hidden && item.kind == Kind::YesNo && root.gauged.groups.len() == 1 => {
            None
        }
        Origin::Observed(_) | Origin::Measure(_) | Origin::Tally(_) => {
            let axis =
                if matches!(item.origin, Origin::Observed(_)) { axis } else { walk.rules.axes.of(name) };
            Some((Leaf::Name(name), axis))
        }
    }
}

fn extent_at(node: &Node, leaf: Leaf) -> Option<Extent> {
    let reading = match leaf {
        Leaf::Name(name) | Leaf::Others(name) => node.gauged.names.get(name.index()),
        Leaf::InGroup(group, name) => node.gauged.groups.get(group)?.names.get(name.index()),
    };
    reading.map(|reading| reading.extent)
}

/// Returns the range in which a name's numbers lie.
fn domain(plan: &Plan, name: NameId) -> (f64, f64) {
    let kind = Extent::anything(plan[name].kind, plan).ends().unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
    match &plan[name].origin {
        Origin::Observed(seen) => seen.range.map_or(kind, |(low, high)| (low.max(kind.0), high.min(kind.1))),
        Origin::Measure(_)
        | Origin::Tally(_)
        | Origin::Band(_)
        | Origin::Cultivar
        | Origin::Block
        | Origin::Date => kind,
    }
}

/// Returns a number inside a part of a range.
fn typical((low, high): (f64, f64), whole: bool) -> f64 {
    let inside = match (low.is_finite(), high.is_finite()) {
        (true, true) => (low + high) / 2.0,
        (true, false) => low + 1.0f64.max(low.abs() * 0.1),
        (false, true) => high - 1.0f64.max(high.abs() * 0.1),
        (false, false) => 0.0,
    };
    if whole { inside.floor() } else { inside }
}

fn upwards(plan: &Plan, name: NameId, axis: &Axis, cell: u16, part: (f64, f64)) -> String {
    match threshold(axis, cell.saturating_sub(1) / 2) {
        Some(value) if cell % 2 == 1 => format!("at least {}", plan.number_of(name, value)),
        Some(_) if whole(axis) => format!("at least {}", plan.number_of(name, part.0)),
        Some(value) => format!("above {}", plan.number_of(name, value)),
        None => String::new(),
    }
}

fn downwards(plan: &Plan, name: NameId, axis: &Axis, cell: u16, part: (f64, f64)) -> String {
    match threshold(axis, cell / 2) {
        Some(value) if cell % 2 == 1 => format!("at most {}", plan.number_of(name, value)),
        Some(_) if whole(axis) => format!("at most {}", plan.number_of(name, part.1)),
        Some(value) => format!("below {}", plan.number_of(name, value)),
        None => String::new(),
    }
}

fn threshold(axis: &Axis, place: u16) -> Option<f64> {
    match axis {
        Axis::Numbers { thresholds, .. } => thresholds.get(usize::from(place)).map(Bound::value),
        Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => None,
    }
}

fn whole(axis: &Axis) -> bool {
    matches!(axis, Axis::Numbers { whole: true, .. })
}

/// A reading that lies near a threshold of its name.
#[derive(Clone, Copy, Debug)]
pub struct Near {
    name: NameId,
    leaf: Leaf,
    ends: (f64, f64),
    sample: Option<(u32, u32)>,
}

impl Near {
    /// Returns what tells it from other readings.
    pub fn bits(&self) -> [u64; 3] {
        [u64::from(self.name.0), self.ends.0.to_bits(), self.ends.1.to_bits()]
    }
}

/// Finds the readings that lie so near a threshold that a small error takes them to its other side.
pub fn near(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node) -> Vec<Near> {
    let near = |name: NameId| {
        let (leaf, axis) = place(walk, root, name)?;
        let number = extent_at(root, leaf)?.one_number()?;
        let sample = sampled(walk, gauge, root, name).map(|(_, found, of)| (found, of));
        let ends = match sample {
            Some((found, of)) => wilson(found, of),
            None => {
                let slack = accuracy(walk.plan, name)?;
                (number - slack, number + slack)
            }
        };
        let apart = axis.cell(ends.0) != axis.cell(ends.1);
        apart.then_some(Near { name, leaf, ends, sample })
    };
    walk.inputs.tested().filter_map(near).collect()
}

/// Finds the names whose reading a small error would turn into another verdict.
pub fn close_calls(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    verdict: &Verdict,
    near: &[Near],
) -> Vec<CloseCall> {
    let turns = near.iter().filter(|it| turned(walk, gauge, root, verdict, (it.leaf, it.name), it.ends));
    let mut found: Vec<CloseCall> = turns
        .map(|it| CloseCall {
            name: it.name,
            look_at_more: it.sample.and_then(|(found, of)| more(walk, it.name, found, of)),
        })
        .collect();
    found.sort_by(|a, b| walk.plan[a.name].word.cmp(&walk.plan[b.name].word));
    found
}

/// Returns the sample that a name's value is, at its own leaf or at the one it copies.
fn sampled(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node, name: NameId) -> Option<(Leaf, u32, u32)> {
    let (leaf, _) = place(walk, root, name)?;
    gauge.sample(leaf).map(|(found, of)| (leaf, found, of))
}

/// Returns whether some value between two ends leads to another verdict.
fn turned(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    verdict: &Verdict,
    (leaf, name): (Leaf, NameId),
    (low, high): (f64, f64),
) -> bool {
    let Some(axis) = walk.cuts.get(name.index()) else { return false };
    let cells = axis.cell(low)..=axis.cell(high);
    if cells.clone().count() < 2 {
        return false;
    }
    cells.filter_map(|cell| axis.part(cell, (low, high))).any(|part| {
        let node = walk.fixed(gauge, root, leaf, Extent::number(typical(part, whole(axis))));
        let then = walk.verdict(&node);
        then.essence() != verdict.essence()
    })
}

/// Returns how many more have to be looked at until the sample's interval is clear of the nearest threshold, if
/// what is found goes on as it began.
fn more(walk: &Walk<'_>, name: NameId, found: u32, of: u32) -> Option<u32> {
    let axis = walk.cuts.get(name.index())?;
    let part = f64::from(found) / f64::from(of.max(1));
    (of + 1..=1000).find_map(|more| {
        let (low, high) = wilson((part * f64::from(more)).round() as u32, more);
        (axis.cell(low) == axis.cell(high)).then_some(more - of)
    })
}

/// Returns within how much of a threshold a reading of the weather is a close call: the rulebook's own accuracy,
/// else 1 °F, 3 % of humidity, 1 h, 1 mm.
fn accuracy(plan: &Plan, name: NameId) -> Option<f64> {
    let Origin::Measure(measure) = &plan[name].origin else { return None };
    let series = match speaks_of_weather(&measure.expr)? {
        Aggregate::Hours(_) | Aggregate::Spell(_) => return Some(1.0),
        Aggregate::Spells(..) | Aggregate::Days(..) => return None,
        Aggregate::Of(_, series) | Aggregate::While(_, series, _) | Aggregate::InSpell(_, series, _) => {
            *series
        }
    };
    if let HourSeries::Series(series) = series
        && let Some((_, near)) = plan.head.accuracy.iter().find(|(known, _)| *known == series)
    {
        return Some(*near);
    }
    let kind = plan[name].kind;
    let degree = || plain("°F").map(|unit| unit.amount_to_base(1.0));
    match (kind, series) {
        (Kind::Temperature, _) => degree(),
        (Kind::Share, HourSeries::Series(Series::Humidity)) => Some(0.03),
        (Kind::Quantity(dimension), _) if dimension == Dimension::TIME => Some(1.0),
        (Kind::Quantity(dimension), _) if dimension == Dimension::LENGTH => Some(1.0),
        (Kind::Quantity(dimension), _) if dimension == Dimension::TEMPERATURE => degree(),
        (Kind::Share | Kind::Number | Kind::Count | Kind::Quantity(_) | Kind::Date | Kind::Clock, _)
        | (Kind::YesNo | Kind::Text | Kind::Words(_), _) => None,
    }
}
