//! The record as JSON.

use super::{COLUMNS, Column, OnLand, Rotation, Season, on_land, rotations, unsprayed};
use crate::report::json::{self, Day, Object};
use crate::units::{clean, spoken};
use serde::Serialize;

/// The season's spray record.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.records/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct RecordForm<'a> {
    grove: &'a str,
    from: Day,
    to: Day,
    /// False where the grove names no log: then nothing can be told.
    log_known: bool,
    /// Sprays of the log that lie after the moment of the record, and so are not in it.
    ahead: usize,
    columns: &'static [Column],
    sprays: Vec<SprayCells>,
    on_land: Vec<OnLandEntry>,
    rotation: Vec<RotationEntry<'a>>,
    /// The trees that had no spray in these days.
    unsprayed: Option<Vec<&'a str>>,
}

/// A cell for each column; null where it is not known or was not written.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[cfg_attr(test, schemars(extend("required" = ["start", "end", "on", "product"], "properties" = {
    "start": { "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}" },
    "end": { "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}" }
})))]
struct SprayCells(Object<'static, &'static str, Option<String>>);

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct OnLandEntry {
    ingredient: String,
    block: String,
    /// On the trees of the block that had least; null where a row does not say how much.
    from: Option<f64>,
    to: Option<f64>,
    unit: &'static str,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct RotationEntry<'a> {
    trees: Vec<&'a str>,
    /// The groups of each tank, the oldest first.
    groups: Vec<Vec<String>>,
    /// How many of the latest sprays in a row had a group.
    in_a_row: Object<'a, String, u32>,
}

/// Returns the record as JSON, `bloomward.records/1`.
pub fn json(season: &Season) -> String {
    let names = |trees: &[usize]| trees.iter().map(|tree| season.grove.trees.name(*tree)).collect();
    let symbol = season.on_area();
    let amount = |base: f64| Some(clean(spoken::unit(symbol).ok()?.amount_from_base(base)));
    let land = |it: OnLand| OnLandEntry {
        from: it.amount.and_then(|(low, _)| amount(low)),
        to: it.amount.and_then(|(_, high)| amount(high)),
        ingredient: it.ingredient,
        block: it.block,
        unit: symbol,
    };
    let rotation = |it: Rotation| RotationEntry {
        trees: names(&it.trees),
        groups: it.groups,
        in_a_row: Object::of(it.in_a_row.into_iter()),
    };
    let told = |cell: String| Some(cell).filter(|cell| !cell.is_empty());
    let cells = |cells: Vec<String>| COLUMNS.iter().zip(cells).map(move |(of, cell)| (of.name, told(cell)));
    let known = season.grove.log.is_known();
    json::lines(&RecordForm {
        grove: &season.grove.title,
        from: season.days.0.into(),
        to: season.days.1.into(),
        log_known: known,
        ahead: season.ahead().len(),
        columns: COLUMNS,
        sprays: season.rows().map(|row| SprayCells(Object::of(cells(season.cells(row))))).collect(),
        on_land: on_land(season).into_iter().map(land).collect(),
        rotation: rotations(season).into_iter().map(rotation).collect(),
        unsprayed: known.then(|| names(&unsprayed(season))),
    })
}
