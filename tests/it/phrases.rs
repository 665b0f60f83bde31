//! What a grower is told of files, notes and answers is said in every language: no sentence is made so that it cannot be
//! translated, and none is forgotten in the catalogue of phrases.

use super::cli::{folder, ran, top};
use super::grove;
use super::house::files_below;
use bloomward::problems::Problem;
use bloomward::words::Language;
use bloomward::words::language::{SPANISH_PHRASES, phrases};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;

/// Where the files of growers are read, their notes and their weather.
const OF_GROWERS: [&str; 7] = [
    "src/grove",
    "src/weather",
    "src/tables",
    "src/intake",
    "src/workspace/grove_opening.rs",
    "src/workspace/store.rs",
    "src/advice/always.rs",
];
/// What is written into a grove or read from a file, and no sentence.
const NOT_SAID: [&str; 19] = [
    "day of year",
    "marca de tiempo",
    "did you mean",
    "Date (MM/DD/YYYY),Time (HH:MM)",
    "Lprecip depth (mm)",
    "Lprecip quantity (hr)",
    "basic copper sulfate",
    "basic copper sulphate",
    "a worked example",
    "a value, a list or a map",
    "todos los árboles",
    "toda la finca",
    "from the canopy",
    "Cerro Verde orchard",
    "handgun, tank 25 gal, 1.5 gal per tree, pace 25 gal/h, fill 15 min",
    "liquid precipitation depth",
    "of the day",
    "air temperature",
    "rain of 1 h",
];

/// A text that stands in the code, with what stands before it.
struct Written {
    file: String,
    before: String,
    text: String,
}

/// All texts of the code, as the program has them; comments, attributes and unit tests are none of it.
fn written() -> Vec<Written> {
    let mut found = Vec::new();
    for file in
        files_below(&top().join("src")).into_iter().filter(|it| it.extension().is_some_and(|it| it == "rs"))
    {
        let whole = fs::read_to_string(&file).unwrap();
        let code = whole.split("#[cfg(test)]\nmod ").next().unwrap();
        let name = file.strip_prefix(top()).unwrap().display().to_string();
        let mut rest = code;
        let mut before = String::new();
        while let Some(at) = rest.find(['"', '/', '\'']) {
            before.push_str(&rest[..at]);
            rest = &rest[at..];
            if rest.starts_with("//") {
                rest = rest.find('\n').map_or("", |end| &rest[end..]);
                continue;
            }
            let sign = ["'\"'", "'\\''", "'\\\\'"].into_iter().find(|sign| rest.starts_with(sign));
            if !rest.starts_with('"') {
                let taken = sign.map_or(1, str::len);
                before.push_str(&rest[..taken]);
                rest = &rest[taken..];
                continue;
            }
            let mut end = 1;
            while !rest[end..].starts_with('"') {
                end += if rest[end..].starts_with('\\') {
                    2
                } else {
                    rest[end..].chars().next().unwrap().len_utf8()
                };
            }
            let (file, before_it) = (name.clone(), std::mem::take(&mut before));
            found.push(Written { file, before: before_it, text: plain(&rest[1..end]) });
            rest = &rest[end + 1..];
        }
    }
    found
}

/// Takes the escapes of a text away.
fn plain(raw: &str) -> String {
    let mut plain = String::new();
    let mut signs = raw.chars().peekable();
    while let Some(sign) = signs.next() {
        match (sign, signs.peek()) {
            ('\\', Some('\n')) => while signs.next_if(|it| it.is_whitespace()).is_some() {},
            ('\\', Some('n')) => {
                signs.next();
                plain.push('\n');
            }
            ('\\', Some(_)) => plain.extend(signs.next()),
            _ => plain.push(sign),
        }
    }
    plain
}

/// The words of a text outside of what is quoted or filled in.
fn words(text: &str) -> usize {
    let mut outside = String::new();
    let mut closing = None;
    for sign in text.chars() {
        match (closing, sign) {
            (None, '`') => closing = Some('`'),
            (None, '{') => closing = Some('}'),
            (None, other) => outside.push(other),
            (Some(end), other) if end == other => closing = None,
            (Some(_), _) => {}
        }
    }
    let word = |word: &&str| word.chars().filter(|it| it.is_alphabetic()).count() >= 2;
    outside.split(' ').filter(word).count()
}

