//! A reviewer's edits of the shipped books: each page says what is broken by them, what protects less, and which item makes
//! which difference, and names no item that makes none.

use crate::cli::{folder, ran, top};
use serde_json::Value;
use std::path::PathBuf;

/// Writes the common base with some edits, each of which must meet something.
fn edited(name: &str, edits: &[(&str, &str)]) -> PathBuf {
    let mut text = std::fs::read_to_string(top().join("rulebooks/base/mango.rulebook")).unwrap();
    for (from, to) in edits {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let path = folder(name).join("mango.rulebook");
    std::fs::write(&path, text).unwrap();
    path
}

fn compared(old: &str, new: &str, format: &str) -> String {
    ran(&["compare", old, new, "--format", format, "--width", "200"], 1).0
}

/// Returns the text, the Markdown and the JSON of an edit of the common base.
fn pages(name: &str, edits: &[(&str, &str)]) -> (String, String, Value) {
    let (old, new) = (top().join("rulebooks/base/mango.rulebook"), edited(name, edits));
    let of = |format: &str| compared(old.to_str().unwrap(), new.to_str().unwrap(), format);
    (of("text"), of("markdown"), serde_json::from_str(&of("json")).unwrap())
}

/// Returns a page without its line ends and indents.
fn unbroken(page: &str) -> String {
    page.split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[track_caller]
fn has(page: &str, words: &str) {
    assert!(unbroken(page).contains(words), "{words}\n\n{page}");
}

fn protections(json: &Value) -> Vec<&str> {
    json["protection"].as_array().unwrap().iter().map(|it| it["item"].as_str().unwrap()).collect()
}

/// The words move from dose to dose: what the gate holds to is another amount, wherever it speaks, whatever choice decides.
#[test]
fn a_gate_that_holds_to_more_is_weaker_and_the_cause() {
    let renamed = [
        (
            "strength reduced  2 g/L\n  strength full     3 g/L",
            "strength light  2 g/L\n  strength reduced  3 g/L",
        ),
        ("sulfur at full", "sulfur at reduced"),
    ];
    let (text, markdown, json) = pages("compared_holds_more", &renamed);
    for page in [&text, &markdown] {
        let plain = page.replace('*', "");
        has(&plain, "`gate gentle-in-bloom`: looser was: sulfur held to 2 g/L now: sulfur held to 3 g/L");
        assert!(!page.contains("choice protect-from-mildew`:"), "{page}");
    }
    assert!(protections(&json).contains(&"gate gentle-in-bloom"), "{json:#}");
    has(&text, "1. `gate gentle-in-bloom` (looser: stronger): above");
    // Nothing changes on a tree that is not tender: it is said where, and shown so.
    has(&text, "where tender yes");
    has(&text, "tender yes: ");
}

/// No gate names a dose: each choice that doubles it is a cause of its own, with what limits it.
#[test]
fn a_choice_is_not_hidden_behind_the_first() {
    let stronger = [
        ("strength full     3 g/L", "strength full     3 g/L\n  strength most  4 g/L"),
        (
            "choice treat-mildew \"treat mildew\"\n  against  powdery-mildew\n  advise   sulfur at full",
            "choice treat-mildew \"treat mildew\"\n  against  powdery-mildew\n  advise   sulfur at most",
        ),
        (
            "choice protect-from-mildew \"protect against mildew\"\n  against  powdery-mildew\n  advise   sulfur at full",
            "choice protect-from-mildew \"protect against mildew\"\n  against  powdery-mildew\n  advise   sulfur at most",
        ),
    ];
    let (text, _, json) = pages("compared_no_choice_hidden", &stronger);
    for choice in ["treat-mildew", "protect-from-mildew"] {
        has(&text, &format!("`choice {choice}`: advise sulfur at full → advise sulfur at most (stronger)"));
    }
    for headline in json["headlines"].as_array().unwrap() {
        assert!(headline["situation"].get("tender").is_some(), "{headline:#}");
    }
}

#[test]
fn what_the_new_book_breaks_and_lets_through_is_said() {
    let (text, markdown, json) = pages("compared_breaks", &[("figure hot = 90 °F", "figure hot = 95 °F")]);
    has(&text, "To mend before merging (new with this change: 5)");
    has(&markdown, "**To mend before merging (new with this change: 5)**");
    for page in [&text, &markdown] {
        has(page, "the promise `no-sulfur-in-heat` is broken");
        let plain = page.replace('*', "");
        has(&plain, "`gate sulfur-heat`: no longer shuts sulfur and oil in some situations, by `figure hot`");
        has(&plain, "was: 90 °F now: 95 °F its reason: sulfur burns");
        has(page, "1. `figure hot`: 90 °F → 95 °F");
    }
    has(
        &markdown,
        "the worked example \"full bloom and heat: bicarbonate kills the colonies\" does not come out",
    );
    assert_eq!(json["to_mend"].as_array().unwrap().len(), 5, "{:#}", json["to_mend"]);
    let [opened] = &json["protection"].as_array().unwrap()[..] else { panic!("{:#}", json["protection"]) };
    assert_eq!((&opened["item"], &opened["change"]), (&"gate sulfur-heat".into(), &"opened".into()));
    assert_eq!(opened["products"], serde_json::json!(["sulfur", "oil"]));
}

#[test]
fn rows_of_a_table_are_named_and_what_stands_as_it_stood_is_no_change() {
    let rows = [
        ("  \"Sensation\"       low\n", "  \"Palmer\"  low\n  \"Ruby\"  low\n"),
        ("  \"Kent\"            moderate to high\n", "  \"Kent\"            high\n"),
    ];
    let (text, markdown, json) = pages("compared_rows", &rows);
    has(&text, "\"Sensation\" low; \"Kent\" moderate to high; \"Palmer\" none; \"Ruby\" none");
    has(&text, "\"Sensation\" none; \"Kent\" high; \"Palmer\" low; \"Ruby\" low");
    has(
        &markdown,
        "| 1 | `table mildew-rating` | \"Sensation\" low; \"Kent\" moderate to high; \"Palmer\" none",
    );
    let table = json["items"].as_array().unwrap().iter().find(|it| it["item"] == "table mildew-rating");
    assert_eq!(
        table.unwrap()["rows"][1],
        serde_json::json!({
            "key": "\"Kent\"", "was": "moderate to high", "now": "high",
        })
    );
    assert!(!text.contains("worked Tommy Atkins"), "{text}");
    // Less is sprayed where a cultivar is less prone; no gate has a part in it, and nobody is protected by it.
    has(&text, "(sprays less)");
    assert!(!text.contains("(stricter)"), "{text}");
    has(&text, "There are more places than are listed here, of ");
    has(&markdown, "There are more places than are listed here, of ");
}

const COUNTY: &str = "rulebook \"County\"\n  builds-on \"humid-lowland.rulebook\" edition \"2027.1\"\n  crop mango\n  region \"County\"\n\
    \x20 edition \"2027.1\"\n  in-force from 2026-10-01 to 2027-09-30\n  season from 1 Oct to 30 Sep\n  window at least 2 h within 72 h\n\
    \x20 contact \"the county\"\n\
    source county-desk \"County desk, 2027\"\n\
    replace figure few-open-in-step = 15 %\n  because \"careful\"\n  cites county-desk\n\
    gate school-hours\n  shuts spraying\n  in hours when clock from 07:00 to 15:00\n  because \"children walk by\"\n  cites county-desk\n\
    product thiabendazole\n  active \"thiabendazole\"\n  group 1\n  against anthracnose good\n  strength label-rate 1 g/L\n\
    \x20 label interval at least 14 d\n  label season at most 2 sprays\n  label before-harvest at least 7 d\n  label re-entry 12 h\n\
    \x20 because \"where copper is shut\"\n  cites county-desk\n\
    choice county-anthracnose\n  against anthracnose\n  advise thiabendazole at label-rate\n  or else hold\n\
    \x20 if anthracnose-need is treat and in-bloom\n\
    \x20 outranks treat-anthracnose, treat-anthracnose-anew, both-troubles, treat-mildew, protect-from-mildew\n\
    \x20 within 48 h\n  recheck in 4 d\n  because \"county trial\"\n  cites county-desk\n";

/// Writes an overlay beside copies of the shipped books.
fn county(name: &str, text: &str) -> [String; 2] {
    let (folder, books) = (folder(name), top().join("rulebooks"));
    std::fs::create_dir_all(folder.join("base")).unwrap();
    for book in ["base/mango.rulebook", "humid-lowland.rulebook"] {
        std::fs::copy(books.join(book), folder.join(book)).unwrap();
    }
    let path = folder.join("county.rulebook");
    std::fs::write(&path, text).unwrap();
    [folder.join("humid-lowland.rulebook"), path].map(|it| it.to_str().unwrap().to_owned())
}

/// Hours decide no verdict, and a label of a product that is not sprayed there decides none either.
#[test]
fn a_cause_is_what_has_a_part() {
    let [old, new] = county("compared_causes", COUNTY);
    let text = compared(&old, &new, "text");
    let markdown = compared(&old, &new, "markdown");
    let headings = markdown.lines().filter_map(|line| line.strip_prefix("#### "));
    let causes: Vec<&str> = headings.collect();
    let expected = [
        "2. `figure few-open-in-step`: 20 % → 15 %",
        "`choice county-anthracnose` and `product thiabendazole` together",
    ];
    assert_eq!(causes, expected, "{markdown}");
    for gate in ["gate copper-on-first-flowers", "gate copper-on-open-bloom"] {
        has(&text, &format!("(`{gate}`)"));
    }
    // Which hours, and which way.
    has(&text, "fewer hours by gate school-hours");
    has(&text, "in hours when clock from 07:00 to 15:00");
    assert!(!text.contains("36525"), "{text}");
    let rows = |words: &str| text.lines().filter(|line| line.trim_start().starts_with(words)).count();
    assert_eq!(rows("copper 600 ppm copper → hold ("), 1, "{text}");
}

/// Where choices contradict each other their conflict is mended first, and no example is left out for it.
#[test]
fn examples_that_fail_by_a_conflict_are_said_once() {
    let ranks = "  outranks treat-anthracnose, treat-anthracnose-anew, both-troubles, treat-mildew, protect-from-mildew\n";
    assert!(COUNTY.contains(ranks));
    let unranked = COUNTY.replace(ranks, "");
    let [_, book] = county("compared_unranked", &unranked);
    let (text, _) = ran(&["proofread", &book, "--width", "200"], 1);
    has(&text, "error[conflict]");
    has(&text, "worked examples of the base do not come out, \"");
    has(&text, "help: resolve the conflict first: add `outranks …`");
    assert!(!text.contains("omit worked"), "{text}");
    assert!(!text.contains("leave its example out"), "{text}");
    assert_eq!(text.matches("choices contradict each other there").count(), 1, "{text}");
    // Once it is ranked, what comes out otherwise may be meant.
    let [_, book] = county("compared_ranked", COUNTY);
    has(&ran(&["proofread", &book, "--width", "200"], 1).0, "omit worked");
}
