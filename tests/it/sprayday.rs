//! `sprayday`: rounds, loads, hours, one tank, and the sheets that are kept.

use crate::cli::{folder, ran, run, top};
use bloomward::sprayday::{Course, depth_of_flow, depth_of_strip, flow, pressure_for_flow, work_rate};
use bloomward::units::spoken;
use chrono::{DateTime, Timelike};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A copy of an example grove, in a folder of the test's own.
fn grove(test: &str, example: &str) -> PathBuf {
    let grove = folder(test).join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", example], 0);
    grove
}

fn change(grove: &Path, from: &str, to: &str) {
    let file = grove.join("grove.yaml");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(&file, text.replace(from, to)).unwrap();
}

#[track_caller]
fn json(grove: &Path, arguments: &[&str]) -> Value {
    let all = [&["sprayday", grove.to_str().unwrap(), "--format", "json"], arguments].concat();
    serde_json::from_str(&ran(&all, 0).0).unwrap()
}

#[track_caller]
fn page(grove: &Path, arguments: &[&str]) -> String {
    ran(&[&["sprayday", grove.to_str().unwrap()], arguments].concat(), 0).0
}

fn words(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect()
}

fn sheet_of<'j>(day: &'j Value, tree: &str) -> &'j Value {
    let sheets = day["sheets"].as_array().unwrap();
    sheets.iter().find(|sheet| words(&sheet["trees"]).contains(&tree)).unwrap()
}

fn time(value: &Value) -> DateTime<chrono::FixedOffset> {
    DateTime::parse_from_rfc3339(value.as_str().unwrap()).unwrap()
}

/// sprayer_calibration.csv: published worksheets and constructed rows; the source of each stands in its row.
#[test]
fn sprayers_are_calibrated_by_one_equation() {
    let base = |text: &str| spoken::parse(text).unwrap().amount();
    let per = |amount: f64, unit: &str| amount / spoken::unit(unit).unwrap().factor;
    // Growers do not speak of a volume a minute.
    let by_minute = |text: &str| base(text) * 60.0;
    let found = |case: &str| -> Option<f64> {
        Some(match case {
            "CA01" => per(depth_of_flow(by_minute("0.15 gal"), base("5 mph"), base("48 in")), "gal/ac"),
            "CA02" => per(depth_of_flow(by_minute("0.30 gal"), base("3 mph"), base("20 in")), "gal/ac"),
            "CA04" => per(flow(base("100 gal/ac"), base("2.5 mph"), base("20 ft")) / 60.0, "gal"),
            "CA05" => per(depth_of_flow(by_minute("12 gal"), base("2 mph"), base("24 ft")), "gal/ac"),
            "CA07" => per(Course { length: base("200 ft"), time: 54.0 / 3600.0 }.speed(), "mph"),
            "CA08" => per(depth_of_strip(base("12 gal"), base("660 ft"), base("10 ft")), "gal/ac"),
            "CA16" => per(depth_of_flow(by_minute("8 L"), base("6 km/h"), base("4 m")), "L/ha"),
            "CA17" => per(flow(base("1000 L/ha"), base("4.5 km/h"), base("7 m")) / 60.0, "L"),
            "CA19" => pressure_for_flow(40.0, 0.40, 0.50),
            "CA20" => per(base("1 ac") / 128.0 / base("36 in"), "ft"),
            "CA22" => per(work_rate(base("2.5 mph"), base("25 ft"), 0.65), "ac"),
            _ => return None,
        })
    };
    let mut reader = csv::Reader::from_path("tests/reference/sprayer_calibration.csv").unwrap();
    let mut checked = 0;
    for row in reader.deserialize::<BTreeMap<String, String>>().map(Result::unwrap) {
        let Some(found) = found(&row["case_id"]) else { continue };
        let expected: f64 = row["expected"].parse().unwrap();
        assert!((found - expected).abs() <= 1e-6 * expected, "{row:?}: {found}");
        checked += 1;
    }
    assert_eq!(checked, 11);
}

