//! A spray written down: the row, what its labels say of it, and what is refused.

use crate::cli::{folder, ran, run};
use serde_json::Value;
use std::fs;
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
    for words in ["Wed, Feb 10, 2027, 6:40 am", "sulfur again from Tue, Feb 16, 2027", "5 trees: A01–A05"] {
        assert!(out.contains(words), "{words}\n{out}");
    }
    let after = log(&grove);
    let row = after.strip_prefix(&before).expect("rows that were there stay as they are");
    assert_eq!(row.lines().count(), 1);
    assert!(row.starts_with("2027-02-09T05:30,2027-02-09T06:40,A01-A05,sulfur,"), "{row}");
    ran(&["advise", "--long", &grove], 0);
}

#[test]
fn a_spray_that_breaks_a_label_is_recorded_and_said() {
    let grove = grove("a_spray_that_breaks_a_label");
    let once = [&["sprayed", &grove], &BY_HAND[..], &["--start", "05:30", "--end", "06:40"]].concat();
    let again = [&["sprayed", &grove], &BY_HAND[..], &["--start", "07:30", "--end", "08:00"]].concat();
    ran(&once, 0);
    let rows = log(&grove).lines().count();
    let (out, _) = ran(&again, 1);
    assert!(
        out.contains("LABEL NOT FOLLOWED")
            && flat(&out).contains("the sulfur label asks for 7 days between sprays; none has passed"),
        "{out}"
    );
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
    ran(&["advise", "--long", &grove], 0);
}