#[test]
fn every_sentence_for_growers_is_in_spanish() {
    let spanish: BTreeMap<&str, &str> = phrases(SPANISH_PHRASES).collect();
    let mut missing = BTreeSet::new();
    for Written { file, before, text } in written() {
        let behind = |call: &str| before.trim_end().ends_with(call);
        let is_phrase = behind("said!(") || behind("Phrase::from(");
        let attribute = before.rsplit('\n').next().unwrap_or_default().trim_start().starts_with("#[");
        let of_growers = OF_GROWERS.iter().any(|folder| file.starts_with(folder))
            && !file.ends_with("setup/write.rs")
            && !attribute
            && !before.ends_with("reason = ");
        let command = file.starts_with("src/cli/")
            && !["proofread", "compare", "rehearse", "tidy", "books", "shell", "bulletin"]
                .iter()
                .any(|it| file.contains(it));
        let refusal = command && ["Refusal::new(", ".help("].into_iter().any(behind) && words(&text) > 0;
        let sentence = of_growers && words(&text) >= 3 && !NOT_SAID.contains(&&*text);
        if (is_phrase || refusal || sentence) && !spanish.contains_key(&*text) {
            missing.insert(format!("{file}: {text}"));
        }
        if sentence
            || command
                && words(&text) >= 2
                && [".help(format!(", "Refusal::new(format!("].into_iter().any(behind)
        {
            assert!(
                !behind("format!("),
                "{file}: say `{text}` with `said!`, so that it can be said in Spanish"
            );
        }
    }
    assert!(
        missing.is_empty(),
        "not in src/words/es/phrases.txt:\n{}",
        missing.into_iter().collect::<Vec<_>>().join("\n")
    );
}

#[test]
fn every_phrase_is_said_and_has_the_same_places() {
    let written: BTreeSet<String> = written().into_iter().map(|it| it.text).collect();
    let places = |text: &str| -> Vec<String> {
        let text = text.replace("{{", "").replace("}}", "");
        let mut places: Vec<String> =
            text.split('{').skip(1).map(|it| it.split('}').next().unwrap().to_owned()).collect();
        places.sort();
        places
    };
    let (mut seen, mut wrong) = (BTreeSet::new(), Vec::new());
    for (english, spanish) in phrases(SPANISH_PHRASES) {
        if !written.contains(english) || !seen.insert(english) {
            wrong.push(format!("nobody says it, or it is there twice: {english}"));
        }
        if places(english) != places(spanish) {
            wrong.push(format!("other places: {english}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(seen.len() > 600, "{}", seen.len());
}

#[test]
fn whatever_is_wrong_with_a_grove_is_told_in_spanish() {
    let (mut told, mut wrong) = (0, BTreeSet::new());
    for file in files_below(&top().join("tests/fixtures/grove/wrong")) {
        let read = grove::read_fixture(&file);
        for problem in read.problems.iter() {
            told += 1;
            let Problem { message, label, related, help, .. } = problem;
            let of = related.iter().map(|(_, says)| says).chain([message]).chain(help);
            let labels = Some(label).filter(|label| !label.is_empty());
            for phrase in of.chain(labels) {
                if !phrase.has_parts() {
                    wrong.insert(format!("made so that it cannot be translated: {phrase}"));
                }
                let unknown = phrase.unknown(&|words| Language::Spanish.phrase_words(words));
                wrong.extend(unknown.iter().map(|words| format!("not in Spanish: {words}")));
            }
        }
    }
    assert!(told > 100, "{told}");
    assert!(wrong.is_empty(), "{}", wrong.into_iter().collect::<Vec<_>>().join("\n"));
}

#[test]
fn a_place_is_filled_in_wherever_it_stands() {
    let problem = grove::read(&[(
        "grove.yaml",
        "grove: A\nplace: { latitude: 18, longitude: -66, timezone: America/Puerto_Rico }\nrulebok: x\n",
    )]);
    let first = problem.problems.iter().find(|it| it.message.contains("rulebok")).unwrap();
    assert_eq!(&*first.message, "`rulebok` is not a key of a grove");
    assert_eq!(Language::Spanish.phrase(&first.message), "`rulebok` no es una clave de una finca");
    assert_eq!(Language::English.phrase(&first.message), first.message.to_string());
    assert_eq!(Language::Spanish.phrase(first.help.as_ref().unwrap()), "¿quiso decir `rulebook`?");
}

#[test]
fn what_is_in_the_way_of_a_command_is_told_in_its_language() {
    let grove = folder("told_in_its_language").join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "garden"], 0);
    let grove = grove.to_str().unwrap();
    let note = |language: &str| ran(&["scouted", grove, "zz9 full 80", "--language", language], 2).1;
    let (spanish, english) = (note("es"), note("en"));
    assert!(spanish.contains("no hay ningún árbol ni bloque `zz9`"), "{spanish}");
    assert!(spanish.contains("Se encontró: 1 error. Corrija los errores"), "{spanish}");
    assert!(spanish.contains("ayuda: "), "{spanish}");
    assert!(
        english.contains("there is no tree or block `zz9`") && english.contains("Found 1 error."),
        "{english}"
    );
    let refused = ran(&["advise", "nowhere-at-all", "--language", "es"], 2).1;
    assert!(
        refused.starts_with("error: no hay ninguna finca en `nowhere-at-all`\n  ayuda: nombre"),
        "{refused}"
    );
    let sprayed = ran(
        &[
            "sprayed",
            grove,
            "--on",
            "M01",
            "--product",
            "sulfur",
            "--start",
            "7",
            "--end",
            "8",
            "--language",
            "es",
        ],
        2,
    )
    .1;
    assert!(sprayed.contains("no es una hora") && !sprayed.contains("write"), "{sprayed}");
}