/// spray_limits.csv: what the base rulebook shuts hours at is what a source of the list says.
#[test]
fn the_base_rulebook_shuts_hours_at_published_limits() {
    let mut reader = csv::Reader::from_path("tests/reference/spray_limits.csv").unwrap();
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().map(Result::unwrap).collect();
    let of = |id: &str| rows.iter().find(|row| row["id"] == id).unwrap()["value"].clone();
    let book = fs::read_to_string(top().join("rulebooks/base/mango.rulebook")).unwrap();
    assert!(book.contains(&format!("in hours when wind above {} mph", of("SL04"))));
    assert!(book.contains(&format!("in hours when delta-t above {} °C", of("SL15"))));
    let preferred = format!("in hours when delta-t from {} °C to {} °C", of("SL13"), of("SL14"));
    assert!(book.contains(&preferred));
}

#[test]
fn every_tree_that_is_to_be_sprayed_stands_on_one_sheet_with_its_spray() {
    let grove = grove("sprayday_every_tree", "mixed-grove");
    let day = json(&grove, &["--look"]);
    assert_eq!(day["format"], "bloomward.sprayday/1");
    let (advice, _) = ran(&["advise", grove.to_str().unwrap(), "--format", "json"], 0);
    let advice: Value = serde_json::from_str(&advice).unwrap();
    let mut sprayed = 0;
    for tree in advice["trees"].as_array().unwrap() {
        let name = tree["tree"].as_str().unwrap();
        let on: Vec<&Value> = day["sheets"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|sheet| words(&sheet["trees"]).contains(&name))
            .collect();
        if tree["verdict"] != "spray" {
            assert!(on.is_empty() && words(&day["not_sprayed"]).contains(&name), "{name}");
            continue;
        }
        assert_eq!(on.len(), 1, "{name}");
        let said = |key: &str| -> String {
            let parts = tree["spray"].as_array().unwrap().iter();
            parts.map(|part| part[key].as_str().unwrap()).collect::<Vec<_>>().join(" with ")
        };
        assert_eq!(on[0]["product"], said("product"), "{name}");
        assert_eq!(on[0]["strength"], said("strength"), "{name}");
        sprayed += 1;
    }
    assert_eq!(sprayed, 100);
}

#[test]
fn rounds_follow_one_another_inside_the_open_windows() {
    let grove = grove("sprayday_rounds", "mixed-grove");
    let day = json(&grove, &["--look"]);
    let (advice, _) = ran(&["advise", grove.to_str().unwrap(), "--format", "json"], 0);
    let advice: Value = serde_json::from_str(&advice).unwrap();
    let mut before = None;
    let mut stretches = 0;
    for sheet in day["sheets"].as_array().unwrap() {
        assert_eq!(sheet["ground"], "open");
        for stretch in sheet["stretches"].as_array().unwrap() {
            let (from, to) = (time(&stretch["from"]), time(&stretch["to"]));
            // The sprayer of the example takes a quarter of an hour to fill.
            let filled = |before| before + chrono::Duration::minutes(15) <= from;
            assert!(from < to && before.is_none_or(filled), "{stretch}");
            before = Some(to);
            for tree in words(&sheet["trees"]) {
                let of = advice["trees"].as_array().unwrap().iter().find(|it| it["tree"] == tree).unwrap();
                let open = [&of["windows"], &of["short_windows"]];
                let open = open.iter().flat_map(|list| list.as_array().unwrap());
                let inside = |window: &Value| time(&window["from"]) <= from && to <= time(&window["to"]);
                assert!(open.clone().any(inside), "{tree}: {stretch}");
            }
            stretches += 1;
        }
    }
    assert!(stretches >= 8);
}

/// The first tank is filled as well: from the moment of the plan on, or before its hours open.
#[test]
fn no_round_begins_before_its_tank_is_filled() {
    let grove = grove("sprayday_first_fill", "mixed-grove");
    let day = json(&grove, &["--look"]);
    let first = &day["sheets"][0]["stretches"][0];
    assert_eq!(first["from"], "2027-02-09T04:45:00-04:00");
    assert_eq!(day["sheets"][1]["stretches"][0]["from"], "2027-02-09T19:00:00-04:00");
}

