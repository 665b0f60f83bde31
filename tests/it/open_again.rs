//! When people may go in and fruit may be picked: one time and one day for the same trees, on whatever page they are told.

use crate::cli::{folder, ran};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// The label figures are made: keep out 48 h, 24 h and 12 h; pick after 1 d and 14 d; soap says nothing of picking.
const BOOK: &str = "rulebook \"Test\"\n  caution \"For tests only.\"\n\
    source own \"made\"\n\
    observe spots\n  kind count\n\
    product copper\n  strength low 1 g/L\n  label re-entry 48 h\n  label before-harvest at least 1 d\n  cites own\n\
    product mancozeb\n  strength low 1 g/L\n  label re-entry 24 h\n  label before-harvest at least 14 d\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  label re-entry 24 h\n  label before-harvest at least 1 d\n  cites own\n\
    product soap\n  strength low 1 g/L\n  label re-entry 12 h\n  cites own\n\
    choice wash\n  advise soap at low\n  if spots at least 1\n  cites own\n\
    choice rest\n  advise hold\n  if spots below 1\n  cites own\n";

fn grove(name: &str, rows: &[&str]) -> String {
    let folder = folder(name);
    let write = |file: &str, text: &str| fs::write(folder.join(file), text).unwrap();
    write("test.rulebook", BOOK);
    write(
        "grove.yaml",
        "grove: Test grove\nrulebook: test.rulebook\nas-of: 2027-02-12T05:30\n\
         place: { latitude: 18.05, longitude: -66.50, timezone: America/Puerto_Rico }\nsprays: sprays.csv\n\
         seen: 2027-02-11\ntrees:\n  - { tree: A1, cultivar: Kent, spots: 2 }\n  \
         - { tree: A2, cultivar: Kent, spots: 0 }\n",
    );
    write("sprays.csv", &format!("start,end,on,product,strength\n{}\n", rows.join("\n")));
    folder.to_str().unwrap().to_owned()
}

fn records(grove: &str) -> Vec<[String; 2]> {
    let (out, _) = ran(&["records", grove, "--format", "csv"], 0);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(out.as_bytes());
    let heads = reader.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("{heads:?}"));
    let columns = [at("keep-out-until"), at("pick-not-before")];
    reader.records().map(|row| columns.map(|at| row.as_ref().unwrap()[at].to_owned())).collect()
}

/// Of three sprays in a day the copper keeps people out for longest: that counts for each row of its trees, be it written
/// before or after. The days of the mancozeb count for the tree that had it.
#[test]
fn rows_on_the_same_trees_have_the_later_time() {
    let grove = grove(
        "open_again_rows",
        &[
            "2027-02-08T06:00,2027-02-08T06:30,A1,mancozeb,low",
            "2027-02-09T05:00,2027-02-09T05:30,A1-A2,copper,low",
            "2027-02-09T06:00,2027-02-09T06:30,A2,sulfur,low",
            "2027-02-11T06:00,2027-02-11T06:30,A2,soap,low",
        ],
    );
    let copper = "2027-02-11T05:30-04:00";
    assert_eq!(
        records(&grove),
        [
            [copper, "2027-02-22"],
            [copper, "2027-02-22"],
            [copper, "2027-02-11"],
            ["2027-02-11T18:30-04:00", ""]
        ]
        .map(|row| row.map(str::to_owned))
    );
    // Each row keeps what its own label asked for: another may be corrected.
    let (out, _) = ran(
        &[
            "sprayed",
            &grove,
            "--product",
            "soap",
            "--strength",
            "low",
            "--on",
            "A1",
            "--start",
            "2027-02-12T04:00",
            "--end",
            "2027-02-12T04:30",
            "--format",
            "json",
        ],
        0,
    );
    let said: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(said["pick_not_before"], "2027-02-22", "{out}");
    let log = fs::read_to_string(Path::new(&grove).join("sprays.csv")).unwrap();
    assert!(!log.contains("2027-02-22"), "{log}");
}

/// In the garden oil goes on T06 and sulfur on T07 beside it, on one day: each must be kept off the other's tree.
#[test]
fn what_is_kept_apart_is_warned_of_on_both_mixes() {
    let (out, _) = ran(&["advise", "examples/garden"], 0);
    let page = out.split_whitespace().collect::<Vec<_>>().join(" ");
    let oil = page.split_once("horticultural oil (thin rate): T05, T06").unwrap().1;
    assert!(oil.split_once("Keep out").unwrap().0.contains("Keep horticultural oil off T04, T07."), "{page}");
    let sulfur = page.split_once("sulfur (full rate): T07, T08, T10").unwrap().1;
    assert!(sulfur.split_once("Keep out").unwrap().0.contains("Keep sulfur off T06."), "{page}");
}

/// Soap sets no day; the mancozeb before it does, and every page says so.
#[test]
fn the_day_of_picking_is_one_on_every_page() {
    let grove = grove("open_again_pages", &["2027-02-08T06:00,2027-02-08T06:30,A1-A2,mancozeb,low"]);
    let page = |arguments: &[&str]| {
        let (out, _) = ran(arguments, 0);
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(page(&["why", &grove, "A1"]).contains("not before Mon, Feb 22, 2027 (PHI)"));
    assert!(page(&["advise", &grove, "--long"]).contains("not before Mon, Feb 22, 2027 (PHI)"));
    assert!(page(&["advise", &grove]).contains("Pick from Mon, Feb 22."), "{}", page(&["advise", &grove]));
    let advice: Value = serde_json::from_str(&ran(&["advise", &grove, "--format", "json"], 0).0).unwrap();
    assert_eq!(advice["trees"][0]["pick_not_before"], "2027-02-22");
    assert_eq!(records(&grove)[0][1], "2027-02-22");
}
