//! `weather`: what is taken in, what is asked, what is remembered, and that nothing measured is lost.

use crate::cli::{folder, ran, run};
use crate::intake::forms;
use crate::schema::assert_holds;
use bloomward::report::schemas;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// An example grove in a folder of its own, whose morning is Tue 9 Feb 2027, 4:30.
pub fn grove(name: &str) -> PathBuf {
    let folder = folder(name).join("grove");
    ran(&["start", folder.to_str().unwrap(), "--example", "mixed-grove"], 0);
    folder
}

fn file(name: &str) -> String {
    forms().join(name).to_string_lossy().into_owned()
}

/// Writes a file beside the grove and returns its path.
pub fn beside(grove: &Path, name: &str, bytes: impl AsRef<[u8]>) -> String {
    let path = grove.with_file_name(name);
    fs::write(&path, bytes).unwrap();
    path.to_string_lossy().into_owned()
}

pub fn read(grove: &Path, name: &str) -> String {
    fs::read_to_string(grove.join(name)).unwrap()
}

/// Takes something in, and returns the page and what was said beside it.
#[track_caller]
pub fn take(grove: &Path, more: &[&str], status: i32) -> (String, String) {
    let path = grove.to_string_lossy();
    ran(&[&["weather", &*path], more].concat(), status)
}

#[track_caller]
pub fn take_json(grove: &Path, more: &[&str], status: i32) -> Value {
    let (json, _) = take(grove, &[more, &["--format", "json"]].concat(), status);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_holds(schemas::WEATHER, &json);
    json
}

/// The row of an hour in the grove's file.
pub fn row(grove: &Path, time: &str) -> Option<String> {
    let text = read(grove, "weather.csv");
    text.lines().find(|line| line.starts_with(time)).map(str::to_string)
}

pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const MORNING: &[&str] = &["--as-of", "2027-02-09T06:20"];

/// The rows that the example has of the last measured hours, by a station's titles, and two more hours.
const STATION: &str = "Date,Outdoor Temp (F),Outdoor Hum (%),Wind (mph),Rain (in),Gust (mph)\n\
    2027-02-09 03:00,68.0,86,3.8,0,9\n2027-02-09 04:00,66.2,90,3,0.05,8\n2027-02-09 05:00,66.0,91,2,0,7\n";

#[test]
fn hours_are_added_behind_those_that_are_there_and_once_only() {
    let grove = grove("hours_are_added");
    let before = read(&grove, "weather.csv");
    let station = beside(&grove, "station.csv", STATION);
    let begin = [&[&*station, "--stamps", "begin"], MORNING].concat();
    let json = take_json(&grove, &begin, 0);
    assert_eq!((&json["added"]["measured"], &json["added"]["completed"]), (&2.into(), &1.into()));
    assert_eq!(json["added"]["contradicted"], Value::Array(vec![]));
    assert_eq!(json["stored"], true);
    assert_eq!(row(&grove, "2027-02-09T04:00").unwrap(), "2027-02-09T04:00,66.2,,90,0.05,3,8");
    // The hour lacked the gust, and nothing else of it was touched.
    assert_eq!(row(&grove, "2027-02-09T03:00").unwrap(), "2027-02-09T03:00,68.0,63.6,86,0.00,3.8,9");
    let yaml = read(&grove, "grove.yaml");
    assert!(yaml.contains("measured-to: 2027-02-09T06:00"), "{yaml}");
    let after = read(&grove, "weather.csv");
    for line in before.lines().skip(1).filter(|line| line < &"2027-02-09T03") {
        assert!(after.contains(&format!("{line},\n")), "{line}");
    }
    // The same file again changes nothing.
    let json = take_json(&grove, &begin, 0);
    assert_eq!((&json["added"]["measured"], &json["added"]["same"]), (&0.into(), &3.into()));
    assert_eq!(read(&grove, "weather.csv"), after);
    assert_eq!(read(&grove, "grove.yaml"), yaml);
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-09T06:20"], 0);
}

