//! Spanish pages: no English sentence of the program stands on them, and their numbers are those of the English page.

use crate::cli::ran;
use bloomward::words::Language;
use textwrap::core::display_width;

/// Groves with their names and moments: between them every verdict of a sound rulebook comes up.
pub const MORNINGS: [(&str, &str, &str); 5] = [
    ("examples/mixed-grove", "Loma Serena teaching orchard", "2027-02-09T04:30"),
    ("examples/mixed-grove", "Loma Serena teaching orchard", "2027-02-09T12:00"),
    ("examples/southern", "Three Gullies", "2026-08-20T04:30"),
    ("examples/southern", "Three Gullies", "2026-08-20T12:00"),
    ("examples/garden", "Behind the wash-house", "2027-03-02T05:00"),
];

/// Words without which hardly an English sentence is made, and which Spanish does not have.
const ENGLISH: [&str; 24] = [
    "the", "and", "with", "not", "until", "because", "is", "are", "of", "to", "at", "from", "spray", "trees",
    "tree", "which", "would", "what", "for", "by", "more", "look", "check", "only",
];

/// Keys of the fields that say what others wrote: sources, problems of the grower's files, the names on jugs.
const OF_OTHERS: [&str; 3] = ["page.source", "page.data", "sheet.jug"];

/// Keys of fields and parts of the page that name values and verdicts in the rulebook's own words.
const AS_WRITTEN: [&str; 0] = [];

pub fn page(language: &str, width: &str, arguments: &[&str]) -> String {
    ran(&[arguments, &["--language", language, "--width", width]].concat(), 0).0
}

fn say(key: &str) -> String {
    Language::Spanish.say(key, &[])
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start().len()
}

/// Returns the lines of a wide page that the program itself says, without what it quotes.
fn own_words(page: &str, grove: &str) -> Vec<String> {
    let left_out = |line: &str| {
        let text = line.trim();
        let is = |key: &&str| text == say(key) || line.starts_with(&format!("  {} ", say(key)));
        OF_OTHERS.iter().chain(&AS_WRITTEN).any(is) || text.starts_with("fuente: ")
    };
    let mut own = Vec::new();
    // What is indented further than a field's label, or than the first line of a source, goes on with it; a part of a
    // page goes on to an empty line.
    let mut left: Option<usize> = None;
    let unquoted = page.replace(grove, "").split('`').step_by(2).collect::<Vec<_>>().join(" ");
    for line in unquoted.lines() {
        left = left.filter(|of| !line.is_empty() && (indent(line) > *of || *of == 0));
        if left.is_none() && left_out(line) {
            left = Some(indent(line));
        } else if left.is_none() {
            own.push(line.to_owned());
        }
    }
    own
}

pub fn assert_spanish(page: &str, grove: &str) {
    for line in own_words(page, grove) {
        let small = line.to_lowercase();
        let mut words = small.split(|letter: char| !(letter.is_alphabetic() || "-./_".contains(letter)));
        let found = words.find(|word| ENGLISH.contains(word));
        assert_eq!(found, None, "{line}");
    }
}

/// Returns the numbers of a text, in order.
fn numbers(text: &str) -> Vec<&str> {
    let parts = text.split(|letter: char| !(letter.is_ascii_digit() || ".:".contains(letter)));
    let bare = parts.map(|part| part.trim_matches(['.', ':']));
    bare.filter(|part| !part.is_empty()).collect()
}

/// Returns the fields of a wide page under some keys, with their numbers.
fn fields<'p>(page: &'p str, language: Language, keys: &[&'static str]) -> Vec<(&'static str, Vec<&'p str>)> {
    let labels: Vec<(&str, String)> =
        keys.iter().map(|key| (*key, format!("  {} ", language.say(key, &[])))).collect();
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut goes_on = false;
    for line in page.lines() {
        let label = labels.iter().find(|(_, label)| line.starts_with(&**label));
        goes_on = label.is_some() || goes_on && indent(line) > 2;
        if let Some((key, _)) = label {
            found.push((key, Vec::new()));
        }
        if let (true, Some((_, into))) = (goes_on, found.last_mut()) {
            into.extend(numbers(line));
        }
    }
    found
}

/// Fields of numbers that stand on the page in any language; how many reasons fit differs with the length of the words.
const FIGURES: [&str; 13] = [
    "page.seen",
    "page.weather",
    "page.time",
    "page.trees",
    "page.hours",
    "page.not-checked",
    "page.strength",
    "page.mix",
    "page.neighbours",
    "page.close",
    "page.look-again",
    "page.keep-out",
    "page.pick",
];

