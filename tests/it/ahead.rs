//! When a verdict not to spray becomes another if the forecast holds: the next look is never later.

use super::case::{Case, case, tree};
use serde_json::{Value, json};

/// Copper is due after 25 mm of rain, or after ten days.
const BOOK: &str = r#"
observe mildew
  kind share
  lasts 2 d
measure copper-age    = days since last copper
measure copper-washed = total rain since last copper
product copper
  strength low 1 g/L
  cites own
choice cover
  advise copper at low
  if copper-washed at least 25 mm or copper-age at least 10 d
  outranks rest
  cites own
choice rest
  advise hold
  recheck in 4 d
  cites own
"#;

/// Dry days, from the 11th on forecast, with so many millimeters in each of three hours from 15:00 on the 12th on.
fn weather(rain: f64) -> String {
    let mut csv = String::from("time,rain [mm]\n");
    for hour in 0..13 * 24u32 {
        let wet = (10 * 24 + 15..10 * 24 + 18).contains(&hour);
        csv +=
            &format!("2027-02-{:02}T{:02}:00,{}\n", 2 + hour / 24, hour % 24, if wet { rain } else { 0.0 });
    }
    csv
}

/// Two trees, the first sprayed on the 9th, the second on a day of February.
fn grove(rain: f64, second: &str) -> Case {
    let log = |tree: &str, day: &str| format!("2027-02-{day}T05:00,2027-02-{day}T06:00,{tree},copper,low\n");
    case(BOOK, "seen: 2027-02-10\ntrees:\n  - { tree: A1, mildew: 0 % }\n  - { tree: A2, mildew: 0 % }\n")
        .sprays(format!("start,end,on,product,strength\n{}{}", log("A2", second), log("A1", "09")))
        .weather(weather(rain), "2027-02-11T05:00")
}

#[track_caller]
fn ahead(advice: &Value, name: &str) -> Value {
    let tree = tree(advice, name);
    assert_eq!(tree["verdict"], "hold", "{tree}");
    json!([tree["recheck"], tree["turn"]["at"], tree["turn"]["then"]])
}

#[test]
fn the_rain_that_ends_a_cover_is_the_time_of_the_next_look() {
    let washed = json!(["2027-02-12", "2027-02-12T18:00:00-04:00", "spray copper at low"]);
    let advice = grove(9.0, "09").advise();
    assert_eq!(ahead(&advice, "A1"), washed);
    // 24 mm leave the cover; the tree is looked at when its choice says so.
    assert_eq!(ahead(&grove(8.0, "09").advise(), "A1"), json!(["2027-02-15", null, null]));
}

#[test]
fn a_cover_that_gets_too_old_ends_on_its_day_and_that_of_each_tree_on_its_own() {
    let advice = grove(0.0, "03").advise();
    assert_eq!(ahead(&advice, "A1"), json!(["2027-02-15", null, null]));
    let aged = json!(["2027-02-13", "2027-02-13T00:00:00-04:00", "spray copper at low"]);
    assert_eq!(ahead(&advice, "A2"), aged);
}

#[test]
fn what_is_seen_does_not_grow_old_in_what_is_coming() {
    // Mildew is unknown from the 13th on, and then one would have to look; that is no turn.
    let mut seen = grove(9.0, "09");
    seen.book = seen
        .book
        .replace("  if copper-washed", "  if mildew at most 5 % and copper-washed")
        .replace(" or copper-age at least 10 d", "");
    let advice = seen.advise();
    assert_eq!(tree(&advice, "A1")["turn"]["at"], "2027-02-12T18:00:00-04:00");
}

#[test]
fn where_no_forecast_reaches_nothing_is_said_of_what_is_coming() {
    let mut dry = grove(9.0, "09");
    dry.weather =
        dry.weather.map(|csv| csv.lines().take(1 + 9 * 24 + 6).map(|line| format!("{line}\n")).collect());
    assert_eq!(ahead(&dry.advise(), "A1"), json!(["2027-02-15", null, null]));
}
