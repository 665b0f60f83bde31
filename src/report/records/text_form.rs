//! The record as a page.

use super::row::{COLUMNS, Column, between};
use super::{OnLand, Season, on_land, rotations, unsprayed};
use crate::grove::SprayRow;
use crate::labels::open_after;
use crate::report::{GroveTrees, Lines, ranges};
use crate::units::spoken;
use crate::words::Words;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;

/// What is told of the air together.
const MEASURED: [(&str, &str); 5] = [
    ("measured-wind", "record.measured.wind"),
    ("measured-temperature", "record.measured.temperature"),
    ("measured-humidity", "record.measured.humidity"),
    ("delta-t", "record.measured.delta-t"),
    ("rain-after", "record.measured.rain"),
];

/// What no record can do without, for those who ask for it.
const OWED: [&str; 7] =
    ["registration", "active", "area", "product-used", "keep-out-until", "operator", "certificate"];

/// Returns the record as a page of a width; `grove` is the grove as commands name it.
pub fn text(season: &Season, grove: &str, words: Words<'_>, width: usize) -> String {
    let mut lines = Lines::new(width);
    let (first, last) = season.days;
    let places = [("grove", &*season.grove.title), ("from", &words.day(first)), ("to", &words.day(last))];
    lines.text(0, &words.say("record.title", &places));
    lines.rule('=');
    if !season.grove.log.is_known() {
        lines.text(0, &words.say("record.log-unknown", &[]));
        return lines.finish();
    }
    if let Some(latest) = season.ahead().last() {
        let as_of = latest.format("%Y-%m-%dT%H:%M").to_string();
        let count = season.ahead().len() as i64;
        lines.text(0, &words.language.counted("record.ahead", count, &[("moment", &as_of)]));
    }
    let mut rows = 0usize;
    for row in season.rows() {
        rows += 1;
        lines.blank();
        one(season, row, words, &mut lines);
    }
    lines.blank();
    lines.text(0, &words.say("record.totals", &[]));
    lines.rule('-');
    lines.field(&words.say("record.rows", &[]), &rows.to_string());
    sums(season, words, &mut lines);
    lines.blank();
    lines.text(0, &words.say("record.laws", &[]));
    lines.text(0, &words.say("record.next", &[("grove", grove)]));
    lines.finish()
}

/// Writes one spray.
fn one(season: &Season, row: &SprayRow, words: Words<'_>, lines: &mut Lines) {
    lines.text(0, &words.span(row.start, row.end));
    let cells = season.cells(row);
    let (keep_out, pick) = open_after(season.plan, season.grove, row);
    let told = || COLUMNS.iter().zip(&cells).map(|(column, cell)| (column, cell.as_str()));
    for (column, cell) in told().skip(2) {
        let said = match column.name {
            first if first == MEASURED[0].0 => {
                let cell =
                    |name: &str| told().find(|(column, _)| column.name == name).map_or("", |(_, cell)| cell);
                let known = MEASURED.iter().map(|(name, key)| (key, cell(name)));
                let known = known.filter(|(_, cell)| !cell.is_empty());
                known
                    .map(|(key, cell)| words.say(key, &[("value", &ends(cell, words))]))
                    .collect::<Vec<_>>()
                    .join(", ")
            }
            name if MEASURED.iter().any(|(measured, _)| *measured == name) => String::new(),
            "keep-out-until" => keep_out.map_or_else(String::new, |until| {
                words.say("record.keep-out-until.words", &[("until", &words.moment(until))])
            }),
            "pick-not-before" => pick_words((keep_out, pick), words),
            "why-not-known" => continue,
            _ => cell_words(row, column, cell, words),
        };
        if !said.is_empty() {
            lines.field(&label(column.name, words), &said);
        }
    }
    let missing: Vec<String> = told()
        .filter(|(column, cell)| OWED.contains(&column.name) && cell.is_empty())
        .map(|(column, _)| {
            let label = label(column.name, words).to_lowercase();
            words.say("record.lacking.words", &[("label", &label), ("asked-by", column.asked_by)])
        })
        .collect();
    if !missing.is_empty() {
        lines.field(&words.say("record.lacking", &[]), &missing.join(", "));
    }
    let why = told().find(|(column, _)| column.name == "why-not-known").map_or("", |(_, cell)| cell);
    if !why.is_empty() {
        lines.field(&words.say("page.why", &[]), why);
    }
}

