//! The message catalogue: what the program says, in each language that it has.
//!
//! A catalogue is a folder beside this file, a text for each subject, one `key = words` a line, `{place}` where something
//! is filled in. Another language is another folder and a line in [`Language::ALL`]; the tests hold all catalogues to
//! the same keys and places. The rulebook's own words (its reasons and cautions) are those of the plan.

use crate::phrase::Phrase;
use crate::problems::{Problem, Problems};
use rustc_hash::FxHashMap;
use std::sync::LazyLock;

/// Puts the texts of a language's catalogue together.
macro_rules! catalogue {
    ($code:literal: $($subject:literal),+) => {
        concat!($(include_str!(concat!($code, "/", $subject, ".txt")), "\n"),+)
    };
}

/// A language.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Language {
    /// English.
    English,
    /// Spanish.
    Spanish,
}

impl Language {
    /// All languages with their codes (ISO 639-1) and their catalogues.
    pub const ALL: [(Language, &'static str, &'static str); 2] = [
        (
            Language::English,
            "en",
            catalogue!(
                "en": "days", "values", "causes", "claims", "page", "why", "names", "labels", "mix", "records", "tank", "sheet", "day", "look", "start", "logged", "noted", "morning", "weather", "bulletin", "findings", "season"
            ),
        ),
        (
            Language::Spanish,
            "es",
            catalogue!(
                "es": "days", "values", "causes", "claims", "page", "why", "names", "labels", "mix", "records", "tank", "sheet", "day", "look", "start", "logged", "noted", "morning", "weather", "bulletin", "findings", "season"
            ),
        ),
    ];

    /// Returns the language of a code.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known, _)| *known == code).map(|(language, _, _)| *language)
    }

    /// Returns its code.
    pub fn code(self) -> &'static str {
        Self::ALL.iter().find(|(language, _, _)| *language == self).map_or("en", |(_, code, _)| code)
    }

    /// Returns the words of a key, if the catalogue has them.
    fn words(self, key: &str) -> Option<&'static str> {
        let of = Self::ALL.iter().position(|(language, _, _)| *language == self)?;
        CATALOGUES.get(of)?.get(key).copied()
    }

    /// Returns the words of a key, with its places filled in.
    pub fn say(self, key: &str, places: &[(&str, &str)]) -> String {
        let words = self.words(key).or_else(|| Language::English.words(key)).unwrap_or(key);
        let mut said = String::with_capacity(words.len() + 16);
        let mut rest = words;
        while let Some((before, from)) = rest.split_once('{') {
            said.push_str(before);
            let (place, after) = from.split_once('}').unwrap_or((from, ""));
            said.push_str(places.iter().find(|(known, _)| *known == place).map_or("", |(_, with)| with));
            rest = after;
        }
        said.push_str(rest);
        said
    }

    /// Returns the words of a key that has another form, `KEY.one`, for one of what is counted.
    pub fn counted(self, key: &str, count: i64, places: &[(&str, &str)]) -> String {
        if count == 1 {
            return self.say(&format!("{key}.one"), places);
        }
        let count = count.to_string();
        self.say(key, &[&[("count", &*count)], places].concat())
    }

    /// Returns a phrase in this language.
    pub fn phrase(self, phrase: &Phrase) -> String {
        match self {
            Language::English => phrase.to_string(),
            other => phrase.translated(&|words| other.phrase_words(words)),
        }
    }

    /// Returns the words of this language for those of a phrase in the code, where its catalogue has them.
    pub fn phrase_words(self, words: &str) -> Option<&'static str> {
        match self {
            Language::English => None,
            Language::Spanish => SPANISH.get(words).copied(),
        }
    }

    /// Returns findings with what they say in this language.
    pub fn problems(self, problems: &Problems) -> Problems {
        let said = |phrase: &Phrase| Phrase::from(self.phrase(phrase));
        let mut translated = Problems::default();
        for problem in problems.iter() {
            translated.push(Problem {
                message: said(&problem.message),
                label: said(&problem.label),
                related: problem.related.iter().map(|(at, says)| (*at, said(says))).collect(),
                help: problem.help.as_ref().map(said),
                ..problem.clone()
            });
        }
        translated
    }

    /// Returns words one after the other: `a, b or c` by the key `list.or`.
    pub fn listed(self, key: &str, words: &[String]) -> String {
        match words {
            [] => String::new(),
            [one] => one.clone(),
            [first @ .., last] => self.say(key, &[("first", &first.join(", ")), ("last", last)]),
        }
    }

    /// Returns words joined by a key with the places `one` and `other`.
    pub fn joined(self, key: &str, words: &[String]) -> String {
        let mut words = words.iter();
        let Some(first) = words.next() else { return String::new() };
        words.fold(first.clone(), |one, other| self.say(key, &[("one", &one), ("other", other)]))
    }

    /// Returns `1 tree`, `6 trees`.
    pub fn trees(self, count: usize) -> String {
        if count == 1 { self.say("tree", &[]) } else { self.say("trees", &[("count", &count.to_string())]) }
    }

    /// Returns what a kind of sprayer is called; one that the catalogue does not know as it was written.
    pub fn sprayer(self, kind: &str) -> String {
        self.words(&format!("sprayer.{kind}")).unwrap_or(kind).to_string()
    }
}

/// The catalogues by their keys, in the order of [`Language::ALL`].
static CATALOGUES: LazyLock<Vec<FxHashMap<&'static str, &'static str>>> =
    LazyLock::new(|| Language::ALL.iter().map(|(_, _, catalogue)| entries(catalogue).collect()).collect());

/// The phrases of errors and refusals in Spanish: those of the code, each with its translation indented below it.
pub const SPANISH_PHRASES: &str = include_str!("es/phrases.txt");

static SPANISH: LazyLock<FxHashMap<&'static str, &'static str>> =
    LazyLock::new(|| phrases(SPANISH_PHRASES).collect());

/// Returns the phrases of a catalogue of them with their translations.
pub fn phrases(catalogue: &'static str) -> impl Iterator<Item = (&'static str, &'static str)> {
    let mut lines = catalogue.lines().filter(|line| !line.starts_with("# ") && !line.is_empty());
    std::iter::from_fn(move || Some((lines.next()?, lines.next()?.trim_start())))
}

/// Returns the entries of a catalogue.
pub fn entries(catalogue: &'static str) -> impl Iterator<Item = (&'static str, &'static str)> {
    let lines = catalogue.lines().filter(|line| !line.starts_with('#'));
    lines.filter_map(|line| line.split_once(" = ")).map(|(key, words)| (key.trim(), words.trim()))
}
