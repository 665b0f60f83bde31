//! The season's record: what it says of the example grove, and what a spreadsheet makes of it.

use crate::cli::{folder, ran};
use bloomward::report::records::{COLUMNS, harmless};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;

fn json(arguments: &[&str]) -> Value {
    let (out, error) = ran(arguments, 0);
    assert_eq!(error, "");
    serde_json::from_str(&out).unwrap()
}

/// A copy of the example grove with more rows in its log; the text before belongs to their columns.
fn grove(name: &str, rows: &str) -> String {
    let folder = folder(name).join("grove");
    let path = folder.to_str().unwrap().to_string();
    ran(&["start", &path, "--example", "mixed-grove"], 0);
    let log = folder.join("sprays.csv");
    let text = std::fs::read_to_string(&log).unwrap();
    std::fs::write(&log, text + rows).unwrap();
    path
}

fn cells(csv: &str) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_reader(csv.as_bytes()).deserialize().map(Result::unwrap).collect()
}

/// By hand: 22 gal are 83.28 L; 1200 ppm of it are 99.93 g of copper, in powder of 50 % 199.9 g or 7.05 oz; fifteen trees
/// at 24 ft by 20 ft stand on 7200 ft², 0.1653 ac, so that the land has 0.2203 lb / 0.1653 ac = 1.33 lb/ac.
#[test]
fn a_row_says_what_the_log_the_jug_and_the_rulebook_say() {
    let record = json(&["records", "examples/mixed-grove", "--format", "json"]);
    assert_eq!(record["format"], "bloomward.records/1");
    let sprays = record["sprays"].as_array().unwrap();
    assert_eq!(sprays.len(), 9);
    let row = sprays.iter().find(|row| row["sheet"] == "4").unwrap();
    let expected = [
        ("start", "2027-01-26T19:10-04:00"),
        ("blocks", "slope: D01–D15"),
        ("registration", "demo-0001"),
        ("group", "M01"),
        ("rate", "1200 ppm copper"),
        ("area", "0.17 ac"),
        ("product-used", "7.05 oz"),
        ("on-land", "copper 1.33 lb/ac"),
        // 48 h after the end; one day before harvest.
        ("keep-out-until", "2027-01-28T20:05-04:00"),
        ("pick-not-before", "2027-01-27"),
        ("operator", "T. R."),
    ];
    for (column, value) in expected {
        assert_eq!(row[column], value, "{column}");
    }
    assert_eq!(row["note"], Value::Null);
}

/// By hand: H01-H05 had 1.5 lb / 100 gal and then 2 g/L of a powder of 75 %, each time 7.5 gal on 2400 ft², 0.0551 ac:
/// 0.1125 lb and 0.1252 lb of powder, 0.2377 lb · 0.75 / 0.0551 ac = 3.24 lb/ac.
#[test]
fn the_land_the_rotation_and_the_trees_left_out() {
    let record = json(&["records", "examples/mixed-grove", "--format", "json"]);
    let land = record["on_land"].as_array().unwrap();
    let mancozeb: Vec<&Value> = land.iter().filter(|it| it["ingredient"] == "mancozeb").collect();
    assert_eq!(mancozeb.len(), 1);
    assert_eq!((&mancozeb[0]["block"], &mancozeb[0]["unit"]), (&"hollow".into(), &"lb/ac".into()));
    assert!((mancozeb[0]["to"].as_f64().unwrap() - 3.24).abs() < 0.01, "{}", mancozeb[0]);
    assert_eq!(mancozeb[0]["from"], 0.0);
    let rotation = record["rotation"].as_array().unwrap();
    let of_h = rotation.iter().find(|it| it["trees"][0] == "H01").unwrap();
    assert_eq!(of_h["groups"], serde_json::json!([["M03"], ["M03"], ["M02"]]));
    assert_eq!(of_h["in_a_row"], serde_json::json!({ "M02": 1 }));
    let left = record["unsprayed"].as_array().unwrap();
    // 120 trees less A, C and D (15 each), F04-F15 (12) and H01-H05.
    assert_eq!(left.len(), 120 - 45 - 12 - 5);
    assert!(left.contains(&"B01".into()) && !left.contains(&"F04".into()));
}

