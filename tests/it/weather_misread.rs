//! `weather`: what looks like something else is asked about, left out or kept as a range, never taken silently.

use crate::weather_taken::{beside, flat, grove, read, row, take, take_json};
use serde_json::Value;
use std::fmt::Write;
use std::path::Path;

/// A Tuesday, before sunrise.
const MORNING: &[&str] = &["--as-of", "2027-02-09T06:20"];

/// The names and cells of an hour of the grove's file.
fn hour(grove: &Path, time: &str) -> Vec<(String, String)> {
    let text = read(grove, "weather.csv");
    let titles = text.lines().next().unwrap().split(',').map(str::to_string).collect::<Vec<_>>();
    let row = row(grove, time).unwrap_or_else(|| panic!("{time} is not there:\n{text}"));
    titles.into_iter().zip(row.split(',').map(str::to_string)).collect()
}

/// A cell of an hour, empty where it has none.
fn cell(grove: &Path, time: &str, title: &str) -> String {
    let cells = hour(grove, time);
    cells.into_iter().find(|(name, _)| name == title).map(|(_, cell)| cell).unwrap_or_default()
}

#[track_caller]
fn told(grove: &Path, words: &str, more: &[&str]) -> Value {
    take_json(grove, &[&[words], more, MORNING].concat(), 0)
}

#[track_caller]
fn number(grove: &Path, time: &str, title: &str) -> f64 {
    let text = cell(grove, time, title);
    text.parse().unwrap_or_else(|_| panic!("{title} of {time} is `{text}`"))
}

/// A table of hours of 8 February: its titles, and a row for each hour from what `cells` makes of it.
fn hours(titles: &str, count: u32, cells: impl Fn(u32) -> String) -> String {
    let mut text = format!("{titles}\n");
    for at in 0..count {
        writeln!(text, "2027-02-{:02} {:02}:00,{}", 8 + at / 24, at % 24, cells(at)).unwrap();
    }
    text
}

#[test]
fn rain_that_is_told_without_an_amount_is_never_dry() {
    for (name, words, wet) in [
        (
            "rain_night",
            "today 84 dry; tonight 66 rain; wed 84 low 66 dry",
            ["2027-02-09T20:00", "2027-02-10T03:00"],
        ),
        ("rain_day", "today rain; tonight dry", ["2027-02-09T10:00", "2027-02-09T17:00"]),
        ("rain_es", "mañana por la mañana lluvia; mié sin lluvia", ["2027-02-10T08:00", "2027-02-10T11:00"]),
        ("rain_part", "today afternoon thunderstorm; today dry", ["2027-02-09T14:00", "2027-02-09T17:00"]),
        ("rain_over", "today rain 10pm-2am; wed dry", ["2027-02-09T22:00", "2027-02-10T01:00"]),
        ("rain_es_hours", "hoy lluvia de 14:00 a 18:00; hoy seco", ["2027-02-09T14:00", "2027-02-09T17:00"]),
        ("rain_chance", "today dry, chance 30%", ["2027-02-09T10:00", "2027-02-09T17:00"]),
    ] {
        let grove = grove(name);
        let json = told(&grove, words, &["--dry-otherwise", "yes", "--wind-otherwise", "calm"]);
        for time in wet {
            assert_eq!(cell(&grove, time, "rain [in]"), "", "{words}: {time}");
            assert_eq!(cell(&grove, time, "rain from [in]"), "0", "{words}: {time}");
            assert_eq!(cell(&grove, time, "rain to [in]"), "", "{words}: {time}");
        }
        assert_eq!(json["stored"], true);
    }
    let grove = grove("rain_gaps");
    let (page, _) = take(&grove, &[&["today dry; tonight rain"], MORNING].concat(), 0);
    assert!(flat(&page).contains("rain: unknown in"), "{page}");
    assert_eq!(cell(&grove, "2027-02-09T12:00", "rain [in]"), "0");
}

#[test]
fn an_amount_that_is_told_stays_beside_a_dry_day() {
    let grove = grove("amount_stays");
    told(&grove, "tonight rain 0.4 in; wed dry", &[]);
    assert_eq!(cell(&grove, "2027-02-10T02:00", "rain to [in]"), "0.4");
    assert_eq!(cell(&grove, "2027-02-10T12:00", "rain [in]"), "0");
}