/// 12 gal and 15 gal at 25 gal an hour and their fills do not both fit between 4:30 and 6:00 am; the evening has six hours
/// and more for the others.
#[test]
fn rounds_keep_to_the_hours_in_which_the_grower_works() {
    let grove = grove("sprayday_work", "mixed-grove");
    let within = |day: &Value, hours: &[(u32, u32)]| -> Vec<bool> {
        let stretches =
            day["sheets"].as_array().unwrap().iter().flat_map(|it| it["stretches"].as_array().unwrap());
        let is = |stretch: &Value| {
            let (from, to) = (time(&stretch["from"]), time(&stretch["to"]));
            let minute = |at: DateTime<chrono::FixedOffset>| at.hour() * 60 + at.minute();
            hours.iter().any(|(begins, ends)| begins * 60 <= minute(from) && minute(to) <= ends * 60)
        };
        stretches.map(is).collect()
    };
    assert!(within(&json(&grove, &["--look"]), &[(4, 7), (18, 22)]).contains(&false));
    change(&grove, "sprayer: ", "work: 4:00 am to 7:00 am, 6 pm to 10 pm\nsprayer: ");
    let day = json(&grove, &["--look", "--block", "hollow"]);
    let kept = within(&day, &[(4, 7), (18, 22)]);
    assert!(kept.len() == 2 && !kept.contains(&false), "{day}");
    assert!(!page(&grove, &["--look", "--block", "hollow"]).contains("outside your working hours"));
    // Not all of it fits into these hours: what does not is planned outside them, and said.
    change(&grove, "work: 4:00 am to 7:00 am, 6 pm to 10 pm", "work: 05:00-07:00");
    assert!(page(&grove, &["--look"]).contains("outside your working hours"));
    change(&grove, "work: 05:00-07:00", "work: dawn");
    let (_, why) = ran(&["sprayday", grove.to_str().unwrap(), "--look"], 2);
    let why = why.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        why.contains("`dawn` is no span of hours") && why.contains("work: 4 am to 7 am, 6 pm to 10 pm"),
        "{why}"
    );
}

#[test]
fn each_sheet_says_by_when_it_must_be_done() {
    let grove = grove("sprayday_done_by", "mixed-grove");
    let flat = page(&grove, &["--look"]).split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, sheets) = flat.split_once("SPRAY SHEET").unwrap();
    assert_eq!(sheets.matches("be done by Wed, Feb 10, 3:00 am, before rain").count(), 4, "{flat}");
    assert_eq!(sheets.matches("be done by Wed, Feb 10, 6:00 am, before rain").count(), 4, "{flat}");
    assert!(!flat.contains("weather_measures"), "words of the program");
}

/// Rows of fifteen trees: of mix 3 the last five of row D and the first ten of row G, drawn with the rows beside them.
#[test]
fn a_sheet_draws_its_trees_in_their_rows_and_sets_off_what_protects() {
    let grove = grove("sprayday_map", "mixed-grove");
    let sheets = page(&grove, &["--look"]);
    let sheet = sheets.split("SPRAY SHEET").find(|it| it.contains("15 trees: D11–D15, G01–G10")).unwrap();
    let drawn: Vec<&str> = sheet.lines().map(str::trim).filter(|line| line.contains('·')).skip(1).collect();
    let rows = [
        "C  ···············",
        "D  ··········XXXXX",
        "E  ···············",
        "F  ···············",
        "G  XXXXXXXXXX·····",
        "H  ···············",
    ];
    assert_eq!(drawn, rows, "{sheet}");
    let (html, _) = ran(&["sprayday", grove.to_str().unwrap(), "--look", "--format", "html"], 0);
    let large = html.matches("<div class=\"large\"><dl><dt>Keep out</dt>").count();
    assert_eq!((large, html.matches("<pre>").count()), (8, 8));
    assert!(html.contains("<div class=\"large\"><dl><dt>Keep it off</dt>"));
}