/// The last row of the log, its cells by their columns.
fn last_row(grove: &str) -> std::collections::BTreeMap<String, String> {
    let text = log(grove);
    let mut rows = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = rows.headers().unwrap().clone();
    let row = rows.records().last().unwrap().unwrap();
    header.iter().zip(row.iter()).map(|(name, cell)| (name.to_string(), cell.to_string())).collect()
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Sheet 10 of the example plans 12 gal of copper for C03 and E01-E07, eight trees at 1.5 gal: three take 4.5 gal.
#[test]
fn other_trees_than_the_sheet_planned_take_their_own_part_of_it() {
    let grove = grove("other_trees_than_the_sheet");
    ran(&["sprayday", &grove], 0);
    let (said, _) = ran(&["sprayed", &grove, "--sheet", "10", "--on", "E01-E03"], 0);
    assert!(flat(&said).contains("12 gal is for 8 trees, so the 3 that were sprayed take 4.5 gal"), "{said}");
    let row = last_row(&grove);
    assert_eq!((&*row["volume"], &*row["on"], &*row["area"]), ("4.5 gal", "E01-E03", ""));
    // What is typed counts, whatever the sheet says.
    ran(&["sprayed", &grove, "--sheet", "10", "--on", "E04", "--volume", "2 gal"], 0);
    assert_eq!(last_row(&grove)["volume"], "2 gal");
}

/// `all but D11` of a sheet for fifteen trees is the grove: 119 trees, most of which the sheet never planned.
#[test]
fn trees_that_are_not_on_the_sheet_are_asked_about() {
    let grove = grove("trees_not_on_the_sheet");
    ran(&["sprayday", &grove], 0);
    let (said, _) = ran(&["sprayed", &grove, "--sheet", "12", "--on", "D11-D15, E01", "--dry-run"], 0);
    assert!(flat(&said).contains("Please check: Sheet 12 does not have 1 tree of these: E01."), "{said}");
    let (said, _) = ran(&["sprayed", &grove, "--sheet", "12", "--on", "D11-D14", "--dry-run"], 0);
    assert!(!said.contains("Please check"), "{said}");
}

#[test]
fn a_sheet_written_down_twice_is_asked_about() {
    let grove = grove("a_sheet_written_down_twice");
    ran(&["sprayday", &grove], 0);
    ran(&["sprayed", &grove, "--sheet", "10"], 0);
    let once = log(&grove);
    // At other hours too: the trees were sprayed by this sheet already.
    let again = ["sprayed", &grove, "--sheet", "10", "--start", "23:00", "--end", "23:30"];
    let (said, error) = ran(&again, 2);
    assert!(flat(&said).contains("on C03, E01–E07 by sheet 10 already"), "{said}");
    assert!(error.contains("--yes"), "{error}");
    assert_eq!(log(&grove), once);
    // On a tree that the sheet does not have it is no second time.
    let other =
        ["sprayed", &grove, "--sheet", "10", "--on", "E08", "--start", "23:00", "--end", "23:30", "--yes"];
    let (said, _) = ran(&other, 0);
    assert!(!said.contains("by sheet 10 already"), "{said}");
    // The second copper of one night breaks the label of the first, and is recorded all the same.
    ran(&[&again[..], &["--yes"]].concat(), 1);
    assert_eq!(log(&grove).lines().count(), once.lines().count() + 2);
}

#[test]
fn times_are_taken_as_growers_type_them() {
    let grove = grove("times_as_growers_type_them");
    for (start, end, day, expected) in [
        ("5:30", "6:10 am", "", ("2027-02-09T05:30", "2027-02-09T06:10")),
        ("7pm", "7:20 p.m.", "", ("2027-02-09T19:00", "2027-02-09T19:20")),
        ("12am", "12:30pm", "", ("2027-02-09T00:00", "2027-02-09T12:30")),
        ("23:00", "00:30", "sat", ("2027-02-06T23:00", "2027-02-07T00:30")),
        ("2027-02-08T05:00", "05:40", "", ("2027-02-08T05:00", "2027-02-08T05:40")),
    ] {
        let mut typed =
            vec!["sprayed", &grove, "--dry-run", "--format", "json", "--start", start, "--end", end];
        if !day.is_empty() {
            typed.extend(["--day", day]);
        }
        typed.extend(["--on", "B01", "--product", "mancozeb", "--strength", "label-rate"]);
        let said: Value = serde_json::from_str(&ran(&typed, 0).0).unwrap();
        let row = &said["row"];
        assert_eq!((row["start"].as_str().unwrap(), row["end"].as_str().unwrap()), expected, "{start} {end}");
    }
    let (_, error) =
        ran(&[&["sprayed", &grove], &BY_HAND[..], &["--start", "teatime", "--end", "1pm"]].concat(), 2);
    assert!(error.contains("--start: `teatime` is not a time"), "{error}");
}

#[test]
fn all_that_is_missing_is_told_in_one_run() {
    let grove = grove("all_that_is_missing");
    let (_, error) = ran(&["sprayed", &grove, "--product", "copper"], 2);
    for flag in ["--on", "--strength", "--start", "--end"] {
        assert!(error.contains(&format!("`{flag}`")), "{flag}\n{error}");
    }
    assert!(!error.contains("`--product`"), "{error}");
}

/// The demo jug is a powder of 50 %: 5 lb in 100 gal are 2.5 lb of copper, 1134 g in 378.5 L, 2996 ppm, not 600.
#[test]
fn a_strength_and_a_rate_that_differ_are_told_and_so_is_a_strange_jug() {
    let grove = grove("a_strength_and_a_rate_that_differ");
    let typed =
        ["--on", "E01", "--product", "copper", "--strength", "reduced", "--start", "5am", "--end", "6am"];
    let with = |more: &[&'static str]| [&["sprayed", &grove, "--dry-run"], &typed[..], more].concat();
    let (said, _) = ran(&with(&["--rate", "5 lb/100 gal"]), 0);
    assert!(flat(&said).contains("but the rate says 5 lb/100 gal: the rate counts."), "{said}");
    let (said, _) = ran(&with(&["--jug", "basic coper powder"]), 0);
    assert!(flat(&said).contains("Did you mean `basic copper powder`?"), "{said}");
    let (said, _) = ran(&with(&["--jug", "basic copper powder"]), 0);
    assert!(!said.contains("Please check:"), "{said}");
}

#[test]
fn a_row_is_struck_out_and_what_it_was_is_told() {
    let grove = grove("a_row_is_struck_out");
    let rows = || ran(&["records", &grove, "--format", "csv"], 0).0.lines().count();
    let before = rows();
    let strike = ["sprayed", &grove, "--product", "none", "--corrects", "10"];
    let (said, _) = ran(&[&strike[..], &["--dry-run"]].concat(), 0);
    assert!(
        flat(&said).contains("Instead of line 10: sulfur at reduced; H01-H05; Sat, Feb 6, 2027"),
        "{said}"
    );
    assert_eq!(rows(), before);
    let said: Value =
        serde_json::from_str(&ran(&[&strike[..], &["--format", "json"]].concat(), 0).0).unwrap();
    assert_eq!((&said["stored"], &said["instead_of"]), (&true.into(), &serde_json::json!([10])));
    assert_eq!(rows(), before - 1);
    // There is nothing left to strike out.
    let (_, error) = ran(&["sprayed", &grove, "--product", "none", "--corrects", "99"], 2);
    assert!(error.contains("there is no earlier row `99`"), "{error}");
}

/// A spray that is written down late breaks the label of one that came after it: seven days of interval, three of them
/// gone. Under a fixed moment the later one lies ahead of it, and is seen all the same.
#[test]
fn a_late_row_tells_whose_label_it_breaks() {
    let grove = grove("a_late_row");
    let copper = |day: &str| {
        let on = ["--on", "E01-E03", "--product", "copper", "--strength", "reduced", "--day", day];
        [&["sprayed", &grove], &on[..], &["--start", "20:00", "--end", "21:00"]].concat().join("\t")
    };
    let sprayed = |typed: String, status: i32| ran(&typed.split('\t').collect::<Vec<_>>(), status).0;
    sprayed(copper("2027-02-11") + "\t--yes", 0);
    let said = sprayed(copper("2027-02-08"), 1);
    assert!(
        flat(&said).contains(
            "LABEL NOT FOLLOWED by a later spray, copper at reduced (600 ppm copper) on Thu, Feb 11, 2027"
        ),
        "{said}"
    );
    assert!(
        flat(&said).contains("the copper label asks for 7 days between sprays; only 3 have passed (E01–E03)"),
        "{said}"
    );
}

/// What the foreman reads after the work, in Spanish: the same days, in the terms of the field.
#[test]
fn a_spray_and_notes_are_told_in_spanish() {
    let grove = grove("a_spray_in_spanish");
    let typed =
        [&["sprayed", &grove, "--language", "es"], &BY_HAND[..], &["--start", "05:30", "--end", "06:40"]]
            .concat();
    let (said, _) = ran(&typed, 0);
    for words in [
        "Se leyó: azufre a dosis reducida",
        "5 árboles: A01–A05",
        "hasta el mié. 10/feb/2027, 6:40 a.m. (intervalo de entrada restringida, REI)",
        "azufre otra vez desde el mar. 16/feb/2027",
        "período de carencia",
        "Guardado en",
    ] {
        assert!(flat(&said).contains(words), "{words}\n{said}");
    }
    for english in ["Read as", "Keep out", "Next", "Stored", "trees", "until"] {
        assert!(!said.contains(english), "{english}\n{said}");
    }
    let (said, _) =
        ran(&["scouted", &grove, "c1-3 open 20; rain 1.3 in sat", "--yes", "--language", "es"], 0);
    for words in [
        "Leído como 2 observaciones",
        "C01–C03 (3 árboles)",
        "lluvia en el pluviómetro 1.3 in",
        "toda la finca (120 árboles)",
    ] {
        assert!(flat(&said).contains(words), "{words}\n{said}");
    }
    let (_, error) = ran(&["sprayed", &grove, "--language", "fr", "--product", "none", "--corrects", "2"], 2);
    assert!(error.contains("there is no language `fr`"), "{error}");
}

/// All that is wrong with what was typed is told in one run, and nothing is stored.
#[test]
fn every_flag_that_will_not_do_is_told_at_once() {
    let grove = grove("every_flag_that_will_not_do");
    let before = log(&grove);
    let typed = [
        &["sprayed", &grove, "--product", "sulphur", "--strength", "reduced", "--on", "A01-A99"][..],
        &[
            "--start",
            "25:00",
            "--end",
            "teatime",
            "--wind",
            "fast",
            "--temperature",
            "70",
            "--humidity",
            "140 %",
        ],
    ];
    let error = flat(&ran(&typed.concat(), 2).1);
    for words in [
        "--product: `sulphur` is not a product of this rulebook help: did you mean `sulfur`?",
        "--on: there is no tree `A16` to `A99`",
        "--start: `25:00` is not a time",
        "--end: `teatime` is not a time",
        "--wind: `fast` does not say how much help: write `4 mph`",
        "--temperature: `70` has no unit help: write `68 °F`",
        "--humidity: `140 %` is not possible",
    ] {
        assert!(error.contains(words), "{words}\n{error}");
    }
    assert_eq!(log(&grove), before);
    let error = ran(&["sprayed", &grove, "--sheet", "99"], 2).1;
    assert!(error.contains("there is no sheet 99"), "{error}");
}

/// A record stays what it was when the rulebook changes its strengths: 18 lb of spray at 600 ppm are not 1200 ppm later.
#[test]
fn the_log_keeps_a_strength_in_figures_too() {
    let grove = grove("the_log_keeps_a_strength_in_figures");
    let what = ["--on", "C01", "--product", "copper with sulfur", "--strength", "reduced with full"];
    let more = ["--volume", "1.5 gal", "--start", "3am", "--end", "4am", "--yes"];
    ran(&[&["sprayed", &grove], &what[..], &more].concat(), 0);
    let of_copper = || {
        let record = ran(&["records", &grove, "--from", "2027-02-09", "--format", "json"], 0).0;
        let record: Value = serde_json::from_str(&record).unwrap();
        let row = record["sprays"][0].clone();
        assert_eq!(row["rate"], "600 ppm copper with 3 g/L");
        row["in-spray"].as_str().unwrap().to_string()
    };
    let before = of_copper();
    assert!(before.contains("copper 600 mg/L"), "{before}");
    let base = Path::new(&grove).join("rulebooks/base/mango.rulebook");
    let text = std::fs::read_to_string(&base).unwrap();
    let changed = text.replace("600 ppm copper", "500 ppm copper");
    assert_ne!(changed, text);
    std::fs::write(&base, changed).unwrap();
    assert_eq!(of_copper(), before);
}

#[test]
fn a_row_that_counts_no_longer_is_not_corrected_in_silence() {
    let grove = grove("a_row_that_counts_no_longer");
    let wrong = [&["sprayed", &grove], &BY_HAND[..], &["--start", "03:00", "--end", "03:30"]].concat();
    ran(&wrong, 0);
    let line = log(&grove).lines().count();
    let (first, second) = (line.to_string(), (line + 1).to_string());
    let right = ["--start", "03:10", "--end", "03:40", "--corrects"];
    ran(&[&["sprayed", &grove], &BY_HAND[..], &right, &[&first]].concat(), 0);
    let before = log(&grove);
    // The same row again: it was corrected by the later one, which is the one to name.
    let struck = ["sprayed", &grove, "--product", "none", "--corrects"];
    let error = flat(&ran(&[&struck[..], &[&first]].concat(), 2).1);
    assert!(error.contains(&format!("row `{first}` counts no longer")), "{error}");
    let elsewhere =
        ["--on", "B01", "--product", "sulfur", "--strength", "reduced", "--start", "02:00", "--end", "02:10"];
    let (page, _) = ran(&[&["sprayed", &grove], &elsewhere[..], &["--corrects", &first]].concat(), 2);
    assert!(flat(&page).contains("replaces nothing"), "{page}");
    assert_eq!(log(&grove), before);
    ran(&[&struck[..], &[&second]].concat(), 0);
    assert_ne!(log(&grove), before);
}

/// The harvest of the example was expected on 20 June: what is sprayed after it breaks no label by it, as `records` and
/// `advise` hold too, and that the next harvest is not known is said.
#[test]
fn a_spray_after_the_harvest_is_not_held_against_it() {
    let grove = grove("a_spray_after_the_harvest");
    let typed = ["--start", "05:00", "--end", "06:00", "--dry-run", "--day"];
    let page = |day: &str, status: i32| {
        flat(&ran(&[&["sprayed", &grove], &BY_HAND[..], &typed, &[day]].concat(), status).0)
    };
    let before = page("2027-06-20", 1);
    assert!(
        before.contains("LABEL NOT FOLLOWED the sulfur label asks for 1 day before harvest; none is left"),
        "{before}"
    );
    let after = page("2027-06-21", 0);
    assert!(after.contains("Not known if followed sulfur, at least 1 day before harvest"), "{after}");
    assert!(!after.contains("LABEL NOT FOLLOWED"), "{after}");
}

/// Sheets and lines have numbers of their own: line 5 of the example is sheet 4, and line 6 is sheet 5.
#[test]
fn a_number_alone_is_a_line_and_never_a_sheet_of_the_same_number() {
    let grove = grove("a_number_alone_is_a_line");
    for (named, line) in [("5", 5), ("line 5", 5), ("row 5", 5), ("sheet 5", 6)] {
        let typed = ["--product", "none", "--corrects", named, "--dry-run", "--format", "json"];
        let said: Value =
            serde_json::from_str(&ran(&[&["sprayed", &grove], &typed[..]].concat(), 0).0).unwrap();
        assert_eq!(said["instead_of"], serde_json::json!([line]), "{named}");
    }
}

/// What is not said anew is taken over: a tree that was left out takes nobody's name out of the record.
#[test]
fn a_correction_takes_over_what_is_not_said_anew() {
    let grove = grove("a_correction_takes_over");
    let air = [
        "--start",
        "03:00",
        "--end",
        "03:30",
        "--wind",
        "3 mph",
        "--temperature",
        "68 °F",
        "--note",
        "by hand",
    ];
    ran(&[&["sprayed", &grove], &BY_HAND[..], &air].concat(), 0);
    let line = log(&grove).lines().count().to_string();
    let (said, _) = ran(&["sprayed", &grove, "--corrects", &line, "--except", "A05", "--wind", "4 mph"], 0);
    assert!(flat(&said).contains(&format!("The same as in line {line}: ")), "{said}");
    // Four of five trees take four fifths of 8 gal.
    let row = log(&grove).lines().last().unwrap().to_string();
    let cells: Vec<&str> = row.split(',').collect();
    for cell in ["A01-A04", "sulfur", "reduced", "2 g/L", "6.4 gal", "4 mph", "68 °F", "M. Tester", "by hand"]
    {
        assert!(cells.contains(&cell), "{cell}: {row}");
    }
    assert!(row.starts_with("2027-02-09T03:00-04:00,2027-02-09T03:30-04:00,"), "{row}");
    // Of another product the strength and the jug are not those of the first.
    let line = log(&grove).lines().count().to_string();
    let error = ran(&["sprayed", &grove, "--corrects", &line, "--product", "copper"], 2).1;
    assert!(error.contains("missing: `--strength`"), "{error}");
    let (said, _) = ran(
        &[
            "sprayed",
            &grove,
            "--corrects",
            &line,
            "--product",
            "copper",
            "--strength",
            "reduced",
            "--dry-run",
            "--format",
            "json",
        ],
        1,
    );
    let said: Value = serde_json::from_str(&said).unwrap();
    assert_eq!(said["row"]["jug"], "basic copper powder");
    assert_eq!(said["row"]["rate"], "600 ppm copper");
    assert_eq!(said["row"]["operator"], "M. Tester");
}

/// The garden is certified organic. Mancozeb is written down all the same, after it was asked about; wettable sulfur is
/// classed organic by the guide.
#[test]
fn a_product_that_the_certificate_does_not_know_is_asked_about() {
    let grove = folder("a_product_that_the_certificate").join("grove");
    let path = grove.to_str().unwrap();
    ran(&["start", path, "--example", "garden"], 0);
    let of = |product: &'static str, strength: &'static str| {
        let what = ["--on", "T09", "--product", product, "--strength", strength];
        [&["sprayed", path], &what[..], &["--start", "04:00", "--end", "04:20"]].concat()
    };
    let before = log(path);
    let said = flat(&ran(&of("mancozeb", "label-rate"), 2).0);
    assert!(said.contains("certified organic, and mancozeb is not classed as organic"), "{said}");
    assert!(said.contains("Missing: `--registration`, `--volume`, `--operator`."), "{said}");
    assert_eq!(log(path), before);
    ran(&[of("mancozeb", "label-rate"), vec!["--yes"]].concat(), 0);
    assert_ne!(log(path), before);
    let said = flat(&ran(&[of("sulfur", "reduced"), vec!["--dry-run"]].concat(), 0).0);
    assert!(!said.contains("not classed"), "{said}");
}

/// A stage that is nearly one of the guide's is asked about; a word of the grower's own is kept.
#[test]
fn a_mistyped_stage_or_trouble_is_asked_about() {
    let grove = grove("a_mistyped_stage");
    let said = |more: &[&'static str]| {
        let times = ["--start", "03:00", "--end", "03:30", "--dry-run"];
        flat(&ran(&[&["sprayed", &grove], &BY_HAND[..], &times, more].concat(), 0).0)
    };
    let page = said(&["--stage", "ful-bloom", "--target", "anthracnose, powdery mildw"]);
    assert!(page.contains("`ful-bloom` is not a word of the guide: did you mean `full-bloom`?"), "{page}");
    assert!(page.contains("did you mean `powdery-mildew`?") && !page.contains("`anthracnose` is"), "{page}");
    let page = said(&["--stage", "Full bloom", "--target", "sooty mould"]);
    assert!(!page.contains("did you mean"), "{page}");
}

/// Words count as they are pasted: quotes around them and capitals say nothing.
#[test]
fn quotes_and_capitals_do_not_matter() {
    let grove = grove("quotes_and_capitals");
    let row = |words: [&str; 4]| {
        let [on, product, strength, volume] = words;
        let what = ["--on", on, "--product", product, "--strength", strength, "--volume", volume];
        let times = ["--start", "03:00", "--end", "03:30", "--dry-run", "--format", "json"];
        let said: Value =
            serde_json::from_str(&ran(&[&["sprayed", &grove], &what[..], &times].concat(), 1).0).unwrap();
        said["row"].clone()
    };
    let plain = row(["A01-A05", "copper with sulfur", "reduced with full", "8 gal"]);
    assert_eq!(plain["rate"], "600 ppm copper with 3 g/L");
    let pasted = [
        "\u{201c}a01\u{2013}a05\u{201d}",
        "Copper with SULFUR",
        "\u{2018}Reduced with Full\u{2019}",
        "\"8 gal\"",
    ];
    assert_eq!(row(pasted), plain);
}

/// Five trees at 1.5 gal take 7.5 gal: a zero too many would put ten times as much on the land.
#[test]
fn a_volume_far_from_what_the_sprayer_gives_is_asked_about() {
    let grove = grove("a_volume_far_from");
    let with = |volume: &'static str| {
        let what =
            ["--on", "B01-B05", "--product", "mancozeb", "--strength", "label-rate", "--volume", volume];
        [&["sprayed", &grove], &what[..], &["--start", "03:00", "--end", "03:30"]].concat()
    };
    let before = log(&grove);
    for volume in ["75 gal", "0.75 gal"] {
        let page = flat(&ran(&with(volume), 2).0);
        let words = format!("{volume} is far from what the sprayer puts on these trees, 7.5 gal (28.4 L).");
        assert!(page.contains(&words), "{page}");
    }
    assert_eq!(log(&grove), before);
    let page = flat(&ran(&with("8 gal"), 0).0);
    assert!(!page.contains("is far from"), "{page}");
}

/// A year mistyped by hand puts a row ahead of now; that row is corrected by its day alone.
#[test]
fn a_row_that_lies_ahead_is_corrected_too() {
    let grove = grove("a_row_that_lies_ahead");
    let path = Path::new(&grove);
    let yaml = std::fs::read_to_string(path.join("grove.yaml")).unwrap();
    let live: Vec<&str> = yaml.lines().filter(|line| !line.starts_with("as-of:")).collect();
    std::fs::write(path.join("grove.yaml"), live.join("\n") + "\n").unwrap();
    let header = log(&grove).lines().next().unwrap().to_string();
    let next = (chrono::Utc::now() + chrono::Duration::days(700)).format("%Y-%m-%d").to_string();
    let row = |day: &str| {
        format!(
            "{day}T06:40,{day}T06:50,A01,sulfur,wettable sulfur,demo-0002,reduced,,1.5 gal,,,,,,K. A.,,21,\n"
        )
    };
    // Of a row that lies too far ahead to be read with the weather nothing is taken over, but it can be struck out.
    std::fs::write(path.join("sprays.csv"), format!("{header}\n{}", row("2190-01-08"))).unwrap();
    ran(&["sprayed", &grove, "--corrects", "2", "--product", "none"], 0);
    std::fs::write(path.join("sprays.csv"), format!("{header}\n{}", row(&next))).unwrap();
    let times = ["--day", "2024-01-08", "--start", "06:40", "--end", "06:50"];
    ran(&[&["sprayed", &grove, "--corrects", "2"], &times[..]].concat(), 0);
    let corrected = last_row(&grove);
    assert_eq!((&*corrected["start"], &*corrected["operator"]), ("2024-01-08T06:40", "K. A."));
    assert_eq!(
        (&*corrected["volume"], &*corrected["sheet"], &*corrected["corrects"]),
        ("1.5 gal", "21", "2")
    );
}

/// A day without a year is the nearest past one; one that lies long ago, or to come, is asked about.
#[test]
fn a_day_that_may_be_another_is_asked_about() {
    let grove = grove("a_day_that_may_be_another");
    let before = log(&grove);
    let times = ["--start", "05:30", "--end", "06:40", "--day"];
    for (day, said) in
        [("11 feb", "Feb 11, 2026, 363 days ago"), ("2027-02-11", "Feb 11, 2027 is still to come")]
    {
        let output = run(&[&["sprayed", &grove], &BY_HAND[..], &times, &[day]].concat());
        let out = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(2), "{day}: {out}");
        assert!(out.contains("Please check:") && out.contains(said), "{day}: {out}");
        assert_eq!(log(&grove), before, "{day}");
    }
    let spanish = ["11 feb", "--language", "es"];
    let output = run(&[&["sprayed", &grove], &BY_HAND[..], &times, &spanish].concat());
    let out = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(out.contains("11/feb/2026, hace 363 días"), "{out}");
    let (out, _) = ran(&[&["sprayed", &grove], &BY_HAND[..], &times, &["20 jan", "--dry-run"]].concat(), 0);
    assert!(!out.contains("Please check:"), "{out}");
    ran(&[&["sprayed", &grove], &BY_HAND[..], &times, &["11 feb", "--yes"]].concat(), 0);
    assert!(log(&grove).contains("2026-02-11T05:30"));
}

