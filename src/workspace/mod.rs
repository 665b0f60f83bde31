//! The one front door: opens a rulebook with its bases and the hours of its worked examples, opens a grove, advises it at a
//! moment, and keeps what was worked out.
//!
//! It alone knows the order of the phases. The command line, tests and benchmarks enter by it and see the same. It reads
//! through a [`Store`], and touches neither disk, clock nor terminal.

mod advised;
mod earlier;
mod grove_opening;
mod rulebook_opening;
mod store;
mod translations;

pub use earlier::EarlierWeather;
pub use grove_opening::{GroveRequest, OpenGrove, OtherBook, Purpose, Unopened, open_grove};
pub use rulebook_opening::{OpenRulebook, open_rulebook, take_example_hours};
pub use store::{MemoryStore, Store};
pub use translations::{TRANSLATED, translation_findings, translation_path};
