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
        ("area", "0.1653 ac"),
        ("product-used", "7.05 oz"),
        ("on-land", "copper 1.33 lb/ac"),
        // 48 h after the end; one day before harvest.
        ("keep-out-until", "2027-01-28T20:05-04:00"),
        ("pick-not-before", "2027-01-28"),
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
        let (_, last) = flat.split_once("Mon, Feb 8, 2027").unwrap();
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

/// A grove at sea level with a copper of 50 % and hours of 30 °C and 80 %, of which the sixth is a forecast.
fn by_the_sea(name: &str, rows: &str) -> String {
    let folder = folder(name);
    let book = "rulebook \"Sea\"\n  caution \"For tests only.\"\n  crop mango\n\nobserve mildew \"mildew\"\n  kind share\n\n\
                product copper\n  contains copper\n  group M01\n  strength full 1200 ppm copper\n  label re-entry 48 h\n  \
                label before-harvest at least 1 d\n  cites common-practice\n\nchoice wait\n  advise hold\n";
    std::fs::write(folder.join("sea.rulebook"), book).unwrap();
    let yaml = "grove: By the sea\nrulebook: sea.rulebook\nunits: metric\nas-of: 2027-02-09T05:00\n\
                place: { latitude: 18.2, longitude: -66.3, elevation: 0 m, timezone: America/Puerto_Rico }\n\
                weather: { file: weather.csv, forecast-issued: 2027-02-09T04:00 }\nsprays: sprays.csv\nharvest: 2027-06-20\n\
                shed:\n  copper: { name: basic copper, registration: x-1, form: powder, contains: { copper: 50 % } }\n\
                blocks:\n  - { block: shore, spacing: 8 m x 5 m }\ntrees:\n  - { tree: A01, block: shore }\n  \
                - { tree: A02, block: shore }\n";
    std::fs::write(folder.join("grove.yaml"), yaml).unwrap();
    let mut weather = String::from("time,temperature [°C],humidity [%],rain [mm],wind [km/h]\n");
    for hour in 0..60 {
        let (day, hour) = (7 + hour / 24, hour % 24);
        let rain = if (day, hour) == (8, 3) { "4.2" } else { "0" };
        weather += &format!("2027-02-{day:02}T{hour:02}:00,30,80,{rain},{}\n", 5 + hour % 3);
    }
    std::fs::write(folder.join("weather.csv"), weather).unwrap();
    std::fs::write(
        folder.join("sprays.csv"),
        format!("start,end,on,product,strength,rate,volume,humidity\n{rows}"),
    )
    .unwrap();
    folder.to_str().unwrap().to_string()
}

/// By hand: 1200 ppm are 1200 mg/L. 3 g of the powder in a litre are 1500 mg/L of copper. 50 g a tree in 10 L a tree are 5 g/L,
/// 2500 mg/L, and on 40 m² 6.25 kg/ha. Wet bulb and delta-t of 30 °C and 80 % at 1013.25 hPa: case HS04 of
/// tests/reference/humidity_state.csv, 2.89 °C (psychrometer, 0.000662).
#[test]
fn metal_in_the_spray_and_the_air_that_was_measured() {
    let path = by_the_sea(
        "records-metal",
        "2027-02-07T06:00,2027-02-07T07:30,A01-A02,copper,full,,20 L,\n\
         2027-02-08T05:00,2027-02-08T06:00,A01,copper,,3 g/L,10 L/tree,82 %\n\
         2027-02-08T23:00,2027-02-09T00:00,A02,copper,,50 g/tree,10 L/tree,\n",
    );
    let rows = cells(&ran(&["records", &path, "--format", "csv"], 0).0);
    let of = |column: &str| -> Vec<&str> { rows.iter().map(|row| row[column].as_str()).collect() };
    assert_eq!(of("in-spray"), ["copper 1200 mg/L", "copper 1500 mg/L", "copper 2500 mg/L"]);
    // 20 L of 1200 mg/L on 80 m²: 24 g, 3 kg/ha; 10 L of 1500 mg/L on 40 m²: 15 g, 3.75 kg/ha.
    assert_eq!(of("on-land"), ["copper 3.00 kg/ha", "copper 3.75 kg/ha", "copper 6.25 kg/ha"]);
    assert_eq!(of("humidity"), ["", "82 %", ""]);
    assert_eq!(of("measured-temperature"), ["30 °C"; 3]);
    assert_eq!(of("measured-humidity"), ["80 %"; 3]);
    assert_eq!(of("delta-t"), ["2.9 °C"; 3]);
    // The hours from 06:00 and 07:00 on have 5 and 6 km/h.
    assert_eq!(of("measured-wind"), ["5 to 6 km/h", "7 km/h", "7 km/h"]);
    // 07:30 to 07:30 takes in the 4.2 mm of the next night; after the others hours are forecast only.
    assert_eq!(of("rain-after"), ["4.2 mm", "", ""]);
    // Two trees on 40 m² each.
    assert_eq!(of("area"), ["0.008 ha", "0.004 ha", "0.004 ha"]);
    let (page, _) = ran(&["records", &path], 0);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "copper 2500 mg/L",
        "Measured wind 5 to 6 km/h, temperature 30 °C, humidity 80 %, delta-t 2.9 °C, rain in the 24 h after 4.2 mm",
        // 3 and 3.75; 3 and 6.25.
        "shore: 6.75 kg/ha (6.02 lb/ac) to 9.25 kg/ha (8.25 lb/ac), by tree",
        // The label's one day before harvest, but people may not go in for two.
        "Harvest from Wed 10 Feb 2027 (PHI), and not before people may go in",
        // A01 and A02 were sprayed anew before people could go in: the later time counts for the row of both.
        "delta-t 2.9 °C, rain in the 24 h after 4.2 mm Re-entry from Thu 11 Feb 2027, 00:00 (REI)",
        "kept for 2 years",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
}

/// A spray that begins after the moment of the record is not in it, and that is said.
#[test]
fn sprays_that_lie_ahead_are_told() {
    let path = by_the_sea("records-ahead", "2027-02-09T20:00,2027-02-09T21:00,A01,copper,full,,10 L,\n");
    let (page, _) = ran(&["records", &path], 0);
    assert!(
        page.contains("1 spray of the log is later than this record")
            && page.contains("2027-02-09T21:00` includes it"),
        "{page}"
    );
    let record: Value = serde_json::from_str(&ran(&["records", &path, "--format", "json"], 0).0).unwrap();
    assert_eq!((&record["ahead"], record["sprays"].as_array().unwrap().len()), (&1.into(), 0));
    let record = json(&["records", &path, "--format", "json", "--as-of", "2027-02-09T21:00"]);
    assert_eq!((&record["ahead"], record["sprays"].as_array().unwrap().len()), (&0.into(), 1));
}
