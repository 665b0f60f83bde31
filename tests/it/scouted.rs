//! Short notes: what is understood, what is asked about, and that nothing is stored that was not understood.

use crate::cli::{folder, ran};
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// The example grove in a folder of its own; its morning is Tue 9 Feb 2027.
fn grove(name: &str) -> (PathBuf, String) {
    let folder = folder(name).join("grove");
    let path = folder.to_string_lossy().into_owned();
    ran(&["start", &path, "--example", "mixed-grove"], 0);
    (folder, path)
}

/// Returns the rows that notes come to, each as `on: column value, …`.
#[track_caller]
fn rows(path: &str, notes: &[&str]) -> Vec<String> {
    let mut arguments = vec!["scouted", path];
    arguments.extend(notes);
    arguments.extend(["--dry-run", "--format", "json"]);
    let (json, _) = ran(&arguments, 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], "bloomward.scouted/1");
    assert_eq!(json["stored"], false);
    let row = |row: &serde_json::Value| {
        let row = row.as_object().unwrap();
        let values = row.iter().filter(|(column, _)| !["when", "on"].contains(&column.as_str()));
        let values: Vec<String> =
            values.map(|(column, value)| format!("{column} {}", value.as_str().unwrap())).collect();
        let day = row["when"].as_str().unwrap().trim_start_matches("2027-02-");
        format!("{day} {}: {}", row["on"].as_str().unwrap(), values.join(", "))
    };
    json["rows"].as_array().unwrap().iter().map(row).collect()
}

#[track_caller]
fn refused(path: &str, notes: &[&str]) -> String {
    let mut arguments = vec!["scouted", path];
    arguments.extend(notes);
    ran(&arguments, 2).1
}

