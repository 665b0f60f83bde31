//! Hours: gates of clock, sun and weather, windows, the best compromise, what cannot be checked.

use super::case::{Case, case, tree};
use serde_json::{Value, json};

const BOOK: &str = r#"
product copper
  strength low 1 g/L
  cites own
gate people
  shuts spraying
  in hours when clock from 06:00 to 17:00
  cites own
gate windy
  shuts copper
  in hours when wind above 10 mph
  cites own
choice one
  advise copper at low
  within 24 h
  cites own
"#;

/// Twenty-four hours of weather from the evening before on, with the wind that a function gives for each hour.
fn weather(book: &str, wind: impl Fn(u32) -> u32) -> Case {
    let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm],wind [mph]\n");
    for hour in 0..48u32 {
        let (day, clock) = (10 + hour / 24, hour % 24);
        csv += &format!("2027-02-{day}T{clock:02}:00,20,80,0,{}\n", wind(hour));
    }
    let trees = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
    case(book, trees).weather(csv, "2027-02-11T05:00")
}

fn windows(advice: &Value) -> Vec<(String, String)> {
    let list = tree(advice, "A1")["windows"].as_array().unwrap();
    let time = |value: &Value| value.as_str().unwrap()[8..16].to_string();
    list.iter().map(|window| (time(&window["from"]), time(&window["to"]))).collect()
}

fn window(from: &str, to: &str) -> (String, String) {
    (from.to_string(), to.to_string())
}

#[test]
fn windows_are_what_the_gates_leave_and_the_first_is_cut_at_now() {
    // It is 05:30. The clock leaves 05 to 06 and from 18 on (17:00 itself is shut: both ends count).
    let calm = weather(BOOK, |_| 5).advise();
    assert_eq!(windows(&calm), [window("11T18:00", "12T00:00")]);
    // Half an hour is shorter than the hour that a window must have.
    let mut half = weather(BOOK, |_| 5);
    half.book = half.book.replace(
        "  caution \"For tests only.\"",
        "  window at least 30 min within 24 h\n  caution \"For tests only.\"",
    );
    assert_eq!(windows(&half.advise()), [window("11T05:30", "11T06:00"), window("11T18:00", "12T00:00")]);
}

/// No open minute is dropped: what is shorter than the window that is looked for stands beside the windows.
#[test]
fn what_is_left_of_a_dawn_stands_beside_the_windows_with_its_minutes() {
    let at = |clock: &str| {
        let mut dawn = weather(BOOK, |_| 5);
        dawn.book = dawn.book.replace(
            "  caution \"For tests only.\"",
            "  window at least 2 h within 24 h\n  caution \"For tests only.\"",
        );
        dawn.grove = dawn.grove.replace("as-of: 2027-02-11T05:30", &format!("as-of: 2027-02-11T{clock}"));
        dawn.advise()
    };
    let whole = at("04:00");
    assert_eq!(windows(&whole), [window("11T04:00", "11T06:00"), window("11T18:00", "12T00:00")]);
    assert_eq!(tree(&whole, "A1")["short_windows"], json!([]));
    for (clock, minutes) in [("04:01", 119), ("05:30", 30), ("05:59", 1)] {
        let cut = at(clock);
        assert_eq!(windows(&cut), [window("11T18:00", "12T00:00")], "{clock}");
        let from = format!("2027-02-11T{clock}:00-04:00");
        let piece = json!({ "from": from, "to": "2027-02-11T06:00:00-04:00", "minutes": minutes });
        assert_eq!(tree(&cut, "A1")["short_windows"], json!([piece]));
        assert_eq!(cut["groups"][0]["short_hours"], json!([piece]));
        assert_eq!(tree(&cut, "A1")["compromise"], Value::Null);
    }
    assert_eq!(tree(&at("06:00"), "A1")["short_windows"], json!([]));
}

/// From half past midnight to three there are 90 minutes in the night in which the clocks go forward, and three and a half
/// hours in that in which they go back.
#[test]
fn a_piece_has_the_minutes_that_pass_whatever_the_clocks_show() {
    let book = BOOK.replace("clock from 06:00 to 17:00", "clock from 03:00 to 22:00");
    let (people, rest) = book.split_once("gate windy").unwrap();
    let (_, choice) = rest.split_once("choice one").unwrap();
    let at = |day: &str| {
        let trees = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let mut night = case(&format!("{people}choice one{choice}"), trees);
        night.book = night.book.replace(
            "  caution \"For tests only.\"",
            "  window at least 2 h within 24 h\n  caution \"For tests only.\"",
        );
        let grove = night.grove.replace("America/Puerto_Rico", "America/New_York");
        night.grove = grove.replace("2027-02-11T05:30", &format!("{day}T00:30"));
        tree(&night.advise(), "A1").clone()
    };
    let forward = at("2027-03-14");
    let piece =
        json!({ "from": "2027-03-14T00:30:00-05:00", "to": "2027-03-14T03:00:00-04:00", "minutes": 90 });
    assert_eq!(forward["short_windows"][0], piece);
    let back = at("2027-11-07");
    let window = json!({ "from": "2027-11-07T00:30:00-04:00", "to": "2027-11-07T03:00:00-05:00" });
    assert_eq!(back["windows"][0], window);
}

