//! `trees` in `grove.yaml`: a list, each with what was seen of it, for a small grove.
//!
//! Comes in: YAML nodes. Goes out: the trees in walking order, and rows of scouting for their panicle groups, for the
//! blocks and for the grove.

use super::column::ColumnReader;
use super::keys::{self, Keys};
use super::outline::{TOP_KEYS, first_line};
use super::reading::FileReading;
use super::sight::{SightReader, UNDATED};
use super::target::Target;
use super::tree::{NewTree, Trees};
use super::tree_sheet::{Blocks, metres, seen_day, twice};
use super::value;
use super::yaml::{Key, Value, YamlNode};
use crate::phrase::{Phrase, said};
use crate::plan::{NameId, Origin};
use crate::source::{SourceId, Span};
use crate::units::spoken;
use chrono::Datelike;

/// The panicle groups of trees: each tree with its list of groups and its day.
pub(super) type PanicleLists<'n> = Vec<(u32, i32, &'n YamlNode)>;

/// Reads the list of trees.
pub(super) fn read<'n>(
    node: &'n YamlNode,
    source: SourceId,
    blocks: &mut Blocks,
    seen: Option<i32>,
    reading: &mut FileReading,
) -> (Trees, PanicleLists<'n>) {
    let mut trees = Trees::of_source(source);
    let mut panicles = Vec::new();
    let Value::List(items) = &node.value else {
        let help = "write one `- { tree: A01, block: terrace, cultivar: Kent }` on each line, or the name of a file: \
                    `trees: trees.csv`";
        reading.error(node.span, "`trees` is a list or the name of a file", help);
        return (trees, panicles);
    };
    let mut columns: Vec<ColumnReader> = Vec::new();
    for item in items {
        let Some(mut keys) = Keys::open(item, "a tree", &mut reading.problems) else { continue };
        let problems = &mut reading.problems;
        let (name, block, cultivar) =
            (keys.text("tree", problems), keys.text("block", problems), keys.text("cultivar", problems));
        let (harvest, own_seen) = (keys.text("harvest", problems), keys.text("seen", problems));
        let (at, groups) = (keys.take("at"), keys.take("panicles"));
        let Some((name, name_at)) = name.filter(|(name, _)| !name.is_empty()) else {
            reading.error(first_line(item.span), "a tree has no name", "write `tree:` and a name of its own");
            continue;
        };
        let (block, block_at) = block.unwrap_or(("", first_line(item.span)));
        let found = blocks.find(block, block_at);
        let block = reading.keep(found, block_at).unwrap_or(0);
        let harvest = harvest.and_then(|(text, at)| reading.keep(value::date(text), at));
        let said = own_seen.and_then(|(text, at)| {
            let day = seen_day(text, reading);
            reading.keep(day, at)
        });
        let position = at.and_then(|node| position(node, reading));
        let day = said.or(seen).unwrap_or(UNDATED);
        let new = NewTree {
            name,
            block,
            cultivar: cultivar.map(|(cultivar, _)| cultivar),
            harvest: harvest.map(|date| date.num_days_from_ce()),
            seen: day,
            position,
            span: item.span,
        };
        let tree = match trees.add(&new) {
            Ok(tree) => tree,
            Err(first) => {
                twice(name, name_at, trees.span(first), reading);
                continue;
            }
        };
        let known = keys.asked();
        let mut ages = groups.is_some();
        for (key, node) in keys.rest() {
            let Some((id, cell)) = observed(key, node, "a key of a tree", &known, Target::Tree(0), reading)
            else {
                continue;
            };
            let at = columns.iter().position(|reader| reader.id == id).unwrap_or_else(|| {
                columns.push(ColumnReader::new(id, reading.plan));
                columns.len() - 1
            });
            let read = columns.get_mut(at).map_or(Ok(false), |reader| reader.read(tree, cell.as_bytes()));
            let any = reading.keep(read, node.span).unwrap_or(false);
            let grows = grows_old(id, reading);
            ages |= any && grows;
            if any && !grows && own_seen.is_none() && seen.is_none() {
                reading.undated.add(name, &key.text, key.span);
            }
        }
        if ages && own_seen.is_none() && seen.is_none() {
            not_dated(first_line(item.span), "the tree", reading);
        }
        if let (Some(groups), Ok(number)) = (groups, u32::try_from(tree)) {
            panicles.push((number, day, groups));
        }
    }
    trees.columns = columns.into_iter().map(ColumnReader::done).collect();
    trees.trim();
    (trees, panicles)
}