#[test]
fn notes_as_growers_type_them() {
    let (_, path) = grove("notes_as_growers_type_them");
    for (note, expected) in [
        ("a1-15 full 80 set 0", "09 A01-A15: fruit-set 0, open-flowers 80 %, stage full-bloom"),
        ("c3-14 full 85 mildew 5/40", "09 C03-C14: mildew 5 of 40, open-flowers 85 %, stage full-bloom"),
        (
            "C03 to C14 Full-Bloom open flowers 85 percent",
            "09 C03-C14: open-flowers 85 percent, stage full-bloom",
        ),
        ("c3-c14 615 mildew 5 out of 40", "09 C03-C14: mildew 5 of 40, stage full-bloom"),
        ("rain 1.3 in sat", "06 grove: rain 1.3 in"),
        ("saturday rain 1.3\"", "06 grove: rain 1.3 in"),
        ("no rain yesterday", "08 grove: rain 0 mm"),
        ("tue a1 pea", "09 A01: stage pea"),
        ("last tue a1 pea", "02 A01: stage pea"),
        ("a1 pea 3 days ago", "06 A01: stage pea"),
        ("mon 8 feb a1 pea", "08 A01: stage pea"),
        ("feb 8 2027 a1 pea", "08 A01: stage pea"),
        ("2027-02-08 a1 pea", "08 A01: stage pea"),
        ("d5 open 40-60", "09 D05: open-flowers 40 to 60 %"),
        ("d5 open 40 to 60 %", "09 D05: open-flowers 40 to 60 %"),
        ("a1 first to full", "09 A01: stage first-open to full-bloom"),
        ("a1 set 8-12", "09 A01: fruit-set 8 to 12"),
        ("h11 size 9 cm touching", "09 H11: fruit-size 9 cm, fruit-touching yes"),
        ("h11 no touching, no dead wood", "09 H11: dead-wood no, fruit-touching no"),
        ("terrace/tommy first 15", "09 terrace/Tommy Atkins: open-flowers 15 %, stage first-open"),
        ("Terrace full", "09 terrace: stage full-bloom"),
        ("a1, b3 and c5 full", "09 A01; B03; C05: stage full-bloom"),
        ("a1-15 except a7, a9 pea", "09 A01-A06; A08; A10-A15: stage pea"),
        ("hollow low spot", "09 hollow: low-spot yes"),
        ("Row F spreading", "09 F01-F15: stage spreading"),
        ("row f except f7 spreading", "09 F01-F06; F08-F15: stage spreading"),
        ("row a, row b full", "09 A01-A15; B01-B15: stage full-bloom"),
        ("pollinators yes", "09 grove: pollinators-seen yes"),
        ("c1 c2 c3 full 80", "09 C01; C02; C03: open-flowers 80 %, stage full-bloom"),
        (
            "A14 A15 pea, fruit 9 mm, 10 set, no mildew in 20",
            "09 A14; A15: fruit-set 10, fruit-size 9 mm, mildew 0 of 20, stage pea",
        ),
        ("h6 spreading 5in", "09 H06: panicle-length 5in, stage spreading"),
        ("h6 axis growing 4 inches", "09 H06: panicle-length 4 inches, stage axis-growing"),
        ("a1 pea 9 mm", "09 A01: fruit-size 9 mm, stage pea"),
        ("h6 bud swelling", "09 H06: stage bud-swell"),
        ("b1 powdery growth 2 of 20", "09 B01: mildew 2 of 20"),
        ("no bees", "09 grove: pollinators-seen no"),
        ("bees about", "09 grove: pollinators-seen yes"),
        ("some flies", "09 grove: pollinators-seen yes"),
        ("rain 0 sat", "06 grove: rain 0 mm"),
        (
            "d5 full note leaves curled, look again",
            "09 D05: note leaves curled, look again, stage full-bloom",
        ),
    ] {
        assert_eq!(rows(&path, &[note]), [expected], "{note}");
        // The words of a shell, one by one, are the same note.
        let words: Vec<&str> = note.split(' ').collect();
        assert_eq!(rows(&path, &words), [expected], "{note}");
    }
    // Several places in one note; a day is that of all of them.
    for (note, expected) in [
        (
            "c1 full 80, c2 full 70",
            ["09 C01: open-flowers 80 %, stage full-bloom", "09 C02: open-flowers 70 %, stage full-bloom"],
        ),
        ("c1 full 80, c2 pea sat", ["06 C01: open-flowers 80 %, stage full-bloom", "06 C02: stage pea"]),
        (
            "sun c1 full 80 and c2-3 pea",
            ["07 C01: open-flowers 80 %, stage full-bloom", "07 C02-C03: stage pea"],
        ),
        (
            "d5 full 50, some flies",
            ["09 D05: open-flowers 50 %, stage full-bloom", "09 grove: pollinators-seen yes"],
        ),
    ] {
        assert_eq!(rows(&path, &[note]), expected, "{note}");
    }
    assert_eq!(
        rows(&path, &["C12 60% full 70, 40% spreading length 7 in mildew 0/20"]),
        [
            "09 C12: open-flowers 70 %, panicles 60 %, stage full-bloom",
            "09 C12: panicle-length 7 in, panicles 40 %, stage spreading",
            "09 C12: mildew 0 of 20",
        ]
    );
}

