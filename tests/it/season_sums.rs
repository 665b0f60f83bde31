//! Caps of a season and groups in a row, as a grower meets them: `sprayed` and `records`, against tables computed elsewhere.

use crate::cli::{folder, ran};
use crate::mix::table;
use chrono::{Datelike, NaiveDate};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Writes a grove of one tree under a book with these products; `head` is what its header says more.
fn grove(folder: &Path, head: &str, products: &str) -> String {
    let book = format!(
        "rulebook \"Sums\"\n{head}  caution \"For tests only.\"\n\nobserve mildew \"mildew\"\n  kind share\n\n{products}\n\
         choice wait\n  advise hold\n"
    );
    fs::write(folder.join("sums.rulebook"), book).unwrap();
    let yaml = "grove: Sums\nrulebook: sums.rulebook\nplace: { latitude: 20, longitude: -70, timezone: America/New_York }\n\
                sprays: none yet\ntrees:\n  - { tree: A01 }\n";
    fs::write(folder.join("grove.yaml"), yaml).unwrap();
    let _ = fs::remove_file(folder.join("sprays.csv"));
    folder.to_str().unwrap().to_string()
}

/// Writes a spray down, and returns what it means.
#[track_caller]
fn sprayed(grove: &str, product: &str, day: NaiveDate, hour: u32, status: i32) -> Value {
    let (day, start, end) = (day.to_string(), format!("{hour:02}:00"), format!("{hour:02}:30"));
    let what =
        ["--on", "A01", "--product", product, "--strength", "x", "--yes", "--as-of", "2029-06-01T12:00"];
    let times = ["--day", &day, "--start", &start, "--end", &end, "--format", "json"];
    serde_json::from_str(&ran(&[&["sprayed", grove], &what[..], &times].concat(), status).0).unwrap()
}

/// season_cap.csv: the spray that is one too many breaks the label; the ends of a season belong to it.
#[test]
fn one_spray_too_many_of_a_season_breaks_its_label() {
    let folder = folder("season_sums_cap");
    let mut refused = 0;
    for row in table("season_cap") {
        let day = |column: &str| row[column].parse::<NaiveDate>().unwrap();
        let end = |day: NaiveDate| format!("{} {}", day.day(), day.format("%b"));
        let (first, last) = (day("season_start"), day("season_end_inclusive"));
        let head = format!("  season from {} to {}\n", end(first), end(last));
        let most = &row["max_applications_per_season"];
        let product = format!(
            "product p\n  strength x 1 g/L\n  label season at most {most} sprays\n  cites common-practice\n"
        );
        let grove = grove(&folder, &head, &product);
        for past in row["past_application_dates"].split('|') {
            // What was done before is on record, within its cap or not.
            sprayed(&grove, "p", past.parse().unwrap(), 4, 0);
        }
        let allowed = row["allowed"] == "1";
        let said = sprayed(&grove, "p", day("proposed_date"), 6, if allowed { 0 } else { 1 });
        let key = if allowed { "kept" } else { "broken" };
        let words = said[key][0]["says"].as_str().unwrap();
        let number = row["counted_so_far"].parse::<u32>().unwrap() + 1;
        assert!(words.contains(&format!("spray {number} of {most}")), "{}: {words}", row["case_id"]);
        refused += usize::from(!allowed);
    }
    assert!(refused > 0);
}

/// frac_rotation.csv: with the proposed spray the run is one longer; a product counts for each of its groups.
#[test]
fn the_record_counts_the_groups_in_a_row() {
    let folder = folder("season_sums_groups");
    let name = |groups: &str| format!("of-{}", groups.replace('+', "-and-").to_lowercase());
    for row in table("frac_rotation") {
        let mut tanks: Vec<&str> =
            row["history_oldest_first"].split(';').filter(|groups| !groups.is_empty()).collect();
        tanks.push(&row["proposed_groups"]);
        let mut kinds = tanks.clone();
        kinds.sort_unstable();
        kinds.dedup();
        let products: String = kinds
            .iter()
            .map(|groups| {
                let list = groups.replace('+', ", ");
                format!(
                    "product {}\n  group {list}\n  strength x 1 g/L\n  cites common-practice\n\n",
                    name(groups)
                )
            })
            .collect();
        let grove = grove(&folder, "", &products);
        let days = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap().iter_days().step_by(7);
        for (day, groups) in days.zip(&tanks) {
            sprayed(&grove, &name(groups), day, 5, 0);
        }
        let from = ["--as-of", "2027-12-01T12:00", "--from", "2027-01-01", "--format", "json"];
        let record: Value =
            serde_json::from_str(&ran(&[&["records", &grove], &from[..]].concat(), 0).0).unwrap();
        let run = record["rotation"][0]["in_a_row"][&row["proposed_groups"]].as_u64();
        let so_far: u64 = row["consecutive_so_far_for_proposed"].parse().unwrap();
        assert_eq!(run, Some(so_far + 1), "{}: {record}", row["case_id"]);
    }
}
