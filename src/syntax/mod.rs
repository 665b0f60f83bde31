//! The text of a rulebook and its tree: reading with recovery, and the one canonical form.
//!
//! Comes in: text. Goes out: a [`tree::Tree`] with every item that could be read, and a finding for each that
//! could not. Knows no units and no meaning.

pub mod tree;