/// What a phone makes of typed signs: curly quotes, dashes, blanks that do not break, bullets, wide digits.
#[test]
fn notes_pasted_from_a_phone() {
    let (folder, path) = grove("notes_pasted_from_a_phone");
    let text = "Sat:\r\n• “B2–B4” full\u{a0}80\u{202f}% set 0.\r\n— c3‑c14 mildew 5⁄40\r\n\r\nToday\r\n\u{200b}h6−h8 spreading length 4\u{2033}\r\n\
                \u{ff41}\u{ff11} pea\r\n- rain 0.6 in; b1 first 15";
    let expected = [
        "06 B02-B04: fruit-set 0, open-flowers 80 %, stage full-bloom",
        "06 C03-C14: mildew 5 of 40",
        "09 H06-H08: panicle-length 4 in, stage spreading",
        "09 A01: stage pea",
        "09T04:30-04:00 grove: rain 0.6 in",
        "09 B01: open-flowers 15 %, stage first-open",
    ];
    fs::write(folder.join("phone.txt"), text).unwrap();
    assert_eq!(rows(&path, &["--from", &folder.join("phone.txt").to_string_lossy()]), expected);
    let mut child = Command::new(env!("CARGO_BIN_EXE_bloomward"))
        .args(["scouted", &path, "-", "--yes", "--who", "T. R."])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    let told = String::from_utf8(output.stdout).unwrap();
    assert!(told.contains("seen by T. R.") && told.contains("Sat, Feb 6, 2027"), "{told}");
    let stored = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    assert!(stored.contains("2027-02-06,T. R.,C03-C14,,,,,,,5 of 40,,"), "{stored}");
    // What was stored is what advice is given by.
    let (json, _) = ran(&["advise", &path, "--tree", "B01", "--format", "json"], 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["trees"][0]["values"]["open-flowers"]["value"], 15);
    assert_eq!(json["trees"][0]["seen"], "2027-02-09");
}

#[test]
fn what_is_not_clear_is_not_stored_and_all_of_it_is_said() {
    let (folder, path) = grove("what_is_not_clear_is_not_stored");
    let before = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    for (note, words) in [
        ("a1 petal", "may be `petal-tips` or `petal-fall`"),
        ("a1 fruit 3", "may be `fruit-set` or `fruit-size` or `fruit-touching`"),
        ("a1 mar 6", "may be a month or `marble`"),
        ("a1 full pea", "given twice"),
        ("a1 full 180", "180 %"),
        ("a1 mildew 41/40", "41 cannot be found of 40"),
        ("a1 length 4", "has no unit"),
        ("a1 open 0.8", "`80 %` or `0.8 %`"),
        ("a1 open about 50", "`about`"),
        ("a1 80% full", "add up to 80 %"),
        ("a1 70 full", "`70` does not say what it counts"),
        ("a1", "says nothing of these trees"),
        ("full 80", "does not say which trees"),
        ("a16 full", "there is no tree or block `a16`"),
        ("a15-1 full", "write `A01-A15`"),
        ("a1-99 full", "there is no tree `A16` to `A99`"),
        ("a1-99 full", "write `A01-A15`"),
        ("A01-A99 full", "write `A01-A15`"),
        ("b1 pinhead 12 fruits 3mm", "`12` may be of the stage or `fruit-set`"),
        ("a20-a99 full", "the trees of that row are `A01-A15`"),
        ("a1-15 except b1 full", "not among the trees"),
        ("slope/va full; slope/zz full", "the cultivars are"),
        ("a1 full 2027-03-01", "still to come"),
        ("a1 full tue 8 feb", "it is a Mon"),
        ("a1 sat full sun", "two days"),
        ("a1 full 31 feb", "there is no day"),
        ("a1 rain 1 in", "the whole grove"),
        ("g1 pollinators no", "a note of its own"),
        ("c1 full 80 sat, c2 pea sun, c3 pea", "two days"),
        ("b1 black spots 2 of 20", "may be `blight` or `spotted-leaves`"),
        ("c1-c3 not full 80", "`not` turns round what is written behind it"),
        ("c1 full last night", "`last night` is not a day"),
        ("c1 c99 full", "there is no tree or block `c99`"),
        ("a1 fruit 9", "may be `fruit-set`"),
        ("a1 full 9 mm", "`mm` is not understood"),
        ("rain 1,300 mm", "1,300"),
        ("a1 full shiny", "`shiny` is not understood"),
        ("a1 set 5+", "`5+` says only that it was no less"),
        ("a1 full 80+ set 5", "`80+` says only"),
    ] {
        let error = refused(&path, &[note, "--yes"]);
        let plain = error.replace("\n  ", " ");
        assert!(plain.contains(words), "{note}: {error}");
        assert!(error.contains("Nothing was stored"), "{note}: {error}");
    }
    // The unit of a number that will not do is no error of its own.
    for note in ["rain 80000 in sat", "a1 fruit-something 9 mm", "a1 length -3 cm"] {
        let error = refused(&path, &[note, "--yes"]);
        assert!(error.contains("Found 1 error"), "{note}: {error}");
    }
    // One note in error keeps all of them out, and every error is told.
    let error = refused(&path, &["b1 first 15", "b2 petal", "b3 open 140", "--yes"]);
    assert!(
        error.contains("notes:2:4") && error.contains("notes:3:9") && error.contains("Found 2 errors"),
        "{error}"
    );
    assert_eq!(fs::read_to_string(folder.join("scouting.csv")).unwrap(), before);
}