#[test]
fn an_old_forecast_is_never_taken_for_what_was_measured() {
    let grove = grove("an_old_forecast");
    // The example's forecast is of 4:00; at 6:20 a newer one comes, of 5:40.
    let forecast = fs::read_to_string(forms().join("nws-hourly.json")).unwrap();
    let newer = beside(&grove, "newer.json", forecast.replace("2027-02-09T08:40:02", "2027-02-09T09:40:02"));
    let json = take_json(&grove, &[&[&*newer], MORNING].concat(), 0);
    assert_eq!(json["added"]["never_measured"], 1, "the hour of 4:00 was forecast only");
    assert_eq!(json["added"]["forecast_issued"], "2027-02-09T05:40:00-04:00");
    assert_eq!(row(&grove, "2027-02-09T04:00"), None);
    assert!(row(&grove, "2027-02-09T05:00").is_some(), "the hour under way when it was made");
    assert!(read(&grove, "grove.yaml").contains("forecast-issued: 2027-02-09T05:40,"));
    let after = (read(&grove, "weather.csv"), read(&grove, "grove.yaml"));
    // An older one is left out, and the same one again changes nothing.
    let older = file("nws-hourly.json");
    let json = take_json(&grove, &[&[&*older], MORNING].concat(), 0);
    assert_eq!(json["added"]["forecast_is_older"], true);
    let json = take_json(&grove, &[&[&*newer], MORNING].concat(), 0);
    assert_eq!((&json["added"]["forecast"], &json["added"]["forecast_same"]), (&0.into(), &7.into()));
    assert_eq!((read(&grove, "weather.csv"), read(&grove, "grove.yaml")), after);
}

#[test]
fn hours_before_a_forecast_was_made_are_no_measurement() {
    let grove = grove("hours_before_a_forecast");
    let json = take_json(&grove, &[&[&*file("nws-gridpoint.json")], MORNING].concat(), 0);
    assert_eq!(json["files"][0]["hours"]["from"], "2027-02-09T01:00:00-04:00");
    assert_eq!(json["added"]["passed"], 3, "1:00 to 3:00; the forecast is of 4:40");
    assert_eq!(row(&grove, "2027-02-09T02:00").unwrap(), "2027-02-09T02:00,68.7,63.4,83,0.00,3.5,,,,");
    assert_eq!(json["files"][0]["totals"][0]["rain_mm"], serde_json::json!([2.54, 2.54]));
    // 2.54 mm in six hours are a range in each of them, and to every measure.
    let row = row(&grove, "2027-02-09T08:00").unwrap();
    assert!(row.ends_with(",0,0.1,6"), "{row}");
    assert!(
        read(&grove, "weather.csv")
            .lines()
            .next()
            .unwrap()
            .ends_with("rain from [in],rain to [in],rain over [h]")
    );
    let (page, _) = ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-09T06:20"], 0);
    assert!(page.contains("SPRAY") || page.contains("CHECK FIRST"), "{page}");
}

#[test]
fn a_measured_hour_is_never_overwritten_unless_that_is_asked_for() {
    let grove = grove("a_measured_hour");
    let before = row(&grove, "2027-02-09T03:00").unwrap();
    let other = beside(&grove, "other.csv", "time,temperature [°F],rain [in]\n2027-02-09T03:00,70.5,0.2\n");
    let words = [&[&*other, "--stamps", "begin"], MORNING].concat();
    let (page, _) = take(&grove, &words, 0);
    assert!(flat(&page).contains("2 measured values differ from those in the file, which stay"), "{page}");
    assert!(flat(&page).contains("temperature: 68.0 there, 70.5 new"), "{page}");
    assert_eq!(row(&grove, "2027-02-09T03:00").unwrap(), before);
    take(&grove, &[&words[..], &["--replace"]].concat(), 0);
    assert_eq!(row(&grove, "2027-02-09T03:00").unwrap(), "2027-02-09T03:00,70.5,63.6,86,0.2,3.8");
}

