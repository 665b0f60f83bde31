//! Rulebooks in another language: the translations that stand beside them, what is printed of them, what may be typed.

use crate::cli::{folder, ran, top};
use bloomward::source::Sources;
use bloomward::words::Language;
use bloomward::workspace::{MemoryStore, OpenRulebook, TRANSLATED, open_rulebook, translation_findings};
use std::path::Path;

const BOOKS: [&str; 4] = ["base/mango", "humid-lowland", "dry-hills", "southern-subtropics"];

/// The findings of a translation, as `rule: message`, with those of the rulebook.
fn found(store: &MemoryStore, book: &str) -> Vec<String> {
    let mut sources = Sources::default();
    let OpenRulebook { plan, problems } = open_rulebook(store, book, None, &mut sources).unwrap();
    let of_translation = translation_findings(&plan.unwrap(), &sources);
    let said = |problem: &bloomward::problems::Problem| {
        format!("{} {}: {}", sources.locate(problem.at), problem.finding.code(), problem.message)
    };
    problems
        .iter()
        .filter(|it| sources.locate(it.at).contains(".yaml"))
        .chain(of_translation.iter())
        .map(said)
        .collect()
}

#[test]
fn every_text_of_the_shipped_books_is_translated_and_no_translation_is_idle() {
    let store = BOOKS.iter().fold(MemoryStore::default(), |store, book| {
        let of = |store: MemoryStore, end: &str| {
            let text = std::fs::read_to_string(top().join(format!("rulebooks/{book}{end}"))).unwrap();
            store.with(format!("{book}{end}"), text)
        };
        TRANSLATED.iter().fold(of(store, ".rulebook"), |store, code| of(store, &format!(".{code}.yaml")))
    });
    for book in BOOKS {
        assert_eq!(found(&store, &format!("{book}.rulebook")), Vec::<String>::new(), "{book}");
    }
    let others: Vec<&str> =
        Language::ALL.iter().map(|(_, code, _)| *code).filter(|code| *code != "en").collect();
    assert_eq!(others, TRANSLATED);
}

const BOOK: &str = "rulebook \"Guide\"\n  caution \"The label is the law.\"\nscale bloom\n  closed\n  full-bloom\n\
                    observe stage \"stage of bloom\"\n  kind bloom\n";

fn with(translation: &str) -> Vec<String> {
    found(&MemoryStore::default().with("b.rulebook", BOOK).with("b.es.yaml", translation), "b.rulebook")
}

#[test]
fn a_translation_is_told_where_it_is_wrong_or_leaves_something_out() {
    let whole = "Guide: Guía\n\"The label is the law.\": La etiqueta es la ley.\nclosed: cerrada\n\
                 full-bloom: plena floración\n\"stage of bloom\": etapa\ncultivar: cultivar\nblock: bloque\n\
                 date: fecha\n";
    assert_eq!(with(whole), Vec::<String>::new());
    assert_eq!(
        with(&whole.replace("closed:", "clsoed:")),
        [
            "b.es.yaml:3:1 unused: `clsoed` is no text of this rulebook that a page prints",
            "b.rulebook:1:1 not-translated: one text has no translation in `b.es.yaml`",
        ]
    );
    assert_eq!(
        with(&format!("{whole}closed: otra\n"))[0],
        "b.es.yaml:9:1 input: this text is translated twice"
    );
    assert_eq!(with("- list\n")[0], "b.es.yaml:1:1 input: a translation is a map of texts");
    assert_eq!(with("Guide:\n")[0], "b.es.yaml:1:1 input: this text has no translation");
    assert!(with("a: \"b\n")[0].starts_with("b.es.yaml:"));
}

/// A grove of its own with the rulebook of the southern example.
fn grove(name: &str) -> std::path::PathBuf {
    let folder = folder(name);
    ran(&["start", folder.join("g").to_str().unwrap(), "--example", "southern"], 0);
    folder.join("g")
}

fn last_line(file: &Path) -> String {
    std::fs::read_to_string(file).unwrap().lines().last().unwrap().to_owned()
}

