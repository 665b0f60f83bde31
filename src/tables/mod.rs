//! Tables as growers, stations and spreadsheets write them.
//!
//! Comes in: the text of a file. Goes out: cells with their places, and times as they are written. Does not know what a column means.

mod loose;
mod sheet;
mod stamp;

pub(crate) use loose::{LooseRow, LooseTable};
pub(crate) use sheet::{Row, Sheet, cells};
pub use stamp::{Stamp, read_stamp};
