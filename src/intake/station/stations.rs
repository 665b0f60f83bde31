//! Tables of several stations: the column that names them, and the rows of the one that is meant.

use super::layout::Layout;
use super::titles::folded;
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::problems::Problem;
use std::collections::BTreeSet;

/// Words of titles of columns that name stations.
const NAMES: &[&str] = &[
    "station", "estacion", "site", "sitio", "sensor", "device", "logger", "location", "node", "id", "name",
    "nombre", "serial", "finca",
];
/// A table of more stations is none of one grove.
const MOST: usize = 40;

/// Keeps the rows of the station that is meant; asks where several are there and none is named.
///
/// # Errors
/// Says that a station was named and the table names none, or another.
pub(super) fn choose(layout: &mut Layout<'_>, draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
    let answer = draft.answer(Topic::Station).map(str::to_lowercase);
    let Some((place, names)) = column(layout, answer.as_deref()) else {
        if answer.is_none() {
            return Ok(());
        }
        let help = "leave out `--station`, or take the file that has a column with the names of stations";
        let title = layout.titles.first().copied().unwrap_or_default();
        let at = draft.document.text.find(title).unwrap_or(0);
        return Err(draft.document.problem(at, "no column of the table names stations", help));
    };
    match answer.filter(|answer| names.iter().any(|name| name.to_lowercase() == *answer)) {
        Some(answer) => layout.rows.retain(|row| row.cell(place).to_lowercase() == answer),
        None => draft.intake.questions.push(FormQuestion {
            topic: Topic::Station,
            is_needed: true,
            proposed: None,
            about: names.into_iter().collect(),
        }),
    }
    Ok(())
}

/// Finds the column that names stations, and their names: by its title, else as the one by which rows of one moment differ.
fn column(layout: &Layout<'_>, answer: Option<&str>) -> Option<(usize, BTreeSet<String>)> {
    let names = |place: usize| -> BTreeSet<String> {
        layout.rows.iter().map(|row| row.cell(place).to_string()).filter(|name| !name.is_empty()).collect()
    };
    let time = |row: &crate::tables::LooseRow| {
        let at = |place: usize| row.cell(place).to_string();
        (at(layout.time.0), layout.time.1.map(at))
    };
    let moments: BTreeSet<_> = layout.rows.iter().map(|row| time(row)).collect();
    let repeats = layout.parts.is_none() && moments.len() * 10 < layout.rows.len() * 9;
    let free = (0..layout.titles.len()).filter(|place| !layout.is_read(*place));
    let mut found: Vec<(bool, usize, BTreeSet<String>)> = Vec::new();
    for place in free {
        let title = folded(layout.titles.get(place).copied().unwrap_or_default());
        let is_named = title.split(' ').any(|word| NAMES.contains(&word));
        let names = names(place);
        let several = (2..=MOST).contains(&names.len()) && names.len() * 2 <= layout.rows.len();
        let parts = || {
            let rows: BTreeSet<_> = layout.rows.iter().map(|row| (time(row), row.cell(place))).collect();
            rows.len() == layout.rows.len()
        };
        let is_meant = answer.is_some_and(|answer| names.iter().any(|name| name.to_lowercase() == answer));
        let is_text = names.iter().any(|name| name.parse::<f64>().is_err());
        if (is_named && (several || answer.is_some() && !names.is_empty()))
            || (several && (is_meant || repeats && parts()) && (is_text || repeats))
        {
            found.push((is_named, place, names));
        }
    }
    found.sort_by_key(|(is_named, place, _)| (!is_named, *place));
    found.into_iter().next().map(|(_, place, names)| (place, names))
}
