//! The example of a whole season: its hours are made by a rule, its bloom is assumed, and what is wrong in such a file is said.

use crate::cli::{folder, ran, top};
use serde_json::Value;
use std::fmt::Write;
use std::fs;

const GROVE: &str = "examples/whole-season";

/// The hours of the example, from the first of January 2027 on for 120 days.
fn hours() -> String {
    // Tenths of a degree by the hour of the day.
    const OF_DAY: [i64; 24] = [
        192, 188, 184, 181, 179, 178, 184, 202, 224, 244, 260, 270, 277, 280, 278, 272, 262, 248, 234, 222,
        213, 206, 201, 196,
    ];
    let mut drawn: u64 = 2027;
    let mut next = |most: u64| {
        drawn = drawn.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((drawn >> 33) % most) as i64
    };
    let first = "2027-01-01T00:00:00".parse::<chrono::NaiveDateTime>().unwrap();
    let mut text = "time,temperature [°C],humidity [%],rain [mm],wind [km/h]\n".to_owned();
    for day in 0..120 {
        // Days of showers come in spells of three in every nine; the season warms by four degrees.
        let showers = day % 9 >= 6;
        let (of_day, warming) = (next(30), day / 3);
        for hour in 0..24 {
            let at = first + chrono::Duration::hours(day * 24 + hour);
            let night = !(7..19).contains(&hour);
            let warmth =
                OF_DAY[hour as usize] + warming + of_day - 15 - if showers && !night { 25 } else { 0 };
            let damp = if showers { 20 } else { 6 } + if night { 72 } else { 52 } + next(8);
            let rain =
                if showers && (4..9).contains(&(hour % 12)) && next(3) == 0 { 2 + next(38) } else { 0 };
            let humidity = if rain > 0 { 97 } else { damp.min(99) };
            let wind = if night { 1 + next(5) } else { 6 + next(9) };
            let _ = writeln!(
                text,
                "{},{}.{},{humidity},{}.{},{wind}",
                at.format("%Y-%m-%dT%H:%M"),
                warmth / 10,
                warmth % 10,
                rain / 10,
                rain % 10
            );
        }
    }
    text
}

#[test]
fn the_hours_of_the_example_are_made_as_it_says() {
    let file = top().join(GROVE).join("weather.csv");
    if std::env::var_os("BLOOMWARD_WRITE").is_some() {
        fs::write(&file, hours()).unwrap();
    }
    assert!(fs::read_to_string(&file).unwrap() == hours(), "run it with BLOOMWARD_WRITE=1");
}

fn season(more: &[&str]) -> Value {
    let asked = [&["season", GROVE, "--format", "json"], more].concat();
    serde_json::from_str(&ran(&asked, 0).0).unwrap()
}

/// A year without a diary has questions only; an assumed bloom answers them, and the page says that it was assumed.
#[test]
fn a_bloom_can_be_assumed() {
    let days = ["--from", "2027-01-10", "--to", "2027-02-14"];
    let alone = season(&days);
    let sprays = |season: &Value| {
        let mornings = season["mornings"].as_array().unwrap().iter();
        mornings
            .flat_map(|it| it["decisions"].as_array().unwrap())
            .filter(|it| it["verdict"] == "spray")
            .count()
    };
    assert_eq!((sprays(&alone), &alone["assumed_bloom"]), (0, &Value::Null));
    let bloom = format!("{GROVE}/bloom.yaml");
    let assumed = season(&[&days[..], &["--bloom", &bloom, "--assume-sprayed"]].concat());
    assert!(sprays(&assumed) >= 3, "{}", sprays(&assumed));
    assert_eq!(assumed["assumed_bloom"], "two flushes of a lowland season, mildew in late January, invented");
    // The bloom stands as declared: by cultivar and day of the year.
    let stage = |day: &str| {
        let mornings = assumed["mornings"].as_array().unwrap();
        let morning = mornings.iter().find(|it| it["at"].as_str().unwrap().starts_with(day)).unwrap();
        morning["bloom"]["bench"].clone()
    };
    assert_eq!(stage("2027-01-19"), serde_json::json!({ "dormant": 3, "axis-growing": 3 }));
    assert_eq!(stage("2027-01-22"), serde_json::json!({ "bud-burst": 3, "first-open": 3 }));
    let (page, _) = ran(&[&["season", GROVE, "--bloom", &bloom], &days[..]].concat(), 0);
    assert!(page.contains("ASSUMED, nobody looked: two flushes"), "{page}");
}

#[test]
fn what_is_wrong_in_an_assumed_bloom_is_said_at_its_line() {
    let file = folder("season_bloom").join("bloom.yaml");
    let text = "bloom: wrong\ncalendar:\n  - { from: 40 Jan, mildew: 5 % }\n  - { from: 3 Feb, cultivar: Kant, mildew: 5 % }\n  \
                - { from: 3 Feb, mildow: 5 % }\n  - { from: 3 Feb, stage: blooming }\n  - { mildew: 5 % }\n";
    fs::write(&file, text).unwrap();
    let (_, error) = ran(&["season", GROVE, "--bloom", file.to_str().unwrap(), "--width", "120"], 2);
    let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "bloom.yaml:3",
        "`40 Jan` is not a day of the year",
        "write `20 Jan`, or the date",
        "bloom.yaml:4",
        "did you mean `Kent`?",
        "did you mean `mildew`?",
        "bloom.yaml:6",
        "bloom.yaml:7",
        "does not say from when",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
    fs::write(&file, "calendar: soon\n").unwrap();
    let (_, error) = ran(&["season", GROVE, "--bloom", file.to_str().unwrap()], 2);
    assert!(error.contains("has no calendar") && error.contains("write `calendar:`"), "{error}");
}