/// Reads the groups of panicles that stand under a tree: a list, each with its share.
pub(super) fn panicles(lists: &PanicleLists, sights: &mut SightReader, reading: &mut FileReading) {
    for (tree, day, node) in lists {
        let Value::List(items) = &node.value else {
            let help = "write one `- { share: 60 %, … }` for each group";
            reading.error(node.span, "`panicles` is a list of groups", help);
            continue;
        };
        for item in items {
            let Some(mut keys) = Keys::open(item, "a group of panicles", &mut reading.problems) else {
                continue;
            };
            let Some((text, at)) = keys.text("share", &mut reading.problems) else {
                let help = "write which part of the tree's panicles it is: `share: 60 %`";
                reading.error(first_line(item.span), "a group of panicles has no share", help);
                continue;
            };
            let Some(share) = reading.keep(share(text), at) else { continue };
            let row = sights.row(*day, item.span, &[Target::Tree(*tree)], Some(share));
            let known = keys.asked();
            for (key, node) in keys.rest() {
                cell(
                    key,
                    node,
                    "a key of a group of panicles",
                    &known,
                    Target::Tree(*tree),
                    row,
                    sights,
                    reading,
                );
            }
        }
    }
}

/// What stands under a block or at the top and is a name of the rulebook.
pub(super) struct Loose<'n> {
    pub target: Target,
    /// What it is called.
    pub who: String,
    pub seen: Option<i32>,
    pub keys: Vec<(&'n Key, &'n YamlNode)>,
    pub known: Vec<&'static str>,
}

/// Reads observations that stand under a block or at the top of the grove file.
pub(super) fn loose(all: &[Loose], sights: &mut SightReader, reading: &mut FileReading) {
    for part in all {
        let Some((first, _)) = part.keys.first() else { continue };
        let what = if part.target == Target::Grove { "a key of a grove" } else { "a key of a block" };
        let day = part.seen.unwrap_or(UNDATED);
        let row = sights.row(day, first.span, &[part.target], None);
        let mut ages = false;
        for (key, node) in &part.keys {
            let age = cell(key, node, what, &part.known, part.target, row, sights, reading);
            ages |= age == Some(Age::Grows);
            if age == Some(Age::Stays) && part.seen.is_none() {
                reading.undated.add(&part.who, &key.text, key.span);
            }
        }
        if ages && part.seen.is_none() {
            not_dated(first.span, "what was seen here", reading);
        }
    }
}

/// Whether what was seen grows old.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Age {
    Grows,
    Stays,
}

/// Reads one observation into a row; says whether it is of a kind that grows old, if anything was seen.
#[expect(clippy::too_many_arguments, reason = "a key, where it stands, and where it goes")]
fn cell(
    key: &Key,
    node: &YamlNode,
    what: &'static str,
    known: &[&'static str],
    target: Target,
    row: usize,
    sights: &mut SightReader,
    reading: &mut FileReading,
) -> Option<Age> {
    let (id, text) = observed(key, node, what, known, target, reading)?;
    let reader = sights.reader(id);
    let read = sights.cell(reader, row, text.as_bytes());
    let seen = reading.keep(read, node.span).unwrap_or(false);
    seen.then(|| if grows_old(id, reading) { Age::Grows } else { Age::Stays })
}

fn observed<'n>(
    key: &Key,
    node: &'n YamlNode,
    what: &'static str,
    known: &[&'static str],
    target: Target,
    reading: &mut FileReading,
) -> Option<(NameId, &'n str)> {
    let known = if target == Target::Grove { TOP_KEYS } else { known };
    let id = reading.observation(&key.text, key.span, what, known)?;
    if let Some(trouble) = reading.misplaced(id, target) {
        reading.problems.push(trouble.at(key.span));
        return None;
    }
    Some((id, keys::text(node, &key.text, &mut reading.problems)?))
}

fn grows_old(id: NameId, reading: &FileReading) -> bool {
    match &reading.plan[id].origin {
        Origin::Observed(observation) => observation.lasts.is_some(),
        _ => false,
    }
}

fn not_dated(at: Span, what: &'static str, reading: &mut FileReading) {
    reading.error(
        at,
        said!("{what} bears observations, but not when they were seen", what = Phrase::from(what)),
        "write `seen: 2027-02-11`",
    );
}

/// Reads the share of a group, `60 %`.
pub(super) fn share(text: &str) -> Result<f64, super::trouble::Trouble> {
    let example = "write which part of the tree's panicles it is: `60 %`";
    let said = spoken::parse(text)
        .map_err(|error| super::trouble::Trouble::unspoken(text, &error, Some(example.into())))?;
    if &*said.unit.symbol != "%" || said.number <= 0.0 || said.number > 100.0 {
        return Err(
            super::trouble::Trouble::new(said!("`{text}` is not a share of panicles", text)).help(example)
        );
    }
    Ok(said.amount())
}

fn position(node: &YamlNode, reading: &mut FileReading) -> Option<(f64, f64)> {
    let found = match &node.value {
        Value::List(parts) => match parts.as_slice() {
            [east, north] => {
                let east = keys::text(east, "at", &mut reading.problems)?;
                metres(east, keys::text(north, "at", &mut reading.problems)?)
            }
            _ => None,
        },
        Value::Text(text) => text.split_once(',').and_then(|(east, north)| metres(east, north)),
        Value::Nothing | Value::Map(_) => None,
    };
    if found.is_none() {
        reading.error(
            node.span,
            "this is no place",
            "write metres east and metres north: `at: [12.5, 40.0]`",
        );
    }
    found
}
