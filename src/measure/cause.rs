//! Why a value is unknown, an interval, or empty.

use crate::plan::{Datum, Kind, NameId, Sprayed};
use chrono::NaiveDate;
use std::sync::Arc;

/// Why a value is unknown, an interval, or empty.
#[derive(Clone, PartialEq, Debug)]
pub enum Cause {
    /// Nobody has seen it, or too long ago: what an observation would settle.
    Unseen(Unseen),
    /// It was seen as between two values, or as one of several words.
    SeenBetween,
    /// The weather does not reach so far, or has too many gaps.
    Weather(WeatherGap),
    /// The spray log is not known, or a row of it does not say enough.
    Sprays(LogGap),
    /// No harvest date is given.
    Harvest,
    /// How much spray goes on an area is not known.
    Sprayer,
    /// There is no such value.
    Empty(NoValue),
    /// A table has no row for the key that it is looked up with.
    NoRow(TableKey),
    /// It is an interval or unknown by a table, a sample or a take.
    Doubt(InDoubt),
}

/// What nobody has seen.
#[derive(Clone, PartialEq, Debug)]
pub enum Unseen {
    /// Nobody looked.
    Never,
    /// It was seen longer ago than the rulebook lets it hold.
    TooOld {
        /// The day.
        on: NaiveDate,
        /// How many days ago.
        days: i64,
    },
    /// The day of another name on which it rests.
    Date(NameId),
    /// The cultivar of the tree.
    Cultivar,
    /// The shares of the groups of panicles.
    Shares,
    /// The other trees: none of them.
    Others,
    /// The other trees: some of them.
    SomeOthers,
}

/// What weather is counted in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Steps {
    /// Hours.
    Hours,
    /// Days.
    Days,
}

/// What the weather lacks.
#[derive(Clone, PartialEq, Debug)]
pub enum WeatherGap {
    /// So many of the steps lie beyond it.
    Beyond(i64, i64, Steps),
    /// None of the steps has a value.
    None(i64, Steps),
    /// So many of the steps are missing, more than the share that may be.
    TooMany(i64, i64, Steps, f64),
    /// So many of the steps are missing.
    Missing(i64, i64, Steps),
    /// So many of the days lack too many hours.
    DaysLacking(i64, i64),
    /// So many of the days lack hours.
    DaysWithGaps(i64, i64),
    /// It does not reach over a day.
    DayBeyond(NaiveDate),
    /// Too many hours of a day are missing.
    DayLacking(NaiveDate),
    /// It is in doubt in some of the steps.
    Doubt(Steps),
    /// The window is longer than any weather.
    Endless,
}

/// What the spray log lacks.
#[derive(Clone, PartialEq, Debug)]
pub enum LogGap {
    /// There is none.
    Unknown,
    /// It does not say enough.
    Enough,
    /// What a product of a day held.
    Content(Arc<str>, NaiveDate),
    /// How much the row for some trees on a day used.
    Amount(Arc<str>, NaiveDate),
}

/// Why there is no such value.
#[derive(Clone, PartialEq, Debug)]
pub enum NoValue {
    /// None of the steps has one.
    In(i64, Steps),
    /// The day has none.
    On(NaiveDate),
    /// The day that it waits for has not come.
    Waiting,
    /// It was never sprayed.
    NeverSprayed(Sprayed),
    /// An observed date is none.
    Date(NameId),
    /// It is outside the range in which it is valid.
    Invalid,
    /// The table ends before the key.
    TableEnds(TableKey),
    /// The table gives nothing here.
    TableGives(Arc<str>),
    /// A division by zero.
    ByZero,
    /// A power that does not exist.
    Power,
    /// The square root of a negative number.
    Root,
    /// The logarithm of a number not above zero.
    Logarithm,
}

/// Why a value is in doubt.
#[derive(Clone, PartialEq, Debug)]
pub enum InDoubt {
    /// The table has too many rows for what its keys can be.
    ManyRows(Arc<str>),
    /// The table says that the key is beyond it.
    Beyond(TableKey),
    /// The table gives a range.
    Range(Arc<str>),
    /// The table says that it is unknown.
    Unknown(Arc<str>),
    /// The window names no days.
    NoDays,
    /// So many were found among so many.
    Sample(u32, u32),
    /// It would be too great a number to reckon with.
    TooGreat,
}

/// A key of a table.
#[derive(Clone, PartialEq, Debug)]
pub struct TableKey {
    /// The name of the table.
    pub table: Arc<str>,
    /// Its keys, each of its kind.
    pub keys: Arc<[(Kind, Datum)]>,
}
