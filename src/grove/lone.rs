//! A grove of one tree of which nothing is known but that it was never sprayed, for worked examples with hours of their own.

use super::log::SprayLog;
use super::read::columns;
use super::sight::SightReader;
use super::tree::{NO_DAY, NewTree, Trees};
use super::{Block, Gauge, Grove, Place, UnitSystem};
use crate::plan::Plan;
use crate::source::Span;
use chrono::{DateTime, Datelike};
use chrono_tz::Tz;

/// Returns a grove of one tree, on the equator at a longitude in degrees east, as it stands at a moment.
pub fn lone_tree(plan: &Plan, as_of: DateTime<Tz>, longitude: f64) -> Grove {
    let mut trees = Trees::default();
    let seen = as_of.date_naive().num_days_from_ce();
    let tree = NewTree {
        name: "T1",
        block: 0,
        cultivar: None,
        harvest: None,
        seen: if seen == 0 { NO_DAY } else { seen },
        position: None,
        span: Span::default(),
    };
    // The first of a list cannot be there already.
    let _ = trees.add(&tree);
    let (sights, ..) = SightReader::new(plan).done(&trees, as_of);
    let places = columns(&trees, &sights, plan);
    let block = Block { name: "b".into(), spacing: None, canopy: None, harvest: None, span: Span::default() };
    Grove {
        title: "a worked example".into(),
        units: UnitSystem::Us,
        place: Place {
            position: Some((0.0, longitude)),
            elevation: 0.0,
            zone: as_of.timezone(),
            misplaced: false,
        },
        as_of,
        certified: None,
        trees,
        blocks: vec![block],
        shed: Vec::new(),
        sprayer: None,
        work: Vec::new(),
        gauge: Gauge::new(),
        log: SprayLog::none_yet(),
        assumed_bloom: None,
        gauge_rows: Vec::new(),
        harvests: Default::default(),
        sights,
        places,
    }
}
