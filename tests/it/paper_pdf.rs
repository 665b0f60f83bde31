//! Papers as PDF: one page each, readable, the same bytes each time; and where the file goes.

use crate::cli::{folder, ran, run};
use bloomward::report::paper::{Paper, Piece, SheetSize, pdf};
use std::fs;
use std::process::Command;

fn grove(name: &str, example: &str) -> (std::path::PathBuf, String) {
    let folder = folder(name);
    let grove = folder.join("grove").to_str().unwrap().to_owned();
    ran(&["start", &grove, "--example", example], 0);
    (folder, grove)
}

/// Counts the pages of a document: its page objects, and what its page tree says of them (ISO 32000-1, 7.7.3).
fn pages(bytes: &[u8]) -> usize {
    let text = String::from_utf8_lossy(bytes);
    let objects = text.matches("/Type /Page\n").count();
    let count = text.split("/Count ").nth(1).and_then(|rest| rest.split_whitespace().next());
    assert_eq!(count.and_then(|count| count.parse().ok()), Some(objects), "{text:.400}");
    objects
}

/// Returns the positions at which the cross-reference table says objects begin, held against the file (7.5.4).
fn holds_together(bytes: &[u8]) {
    assert!(bytes.starts_with(b"%PDF-1.7") && bytes.ends_with(b"%%EOF"));
    let from = |at: usize| String::from_utf8_lossy(&bytes[at..]).into_owned();
    let all = from(0);
    let at: usize = all.rsplit("startxref\n").next().unwrap().lines().next().unwrap().parse().unwrap();
    let table = from(at);
    assert!(table.starts_with("xref"));
    let entries: Vec<&str> = table.lines().skip(2).take_while(|line| line.len() >= 18).collect();
    assert!(entries.len() > 5, "{table}");
    for (number, entry) in entries.iter().enumerate().filter(|(_, entry)| entry.trim().ends_with('n')) {
        let offset: usize = entry.split(' ').next().unwrap().parse().unwrap();
        assert!(from(offset).starts_with(&format!("{number} 0 obj")), "object {number}");
    }
}

#[test]
fn each_sheet_is_a_page_and_the_same_bytes_each_time() {
    // Nine papers in inches, four with the passes of an air-blast sprayer in metres.
    for (example, papers, sheet) in [("mixed-grove", 9, "612 792"), ("southern", 4, "595.276 841.89")] {
        let (folder, grove) = grove(&format!("pdf-{example}"), example);
        for language in ["en", "es"] {
            let file = folder.join(format!("{language}.pdf")).to_str().unwrap().to_owned();
            let print = ["sprayday", &grove, "--language", language, "--format", "pdf"];
            let (out, said) = ran(&[&print[..], &["--out", &file]].concat(), 0);
            let written = if language == "en" { "Written to" } else { "Escrito en" };
            assert!(out.is_empty() && said.contains(written), "{said}");
            let bytes = fs::read(&file).unwrap();
            assert_eq!(pages(&bytes), papers, "{example} {language}");
            holds_together(&bytes);
            assert!(String::from_utf8_lossy(&bytes).contains(&format!("[0 0 {sheet}]")));
            // A paper of another day tells what time it is, and the minute may turn between two runs.
            let same = (0..2).any(|_| {
                ran(&[&print[..], &["--out", &file]].concat(), 0);
                fs::read(&file).unwrap() == run(&print).stdout
            });
            assert!(same, "the same to standard output");
        }
        let out = run(&["ask", &grove, "--sheet", "--format", "pdf"]).stdout;
        assert_eq!(pages(&out), 1);
    }
}

