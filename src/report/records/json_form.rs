//! The record as JSON.

use super::{COLUMNS, Season, on_land, rotations, unsprayed};
use crate::units::{clean, spoken};
use serde_json::{Map, Value, json};

/// Returns the record as JSON, `bloomward.records/1`.
pub fn json(season: &Season) -> String {
    let name = |tree: &usize| season.grove.trees.name(*tree).to_string();
    let sprays: Vec<Value> = season
        .rows()
        .map(|row| {
            let cells = COLUMNS.iter().zip(season.cells(row));
            let told = |cell: String| if cell.is_empty() { Value::Null } else { Value::String(cell) };
            Value::Object(
                cells.map(|(column, cell)| (column.name.to_string(), told(cell))).collect::<Map<_, _>>(),
            )
        })
        .collect();
    let symbol = season.on_area();
    let amount = |base: f64| {
        spoken::unit(symbol).map_or(Value::Null, |unit| json!(clean(unit.amount_from_base(base))))
    };
    let land: Vec<Value> = on_land(season)
        .into_iter()
        .map(|it| {
            let (low, high) =
                it.amount.map_or((Value::Null, Value::Null), |(low, high)| (amount(low), amount(high)));
            json!({ "ingredient": it.ingredient, "block": it.block, "from": low, "to": high, "unit": symbol })
        })
        .collect();
    let rotation: Vec<Value> = rotations(season)
        .into_iter()
        .map(|it| {
            let in_a_row: Map<_, _> = it.in_a_row.into_iter().map(|(group, times)| (group, json!(times))).collect();
            json!({ "trees": it.trees.iter().map(name).collect::<Vec<_>>(), "groups": it.groups, "in_a_row": in_a_row })
        })
        .collect();
    let columns: Vec<Value> =
        COLUMNS.iter().map(|column| json!({ "name": column.name, "asked_by": column.asked_by })).collect();
    let known = season.grove.log.is_known();
    let all = json!({
        "format": "bloomward.records/1",
        "grove": &*season.grove.title,
        "from": season.days.0.to_string(),
        "to": season.days.1.to_string(),
        "log_known": known,
        "ahead": season.ahead().len(),
        "columns": columns,
        "sprays": sprays,
        "on_land": land,
        "rotation": rotation,
        "unsprayed": known.then(|| unsprayed(season).iter().map(name).collect::<Vec<_>>()),
    });
    format!("{all:#}\n")
}