/// 15 trees at 1.5 gal are 22.5 gal; a tank of 10 gal is filled twice, and 2.5 gal are left. At 2 g/L 10 gal
/// (37.854 L) take 75.7 g, and 2.5 gal (9.4635 L) take 18.9 g.
#[test]
fn the_last_load_is_exact_and_each_load_has_its_trees() {
    let grove = grove("sprayday_loads", "mixed-grove");
    change(&grove, "tank: 25 gal", "tank: 10 gal");
    let day = json(&grove, &["--look"]);
    let sheet = sheet_of(&day, "B01");
    assert_eq!(
        (&sheet["product"], &sheet["rate"], &sheet["volume"]),
        (&"mancozeb".into(), &"2 g/L".into(), &"22.5 gal".into())
    );
    let loads = sheet["loads"].as_array().unwrap();
    let shown: Vec<(f64, &str)> = loads
        .iter()
        .map(|load| {
            (load["volume"]["value"].as_f64().unwrap(), load["amounts"][0]["shown"][0].as_str().unwrap())
        })
        .collect();
    assert_eq!(shown, [(10.0, "75.7 g"), (10.0, "75.7 g"), (2.5, "18.9 g")]);
    // 10 gal reach six trees whole and a seventh in part, 20 gal thirteen whole and a fourteenth in part.
    let trees: Vec<Vec<&str>> = loads.iter().map(|load| words(&load["trees"])).collect();
    assert_eq!(trees[0], ["B01", "B02", "B03", "B04", "B05", "B06", "B07"]);
    assert_eq!(trees[1], ["B07", "B08", "B09", "B10", "B11", "B12", "B13", "B14"]);
    assert_eq!(trees[2], ["B14", "B15"]);
    assert!(page(&grove, &["--look"]).contains("B07 is finished"));
}

#[test]
fn a_job_that_no_window_holds_is_parted_by_loads_and_the_rest_is_told() {
    let grove = grove("sprayday_parted", "mixed-grove");
    change(&grove, "tank: 25 gal", "tank: 2 gal");
    change(&grove, "pace: 25 gal / h", "pace: 1 gal / h");
    let day = json(&grove, &["--look", "--block", "terrace"]);
    let sheets = day["sheets"].as_array().unwrap();
    let parted = sheets.iter().filter(|sheet| sheet["stretches"].as_array().unwrap().len() > 1).count();
    assert!(parted > 0, "{day}");
    let mut without = 0;
    for sheet in sheets {
        let planned: u64 =
            sheet["stretches"].as_array().unwrap().iter().map(|it| it["loads"].as_u64().unwrap()).sum();
        let left = sheet["loads_without_hours"].as_u64().unwrap();
        assert_eq!(planned + left, sheet["loads"].as_array().unwrap().len() as u64);
        for stretch in sheet["stretches"].as_array().unwrap() {
            // A load of 2 gal takes two hours, and a quarter of one is between two loads.
            let hours = (time(&stretch["to"]) - time(&stretch["from"])).num_minutes() as f64 / 60.0;
            let loads = stretch["loads"].as_f64().unwrap();
            let filling = 0.25 * (loads - 1.0);
            let most = 2.0 * loads + filling + 0.1;
            assert!(hours > 2.0 * (loads - 1.0) + filling && hours <= most, "{stretch}");
        }
        without += left;
    }
    assert!(without > 0);
    let page = page(&grove, &["--look"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("do not mix them"), "{page}");
}

#[test]
fn without_a_pace_or_a_sprayer_what_is_missing_is_told() {
    let grove = grove("sprayday_no_pace", "mixed-grove");
    assert!(!page(&grove, &["--look"]).contains("Filling"));
    change(&grove, ", fill: 15 min", "");
    assert!(page(&grove, &["--look"]).contains("`fill: 20 min`"));
    change(&grove, ", pace: 25 gal / h", "");
    assert!(page(&grove, &["--look"]).contains("write the pace of the sprayer"));
    change(&grove, "sprayer:   { kind: handgun, tank: 25 gal, per-tree: 1.5 gal }", "");
    assert!(page(&grove, &["--look"]).contains("No amounts"));
    let day = json(&grove, &["--look"]);
    assert_eq!(sheet_of(&day, "B01")["volume"], Value::Null);
}

/// The southern grove speaks metric: fifteen trees on 9 m x 6 m are 810 m².
#[test]
fn a_metric_sheet_says_square_metres_first() {
    let grove = grove("sprayday_metric", "southern");
    let page = page(&grove, &["--look"]);
    assert!(page.contains("810 m² (8719 ft²)") && page.contains("97.2 L (25.7 gal)"), "{page}");
}

/// The clock of New York jumps from 2 to 3 on 8 March 2026 (tz database): three hours from 01:00 end at 05:00.
#[test]
fn a_job_across_a_change_of_the_clock_takes_its_hours() {
    let folder = folder("sprayday_clock");
    let book = "rulebook \"Clock\"\n  caution \"For tests only.\"\nproduct water\n  strength plain 1 g/L\n  label re-entry 4 h\n  \
                cites common-practice\nchoice one\n  advise water at plain\n  cites common-practice\n";
    fs::write(folder.join("clock.rulebook"), book).unwrap();
    let yaml = "grove: Clock\nrulebook: clock.rulebook\nas-of: 2026-03-08T01:00\nsprays: none yet\n\
                place: { latitude: 40.7, longitude: -74.0, elevation: 10 m, timezone: America/New_York }\n\
                sprayer: { kind: handgun, tank: 30 gal, per-tree: 30 gal, pace: 10 gal / h }\ntrees:\n  - { tree: A1 }\n";
    fs::write(folder.join("grove.yaml"), yaml).unwrap();
    let day = json(&folder, &["--look"]);
    let stretch = &day["sheets"][0]["stretches"][0];
    assert_eq!(stretch["from"], "2026-03-08T01:00:00-05:00");
    assert_eq!(stretch["to"], "2026-03-08T05:00:00-04:00");
    assert_eq!(day["sheets"][0]["keep_out_until"], "2026-03-08T09:00:00-04:00");
}

/// What `sprayed --sheet` reads.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Kept {
    number: u64,
    day: String,
    product: String,
    jug: String,
    registration: String,
    strength: String,
    rate: String,
    volume: String,
    area: String,
    start: String,
    end: String,
    target: String,
    re_entry: String,
    trees: Vec<String>,
}