#[test]
fn implausible_jumps_are_asked_about() {
    let (folder, path) = grove("implausible_jumps_are_asked_about");
    let file = folder.join("scouting.csv");
    let before = fs::read_to_string(&file).unwrap();
    for (note, words) in [
        // A01 bore fruit as large as peas the day before, D05 first flowers, 8 % of them open.
        ("a1-3 full", "A01–A03: stage full bloom comes before pea, seen Mon, Feb 8, 2027"),
        ("d5 open 70", "D05: open flowers 70 % is far from 8 %, seen Mon, Feb 8, 2027"),
        ("a1 set 70", "A01: fruit set 70 is far from 11"),
        ("rain 13 in", "13 in of rain in one day is unusually high"),
        ("rain 1,3 in sat", "The comma of the rain is taken for a point: 1.3 in"),
        // 8 % of yesterday would outlive the stage of today; a forgotten `set`; a stage behind the count that is noted.
        (
            "d6 full",
            "D06: stage full bloom (more than half of the flowers open) and open flowers 8 % on Mon, Feb 8, 2027 do not go",
        ),
        ("d7 full 3", "open flowers 3 % on Tue, Feb 9, 2027 do not go together"),
        ("d6 full 0", "open flowers 0 % on Tue, Feb 9, 2027 do not go together"),
        ("d6 half 80", "D06: stage half open (about a third of the flowers open) and open flowers 80 %"),
        ("d6 open 52", "D06: stage first open (first flowers open) and open flowers 52 %"),
        (
            "d6 60% full 8, 40% spreading open 0",
            "D06: stage full bloom (more than half of the flowers open) and open flowers 8 %",
        ),
        // Fruit of 9 mm hangs where no flower is open any more.
        (
            "a14 open 20 fruit-size 9 mm",
            "A14: fruit size 0.35 in and open flowers 20 % on Tue, Feb 9, 2027 do not go",
        ),
        (
            "a14 full fruit-size 9 mm",
            "A14: stage full bloom (more than half of the flowers open) and fruit size",
        ),
    ] {
        let output = Command::new(env!("CARGO_BIN_EXE_bloomward"))
            .args(["scouted", &path, note])
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let (out, error) =
            (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
        assert_eq!(output.status.code(), Some(2), "{note}: {out}");
        assert!(out.contains("Please check:") && out.replace("\n    ", " ").contains(words), "{note}: {out}");
        assert!(error.contains("--yes"), "{error}");
        assert_eq!(fs::read_to_string(&file).unwrap(), before, "{note}");
    }
    // What follows from what was seen is not asked about.
    for note in [
        "d6 full 55 set 0",
        "d6 half 50",
        "d6 petal-fall",
        "d6 full 45-60",
        "b1 60% full 50, 40% spreading open 0",
        "a1-3 marble",
        "d5 open 40",
        "a1 set 10",
        "rain 2 in",
        "h6-10 first 10",
        "b1 pea open 0 fruit-size 9 mm",
        "b1 pinhead open 12 fruit-size 3 mm",
        "b1 60% open 20, 40% pea fruit-size 9 mm open 0",
    ] {
        let (out, _) = ran(&["scouted", &path, note, "--dry-run"], 0);
        assert!(!out.contains("Please check:"), "{note}: {out}");
    }
    ran(&["scouted", &path, "a1-3 full", "--yes"], 0);
    let stored = fs::read_to_string(&file).unwrap();
    assert!(
        stored.starts_with(&before) && stored.ends_with("2027-02-09,,A01-A03,,full-bloom,,,,,,,,,,,,\n"),
        "{stored}"
    );
}

/// What does not go together is asked about whatever language the page is in.
#[test]
fn open_flowers_beside_fruit_are_asked_about_in_spanish() {
    let (_, path) = grove("open_flowers_beside_fruit");
    let (out, _) =
        ran(&["scouted", &path, "a14 open 20 fruit-size 9 mm", "--dry-run", "--language", "es"], 0);
    assert!(out.contains("Verifique:") && out.replace("\n    ", " ").contains("no van juntos"), "{out}");
}

/// Whatever is stored in the end, copper is not let onto flowers that the stage says are open.
#[test]
fn a_stage_in_bloom_beside_an_older_count_gets_no_copper() {
    let (_, path) = grove("a_stage_beside_an_older_count");
    ran(&["scouted", &path, "d6 full", "--yes"], 0);
    let (json, _) = ran(&["advise", &path, "--tree", "D06", "--format", "json"], 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let tree = &json["trees"][0];
    assert_eq!(tree["values"]["open-flowers"]["value"], 8);
    assert_eq!(
        (&tree["verdict"], &tree["spray"][0]["product"]),
        (&"spray".into(), &"mancozeb".into()),
        "{tree}"
    );
}

/// A gauge that is read before the day is over tells the hours up to then, and no later one.
#[test]
fn the_gauge_of_a_day_that_is_not_over_covers_the_hours_up_to_now() {
    let (folder, path) = grove("the_gauge_of_a_day_not_over");
    let stored = || fs::read_to_string(folder.join("scouting.csv")).unwrap();
    let (out, _) = ran(&["scouted", &path, "rain 0 in"], 0);
    assert!(out.contains("rain in the gauge 0 in from midnight to 4:30 am"), "{out}");
    assert!(stored().lines().last().is_some_and(|row| row.starts_with("2027-02-09T04:30")), "{}", stored());
    let (out, _) =
        ran(&["scouted", &path, "rain 0.2 in last night", "--as-of", "2027-02-09T18:00", "--dry-run"], 0);
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("rain in the gauge 0.2 in, Mon, Feb 8, 2027, 6:00 pm to Tue, Feb 9, 2027, 6:00 am"),
        "{out}"
    );
    ran(&["scouted", &path, "last night rain 1/2 inch", "--as-of", "2027-02-09T18:00"], 0);
    let span = "2027-02-08T18:00-04:00 to 2027-02-09T06:00-04:00,";
    assert!(stored().lines().last().is_some_and(|row| row.starts_with(span)), "{}", stored());
    let (out, _) = ran(&["scouted", &path, "rain 0 in yesterday"], 0);
    assert!(out.contains("rain in the gauge 0 in") && !out.contains("midnight"), "{out}");
}

/// What was seen of the whole tree before is not laid on a group that was parted from it at another stage.
#[test]
fn groups_of_another_stage_take_nothing_of_an_older_count() {
    let (_, path) = grove("groups_of_another_stage");
    ran(&["scouted", &path, "b1 first 15 set 0 sun", "--yes"], 0);
    ran(&["scouted", &path, "b1 40% full 60, 60% spreading length 6 in", "--yes"], 0);
    let (json, _) = ran(&["advise", &path, "--tree", "B01", "--format", "json"], 0);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let groups = &json["trees"][0]["panicles"];
    assert_eq!(groups[0]["values"]["open-flowers"]["value"], 60, "{groups}");
    assert!(groups[1]["values"]["open-flowers"]["unknown"].is_string(), "{groups}");
}

#[test]
fn the_page_keeps_to_its_width_and_says_what_to_do_next() {
    let (_, path) = grove("the_page_of_scouted_keeps_to_its_width");
    let note = "c3-11 full 85 mildew 5/40; D12 60% full 70, 40% spreading open 0; rain 1.3 in sat";
    for width in ["40", "80"] {
        let (out, _) = ran(&["scouted", &path, note, "--dry-run", "--width", width], 0);
        assert!(out.lines().all(|line| line.chars().count() <= width.parse().unwrap()), "{out}");
    }
    let (out, _) = ran(&["scouted", &path, "b1-15 first 15"], 0);
    assert!(out.contains("(first flowers open)") && out.contains("Next: `bloomward advise"), "{out}");
}

/// A day without a year is the nearest past one. Tomorrow's day is that of a year ago: it is asked about, in both languages,
/// and stored where the answer is yes.
#[test]
fn a_day_without_a_year_that_lies_long_ago_is_asked_about() {
    let (folder, path) = grove("a_day_without_a_year_long_ago");
    let before = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    for (note, said) in [
        ("11 feb a1 pea", "Wed, Feb 11, 2026"),
        ("rain 1 in 18 jan", "Mon, Jan 18, 2027, 22 days ago"),
        ("feb 11\nrain 1 in", "Feb 11, 2026, 363 days ago"),
    ] {
        let output = crate::cli::run(&["scouted", &path, note]);
        let out = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(2), "{note}: {out}");
        assert!(out.contains("Please check:") && out.contains(said), "{note}: {out}");
        assert_eq!(fs::read_to_string(folder.join("scouting.csv")).unwrap(), before, "{note}");
    }
    let output = crate::cli::run(&["scouted", &path, "11 feb a1 pea", "--language", "es"]);
    let out = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(out.contains("11/feb/2026, hace 363 días") && out.contains("escriba el año"), "{out}");
    // Three weeks back is no doubt, and neither is a year that was written.
    for note in ["rain 1 in 19 jan", "11 feb 2026 rain 1 in", "2026-02-11 rain 1 in"] {
        let (out, _) = ran(&["scouted", &path, note, "--dry-run"], 0);
        assert!(!out.contains("Please check:"), "{note}: {out}");
    }
    ran(&["scouted", &path, "11 feb rain 1 in", "--yes"], 0);
    let after = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    assert!(after.strip_prefix(&before).is_some_and(|row| row.starts_with("2026-02-11,")), "{after}");
}