/// A compromise breaks gates only where no window is long enough, and an hour between two winds is shown all the same.
#[test]
fn an_hour_between_two_winds_is_shown_beside_the_compromise() {
    let mut blown = weather(BOOK, |hour| if hour == 24 + 20 { 5 } else { 12 });
    blown.book = blown.book.replace(
        "  caution \"For tests only.\"",
        "  window at least 2 h within 24 h\n  caution \"For tests only.\"",
    );
    let advice = blown.advise();
    let tree = tree(&advice, "A1");
    assert_eq!(tree["windows"], json!([]));
    assert_eq!(tree["short_windows"][0]["from"], "2027-02-11T20:00:00-04:00");
    assert_eq!(tree["short_windows"][0]["minutes"], 60);
    assert_eq!(tree["compromise"]["breaks"], json!(["windy"]));
}

#[test]
fn a_gate_of_the_weather_cuts_the_windows() {
    let advice = weather(BOOK, |hour| if hour == 24 + 20 { 12 } else { 5 }).advise();
    assert_eq!(windows(&advice), [window("11T18:00", "11T20:00"), window("11T21:00", "12T00:00")]);
}

#[test]
fn where_none_is_left_the_best_compromise_breaks_the_weather_and_never_the_clock() {
    let advice = weather(BOOK, |_| 12).advise();
    let tree = tree(&advice, "A1");
    assert_eq!(tree["verdict"], "spray");
    assert_eq!(tree["windows"], json!([]));
    assert_eq!(tree["compromise"]["breaks"], json!(["windy"]));
    assert_eq!(tree["compromise"]["from"], "2027-02-11T18:00:00-04:00");
}

#[test]
fn hours_without_a_forecast_are_not_checked_and_the_clock_still_shuts() {
    let mut stale = weather(BOOK, |_| 5);
    stale.grove =
        stale.grove.replace("forecast-issued: 2027-02-11T05:00", "forecast-issued: 2027-02-10T00:00");
    let advice = stale.advise();
    let tree = tree(&advice, "A1");
    assert_eq!(tree["windows"], json!([]));
    let not_checked = tree["not_checked"].as_array().unwrap();
    assert!(!not_checked.is_empty());
    for hours in not_checked {
        let from: u32 = hours["from"].as_str().unwrap()[11..13].parse().unwrap();
        assert!(!(6..=17).contains(&from), "{hours}");
    }
}

#[test]
fn an_hour_that_the_sun_cuts_is_shut_by_day_and_by_night() {
    // Sunrise at 18.05 N, 66.5 W on 11 February is about 06:51 local time, sunset about 18:27 (any almanac).
    let by = |word: &str| {
        let book = BOOK.replace("clock from 06:00 to 17:00", word);
        windows(&weather(&book, |_| 5).advise())
    };
    assert_eq!(by("daylight"), [window("11T19:00", "12T00:00")]);
    assert_eq!(by("not daylight"), [window("11T07:00", "11T18:00")]);
}

#[test]
fn labels_of_harvest_end_the_days_on_which_hours_are_offered() {
    let book = BOOK
        .replace("  strength low 1 g/L\n", "  strength low 1 g/L\n  label before-harvest at least 2 d\n")
        .replace("within 24 h", "within 48 h");
    let mut csv = String::from("time,wind [mph]\n");
    for hour in 0..96u32 {
        csv += &format!("2027-02-{}T{:02}:00,5\n", 10 + hour / 24, hour % 24);
    }
    let trees = "harvest: 2027-02-13\nsprays: none yet\ntrees:\n  - { tree: A1 }\n";
    let advice = case(&book, trees).weather(csv, "2027-02-11T05:00").advise();
    // Two days before the 13th is the 11th: nothing is offered on the 12th.
    assert_eq!(windows(&advice), [window("11T18:00", "12T00:00")]);
    assert_eq!(tree(&advice, "A1")["pick_not_before"], "2027-02-13");
}

/// From 18:00 on all hours are open for two days. Two trees at 4 an hour are done at 18:30, so that the days count from that day
/// and not from the one on which the window closes; without a pace nothing is known but when the window closes.
#[test]
fn the_days_before_harvest_count_from_the_end_of_a_spray_that_begins_as_its_hours_open() {
    let items = "product copper\n  strength low 1 g/L\n  label re-entry 1 h\n  label before-harvest at least 1 d\n  cites own\n\
                 gate people\n  shuts spraying\n  in hours when rain above 0 mm\n  cites own\n\
                 choice one\n  advise copper at low\n  within 48 h\n  cites own\n";
    let mut csv = String::from("time,rain [mm]\n");
    for hour in 0..96u32 {
        csv += &format!("2027-02-{}T{:02}:00,{}\n", 10 + hour / 24, hour % 24, u8::from(hour < 42));
    }
    let picks = |sprayer: &str| {
        let keys = format!(
            "sprays: none yet\nharvest: 2027-03-20\n{sprayer}trees:\n  - {{ tree: A1 }}\n  - {{ tree: A2 }}\n"
        );
        let advice = case(items, &keys).weather(csv.clone(), "2027-02-11T05:00").advise();
        tree(&advice, "A1")["pick_not_before"].as_str().unwrap().to_string()
    };
    let paced = "sprayer: { kind: handgun, tank: 100 gal, per-tree: 2 gal, pace: 8 gal / h }\n";
    assert_eq!((picks(paced), picks("")), ("2027-02-12".to_string(), "2027-02-14".to_string()));
}