#[test]
fn sheets_are_kept_with_the_next_number_and_never_overwritten() {
    let grove = grove("sprayday_kept", "mixed-grove");
    let sheets = || {
        let mut names: Vec<String> = fs::read_dir(grove.join("sheets"))
            .map(|entries| entries.map(|it| it.unwrap().file_name().into_string().unwrap()).collect())
            .unwrap_or_default();
        names.sort();
        names
    };
    json(&grove, &["--look"]);
    assert!(sheets().is_empty());
    // The spray log of the example ends with sheet 9.
    let first = json(&grove, &[]);
    assert_eq!(first["sheets"][0]["number"], 10);
    let kept = sheets();
    assert_eq!(kept.len(), first["sheets"].as_array().unwrap().len());
    // The same plan keeps its numbers; another one gets new ones, and the old stay as they are.
    assert_eq!(json(&grove, &[]), first);
    assert_eq!(sheets(), kept);
    let before = fs::read_to_string(grove.join("sheets/10.yaml")).unwrap();
    change(&grove, "per-tree: 1.5 gal", "per-tree: 2 gal");
    let second = json(&grove, &[]);
    assert_eq!(second["sheets"][0]["number"], 10 + kept.len());
    assert_eq!(fs::read_to_string(grove.join("sheets/10.yaml")).unwrap(), before);
    let sheet: Kept = serde_yaml::from_str(&before).unwrap();
    let json = &first["sheets"][0];
    assert_eq!(json["number"], sheet.number);
    assert_eq!(words(&json["trees"]), sheet.trees);
    for (key, value) in [
        ("day", &sheet.day),
        ("product", &sheet.product),
        ("jug", &sheet.jug),
        ("registration", &sheet.registration),
        ("strength", &sheet.strength),
        ("rate", &sheet.rate),
        ("volume", &sheet.volume),
        ("area", &sheet.area),
        ("target", &sheet.target),
    ] {
        assert_eq!(json[key], value.as_str(), "{key}");
    }
    assert!(sheet.start < sheet.end && sheet.end < sheet.re_entry);
}