/// A note with which the grove could not be opened any more is refused before it is stored, at its own words, and with it the
/// others of the call, as with any error in a note.
#[test]
fn a_note_that_breaks_what_is_always_so_is_not_stored() {
    let (folder, path) = grove("a_note_that_breaks_an_always");
    let file = folder.join("scouting.csv");
    let before = fs::read_to_string(&file).unwrap();
    let spoken = |error: &str| error.split_whitespace().collect::<Vec<_>>().join(" ");
    // A01 bears fruit as large as peas.
    for flag in ["--yes", "--dry-run"] {
        let error = refused(&path, &["b1 first 15", "a1 open 20", flag]);
        assert!(error.contains("notes:2:1"), "{error}");
        for words in [
            "the tree `A01` breaks `always fruit-and-open-flowers-are-two-groups`: stage pea, open flowers 20 %",
            "the rulebook says: a panicle with fruit as large as a pea is past its flowers",
            "`A01 60% stage pea, 40% stage … open-flowers 20 %`",
            "Found 1 error",
            "Nothing was stored",
        ] {
            assert!(spoken(&error).contains(words), "{words}: {error}");
        }
        assert_eq!(fs::read_to_string(&file).unwrap(), before, "{flag}");
    }
    // One note that says both; every note that breaks one is told, each at its place.
    let error = refused(&path, &["b2 pea open 20; f1 set 3", "--yes"]);
    assert!(error.contains("notes:1:1") && error.contains("notes:1:17"), "{error}");
    assert!(spoken(&error).contains("`B02` breaks") && spoken(&error).contains("Found 2 errors"), "{error}");
    assert_eq!(fs::read_to_string(&file).unwrap(), before);
    // What the message says to write is taken, and the grove still opens.
    ran(&["scouted", &path, "A01 60% stage pea, 40% stage full-bloom open-flowers 20 %", "--yes"], 0);
    ran(&["advise", "--long", &path], 0);
}