/// What was used is frozen into the row: a jug that holds something else or is gone, and trees that are gone, change nothing
/// of the record, and the later of the days that people keep out and fruit stays on counts on.
#[test]
fn the_record_keeps_what_has_left_the_grove_since() {
    let grove = grove("the_record_keeps");
    let spray = |on: &str, product: &str, strength: &str, start: &str| {
        let typed = [
            "sprayed",
            &grove,
            "--on",
            on,
            "--product",
            product,
            "--strength",
            strength,
            "--start",
            start,
            "--end",
            "06:40",
            "--volume",
            "8 gal",
            "--operator",
            "M. T.",
            "--yes",
        ];
        run(&typed)
    };
    for (on, product, strength, start) in
        [("C01-C04,D12", "copper", "reduced", "05:30"), ("A01-A05", "sulfur", "reduced", "05:50")]
    {
        let output = spray(on, product, strength, start);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&output.stderr));
    }
    let last = |format: &str| {
        let (text, _) = ran(
            &["records", &grove, "--format", format, "--as-of", "2027-02-09T07:00", "--from", "2027-02-09"],
            0,
        );
        if format == "json" {
            serde_json::from_str::<Value>(&text).unwrap()["sprays"].to_string()
        } else {
            text
        }
    };
    let before = (last("json"), last("csv"));
    for words in
        ["C01–C04", "basic copper powder", "demo-0001", "copper 600 mg/L", "lb/ac", "2027-02-11T06:40"]
    {
        assert!(before.0.contains(words), "{words}: {}", before.0);
    }
    let advised = |tree: &str| -> Value {
        let (text, _) =
            ran(&["advise", &grove, "--tree", tree, "--as-of", "2027-02-09T07:00", "--format", "json"], 0);
        serde_json::from_str::<Value>(&text).unwrap()["trees"][0]["keep_out_until"].clone()
    };
    let kept_out = advised("C03");
    assert_eq!(kept_out, "2027-02-11T06:40:00-04:00");

    let file = Path::new(&grove).join("grove.yaml");
    let yaml = std::fs::read_to_string(&file).unwrap();
    let change = |change: &dyn Fn(&str) -> String| {
        let changed = change(&yaml);
        assert_ne!(changed, yaml);
        std::fs::write(&file, &changed).unwrap();
        assert_eq!((last("json"), last("csv")), before);
    };
    let without_line = |word: &'static str| {
        move |yaml: &str| {
            yaml.lines()
                .filter(|line| !line.contains(word))
                .map(|line| format!("{line}\n"))
                .collect::<String>()
        }
    };
    // Another content and another name.
    change(&|yaml| {
        yaml.replace("copper: 50 %", "copper: 20 %").replace("basic copper powder", "weak copper powder")
    });
    // A tree in the middle of a range and one at its end.
    change(&without_line("tree: C02,"));
    change(&without_line("tree: C04,"));
    change(&without_line("tree: D12,"));
    // The whole shed.
    let without_shed = |yaml: &str| {
        let begin = yaml.find("\nshed:").unwrap() + 1;
        let end = yaml[begin..].find("\nsprayer:").map(|end| begin + end + 1).unwrap();
        format!("{}{}", &yaml[..begin], &yaml[end..])
    };
    change(&without_shed);
    assert_eq!(advised("C03"), kept_out);
}