#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_told_and_shown_with_look() {
    let grove = grove("sprayday_unwritable", "garden");
    fs::write(grove.join("sheets"), "a file is in the way").unwrap();
    let output = run(&["sprayday", grove.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(page(&grove, &["--look"]).contains("only shown"));
}

#[test]
fn one_tank_is_allowed_where_it_says_and_loses_what_it_says() {
    let grove = grove("sprayday_one_tank", "mixed-grove");
    let day = json(&grove, &["--look"]);
    let (advice, _) = ran(&["advise", grove.to_str().unwrap(), "--format", "json"], 0);
    let advice: Value = serde_json::from_str(&advice).unwrap();
    let of = |name: &str| advice["trees"].as_array().unwrap().iter().find(|it| it["tree"] == name).unwrap();
    let tanks = day["one_tank"].as_array().unwrap();
    assert_eq!(tanks.len(), 2);
    for tank in tanks {
        let spray = tank["spray"].as_str().unwrap();
        let products: Vec<&str> =
            spray.split(" with ").map(|part| part.split(" at ").next().unwrap()).collect();
        let is_shut = |name: &str| {
            let shut = of(name)["shut"].as_array().unwrap();
            shut.iter().any(|it| {
                products.contains(&it["product"].as_str().unwrap())
                    || it["product"] == products.join(" with ")
            })
        };
        let (allowed, left_out) = (words(&tank["allowed"]), words(&tank["left_out"]));
        assert_eq!(allowed.len() + left_out.len(), 100);
        assert!(allowed.iter().all(|name| !is_shut(name)), "{spray}");
        assert!(left_out.iter().all(|name| is_shut(name)), "{spray}: {left_out:?}");
    }
    // No other mix that is advised today is allowed on more trees.
    assert!(words(&tanks[0]["allowed"]).len() >= words(&tanks[1]["allowed"]).len());
    assert!(
        tanks[0]["unguarded"].as_array().unwrap().len() > tanks[1]["unguarded"].as_array().unwrap().len()
    );
}

#[test]
fn an_air_blast_sprayer_gets_its_rows_as_passes() {
    let grove = grove("sprayday_passes", "southern");
    let page = page(&grove, &["--look"]);
    for words in [
        "Passes, in driving order",
        "row N, all of it",
        "row M: M01–M05",
        "54 L/min (14.27 gal/min) at 3 km/h",
    ] {
        assert!(page.replace("\n                ", " ").contains(words), "{words}: {page}");
    }
    // 1200 L/ha at 3 km/h on rows 9 m apart: 1200 · 3 · 9 / 600 = 54 L/min (UC38 of units_exact.csv).
    let handgun = self::grove("sprayday_no_passes", "mixed-grove");
    assert!(!self::page(&handgun, &["--look"]).contains("Passes"));
}

#[test]
fn the_pages_keep_their_width_and_the_usual_cautions_are_on_each_sheet() {
    let grove = grove("sprayday_width", "mixed-grove");
    for width in ["80", "40", "20"] {
        for language in ["en", "es"] {
            let page = page(&grove, &["--look", "--width", width, "--language", language]);
            let most = page.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(most <= width.parse().unwrap(), "{most}: {language}");
        }
    }
    let page = page(&grove, &[]);
    let (day, sheets) = page.split_once("SPRAY SHEET").unwrap();
    assert!(day.contains("NOT TODAY") && day.contains("One tank"));
    for sheet in sheets.split("SPRAY SHEET") {
        let sheet = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "I have read the label",
            "Gear on",
            "insects come to the flowers",
            "for wind",
            "Keep out",
            "Record it",
        ] {
            assert!(sheet.contains(words), "{words}: {sheet}");
        }
    }
}

#[test]
fn spanish_sheets_are_spanish_and_html_is_one_document() {
    let grove = grove("sprayday_html", "mixed-grove");
    change(&grove, "grove:     Loma Serena teaching orchard", "grove:     \"<b>Loma & Serena</b>\"");
    let html = page(&grove, &["--look", "--language", "es", "--format", "html"]);
    for words in [
        "<html lang=\"es\">",
        "HOJA DE APLICACIÓN",
        "azufre",
        "mildiú polvoriento",
        "mar. 9/feb/2027",
        "&lt;b&gt;Loma &amp; Serena&lt;/b&gt;",
    ] {
        assert!(html.contains(words), "{words}");
    }
    assert!(!html.contains("<b>") && !html.contains("<script") && !html.contains("http"));
    let sheets = json(&grove, &["--look"])["sheets"].as_array().unwrap().len();
    assert_eq!(html.matches("<article>").count(), sheets + 1);
    for tag in
        ["article", "dl", "table", "ul", "header", "h1", "h2", "p", "dt", "dd", "tr", "td", "li", "div"]
    {
        let open = html.matches(&format!("<{tag}>")).count() + html.matches(&format!("<{tag} ")).count();
        assert_eq!(open, html.matches(&format!("</{tag}>")).count(), "{tag}");
    }
    let (_, error) = ran(&["sprayday", grove.to_str().unwrap(), "--language", "xs"], 2);
    assert!(error.contains("there is no language `xs`"), "{error}");
}

