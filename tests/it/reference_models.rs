//! Published models written as rulebooks, run over seasons made from their rules.
//!
//! From hourly weather on, through the seasons of `tests/reference/models`: they are constructed, and worked by the rules
//! of the source that is named beside each check.

use super::case::{case_of_book, number, reference, tree, value};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

fn of(value: &Value) -> f64 {
    value["value"].as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

#[track_caller]
fn close(found: f64, expected: f64, within: f64, what: &str) {
    assert!((found - expected).abs() <= within, "{what}: {found} is not {expected}");
}

/// Writes hours of a reference series, with a week of dry hours before it so that windows reach no further.
fn hours(
    rows: &[BTreeMap<String, String>],
    columns: &str,
    write: impl Fn(&BTreeMap<String, String>) -> String,
    dry: &str,
) -> String {
    let first = chrono::DateTime::parse_from_rfc3339(&rows[0]["time_local"]).unwrap();
    let mut csv = format!("time,{columns}\n");
    for back in (1..=8 * 24).rev() {
        let time = first - chrono::Duration::hours(back);
        writeln!(csv, "{},{dry}", time.format("%Y-%m-%dT%H:%M%:z")).unwrap();
    }
    for row in rows {
        writeln!(csv, "{},{}", row["time_local"], write(row)).unwrap();
    }
    csv
}

/// MacHardy and Gadoury 1989 as amended (revised Mills table); wet hours add up unless eight dry ones come between.
/// Constructed series; expected rows of the rule that counts all wet hours.
#[test]
fn apple_scab_by_the_revised_mills_table() {
    let expected: Vec<_> = reference("models/apple_scab_mills_series_expected.csv")
        .into_iter()
        .filter(|row| row["counting_rule"] == "count_all_wet_hours")
        .collect();
    assert_eq!(expected.len(), 3);
    for (at, row) in expected.iter().enumerate() {
        let series = reference(&format!("models/apple_scab_mills_{}.csv", row["series"]));
        // A period is looked at when the next one begins, the last one when the series ends.
        let next = expected.get(at + 1).filter(|next| next["series"] == row["series"]);
        let last = chrono::DateTime::parse_from_rfc3339(&series.last().unwrap()["time_local"]).unwrap();
        let as_of = next.map_or_else(
            || (last + chrono::Duration::hours(1)).format("%Y-%m-%dT%H:%M%:z").to_string(),
            |next| next["wet_period_start_local"].clone(),
        );
        let until: Vec<_> = series.into_iter().filter(|row| row["time_local"] < as_of).collect();
        let wet = |row: &BTreeMap<String, String>| if row["wet"] == "1" { 100 } else { 0 };
        let csv = hours(
            &until,
            "temperature [°C],leaf-wet [%]",
            |row| format!("{},{}", row["t_c"], wet(row)),
            "9,0",
        );
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let advice =
            case_of_book("rulebooks/models/apple-scab-mills.rulebook", "", "America/New_York", &as_of, keys)
                .measured(csv)
                .advise();
        let what = format!("{} period {}", row["series"], row["wet_period_no"]);
        close(of(value(&advice, "wet-period")), number(row, "wet_hours").unwrap(), 0.0, &what);
        close(of(value(&advice, "wet-warmth")), number(row, "mean_t_c").unwrap(), 0.0006, &what);
        close(of(value(&advice, "need")), number(row, "required_hours").unwrap(), 0.0, &what);
        let infected = if row["expected"] == "infection" { "infected" } else { "none" };
        assert_eq!(value(&advice, "infection")["value"], infected, "{what}");
    }
}

/// Wet hours since the last copper: its day takes the count back to nothing, before that day's own hours are added.
/// Worked by hand: six wet hours each night, in the first week and again after the spray.
#[test]
fn wet_hours_since_a_spray() {
    let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm]\n");
    for day in 1..=9 {
        for hour in 0..24 {
            let damp = if hour < 6 { 95 } else { 50 };
            writeln!(csv, "2026-11-{day:02}T{hour:02}:00,20,{damp},0").unwrap();
        }
    }
    let log = "start,end,on,product,strength\n2026-11-05T07:00,2026-11-05T07:30,A1,copper,label-rate\n";
    // The last day is that before the advice; A2 was never sprayed.
    for (as_of, sprayed, unsprayed) in [("05", 24.0, 24.0), ("06", 6.0, 30.0), ("09", 24.0, 48.0)] {
        let as_of = format!("2026-11-{as_of}T00:00");
        let known: String = csv
            .split_inclusive('\n')
            .filter(|line| line.starts_with("time") || line[..16] < *as_of.as_str())
            .collect();
        let keys =
            "seen: 2026-11-01\ncounting-from: 2026-11-01\ntrees:\n  - { tree: A1 }\n  - { tree: A2 }\n";
        let advice = case_of_book("rulebooks/models/degree-days.rulebook", "", "UTC", &as_of, keys)
            .measured(known)
            .sprays(log.to_string())
            .advise();
        for (name, expected) in [("A1", sprayed), ("A2", unsprayed)] {
            let found = &tree(&advice, name)["values"]["wet-since-copper"];
            close(of(found), expected, 0.0, &format!("{name} on {as_of}"));
        }
    }
}

/// The rule of 10 mm and 10 °C over 24 hours (downy mildew of grape, southern Australia), both ends counted as in the
/// rulebook, or only what is warmer than 10 °C.
#[test]
fn ten_ten_twenty_four_hour_by_hour() {
    let rows = reference("models/rule_10_10_24_series_1.csv");
    let mut checked = 0;
    for (at, row) in rows.iter().enumerate() {
        let (Some(rain), Some(low)) = (number(row, "rain_last_24h_mm"), number(row, "min_t_last_24h_c"))
        else {
            continue;
        };
        let csv = hours(
            &rows[..=at],
            "temperature [°C],rain [mm]",
            |row| format!("{},{}", row["t_c"], row["rain_mm"]),
            "12,0",
        );
        let time =
            chrono::DateTime::parse_from_rfc3339(&row["time_local"]).unwrap() + chrono::Duration::hours(1);
        let as_of = time.format("%Y-%m-%dT%H:%M%:z").to_string();
        let items = "hourly met-above = day-rain at least 10 mm and day-low above 10 °C\n\
                     measure met-now = hours with met over last 1 h\nmeasure above-now = hours with met-above over last 1 h\n";
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let advice =
            case_of_book("rulebooks/models/rule-10-10-24.rulebook", items, "Australia/Sydney", &as_of, keys)
                .measured(csv)
                .advise();
        close(of(value(&advice, "rain-now")), rain, 1e-9, &row["time_local"]);
        close(of(value(&advice, "low-now")), low, 1e-9, &row["time_local"]);
        for (name, column) in [("met-now", "expected_met_t_ge_10"), ("above-now", "expected_met_t_gt_10")] {
            close(of(value(&advice, name)), number(row, column).unwrap(), 0.0, &row["time_local"]);
        }
        checked += 1;
    }
    assert!(checked > 10, "{checked}");
}