/// Returns a cell in the words of the page: the parts of a mix one by one, names of products and diseases as it has them.
fn cell_words(row: &SprayRow, column: &Column, cell: &str, words: Words<'_>) -> String {
    let part_of = |at: usize| words.plan.products.get(row.parts.get(at)?.product?.index());
    let part = |at: usize, part: &str| match column.name {
        "product" => part_of(at).map_or_else(|| part.to_string(), |product| product.label.to_string()),
        "strength" => {
            let strengths = part_of(at).into_iter().flat_map(|product| &product.strengths);
            let strength = strengths.into_iter().find(|strength| *strength.name == *part);
            strength.map_or_else(|| part.to_string(), |strength| strength.shown.to_string())
        }
        _ if part == "not known" => words.say("value.unknown", &[]),
        _ => part.to_string(),
    };
    match column.name {
        "stage" => words.plan.shown(cell),
        "target" => words.targets(cell),
        "in-spray" | "on-land" => {
            let one = |amount: &str| match amount.split_once(' ') {
                Some((ingredient, amount)) => {
                    format!("{} {}", words.ingredient(ingredient), ends(amount, words))
                }
                None => amount.to_string(),
            };
            cell.split(", ").map(one).collect::<Vec<_>>().join(", ")
        }
        "product" | "strength" | "jug" | "registration" | "active" | "group" | "rate" | "product-used" => {
            let parts: Vec<String> = cell.split(" with ").enumerate().map(|(at, it)| part(at, it)).collect();
            words.language.joined("with", &parts)
        }
        _ => cell.to_string(),
    }
}

/// Returns an amount that may be written with its two ends.
fn ends(cell: &str, words: Words<'_>) -> String {
    match cell.split_once(" to ") {
        Some((low, high)) => words.say("value.span", &[("low", low), ("high", high)]),
        None => cell.to_string(),
    }
}

/// Returns from when fruit may be picked: the label's days, and never before people may go in.
fn pick_words((keep_out, pick): (Option<DateTime<Tz>>, Option<NaiveDate>), words: Words<'_>) -> String {
    let Some(day) = pick else { return String::new() };
    let barred = keep_out.is_some_and(|until| until.date_naive() >= day);
    let key = if barred { "record.pick.words.entry" } else { "record.pick.words" };
    words.say(key, &[("day", &words.day(day))])
}

fn sums(season: &Season, words: Words<'_>, lines: &mut Lines) {
    let names = GroveTrees { plan: season.plan, grove: season.grove };
    let mut before = String::new();
    for it in on_land(season) {
        let name = words.ingredient(&it.ingredient);
        let label = if it.ingredient == before { String::new() } else { capital(&name) };
        let places = [("block", &*it.block), ("amount", &land_words(season, &it, words))];
        lines.field(&label, &words.say("record.land", &places));
        before = it.ingredient;
    }
    for (at, it) in rotations(season).iter().enumerate() {
        let tank = |groups: &Vec<String>| match groups.is_empty() {
            true => words.say("record.groups.none", &[]),
            false => groups.join("+"),
        };
        let latest = it.in_a_row.iter().map(|(group, times)| {
            let key = if *times == 1 { "record.groups.once" } else { "record.groups.in-a-row" };
            words.say(key, &[("group", group), ("count", &times.to_string())])
        });
        let latest = latest.collect::<Vec<_>>().join("; ");
        let groups = it.groups.iter().map(tank).collect::<Vec<_>>().join(", ");
        let places = [("trees", &*ranges(&names, &it.trees)), ("groups", &groups), ("latest", &latest)];
        let key = if latest.is_empty() { "record.groups.words" } else { "record.groups.latest" };
        let label = if at == 0 { words.say("record.groups", &[]) } else { String::new() };
        lines.field(&label, &words.say(key, &places));
    }
    let never = unsprayed(season);
    let said = match never.len() {
        0 => words.say("record.unsprayed.none", &[]),
        count => {
            let places = [("count", &*words.language.trees(count)), ("trees", &ranges(&names, &never))];
            words.say("record.unsprayed.words", &places)
        }
    };
    lines.field(&words.say("record.unsprayed", &[]), &said);
}

/// Returns how much of an ingredient the land of a block has had, in the unit of the page and in the other.
fn land_words(season: &Season, it: &OnLand, words: Words<'_>) -> String {
    let Some((low, high)) = it.amount else { return words.say("record.land.unknown", &[]) };
    let (own, other) = match season.on_area() {
        "lb/ac" => ("lb/ac", "kg/ha"),
        own => (own, "lb/ac"),
    };
    let amount = |base: f64, symbol: &str| {
        let number = spoken::unit(symbol).map_or(0.0, |unit| unit.amount_from_base(base));
        between(number, number, symbol)
    };
    let both = |base: f64| {
        let places = [("amount", &*amount(base, own)), ("other", &amount(base, other))];
        if base > 0.0 { words.say("record.land.other", &places) } else { amount(base, own) }
    };
    match low {
        low if amount(low, own) == amount(high, own) => both(high),
        0.0 => words.say("record.land.up-to", &[("amount", &both(high))]),
        low => words.say("record.land.span", &[("low", &both(low)), ("high", &both(high))]),
    }
}

/// Returns the name of a column as a page prints it.
fn label(column: &str, words: Words<'_>) -> String {
    let column = if column == MEASURED[0].0 { "measured" } else { column };
    words.say(&format!("record.{column}"), &[])
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
