//! Statements and advice as text and JSON.
//!
//! Comes in: an advice, the explanations of its cases, facts of the grove. Goes out: bytes. Decides nothing.

mod advice_json;
mod case_json;
mod grouping;
mod json;
mod lines;
pub mod page;
mod ranges;
mod statement_json;
mod value_json;

pub use advice_json::{Heading, Trees, Writer};
pub use grouping::{Group, Groups};
pub use lines::Lines;
pub use ranges::{count, ranges};
pub use statement_json::write_chain;
pub use value_json::write_reading;