#[test]
fn words_of_humidity_hours_and_highs_are_understood() {
    let grove = grove("words_more");
    told(&grove, "Today: high 84, humedad 70-90 %, dry until 2pm; wed humidity 70%", &[]);
    assert_eq!(cell(&grove, "2027-02-09T12:00", "temperature to [°F]"), "84");
    assert_eq!(cell(&grove, "2027-02-09T12:00", "temperature from [°F]"), "");
    assert_eq!(cell(&grove, "2027-02-09T12:00", "humidity from [%]"), "70");
    assert_eq!(cell(&grove, "2027-02-09T12:00", "humidity to [%]"), "90");
    assert_eq!(cell(&grove, "2027-02-10T12:00", "humidity [%]"), "70");
    assert_eq!(cell(&grove, "2027-02-09T13:00", "rain [in]"), "0");
    assert_eq!(cell(&grove, "2027-02-09T15:00", "rain [in]"), "");
    for (words, message) in [
        ("today windy", "does not say how fast"),
        ("today 70-90 %", "is not understood"),
        ("today lluvia 5-10", "write what the numbers are"),
        ("tonight 61; wed low 63", "are both said of one day"),
    ] {
        let (_, error) = take(&grove, &[&[words], MORNING].concat(), 2);
        assert!(flat(&error).contains(message), "{words}: {error}");
    }
}

#[test]
fn the_offset_in_the_title_of_the_times_is_read() {
    for (at, title) in [
        "\"Date Time, GMT-04:00\"",
        "Date Time (UTC-4)",
        "Time (GMT-0400)",
        "time UTC-04:00",
        "\"Date, GMT -4\"",
    ]
    .into_iter()
    .enumerate()
    {
        let grove = grove(&format!("title_offset_{at}"));
        let text = hours(&format!("{title},temp (°F)"), 24, |at| (50 + at).to_string());
        let path = beside(&grove, "station.csv", text);
        take(&grove, &[&[&*path], MORNING].concat(), 0);
        let json = take_json(&grove, &[&[&*path], MORNING].concat(), 0);
        assert_eq!(json["files"][0]["hours"]["from"], "2027-02-08T00:00:00-04:00", "{title}");
    }
}

/// A grove whose file has no hours yet.
fn empty(name: &str) -> std::path::PathBuf {
    let grove = grove(name);
    let yaml = read(&grove, "grove.yaml");
    let line = yaml.lines().find(|line| line.contains("forecast-issued")).unwrap();
    std::fs::write(grove.join("grove.yaml"), yaml.replace(line, "weather: { file: weather.csv }")).unwrap();
    std::fs::write(grove.join("weather.csv"), "time,temperature [°F],rain [in]\n").unwrap();
    grove
}

const TITLES: &str = "time,temp (°F),rain (in)";

#[test]
fn no_forecast_deletes_what_was_measured() {
    let station = hours(TITLES, 30, |at| format!("{},0.01", 60 + at % 10));
    let old = hours(TITLES, 60, |_| "77,0.2".to_string());
    for order in ["apart", "station first", "forecast first"] {
        let grove = empty(&format!("measured_stays_{}", order.replace(' ', "_")));
        let station = beside(&grove, "station.csv", &station);
        let old = beside(&grove, "forecast.csv", &old);
        let more = ["--stamps", "begin", "--issued", "2027-02-08T06:00"];
        let more = [&more[..], MORNING].concat();
        match order {
            "apart" => {
                take(&grove, &[&[&*station, "--stamps", "begin"], MORNING].concat(), 0);
                take(&grove, &[&[&*old, "--replace"], &more[..]].concat(), 0);
            }
            "station first" => drop(take(&grove, &[&[&*station, &*old], &more[..]].concat(), 0)),
            _ => drop(take(&grove, &[&[&*old, &*station], &more[..]].concat(), 0)),
        }
        told(&grove, "wed 80 dry; tonight 65", &["--dry-otherwise", "yes", "--wind-otherwise", "calm"]);
        for time in ["2027-02-08T02:00", "2027-02-08T12:00", "2027-02-09T05:00"] {
            assert_eq!(cell(&grove, time, "rain [in]"), "0.01", "{order}: {time}");
        }
        let yaml = read(&grove, "grove.yaml");
        assert!(!yaml.contains("measured-to: 2027-02-08"), "{yaml}");
    }
}

