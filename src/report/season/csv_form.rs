//! The season as CSV for a spreadsheet: a row for each decision of a morning, and one for each spray.

use super::SeasonPage;
use crate::replay::{Blank, ReplayedDay};
use crate::report::records::harmless;
use crate::units::{clean, plain};

/// The columns.
const COLUMNS: [&str; 17] = [
    "morning",
    "what",
    "verdict",
    "product",
    "strength",
    "choice",
    "waits-for-weather",
    "trees",
    "which-trees",
    "start",
    "lowest [°C]",
    "highest [°C]",
    "humidity [%]",
    "rain [mm]",
    "wet-hours",
    "hours-known",
    "hours",
];

/// Returns the season as CSV (RFC 4180), the first line its columns.
pub fn csv(page: &SeasonPage<'_>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Memory takes every row, and all rows have the same length.
    let _ = writer.write_record(COLUMNS);
    for day in &page.replay.days {
        for told in rows(page, day) {
            let air = air(day);
            let cells = [day.morning.format("%Y-%m-%dT%H:%M").to_string()].into_iter().chain(told).chain(air);
            let _ = writer.write_record(cells.map(|cell| harmless(&cell).into_owned()));
        }
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Returns the cells of a day's rows from `what` to `start`.
fn rows(page: &SeasonPage<'_>, day: &ReplayedDay) -> Vec<[String; 9]> {
    let plan = &page.open.plan;
    let names = |trees: &[usize]| {
        let names: Vec<&str> = trees.iter().map(|tree| page.open.grove.trees.name(*tree)).collect();
        (trees.len().to_string(), names.join(" "))
    };
    let mut rows = Vec::new();
    if let Some(blank) = &day.blank {
        rows.push(["blank", blank_word(blank), "", "", "", "", "", "", ""].map(String::from));
    }
    for group in day.groups.iter().filter(|_| day.blank.is_none()) {
        let products = group.spray.iter().map(|(product, _)| &*plan[*product].name);
        let strengths = group.spray.iter().filter_map(|(product, strength)| {
            plan[*product].strengths.get(usize::from(*strength)).map(|strength| &*strength.name)
        });
        let choices: Vec<&str> = group.choices.iter().map(|choice| &*plan[*choice].name).collect();
        let (count, trees) = names(&group.trees);
        let shut = group.verdict == crate::trace::Verdict::AllShut;
        rows.push([
            "advised".into(),
            if shut { "all-shut".into() } else { group.verdict.word().into() },
            products.collect::<Vec<_>>().join(" with "),
            strengths.collect::<Vec<_>>().join(" with "),
            choices.join(" "),
            if group.waits_for_weather { "yes".into() } else { String::new() },
            count,
            trees,
            String::new(),
        ]);
    }
    for tank in &day.done {
        let words: Vec<&str> = tank.parts.iter().map(|(word, ..)| &**word).collect();
        let strengths = tank.parts.iter().map(|(_, product, strength)| {
            let strengths = product.map(|product| &plan[product].strengths);
            let strength = strengths.zip(*strength).and_then(|(all, at)| all.get(usize::from(at)));
            strength.map_or("", |strength| &strength.name)
        });
        let (count, trees) = names(&tank.trees);
        rows.push([
            if tank.assumed { "assumed".into() } else { "sprayed".into() },
            String::new(),
            words.join(" with "),
            strengths.collect::<Vec<_>>().join(" with "),
            String::new(),
            String::new(),
            count,
            trees,
            tank.start.format("%Y-%m-%dT%H:%M").to_string(),
        ]);
    }
    rows
}

/// Returns the word for programs of why there is no answer.
pub(super) fn blank_word(blank: &Blank) -> &'static str {
    match blank {
        Blank::Weather => "weather",
        Blank::Shares(_) => "shares",
        Blank::Always(_) => "always",
    }
}

fn air(day: &ReplayedDay) -> [String; 7] {
    let air = &day.air;
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| rounded(value).to_string());
    [
        number(air.temperature.map(|(low, _)| low)),
        number(air.temperature.map(|(_, high)| high)),
        number(air.humidity.map(|share| share * 100.0)),
        number(air.rain.map(|rain| plain("mm").map_or(rain, |unit| unit.amount_from_base(rain)))),
        air.wet_hours.map_or_else(String::new, |hours| hours.to_string()),
        air.hours.0.to_string(),
        air.hours.1.to_string(),
    ]
}

/// Rounds a reading to a tenth.
pub(super) fn rounded(value: f64) -> f64 {
    clean((value * 10.0).round() / 10.0)
}
