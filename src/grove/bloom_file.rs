//! A bloom that is assumed: for a year without a diary, what would have been seen of which trees from which day on.
//!
//! Comes in: a YAML file in the rulebook's own words. Goes out: rows as of scouting, one a day for each kind of trees, so that
//! what is assumed never grows old. A day of the year holds within the rulebook's season; the latest entry that speaks of an
//! observation counts.

use super::block::unknown_block;
use super::harvest::cultivar;
use super::keys::{self, Keys};
use super::reading::FileReading;
use super::sight::SightReader;
use super::target::Target;
use super::tree::Trees;
use super::trouble::Trouble;
use super::yaml::{self, Value, YamlNode};
use super::{AssumedBloom, Block, value};
use crate::phrase::said;
use crate::plan::NameId;
use crate::source::Span;
use chrono::{Datelike, Days, NaiveDate};
use std::collections::BTreeMap;
use std::sync::Arc;

/// So many days before the moment of the advice are assumed, where nothing else is asked for.
const DAYS: u64 = 366;

/// From when on an entry holds.
#[derive(Clone, Copy)]
enum From {
    Date(NaiveDate),
    /// Month and day, in every season.
    OfYear(u32, u32),
}

/// What is assumed of some trees from a day on.
struct Entry {
    from: From,
    targets: Vec<Target>,
    cells: Vec<(NameId, usize, String)>,
    span: Span,
}

/// Reads the file, and adds its rows to what was seen; returns what it is called.
pub(super) fn read(
    bloom: AssumedBloom,
    (trees, blocks): (&Trees, &[Block]),
    sights: &mut SightReader,
    reading: &mut FileReading,
) -> Option<Arc<str>> {
    let node = match yaml::parse(bloom.source, reading.sources) {
        Ok(node) => node,
        Err(problem) => {
            reading.problems.push(*problem);
            return None;
        }
    };
    let mut keys = Keys::open(&node, "an assumed bloom", &mut reading.problems)?;
    let title = keys.text("bloom", &mut reading.problems);
    let listed = keys.take("calendar");
    keys.refuse_rest(&mut reading.problems);
    let help = "write `calendar:` and under it one `- { from: 20 Jan, cultivar: Kent, stage: full-bloom }` on each line";
    if title.is_none() {
        reading.error(
            node.span,
            "the file does not say what it assumes",
            "write `bloom: A typical season, invented`",
        );
    }
    let Some(Value::List(items)) = listed.map(|node| &node.value) else {
        reading.error(node.span, "the assumed bloom has no calendar", help);
        return None;
    };
    let entries: Vec<Entry> =
        items.iter().filter_map(|item| entry(item, (trees, blocks), sights, reading)).collect();
    // Each value is read once for its errors; what cannot be read ends the opening of the grove.
    if !reading.problems.any_error() {
        add_rows(bloom, &entries, sights, reading);
    }
    title.map(|(title, _)| title.into())
}

fn entry(
    node: &YamlNode,
    (trees, blocks): (&Trees, &[Block]),
    sights: &mut SightReader,
    reading: &mut FileReading,
) -> Option<Entry> {
    let mut keys = Keys::open(node, "an entry of the calendar", &mut reading.problems)?;
    let from = keys.text("from", &mut reading.problems);
    let (of_cultivar, of_block) =
        (keys.text("cultivar", &mut reading.problems), keys.text("block", &mut reading.problems));
    let Some((text, at)) = from else {
        let help = "write from which day on it holds: `from: 20 Jan`, or `from: 2027-01-20`";
        reading.error(keys.span, "an entry of the calendar does not say from when", help);
        return None;
    };
    let from = reading.keep(day_from(text), at)?;
    let block = match of_block {
        None => None,
        Some((name, at)) => {
            let found = blocks.iter().position(|block| *block.name == *name);
            let found =
                found.and_then(|at| u16::try_from(at).ok()).ok_or_else(|| unknown_block(name, blocks));
            Some(reading.keep(found, at)?)
        }
    };
    let cultivar = match of_cultivar {
        None => None,
        Some((name, at)) => Some(reading.keep(cultivar(name, trees), at)?),
    };
    let all_blocks = || (0..blocks.len()).filter_map(|at| u16::try_from(at).ok());
    let targets = match (block, cultivar) {
        (None, None) => vec![Target::Grove],
        (Some(block), None) => vec![Target::Block(block)],
        (Some(block), Some(cultivar)) => vec![Target::Cultivar(block, cultivar)],
        (None, Some(cultivar)) => all_blocks().map(|block| Target::Cultivar(block, cultivar)).collect(),
    };
    let known = keys.asked();
    let span = keys.span;
    let mut cells = Vec::new();
    for (key, node) in keys.rest() {
        let Some(id) = reading.observation(&key.text, key.span, "a key of the calendar", &known) else {
            continue;
        };
        if let Some(trouble) = targets.iter().find_map(|target| reading.misplaced(id, *target)) {
            reading.problems.push(trouble.at(key.span));
            continue;
        }
        let Some(text) = keys::text(node, &key.text, &mut reading.problems) else { continue };
        let reader = sights.reader(id);
        // A row of no trees: it is read for what is wrong with it.
        let trial = sights.row(i32::MIN, span, &[], None);
        let read = sights.cell(reader, trial, text.as_bytes());
        if reading.keep(read, node.span) == Some(true) {
            cells.push((id, reader, text.to_string()));
        }
    }
    Some(Entry { from, targets, cells, span })
}

