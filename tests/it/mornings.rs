//! What a grower is told early in the morning: what is left of the dawn, which rows are closed, from when fruit may be picked.

use crate::cli::{folder, ran};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

const GROVE: &str = "examples/mixed-grove";

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn page(command: &[&str], at: &str) -> String {
    flat(&ran(&[command, &["--as-of", at]].concat(), 0).0)
}

#[track_caller]
fn json(command: &[&str], at: &str) -> Value {
    serde_json::from_str(&ran(&[command, &["--as-of", at, "--format", "json"]].concat(), 0).0).unwrap()
}

/// A copy of the example, with a row at the end of its spray log.
fn sprayed(test: &str, row: &str) -> PathBuf {
    let grove = folder(test).join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "mixed-grove"], 0);
    let log = grove.join("sprays.csv");
    let text = fs::read_to_string(&log).unwrap();
    fs::write(&log, format!("{text}{row}\n")).unwrap();
    grove
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Insects come at six, and the guide asks for two hours. 1.5 gal at 25 gal an hour are 3.6 minutes; ten trees take 36.
#[test]
fn what_is_left_of_a_dawn_is_shown_with_what_fits() {
    let one = ["advise", "--long", GROVE, "--tree", "D05"];
    let said = page(&one, "2027-02-09T04:01");
    let piece =
        "Tue, Feb 9, 4:01 am–6:00 am: only 1 h 59 min (the guide asks for 2 h); all of it fits (19 min)";
    assert!(said.contains(piece), "{said}");
    let narrow = page(&[&one[..], &["--width", "40"]].concat(), "2027-02-09T04:01");
    assert!(narrow.contains(piece), "{narrow}");
    let why = page(&["why", "--all", GROVE, "D05"], "2027-02-09T04:01");
    assert!(why.contains("only 1 h 59 min (the guide asks for 2 h); enough for this tree (19 min)"), "{why}");
    let ten = ["advise", "--long", GROVE, "--tree", "B01,B02,B03,B04,B05,B06,B07,B08,B09,B10"];
    let said = page(&ten, "2027-02-09T05:30");
    assert!(
        said.contains("only 30 min (the guide asks for 2 h); 4 of 10 trees fit, with a smaller load"),
        "{said}"
    );
    assert!(
        page(&ten, "2027-02-09T05:58").contains("only 2 min (the guide asks for 2 h); not one tree fits")
    );
    let none_left = page(&ten, "2027-02-09T06:00");
    assert!(
        none_left.contains("Tue, Feb 9, 7:00 pm") && !none_left.contains("the guide asks for"),
        "{none_left}"
    );
}

/// A round is done in what is left of the dawn where its loads fit into it, and nowhere else.
#[test]
fn rounds_use_what_is_left_of_a_dawn() {
    let day = json(&["sprayday", GROVE, "--look"], "2027-02-09T04:01");
    let dawn = |sheet: &&Value| sheet["stretches"][0]["to"].as_str().unwrap() <= "2027-02-09T06:00";
    let sheets = day["sheets"].as_array().unwrap();
    assert!(sheets.iter().filter(dawn).count() >= 2, "{sheets:?}");
    assert!(sheets.iter().all(|sheet| sheet["ground"] == "open" && sheet["loads_without_hours"] == 0));
    let day = json(
        &["sprayday", GROVE, "--look", "--tree", "D01,D02,D03,D04,D05,D06,D07,D08,D09,D10"],
        "2027-02-09T05:30",
    );
    assert_eq!(day["sheets"][0]["stretches"][0]["from"], "2027-02-09T19:00:00-04:00");
}

/// F13 to F15 have blighted panicles to cut out, and B01 is to be sprayed; sulfur closed both last evening for a day.
#[test]
fn hand_work_and_groups_say_which_rows_are_closed_and_until_when() {
    let row =
        |on: &str| format!("2027-02-08T18:50,2027-02-08T19:50,{on},sulfur,,,reduced,,6 gal,,,,,,T. R.,,,");
    let grove = sprayed("mornings_closed", &format!("{}\n{}", row("F13-F15"), row("G11")));
    let said = page(&["advise", "--long", text(&grove)], "2027-02-09T04:30");
    let closed = "Not now in F13–F15: closed until Tue, Feb 9, 2027, 7:50 pm, after an earlier spray.";
    assert!(said.contains(closed), "{said}");
    assert!(
        said.contains("Keep out now, until Tue, Feb 9, 2027, 7:50 pm, after an earlier spray: "),
        "{said}"
    );
    let advice = json(&["advise", text(&grove)], "2027-02-09T04:30");
    for tree in advice["trees"].as_array().unwrap() {
        let name = tree["tree"].as_str().unwrap();
        let is_closed = ["F13", "F14", "F15", "G11"].contains(&name);
        assert_eq!(tree["closed_until"].is_string(), is_closed, "{name}");
    }
    let why = page(&["why", "--all", text(&grove), "F13"], "2027-02-09T04:30");
    assert!(why.contains("Not now: closed until Tue, Feb 9, 2027, 7:50 pm"), "{why}");
    let open = page(&["advise", "--long", text(&grove)], "2027-02-09T20:00");
    assert!(!open.contains("Not now") && !open.contains("Keep out now"), "{open}");
}

