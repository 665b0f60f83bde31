//! The JSON Schemas (draft 2020-12) of the outputs that programs read.

/// Of `bloomward.advice/1`.
pub const ADVICE: &str = include_str!("schemas/advice.json");

/// Of `bloomward.findings/1`.
pub const FINDINGS: &str = include_str!("schemas/findings.json");

/// Of `bloomward.mix/1`.
pub const MIX: &str = include_str!("schemas/mix.json");

/// Of `bloomward.sprayday/1`.
pub const SPRAYDAY: &str = include_str!("schemas/sprayday.json");

/// Of `bloomward.ask/1`.
pub const ASK: &str = include_str!("schemas/ask.json");

/// Of `bloomward.records/1`.
pub const RECORDS: &str = include_str!("schemas/records.json");

/// Of `bloomward.scouted/1`.
pub const SCOUTED: &str = include_str!("schemas/scouted.json");

/// Of `bloomward.sprayed/1`.
pub const SPRAYED: &str = include_str!("schemas/sprayed.json");

/// Of `bloomward.weather/1`.
pub const WEATHER: &str = include_str!("schemas/weather.json");