/// Adds for each day what holds on it.
fn add_rows(bloom: AssumedBloom, entries: &[Entry], sights: &mut SightReader, reading: &mut FileReading) {
    let last = reading.as_of.date_naive();
    let first = bloom.first.unwrap_or_else(|| last.checked_sub_days(Days::new(DAYS)).unwrap_or(last));
    let season = reading.plan.head.season.0;
    for day in first.iter_days().take_while(|day| *day <= last) {
        let begins = latest((u32::from(season.0), u32::from(season.1)), day);
        let mut holds: BTreeMap<(Target, NameId), (NaiveDate, &Entry, usize, &str)> = BTreeMap::new();
        for entry in entries {
            let since = match entry.from {
                From::Date(date) => Some(date).filter(|date| *date <= day),
                From::OfYear(month, number) => {
                    latest((month, number), day).filter(|date| Some(*date) >= begins)
                }
            };
            let Some(since) = since else { continue };
            for (target, (name, reader, text)) in
                entry.targets.iter().flat_map(|target| entry.cells.iter().map(move |cell| (target, cell)))
            {
                let known = holds.get(&(*target, *name));
                if known.is_none_or(|(known, ..)| *known <= since) {
                    holds.insert((*target, *name), (since, entry, *reader, text));
                }
            }
        }
        let mut row: Option<(Target, usize)> = None;
        for ((target, _), (_, entry, reader, text)) in holds {
            let number = match row {
                Some((of, number)) if of == target => number,
                Some(_) | None => sights.row(day.num_days_from_ce(), entry.span, &[target], None),
            };
            row = Some((target, number));
            // It was read once without an error.
            let _ = sights.cell(reader, number, text.as_bytes());
        }
    }
}

/// Returns the latest day of a month and a number up to a day; of 29 February in a short year 28 February.
fn latest((month, number): (u32, u32), until: NaiveDate) -> Option<NaiveDate> {
    let in_year =
        |year: i32| (0..4).find_map(|back| NaiveDate::from_ymd_opt(year, month, number.checked_sub(back)?));
    in_year(until.year()).filter(|date| *date <= until).or_else(|| in_year(until.year() - 1))
}

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// Reads `20 Jan`, `Jan 20` or `2027-01-20`.
fn day_from(text: &str) -> Result<From, Trouble> {
    if let Ok(date) = value::date(text) {
        return Ok(From::Date(date));
    }
    let month = |word: &str| MONTHS.iter().position(|known| word.eq_ignore_ascii_case(known));
    let words: Vec<&str> = text.split_whitespace().collect();
    let found = match words[..] {
        [one, other] => {
            let pair =
                month(other).map(|month| (month, one)).or_else(|| month(one).map(|month| (month, other)));
            pair.and_then(|(month, number)| {
                Some((u32::try_from(month).ok()? + 1, number.parse::<u32>().ok()?))
            })
        }
        _ => None,
    };
    // A leap year has every day.
    let exists = |(month, number): &(u32, u32)| NaiveDate::from_ymd_opt(2028, *month, *number).is_some();
    found.filter(exists).map(|(month, number)| From::OfYear(month, number)).ok_or_else(|| {
        Trouble::new(said!("`{text}` is not a day of the year", text))
            .help("write `20 Jan`, or the date: `2027-01-20`")
    })
}
