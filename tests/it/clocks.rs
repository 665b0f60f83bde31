//! Re-entry, harvest and the next spray across changes of the clocks, as a grower meets them: `sprayed` and `records`.

use crate::cli::{folder, ran};
use crate::mix::table;
use chrono::{DateTime, Duration};
use serde_json::Value;
use std::fs;
use std::path::Path;

const LATER: &str = "2029-06-01T12:00";

/// Writes a grove in a time zone, whose products `p0`, `p1` … have these lines on their labels.
fn grove(folder: &Path, zone: &str, labels: &[String]) -> String {
    let mut book = String::from(
        "rulebook \"Clocks\"\n  caution \"For tests only.\"\n\nobserve mildew \"mildew\"\n  kind share\n\n",
    );
    for (at, lines) in labels.iter().enumerate() {
        book += &format!("product p{at}\n  strength x 1 g/L\n{lines}  cites common-practice\n\n");
    }
    book += "choice wait\n  advise hold\n";
    fs::write(folder.join("clocks.rulebook"), book).unwrap();
    let longitude = super::case::longitude_of(zone);
    let yaml = format!(
        "grove: Clocks\nrulebook: clocks.rulebook\nplace: {{ latitude: 20, longitude: {longitude:.1}, timezone: {zone} }}\n\
         sprays: none yet\ntrees:\n  - {{ tree: A01 }}\n"
    );
    fs::write(folder.join("grove.yaml"), yaml).unwrap();
    let _ = fs::remove_file(folder.join("sprays.csv"));
    folder.to_str().unwrap().to_string()
}

/// Writes down a spray of the first products, and returns what it means; `status` is what the command ends with.
#[track_caller]
fn sprayed(grove: &str, products: usize, times: &[&str], status: i32) -> Value {
    let product = (0..products).map(|at| format!("p{at}")).collect::<Vec<_>>().join(" with ");
    let strength = vec!["x"; products].join(" with ");
    let what = ["--on", "A01", "--product", &product, "--strength", &strength];
    let all = [&["sprayed", grove, "--as-of", LATER, "--format", "json"], &what[..], times].concat();
    serde_json::from_str(&ran(&all, status).0).unwrap()
}

/// rei_entry.csv: elapsed hours from the end, the longest of a mix (40 CFR 170), through the log and its record.
#[test]
fn people_are_kept_out_for_so_many_hours_whatever_the_clock_shows() {
    let folder = folder("clocks_re_entry");
    let mut naive_is_wrong = 0;
    for row in table("rei_entry") {
        let hours: Vec<String> = row["rei_hours_of_each_product"]
            .split('+')
            .map(|hours| format!("  label re-entry {hours} h\n"))
            .collect();
        let grove = grove(&folder, &row["iana_tz"], &hours);
        let end = &row["application_end_local"];
        let start = (DateTime::parse_from_rfc3339(end).unwrap() - Duration::hours(1)).to_rfc3339();
        let said = sprayed(&grove, hours.len(), &["--start", &start, "--end", end], 0);
        assert_eq!(said["keep_out_until"], *row["earliest_entry_local"], "{}", row["case_id"]);
        let (record, _) =
            ran(&["records", &grove, "--as-of", LATER, "--from", "2026-01-01", "--format", "json"], 0);
        let record: Value = serde_json::from_str(&record).unwrap();
        let told = record["sprays"][0]["keep-out-until"].as_str().unwrap();
        let expected = DateTime::parse_from_rfc3339(&row["earliest_entry_local"]).unwrap();
        assert_eq!(told, expected.format("%Y-%m-%dT%H:%M%:z").to_string(), "{}", row["case_id"]);
        naive_is_wrong += usize::from(&*row["naive_sum_is_wrong"] == "1");
    }
    assert!(naive_is_wrong > 4, "the table has changes of the clocks in it");
}

