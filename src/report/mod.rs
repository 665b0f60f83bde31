//! What people and programs read: statements, advice and findings as text and JSON.
//!
//! Comes in: advice, the explanations of its cases, facts of the grove, findings and the texts they speak of. Goes
//! out: text of a given width, and JSON. Decides nothing, and knows no file, no terminal and no clock.

mod advice_json;
mod ask;
mod case_json;
pub mod comparison;
mod crew;
pub mod filling;
pub mod findings;
#[cfg(feature = "cli")]
pub mod findings_drawn;
pub mod findings_explained;
mod ground;
mod grouping;
mod grove_trees;
mod job;
mod job_json;
mod json;
mod lines;
mod map;
mod mix_page;
pub mod logged;
pub mod noted;
pub mod page;
pub mod paper;
mod range_json;
mod ranges;
pub mod records;
pub mod mutation;
pub mod rehearsal;
pub mod sarif;
pub mod schemas;
mod statement_json;
mod stored;
pub mod taken;
mod taken_json;
pub mod tightening;
mod together;
mod value_json;
pub mod why_page;

pub use advice_json::{Heading, Trees, Writer};
pub use ask::{Asking, ask_json, ask_paper, scouting_sheet, stops};
pub use crew::{Crew, crew_json, day_paper, sheet_paper};
pub use ground::GroveGround;
pub use grouping::{Group, Groups, advise_in_groups};
pub use grove_trees::GroveTrees;
pub use job::job_words;
pub use job_json::{write_keep_out, write_mix};
pub use lines::Lines;
pub use map::map;
pub use mix_page::{Mixing, mix_json, mix_page};
pub use ranges::{count, ranges, ranges_in};
pub use statement_json::write_chain;
pub use taken_json::{TakenIn, taken_json};
pub use together::{Together, together};
pub use value_json::write_reading;