/// A grove that was made unreadable by hand is put right by a note.
#[test]
fn a_note_corrects_what_breaks_an_always() {
    let (folder, path) = grove("a_note_corrects_an_always");
    let file = folder.join("scouting.csv");
    let rows = fs::read_to_string(&file).unwrap();
    fs::write(&file, format!("{rows}2027-02-09,,A01,,,20 %,,,,,,,,,,,\n")).unwrap();
    let (_, error) = ran(&["advise", "--long", &path], 2);
    assert!(error.contains("`A01` breaks"), "{error}");
    // Another tree's note leaves it as it is, and says so.
    let error = refused(&path, &["b1 first 15", "--yes"]);
    assert!(error.contains("`A01` breaks"), "{error}");
    ran(&["scouted", &path, "a1 open 0", "--yes"], 0);
    ran(&["advise", "--long", &path], 0);
}

/// Who looked is written down with what was seen, and is said where that is explained.
#[test]
fn who_looked_is_said_where_what_was_seen_is_explained() {
    let (_, path) = grove("scouted-by");
    ran(&["scouted", &path, "a1 mildew 5/40", "--who", "M. R.", "--yes"], 0);
    for (tree, who) in [("A01", "by M. R."), ("C03", "by L. M.")] {
        let (why, _) = ran(&["why", "--all", &path, tree], 0);
        let flat = why.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(who), "{tree}: {why}");
    }
}