/// Every line of a page lies on it, and a paper that would be too small to read goes on to a second page under its title.
#[test]
fn a_paper_that_is_too_long_goes_on_to_a_second_page() {
    let row = |at: usize| vec![format!("T{at:03}"), String::new()];
    let table = |rows: usize| Paper {
        title: "SHEET".into(),
        under: vec!["Grove".into()],
        pieces: vec![Piece::Table(vec!["Tree".into(), "Seen".into()], (0..rows).map(row).collect())],
    };
    let short = pdf(&[table(20)], "en", SheetSize::LETTER);
    let long = pdf(&[table(20), table(150)], "en", SheetSize::LETTER);
    assert_eq!((short.pages, long.pages.len(), long.pages[0]), (vec![1], 2, 1));
    assert!(long.pages[1] > 1);
    assert_eq!(pages(&long.bytes), 1 + long.pages[1]);
    let text = String::from_utf8_lossy(&long.bytes);
    assert!((0..150).all(|at| text.contains(&format!("T{at:03}"))));
    let head = format!("SHEET  (2/{})", long.pages[1]);
    assert!(text.replace('\\', "").contains(&head), "a head");
    // `x y Td` sets a line: within the sheet less its edge.
    for line in text.lines().filter_map(|line| line.strip_suffix(" Td")) {
        let (x, y) = line.split_once(' ').unwrap();
        let (x, y): (f32, f32) = (x.parse().unwrap(), y.parse().unwrap());
        assert!(x == 38.0 && (30.0..754.0).contains(&y), "{line}");
    }
}

/// `name size Tf` sets the type of the texts behind it: what nobody may overlook has the largest.
#[test]
fn what_nobody_may_overlook_is_the_largest_on_a_sheet() {
    let sheet = Paper {
        title: "SHEET".into(),
        under: Vec::new(),
        pieces: vec![
            Piece::Heading("While you spray".into()),
            Piece::Large("Keep out".into(), vec!["until Thursday".into()]),
            Piece::Field("Stop".into(), vec!["for wind".into()]),
        ],
    };
    let printed = pdf(&[sheet], "en", SheetSize::LETTER);
    let text = String::from_utf8_lossy(&printed.bytes).into_owned();
    let size_of = |words: &str| -> f32 {
        let (before, _) = text.rsplit_once(words).unwrap();
        let set = before.rsplit(" Tf").nth(1).unwrap_or_else(|| panic!("{words} in {text}"));
        set.rsplit(' ').next().unwrap().parse().unwrap()
    };
    let [large, other, title] = ["Keep out", "Stop", "(SHEET"].map(size_of);
    assert!(large > other * 1.4 && large > title, "{large} {other} {title}");
}

/// Code page 1252 has the signs of Spanish, dashes and powers (PDF 32000-1, annex D.2); what it has not is told.
#[test]
fn signs_of_the_language_are_there_and_others_are_told() {
    let paper = |text: &str| Paper { title: "A".into(), under: vec![text.into()], pieces: Vec::new() };
    let spanish = pdf(&[paper("Aplicación, ñandú, ¿qué?, 7–8 m², “ya”, º, ½, µ")], "es", SheetSize::A4);
    assert!(spanish.missing.is_empty(), "{:?}", spanish.missing);
    let wanted = b"Aplicaci\xf3n, \xf1and\xfa, \xbfqu\xe9?, 7\x968 m\xb2, \x93ya\x94, \xba, \xbd, \xb5";
    // A text with signs above 127 may stand in octal or plain.
    let plain = spanish.bytes.windows(wanted.len()).any(|at| at == wanted);
    let hex: String = wanted.iter().map(|byte| format!("{byte:02X}")).collect();
    assert!(plain || String::from_utf8_lossy(&spanish.bytes).to_uppercase().contains(&hex));
    let other = pdf(&[paper("ハワイ ≥ 3")], "en", SheetSize::A4);
    assert_eq!(other.missing.iter().collect::<String>(), "≥イハワ");
}

/// Another program reads what was written, where the machine has one.
#[test]
fn another_reader_finds_the_words() {
    let (folder, grove) = grove("pdf-read", "mixed-grove");
    let file = folder.join("day.pdf");
    ran(&["sprayday", &grove, "--language", "es", "--format", "pdf", "--out", file.to_str().unwrap()], 0);
    let Ok(read) = Command::new("pdftotext").arg("-layout").arg(&file).arg("-").output() else {
        println!("no program here reads a PDF");
        return;
    };
    let text = String::from_utf8(read.stdout).unwrap();
    for words in ["HOJA DE APLICACIÓN 10", "Árboles, en orden", "C03, E01–E07", "1.9 oz (54.5 g)"] {
        assert!(text.contains(words), "{words}\n{text}");
    }
}

#[test]
fn a_file_that_cannot_be_written_is_said() {
    let (_, grove) = grove("pdf-unwritten", "garden");
    let (_, error) = ran(&["ask", &grove, "--format", "html", "--out", "no-such-folder/ask.html"], 2);
    assert!(error.contains("no-such-folder/ask.html") && error.contains("cannot be written"), "{error}");
}
