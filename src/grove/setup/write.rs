//! The files of a new grove: `grove.yaml`, and tables with nothing but their header.

use super::check::{place, sprayer, station};
use super::row_plan::row;
use super::{Answers, OF_JUG};
use crate::grove::LOG_COLUMNS;
use crate::plan::{Origin, Place, Plan};
use crate::units::plain;
use chrono::NaiveDate;
use std::fmt::Write;

/// A file of a new grove.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewFile {
    /// Its path inside the folder.
    pub path: &'static str,
    /// Its text.
    pub text: String,
}

/// The file of a grove whose weather is still to come: its header alone.
pub const WEATHER: &str = "weather.csv";
/// The block of rows that name none.
const BLOCK: &str = "main";

/// Returns the files that the answers make; `rulebook` is the path that `grove.yaml` names, `today` the day on which
/// the labels were read.
pub fn files(answers: &Answers, plan: &Plan, rulebook: &str, today: NaiveDate) -> Vec<NewFile> {
    let mut yaml = String::new();
    head(&mut yaml, answers, rulebook);
    shed(&mut yaml, answers, plan, today);
    if let Some(keys) = answers.get("sprayer").and_then(|text| sprayer(text).ok()) {
        let keys: Vec<String> = keys.iter().map(|(key, value)| format!("{key}: {}", quoted(value))).collect();
        line(&mut yaml, format!("\nsprayer: {{ {} }}", keys.join(", ")));
    }
    trees(&mut yaml, answers);
    let sprays = LOG_COLUMNS.join(",") + "\n";
    let mut files = vec![
        NewFile { path: "grove.yaml", text: yaml },
        NewFile { path: "scouting.csv", text: scouting_header(plan) },
        NewFile { path: "sprays.csv", text: sprays },
    ];
    if answers.get("weather").is_none() {
        let header = match answers.get("units") {
            Some("metric") => "time,temperature [°C],humidity [%],rain [mm],wind [km/h],gust [km/h]\n",
            _ => "time,temperature [°F],humidity [%],rain [in],wind [mph],gust [mph]\n",
        };
        files.push(NewFile { path: WEATHER, text: header.to_string() });
    }
    files
}

// Writing into a text cannot fail, so its result says nothing.
fn line(yaml: &mut String, text: impl AsRef<str>) {
    let _ = writeln!(yaml, "{}", text.as_ref());
}

fn head(yaml: &mut String, answers: &Answers, rulebook: &str) {
    line(
        yaml,
        "# Made by `bloomward start`. Change whatever has changed; the example groves show every key.",
    );
    line(yaml, format!("grove: {}", quoted(answers.get("grove").unwrap_or("Grove"))));
    line(yaml, format!("rulebook: {}", quoted(rulebook)));
    line(yaml, format!("units: {}", answers.get("units").unwrap_or("us")));
    if let Some((latitude, longitude, elevation)) = answers.get("place").and_then(|text| place(text).ok()) {
        let elevation = elevation.map_or_else(String::new, |text| format!(", elevation: {}", quoted(&text)));
        let zone = answers.get("timezone").unwrap_or("UTC");
        line(
            yaml,
            format!("place: {{ latitude: {latitude}, longitude: {longitude}{elevation}, timezone: {zone} }}"),
        );
    }
    weather(yaml, answers);
    line(yaml, "scouting: scouting.csv");
    match answers.get("sprayed") {
        Some("yes") => {
            line(yaml, "# Write what was sprayed into sprays.csv, then take away the sign before this line:");
            line(yaml, "# sprays: sprays.csv");
        }
        Some(_) => line(yaml, "sprays: sprays.csv"),
        // Not answered: the history is unknown, never empty.
        None => line(yaml, "# sprays: sprays.csv"),
    }
    if let Some(day) = answers.get("harvest") {
        line(yaml, format!("harvest: {day}"));
    }
    if matches!(answers.get("certified"), Some("organic" | "yes")) {
        line(yaml, "certified: organic");
    }
}

fn weather(yaml: &mut String, answers: &Answers) {
    let Some(file) = answers.get("weather") else {
        line(
            yaml,
            "# Without weather the guide asks more and offers no hours. Once hours stand in weather.csv, take away",
        );
        line(yaml, "# the sign before the next line, and write when their forecast was issued:");
        line(yaml, "# weather: { file: weather.csv, forecast-issued: 2027-02-10T18:00 }");
        return;
    };
    let forecast =
        answers.get("forecast").map_or_else(String::new, |at| format!(", forecast-issued: {}", quoted(at)));
    let station = answers.get("station").and_then(|text| station(text).ok());
    let station = station.map_or_else(String::new, |(distance, height)| {
        format!(", station: {{ distance: {}, height: {} }}", quoted(distance), quoted(height))
    });
    line(yaml, format!("weather: {{ file: {}{forecast}{station} }}", quoted(file)));
}