/// Weather that cannot be read stops only what needs it: logs, records and mixes say in a line that they go without.
#[test]
fn weather_that_cannot_be_read_stops_only_what_needs_it() {
    let grove = grove("weather_that_cannot_be_read");
    let file = Path::new(&grove).join("weather.csv");
    let text = std::fs::read_to_string(&file).unwrap();
    let no_unit = text.replacen("rain [in]", "rain", 1);
    assert_ne!(no_unit, text);
    let by_hand =
        [&["sprayed", &grove][..], &BY_HAND, &["--start", "05:30", "--end", "06:40", "--dry-run"]].concat();
    let logs: [&[&str]; 4] = [
        &by_hand,
        &["scouted", &grove, "a1 pea", "--dry-run"],
        &["records", &grove],
        &["mix", &grove, "copper", "600 ppm copper", "25 gal"],
    ];
    for broken in [None, Some("hour;warm\n1;2\n".to_string()), Some(no_unit), Some(String::new())] {
        match &broken {
            None => std::fs::remove_file(&file).unwrap(),
            Some(text) => std::fs::write(&file, text).unwrap(),
        }
        for command in logs {
            let (out, error) = ran(command, 0);
            let said = flat(&error);
            assert_eq!(said.matches("The weather is left out here").count(), 1, "{command:?}: {error}");
            assert!(said.contains("weather.csv") && !out.is_empty(), "{command:?}: {error}");
        }
        for command in ["advise", "ask", "sprayday"] {
            let (_, error) = ran(&[command, &grove], 2);
            assert!(error.contains("weather.csv"), "{command}: {error}");
        }
        ran(&["why", "--all", &grove, "A01"], 2);
    }
    let (_, error) = ran(&["scouted", &grove, "a1 pea", "--dry-run", "--language", "es"], 0);
    assert!(flat(&error).contains("El tiempo se deja fuera aquí"), "{error}");
}

