//! The record as a page.

use super::row::between;
use super::{COLUMNS, Season, on_land, rotations, unsprayed};
use crate::report::{GroveTrees, Lines, count, ranges};
use crate::units::spoken;
use chrono::NaiveDate;

/// Returns the record as a page of a width.
pub fn text(season: &Season, width: usize) -> String {
    let mut lines = Lines::new(width);
    let (first, last) = season.days;
    lines.text(0, &format!("SPRAY RECORD of {}, {} to {}", season.grove.title, day(first), day(last)));
    lines.rule('=');
    if !season.grove.log.is_known() {
        lines.text(0, "The spray log is not known: `sprays` in grove.yaml names none. Nothing can be told.");
        return lines.finish();
    }
    let mut rows = 0usize;
    for row in season.rows() {
        rows += 1;
        lines.blank();
        let cells = season.cells(row);
        let title = format!(
            "{}, {} to {}",
            day(row.start.date_naive()),
            row.start.format("%H:%M"),
            row.end.format("%H:%M")
        );
        lines.text(0, &title);
        for (column, cell) in COLUMNS.iter().zip(&cells).skip(2).filter(|(_, cell)| !cell.is_empty()) {
            lines.field(&label(column.name), cell);
        }
        let missing = ["registration", "area", "operator", "product-used", "keep-out-until"];
        let missing: Vec<String> = COLUMNS
            .iter()
            .zip(&cells)
            .filter(|(column, cell)| missing.contains(&column.name) && cell.is_empty())
            .map(|(column, _)| format!("{} ({})", label(column.name).to_lowercase(), column.asked_by))
            .collect();
        if !missing.is_empty() {
            lines.field("Not known", &missing.join(", "));
        }
    }
    lines.blank();
    lines.text(0, "TOTALS");
    lines.rule('-');
    lines.field("Rows", &rows.to_string());
    sums(season, &mut lines);
    lines.blank();
    lines.text(
        0,
        "Columns follow 7 CFR 110.3 (restricted products), 40 CFR 170.311 and EU 2023/564; `--format json` says which \
         asks for what. What your law asks for may be more.",
    );
    lines.text(0, "For a spreadsheet: `bloomward records --format csv`.");
    lines.finish()
}

fn sums(season: &Season, lines: &mut Lines) {
    let names = GroveTrees { plan: season.plan, grove: season.grove };
    let symbol = season.on_area();
    let unit = spoken::unit(symbol).ok();
    let mut before = String::new();
    for it in on_land(season) {
        let amount = it.amount.zip(unit.as_ref()).map_or_else(
            || "not known: a row does not say how much".to_string(),
            |((low, high), unit)| between(unit.amount_from_base(low), unit.amount_from_base(high), symbol),
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

fn day(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// Returns the name of a column as a page prints it.
fn label(column: &str) -> String {
    match column {
        "keep-out-until" => "Keep out to".to_string(),
        "pick-not-before" => "Pick from".to_string(),
        "product-used" => "Used in all".to_string(),
        "on-land" => "On the land".to_string(),
        other => capital(other),
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
