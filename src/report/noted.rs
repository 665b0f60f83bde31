//! What was understood of notes, in full words, and what should be looked at twice.

use super::stored::{RowEntry, StoredEntry, row_entry, twice};
use super::{GroveTrees, Lines, json, ranges};
use crate::grove::{DayDoubt, Doubt, NewRow, Noted, NotedValue, SeenValue, Sighting, Unlikely};
use crate::plan::{Kind, Name, NameId};
use crate::units::{clean, plain};
use crate::words::{Speech, Words};
use chrono::NaiveDate;
use serde::Serialize;

/// What is said of notes beside what was understood.
#[derive(Clone, Copy, Debug)]
pub struct NoteSaid<'s> {
    /// The rows that they come to.
    pub rows: &'s [NewRow],
    /// What the grove says of them as it would stand.
    pub remarks: &'s [String],
    /// What should be looked at twice.
    pub doubts: &'s [String],
}

/// Writes what was understood, a field for each place and day, and what should be looked at twice.
pub fn understood(
    lines: &mut Lines,
    (noted, said_of): (&[Noted], NoteSaid<'_>),
    who: Option<&str>,
    ground: &GroveTrees<'_>,
    words: Words<'_>,
) {
    let language = words.language;
    let rows = match noted.len() {
        1 => language.say("noted.row", &[]),
        count => language.say("noted.rows", &[("count", &count.to_string())]),
    };
    lines.text(
        0,
        &match who {
            None => language.say("noted.understood", &[("rows", &rows)]),
            Some(who) => language.say("noted.understood.by", &[("rows", &rows), ("who", who)]),
        },
    );
    let mut day = None;
    for note in noted {
        if day != Some(note.day) {
            lines.blank();
            lines.text(0, &words.day(note.day));
            day = Some(note.day);
        }
        let trees = &note.place.trees;
        let count = language.trees(trees.len());
        let place = if trees.len() == ground.grove.trees.len() {
            language.say("noted.grove", &[("trees", &count)])
        } else if trees.len() == 1 {
            ranges(ground, trees)
        } else {
            language.say("noted.place", &[("place", &ranges(ground, trees)), ("trees", &count)])
        };
        let mut said: Vec<String> = Vec::new();
        said.extend(note.time.filter(|_| note.rain.is_none()).map(|time| {
            let time = words.clock(time.time());
            language.say("noted.at", &[("time", &time)])
        }));
        said.extend(note.share.map(|share| {
            let share = words.share(share);
            language.say("noted.share", &[("share", &share)])
        }));
        said.extend(note.values.iter().map(|value| value_words(value, words)));
        let rain = note.rain.iter();
        said.extend(rain.map(|rain| match (rain.from, rain.read) {
            (Some(from), Some(read)) => {
                let span = words.span(from, read);
                language.say("noted.rain.night", &[("rain", &rain.written), ("span", &span)])
            }
            (None, Some(read)) => {
                let time = words.clock(read.time());
                language.say("noted.rain.so-far", &[("rain", &rain.written), ("time", &time)])
            }
            (_, None) => language.say("noted.rain", &[("rain", &rain.written)]),
        }));
        let remark = note.remark.iter();
        said.extend(remark.map(|remark| language.say("noted.remark", &[("text", remark)])));
        lines.text(2, &format!("{place}: {}", said.join("; ")));
    }
    if !said_of.remarks.is_empty() {
        lines.blank();
        said_of.remarks.iter().for_each(|remark| lines.text(0, remark));
    }
    twice(lines, said_of.doubts, language);
}

/// Returns what is to be asked about, a sentence each.
pub fn doubt_words(doubt: &Doubt, ground: &GroveTrees<'_>, words: Words<'_>) -> String {
    let trees = ranges(ground, &doubt.trees);
    let beside = |key: &str, name: NameId, value: &SeenValue, before: &Sighting| {
        let item = &ground.plan[name];
        let (now, then) = (seen(item, value, words), seen(item, &before.value, words));
        let day = words.day(before.on);
        let places =
            [("trees", &*trees), ("name", &item.label), ("now", &now), ("then", &then), ("day", &day)];
        words.say(key, &places)
    };
    match &doubt.why {
        Unlikely::Backwards(name, value, before) => beside("noted.backwards", *name, value, before),
        Unlikely::Leap(name, value, before) => beside("noted.leap", *name, value, before),
        Unlikely::Apart((name, word), (other, share)) => {
            let (item, other) = (&ground.plan[*name], &ground.plan[*other]);
            let now = with_meaning(item, &word.value, seen(item, &word.value, words), words);
            let then = seen(other, &share.value, words);
            let day = words.day(share.on);
            let places = [("name", &*item.label), ("now", &now), ("other", &other.label), ("then", &then)];
            words.say("noted.apart", &[&[("trees", &*trees), ("day", &day)], &places[..]].concat())
        }
        Unlikely::Comma(rain) => words.say("noted.comma", &[("rain", rain)]),
        Unlikely::Rain(depth) => {
            let symbol = if words.speech == Speech::Us { "in" } else { "mm" };
            let depth = plain(symbol).map_or(*depth, |unit| unit.amount_from_base(*depth));
            let depth = format!("{} {symbol}", clean((depth * 10.0).round() / 10.0));
            words.say("noted.much-rain", &[("depth", &depth)])
        }
        Unlikely::Day(day, doubt) => day_doubt_words(*day, *doubt, words),
    }
}

/// Returns what is to be asked about a day, a sentence.
pub fn day_doubt_words(day: NaiveDate, doubt: DayDoubt, words: Words<'_>) -> String {
    let day = words.day(day);
    match doubt {
        DayDoubt::LongAgo(days) => {
            words.say("noted.long-ago", &[("day", &day), ("count", &days.to_string())])
        }
        DayDoubt::ToCome => words.say("noted.to-come", &[("day", &day)]),
    }
}

/// What was understood of notes, and where it was stored.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.scouted/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct NotedForm<'s> {
    #[serde(flatten)]
    stored: StoredEntry<'s>,
    rows: Vec<RowEntry<'s>>,
    /// What the grove says of the rows, such as that an earlier one of the same day says otherwise.
    remarks: &'s [String],
    /// What should be looked at twice.
    doubts: &'s [String],
}