/// Two rows of one tree and one day that say different things: the later counts, and that is said where it is stored and
/// on the page.
#[test]
fn a_row_that_says_otherwise_on_the_same_day_is_named() {
    let (folder, path) = grove("a_row_that_says_otherwise");
    let words = "`mildew` of E11 on 2027-02-09 was written down otherwise in";
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (out, _) = ran(&["scouted", &path, "e11 mildew 2/20"], 0);
    assert!(!flat(&out).contains(words), "{out}");
    let (out, _) = ran(&["scouted", &path, "e11 mildew 9/20"], 0);
    let line = fs::read_to_string(folder.join("scouting.csv")).unwrap().lines().count() - 1;
    assert!(flat(&out).to_lowercase().contains(&words.to_lowercase()), "{out}");
    assert!(flat(&out).contains(&format!("scouting.csv:{line}: this later row counts")), "{out}");
    let (page, _) = ran(&["advise", "--long", &path, "--width", "200"], 0);
    assert!(
        flat(&page).contains(words)
            && page.split_whitespace().collect::<String>().contains(&format!("scouting.csv:{}:1", line + 1)),
        "{page}"
    );
    // A look on a later day, and a tree among others, are no contradiction.
    assert!(!flat(&page).contains("`stage` of C03"), "{page}");
}

/// A tree that was felled leaves its rows of scouting behind: they are left out and named, and stop nothing.
#[test]
fn a_felled_tree_stops_no_grove() {
    let (folder, path) = grove("a_felled_tree_stops_no_grove");
    let yaml = folder.join("grove.yaml");
    let text = fs::read_to_string(&yaml).unwrap();
    let left: Vec<&str> = text.lines().filter(|line| !line.contains("tree: D05,")).collect();
    fs::write(&yaml, left.join("\n") + "\n").unwrap();
    let (page, _) = ran(&["advise", "--long", &path], 0);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("`D05` is not a tree of the grove, or no longer: the row is left out"), "{page}");
    // A slip of a tree that is there is no felled tree.
    let rows = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    fs::write(folder.join("scouting.csv"), rows + "2027-02-08,L. M.,D6,,dormant\n").unwrap();
    let (_, error) = ran(&["advise", "--long", &path], 2);
    assert!(error.contains("there is no tree or block `D6`"), "{error}");
}