#[test]
fn what_only_the_grower_can_know_is_asked_once_and_remembered() {
    let grove = grove("what_only_the_grower");
    let kept = || (read(&grove, "weather.csv"), read(&grove, "grove.yaml"));
    let before = kept();
    let path = file("no-units.csv");
    let (page, error) = take(&grove, &[&[&*path], MORNING].concat(), 2);
    let page = flat(&page);
    for words in [
        "ANSWER FIRST",
        "In which unit is dew, temp, 66 – 66.9? Write `--temperature C` or `--temperature F`. The file suggests `F`",
        "In which unit is wind, 0 – 3?",
        "`--rain mm`",
        "`--stamps begin`",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert!(error.contains("Nothing was stored"), "{error}");
    assert_eq!(kept(), before, "nothing is lost or changed by asking");
    let json = take_json(&grove, &[&[&*path], MORNING].concat(), 2);
    assert_eq!(json["files"][0]["questions"].as_array().unwrap().len(), 4);
    assert_eq!((&json["stored"], &json["added"]), (&false.into(), &Value::Null));
    // A suggestion alone is not enough where there is none.
    take(&grove, &[&[&*path, "--yes"], MORNING].concat(), 2);
    assert_eq!(kept(), before);
    let answers = ["--temperature", "F", "--wind", "mph", "--rain", "in", "--stamps", "begin", "--dry-run"];
    take(&grove, &[&[&*path], &answers[..], MORNING].concat(), 0);
    assert_eq!(kept(), before, "--dry-run stores nothing");
    take(&grove, &[&[&*path], &answers[..8], MORNING].concat(), 0);
    let yaml = read(&grove, "grove.yaml");
    let line = "  - { titles: \"time; temp; dew; hum; wind; rain\", stamps: begin, temperature: F, wind: mph, rain: in }";
    assert!(yaml.contains(line), "{yaml}");
    // Next week's file of the station is not asked about again.
    let text = fs::read_to_string(&path).unwrap().replace("2027-02-09T0", "2027-02-09T1");
    let next = beside(&grove, "next.csv", text);
    let json = take_json(&grove, &[&*next, "--as-of", "2027-02-09T15:00"], 0);
    assert_eq!(json["files"][0]["questions"], Value::Array(vec![]));
    assert_eq!(json["added"]["measured"], 3);
    assert_eq!(read(&grove, "grove.yaml").matches("titles:").count(), 1);
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-09T15:00"], 0);
}

#[test]
fn a_file_that_reaches_ahead_is_asked_when_it_was_made() {
    let grove = grove("a_file_that_reaches_ahead");
    let text = "time,temperature [°F]\n2027-02-09T05:00,66\n2027-02-09T06:00,67\n2027-02-09T12:00,80\n";
    let path = beside(&grove, "ahead.csv", text);
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 2);
    assert!(page.contains("`--issued"), "{page}");
    let json = take_json(&grove, &[&[&*path, "--issued", "2027-02-09T06:00"], MORNING].concat(), 0);
    assert_eq!((&json["added"]["measured"], &json["added"]["forecast"]), (&1.into(), &2.into()));
    assert_eq!(json["added"]["forecast_issued"], "2027-02-09T06:00:00-04:00");
    let (_, error) = take(&grove, &[&[&*path, "--issued", "this morning"], MORNING].concat(), 2);
    assert!(error.contains("is not a moment"), "{error}");
}

#[test]
fn what_is_no_weather_is_refused_and_changes_nothing() {
    let grove = grove("what_is_no_weather");
    let before = (read(&grove, "weather.csv"), read(&grove, "grove.yaml"));
    let json = fs::read_to_string(forms().join("nws-hourly.json")).unwrap();
    let half = &json[..json.len() / 2];
    let cases: [(&str, &[u8], &str); 12] = [
        ("page.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is a picture"),
        ("photo.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF", "is a picture"),
        ("guide.pdf", b"%PDF-1.7\n%\xe2\xe3\n", "is a PDF"),
        ("book.xlsx", b"PK\x03\x04\x14\0\x06\0", "save the sheet as CSV UTF-8"),
        ("old.gz", b"\x1f\x8b\x08\0", "unpack it"),
        ("empty.csv", b"", "is empty"),
        ("blank.csv", b" \n\r\n", "is empty"),
        ("noise.bin", b"\x01\x02\x03\x04\x05\x06\x07\x0e\x0f\x10", "is no text"),
        ("half.json", half.as_bytes(), "the JSON breaks off here"),
        ("other.json", b"{\"a\": [1, 2]}", "the JSON has no weather that is known"),
        ("letter.txt", b"Dear neighbor,\nit will rain.\n", "no line of titles with a time and a reading"),
        ("titles.csv", b"time,temperature [C]\n", "there is no hour of weather"),
    ];
    for (name, bytes, words) in cases {
        let path = beside(&grove, name, bytes);
        let (_, error) = take(&grove, &[&[&*path], MORNING].concat(), 2);
        assert!(flat(&error).contains(words), "{name}: {error}");
        assert!(error.contains(name), "{name} is named: {error}");
    }
    let no_weather = ["this is a file of a grove", "no line of titles with a time and a reading"];
    for own in ["scouting.csv", "sprays.csv", "grove.yaml", "rulebooks/humid-lowland.rulebook"] {
        let path = grove.join(own);
        let own = path.to_str().unwrap();
        let (_, error) = take(&grove, &[&[own], MORNING].concat(), 2);
        assert!(no_weather.iter().any(|words| flat(&error).contains(words)), "{own}: {error}");
    }
    let (_, error) = take(&grove, &[&["nowhere.csv"], MORNING].concat(), 2);
    assert!(error.contains("there is no file `nowhere.csv`"), "{error}");
    let (_, error) = take(&grove, MORNING, 2);
    assert!(error.contains("there is no file and no forecast"), "{error}");
    assert_eq!((read(&grove, "weather.csv"), read(&grove, "grove.yaml")), before);
}

