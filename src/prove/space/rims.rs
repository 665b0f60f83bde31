//! Cuts that a computed name makes in its root: where its thresholds lie, and what of a range is off their rims.

use super::compute::is_whole;
use crate::check::canonical_unit;
use crate::measure::{Extent, Possible};
use crate::plan::{Datum, Kind, Pattern, Plan};
use crate::units::{Threshold, clean};

/// Returns whether two numbers are the same give or take a rim.
pub(crate) fn near(kind: Kind, a: f64, b: f64) -> bool {
    (a - b).abs() <= a.abs().max(b.abs()).max(least(kind)) * 5e-7
}

/// Returns how great numbers of a kind are taken to be at least, where their rims and what rounding makes of them are
/// measured by their size.
pub(crate) fn least(kind: Kind) -> f64 {
    match kind {
        // The rim of a threshold is a part of its number in °F.
        Kind::Temperature => 32.0,
        Kind::Quantity(_) => canonical_unit(kind).factor * 1e-3,
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Date
        | Kind::Clock
        | Kind::YesNo
        | Kind::Text
        | Kind::Words(_) => 1e-3,
    }
}

/// Returns the number on whose rim a number lies: an edge of a table, or a plain number of a few digits; else the number
/// itself. Where a computed name stays on its threshold, only one rim is known, and another name's threshold may lie on the
/// number itself.
pub(super) fn without_rim(kind: Kind, at: f64, edges: &[Threshold]) -> f64 {
    if let Some(edge) = edges.iter().find(|edge| edge.is_by(at)) {
        return edge.value();
    }
    let unit = canonical_unit(kind);
    let step = if kind.is_point() { 1e-6 } else { unit.factor * 1e-6 };
    let plain = clean((at / step).round() * step);
    if kind.threshold(&unit, plain).is_by(at) { plain } else { at }
}

/// Returns the edges of the rows of a rulebook's tables.
pub(super) fn table_edges(plan: &Plan) -> Vec<Threshold> {
    let edges = plan.tables.iter().flat_map(|table| {
        let keys = || table.keys.iter().zip(&table.key_units);
        table.rows.iter().flat_map(move |row| row.patterns.iter().zip(keys())).flat_map(
            |(pattern, (kind, unit))| match pattern {
                Pattern::Numbers { low, high } => {
                    [low, high].into_iter().flatten().map(|(at, _)| *at).collect()
                }
                Pattern::Is(Datum::Number(at)) => vec![kind.threshold(unit, *at)],
                Pattern::Is(_) | Pattern::Any => Vec::new(),
            },
        )
    });
    edges.collect()
}

/// Returns a range of a kind without the rims that lie so near its ends that what is computed from them is on a threshold.
pub(crate) fn inside(kind: Kind, extent: Extent) -> Extent {
    let Some((low, high)) = extent.ends().filter(|(low, high)| low < high && !is_whole(kind)) else {
        return extent;
    };
    let rim = |end: f64| {
        if end.is_finite() { (end.abs().max(least(kind)) * 1e-6).min((high - low) / 8.0) } else { 0.0 }
    };
    let (from, to) = (low + rim(low), high - rim(high));
    if from < to { Extent { can_be: Possible::Numbers(from, to), ..extent } } else { extent }
}
