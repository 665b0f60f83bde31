//! The page of a comparison as a reviewer reads it: what protects and is weaker is seen first, with its direction and its text;
//! each change of verdict is one row; what was shut and is sprayed is said; what is only called otherwise is told by both words.

use crate::cli::{folder, ran};

const HEAD: &str = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";
const BOOK: &str = "observe open\n  kind share\n  of panicles\n\
    observe spots\n  kind count\n  range from 0 to 9\n\
    product copper\n  strength low 600 ppm copper\n  strength full 1200 ppm copper\n  contains copper\n\
    \x20 label re-entry 48 h\n  cites own\n\
    product mancozeb\n  strength full 2 g/L\n  cites own\n\
    figure many = 20 %\n\
    measure in-bloom = some panicles with open above many\n\
    gate pollen\n  shuts copper\n  if in-bloom\n  because \"copper kills pollen\"\n  cites own\n\
    choice fight\n  advise copper at full\n  or else mancozeb at full\n  if spots at least 2\n  outranks rest\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n\
    promise pollen-is-safe\n  whenever in-bloom\n  never copper\n  because \"pollen\"\n  cites own\n\
    worked \"spots\"\n  cites own\n  take spots 3, open 0 %\n  expect copper at full\n";

/// Compares a rulebook with what becomes of it by some edits, each of which must meet something.
#[track_caller]
fn page(name: &str, format: &str, edits: &[(&str, &str)], status: i32) -> String {
    let folder = folder(name);
    let mut new = BOOK.to_owned();
    for (from, to) in edits {
        assert!(new.contains(from), "{from}");
        new = new.replace(from, to);
    }
    let paths = [("old", BOOK), ("new", &new)].map(|(name, text)| {
        let path = folder.join(format!("{name}.rulebook"));
        std::fs::write(&path, format!("{HEAD}{text}")).unwrap();
        path.to_str().unwrap().to_owned()
    });
    ran(&["compare", &paths[0], &paths[1], "--format", format, "--width", "200"][..], status).0
}

#[track_caller]
fn has(page: &str, words: &str) {
    assert!(page.contains(words), "{words}\n\n{page}");
}

/// The words of spray logs stand under both names, and the examples that say it otherwise are counted.
#[test]
fn a_strength_that_is_only_called_otherwise_is_told_by_both_words() {
    let renamed = [("full 1200", "strong 1200"), ("copper at full", "copper at strong")];
    let said = "`full` is now called `strong`, the dose unchanged (copper 1200 ppm copper). Rows of a spray log that say \
                `full` are not known by that word under the new rulebook";
    for format in ["text", "markdown"] {
        let page = page("called_otherwise", format, &renamed, 0);
        has(&page, if format == "text" { "`full` is now called `strong`" } else { said });
        has(
            &page,
            "written otherwise, and meaning the same: `choice fight`, `product copper`, 1 worked example",
        );
    }
    let json: serde_json::Value =
        serde_json::from_str(&page("called_otherwise", "json", &renamed, 0)).unwrap();
    let called = &json["called_otherwise"];
    assert_eq!(
        (called.as_array().unwrap().len(), &called[0]["was"], &called[0]["now"]),
        (1, &"full".into(), &"strong".into())
    );
}

/// A word that changes its meaning while another takes its place is read otherwise in every log.
#[test]
fn a_word_that_now_means_another_dose_is_said() {
    let swapped = [
        ("low 600 ppm copper\n  strength full 1200", "full 600 ppm copper\n  strength high 1200"),
        ("copper at full", "copper at high"),
    ];
    let page = page("called_by_the_old_word", "markdown", &swapped, 0);
    has(
        &page,
        "`full` is now called `high`, the dose unchanged (copper 1200 ppm copper). `full` now means copper 600 ppm copper",
    );
    has(&page, "`low` is now called `full`");
}

#[test]
fn what_protects_and_is_weaker_stands_first_with_its_direction_and_text() {
    let weaker = [
        ("re-entry 48 h", "re-entry 4 h"),
        (
            "promise pollen-is-safe\n  whenever in-bloom\n  never copper\n  because \"pollen\"\n  cites own\n",
            "",
        ),
    ];
    for format in ["text", "markdown"] {
        let page = page("what_protects_is_weaker", format, &weaker, 1);
        has(&page, "2 things that protect are weaker or gone");
        has(&page, "What protects, weakened or gone");
        let unbroken = page.replace(['*', '`'], "").split_whitespace().collect::<Vec<&str>>().join(" ");
        has(&unbroken, "label of copper re-entry: looser: people may go in sooner was: 48 h now: 4 h");
        has(
            &unbroken,
            "promise pollen-is-safe: omitted was: whenever in-bloom; never copper now: gone its reason: pollen",
        );
        assert!(!page.contains("No promise was"), "{page}");
    }
    let stricter = page("what_protects_is_stricter", "markdown", &[("re-entry 48 h", "re-entry 72 h")], 1);
    has(&stricter, "| 1 | `label of copper re-entry` | 48 h | **3 d** | stricter: people stay out longer |");
    has(&stricter, "No promise was weakened or dropped.");
    assert!(!stricter.contains("What protects"), "{stricter}");
}

/// Another product that the guide shut there is never only another product, and each change is one row.
#[test]
fn a_product_that_was_shut_there_is_said_and_each_change_is_one_row() {
    let fewer = [("with open above many", "with (open above many and open above 60 %)")];
    let page_of = |format: &str| page("a_product_that_was_shut", format, &fewer, 1);
    let markdown = page_of("markdown");
    has(&markdown, "#### 1. `measure in-bloom`");
    has(&markdown, "sprayed where it was shut: copper");
    has(&markdown, "`gate pollen`: no longer shuts copper in some situations, by `measure in-bloom`");
    has(&markdown, "  * its reason: copper kills pollen");
    has(
        &markdown,
        "`in-bloom` is defined otherwise: it is yes in fewer situations than before, and in no new one.",
    );
    has(&markdown, "now: measure in-bloom = some panicles with (open above many and open above 60 %)");
    // The promise says the same words, and promises less.
    has(&markdown, "`promise pollen-is-safe`: the same words stand for less");
    let rows = markdown.lines().filter(|line| line.starts_with("| mancozeb")).count();
    assert_eq!(rows, 1, "{markdown}");
    let text = page_of("text");
    let rows: Vec<&str> = text.lines().filter(|line| line.starts_with("  mancozeb")).collect();
    assert_eq!(
        rows,
        ["  mancozeb 2 g/L → copper 1200 ppm copper (other product; copper was shut here)"],
        "{text}"
    );
    let json: serde_json::Value = serde_json::from_str(&page_of("json")).unwrap();
    assert_eq!(
        json["changes"][0]["was_shut"][0],
        serde_json::json!({ "product": "copper", "by": ["pollen"] })
    );
}

/// What a gate names is shown by what it stands for.
#[test]
fn a_name_of_the_situation_is_told_by_what_it_stands_for() {
    let open = [("if in-bloom\n  because", "if in-bloom and spots below 5\n  because")];
    let page = page("told_by_what_it_stands_for", "markdown", &open, 1);
    has(&page, "* that is: in-bloom: some panicles with open above many");
}