#[test]
fn a_cut_file_is_an_error_at_its_end() {
    let grove = grove("a_cut_file");
    let json = fs::read_to_string(forms().join("nws-hourly.json")).unwrap();
    let at = json.find("\"number\": 5").unwrap();
    let path = beside(&grove, "cut.json", &json[..at]);
    let (_, error) = take(&grove, &[&*path], 2);
    let line = json[..at].lines().count();
    assert!(flat(&error).contains(&format!("cut.json:{line}:")), "line {line}: {error}");
}

#[test]
fn a_forecast_in_words_is_taken_in_with_its_doubt() {
    let grove = grove("a_forecast_in_words");
    let words = "tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63";
    let evening = ["--as-of", "2027-02-09T17:30"];
    let (page, _) = take(&grove, &[&[words], &evening[..]].concat(), 0);
    let page = flat(&page);
    for said in [
        "forecast in words",
        "Stays unknown unless you answer",
        "Is it dry in the other hours",
        "0.6 in of rain in all",
    ] {
        assert!(page.contains(said), "{said}\n{page}");
    }
    let text = read(&grove, "weather.csv");
    let titles: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    let cell = |time: &str, title: &str| {
        let place =
            titles.iter().position(|it| *it == title).unwrap_or_else(|| panic!("{title} in {titles:?}"));
        row(&grove, time).unwrap().split(',').nth(place).unwrap().to_string()
    };
    assert_eq!(cell("2027-02-10T15:00", "rain from [in]"), "0");
    assert_eq!(cell("2027-02-10T15:00", "rain to [in]"), "0.6");
    assert_eq!(cell("2027-02-10T14:00", "rain over [h]"), "4");
    assert_eq!(cell("2027-02-10T02:00", "rain [in]"), "0");
    assert_eq!(cell("2027-02-10T02:00", "temperature from [°F]"), "61");
    assert_eq!(cell("2027-02-10T08:00", "rain [in]"), "", "nothing was said of it");
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-09T17:30"], 0);
    let (_, error) = take(&grove, &[&["wed 80 bloop dry"], &evening[..]].concat(), 2);
    assert!(error.contains("`bloop` is not understood"), "{error}");
}

#[test]
fn every_form_is_taken_into_a_grove_that_still_advises() {
    for (name, more) in [
        (
            "clock-change-autumn.csv",
            &["--dates", "month-first", "--stamps", "begin", "--as-of", "2027-11-08T05:30"][..],
        ),
        ("columnar.json", &["--issued", "2027-02-09T00:30", "--as-of", "2027-02-09T02:00"]),
        ("coverage.json", &[]),
        ("daily-min-max.csv", &["--day", "midnight", "--as-of", "2027-02-12T05:30"]),
        ("dates-settled-by-step.csv", &["--stamps", "end", "--as-of", "2027-04-06T05:30"]),
        ("global-hourly.csv", &[]),
        ("isd-lite.txt", &[]),
        ("logger-four-header.dat", &[]),
        ("metar.txt", &[]),
        ("nws-gridpoint.json", &[]),
        ("nws-hourly-flat-si.json", &["--as-of", "2027-02-09T05:10"]),
        ("nws-hourly.json", &[]),
        ("nws-observations.json", &[]),
        ("rain-counter-resets.csv", &["--rain-is", "counter"]),
        ("station-10min-eu.csv", &[]),
        ("station-15min-us.csv", &[]),
        ("timeseries.json", &[]),
        ("typical-day.epw", &["--typical-year"]),
        ("typical-day-tmy3.csv", &["--typical-year"]),
        ("wmo-aws.csv", &[]),
    ] {
        // A small grove, without weather of its own.
        let grove = folder(&format!("every_form-{name}")).join("grove");
        ran(&["start", grove.to_str().unwrap(), "--example", "garden"], 0);
        let yaml = read(&grove, "grove.yaml");
        let others = |line: &&str| !line.starts_with("weather:") && !line.starts_with("place:");
        let yaml: Vec<&str> = yaml.lines().filter(others).collect();
        let place =
            "place: { latitude: 18.2, longitude: -66.3, elevation: 90 m, timezone: America/Puerto_Rico }\n";
        fs::write(grove.join("grove.yaml"), place.to_string() + &yaml.join("\n") + "\n").unwrap();
        fs::remove_file(grove.join("weather.csv")).unwrap();
        let now = if more.contains(&"--as-of") { &[][..] } else { MORNING };
        let json = take_json(&grove, &[&[&*file(name)], more, now].concat(), 0);
        let added = &json["added"];
        let count =
            ["measured", "forecast", "completed", "same"].iter().map(|key| added[key].as_u64().unwrap());
        assert!(count.sum::<u64>() > 0 || added["contradicted"] != Value::Array(vec![]), "{name}: {added}");
        assert!(json["guide"]["uses"].as_array().unwrap().contains(&"temperature".into()), "{name}: {json}");
        let as_of = [more, now].concat();
        let at = as_of.iter().position(|word| *word == "--as-of").unwrap();
        ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", as_of[at + 1]], 0);
    }
}