#[test]
fn a_word_that_may_be_several_is_offered_by_what_stands_behind_it() {
    let (_, path) = grove("a_word_that_may_be_several");
    let error = refused(&path, &["b1 half 50 fruit 9"]);
    assert!(error.contains("may be `fruit-set` or `fruit-size`"), "{error}");
    // A unit says which.
    assert_eq!(
        rows(&path, &["b1 half 50 fruit 9 mm"]),
        ["09 B01: fruit-size 9 mm, open-flowers 50 %, stage half-open"]
    );
    // What is counted may be none.
    assert_eq!(
        rows(&path, &["b1 half 50 no fruit-set"]),
        ["09 B01: fruit-set 0, open-flowers 50 %, stage half-open"]
    );
}

#[test]
fn of_several_lines_the_good_ones_can_be_stored() {
    let (folder, path) = grove("of_several_lines_the_good_ones");
    let file = folder.join("notes.txt");
    let good: Vec<String> = (1..=9).map(|tree| format!("b{tree} full 80")).collect();
    fs::write(&file, format!("{}\nzz1 full 80\n", good.join("\n"))).unwrap();
    let before = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    let file = file.to_str().unwrap();
    // Nobody can be asked: nothing is stored, and what was understood is shown all the same.
    let (page, asked) = ran(&["scouted", &path, "--from", file], 2);
    assert!(page.contains("Read as 9 scouting rows"), "{page}");
    assert!(asked.contains("there is no tree or block `zz1`"), "{asked}");
    assert!(page.contains("Not every line was understood"), "{page}");
    assert_eq!(fs::read_to_string(folder.join("scouting.csv")).unwrap(), before);
    // Programs get all or nothing, and what is doubtful may be agreed to without this.
    ran(&["scouted", &path, "--from", file, "--yes", "--understood-only", "--format", "json"], 2);
    ran(&["scouted", &path, "--from", file, "--yes"], 2);
    assert_eq!(fs::read_to_string(folder.join("scouting.csv")).unwrap(), before);
    let (_, left) = ran(&["scouted", &path, "--from", file, "--yes", "--understood-only"], 2);
    let after = fs::read_to_string(folder.join("scouting.csv")).unwrap();
    assert_eq!(after.lines().count(), before.lines().count() + 9, "{after}");
    assert!(left.contains("Not stored, write them again:\n  zz1 full 80\n"), "{left}");
}

#[test]
fn notes_below_a_day_that_is_not_understood_are_not_taken_for_another_day() {
    let (_, path) = grove("notes_below_a_day_that_is_not_understood");
    let asked = refused(&path, &["satt", "a1 full 80", "sat a2 full 80"]);
    let asked = asked.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(asked.contains("the line above is not understood, and may be the day of this note"), "{asked}");
    assert!(asked.contains("write the day before it"), "{asked}");
}

#[test]
fn the_words_that_notes_may_use_are_listed() {
    let (_, path) = grove("the_words_that_notes_may_use");
    let (page, _) = ran(&["scouted", &path, "--words", "--width", "100"], 0);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for says in [
        "panicles with mildew; short mil, pm, powdery",
        "write `mildew 3/25`",
        "full-bloom (full)",
        "rain .5",
        "b all",
    ] {
        assert!(page.contains(says), "{says}\n{page}");
    }
    let (spanish, _) = ran(&["scouted", &path, "--words", "--language", "es"], 0);
    assert!(spanish.contains("escriba `mildew 3/25`") && !spanish.contains("write"), "{spanish}");
    // What is listed is understood.
    for note in ["a1 mil 3/25", "a1 pm 3/25", "a1 full"] {
        rows(&path, &[note]);
    }
}
