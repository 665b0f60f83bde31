//! The Spanish pages of records, mixes, logs, sheets and setting up have no English sentence of the program on them.

use crate::cli::{folder, ran, run, top};
use crate::house::files_below;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// Frequent words of English that no Spanish sentence has.
const ENGLISH: [&str; 13] =
    ["the", "and", "with", "not", "until", "because", "is", "are", "of", "to", "for", "from", "known"];

/// What a Spanish page prints is taken back, and so are its units: half of `dosis reducida` says which.
#[test]
fn a_strength_and_a_volume_are_taken_in_spanish() {
    let grove = folder("spanish_mix").join("grove");
    let grove = grove.to_str().unwrap();
    ran(&["start", grove, "--example", "mixed-grove"], 0);
    let mix = |strength: &str, volume: &str| {
        ran(&["mix", grove, "azufre", strength, volume, "--language", "es", "--format", "json"], 0).0
    };
    let own = mix("reduced", "4 gal");
    for (strength, volume) in
        [("reducida", "4 galones"), ("dosis reducida", "4 galón"), ("Reducida", "4 gal")]
    {
        assert_eq!(mix(strength, volume), own, "{strength} {volume}");
    }
    let (page, _) = ran(&["mix", grove, "azufre", "reducida", "16 litros", "--language", "es"], 0);
    assert!(page.starts_with("azufre a dosis reducida, para 4.23 gal (16 L) de mezcla"), "{page}");
    let (page, _) = ran(&["mix", grove, "cobre", "reducida", "4 gal", "--language", "es"], 0);
    assert!(flat(&page).contains("dosis completa 1200 ppm cobre"), "{page}");
    assert!(page.contains("dosis reducida: 600 ppm cobre"), "{page}");
    let (_, error) = ran(&["mix", grove, "azufre", "dosis", "4 gal"], 2);
    assert!(error.contains("`dosis`"), "{error}");
}

fn flat(text: &str) -> String {
    let words = text.split_whitespace().map(|word| word.trim_matches(|it: char| !it.is_alphanumeric()));
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ").to_lowercase()
}

/// All that rulebook authors and the grower wrote: their words stand on a page as they are.
fn written(grove: &Path) -> String {
    let rulebooks = files_below(&top().join("rulebooks"));
    let own = ["grove.yaml", "sprays.csv", "scouting.csv", "shed.yaml"].map(|name| grove.join(name));
    let texts = rulebooks.iter().chain(&own).filter_map(|file| fs::read_to_string(file).ok());
    flat(&texts.collect::<Vec<_>>().join("\n").replace(['-', '"'], " "))
}

/// Returns the English words of a page, each with its neighbors, that nobody but the program wrote.
fn english(page: &str, written: &str) -> Vec<String> {
    // What is to be typed stands between backticks.
    let prose: String = page.split('`').step_by(2).collect::<Vec<_>>().join(" x ");
    let flat = flat(&prose.replace('-', " "));
    let words: Vec<&str> = flat.split(' ').collect();
    // Three words in a row of an author's, wherever in them the word stands.
    let authored = |at: usize| {
        let rows = (at.saturating_sub(2)..=at).filter_map(|from| words.get(from..from + 3));
        rows.into_iter().any(|row| written.contains(&row.join(" ")))
    };
    let found = words.iter().enumerate().filter(|(at, word)| ENGLISH.contains(word) && !authored(*at));
    let around = |at: usize| words[at.saturating_sub(1)..(at + 2).min(words.len())].join(" ");
    found.map(|(at, _)| around(at)).collect()
}

#[test]
fn the_search_finds_english_and_passes_over_what_the_author_wrote() {
    let written = flat("caution \"The product label in force is the law.\"");
    assert!(english("La etiqueta. The product label in force is\n  the law.", &written).is_empty());
    assert_eq!(english("Mezcla: 3 g for a full tank", &written), ["g for a"]);
    assert!(english("Escriba `the word`.", &written).is_empty());
}

#[test]
fn spanish_pages_of_logs_mixes_and_sheets_have_no_english_of_the_program() {
    let grove = folder("spanish-logs").join("grove");
    let path = grove.to_str().unwrap();
    ran(&["start", path, "--example", "mixed-grove"], 0);
    let written = written(&grove);
    let spray = ["--on", "A01-A05", "--start", "2027-02-10T05:30", "--end", "2027-02-10T06:40", "--dry-run"];
    let sprayed = |more: &[&'static str]| -> Vec<&str> { [&["sprayed", path][..], &spray, more].concat() };
    let commands: [Vec<&str>; 14] = [
        vec!["records", path],
        vec!["records", path, "--as-of", "2027-01-27T05:30"],
        vec!["mix", path, "sulfur", "reduced", "25 gal"],
        vec!["mix", path, "copper", "9000 ppm copper", "3 cups"],
        vec!["mix", path, "oil", "1 % v/v", "16 L", "--contains", "oil: 7 lb/gal", "--liquid"],
        sprayed(&["--product", "sulfur", "--strength", "reduced"]),
        sprayed(&["--product", "copper with oil", "--strength", "full with thin", "--volume", "900 gal"]),
        sprayed(&["--product", "sulfur", "--strength", "full", "--jug", "no such jug", "--target", "mildw"]),
        vec!["sprayed", path, "--product", "none", "--corrects", "2", "--dry-run"],
        vec![
            "scouted",
            path,
            "a1-15 full 80 set 0; c3 mildew 5/40; rain 14 in sat",
            "--who",
            "M. R.",
            "--dry-run",
        ],
        vec!["ask", path],
        vec!["ask", path, "--sheet"],
        vec!["sprayday", path, "--look"],
        vec!["sprayday", path],
    ];
    for command in commands {
        let output = run(&[&command[..], &["--language", "es", "--width", "80"]].concat());
        assert!(output.status.code().is_some_and(|code| code < 2), "{command:?}: {output:?}");
        let page = String::from_utf8(output.stdout).unwrap();
        assert!(page.lines().count() > 2, "{command:?}: {page}");
        assert_eq!(english(&page, &written), Vec::<String>::new(), "{command:?}\n{page}");
    }
}

#[test]
fn what_a_mix_cannot_be_made_of_is_said_in_spanish() {
    for (words, says) in [
        (&["copper", "full", "25"][..], "`25` no tiene unidad ayuda: escriba `\"25 gal\"`"),
        (&["copper", "7 oz/gal copper", "3 galoons"], "no es un volumen de mezcla"),
        (&["coper", "full", "25 gal"], "¿quiso decir `copper`?"),
        (&["oil with copper", "full", "25 gal"], "es más de un producto"),
        (&["azoxystrobin", "label-rate", "25 gal"], "`--contains \"azoxystrobin: 50 %\"`, y `--liquid`"),
    ] {
        let typed = [&["mix", "examples/mixed-grove"][..], words, &["--language", "es"]].concat();
        let (_, error) = ran(&typed, 2);
        let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(error.contains(says), "{words:?}: {error}");
    }
}

#[test]
fn setting_up_asks_in_spanish_only() {
    let grove = folder("spanish-start").join("finca");
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.args(["start", "--language", "es"]).arg(&grove).current_dir(top());
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"Finca Alta\nhumid-lowland\nus\n").unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap() + &String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("¿Cómo se llama la finca?"), "{said}");
    assert_eq!(english(&said, ""), Vec::<String>::new(), "{said}");
}