#[test]
fn a_grove_without_weather_gets_its_file() {
    let grove = grove("a_grove_without_weather");
    let yaml = read(&grove, "grove.yaml");
    let without: Vec<&str> = yaml.lines().filter(|line| !line.starts_with("weather:")).collect();
    fs::write(grove.join("grove.yaml"), without.join("\n") + "\n").unwrap();
    fs::remove_file(grove.join("weather.csv")).unwrap();
    take(&grove, &[&[&*file("nws-hourly.json"), &file("metar.txt")], MORNING].concat(), 0);
    let text = read(&grove, "weather.csv");
    assert!(text.starts_with("time,temperature [°F],"), "{text}");
    let yaml = read(&grove, "grove.yaml");
    let line = yaml.lines().find(|line| line.starts_with("weather:")).unwrap();
    assert_eq!(
        line,
        "weather: { file: weather.csv, forecast-issued: 2027-02-09T04:40, measured-to: 2027-02-09T06:00 }"
    );
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", "2027-02-09T06:20"], 0);
}

#[test]
fn the_page_fits_a_phone_and_speaks_spanish() {
    let grove = grove("the_page_fits_a_phone");
    for (name, status) in [
        ("nws-gridpoint.json", 0),
        ("station-15min-us.csv", 0),
        ("no-units.csv", 2),
        ("daily-min-max.csv", 0),
    ] {
        for width in ["40", "80"] {
            let path = file(name);
            let words = [&[&*path, "--width", width, "--dry-run", "--language", "es"], MORNING].concat();
            let (page, _) = take(&grove, &words, status);
            let most: usize = width.parse().unwrap();
            assert!(page.lines().all(|line| line.chars().count() <= most), "{page}");
            let prose = page.split('`').step_by(2).collect::<String>();
            let prose = prose.split('“').map(|part| part.rsplit('”').next().unwrap()).collect::<String>();
            for english in [" the ", " and ", " not ", " is ", " are ", " hours", " rows"] {
                assert!(!flat(&prose).to_lowercase().contains(english), "{name}: `{english}` in\n{page}");
            }
        }
    }
    let (page, _) = take(&grove, &[&[&*file("no-units.csv"), "--language", "es"], MORNING].concat(), 2);
    assert!(page.contains("CONTESTE PRIMERO"), "{page}");
}

#[test]
fn a_torn_file_is_not_written_behind() {
    let grove = grove("a_torn_file");
    let text = read(&grove, "weather.csv") + "2027-02-12T05:00,66";
    fs::write(grove.join("weather.csv"), &text).unwrap();
    let (_, error) = take(&grove, &[&[&*file("nws-hourly.json")], MORNING].concat(), 2);
    assert!(flat(&error).contains("is not ended by a line break"), "{error}");
    assert_eq!(read(&grove, "weather.csv"), text);
    take(&grove, &[&[&*file("nws-hourly.json"), "--fix", "cut"], MORNING].concat(), 0);
    assert_eq!(read(&grove, "weather.csv.torn"), "2027-02-12T05:00,66\n");
}