#[test]
fn degrees_that_the_place_cannot_have_are_asked_about() {
    let text = hours("time,temp (°F),hum (%)", 30, |at| format!("{},80", 22 + at % 12));
    let grove = grove("c_as_f");
    let path = beside(&grove, "station.csv", &text);
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 2);
    assert!(flat(&page).contains("`--temperature C`"), "{page}");
    take(&grove, &[&[&*path, "--temperature", "C", "--replace"], MORNING].concat(), 0);
    assert!((number(&grove, "2027-02-08T03:00", "temperature [°F]") - 77.0).abs() < 1e-9);
    // The answer is kept with the grove, and a file that fits its title is taken as it says.
    let path = beside(&grove, "again.csv", &text);
    take(&grove, &[&[&*path], MORNING].concat(), 0);
    let warm = hours("time,temp (°F),hum (%)", 30, |at| format!("{},80", 62 + at % 12));
    let path = beside(&grove, "warm.csv", warm);
    take(&grove, &[&[&*path, "--replace"], MORNING].concat(), 0);
    assert!((number(&grove, "2027-02-08T03:00", "temperature [°F]") - 65.0).abs() < 1e-9);
}

#[test]
fn rain_that_no_hour_brings_is_asked_about() {
    let text = hours(TITLES, 30, |at| format!("70,{}", if at == 14 { "7.2" } else { "0" }));
    let grove = grove("mm_as_in");
    let path = beside(&grove, "station.csv", text);
    let (page, _) = take(&grove, &[&[&*path, "--stamps", "begin"], MORNING].concat(), 2);
    assert!(flat(&page).contains("`--rain mm`") && page.contains("7.2 in"), "{page}");
    take(&grove, &[&[&*path, "--stamps", "begin", "--rain", "mm", "--replace"], MORNING].concat(), 0);
    assert!((number(&grove, "2027-02-08T14:00", "rain [in]") - 0.2835).abs() < 1e-9);
}

#[test]
fn what_no_sensor_reads_and_rows_of_another_time_are_left_out() {
    let grove = empty("dead_sensor");
    let text = hours("time,temp (°F),hum (%)", 30, |at| format!("70,{}", if at == 4 { 0 } else { 80 }));
    let text = text.replace("2027-02-08 19:00", "2017-02-08 19:00") + "2027-02-09 06:00,70,8";
    let path = beside(&grove, "station.csv", text.replace(",70,8\n", ",70,80\n"));
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 0);
    assert!(flat(&page).contains("1 value cannot be"), "{page}");
    assert!(flat(&page).contains("1 row lies years from the others (2017-02-08)"), "{page}");
    assert_eq!(row(&grove, "2017"), None);
    let cut = hours("time,temp (°F),hum (%)", 6, |_| "70,80".to_string()) + "2027-02-08 06:00,7";
    let path = beside(&grove, "cut.csv", cut);
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 0);
    assert!(flat(&page).contains("the last row breaks off"), "{page}");
}

#[test]
fn of_several_stations_one_is_named() {
    let mut text = "Post,time,temp (°F)\n".to_string();
    for at in 0..24 {
        writeln!(text, "Grove,2027-02-08 {at:02}:00,70\nHill,2027-02-08 {at:02}:00,50").unwrap();
    }
    for (name, title) in [("station_named", "Station"), ("station_other", "Post")] {
        let grove = empty(name);
        let path = beside(&grove, "two.csv", text.replace("Post", title));
        let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 2);
        assert!(flat(&page).contains("Which station is meant: Grove, Hill?"), "{page}");
        take(&grove, &[&[&*path, "--station", "grove"], MORNING].concat(), 0);
        assert_eq!(cell(&grove, "2027-02-08T07:00", "temperature [°F]"), "70");
        // It is kept, and another file that names no station is not read by a name.
        let one = beside(&grove, "one.csv", hours("time,temp (°F)", 24, |_| "70".to_string()));
        let (_, error) = take(&grove, &[&[&*one, "--station", "Grove"], MORNING].concat(), 2);
        assert!(flat(&error).contains("no column of the table names stations"), "{error}");
    }
}