/// Returns the JSON form.
pub fn noted_json(said: NoteSaid<'_>, stored: Option<(&str, usize)>) -> String {
    let NoteSaid { rows, remarks, doubts } = said;
    let rows = rows.iter().map(row_entry).collect();
    json::line(&NotedForm { stored: stored.into(), rows, remarks, doubts })
}

fn value_words(value: &NotedValue, words: Words<'_>) -> String {
    let item = &words.plan[value.name];
    let written = match (&value.value, item.kind) {
        (SeenValue::Sample { .. }, _) => seen(item, &value.value, words),
        (_, Kind::Words(_)) => words.plan.shown(&value.written),
        _ => value.written.clone(),
    };
    format!("{} {}", item.label, with_meaning(item, &value.value, written, words))
}

/// Returns a value with what the rulebook says a word of a scale means.
fn with_meaning(item: &Name, value: &SeenValue, written: String, words: Words<'_>) -> String {
    let word = match (value, item.kind) {
        (SeenValue::Word(at), Kind::Words(list)) => words.plan[list].words.get(usize::from(*at)),
        _ => None,
    };
    match word.filter(|word| word.label != word.name) {
        Some(word) => format!("{written} ({})", word.label),
        None => written,
    }
}

fn seen(item: &Name, value: &SeenValue, words: Words<'_>) -> String {
    let number = |base: f64| words.number(item, base);
    let span = |low: &str, high: &str| words.say("value.span", &[("low", low), ("high", high)]);
    match value {
        SeenValue::Number(base) => number(*base),
        SeenValue::Between(low, high) => span(&number(*low), &number(*high)),
        SeenValue::Sample { found, of } => {
            words.say("noted.sample", &[("found", &found.to_string()), ("of", &of.to_string())])
        }
        SeenValue::Word(at) => words.word(item.kind, *at),
        SeenValue::Words(low, high) => {
            let word = |at: u16| words.word(item.kind, at);
            span(&word(*low), &word(*high))
        }
        SeenValue::Text(text) => text.to_string(),
    }
}
