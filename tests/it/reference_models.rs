//! Published models written as rulebooks, run over seasons made from their rules.
//!
//! From hourly weather on, through the seasons of `tests/reference/models`: they are constructed, and worked by the rules
//! of the source that is named beside each check.

use super::case::{Case, case_of_book, number, reference, value};
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

/// Gubler, Thomas and others 1999, index of grape powdery mildew: start phase and running phase, day by day.
#[test]
fn grape_powdery_index_over_a_season() {
    let series = reference("models/grape_powdery_season_1_hourly.csv");
    let csv = hours(&series, "temperature [°F]", |row| row["t_f"].clone(), "50");
    for row in reference("models/grape_powdery_season_1_expected.csv") {
        let day: chrono::NaiveDate = row["date"].parse().unwrap();
        let as_of = format!("{}T00:00", day.succ_opt().unwrap());
        let keys = "sprays: none yet\nseen: 2026-05-01\nshoots-out: 2026-05-01\ntrees:\n  - { tree: A1 }\n";
        let mut case: Case = case_of_book(
            "rulebooks/models/grape-powdery-index.rulebook",
            "",
            "America/Los_Angeles",
            &as_of,
            keys,
        );
        // Later hours are not known yet on that day.
        let known: String = csv
            .split_inclusive('\n')
            .filter(|line| line.starts_with("time") || line[..16] < *as_of.as_str())
            .collect();
        case = case.measured(known);
        let advice = case.advise();
        close(of(value(&advice, "points")), number(&row, "expected_index").unwrap(), 0.0, &row["date"]);
        assert_eq!(value(&advice, "risk")["value"], row["risk_class"].as_str(), "{}", row["date"]);
        let running = value(&advice, "running");
        let (reached, date) =
            (number(&row, "expected_index") == Some(60.0) && row["phase"] == "start", &row["date"]);
        assert_eq!(running["empty"].is_string(), row["phase"] == "start" && !reached, "{date}: {running}");
    }
}

/// Madden and others 1978: severity values since the last spray, the count going back to nothing on its day.
#[test]
fn tomato_severity_over_a_season_with_a_spray() {
    let rows = reference("models/tomato_severity_season_1.csv");
    let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm]\n");
    for row in &rows {
        // The model's day runs from eleven to eleven: its wet hours are put from noon on.
        let day: chrono::NaiveDate = row["date"].parse().unwrap();
        let wet = number(row, "wet_hours").unwrap() as i64;
        for hour in 0..24 {
            let time = day.and_hms_opt(11, 0, 0).unwrap() + chrono::Duration::hours(hour);
            let (warm, damp) = if (1..=wet).contains(&hour) {
                (row["mean_t_during_wetness_c"].as_str(), 95)
            } else {
                ("31", 40)
            };
            writeln!(csv, "{},{warm},{damp},0", time.format("%Y-%m-%dT%H:%M")).unwrap();
        }
    }
    let sprayed: Vec<&str> = rows
        .iter()
        .filter(|row| row["sprayed_at_start_of_day"] == "1")
        .map(|row| row["date"].as_str())
        .collect();
    assert_eq!(sprayed.len(), 1);
    let log = format!(
        "start,end,on,product,strength\n{0}T11:00,{0}T11:30,grove,chlorothalonil,label-rate\n",
        sprayed[0]
    );
    for row in &rows {
        let day: chrono::NaiveDate = row["date"].parse().unwrap();
        let as_of = format!("{}T11:00", day.succ_opt().unwrap());
        let known: String = csv
            .split_inclusive('\n')
            .filter(|line| line.starts_with("time") || line[..16] < *as_of.as_str())
            .collect();
        let keys = format!("seen: {0}\nplanted: {0}\ntrees:\n  - {{ tree: A1 }}\n", rows[0]["date"]);
        let case = case_of_book("rulebooks/models/tomato-severity.rulebook", "", "UTC", &as_of, &keys)
            .measured(known);
        let case = if row["date"].as_str() >= sprayed[0] {
            case.sprays(log.clone())
        } else {
            Case { grove: case.grove + "sprays: none yet\n", ..case }
        };
        let advice = case.advise();
        close(
            of(value(&advice, "severity-sum")),
            number(row, "expected_cumulative_dsv_since_spray").unwrap(),
            0.0,
            &row["date"],
        );
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
