//! What was understood of notes, in full words, and what should be looked at twice.

use super::stored::{row_json, stored_json};
use super::{GroveTrees, Lines, count, json, ranges};
use crate::explain::{Speech, weekday, words};
use crate::grove::{Doubt, NewRow, Noted, NotedValue, SeenValue, Sighting, Unlikely};
use crate::plan::{Kind, Name, NameId};

/// Writes what was understood, a field for each place and day.
pub fn understood(lines: &mut Lines, noted: &[Noted], who: Option<&str>, ground: &GroveTrees<'_>) {
    let by = who.map_or_else(String::new, |who| format!(", seen by {who}"));
    let notes = if noted.len() == 1 { "1 row".to_string() } else { format!("{} rows", noted.len()) };
    lines.text(0, &format!("Understood, as {notes} of scouting{by}:"));
    let mut day = None;
    for note in noted {
        if day != Some(note.day) {
            lines.blank();
            lines.text(0, &weekday(note.day));
            day = Some(note.day);
        }
        let trees = &note.place.trees;
        let place = if trees.len() == ground.grove.trees.len() {
            format!("the whole grove ({})", count(trees.len()))
        } else if trees.len() == 1 {
            ranges(ground, trees)
        } else {
            format!("{} ({})", ranges(ground, trees), count(trees.len()))
        };
        let mut said: Vec<String> = Vec::new();
        said.extend(note.share.map(|share| {
            format!("of {} of the panicles", crate::units::show(crate::units::clean(share * 100.0), "%"))
        }));
        said.extend(note.values.iter().map(|value| value_words(value, ground)));
        said.extend(note.rain.iter().map(|rain| format!("rain in the gauge {}", rain.written)));
        said.extend(note.remark.iter().map(|remark| format!("note “{remark}”")));
        lines.text(2, &format!("{place}: {}", said.join("; ")));
    }
}

/// Returns what is to be asked about, a sentence each.
pub fn doubt_words(doubt: &Doubt, ground: &GroveTrees<'_>, speech: Speech) -> String {
    let trees = ranges(ground, &doubt.trees);
    let then = |name: NameId, before: &Sighting| {
        format!("{} on {}", seen(&ground.plan[name], &before.value, ground, speech), weekday(before.on))
    };
    match &doubt.why {
        Unlikely::Backwards(name, value, before) => {
            let item = &ground.plan[*name];
            let now = seen(item, value, ground, speech);
            format!("{trees}: {} {now} lies before {}.", item.label, then(*name, before))
        }
        Unlikely::Leap(name, value, before) => {
            let item = &ground.plan[*name];
            let now = seen(item, value, ground, speech);
            format!("{trees}: {} {now} lies far from {}.", item.label, then(*name, before))
        }
        Unlikely::Rain(depth) => {
            format!("{} mm of rain in one day is very much.", crate::units::clean(depth.round()))
        }
    }
}

/// Writes the JSON form.
pub fn noted_json(rows: &[NewRow], doubts: &[String], stored: Option<(&str, usize)>) -> String {
    let mut out = b"{\"format\":\"bloomward.scouted/1\",".to_vec();
    stored_json(&mut out, stored);
    out.extend_from_slice(b",\"rows\":");
    json::list(&mut out, rows, row_json);
    out.extend_from_slice(b",\"doubts\":");
    json::texts(&mut out, doubts.iter().map(String::as_str));
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}

fn value_words(value: &NotedValue, ground: &GroveTrees<'_>) -> String {
    let item = &ground.plan[value.name];
    let explained = match (&value.value, item.kind) {
        (SeenValue::Word(at), Kind::Words(list)) => {
            let word = ground.plan[list].words.get(usize::from(*at));
            word.filter(|word| word.label != word.name).map(|word| format!(" ({})", word.label))
        }
        _ => None,
    };
    let written = match item.kind {
        Kind::Words(_) => words::spaced(&value.written),
        _ => value.written.clone(),
    };
    format!("{} {written}{}", item.label, explained.unwrap_or_default())
}

fn seen(item: &Name, value: &SeenValue, ground: &GroveTrees<'_>, speech: Speech) -> String {
    let number = |base: f64| words::number(item, base, speech);
    match value {
        SeenValue::Number(base) => number(*base),
        SeenValue::Between(low, high) => format!("{} to {}", number(*low), number(*high)),
        SeenValue::Sample { found, of } => format!("{found} of {of}"),
        SeenValue::Word(at) => words::word(ground.plan, item.kind, *at),
        SeenValue::Words(low, high) => {
            let word = |at: u16| words::word(ground.plan, item.kind, at);
            format!("{} to {}", word(*low), word(*high))
        }
        SeenValue::Text(text) => text.to_string(),
    }
}
