//! One spray of the record: its cells, and who asks for each of them.

use super::{Season, measured};
use crate::grove::{
    AMOUNT, Counting, Form, JUG, LAND, SprayPart, SprayRow, TREES, UnitSystem, jug_words, land_words,
    trees_words,
};
use crate::labels::{first_picking_of, open_after, re_entry_of};
use crate::report::{GroveTrees, ranges};
use crate::units::{clean, plain, show, spoken};
use chrono::DateTime;
use chrono_tz::Tz;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A column of the record.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// The rule that asks for it, or common practice.
    pub asked_by: &'static str,
}

const US_USE: &str = "7 CFR 110.3";
const US_BOTH: &str = "7 CFR 110.3; 40 CFR 170.311";
const US_ENTRY: &str = "40 CFR 170.311";
const ALL: &str = "7 CFR 110.3; 40 CFR 170.311; EU 2023/564";
const EU: &str = "EU 2023/564";
const PRACTICE: &str = "common practice";
const AIR: &str = "GRDC Spray Manual, module 10 (2025): at the start and end of each tank";

/// The columns of the record, each with who asks for it: 7 CFR 110.3 of restricted products, 40 CFR 170.311 of whatever
/// workers may meet, Regulation (EU) 2023/564 of professional use. What no rule names is common practice.
#[rustfmt::skip]
pub const COLUMNS: &[Column] = &[
    Column { name: "start",           asked_by: "40 CFR 170.311; EU 2023/564" },
    Column { name: "end",             asked_by: US_ENTRY },
    Column { name: "on",              asked_by: ALL },
    Column { name: "blocks",          asked_by: US_BOTH },
    Column { name: "crop",            asked_by: ALL },
    Column { name: "product",         asked_by: ALL },
    Column { name: "jug",             asked_by: PRACTICE },
    Column { name: "registration",    asked_by: ALL },
    Column { name: "active",          asked_by: US_ENTRY },
    Column { name: "group",           asked_by: PRACTICE },
    Column { name: "strength",        asked_by: EU },
    Column { name: "rate",            asked_by: EU },
    Column { name: "volume",          asked_by: PRACTICE },
    Column { name: "area",            asked_by: "7 CFR 110.3; EU 2023/564" },
    Column { name: "product-used",    asked_by: US_USE },
    Column { name: "in-spray",        asked_by: PRACTICE },
    Column { name: "on-land",         asked_by: PRACTICE },
    Column { name: "stage",           asked_by: EU },
    Column { name: "target",          asked_by: PRACTICE },
    Column { name: "wind",            asked_by: AIR },
    Column { name: "temperature",     asked_by: AIR },
    Column { name: "humidity",        asked_by: AIR },
    Column { name: "measured-wind",   asked_by: PRACTICE },
    Column { name: "measured-temperature", asked_by: PRACTICE },
    Column { name: "measured-humidity", asked_by: PRACTICE },
    Column { name: "delta-t",         asked_by: PRACTICE },
    Column { name: "rain-after",      asked_by: PRACTICE },
    Column { name: "keep-out-until",  asked_by: US_ENTRY },
    Column { name: "pick-not-before", asked_by: PRACTICE },
    Column { name: "operator",        asked_by: US_USE },
    Column { name: "certificate",     asked_by: US_USE },
    Column { name: "sheet",           asked_by: PRACTICE },
    Column { name: "note",            asked_by: PRACTICE },
    Column { name: "why-not-known",   asked_by: PRACTICE },
];

/// The cells that hang on the shed, the trees and the harvest, and the columns of the log that keep them as they were.
const KEPT: [(&str, &str); 4] = [
    ("blocks", "blocks-sprayed"),
    ("product-used", AMOUNT),
    ("in-spray", "in-spray"),
    ("on-land", "on-land"),
];

