//! The record as a page.

use super::row::between;
use super::{COLUMNS, Season, on_land, rotations, unsprayed};
use crate::advice::{first_picking_of, re_entry_of};
use crate::grove::SprayRow;
use crate::report::{GroveTrees, Lines, count, ranges};
use crate::units::spoken;
use crate::words::{Language, weekday};

/// What is told of the air together.
const MEASURED: [(&str, &str); 5] = [
    ("measured-wind", "wind"),
    ("measured-temperature", "temperature"),
    ("measured-humidity", "humidity"),
    ("delta-t", "delta-t"),
    ("rain-after", "rain in the 24 h after"),
];

/// What no record can do without, for those who ask for it.
const OWED: [&str; 7] =
    ["registration", "active", "area", "product-used", "keep-out-until", "operator", "certificate"];

/// Returns the record as a page of a width; `grove` is the grove as commands name it.
pub fn text(season: &Season, grove: &str, width: usize) -> String {
    let mut lines = Lines::new(width);
    let (first, last) = season.days;
    let title = format!("SPRAY RECORD of {}, {} to {}", season.grove.title, weekday(first), weekday(last));
    lines.text(0, &title);
    lines.rule('=');
    if !season.grove.log.is_known() {
        lines.text(0, "The spray log is not known: `sprays` in grove.yaml names none. Nothing can be told.");
        return lines.finish();
    }
    if let Some(latest) = season.ahead().last() {
        let (number, they) = match season.ahead().len() {
            1 => ("1 spray of the log lies".to_string(), "it is"),
            count => (format!("{count} sprays of the log lie"), "they are"),
        };
        let as_of = latest.format("%Y-%m-%dT%H:%M");
        lines.text(
            0,
            &format!("{number} ahead of the moment of this record, and {they} not in it; `--as-of {as_of}` takes all in."),
        );
    }
    let mut rows = 0usize;
    for row in season.rows() {
        rows += 1;
        lines.blank();
        one(season, row, &mut lines);
    }
    lines.blank();
    lines.text(0, "TOTALS");
    lines.rule('-');
    lines.field("Rows", &rows.to_string());
    sums(season, &mut lines);
    lines.blank();
    lines.text(
        0,
        "Columns follow 7 CFR 110.3 (restricted products: to be written within 14 days, and kept for 2 years), 40 CFR \
         170.311 (shown for 30 days, kept for 2 years) and Regulation (EU) 2023/564; `--format json` says which asks for \
         what. What your law asks for may be more.",
    );
    lines.text(0, &format!("Next: `bloomward records {grove} --format csv` is for a spreadsheet."));
    lines.finish()
}

/// Writes one spray.
fn one(season: &Season, row: &SprayRow, lines: &mut Lines) {
    lines.text(0, &Language::English.span(row.start, row.end));
    let cells = season.cells(row);
    let told = || COLUMNS.iter().zip(&cells).map(|(column, cell)| (column, cell.as_str()));
    for (column, cell) in told().skip(2) {
        let words = match column.name {
            first if first == MEASURED[0].0 => {
                let cell =
                    |name: &str| told().find(|(column, _)| column.name == name).map_or("", |(_, cell)| cell);
                let known = MEASURED.iter().map(|(name, words)| (words, cell(name)));
                let known = known.filter(|(_, cell)| !cell.is_empty());
                known.map(|(words, cell)| format!("{words} {cell}")).collect::<Vec<_>>().join(", ")
            }
            name if MEASURED.iter().any(|(measured, _)| *measured == name) => String::new(),
            "keep-out-until" => re_entry_of(season.plan, season.grove, row)
                .map(|until| Language::English.moment(until))
                .unwrap_or_default(),
            "pick-not-before" => pick(season, row),
            "stage" | "target" => season.plan.shown(cell),
            "why-not-known" => continue,
            _ => cell.to_string(),
        };
        if !words.is_empty() {
            lines.field(&label(column.name), &words);
        }
    }
    let missing: Vec<String> = told()
        .filter(|(column, cell)| OWED.contains(&column.name) && cell.is_empty())
        .map(|(column, _)| format!("{} ({})", label(column.name).to_lowercase(), column.asked_by))
        .collect();
    if !missing.is_empty() {
        lines.field("Not known", &missing.join(", "));
    }
    let why = told().find(|(column, _)| column.name == "why-not-known").map_or("", |(_, cell)| cell);
    if !why.is_empty() {
        lines.field("Why", why);
    }
}

/// Returns from when fruit may be picked: the label's days, and never before people may go in.
fn pick(season: &Season, row: &SprayRow) -> String {
    let Some(day) = first_picking_of(season.plan, season.grove, row) else { return String::new() };
    let keep_out = re_entry_of(season.plan, season.grove, row);
    let barred = keep_out.is_some_and(|until| until.date_naive() >= day);
    weekday(day) + if barred { ", and not before people may go in" } else { "" }
}

fn sums(season: &Season, lines: &mut Lines) {
    let names = GroveTrees { plan: season.plan, grove: season.grove };
    let symbol = season.on_area();
    let unit = spoken::unit(symbol).ok();
    let other_symbol = if symbol == "lb/ac" { "kg/ha" } else { "lb/ac" };
    let other = spoken::unit(other_symbol).ok();
    let mut before = String::new();
    for it in on_land(season) {
        let amount = it.amount.zip(unit.as_ref()).map_or_else(
            || "not known: a row does not say how much".to_string(),
            |((low, high), unit)| {
                let own = between(unit.amount_from_base(low), unit.amount_from_base(high), symbol);
                let other = other.as_ref().filter(|_| high > 0.0).map_or_else(String::new, |unit| {
                    let (low, high) = (unit.amount_from_base(low), unit.amount_from_base(high));
                    format!(" ({})", between(low, high, other_symbol))
                });
                own + &other
            },
        );
        let label = if it.ingredient == before { String::new() } else { capital(&it.ingredient) };
        lines.field(&label, &format!("{}: {amount}", it.block));
        before = it.ingredient;
    }
    for (at, it) in rotations(season).iter().enumerate() {
        let tanks: Vec<String> = it
            .groups
            .iter()
            .map(|groups| if groups.is_empty() { "no group".to_string() } else { groups.join("+") })
            .collect();
        let latest: Vec<String> =
            it.in_a_row.iter().map(|(group, times)| format!("the last {times} in a row {group}")).collect();
        let latest = if latest.is_empty() { String::new() } else { format!(" ({})", latest.join(", ")) };
        let words = format!("{}: {}{latest}", ranges(&names, &it.trees), tanks.join(", "));
        lines.field(if at == 0 { "Groups" } else { "" }, &words);
    }
    let never = unsprayed(season);
    let words = match never.len() {
        0 => "none: every tree was sprayed, so there is nothing to compare with".to_string(),
        trees => format!("{}: {}", count(trees), ranges(&names, &never)),
    };
    lines.field("Not sprayed", &words);
}

/// Returns the name of a column as a page prints it.
fn label(column: &str) -> String {
    match column {
        "keep-out-until" => "Keep out to".to_string(),
        "pick-not-before" => "Pick from".to_string(),
        "product-used" => "Used in all".to_string(),
        "on-land" => "On the land".to_string(),
        "in-spray" => "In the spray".to_string(),
        "measured-wind" => "Measured".to_string(),
        other => capital(other),
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