/// Sulfur lay on A01 to A15 on 29 January. That oil waits is what the sulfur's label asks for, not the oil's own.
#[test]
fn a_label_that_keeps_two_apart_is_called_by_its_owner() {
    let grove = grove("a_label_that_keeps_two_apart");
    let oil = ["--on", "A01", "--product", "oil", "--strength", "thin", "--start", "05:30", "--end", "06:00"];
    let typed = [&["sprayed", &grove, "--day", "2027-02-09", "--dry-run"], &oil[..]].concat();
    let page = flat(&ran(&typed, 1).0);
    assert!(
        page.contains(
            "the sulfur label asks for 14 days between sulfur and horticultural oil; only 11 have passed (A01)"
        ),
        "{page}"
    );
    assert!(!page.contains("oil, apart from oil"), "{page}");
    let spanish = flat(&ran(&[&typed[..], &["--language", "es"]].concat(), 1).0);
    assert!(
        spanish.contains("pide 14 días entre azufre y") && spanish.contains("solo han pasado 11"),
        "{spanish}"
    );
}

/// A dose above the guide's strongest mix is asked about before it is stored: it may be a slip, and if it was done it counts.
#[test]
fn a_dose_above_the_strongest_mix_is_asked_about() {
    let grove = grove("a_dose_above_the_strongest");
    let before = log(&grove);
    let of = |strength: &'static str| {
        let typed =
            ["sprayed", &grove, "--on", "h1-h5", "--product", "copper", "--start", "10:00", "--end", "11:00"];
        let times = ["--day", "2027-02-09", "--as-of", "2027-02-09T11:30", "--strength", strength];
        run(&[&typed[..], &times].concat())
    };
    let output = of("20 lb/ac");
    let page = flat(&String::from_utf8_lossy(&output.stdout));
    assert_eq!(output.status.code(), Some(2), "{page}");
    assert!(page.contains("copper was stronger than the guide's strongest mix, 1200 ppm copper"), "{page}");
    assert_eq!(log(&grove), before);
    let output = of("full");
    assert!(
        !flat(&String::from_utf8_lossy(&output.stdout)).contains("stronger than"),
        "the strongest itself"
    );
    assert_eq!(output.status.code(), Some(0));
}