/// phi_harvest.csv: calendar days, the rule of the language; 0 days is the same day.
#[test]
fn fruit_is_picked_after_so_many_calendar_days() {
    let folder = folder("clocks_harvest");
    for row in table("phi_harvest") {
        let days = format!("  label before-harvest at least {} d\n", row["phi_days"]);
        let grove = grove(&folder, &row["iana_tz"], &[days]);
        let end = &row["application_end_local"];
        let start = (DateTime::parse_from_rfc3339(end).unwrap() - Duration::minutes(40)).to_rfc3339();
        let said = sprayed(&grove, 1, &["--start", &start, "--end", end], 0);
        assert_eq!(
            said["pick_not_before"], *row["earliest_harvest_date_calendar_rule"],
            "{}",
            row["case_id"]
        );
    }
}

/// retreatment_interval.csv: the day of the interval itself is allowed, and a change of the clocks alters no count of days.
#[test]
fn the_next_spray_is_allowed_on_the_day_of_the_interval() {
    let folder = folder("clocks_interval");
    for row in table("retreatment_interval") {
        let days = format!("  label interval at least {} d\n", row["min_interval_days"]);
        let grove = grove(&folder, "America/New_York", &[days]);
        let times = ["--start", "22:10", "--end", "22:50", "--day"];
        let first = sprayed(&grove, 1, &[&times[..], &[&row["last_application_date"]]].concat(), 0);
        assert_eq!(first["next"]["p0"], *row["earliest_allowed_date"], "{}", row["case_id"]);
        let allowed = &*row["allowed"] == "1";
        // At first light: by hours it would be less than so many days.
        let times = ["--start", "05:00", "--end", "05:40", "--day", &row["proposed_date"]];
        let second = sprayed(&grove, 1, &times, if allowed { 0 } else { 1 });
        assert_eq!(second["broken"].as_array().unwrap().is_empty(), allowed, "{}", row["case_id"]);
    }
}

/// local_time_resolution.csv: an hour that the clocks show twice is asked about, one that they leave out is refused, and the
/// words to write are those of the two moments.
#[test]
fn a_time_that_the_clocks_show_twice_or_never_is_not_guessed() {
    let folder = folder("clocks_local");
    let mut kinds = [0usize; 3];
    for row in table("local_time_resolution") {
        let grove = grove(&folder, &row["iana_tz"], &["  label re-entry 12 h\n".to_string()]);
        let (day, time) = row["local_time"].split_once('T').unwrap();
        let what = ["--on", "A01", "--product", "p0", "--strength", "x", "--day", day, "--start", time];
        let typed =
            [&["sprayed", &grove, "--as-of", LATER], &what[..], &["--end", "23:59", "--dry-run"]].concat();
        let zone: chrono_tz::Tz = row["iana_tz"].parse().unwrap();
        let local = |utc: &str| {
            let moment = DateTime::parse_from_rfc3339(utc).unwrap().with_timezone(&zone);
            moment.format("%Y-%m-%dT%H:%M%:z").to_string()
        };
        match &*row["kind"] {
            "unique" => {
                ran(&typed, 0);
                kinds[0] += 1;
            }
            "nonexistent" => {
                let error = ran(&typed, 2).1;
                assert!(error.contains("--start") && error.contains("put forward"), "{error}");
                kinds[1] += 1;
            }
            "ambiguous" => {
                let error = ran(&typed, 2).1.split_whitespace().collect::<Vec<_>>().join(" ");
                for utc in ["utc_if_first_or_only", "utc_if_second"] {
                    assert!(error.contains(&local(&row[utc])), "{}: {error}", row["case_id"]);
                    // What is told to write is taken.
                    let start = local(&row[utc]);
                    let times = ["--start", &start, "--end", &start];
                    sprayed(&grove, 1, &[&times[..], &["--dry-run"]].concat(), 0);
                }
                kinds[2] += 1;
            }
            other => panic!("{other}"),
        }
    }
    assert!(kinds.iter().all(|count| *count > 0), "{kinds:?}");
}
