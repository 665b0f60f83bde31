//! A spray written down: the row, what its labels say of it, and what is refused.

use crate::cli::{folder, ran, run};
use std::path::Path;

fn grove(name: &str) -> String {
    let grove = folder(name).join("grove");
    let path = grove.to_str().unwrap().to_owned();
    ran(&["start", &path, "--example", "mixed-grove"], 0);
    path
}

fn log(grove: &str) -> String {
    std::fs::read_to_string(Path::new(grove).join("sprays.csv")).unwrap()
}

const BY_HAND: [&str; 10] = [
    "--on",
    "A01-A05",
    "--product",
    "sulfur",
    "--strength",
    "reduced",
    "--volume",
    "8 gal",
    "--operator",
    "M. Tester",
];

#[test]
fn a_spray_is_added_and_its_days_are_told() {
    let grove = grove("a_spray_is_added");
    let before = log(&grove);
    let arguments = [&["sprayed", &grove], &BY_HAND[..], &["--start", "05:30", "--end", "06:40"]].concat();
    let (out, _) = ran(&arguments, 0);
    // The demo label: 24 h from the end of the spray, and the seventh calendar day after it (common practice of labels).
    for words in ["Wed 10 Feb 2027, 06:40", "sulfur again from Tue 16 Feb 2027", "5 trees: A01–A05"] {
        assert!(out.contains(words), "{words}\n{out}");
    }
    let after = log(&grove);
    let row = after.strip_prefix(&before).expect("rows that were there stay as they are");
    assert_eq!(row.lines().count(), 1);
    assert!(row.starts_with("2027-02-09T05:30,2027-02-09T06:40,A01-A05,sulfur,"), "{row}");
    ran(&["advise", &grove], 0);
}

#[test]
fn a_spray_that_breaks_a_label_is_recorded_and_said() {
    let grove = grove("a_spray_that_breaks_a_label");
    let once = [&["sprayed", &grove], &BY_HAND[..], &["--start", "05:30", "--end", "06:40"]].concat();
    let again = [&["sprayed", &grove], &BY_HAND[..], &["--start", "07:30", "--end", "08:00"]].concat();
    ran(&once, 0);
    let rows = log(&grove).lines().count();
    let (out, _) = ran(&again, 1);
    assert!(out.contains("LABEL BROKEN") && out.contains("interval at least 7 d"), "{out}");
    assert_eq!(log(&grove).lines().count(), rows + 1);
}

#[test]
fn what_is_not_understood_is_not_written() {
    let grove = grove("what_is_not_understood");
    let before = log(&grove);
    for wrong in [
        &[
            "--on",
            "A01-A05",
            "--product",
            "sulfr",
            "--strength",
            "reduced",
            "--start",
            "05:30",
            "--end",
            "06:40",
        ][..],
        &[
            "--on",
            "Z99",
            "--product",
            "sulfur",
            "--strength",
            "reduced",
            "--start",
            "05:30",
            "--end",
            "06:40",
        ],
        &["--on", "A01-A05", "--product", "sulfur", "--strength", "reduced"],
    ] {
        let output = run(&[&["sprayed", &grove], wrong].concat());
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
        assert!(!output.stderr.is_empty());
    }
    assert_eq!(log(&grove), before);
}

/// A sheet of the day is written down with its exceptions, and put right by a later row.
#[test]
fn a_sheet_is_written_down_and_put_right() {
    let grove = grove("a_sheet_is_written_down");
    ran(&["sprayday", &grove], 0);
    let sheet = std::fs::read_to_string(Path::new(&grove).join("sheets/10.yaml")).unwrap();
    assert!(sheet.contains("E07"), "{sheet}");
    let before = log(&grove);
    ran(&["sprayed", &grove, "--sheet", "10", "--except", "E07"], 0);
    let once = log(&grove);
    let row = once.strip_prefix(&before).expect("rows that were there stay as they are");
    assert!(row.contains("E01-E06") && row.contains(",copper,") && row.contains(",10,"), "{row}");
    let line = once.lines().count().to_string();
    ran(&["sprayed", &grove, "--sheet", "10", "--except", "E06,E07", "--corrects", &line], 0);
    let twice = log(&grove);
    // The header gains the column; the rows that were there stay as they are.
    let (old, new): (Vec<&str>, Vec<&str>) =
        (once.lines().skip(1).collect(), twice.lines().skip(1).collect());
    assert_eq!(old[..], new[..old.len()]);
    let [row] = &new[old.len()..] else { panic!("{twice}") };
    assert!(row.contains("E01-E05") && row.ends_with(&format!(",{line}")), "{row}");
    ran(&["advise", &grove], 0);
}