/// A strength that the rulebook calls otherwise by now loses no spray: what the row itself says of the amount counts.
#[test]
fn a_strength_that_the_rulebook_no_longer_has_loses_no_spray() {
    let grove = grove("a_strength_no_longer_there");
    let file = Path::new(&grove).join("sprays.csv");
    let named = log(&grove).replace("demo-0001,full,", "demo-0001,heavy,");
    std::fs::write(&file, &named).unwrap();
    let (out, error) = ran(&["records", &grove], 0);
    assert_eq!(out.matches("Product       copper").count(), 3, "{out}");
    assert!(flat(&error).contains("`heavy` is not a strength of copper in this rulebook"), "{error}");
    assert!(
        flat(&out).contains("the rulebook has no such strength; write it in figures under `rate`"),
        "{out}"
    );
    let (why, _) = ran(&["why", "--all", &grove, "D01"], 0);
    assert!(flat(&why).contains("copper age 14 d"), "{why}");
    // With figures of its own the row says how much it was.
    std::fs::write(&file, named.replace("demo-0001,heavy,,", "demo-0001,heavy,1200 ppm copper,")).unwrap();
    let (out, error) = ran(&["records", &grove], 0);
    assert!(flat(&error).contains("the row itself says how much it was, 1200 ppm copper"), "{error}");
    assert!(out.contains("copper 1.36 lb/ac"), "{out}");
}