/// Returns the first tree of each verdict of a page, with the verdict's key.
fn first_trees(page: &str) -> Vec<(&'static str, String)> {
    let lines: Vec<&str> = page.lines().collect();
    let keys = ["page.verdict.spray", "page.verdict.look", "page.verdict.hold", "page.verdict.all-shut"];
    let first = |key: &'static str| {
        let heading = say(key);
        let at = lines.iter().position(|line| line.starts_with(heading.trim_end()))?;
        let (_, list) = lines.get(at + 2)?.split_once(": ")?;
        Some((key, list.split([',', '–']).next()?.to_owned()))
    };
    keys.into_iter().filter_map(first).collect()
}

#[test]
fn the_page_of_a_morning_is_spanish_and_has_the_numbers_of_the_english_one() {
    let mut verdicts: Vec<&str> = Vec::new();
    for (grove, name, at) in MORNINGS {
        let asked = ["advise", "--long", grove, "--as-of", at];
        let (english, spanish) = (page("en", "200", &asked), page("es", "200", &asked));
        assert_spanish(&spanish, name);
        let figures = fields(&english, Language::English, &FIGURES);
        assert!(figures.len() > 5, "{english}");
        assert_eq!(figures, fields(&spanish, Language::Spanish, &FIGURES), "{grove} {at}");
        verdicts.extend(first_trees(&spanish).into_iter().map(|(verdict, _)| verdict));
    }
    verdicts.sort_unstable();
    verdicts.dedup();
    assert_eq!(verdicts.len(), 4, "{verdicts:?}");
}

#[test]
fn the_page_of_one_tree_is_spanish_and_has_the_values_of_the_english_one() {
    for (grove, name, at) in [MORNINGS[0], MORNINGS[2], MORNINGS[4]] {
        let trees = first_trees(&page("es", "200", &["advise", "--long", grove, "--as-of", at]));
        assert!(trees.len() > 2, "{trees:?}");
        for (_, tree) in trees {
            let asked = ["why", "--all", grove, &*tree, "--as-of", at];
            let (english, spanish) = (page("en", "200", &asked), page("es", "200", &asked));
            assert_spanish(&spanish, name);
            let values = |page: &str, language: Language| {
                let heading = format!("\n{}\n", language.say("why.values", &[]));
                let (_, values) = page.split_once(&heading).expect("the values");
                numbers(values).into_iter().map(str::to_owned).collect::<Vec<_>>()
            };
            assert_eq!(values(&english, Language::English), values(&spanish, Language::Spanish));
        }
    }
}

#[test]
fn why_a_product_is_not_advised_is_said_in_spanish() {
    for (grove, name, at) in [MORNINGS[0], MORNINGS[2], MORNINGS[4]] {
        let trees = first_trees(&page("es", "200", &["advise", "--long", grove, "--as-of", at]));
        for product in ["copper", "sulfur", "oil"] {
            let (_, tree) = &trees[0];
            let not = page("es", "200", &["why", "--all", grove, tree, "--not", product, "--as-of", at]);
            assert_spanish(&not, name);
            assert!(not.contains("Por qué no "), "{not}");
        }
    }
}

#[test]
fn what_to_look_at_and_the_plan_of_the_day_are_spanish() {
    for (grove, name, at) in MORNINGS {
        for asked in [&["ask", grove][..], &["ask", grove, "--sheet"], &["sprayday", "--look", grove]] {
            let asked = [asked, &["--as-of", at]].concat();
            let (english, spanish) = (page("en", "200", &asked), page("es", "200", &asked));
            assert_spanish(&spanish, name);
            if asked[0] == "sprayday" {
                let keys = ["sheet.when", "sheet.rain", "sheet.land", "sheet.volume", "sheet.trees"];
                let of = |page, language| fields(page, language, &keys);
                assert_eq!(of(&english, Language::English), of(&spanish, Language::Spanish), "{grove} {at}");
            }
        }
    }
}

#[test]
fn spanish_pages_keep_their_width() {
    let (grove, _, at) = MORNINGS[4];
    for width in ["40", "80"] {
        for asked in [&["advise", "--long", grove][..], &["why", "--all", grove, "T01"], &["ask", grove]] {
            let text = page("es", width, &[asked, &["--as-of", at]].concat());
            for line in text.lines() {
                assert!(display_width(line) <= width.parse().unwrap(), "{line}");
            }
        }
    }
}

#[test]
fn json_is_the_same_in_every_language() {
    let (grove, _, at) = MORNINGS[4];
    for asked in [&["advise", "--long", grove][..], &["why", "--all", grove, "T01"]] {
        let json = |language| page(language, "80", &[asked, &["--as-of", at, "--format", "json"]].concat());
        assert_eq!(json("en"), json("es"));
    }
}

#[test]
fn a_language_that_is_not_there_is_refused() {
    for command in [&["advise", "--long", "examples/garden"][..], &["why", "--all", "examples/garden", "T01"]]
    {
        let (_, error) = ran(&[command, &["--language", "pt"]].concat(), 2);
        assert!(error.contains("there is no language `pt`"), "{error}");
    }
}
