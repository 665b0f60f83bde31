//! What people and programs read: statements, advice and findings as text and JSON.
//!
//! Comes in: advice, the explanations of its cases, facts of the grove, findings and the texts they speak of. Goes
//! out: text of a given width, and JSON. Decides nothing, and knows no file, no terminal and no clock.

mod advice_json;
mod ask;
pub mod bulletin;
mod case_json;
pub mod comparison;
mod crew;
pub mod filling;
pub mod findings;
mod findings_json;
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
mod mix_json;
mod mix_page;
mod morning;
pub mod logged;
mod logged_json;
pub mod note_words;
pub mod noted;
pub mod page;
pub mod paper;
mod range_json;
mod ranges;
pub mod records;
pub mod mutation;
pub mod rehearsal;
mod rehearsal_json;
pub mod sarif;
pub mod schemas;
pub mod season;
mod statement_json;
mod stored;
pub mod taken;
mod taken_json;
pub mod tightening;
mod together;
mod value_json;
pub mod why_page;

pub use advice_json::{Heading, Trees, write_advice};
pub use ask::{Asking, OpenSheet, ask_json, ask_paper, scouting_sheet, stops};
pub use crew::{Crew, crew_json, day_paper, sheet_paper};
pub use findings_json::findings_json;
pub use ground::GroveGround;
pub use grouping::{Groups, TreeGroup, advise_in_groups, day_of_groups};
pub use grove_trees::GroveTrees;
pub use job::{job_words, loads_words, part_words_short};
pub use lines::Lines;
pub use logged_json::{logged_json, struck_out_json};
pub use map::map;
pub use mix_json::mix_json;
pub use mix_page::{Mixing, mix_page};
pub use morning::morning_paper;
pub use ranges::{count, ranges, ranges_in};
pub use taken_json::{TakenIn, taken_json};
pub use together::{Together, together};
