//! The blocks of a grove: how far apart their trees stand, and how large these are.
//!
//! Comes in: the key `blocks`. Goes out: lengths in base units. Knows no tree.

use super::keys::{self, Keys};
use super::trouble::Trouble;
use super::value;
use super::yaml::{Key, Value, YamlNode};
use crate::phrase::said;
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::Span;
use crate::units::{Dimension, spoken};
use chrono::NaiveDate;
use std::sync::Arc;

/// A block.
#[derive(Clone, Debug)]
pub struct Block {
    /// Its name.
    pub name: Arc<str>,
    /// How far apart its trees stand.
    pub spacing: Option<Spacing>,
    /// How large its trees are.
    pub canopy: Option<Canopy>,
    /// The earliest day of its harvest.
    pub harvest: Option<NaiveDate>,
    /// Where it is written.
    pub span: Span,
}

/// How far apart trees stand, in millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spacing {
    /// From row to row.
    pub rows: f64,
    /// From tree to tree in a row.
    pub trees: f64,
}

impl Spacing {
    /// Returns the land that belongs to one tree, in square millimetres.
    pub fn area(self) -> f64 {
        self.rows * self.trees
    }
}

/// The canopy of the trees of a block, in millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Canopy {
    /// From the ground to the top.
    pub height: f64,
    /// Across the row.
    pub spread: f64,
    /// From the ground to the lowest leaves; 0 where not given.
    pub skirt: f64,
    /// Spray for a volume of canopy, a plain ratio; nothing where not given.
    pub density: Option<f64>,
}

/// What else a block's keys say: names that are not the block's own, for the reader of observations.
pub(super) struct BlockExtra<'n> {
    pub block: u16,
    pub seen: Option<(&'n str, Span)>,
    pub keys: Vec<(&'n Key, &'n YamlNode)>,
    pub known: Vec<&'static str>,
}

/// Reads the blocks, and hands over the keys that are not theirs.
pub(super) fn blocks<'n>(node: &'n YamlNode, problems: &mut Problems) -> (Vec<Block>, Vec<BlockExtra<'n>>) {
    let Value::List(items) = &node.value else {
        let problem = Problem::new(Finding::Input, node.span, "`blocks` is a list");
        problems.push(problem.help("write one `- { block: terrace, spacing: 24 ft x 20 ft }` on each line"));
        return (Vec::new(), Vec::new());
    };
    let (mut blocks, mut extras): (Vec<Block>, Vec<BlockExtra>) = (Vec::new(), Vec::new());
    for item in items {
        let Some(mut keys) = Keys::open(item, "a block", problems) else { continue };
        let Some((name, at)) = keys.text("block", problems) else {
            let problem =
                Problem::new(Finding::Input, super::outline::first_line(item.span), "a block has no name");
            problems.push(problem.help("write `block:` and its name"));
            continue;
        };
        if let Some(first) = blocks.iter().find(|block| &*block.name == name) {
            problems.push(
                Problem::new(Finding::Input, at, said!("the block `{name}` is given twice", name))
                    .help("give each block a name of its own")
                    .related(first.span, "it is given here first"),
            );
            continue;
        }
        let spacing = keys.text("spacing", problems).and_then(|given| reported(given, spacing, problems));
        let canopy = keys.take("canopy").and_then(|node| canopy(node, problems));
        let harvest = keys.text("harvest", problems).and_then(|given| reported(given, value::date, problems));
        let seen = keys.text("seen", problems);
        let number = u16::try_from(blocks.len()).unwrap_or(u16::MAX);
        blocks.push(Block { name: name.into(), spacing, canopy, harvest, span: at });
        let known = keys.asked();
        extras.push(BlockExtra { block: number, seen, keys: keys.rest(), known });
    }
    (blocks, extras)
}

