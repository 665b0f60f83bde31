//! Late blight of potato from hourly weather to the spray (Krause, Massie and Hyre 1975; Hyre 1954): severity values,
//! rain-favourable days, messages. The season is constructed, and worked by the sources' rules.

use super::case::{Case, case_of_book, number, reference, verdict};
use super::reference_points::{Model, close};
use chrono::{Duration, NaiveDate};
use std::collections::BTreeMap;
use std::fmt::Write;

type Row = BTreeMap<String, String>;

/// The message's number in the reprint: none, a warning, a schedule of seven days, of five days.
fn level(message: &str) -> &'static str {
    match message {
        "-1" => "none",
        "0" => "alert",
        "1" => "seven-day",
        "2" => "five-day",
        other => panic!("no message {other}"),
    }
}

/// The hours of a day that has these lowest and highest temperatures, damp hours of this warmth and this rain.
fn hours_of(day: NaiveDate, row: &Row, csv: &mut String) {
    let damp = number(row, "hours_rh_ge_90").unwrap() as i64;
    assert!(damp <= 22, "two dry hours are for the lowest and the highest");
    for hour in 0..24 {
        let (warm, humid) = match hour {
            _ if hour < damp => (&row["mean_t_during_rh90_c"], 95),
            22 => (&row["tmin_c"], 50),
            23 => (&row["tmax_c"], 50),
            _ => (&row["tmin_c"], 50),
        };
        let rain = if hour == 23 { row["rain_mm"].as_str() } else { "0" };
        writeln!(csv, "{day}T{hour:02}:00,{warm},{humid},{rain}").unwrap();
    }
}

#[test]
fn a_season_day_by_day() {
    let rows = reference("models/potato_blight_season_1.csv");
    let up: NaiveDate = rows[0]["date"].parse().unwrap();
    let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm]\n");
    for back in (1..=20).rev() {
        for hour in 0..24 {
            writeln!(csv, "{}T{hour:02}:00,17,50,0", up - Duration::days(back)).unwrap();
        }
    }
    for row in &rows {
        let day: NaiveDate = row["date"].parse().unwrap();
        hours_of(day, row, &mut csv);
        // The advice is of the next midnight: no later hour is known.
        let as_of = format!("{}T00:00", day + Duration::days(1));
        let items = "measure five-days = mean day-middle over last 5 days\nmeasure ten-day-sum = total day-rain over last 10 days\n\
                     measure favourable-now = days with favourable over last 1 days\nmeasure severity-now = total severity-day over last 1 days\n";
        let keys = format!("sprays: none yet\nseen: {up}\ngreen-row: {up}\ntrees:\n  - {{ tree: A1 }}\n");
        let case: Case = case_of_book("rulebooks/models/potato-blight.rulebook", items, "UTC", &as_of, &keys)
            .measured(csv.clone());
        let advice = case.advise();
        let value = |name: &str| super::case::value(&advice, name);
        let what = &row["date"];
        for (name, column) in [
            ("favourable-now", "expected_rain_favourable"),
            ("severity-now", "expected_severity_value"),
            ("severity-total", "expected_cumulative_severity"),
            ("favourable-week", "expected_rain_favourable_last_7"),
            ("severity-week", "expected_severity_last_7"),
        ] {
            close(value(name), number(row, column).unwrap(), 0.0, &format!("{name} {what}"));
        }
        close(value("ten-day-sum"), number(row, "rain_last_10_days_mm").unwrap(), 1e-6, what);
        // Before five days of the season are there the table means over those that are.
        if day >= up + Duration::days(4) {
            close(value("five-days"), number(row, "mean_t_last_5_days_c").unwrap(), 0.0006, what);
        }
        assert_eq!(value("message")["value"], level(&row["expected_message"]), "{what}");
        // The first spray waits for 18; ten rain-favourable days come later in this season.
        let due = row["expected_18_reached"] == "1";
        let expected = if due { "spray chlorothalonil at label-rate" } else { "hold" };
        assert_eq!(verdict(&advice, "A1"), expected, "{what}");
    }
}

/// Advises one point for each count of rain-favourable days and severity values.
fn messages(counts: &[(String, String)]) -> Vec<String> {
    let points: Vec<String> =
        counts.iter().map(|(days, sum)| format!("days-in: {days}, sum-in: {sum}")).collect();
    let model = Model::new("potato-blight")
        .and("observe days-in\n  kind count")
        .and("observe sum-in\n  kind count")
        .instead("measure favourable-week", "days-in")
        .instead("measure severity-week", "sum-in");
    let trees = model.at(&points);
    trees.iter().map(|tree| tree["values"]["message"]["value"].as_str().unwrap().to_string()).collect()
}

/// The matrix of messages, read in a reprint: every count of days and values, and the cases made from it.
#[test]
fn the_matrix_of_messages() {
    let mut counts = Vec::new();
    let mut expected = Vec::new();
    for row in reference("models/potato_blight_message_matrix.csv") {
        let (first, last) = row["rain_favourable_days_last_7"].split_once('-').unwrap();
        for days in first.parse::<u8>().unwrap()..=last.parse().unwrap() {
            for sum in 0..=28u8 {
                let column = match sum {
                    0..=2 => "sv_lt_3".to_string(),
                    3..=6 => format!("sv_{sum}"),
                    _ => "sv_gt_6".to_string(),
                };
                counts.push((days.to_string(), sum.to_string()));
                expected.push(level(&row[&column]).to_string());
            }
        }
    }
    assert_eq!(counts.len(), 8 * 29);
    for row in reference("models/potato_blight_messages.csv") {
        let count = |column: &str| row[column].clone();
        counts.push((count("rain_favourable_days_last_7"), count("severity_values_last_7")));
        expected.push(level(&row["expected_message"]).to_string());
    }
    for ((count, expected), found) in counts.iter().zip(&expected).zip(messages(&counts)) {
        assert_eq!(*expected, found, "{count:?}");
    }
}
