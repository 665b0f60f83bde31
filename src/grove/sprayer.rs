//! The sprayer: how much spray goes on a tree, and how much on an area.
//!
//! Comes in: the key `sprayer`, spacings and canopies. Goes out: volumes in base units (mm³, mm on an area). Knows no
//! product.

use super::block::{Block, Canopy, Spacing};
use super::keys::{self, Keys};
use super::trouble::Trouble;
use super::yaml::YamlNode;
use crate::phrase::said;
use crate::problems::Problems;
use crate::units::{Dimension, spoken};
use std::sync::Arc;

/// A sprayer.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Sprayer {
    /// What kind it is, in the grower's words.
    pub kind: Option<Arc<str>>,
    /// What its tank holds, in cubic millimetres.
    pub tank: Option<f64>,
    /// How much it puts out.
    pub output: Output,
    /// How fast the work goes.
    pub pace: Option<Pace>,
    /// How long it takes to rinse, mix and fill between two loads, in hours.
    pub fill: Option<f64>,
}

/// How much spray goes out.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum Output {
    /// So much on each tree, in cubic millimetres.
    PerTree(f64),
    /// So much on an area, in millimetres.
    PerArea(f64),
    /// As much as the canopy takes.
    #[default]
    OfCanopy,
}

/// How fast the work goes, each by the hour.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Pace {
    /// Cubic millimetres of spray.
    Volume(f64),
    /// Square millimetres of land.
    Area(f64),
    /// Trees.
    Trees(f64),
}

impl Sprayer {
    /// Returns the spray that one tree of a block takes, in cubic millimetres.
    pub fn volume_per_tree(&self, block: &Block) -> Option<f64> {
        match self.output {
            Output::PerTree(volume) => Some(volume),
            Output::PerArea(depth) => block.spacing.map(|spacing| depth * spacing.area()),
            Output::OfCanopy => canopy_spray_per_tree(block.spacing?, &block.canopy?),
        }
    }

    /// Returns the spray on an area of a block, in millimetres (mm³ on mm²).
    pub fn volume_per_area(&self, block: &Block) -> Option<f64> {
        match self.output {
            Output::PerArea(depth) => Some(depth),
            Output::PerTree(volume) => block.spacing.map(|spacing| volume / spacing.area()),
            Output::OfCanopy => {
                let spacing = block.spacing?;
                canopy_spray_per_tree(spacing, &block.canopy?).map(|volume| volume / spacing.area())
            }
        }
    }
}

/// Returns the volume of the row's canopy on an area, in millimetres (mm³ on mm²): the tree-row volume.
///
/// The canopy above the skirt, times its spread across the row, times the length of row on the area. A row is taken as
/// a hedge without gaps, as the published worksheets do.
pub fn row_volume_per_area(spacing: Spacing, canopy: &Canopy) -> f64 {
    (canopy.height - canopy.skirt) * canopy.spread / spacing.rows
}

/// Returns the spray for one tree from its canopy, in cubic millimetres.
pub fn canopy_spray_per_tree(spacing: Spacing, canopy: &Canopy) -> Option<f64> {
    Some(row_volume_per_area(spacing, canopy) * canopy.density? * spacing.area())
}

/// Reads the sprayer.
pub(super) fn read(node: &YamlNode, problems: &mut Problems) -> Option<Sprayer> {
    let mut keys = Keys::open(node, "the sprayer", problems)?;
    let kind = keys.text("kind", problems).map(|(kind, _)| kind.into());
    let tank = keys.quantity("tank", Dimension::VOLUME, problems).filter(|tank| *tank > 0.0);
    let per_tree = keys.text("per-tree", problems);
    let volume = keys.text("volume", problems);
    let pace = keys.text("pace", problems);
    let fill = keys.quantity("fill", Dimension::TIME, problems).filter(|fill| *fill >= 0.0);
    keys.refuse_rest(problems);
    if let (Some(_), Some((_, at))) = (per_tree, volume) {
        let trouble = Trouble::new("the sprayer has `per-tree` and `volume`, and both say how much goes out");
        problems.push(trouble.help("keep the one that you measured").at(at));
    }
    let mut keep =
        |read: Result<Output, Trouble>, at| read.map_err(|trouble| problems.push(trouble.at(at))).ok();
    let of_tree = per_tree.and_then(|(text, at)| keep(volume_of_tree(text), at));
    let output = of_tree.or(volume.and_then(|(text, at)| keep(volume_on_area(text), at)));
    let pace =
        pace.and_then(|(text, at)| self::pace(text).map_err(|trouble| problems.push(trouble.at(at))).ok());
    Some(Sprayer { kind, tank, output: output.unwrap_or_default(), pace, fill })
}

fn volume_of_tree(text: &str) -> Result<Output, Trouble> {
    let text = text.trim_end_matches("per tree").trim_end_matches("/ tree").trim_end_matches("/tree").trim();
    keys::quantity(text, Dimension::VOLUME).and_then(|volume| positive(volume, text)).map(Output::PerTree)
}

fn volume_on_area(text: &str) -> Result<Output, Trouble> {
    if matches!(text, "from canopy" | "from the canopy" | "canopy") {
        return Ok(Output::OfCanopy);
    }
    let on_area = Dimension::VOLUME.over(Dimension::AREA);
    keys::quantity(text, on_area).and_then(|depth| positive(depth, text)).map(Output::PerArea)
}

/// Reads how fast the work goes.
pub(super) fn pace(text: &str) -> Result<Pace, Trouble> {
    let example = "write how fast the work goes: `25 gal / h`, `2 ac / h` or `40 trees / h`";
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let amount = positive(said.amount(), text)?;
    let per_hour = |of: Dimension| of.over(Dimension::TIME);
    match said.unit.dimension {
        dimension if dimension == per_hour(Dimension::VOLUME) => Ok(Pace::Volume(amount)),
        dimension if dimension == per_hour(Dimension::AREA) => Ok(Pace::Area(amount)),
        dimension if dimension == per_hour(Dimension::NONE) && said.unit.symbol.starts_with("trees") => {
            Ok(Pace::Trees(amount))
        }
        _ => Err(Trouble::new(said!("`{text}` is no pace", text)).help(example)),
    }
}

fn positive(amount: f64, text: &str) -> Result<f64, Trouble> {
    if amount > 0.0 { Ok(amount) } else { Err(Trouble::new(said!("`{text}` must be more than 0", text))) }
}