/// Nobody picks where nobody may go in: the day to pick is never before the day on which people are let in.
#[test]
fn there_is_one_date_to_pick_and_it_is_the_later() {
    for at in ["2027-02-09T04:30", "2027-02-09T06:30"] {
        let advice = json(&["advise", GROVE], at);
        let day = json(&["sprayday", GROVE, "--look"], at);
        let mut told = 0;
        let all = advice["trees"].as_array().unwrap().iter().chain(day["sheets"].as_array().unwrap());
        for it in all {
            if let (Some(out), Some(pick)) = (it["keep_out_until"].as_str(), it["pick_not_before"].as_str()) {
                assert!(pick >= &out[..10], "{it}");
                told += 1;
            }
        }
        assert!(told > 80, "{told}");
    }
    let why = json(&["why", GROVE, "D05"], "2027-02-09T06:30");
    let (out, pick) = (&why["trees"][0]["keep_out_until"], &why["trees"][0]["pick_not_before"]);
    assert_eq!(
        &out.as_str().unwrap()[..10],
        pick.as_str().unwrap(),
        "copper: 48 h of re-entry, one day before harvest"
    );
}

/// What was seen of the whole grove, such as insects at the flowers, is no look at a tree: the head says which trees nobody
/// has looked at for long.
#[test]
fn a_tree_is_not_seen_by_what_is_seen_of_the_whole_grove() {
    let (page, _) = ran(&["advise", "--long", "examples/mixed-grove", "--as-of", "2027-02-09T04:30"], 0);
    for words in ["A14, A15: 19 days ago", "H06–H10: 22 days ago"] {
        assert!(page.contains(words), "{words}\n{page}");
    }
}

/// One tree takes four minutes after a quarter of an hour of filling, the ten that are sprayed like it more than half an hour: `why` is of the one.
#[test]
fn why_gives_the_time_to_keep_out_after_that_tree_and_not_after_all_that_are_sprayed_like_it() {
    let why = json(&["why", GROVE, "D05"], "2027-02-09T04:30");
    assert_eq!(why["trees"][0]["keep_out_until"], "2027-02-11T04:50:00-04:00");
    let said = page(&["why", "--all", GROVE, "D05"], "2027-02-09T04:30");
    let out = "Keep out until Thu, Feb 11, 2027, 4:50 am (REI), if you start Tue, Feb 9, 2027, 4:45 am and are done 4:50 am";
    assert!(said.contains(out), "{said}");
}

/// Eight mixes, each of which fits into an hour and a half: with filling before each they take 8 h.
#[test]
fn what_all_sprays_of_a_dawn_need_together_is_said_once() {
    let said = page(&["advise", "--long", GROVE], "2027-02-09T04:30");
    let of_all = "Time all 8 mixes together need 8 h, more than Tue, Feb 9, 4:30 am–6:00 am (1 h 30 min): see `bloomward \
                  sprayday` for the order";
    assert_eq!(said.matches("mixes together need").count(), 1);
    assert!(said.contains(of_all), "{said}");
    let together = json(&["advise", GROVE], "2027-02-09T04:30")["together"].clone();
    assert_eq!((&together["mixes"], &together["fits"]), (&Value::from(8), &Value::from(false)));
    assert_eq!(together["to"], "2027-02-09T06:00:00-04:00");
    let one = page(&["advise", "--long", GROVE, "--tree", "D05"], "2027-02-09T04:30");
    assert!(!one.contains("mixes together"), "{one}");
}

/// The sheets of a day are numbered as they are driven, whatever is due first.
#[test]
fn rounds_are_numbered_in_the_order_in_which_they_begin() {
    for at in ["2027-02-09T04:30", "2027-02-09T06:30"] {
        let day = json(&["sprayday", GROVE, "--look"], at);
        let begins: Vec<&str> = day["sheets"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["stretches"][0]["from"].as_str().unwrap())
            .collect();
        assert!(begins.len() > 5 && begins.is_sorted(), "{begins:?}");
    }
}

/// Row F was sprayed last evening: who sprays beside it is told that it is closed, in both languages.
#[test]
fn a_sheet_names_the_rows_beside_it_that_are_closed() {
    let row = "2027-02-08T18:50,2027-02-08T19:50,F13-F15,sulfur,,,reduced,,6 gal,,,,,,T. R.,,,";
    let grove = sprayed("mornings_beside", row);
    let sheet = |more: &[&str]| {
        page(
            &[&["sprayday", text(&grove), "--look", "--tree", "E01,E02,E03"][..], more].concat(),
            "2027-02-09T04:30",
        )
    };
    let said = sheet(&[]);
    assert!(said.contains("nobody goes into F13–F15 until Tue, Feb 9, 2027, 7:50 pm"), "{said}");
    let said = sheet(&["--language", "es"]);
    assert!(said.contains("que nadie entre en F13–F15 hasta"), "{said}");
}