#[test]
fn the_days_of_the_record_can_be_chosen() {
    let arguments = ["records", "examples/mixed-grove", "--format", "json", "--from", "2027-01-25", "--to"];
    let sheets = |to: &str| -> Vec<Value> {
        let record = json(&[&arguments[..], &[to]].concat());
        record["sprays"].as_array().unwrap().iter().map(|row| row["sheet"].clone()).collect()
    };
    assert_eq!(sheets("2027-01-26"), ["3", "4"]);
    let (_, error) = ran(&["records", "examples/mixed-grove", "--from", "2027-03-01"], 2);
    assert!(error.contains("later than"), "{error}");
    let (_, error) = ran(&["records", "examples/mixed-grove", "--to", "March"], 2);
    assert!(error.contains("2027-02-11"), "{error}");
}

#[test]
fn a_correction_stands_in_for_its_row() {
    let row =
        "2027-02-06T19:00,2027-02-06T19:30,H01-H06,sulfur,,,reduced,,9 gal,,,,,,L. M.,,9,corrects sheet 9\n";
    let path = grove("records-corrected", row);
    let csv = cells(&ran(&["records", &path, "--format", "csv"], 0).0);
    assert_eq!(csv.len(), 9);
    let of_sheet: Vec<_> = csv.iter().filter(|row| row["sheet"] == "9").collect();
    assert_eq!((of_sheet.len(), of_sheet[0]["on"].as_str()), (1, "H01-H06"));
}

/// What a spreadsheet takes for a formula: a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return (OWASP,
/// CSV injection).
#[test]
fn no_cell_can_be_taken_for_a_formula() {
    for cell in
        ["=1+2", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "\u{ff1d}1", "-", "-inf"]
    {
        assert_eq!(harmless(cell), format!("'{cell}"), "{cell:?}");
    }
    for cell in ["-3", "+4.5", "-1e3", "3 mph", "A01-A15", "", "a=b"] {
        assert_eq!(harmless(cell), cell);
    }
    let rows = "2027-02-08T05:00,2027-02-08T06:00,G01,copper,,,full,,2 gal,,,,,,\"=HYPERLINK(\"\"x\"\")\",-3,10,@me\n";
    let path = grove("records-formulas", rows);
    let csv = cells(&ran(&["records", &path, "--format", "csv"], 0).0);
    assert_eq!(csv.len(), 10);
    let last = csv.last().unwrap();
    let found = ["operator", "certificate", "note"].map(|column| last[column].as_str());
    assert_eq!(found, ["'=HYPERLINK(\"x\")", "-3", "'@me"]);
}

#[test]
fn the_page_keeps_its_width_and_says_what_is_missing() {
    let row = "2027-02-08T05:00,2027-02-08T06:00,G01,sulfur,another jug,,full,,2 gal,,,,,,,,10,\n";
    let path = grove("records-missing", row);
    for width in ["40", "80"] {
        let (page, _) = ran(&["records", &path, "--width", width], 0);
        assert!(page.lines().all(|line| line.chars().count() <= width.parse().unwrap()), "{page}");
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        let (_, last) = flat.split_once("Mon 8 Feb 2027").unwrap();
        assert!(last.contains("operator (7 CFR 110.3)"), "{last}");
        assert!(last.contains("not known: a row does not say how much"), "{last}");
    }
}

#[test]
fn a_log_that_is_not_known_is_no_empty_one() {
    let path = grove("records-unknown", "");
    let yaml = Path::new(&path).join("grove.yaml");
    let text = std::fs::read_to_string(&yaml).unwrap();
    std::fs::write(&yaml, text.replace("sprays:    sprays.csv\n", "")).unwrap();
    let record = json(&["records", &path, "--format", "json"]);
    assert_eq!((&record["log_known"], &record["unsprayed"]), (&false.into(), &Value::Null));
    assert!(ran(&["records", &path], 0).0.contains("not known"));
}

#[test]
fn each_column_says_who_asks_for_it() {
    let record = json(&["records", "examples/garden", "--format", "json"]);
    let told = record["columns"].as_array().unwrap();
    assert_eq!(told.len(), COLUMNS.len());
    assert!(told.iter().all(|column| column["asked_by"].as_str().is_some_and(|by| !by.is_empty())));
    let header = ran(&["records", "examples/garden", "--format", "csv"], 0).0;
    let header = header.lines().next().unwrap().to_string();
    assert_eq!(header, COLUMNS.iter().map(|column| column.name).collect::<Vec<_>>().join(","));
}