/// Returns what a row of the log is to keep of a spray, by its columns: what was used, as the grove says it now.
pub(super) fn kept(season: &Season, row: &SprayRow) -> Vec<(String, String)> {
    let grove = season.grove;
    let mut kept = vec![(TREES.to_string(), trees_words(&row.trees(&grove.trees), &grove.trees))];
    kept.extend(row.area.and_then(land_words).map(|land| (LAND.to_string(), land)));
    let jugs: Option<Vec<String>> = row.parts.iter().map(|part| grove.jug_of(part).map(jug_words)).collect();
    kept.extend(jugs.map(|jugs| (JUG.to_string(), jugs.join(" with "))));
    let cells = cells(season, row);
    let of_cells = COLUMNS.iter().zip(cells).filter_map(|(column, cell)| {
        let (_, log) = KEPT.iter().find(|(name, _)| *name == column.name)?;
        Some(((*log).to_string(), cell)).filter(|(_, cell)| !cell.is_empty())
    });
    kept.extend(of_cells);
    // What this spray alone asks for: another may be corrected.
    let entry = re_entry_of(season.plan, grove, row).map(shown_moment);
    kept.extend(entry.map(|until| ("keep-out-until".to_string(), until)));
    let pick = first_picking_of(season.plan, grove, row).map(|day| day.to_string());
    kept.extend(pick.map(|day| ("pick-not-before".to_string(), day)));
    kept
}

fn shown_moment(moment: DateTime<Tz>) -> String {
    moment.format("%Y-%m-%dT%H:%M%:z").to_string()
}

pub(super) fn cells(season: &Season, row: &SprayRow) -> Vec<String> {
    let cell = |column: &Column| match KEPT.iter().find(|(name, _)| *name == column.name) {
        // What a row keeps stays as it was, whatever has left the grove since; what was not known then is not known now.
        Some((_, log)) if row.is_frozen() => {
            row.fields.get(log).map_or_else(String::new, |text| text.to_string())
        }
        Some(_) | None => fresh(season, row, column),
    };
    COLUMNS.iter().map(cell).collect()
}

fn fresh(season: &Season, row: &SprayRow, column: &Column) -> String {
    match column.name {
        "start" => shown_moment(row.start),
        "end" => shown_moment(row.end),
        "on" => row.on.to_string(),
        "blocks" => blocks(season, row),
        "crop" => season.plan.head.crop.as_deref().unwrap_or_default().to_string(),
        "product" => joined(row, |part| part.word.to_string()),
        // A row says itself from which jug it was; an older one may leave that to the shed, or name one that has left it.
        "jug" => match row.fields.get("jug") {
            Some(written) if row.is_frozen() || row.parts.iter().any(|part| jug(season, part).is_none()) => {
                written.to_string()
            }
            Some(_) | None => {
                joined(row, |part| jug(season, part).map_or_else(String::new, |jug| jug.name.to_string()))
            }
        },
        "registration" => match row.fields.get("registration") {
            Some(written) => written.to_string(),
            None if row.is_frozen() => String::new(),
            None => joined(row, |part| {
                let of_jug = jug(season, part).and_then(|jug| jug.registration.as_ref());
                of_jug.map_or_else(String::new, |registration| registration.to_string())
            }),
        },
        "active" => joined(row, |part| {
            let active = part.product.and_then(|id| season.plan[id].active.as_ref());
            active.map_or_else(String::new, |active| active.to_string())
        }),
        "group" => {
            joined(row, |part| part.product.map_or_else(String::new, |id| season.plan[id].groups.join("+")))
        }
        "rate" => joined(row, |part| rate(season, part)),
        "area" => area(season, row),
        "why-not-known" => why_not_known(season, row),
        "product-used" => joined(row, |part| used(season, row, part).unwrap_or_default()),
        "in-spray" => in_spray(season, row).join(", "),
        "on-land" => on_land(season, row).join(", "),
        "measured-wind" | "measured-temperature" | "measured-humidity" | "delta-t" | "rain-after" => {
            measured::cell(season, row, column.name)
        }
        "keep-out-until" => {
            open_after(season.plan, season.grove, row).0.map_or_else(String::new, shown_moment)
        }
        "pick-not-before" => {
            let pick = open_after(season.plan, season.grove, row).1;
            pick.map_or_else(String::new, |day| day.to_string())
        }
        written => row.fields.get(written).map_or_else(String::new, |text| text.to_string()),
    }
}