/// Mildew weather is severe: for one better hour on Thursday nobody leaves the trees without cover for two nights.
#[test]
fn better_hours_are_not_waited_for_longer_than_a_day() {
    let grove = grove("sprayday_better_hours", "garden");
    let day = json(&grove, &["--look"]);
    let planned = &sheet_of(&day, "T07")["stretches"][0];
    assert_eq!(time(&planned["from"]).date_naive().to_string(), "2027-03-02", "{planned}");
}

/// A round of another day says why it is not done sooner.
#[test]
fn a_round_that_waits_for_another_day_says_why() {
    let grove = grove("sprayday_waits", "mixed-grove");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let calm = flat(page(&grove, &["--look"]));
    assert!(calm.contains("not sooner: other rounds take the hours that are open until then"), "{calm}");
    assert!(!calm.contains("until then no hours are open"), "{calm}");
    // Wind until the evening of the next day.
    let file = grove.join("weather.csv");
    let text = fs::read_to_string(&file).unwrap();
    let at = text.lines().next().unwrap().split(',').position(|name| name.starts_with("wind")).unwrap();
    let blown = text.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if ("2027-02-09T04:00".."2027-02-10T20:00").contains(&cells[0]) {
            cells[at] = "19";
        }
        cells.join(",") + "\n"
    });
    fs::write(&file, blown.collect::<String>()).unwrap();
    let windy = flat(page(&grove, &["--look"]));
    assert!(windy.contains("not sooner: until then no hours are open (too windy"), "{windy}");
    let spanish = flat(page(&grove, &["--look", "--language", "es"]));
    assert!(spanish.contains("no antes: hasta entonces no hay horas abiertas ("), "{spanish}");
}

/// The sulfur label keeps oil away for 14 days (common practice of labels): who sprays the one reads until when the other is
/// barred, on the sheet, beside the one tank, at the mix and where the spray is written down.
#[test]
fn what_a_spray_bars_afterwards_is_told_wherever_it_is_chosen() {
    let grove = grove("sprayday_bars", "mixed-grove");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let asks = "the sulfur label asks for 14 days between sulfur and horticultural oil";
    let sheets = flat(page(&grove, &["--look"]));
    let bars = format!("no horticultural oil on these trees before Tue, Feb 23, 2027: {asks}");
    assert!(sheets.contains(&format!("Afterwards {bars}")), "{sheets}");
    assert!(sheets.contains(&format!("sprayed today, {bars}")), "{sheets}");
    let path = grove.to_str().unwrap();
    let sulfur = flat(ran(&["mix", path, "sulfur", "reduced", "4 gal"], 0).0);
    assert!(sulfur.contains(&format!("Afterwards sprayed today, {bars}")), "{sulfur}");
    let oil = ["mix", path, "oil", "thin", "4 gal", "--contains", "oil: 98 %", "--liquid"];
    let oil = flat(ran(&oil, 0).0);
    assert!(
        oil.contains(&format!("sprayed today, no sulfur on these trees before Tue, Feb 23, 2027: {asks}")),
        "{oil}"
    );
    let copper = flat(ran(&["mix", path, "copper", "reduced", "4 gal"], 0).0);
    assert!(!copper.contains("Afterwards"), "{copper}");
    let by_hand = [
        "sprayed",
        path,
        "--on",
        "A01",
        "--product",
        "oil",
        "--rate",
        "10 mL/L",
        "--start",
        "02:00",
        "--end",
        "02:20",
    ];
    let logged = flat(ran(&[&by_hand[..], &["--dry-run"]].concat(), 1).0);
    assert!(logged.contains("Afterwards no sulfur on these trees before Tue, Feb 23, 2027"), "{logged}");
}