#[test]
fn pages_say_the_authors_texts_in_spanish() {
    let grove = grove("pages_say_the_authors_texts_in_spanish");
    assert!(
        grove.join("rulebooks/southern-subtropics.es.yaml").exists()
            && grove.join("rulebooks/base/mango.es.yaml").exists()
    );
    let grove = grove.to_str().unwrap();
    let (day, _) = ran(&["sprayday", grove, "--look", "--language", "es", "--width", "200"], 0);
    for words in [
        "Mangó en flor: subtrópico del sur",
        "mancozeb (dosis de la etiqueta) + azufre (dosis reducida)",
        "cobre, dosis completa: 1200 ppm cobre",
        "El azufre irrita los ojos",
    ] {
        assert!(day.contains(words), "{words}\n{day}");
    }
    for words in ["copper,", "ppm copper", "label rate", "Sulfur irritates"] {
        assert!(!day.contains(words), "{words}\n{day}");
    }
    let (asked, _) = ran(&["ask", grove, "--language", "es", "--sheet", "--width", "200"], 0);
    assert!(
        asked.contains("¿En qué etapa están estas panículas?") && asked.contains("plena floración 615–616"),
        "{asked}"
    );
    let (english, _) = ran(&["ask", grove, "--sheet", "--width", "200"], 0);
    assert!(
        english.contains("At which stage are these panicles?") && english.contains("full bloom 615–616"),
        "{english}"
    );
}

#[test]
fn the_words_of_the_translation_may_be_typed_in_any_language() {
    let grove = grove("the_words_of_the_translation_may_be_typed");
    let shown = grove.to_str().unwrap();
    let note = "ayer N01 plena floración, flores abiertas 40 a 60 %, panículas con mildiú 2 de 20";
    for language in ["en", "es"] {
        let (said, _) = ran(&["scouted", shown, "--language", language, "--dry-run", note], 0);
        let words = if language == "es" { "etapa plena floración" } else { "stage full bloom" };
        assert!(said.contains(words), "{said}");
    }
    ran(&["scouted", shown, note], 0);
    let row = last_line(&grove.join("scouting.csv"));
    assert!(row.contains("full-bloom") && row.contains("40 to 60 %") && row.contains("2 of 20"), "{row}");
    let spray = [
        "sprayed",
        shown,
        "--product",
        "cobre con azufre",
        "--strength",
        "dosis reducida con dosis completa",
        "--on",
        "N01",
        "--day",
        "19 de ago",
        "--start",
        "05:00",
        "--end",
        "06:00",
        "--stage",
        "Plena floración",
        "--target",
        "antracnosis",
        "--volume",
        "10 L",
        "--yes",
    ];
    let (said, _) = ran(&spray, 0);
    assert!(said.contains("copper at reduced"), "{said}");
    let row = last_line(&grove.join("sprays.csv"));
    for words in ["copper with sulfur", "reduced with full", "full-bloom", "anthracnose"] {
        assert!(row.contains(words), "{words}\n{row}");
    }
    let (mixed, _) = ran(&["mix", shown, "cobre", "dosis reducida", "100 L"], 0);
    assert_eq!(mixed, ran(&["mix", shown, "copper", "reduced", "100 L"], 0).0);
    let (why, _) = ran(&["why", "--all", shown, "S01", "--not", "azufre"], 0);
    assert_eq!(why, ran(&["why", "--all", shown, "S01", "--not", "sulfur"], 0).0);
}

#[test]
fn a_word_with_two_meanings_is_asked_about() {
    let folder = folder("a_word_with_two_meanings_is_asked_about");
    let grove = folder.join("g");
    ran(&["start", grove.to_str().unwrap(), "--example", "southern"], 0);
    let file = grove.join("rulebooks/base/mango.es.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("copper: cobre\n", "copper: azufre\n")).unwrap();
    let (_, error) = ran(&["mix", grove.to_str().unwrap(), "azufre", "reduced", "100 L"], 2);
    assert!(error.contains("`azufre` may be `copper` or `sulfur`"), "{error}");
}