/// A row older than the columns that keep what was used says what is missing, why, and what to write.
#[test]
fn an_old_row_says_what_left_with_its_jug() {
    let grove = grove("an_old_row_says_what_left");
    let yaml = Path::new(&grove).join("grove.yaml");
    let text = std::fs::read_to_string(&yaml).unwrap();
    let (from, to) = (text.find("  copper:\n").unwrap(), text.find("  sulfur:\n").unwrap());
    std::fs::write(&yaml, format!("{}{}", &text[..from], &text[to..])).unwrap();
    let (out, _) = ran(&["records", &grove], 0);
    assert!(out.contains("Jug           basic copper powder"), "{out}");
    let why = "the shed has no `basic copper powder` now";
    assert!(
        flat(&out).contains(why) && flat(&out).contains("in that column, `powder, copper: 50 %`"),
        "{out}"
    );
    // What it says to write is what mends it.
    let old = log(&grove);
    let row = old.lines().find(|row| row.starts_with("2027-01-08")).unwrap();
    let kept = format!("{row},,,\"powder, copper: 50 %\"");
    std::fs::write(Path::new(&grove).join("sprays.csv"), old.replace(row, &kept)).unwrap();
    let (out, _) = ran(&["records", &grove, "--to", "2027-01-10"], 0);
    assert!(out.contains("5.77 oz") && !out.contains(why), "{out}");
}

/// The guide would not have had copper in open bloom, nor any spray by day: that is said, and the spray is stored.
#[test]
fn what_the_guide_ruled_out_is_stored_and_said() {
    let grove = grove("what_the_guide_ruled_out");
    let spray = |trees: &str, product: &str, strength: &str, times: [&str; 2]| {
        let typed = ["sprayed", &grove, "--on", trees, "--product", product, "--strength", strength];
        let (out, _) = ran(&[&typed[..], &["--start", times[0], "--end", times[1]]].concat(), 0);
        flat(&out)
    };
    let out = spray("H01-H05", "copper", "full", ["10:00", "11:00"]);
    for words in [
        "GUIDE NOT FOLLOWED",
        "ruled out copper there at that hour, copper on open bloom (H01–H05): copper kills the pollen",
        "allowed copper at reduced at most there, gentle in bloom",
        "ruled out all spraying there at that hour, pollinators (H01–H05)",
    ] {
        assert!(out.contains(words), "{words}\n{out}");
    }
    assert!(
        log(&grove).lines().last().unwrap().starts_with("2027-02-09T10:00,2027-02-09T11:00,H01-H05,copper")
    );
    let out = spray("D11-D15", "sulfur", "reduced", ["05:00", "05:40"]);
    assert!(!out.contains("GUIDE NOT FOLLOWED"), "{out}");
    // The same amount in figures is the same spray.
    for (rate, held) in [("1200 ppm copper", true), ("600 ppm copper", false)] {
        let typed = ["sprayed", &grove, "--on", "H01-H05", "--product", "copper", "--rate", rate];
        // It breaks the interval of the label, which is another matter.
        let output = run(&[&typed[..], &["--start", "12:00", "--end", "13:00", "--yes"]].concat());
        let out = String::from_utf8(output.stdout).unwrap();
        assert_eq!(flat(&out).contains("allowed copper at reduced at most there"), held, "{rate}: {out}");
    }
}