/// Joins the parts of a mix as the log does; empty where all of them are.
fn joined(row: &SprayRow, of: impl Fn(&SprayPart) -> String) -> String {
    let parts: Vec<String> = row.parts.iter().map(of).collect();
    if parts.iter().all(String::is_empty) {
        return String::new();
    }
    let told = parts.into_iter().map(|part| if part.is_empty() { "not known".to_string() } else { part });
    told.collect::<Vec<_>>().join(" with ")
}

fn jug<'a>(season: &Season<'a>, part: &'a SprayPart) -> Option<&'a crate::grove::Jug> {
    season.grove.jug_of(part)
}

fn rate(season: &Season, part: &SprayPart) -> String {
    let strength = || {
        Some(
            season.plan[part.product?].strengths.get(usize::from(part.strength?))?.amount.written.to_string(),
        )
    };
    match &part.rate {
        Some(rate) => rate.written.to_string(),
        None => strength().unwrap_or_default(),
    }
}

fn area(season: &Season, row: &SprayRow) -> String {
    if let Some(written) = row.fields.get("area") {
        return written.to_string();
    }
    let symbol = match season.grove.units {
        UnitSystem::Us => "ac",
        UnitSystem::Metric => "ha",
    };
    let unit = plain(symbol);
    // A few trees stand on a few thousandths of it.
    let shown = |area: f64| format!("{} {symbol}", clean((area * 1e4).round() / 1e4));
    row.area.zip(unit).map_or_else(String::new, |(area, unit)| shown(unit.amount_from_base(area)))
}

/// Returns the trees of a row by their blocks, each tree once.
fn trees(season: &Season, row: &SprayRow) -> BTreeMap<usize, BTreeSet<usize>> {
    let mut found: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    let trees = &season.grove.trees;
    row.each_tree(trees, |tree| {
        found.entry(trees.block(tree)).or_default().insert(tree);
    });
    found
}

fn blocks(season: &Season, row: &SprayRow) -> String {
    let names = GroveTrees { plan: season.plan, grove: season.grove };
    let of_block = |(block, trees): (usize, BTreeSet<usize>)| {
        let name = season.grove.blocks.get(block).map_or("", |block| &block.name);
        format!("{name}: {}", ranges(&names, &trees.into_iter().collect::<Vec<_>>()))
    };
    trees(season, row).into_iter().map(of_block).collect::<Vec<_>>().join("; ")
}

/// Returns how much of a product went out in all, where the row, the jug and the land say enough.
fn used(season: &Season, row: &SprayRow, part: &SprayPart) -> Option<String> {
    let form = jug(season, part)?.form;
    let mut sum = 0.0;
    let mut rates: Vec<f64> = Vec::new();
    let mut whole = true;
    for (block, trees) in trees(season, row) {
        let first = trees.iter().next()?;
        let per_area = season.grove.product_of_part(row, part, *first, season.plan)?;
        rates.push(clean(per_area));
        match season.grove.blocks.get(block).and_then(|block| block.spacing) {
            Some(spacing) => sum += per_area * spacing.area() * trees.len() as f64,
            None => whole = false,
        }
    }
    rates.dedup();
    let total = match (&rates[..], row.area) {
        ([one], Some(area)) => one * area,
        _ if whole => sum,
        _ => return None,
    };
    let (small, large) = match (form, season.grove.units) {
        (Form::Powder, UnitSystem::Us) => ("oz", "lb"),
        (Form::Powder, UnitSystem::Metric) => ("g", "kg"),
        (Form::Liquid(_), UnitSystem::Us) => ("fl oz", "gal"),
        (Form::Liquid(_), UnitSystem::Metric) => ("mL", "L"),
    };
    let in_large = plain(large)?.amount_from_base(total);
    Some(if in_large >= 1.0 {
        show(in_large, large)
    } else {
        show(plain(small)?.amount_from_base(total), small)
    })
}