/// Says that a block does not exist.
pub(super) fn unknown_block(name: &str, blocks: &[Block]) -> Trouble {
    let help = match nearest(name, blocks.iter().map(|block| &*block.name)) {
        Some(near) => said!("did you mean `{near}`?", near),
        None => {
            let all: Vec<String> = blocks.iter().take(12).map(|block| format!("`{}`", block.name)).collect();
            said!("the blocks are {all}", all = all.join(", "))
        }
    };
    Trouble::new(said!("there is no block `{name}`", name)).help(help)
}

fn reported<T>(
    (text, span): (&str, Span),
    read: impl Fn(&str) -> Result<T, Trouble>,
    problems: &mut Problems,
) -> Option<T> {
    read(text).map_err(|trouble| problems.push(trouble.at(span))).ok()
}

/// Reads `24 ft x 20 ft`: rows apart, then trees in the row. An end without a unit takes that of the other.
pub(super) fn spacing(text: &str) -> Result<Spacing, Trouble> {
    let unclear = || {
        Trouble::new(said!("`{text}` is not a spacing", text))
            .help("write how far apart the rows and the trees in a row stand: `24 ft x 20 ft`")
    };
    let small = text.to_lowercase().replace(['×', '*'], "x").replace(" by ", " x ");
    let (rows, trees) = small.split_once('x').ok_or_else(unclear)?;
    let trees_said = spoken::parse(trees.trim()).map_err(|_| unclear())?;
    let rows_bare = spoken::parse(rows.trim()).is_ok_and(|said| said.is_bare());
    let rows = if rows_bare && !trees_said.is_bare() {
        format!("{} {}", rows.trim(), trees_said.unit.symbol)
    } else {
        rows.trim().to_string()
    };
    let spacing = Spacing {
        rows: keys::quantity(&rows, Dimension::LENGTH)?,
        trees: keys::quantity(trees.trim(), Dimension::LENGTH)?,
    };
    if spacing.rows <= 0.0 || spacing.trees <= 0.0 || spacing.area() > 1e10 {
        return Err(unclear());
    }
    Ok(spacing)
}

fn canopy(node: &YamlNode, problems: &mut Problems) -> Option<Canopy> {
    let before = problems.len();
    let mut keys = Keys::open(node, "a canopy", problems)?;
    let height = keys.quantity("height", Dimension::LENGTH, problems);
    let spread = keys.quantity("spread", Dimension::LENGTH, problems);
    let skirt = keys.quantity("skirt", Dimension::LENGTH, problems).unwrap_or(0.0);
    let density = keys.text("density", problems).and_then(|given| reported(given, density, problems));
    let span = keys.span;
    let reported = problems.len() > before;
    keys.refuse_rest(problems);
    let (Some(height), Some(spread)) = (height, spread) else {
        if reported {
            return None;
        }
        let problem = Problem::new(
            Finding::Input,
            super::outline::first_line(span),
            "a canopy has a height and a spread",
        );
        problems.push(problem.help("write `canopy: { height: 14 ft, spread: 12 ft }`"));
        return None;
    };
    if skirt >= height {
        let problem = Problem::new(Finding::Input, span, "the skirt of the canopy is not below its height");
        problems.push(problem.help("`skirt` is from the ground to the lowest leaves"));
        return None;
    }
    Some(Canopy { height, spread, skirt, density })
}

/// Reads the spray for a volume of canopy, `0.7 gal / 1000 ft³` or `0.0937 L/m³`: a ratio of two volumes.
fn density(text: &str) -> Result<f64, Trouble> {
    let example = "write the spray for a volume of canopy: `0.7 gal / 1000 ft³` or `0.09 L/m³`";
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let ratio = said.amount();
    if said.unit.dimension != Dimension::NONE || said.is_bare() || !(1e-6..=1e-2).contains(&ratio) {
        return Err(
            Trouble::new(said!("`{text}` is not the spray for a volume of canopy", text)).help(example)
        );
    }
    Ok(ratio)
}