fn shed(yaml: &mut String, answers: &Answers, plan: &Plan, today: NaiveDate) {
    let on_shelf = |product: &&crate::plan::Product| answers.get(&product.name).is_some();
    let products: Vec<_> = plan.products.iter().filter(on_shelf).collect();
    if products.is_empty() {
        return;
    }
    line(yaml, "\n# The jugs on the shelf, as their labels say.\nshed:");
    for product in products {
        line(yaml, format!("  {}:", product.name));
        line(yaml, format!("    name: {}", quoted(answers.get(&product.name).unwrap_or_default())));
        for (key, ..) in OF_JUG {
            let Some(value) = answers.get(&format!("{} {key}", product.name)) else { continue };
            match (key, &product.contains) {
                ("contains", Some(ingredient)) => {
                    line(yaml, format!("    contains: {{ {ingredient}: {} }}", quoted(value)));
                }
                ("contains", None) => {
                    line(yaml, format!("    contains: {{ {}: {} }}", product.name, quoted(value)));
                }
                _ => line(yaml, format!("    {key}: {}", quoted(value))),
            }
        }
        line(yaml, format!("    label-read: {today}"));
    }
}

fn trees(yaml: &mut String, answers: &Answers) {
    let rows: Vec<_> = answers.rows().filter_map(|text| row(text).ok()).collect();
    let spacing = answers.get("spacing");
    let mut blocks: Vec<&str> = rows.iter().map(|row| row.block.as_deref().unwrap_or(BLOCK)).collect();
    let mut seen: Vec<&str> = Vec::new();
    blocks.retain(|block| {
        !seen.contains(block) && {
            seen.push(block);
            true
        }
    });
    line(yaml, "\nblocks:");
    for block in blocks {
        let spacing = spacing.map_or_else(String::new, |text| format!(", spacing: {}", quoted(text)));
        line(yaml, format!("  - {{ block: {}{spacing} }}", quoted(block)));
    }
    line(
        yaml,
        "\n# In walking order. `at` is metres east and north, from the spacing: put it right where it matters.",
    );
    line(yaml, "trees:");
    let apart = spacing.and_then(|text| crate::grove::block::spacing(text).ok());
    let metre = plain("m").map_or(1.0, |unit| unit.factor);
    let metres = |length: f64, times: usize| format!("{:.1}", length * times as f64 / metre);
    for (number, row) in rows.iter().enumerate() {
        let block = quoted(row.block.as_deref().unwrap_or(BLOCK));
        for (place, (name, cultivar)) in row.names().into_iter().enumerate() {
            let cultivar =
                if cultivar.is_empty() { String::new() } else { format!(", cultivar: {}", quoted(cultivar)) };
            let at = apart.map_or_else(String::new, |apart| {
                format!(", at: [{}, -{}]", metres(apart.trees, place), metres(apart.rows, number))
            });
            let at = at.replace("-0.0", "0.0");
            line(yaml, format!("  - {{ tree: {}, block: {block}{cultivar}{at} }}", quoted(&name)));
        }
    }
}

/// Returns the header of the scouting file: every observation of the rulebook that is not of another place.
fn scouting_header(plan: &Plan) -> String {
    let observed = plan.names.iter().filter(|name| matches!(name.origin, Origin::Observed(_)));
    let observed: Vec<&crate::plan::Name> = observed.collect();
    let panicles = observed.iter().any(|name| name.scope == Place::Panicles);
    let first = ["when", "who", "on"].into_iter().chain(panicles.then_some("panicles"));
    let names = observed.iter().map(|name| &*name.word).filter(|word| *word != "rain");
    first.chain(names).chain(["rain"]).collect::<Vec<_>>().join(",") + "\n"
}

/// Returns a text as YAML reads it back: plain where that is safe, else in quotes.
pub(in crate::grove) fn quoted(text: &str) -> String {
    let plain =
        |sign: char| sign.is_alphanumeric() || matches!(sign, ' ' | '-' | '/' | '.' | '%' | '_' | '²' | '³');
    let safe = text.chars().all(plain)
        && text.starts_with(char::is_alphanumeric)
        && !matches!(text, "yes" | "no" | "true" | "false" | "null" | "on" | "off");
    if safe { text.to_string() } else { serde_json::Value::from(text).to_string() }
}