/// A row written by hand with a word of its own for the product: its jug says what it was. One letter off is a slip.
#[test]
fn the_jug_says_what_a_row_of_a_strange_product_was() {
    let grove = grove("the_jug_says_what_a_row_was");
    let path = Path::new(&grove).join("sprays.csv");
    let before = log(&grove);
    let row = |product: &str| {
        let row = format!(
            "2027-02-08T05:00,2027-02-08T06:00,F04-F15,{product},wettable sulfur,demo-0002,reduced,,18 gal"
        );
        fs::write(&path, format!("{before}{row}\n")).unwrap();
    };
    row("sulphur");
    let (why, _) = ran(&["why", "--all", &grove, "F04", "--width", "200"], 0);
    let head = why.lines().next().unwrap();
    assert!(head.contains("by its jug, `wettable sulfur` of the shed, this spray counts as sulfur"), "{why}");
    let (json, _) = ran(&["advise", &grove, "--tree", "F04", "--format", "json"], 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["trees"][0]["values"]["sulfur-age"]["value"], 1, "{json}");
    fs::write(
        &path,
        format!("{before}2027-02-08T05:00,2027-02-08T06:00,F04-F15,sulfr,,demo-77,reduced,,18 gal\n"),
    )
    .unwrap();
    let (_, error) = ran(&["advise", "--long", &grove], 2);
    assert!(
        flat(&error).contains("a letter off `sulfur`") && flat(&error).contains("write `sulfur`"),
        "{error}"
    );
}

/// What is mistyped is said as a slip of the flag, with the words to write: the row is in no file yet.
#[test]
fn a_slip_is_said_of_the_flag() {
    let grove = grove("a_slip_is_said_of_the_flag");
    let before = log(&grove);
    let refused = |more: &[&str]| {
        let typed = ["sprayed", &grove, "--on", "A01-A03", "--end", "06:40"];
        let (_, error) = ran(&[&typed[..], more].concat(), 2);
        assert!(!error.contains("sprays.csv"), "{error}");
        flat(&error)
    };
    let sulfur = ["--product", "sulfur", "--strength", "reduced"];
    let typed = |more: &[&str]| refused(&[&sulfur[..], more].concat());
    for (error, words) in [
        (typed(&["--start", "5"]), "`--start 5am` or `--start 5pm`, or by 24 hours `--start 05:00`"),
        (typed(&["--start", "05:30", "--day", "tomorrow"]), "tomorrow is still to come"),
        (
            typed(&["--start", "05:30", "--day", "morgen"]),
            "write `2027-02-09`, `9 feb`, `sat` or `yesterday`",
        ),
        (typed(&["--start", "05:30", "--volume", "25"]), "--volume: `25` has no unit"),
        (
            refused(&["--start", "05:30", "--product", "Sulphur", "--strength", "reduced"]),
            "did you mean `sulfur`?",
        ),
        (
            refused(&["--start", "05:30", "--product", "sulfur", "--strength", "strong", "--rate", "4 g/L"]),
            "leave `--strength` out: `--rate` says how much it was",
        ),
        (
            refused(&["--start", "05:30", "--product", "sulfur", "--strength", "strong"]),
            "--strength: `strong` is not a strength of sulfur",
        ),
    ] {
        assert!(error.contains(words), "{words}\n{error}");
    }
    assert_eq!(log(&grove), before);
}

/// A day that lies ahead is asked about, however it is typed.
#[test]
fn a_start_on_a_day_to_come_is_asked_about() {
    let grove = grove("a_start_on_a_day_to_come");
    let times = ["--start", "2027-02-19T05:00", "--end", "2027-02-19T06:00"];
    let (out, _) = ran(&[&["sprayed", &grove], &BY_HAND[..], &times].concat(), 2);
    assert!(out.contains("Fri, Feb 19, 2027 is still to come"), "{out}");
}

#[test]
fn a_volume_without_a_unit_is_offered_some() {
    let grove = grove("a_volume_without_a_unit");
    let (_, error) = ran(&["mix", &grove, "sulfur", "reduced", "4"], 2);
    assert!(flat(&error).contains("`4` has no unit help: write `\"4 gal\"`"), "{error}");
}

#[test]
fn trees_and_hours_are_typed_as_in_a_note() {
    let grove = grove("trees_and_hours_are_typed_as_in_a_note");
    let typed = |more: &[&str], status| {
        let typed =
            [&["sprayed", &grove][..], more, &["--product", "sulfur", "--strength", "reduced"]].concat();
        ran(&[&typed[..], &["--volume", "8 gal", "--dry-run"]].concat(), status)
    };
    let (page, _) = typed(&["--on", "row", "b", "--start", "1:00", "am", "--end", "1:30", "am"], 0);
    assert!(page.contains("15 trees: B01–B15"), "{page}");
    let (page, _) = typed(&["--on", "a1", "a2", "a4", "--start", "1am", "--end", "1:30am"], 0);
    assert!(page.contains("3 trees: A01, A02, A04"), "{page}");
    // Twelve in the morning is midnight, and asked about.
    let (page, _) = typed(&["--on", "a1", "--start", "12:00 am", "--end", "12:30 am"], 0);
    let page = flat(&page);
    assert!(page.contains("`12:00 am` is midnight, the beginning of the day"), "{page}");
}