#[test]
fn standard_input_is_read_as_a_file() {
    let grove = grove("standard_input");
    let input = fs::File::open(file("nws-hourly.json")).unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_bloomward"))
        .args(["weather", grove.to_str().unwrap(), "-", "--as-of", "2027-02-09T06:20"])
        .stdin(input)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(read(&grove, "grove.yaml").contains("forecast-issued: 2027-02-09T04:40"));
    // Without a file and without words there is nothing to read.
    assert_eq!(run(&["weather", grove.to_str().unwrap()]).status.code(), Some(2));
}

/// The keys of the weather in every way in which a grower may have written them.
mod keys {
    use bloomward::grove::{KnownForm, with_forms, with_weather};

    const KEYS: [(&str, Option<&str>); 2] =
        [("forecast-issued", Some("2027-02-10T04:40")), ("measured-to", None)];

    fn written(text: &str) -> String {
        let keys = KEYS.map(|(key, value)| (key, value.map(str::to_string)));
        with_weather(text, "weather.csv", &keys).unwrap()
    }

    #[test]
    fn they_go_where_the_grower_has_them() {
        let after = "weather: { file: weather.csv, forecast-issued: 2027-02-10T04:40 }";
        for (before, expected) in [
            ("grove: G\nblocks:\n  - a\n", format!("grove: G\n{after}\nblocks:\n  - a\n")),
            ("grove: G\nweather: weather.csv # mine\n", format!("grove: G\n{after} # mine\n")),
            ("weather: { file: weather.csv }\ngrove: G\n", format!("{after}\ngrove: G\n")),
            (
                "weather: { file: w.csv, forecast-issued: 2027-02-09T18:00, measured-to: 2027-02-09T19:00, station: { height: 3 m } }\n",
                "weather: { file: w.csv, forecast-issued: 2027-02-10T04:40, station: { height: 3 m } }\n".to_string(),
            ),
            (
                "weather:\n  file: w.csv   # of the station\n  measured-to: 2027-02-09T19:00\n  station:\n    height: 3 m\ngrove: G\n",
                "weather:\n  file: w.csv\n  forecast-issued: 2027-02-10T04:40   # of the station\n  station:\n    height: 3 m\ngrove: G\n"
                    .to_string(),
            ),
            (
                "weather: { measured-to: 2027-02-09T19:00, file: w.csv }\n",
                "weather: { file: w.csv, forecast-issued: 2027-02-10T04:40 }\n".to_string(),
            ),
        ] {
            assert_eq!(written(before), expected, "{before}");
            assert_eq!(written(&expected), expected, "again");
        }
    }

    #[test]
    fn what_was_answered_is_kept_one_kind_on_a_line() {
        let form = |titles: &str, answer: &str| KnownForm {
            titles: titles.to_string(),
            answers: vec![("dates".to_string(), answer.to_string())],
        };
        let remark = with_forms("grove: G\n\n# Mine.\ntrees:\n  - a\n", &[form("x", "day-first")]);
        let block = "weather-forms:\n  - { titles: x, dates: day-first }\n";
        assert_eq!(remark, format!("grove: G\n{block}\n# Mine.\ntrees:\n  - a\n"));
        let one = with_forms("grove: G\ntrees:\n  - a\n", &[form("Date; \"T\"", "day-first")]);
        assert_eq!(
            one,
            "grove: G\nweather-forms:\n  - { titles: \"Date; \\\"T\\\"\", dates: day-first }\ntrees:\n  - a\n"
        );
        let two = with_forms(&one, &[form("Date; \"T\"", "month-first"), form("x", "day-first")]);
        assert_eq!(two.matches("titles:").count(), 2);
        assert!(
            two.contains("dates: month-first }\n  - { titles: x,") && two.ends_with("trees:\n  - a\n"),
            "{two}"
        );
    }
}

/// What the page says to write goes into the scouting file as it stands there.
#[test]
fn days_alone_are_shown_and_make_no_hours() {
    let grove = grove("days_alone");
    let before = read(&grove, "weather.csv");
    let (page, error) = take(&grove, &[&[&*file("daily-min-max.csv")], MORNING].concat(), 0);
    assert!(flat(&page).contains("Tue, Feb 9: 62 to 82 °F, rain 0.6 in"), "{page}");
    assert!(error.contains("Nothing was stored"), "{error}");
    assert_eq!(read(&grove, "weather.csv"), before);
    let note = page.split('`').find(|part| part.contains("scouted")).unwrap();
    let note = flat(note.split('"').nth(1).unwrap());
    assert_eq!(note, "rain 0.6 in 2027-02-09");
    ran(&["scouted", grove.to_str().unwrap(), "rain 0 in 2027-02-08", "--dry-run"], 0);
}
