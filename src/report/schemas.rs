//! The JSON Schemas (draft 2020-12) of the outputs that programs read.

/// Of `bloomward.advice/1`.
pub const ADVICE: &str = include_str!("schemas/advice.json");

/// Of `bloomward.findings/1`.
pub const FINDINGS: &str = include_str!("schemas/findings.json");