#[test]
fn a_tenth_of_an_inch_is_a_difference_and_a_hundredth_of_a_degree_is_none() {
    let grove = empty("rain_differs");
    let first = beside(
        &grove,
        "first.csv",
        "time,temp (°F),rain (in)\n2027-02-08 07:00,68.59,0\n2027-02-08 08:00,68,0\n",
    );
    take(&grove, &[&[&*first, "--stamps", "begin"], MORNING].concat(), 0);
    let second = beside(
        &grove,
        "second.csv",
        "time,temp (°F),rain (in)\n2027-02-08 07:00,68.6,0.1\n2027-02-08 08:00,68,0\n",
    );
    let json = take_json(&grove, &[&[&*second, "--stamps", "begin"], MORNING].concat(), 0);
    let differs = json["added"]["contradicted"].as_array().unwrap();
    assert_eq!(differs.len(), 1, "{differs:?}");
    take(&grove, &[&[&*second, "--stamps", "begin", "--replace"], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T07:00", "rain [in]"), "0.1");
}

#[test]
fn rain_of_the_day_so_far_is_asked_about_and_reckoned() {
    let rain = |at: u32| match at % 24 {
        0..=9 => "0",
        10..=14 => "0.5",
        _ => "2",
    };
    let grove = empty("day_so_far");
    let path = beside(&grove, "station.csv", hours(TITLES, 30, |at| format!("70,{}", rain(at))));
    let (page, _) = take(&grove, &[&[&*path, "--stamps", "end"], MORNING].concat(), 2);
    assert!(flat(&page).contains("The file suggests `day-total`"), "{page}");
    take(&grove, &[&[&*path, "--stamps", "end", "--rain-is", "day-total"], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T17:00", "rain [in]"), "0");
    assert_eq!(cell(&grove, "2027-02-08T14:00", "rain [in]"), "1.5");
    // What was answered of the rows holds for all of their columns.
    assert_eq!(row(&grove, "2027-02-09T05:00"), None);
}

#[test]
fn a_quoted_decimal_comma_stands_before_decimals() {
    let grove = empty("quoted_comma");
    let text = hours("time,temp (°C),wind (km/h)", 24, |_| "\"21,6\",\"3,7\"".to_string());
    let path = beside(&grove, "station.csv", text);
    take(&grove, &[&[&*path], MORNING].concat(), 0);
    assert!((number(&grove, "2027-02-08T07:00", "temperature [°F]") - 70.88).abs() < 1e-9);
    assert!((number(&grove, "2027-02-08T07:00", "wind [mph]") - 2.3).abs() < 1e-9);
}

#[test]
fn counts_of_tips_are_amounts() {
    let counts = |title: &str| hours(title, 24, |at| format!("70,{}", if at == 15 { 3 } else { 0 }));
    let grove = empty("tips_size");
    let path = beside(&grove, "tips.csv", counts("time,temp (°F),rain tips (0.2 mm)"));
    take(&grove, &[&[&*path, "--stamps", "begin"], MORNING].concat(), 0);
    assert!((number(&grove, "2027-02-08T15:00", "rain [in]") - 0.0236).abs() < 1e-9);
    let grove = empty("tips_fine");
    let path = beside(&grove, "fine.csv", counts("time,temp (°F),rain (0.01 in)"));
    let (page, _) = take(&grove, &[&[&*path, "--stamps", "begin"], MORNING].concat(), 2);
    assert!(flat(&page).contains("The file suggests `tips-0.01in`"), "{page}");
    take(&grove, &[&[&*path, "--stamps", "begin", "--rain", "tips-0.01in"], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T15:00", "rain [in]"), "0.03");
}

#[test]
fn what_is_to_be_left_out_is_left_out() {
    let grove = empty("left_out");
    let mut text = format!("{TITLES},leaf wetness\n");
    for at in 0..24 {
        writeln!(text, "2027-02-08 {:02}:{:02},70,0.02,2", at / 2, at % 2 * 30).unwrap();
    }
    let path = beside(&grove, "half.csv", text);
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 2);
    assert!(flat(&page).contains("Not read leaf wetness"), "{page}");
    take(&grove, &[&[&*path, "--stamps", "leave-out"], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T05:00", "rain [in]"), "");
    assert_eq!(cell(&grove, "2027-02-08T05:00", "temperature [°F]"), "70");
    let json =
        take_json(&grove, &[&[&*path, "--stamps", "begin", "--rain", "leave-out"], MORNING].concat(), 0);
    assert!(json["files"][0]["left_out"].to_string().contains("rain (in)"), "{json}");
    assert_eq!(cell(&grove, "2027-02-08T05:00", "rain [in]"), "");
}

#[test]
fn rows_of_ten_minutes_are_asked_about() {
    let grove = empty("ten_minutes");
    let mut text = format!("{TITLES}\n");
    for at in 0..60 {
        writeln!(text, "2027-02-08 {:02}:{:02},70,0", at / 6, at % 6 * 10).unwrap();
    }
    let path = beside(&grove, "ten.csv", text);
    let (page, _) = take(&grove, &[&[&*path], MORNING].concat(), 2);
    assert!(flat(&page).contains("`--stamps begin`"), "{page}");
}

#[test]
fn times_are_read_in_the_forms_that_programs_write() {
    type Written = fn(u32) -> String;
    let forms: [(&str, Written); 11] = [
        ("time", |at| format!("2027-02-08 {at:02}:00 AST")),
        ("time", |at| format!("02/08/2027 {:02}:00 UTC", at + 4)),
        ("Year,Month,Day,Hour,Minute", |at| format!("2027,02,08,{at:02},00")),
        ("Year,DOY,Time", |at| format!("2027,039,{at:02}00")),
        ("time", |at| {
            format!("Feb 08, 2027 {:02}:00 {}", (at + 11) % 12 + 1, if at < 12 { "AM" } else { "PM" })
        }),
        ("time", |at| format!("2027/02/08 {at:02}.00")),
        ("time", |at| format!("20270208{at:02}00")),
        ("time", |at| format!("20270208 {at:02}")),
        ("Marca temporal", |at| format!("2027-02-08 {at:02}:00")),
        ("Local,UTC", |at| format!("2027-02-08 {at:02}:00,2027-02-08 {:02}:00", at + 4)),
        ("Fecha", |at| {
            format!("08/02/2027 {:02}:00:00 {}. m.", (at + 11) % 12 + 1, if at < 12 { "a" } else { "p" })
        }),
    ];
    for (at, (title, time)) in forms.into_iter().enumerate() {
        let grove = empty(&format!("times_{at}"));
        let mut text = format!("{title},temp (°F)\n");
        for hour in 0..20 {
            writeln!(text, "{},{}", time(hour), 50 + hour).unwrap();
        }
        let path = beside(&grove, "station.csv", &text);
        let dates = if title == "Fecha" { "day-first" } else { "month-first" };
        take(&grove, &[&[&*path, "--dates", dates], MORNING].concat(), 0);
        assert_eq!(cell(&grove, "2027-02-08T13:00", "temperature [°F]"), "63", "{text}");
    }
    let grove = empty("times_epoch");
    let text = "dt,temp (°F)\n1802059200,51\n1802062800,52\n1802066400,53\n";
    let path = beside(&grove, "station.csv", text);
    take(&grove, &[&[&*path], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T01:00", "temperature [°F]"), "52");
}

#[test]
fn a_logger_names_its_columns_in_few_letters() {
    let grove = empty("logger_letters");
    let text = "\"TOA5\",\"grove\",\"CR\",\"1\"\n\"TIMESTAMP\",\"AirTC_Avg\",\"RH\",\"WS_ms_S_WVT\"\n\
        \"TS\",\"Deg C\",\"%\",\"meters/second\"\n\"\",\"Avg\",\"Smp\",\"WVc\"\n\
        \"2027-02-08 01:00:00\",20,88,1\n\"2027-02-08 02:00:00\",21,88,1\n";
    let path = beside(&grove, "logger.dat", text);
    take(&grove, &[&[&*path], MORNING].concat(), 0);
    assert_eq!(cell(&grove, "2027-02-08T00:00", "temperature [°F]"), "68");
    assert!((number(&grove, "2027-02-08T00:00", "wind [mph]") - 2.24).abs() < 1e-9);
}
