//! Reads all files of a grove, and reports everything that is wrong with them in one run.

use super::block::{self, Block, BlockExtra};
use super::bloom_file;
use super::contradiction::Contradiction;
use super::harvest::{self, Harvests};
use super::keys::{Keys, unknown_key};
use super::log::SprayLog;
use super::log_row;
use super::outline::{Outline, Sprays, TOP_KEYS, first_line};
use super::reading::{FileReading, UnknownNames};
use super::sight::{SightReader, Sights};
use super::target::{Places, Target};
use super::tree::{Trees, date_of};
use super::tree_list::{self, Loose};
use super::tree_sheet::{self, Blocks, seen_day};
use super::yaml::Value;
use super::{Grove, NamePlace, Texts, group, scouting, shed, sprayer, work};
use crate::phrase::said;
use crate::plan::{Class, Name, Origin, Place, Plan};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::{Sources, Span};
use crate::units;
use chrono::DateTime;
use chrono_tz::Tz;

/// Reads a grove as it stood at a moment; nothing where it has no trees that could be read.
///
/// The names of observations and products are checked against the plan. Rows of a later date are left out.
pub fn read(
    outline: &Outline,
    texts: Texts,
    plan: &Plan,
    as_of: DateTime<Tz>,
    unknown: UnknownNames,
    sources: &Sources,
) -> (Option<Grove>, Problems) {
    let as_of = as_of.with_timezone(&outline.place.zone);
    let mut reading = FileReading::new(plan, sources, as_of, unknown);
    reading.order = outline.units.into();
    // What is wrong with the map itself was reported with the outline.
    let Some(mut keys) = Keys::open(&outline.node, "a grove", &mut Problems::default()) else {
        return (None, reading.problems);
    };
    for key in
        ["grove", "rulebook", "units", "place", "weather", "weather-forms", "scouting", "sprays", "as-of"]
    {
        keys.take(key);
    }
    let certified =
        keys.text("certified", &mut reading.problems).and_then(|given| certified(given, &mut reading));
    let jugs = keys.take("shed").map_or_else(Vec::new, |node| shed::read(node, &mut reading));
    let sprayer = keys.take("sprayer").and_then(|node| sprayer::read(node, &mut reading.problems));
    let work = keys.text("work", &mut reading.problems).map_or_else(Vec::new, |(text, at)| {
        work::read(text).unwrap_or_else(|trouble| {
            reading.problems.push(trouble.at(at));
            Vec::new()
        })
    });
    let listed = keys.take("blocks");
    let (blocks, extras) =
        listed.map_or_else(Default::default, |node| block::blocks(node, &mut reading.problems));
    let mut blocks = Blocks::new(blocks, listed.is_none());
    let seen = keys.text("seen", &mut reading.problems).and_then(|(text, at)| {
        let day = seen_day(text, &reading);
        reading.keep(day, at)
    });
    let (harvest, cultivars) = (keys.take("harvest"), keys.take("cultivars"));
    let trees_node = keys.take("trees");
    let (trees, panicles) = match (texts.trees, trees_node) {
        (Some(source), _) => (tree_sheet::read(source, &mut blocks, seen, &mut reading), Vec::new()),
        (None, Some(node)) if !matches!(node.value, Value::Text(_)) => {
            tree_list::read(node, outline.source, &mut blocks, seen, &mut reading)
        }
        (None, _) => (Trees::default(), Vec::new()),
    };
    let blocks = blocks.list;
    if trees.is_empty() && !reading.problems.any_error() {
        let help = "write `trees:` and one `- { tree: A01, block: terrace, cultivar: Kent }` on each line, or \
                    `trees: trees.csv`";
        reading.error(first_line(keys.span), "the grove has no trees", help);
    }
    same_names(&trees, &blocks, &mut reading);
    let places = Places::new(&trees, &blocks);
    let mut harvests =
        harvest.map_or_else(Harvests::default, |node| harvest::read(node, &places, &trees, &mut reading));
    if let Some(node) = cultivars {
        harvest::cultivars(node, &trees, &mut harvests, &mut reading);
    }
    let loose = loose(extras, keys, seen, &blocks, &mut reading);
    let mut sights = SightReader::new(plan);
    tree_list::loose(&loose, &mut sights, &mut reading);
    tree_list::panicles(&panicles, &mut sights, &mut reading);
    let gauge_rows =
        texts.scouting.map_or_else(Vec::new, |id| scouting::read(id, &places, &mut sights, &mut reading));
    let assumed_bloom =
        texts.bloom.and_then(|bloom| bloom_file::read(bloom, (&trees, &blocks), &mut sights, &mut reading));
    let log = match (texts.sprays, &outline.sprays) {
        (Some(source), _) => {
            let ground = log_row::LogGround { trees: &trees, blocks: &blocks, shed: &jugs, places: &places };
            log_row::read(source, &ground, &mut reading)
        }
        (None, Sprays::NoneYet) => SprayLog::none_yet(),
        (None, Sprays::Unknown | Sprays::File(_)) => SprayLog::default(),
    };
    let undated = reading.undated.note(reading.as_of.date_naive());
    undated.into_iter().for_each(|note| reading.problems.push(note));
    let (sights, wrong, contradictions) = sights.done(&trees, as_of);
    for it in contradictions {
        contradicted(&it, &sights, (&trees, &blocks), &mut reading);
    }
    for shares in wrong {
        reading.problems.push(wrong_shares(&shares, &trees, &blocks));
    }
    let places = columns(&trees, &sights, plan);
    let grove = Grove {
        title: outline.title.clone(),
        units: outline.units,
        place: outline.place.clone(),
        as_of,
        certified,
        trees,
        blocks,
        shed: jugs,
        sprayer,
        gauge: scouting::gauge_at(&gauge_rows, as_of),
        work,
        log,
        assumed_bloom,
        gauge_rows,
        harvests,
        sights,
        places,
    };
    let whole = !grove.trees.is_empty();
    (whole.then_some(grove), reading.problems)
}

