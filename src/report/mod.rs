//! What people and programs read: statements and findings as text and JSON.
//!
//! Comes in: advice, findings and the texts they speak of. Goes out: strings of a given width, and JSON. Knows no
//! file, no terminal and no clock.

pub mod filling;
pub mod findings;
#[cfg(feature = "cli")]
pub mod findings_drawn;
pub mod findings_explained;
pub mod schemas;