/// Says why the amounts of a row are not known, part by part, and what to write; empty where they are.
fn why_not_known(season: &Season, row: &SprayRow) -> String {
    let kept = row.fields.get(AMOUNT).filter(|_| row.is_frozen());
    if row.is_frozen() {
        return match kept {
            Some(_) => String::new(),
            None => "how much went out was not known when the row was written; once the grove says it, correct the \
                     row: `bloomward sprayed --corrects`"
                .to_string(),
        };
    }
    let why = |part: &SprayPart| {
        if used(season, row, part).is_some() {
            return None;
        }
        let word = &part.word;
        let all = row.fields.get("jug").map_or_else(|| word.to_string(), |name| name.to_string());
        Some(match (jug(season, part), &part.rate, part.strength) {
            (None, _, _) => format!(
                "what the jug of {word} held: the shed has no `{all}` now, and the row, which is older than the column \
                 `{JUG}`, does not keep it; put the jug back under `shed` in grove.yaml, or write what it held in that \
                 column, `powder, copper: 50 %`"
            ),
            (Some(_), None, None) => format!(
                "how much {word}: the rulebook has no such strength; write it in figures under `rate`"
            ),
            (Some(_), _, _) => format!(
                "how much {word} went out: write the `volume`, and the `spacing` of the block in grove.yaml"
            ),
        })
    };
    row.parts.iter().filter_map(why).collect::<Vec<_>>().join("; ")
}

/// Returns the ingredients of a spray, each with how much of it was in the spray (mg/L, which label and lab call ppm).
fn in_spray(season: &Season, row: &SprayRow) -> Vec<String> {
    each_ingredient(season, row, "mg/L", |ingredient, tree| {
        season.grove.in_spray(row, tree, Counting::Ingredient(ingredient), season.plan)
    })
}

/// Returns the ingredients that a spray put on the land, each with how much on an area.
fn on_land(season: &Season, row: &SprayRow) -> Vec<String> {
    each_ingredient(season, row, season.on_area(), |ingredient, tree| {
        season.grove.amount_of_row(row, tree, Counting::Ingredient(ingredient), season.plan)
    })
}

/// Returns an amount of each ingredient, from the least to the most of the blocks; those of which none is known are left
/// out.
fn each_ingredient(
    season: &Season,
    row: &SprayRow,
    symbol: &str,
    of: impl Fn(&str, usize) -> Option<f64>,
) -> Vec<String> {
    let Ok(unit) = spoken::unit(symbol) else { return Vec::new() };
    let mut words = Vec::new();
    for ingredient in ingredients(season, row) {
        let of_blocks = trees(season, row).into_values().filter_map(|trees| trees.first().copied());
        let amounts: Vec<f64> = of_blocks
            .filter_map(|first| of(&ingredient, first))
            .map(|amount| unit.amount_from_base(amount))
            .collect();
        let low = amounts.iter().copied().reduce(f64::min);
        let high = amounts.iter().copied().reduce(f64::max);
        if let (Some(low), Some(high)) = (low, high) {
            words.push(format!("{ingredient} {}", between(low, high, symbol)));
        }
    }
    words
}

/// Returns an amount, or two where they differ.
pub(super) fn between(low: f64, high: f64, symbol: &str) -> String {
    // A strength in mg/L is a whole number to any lab.
    let digits = if symbol == "mg/L" { 0 } else { 2 };
    let (low, high) = (format!("{low:.digits$}"), format!("{high:.digits$}"));
    if low == high { format!("{low} {symbol}") } else { format!("{low} to {high} {symbol}") }
}

/// Returns the ingredients of what was in a tank, as the rulebook or the jugs count them.
pub(super) fn ingredients(season: &Season, row: &SprayRow) -> BTreeSet<String> {
    let of_book = row.parts.iter().filter_map(|part| season.plan[part.product?].contains.as_ref());
    let of_jugs = row.parts.iter().filter_map(|part| jug(season, part)).flat_map(|jug| &jug.contains);
    of_book.chain(of_jugs.map(|content| &content.ingredient)).map(|word| word.to_string()).collect()
}
