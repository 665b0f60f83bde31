//! A grove: trees, panicles, blocks, shed, sprayer, scouting and spray log, from `grove.yaml` and its CSV files.
//!
//! Comes in: texts and the names of a checked rulebook. Goes out: what was seen of each tree and when, and what was
//! sprayed on it. Opens no file, and knows of a rulebook only its names, kinds and products.

mod added;
mod air;
mod apart;
mod at_moment;
mod block;
mod bloom_file;
mod clock;
mod column;
mod compound;
mod contradiction;
mod dose;
mod doubt;
mod figures;
mod group;
mod harvest;
mod history;
mod jug_name;
mod keys;
mod log;
mod log_corrected;
mod log_part;
mod log_row;
mod lone;
mod moment;
mod names;
mod note;
mod outline;
mod read;
mod reading;
mod scouting;
mod seen;
pub mod setup;
mod shed;
mod sight;
mod sprayer;
mod target;
mod tree;
mod tree_list;
mod tree_sheet;
mod trouble;
mod undated;
mod typed_jug;
mod used;
mod value;
pub(crate) mod yaml;
mod weather_keys;
mod work;
mod zone_of_place;

use crate::plan::{Class, NameId};
use crate::source::SourceId;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use harvest::Harvests;
use scouting::GaugeRows;
use sight::Sights;
use std::sync::Arc;

pub use added::{Addition, Header, NewRow, addition};
pub use air::air_trouble;
pub use block::{Block, Canopy, Spacing};
pub use clock::{is_midnight, time_of_day};
pub use compound::copper_share;
pub use dose::{AmountUnknown, Counting};
pub use doubt::{Doubt, Unlikely, doubts};
pub use figures::DateOrder;
pub use group::Group;
pub use keys::quantity_of;
pub use log::{LastSpray, SprayLog, SprayPart, SprayRate, SprayRow, SprayVolume};
pub use log_part::is_rate;
pub use log_row::LOG_COLUMNS;
pub use lone::lone_tree;
pub(crate) use moment::moment;
pub use note::{
    DayDoubt, NoteWord, Noted, NotedPlace, NotedRain, NotedValue, TypedDay, Year, day_of, day_to_come,
    note_words, notes, place_of, place_of_trees, scouting_columns,
};
pub use outline::{FileName, KnownForm, Outline, Place, Sprays, Station, UnitSystem, WeatherFile, outline};
pub use read::read;
pub use reading::UnknownNames;
pub use scouting::Gauge;
pub use seen::{SeenOf, Sighting};
pub use shed::{Contained, Content, Form, Jug, JugCap, JugLabel};
pub use sprayer::{Output, Pace, Sprayer, canopy_spray_per_tree, row_volume_per_area};
pub use tree::Trees;
pub use typed_jug::{JugSaid, typed_jug};
pub use used::{AMOUNT, JUG, LAND, TREES, jug_words, land_words, trees_words};
pub use value::SeenValue;
pub use weather_keys::{with_forms, with_line, with_weather};

/// The texts of a grove's files, each if its outline asks for it.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Texts {
    /// `trees.csv`.
    pub trees: Option<SourceId>,
    /// `scouting.csv`.
    pub scouting: Option<SourceId>,
    /// `sprays.csv`.
    pub sprays: Option<SourceId>,
    /// A bloom that is assumed, beside what is in `scouting.csv`.
    pub bloom: Option<AssumedBloom>,
}

/// The file of a bloom that is assumed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AssumedBloom {
    /// Its text.
    pub source: SourceId,
    /// The first day on which it is assumed; nothing: a year before the moment of the advice.
    pub first: Option<NaiveDate>,
}

/// A grove as it stood at a moment.
#[derive(Clone, Debug)]
pub struct Grove {
    /// What it is called.
    pub title: Arc<str>,
    /// In which units pages are printed.
    pub units: UnitSystem,
    /// Where it stands.
    pub place: Place,
    /// The moment of the advice; nothing of a later date is in the grove.
    pub as_of: DateTime<Tz>,
    /// A class that every product must have.
    pub certified: Option<Class>,
    /// The trees in walking order.
    pub trees: Trees,
    /// The blocks.
    pub blocks: Vec<Block>,
    /// The jugs; the first of a product is the one in use.
    pub shed: Vec<Jug>,
    /// The sprayer.
    pub sprayer: Option<Sprayer>,
    /// When the grower works, each span in hours after midnight, one that reaches into the next day with its end before its
    /// beginning; empty where that is not said.
    pub work: Vec<(f64, f64)>,
    /// The rain that the grower's own gauge showed, by its day.
    pub gauge: Gauge,
    /// The spray log.
    pub log: SprayLog,
    /// What the bloom is called that is assumed, where one is.
    pub assumed_bloom: Option<Arc<str>>,
    /// All that the gauge showed, also what other readings took the place of.
    gauge_rows: GaugeRows,
    harvests: Harvests,
    sights: Sights,
    /// Where the values of each name of the rulebook stand.
    places: Vec<NamePlace>,
}

/// Where the values of a name stand.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
struct NamePlace {
    /// Its column among the trees' own.
    own: Option<u16>,
    /// Its column among the rows of scouting.
    row: Option<u16>,
    /// Whether it is seen of panicles, so that a row that speaks of one group does not speak of the tree.
    of_panicles: bool,
    /// Whether it is seen of the whole grove, so that nobody looked at a tree for it.
    of_grove: bool,
}

impl Grove {
    /// Returns the block in which a tree stands.
    pub fn block_of(&self, tree: usize) -> Option<&Block> {
        self.blocks.get(self.trees.block(tree))
    }

    /// Returns the jug of a product, the first where there are several.
    pub fn jug(&self, product: crate::plan::ProductId) -> Option<&Jug> {
        self.shed.iter().find(|jug| jug.product == Some(product))
    }

    fn place_of(&self, name: NameId) -> NamePlace {
        self.places.get(name.index()).copied().unwrap_or_default()
    }
}
