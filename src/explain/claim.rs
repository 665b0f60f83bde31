//! What statements claim: facts, no words.

use crate::advice::Spray;
use crate::grove::SeenOf;
use crate::measure::{Provenance, Reading};
use crate::plan::{ChoiceId, GateId, NameId, ProductId, Sprayed, Test, Way};
use crate::source::Span;
use crate::trace::{Sense, Shutter};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// What a statement claims of its item.
#[derive(Clone, PartialEq, Debug)]
pub enum Claim {
    /// The choice advises an alternative.
    Advises {
        /// The alternative.
        way: Way,
        /// The doses to which gates hold it, where they are others.
        held: Option<Spray>,
        /// Earlier alternatives, which are not allowed.
        instead_of: Vec<Way>,
    },
    /// The choice advises one of its alternatives; which, is not known.
    AdvisesOneOf(Vec<Way>),
    /// The choice holds, and none of its alternatives is allowed.
    NoneAllowed(Vec<Way>),
    /// Perhaps the choice holds.
    Perhaps(Vec<Way>),
    /// The choice holds and steps aside, since none of its alternatives is allowed.
    Aside(Vec<Way>),
    /// The choice holds, and another comes first.
    Outranked(ChoiceId, Vec<Way>),
    /// The choice holds but for one comparison.
    NearlyHolds(Compared),
    /// The gate or the certificate shuts products, those of a tank together.
    Shut(Vec<Vec<ProductId>>, Shutter),
    /// One of the gates shuts the products of a tank, whatever is found; which of them, is not known.
    ShutBetween(Vec<ProductId>, Vec<GateId>),
    /// The gate perhaps shuts products.
    PerhapsShut(Vec<ProductId>),
    /// The gate holds products to strengths.
    Held(Vec<(ProductId, u8)>),
    /// The gate would shut or hold what it does, but for one comparison.
    NearlyShut(Compared),
    /// The gate shuts hours.
    Hours,
    /// The task is to be done.
    Do,
    /// The warning is to be given.
    Warn,
    /// A comparison holds, fails or is open.
    Compared(Compared),
    /// A row of a band raises it to a level, or caps it there.
    Raised {
        /// The level.
        level: u16,
        /// Whether it caps.
        caps: bool,
        /// Whether it does so for certain.
        sure: bool,
        /// The comparisons of its condition.
        met: Vec<Compared>,
    },
    /// No row raises the band from its first level.
    Stays,
    /// A name has a value.
    Value {
        /// Its readings; of several trees the different ones.
        readings: Vec<Reading>,
        /// A text that the tree has for it.
        text: Option<String>,
        /// The author's definition.
        definition: Option<Span>,
    },
    /// How an `hourly`, a `daily` or a figure is defined.
    Defined,
    /// A value was looked up in the table.
    LookedUp,
    /// An observation was made, or not.
    Seen {
        /// The readings and the share of a group of panicles, where a tree has several.
        group: Option<(Vec<Reading>, Option<f64>)>,
        /// What was seen and when.
        sighting: Option<Sighting>,
        /// Whether the value is known.
        known: bool,
        /// Whether the value is assumed.
        assumed: bool,
    },
    /// From what a part of a value was computed.
    Computed(Computed),
    /// The product is in the spray.
    InSpray(Spray),
    /// The choice would advise the product, and does not hold.
    WouldAdvise(Vec<Compared>),
    /// The choice would advise the product, and another comes first.
    WouldGiveWay(ChoiceId),
    /// The choice would advise the product; whether it holds is not known.
    WouldPerhaps,
    /// The choice names the product only after an alternative that is allowed.
    NamedAfter(Way),
    /// The choice holds, and none of its alternatives is allowed.
    NamedAside,
    /// The choice names the product among its alternatives.
    Named,
    /// No choice ever advises the product.
    NeverNamed,
}

/// A comparison with the values that it met.
#[derive(Clone, PartialEq, Debug)]
pub struct Compared {
    /// The comparison.
    pub test: Test,
    /// Whether it or its opposite is asked for.
    pub sense: Sense,
    /// The readings of its name; none where no value is shown.
    pub readings: Vec<Reading>,
    /// What was seen on the panicles that a yes-no name is of.
    pub panicles: Vec<PanicleValues>,
}

/// What was seen on a group of panicles.
#[derive(Clone, PartialEq, Debug)]
pub struct PanicleValues {
    /// Its share of the panicles; nothing of a tree with one group.
    pub share: Option<Option<f64>>,
    /// The readings of each name.
    pub values: Vec<(NameId, Vec<Reading>)>,
}

/// How an observation was made.
#[derive(Clone, PartialEq, Debug)]
pub struct Sighting {
    /// The day.
    pub on: NaiveDate,
    /// Who looked, where that was written down.
    pub who: Option<Arc<str>>,
    /// What it was noted for.
    pub of: SeenOf,
    /// The block of the tree.
    pub block: String,
    /// How many were found among how many, where it was counted.
    pub sample: Option<(u32, u32)>,
}

/// From what a value was computed.
#[derive(Clone, PartialEq, Debug)]
pub enum Computed {
    /// From the hours or days of a window; whether it says how many of them counted.
    Window(Provenance, bool),
    /// From the last spray of something; nothing: it was never sprayed.
    LastSpray(Sprayed, Option<SprayDone>),
    /// The spray log is not known.
    NoLog,
    /// From the latest sprays of the tree; none: its log is empty or not known.
    LatestSprays(Vec<SprayDone>),
    /// From the expected harvest.
    Harvest(Option<NaiveDate>),
    /// From the latest days of a tally.
    Days(NameId, Vec<(NaiveDate, f64)>),
}

/// A spray of the log.
#[derive(Clone, PartialEq, Debug)]
pub struct SprayDone {
    /// When it ended.
    pub end: DateTime<Tz>,
    /// What was in the tank: the word of the log, the product and its strength where they are the guide's.
    pub parts: Vec<(Arc<str>, Option<ProductId>, Option<u8>)>,
    /// The number of its sheet.
    pub sheet: Option<Arc<str>>,
}