fn certified((given, at): (&str, Span), reading: &mut FileReading) -> Option<Class> {
    match given {
        "organic" => Some(Class::Organic),
        "no" | "none" => None,
        other => {
            let help = "write `certified: organic`, or leave the line out";
            reading.error(at, said!("`{other}` is no certification that is known", other), help);
            None
        }
    }
}

/// A tree and a block of one name could not be told apart under `on`.
fn same_names(trees: &Trees, blocks: &[Block], reading: &mut FileReading) {
    for block in blocks {
        if let Some(tree) = trees.find(&block.name).filter(|_| block.span != Span::default()) {
            let message = said!("the tree `{block}` has the name of a block", block = block.name);
            reading.problems.push(
                Problem::new(Finding::Input, trees.span(tree), message)
                    .help("give one of them another name: scouting could not tell them apart")
                    .related(block.span, "the block is here"),
            );
        }
    }
}

/// Gathers what stands under blocks and at the top and is neither a block's nor a grove's own key.
fn loose<'n>(
    extras: Vec<BlockExtra<'n>>,
    keys: Keys<'n>,
    seen: Option<i32>,
    blocks: &[Block],
    reading: &mut FileReading,
) -> Vec<Loose<'n>> {
    let mut all = Vec::new();
    for extra in extras {
        if extra.keys.is_empty() {
            continue;
        }
        let said = extra.seen.and_then(|(text, at)| {
            let day = seen_day(text, reading);
            reading.keep(day, at)
        });
        let target = Target::Block(extra.block);
        let who = blocks.get(usize::from(extra.block)).map_or("", |block| &*block.name).to_string();
        all.push(Loose { target, who, seen: said.or(seen), keys: extra.keys, known: extra.known });
    }
    let mut rest = keys.rest();
    // A key that is near to one of the grove's own, and no name of the rulebook, is a slip.
    rest.retain(|(key, _)| {
        let is_name = reading.plan.name(&key.text).is_some_and(|id| {
            matches!(reading.plan[id].origin, Origin::Observed(_)) && !reading.plan[id].hidden
        });
        // For another rulebook it may be one of the grove's own book's: it is named and left out.
        let left_out = reading.unknown == UnknownNames::LeaveOut
            && nearest(&key.text, TOP_KEYS.iter().copied()).is_none();
        if !is_name && !left_out {
            reading.problems.push(unknown_key(key, "a grove", TOP_KEYS.iter().copied()));
        }
        is_name || left_out
    });
    all.push(Loose {
        target: Target::Grove,
        who: "the grove".to_string(),
        seen,
        keys: rest,
        known: Vec::new(),
    });
    all
}

/// Says which of two rows counts that say different things of one place on one day.
fn contradicted(
    it: &Contradiction,
    sights: &Sights,
    (trees, blocks): (&Trees, &[Block]),
    reading: &mut FileReading,
) {
    let (later, earlier) = (sights.span(it.rows.0), sights.span(it.rows.1));
    let names: Vec<String> = it.names.iter().map(|id| format!("`{}`", reading.plan[*id].word)).collect();
    let day = date_of(sights.day(it.rows.0)).map_or_else(String::new, |date| date.to_string());
    let place = reading.sources.place(earlier);
    let file = reading.sources.get(earlier.source).map_or_else(String::new, |of| of.name.to_string());
    let message = said!(
        "{names} of {it} on {day} was written down otherwise in {file}:{place}: this later row counts",
        day,
        file,
        names = names.join(", "),
        it = it.of.words(trees, blocks),
        place = place.line
    );
    let problem = Problem::new(Finding::InputNote, later, message).related(earlier, "this does not count");
    reading.problems.push(problem);
}

fn wrong_shares(shares: &group::WrongShares, trees: &Trees, blocks: &[Block]) -> Problem {
    let of = shares.target.words(trees, blocks);
    let day = date_of(shares.day).map_or_else(String::new, |date| date.to_string());
    let sum = units::show(units::clean(shares.sum * 100.0), "%");
    let message = said!("the shares of the panicles of `{of}` on {day} add up to {sum}", of, day, sum);
    let at = shares.rows.last().copied().unwrap_or_default();
    let mut problem = Problem::new(Finding::Input, at, message)
        .help("write one row for each group of panicles, with shares that make 100 % together");
    for row in shares.rows.iter().rev().skip(1) {
        problem = problem.related(*row, "this share was counted with it");
    }
    problem
}

/// Returns for each name of the plan where its values stand.
pub(super) fn columns(trees: &Trees, sights: &Sights, plan: &Plan) -> Vec<NamePlace> {
    let place = |name: &Name| NamePlace {
        of_panicles: name.scope == Place::Panicles,
        of_grove: name.scope == Place::Grove,
        ..NamePlace::default()
    };
    let mut places: Vec<NamePlace> = plan.names.iter().map(place).collect();
    for (at, (name, _)) in trees.columns.iter().enumerate() {
        if let Some(place) = places.get_mut(name.index()) {
            place.own = u16::try_from(at).ok();
        }
    }
    for (at, name) in sights.names().enumerate() {
        if let Some(place) = places.get_mut(name.index()) {
            place.row = u16::try_from(at).ok();
        }
    }
    places
}
