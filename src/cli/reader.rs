//! In which language this run speaks to whoever reads it, where something is in the way of what was asked.

use crate::words::Language;
use std::sync::OnceLock;

static READER: OnceLock<Language> = OnceLock::new();

/// Takes the language that was asked for; a code that is none is refused where the command reads it.
pub fn reads(code: Option<&str>) {
    let asked = code.and_then(Language::of_code);
    // It is asked for once.
    let _ = READER.set(asked.unwrap_or(Language::English));
}

/// Returns the language.
pub fn language() -> Language {
    READER.get().copied().unwrap_or(Language::English)
}
