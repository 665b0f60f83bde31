//! The message catalogues: every language says the same, and whatever the program says stands in them.

use crate::cli::top;
use crate::house::files_below;
use bloomward::words::Language;
use bloomward::words::language::entries;
use std::collections::BTreeMap;
use std::fs;

fn catalogue(of: Language) -> BTreeMap<&'static str, &'static str> {
    let (_, _, text) = Language::ALL.into_iter().find(|(language, _, _)| *language == of).unwrap();
    let lines = text.lines().filter(|line| !line.is_empty() && !line.starts_with('#')).count();
    let entries: BTreeMap<_, _> = entries(text).collect();
    assert_eq!(entries.len(), lines, "a line that is no entry, or a key that is there twice");
    entries
}

/// The places of a text that are filled in, sorted.
fn places(words: &str) -> Vec<&str> {
    let mut places: Vec<&str> =
        words.split('{').skip(1).map(|rest| rest.split('}').next().unwrap()).collect();
    places.sort_unstable();
    places
}

/// Names that only other languages need, since the rulebook says them in English.
fn is_a_name(key: &str) -> bool {
    ["product.", "strength.", "disease.", "sprayer."].iter().any(|kind| key.starts_with(kind))
}

#[test]
fn every_language_has_every_key_with_the_same_places() {
    let english = catalogue(Language::English);
    for (language, code, _) in Language::ALL {
        let other = catalogue(language);
        for (key, words) in &english {
            let said = other.get(key).unwrap_or_else(|| panic!("`{key}` is missing in {code}"));
            assert_eq!(places(said), places(words), "{code}: {key}");
        }
        for key in other.keys() {
            assert!(english.contains_key(key) || is_a_name(key), "{code}: `{key}` is no key of English");
        }
    }
}

#[test]
fn every_key_that_the_program_says_is_there_and_every_key_is_said() {
    let english = catalogue(Language::English);
    let mut code = String::new();
    let folders = ["src/report", "src/cli", "src/grove/setup", "src/words", "src/explain"]
        .map(|folder| files_below(&top().join(folder)));
    for file in folders.into_iter().flatten() {
        if file.extension().is_some_and(|it| it == "rs") {
            code += &fs::read_to_string(file).unwrap();
        }
    }
    let quoted: Vec<&str> = code.split('"').skip(1).step_by(1).collect();
    let said = |key: &str| {
        quoted.contains(&key)
            // Some keys are put together.
            || ["before.", "done."].iter().any(|part| key.contains(part) && quoted.contains(&key.rsplit('.').next().unwrap()))
            || key.starts_with("weekday.")
            || key.starts_with("month.")
            || key.starts_with("series.")
            || key.starts_with("record.")
            || ["form.", "fact.", "ask.", "start.help."].iter().any(|kind| key.starts_with(kind))
            || key.ends_with(".us") && quoted.contains(&key.trim_end_matches(".us"))
            || key.ends_with(".one") && quoted.contains(&key.trim_end_matches(".one"))
            || is_a_name(key)
    };
    for key in english.keys() {
        assert!(said(key), "`{key}` is never said");
    }
    const KINDS: [&str; 17] = [
        "sheet.", "day.", "look.", "start.", "map.", "logged.", "noted.", "stored.", "mix.", "tank.",
        "record.", "claim.", "verdict.", "why.", "page.", "taken.", "into.",
    ];
    let is_a_key = |word: &&&str| KINDS.iter().any(|kind| word.starts_with(kind));
    let is_a_file = |word: &str| word.ends_with(".txt") || word.ends_with(".pdf");
    let keys = quoted.iter().filter(is_a_key).filter(|word| !word.contains(['{', ' ']) && !is_a_file(word));
    for key in keys {
        assert!(english.contains_key(key), "`{key}` is in no catalogue");
    }
}

#[test]
fn labels_fit_their_column() {
    // The column of labels is 14 wide, and one of them is a gap.
    const LABELS: &[&str] = &[
        "when",
        "rain",
        "mix",
        "against",
        "trees",
        "land",
        "sprayer",
        "volume",
        "jug",
        "flow",
        "neighbours",
        "earlier",
        "care",
        "keep-out",
        "pick",
        "while.stop",
    ];
    const PAGE: &[&str] = &[
        "guide",
        "seen",
        "weather",
        "data",
        "time",
        "trees",
        "why",
        "weaker",
        "not-allowed",
        "open",
        "nearest",
        "source",
        "hours",
        "not-checked",
        "strength",
        "mix",
        "how",
        "neighbours",
        "between",
        "ask",
        "covered",
        "until",
        "turn",
        "shut-in-some",
        "for",
        "assumed",
        "change",
        "close",
        "look-again",
        "keep-out",
        "pick",
        "do",
        "note",
    ];
    for (language, code, _) in Language::ALL {
        let words = catalogue(language);
        let sheet = LABELS.iter().map(|label| format!("sheet.{label}"));
        let day = ["guide", "rain", "one-tank", "look"].iter().map(|label| format!("day.{label}"));
        let page = PAGE.iter().map(|label| format!("page.{label}"));
        for key in sheet.chain(day).chain(page) {
            let label = words.get(key.as_str()).unwrap_or_else(|| panic!("{key}"));
            assert!(label.chars().count() <= 13, "{code}: {key}");
        }
    }
}
