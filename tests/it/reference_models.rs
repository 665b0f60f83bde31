//! Published models written as rulebooks, held against published tables and seasons made from their rules.
//!
//! Each table under `tests/reference/models` says where it comes from in the comment beside its check; seasons are
//! constructed, and worked by the rules of the source.

use super::case::{Case, case_of_book, number, reference, tree, value};
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

/// The revised Mills table itself (reprints agree but for typing errors that the table leaves out).
#[test]
fn apple_scab_hours_at_whole_degrees() {
    let rows = reference("models/apple_scab_mills_revised_table.csv");
    let points: Vec<(String, String)> =
        rows.iter().map(|row| (format!("{} °C", row["t_c_whole_degree"]), "1 h".into())).collect();
    let advice = at_points(
        "rulebooks/models/apple-scab-mills.rulebook",
        "duration",
        "hours-needed at (warm-in rounded to 1 °C)",
        &points,
    );
    for (at, row) in rows.iter().enumerate() {
        let found = of(&tree(&advice, &format!("P{at}"))["values"]["found-out"]);
        close(found, number(row, "min_wet_hours").unwrap(), 0.0, &row["t_c_whole_degree"]);
    }
}

/// Advises one tree for each point of a table, with a measure of the two inputs.
fn at_points(book: &str, _gives: &str, measure: &str, points: &[(String, String)]) -> Value {
    let items = format!(
        "observe warm-in\n  kind temperature\n\nobserve wet-in\n  kind duration\n\nmeasure found-out = {measure}\n"
    );
    let mut keys = String::from("sprays: none yet\ntrees:\n");
    for (at, (warm, wet)) in points.iter().enumerate() {
        writeln!(keys, "  - {{ tree: P{at}, warm-in: {warm}, wet-in: {wet} }}").unwrap();
    }
    case_of_book(book, &items, "America/New_York", "2026-06-01T05:00", &keys).advise()
}

/// Madden, Pennypacker and MacNab 1978, table of severity values (cells from memory, limits verified).
#[test]
fn tomato_severity_at_points() {
    let rows = reference("models/tomato_severity_points.csv");
    let points: Vec<(String, String)> = rows
        .iter()
        .map(|row| (format!("{} °C", row["mean_t_during_wetness_c"]), format!("{} h", row["wet_hours"])))
        .collect();
    let advice = at_points(
        "rulebooks/models/tomato-severity.rulebook",
        "count",
        "severity at (warm-in rounded to 1 °C), wet-in",
        &points,
    );
    for (at, row) in rows.iter().enumerate() {
        let found = of(&tree(&advice, &format!("P{at}"))["values"]["found-out"]);
        close(found, number(row, "expected_dsv").unwrap(), 0.0, &row["case_id"]);
    }
}

/// Krause, Massie and Hyre 1975, severity values of potato late blight.
#[test]
fn potato_severity_at_points() {
    let rows = reference("models/potato_blight_points.csv");
    let points: Vec<(String, String)> = rows
        .iter()
        .map(|row| (format!("{} °F", row["mean_t_during_rh90_f"]), format!("{} h", row["hours_rh_ge_90"])))
        .collect();
    let advice = at_points(
        "rulebooks/models/potato-blight.rulebook",
        "count",
        "severity at (warm-in rounded to 1 °F), wet-in",
        &points,
    );
    for (at, row) in rows.iter().enumerate() {
        let found = of(&tree(&advice, &format!("P{at}"))["values"]["found-out"]);
        close(found, number(row, "expected_severity_value").unwrap(), 0.0, &row["case_id"]);
    }
}

/// Spotts 1977, wet hours needed by black rot of grape, on a straight line between the rows of the table.
#[test]
fn black_rot_hours_between_rows() {
    let rows = reference("models/grape_black_rot_points.csv");
    let points: Vec<(String, String)> = rows
        .iter()
        .map(|row| (format!("{} °F", row["mean_t_f"]), format!("{} h", row["wet_hours"])))
        .collect();
    let advice =
        at_points("rulebooks/models/black-rot.rulebook", "duration", "hours-needed at warm-in", &points);
    let mut checked = 0;
    for (at, row) in rows.iter().enumerate() {
        let found = &tree(&advice, &format!("P{at}"))["values"]["found-out"];
        match number(row, "required_linear_interp_h") {
            Some(expected) => close(of(found), expected, 0.0006, &row["case_id"]),
            None => assert!(found["value"].is_null(), "{}: {found}", row["case_id"]),
        }
        checked += 1;
    }
    assert_eq!(checked, 16);
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

/// Weather of so many wet hours at one temperature, after dry ones.
fn wet_spell(wet: f64, warm: &str) -> String {
    let mut csv = String::from("time,temperature [°C],humidity [%],leaf-wet [%],rain [mm]\n");
    let end = chrono::NaiveDate::from_ymd_opt(2026, 6, 10).unwrap().and_hms_opt(0, 0, 0).unwrap();
    for back in (1..=96).rev() {
        let time = end - chrono::Duration::hours(back);
        let (damp, leaf) = if (back as f64) <= wet { (97, 100) } else { (50, 0) };
        writeln!(csv, "{},{warm},{damp},{leaf},0", time.format("%Y-%m-%dT%H:%M")).unwrap();
    }
    csv
}

/// Wilson, Madden and Ellis 1990 (anthracnose of strawberry) and Bulger, Ellis and Madden 1987 (grey mould): the
/// published coefficients, with the range guard that the first one needs.
#[test]
fn logistic_infection_at_points() {
    let mut checked = 0;
    for row in reference("models/logistic_infection_points.csv") {
        let wet = number(&row, "wet_hours").unwrap();
        // Hours are whole in hourly weather, and without a spell there is no warmth of one.
        if wet.fract() != 0.0 || wet == 0.0 {
            continue;
        }
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let advice =
            case_of_book("rulebooks/models/logistic-infection.rulebook", "", "UTC", "2026-06-10T00:00", keys)
                .measured(wet_spell(wet, &row["mean_t_c"]))
                .advise();
        close(
            of(value(&advice, "anthracnose-part")),
            number(&row, "anthracnose_incidence").unwrap(),
            1e-5,
            &row["case_id"],
        );
        close(
            of(value(&advice, "mould-part")),
            number(&row, "botrytis_incidence").unwrap(),
            1e-5,
            &row["case_id"],
        );
        checked += 1;
    }
    assert!(checked >= 17, "{checked}");
}

/// Magarey, Sutton and Thayer 2005, generic infection model; outside its cardinal temperatures none is possible.
#[test]
fn generic_infection_at_points() {
    let mut checked = 0;
    for row in reference("models/generic_infection_points.csv") {
        // The rulebook has the parameters of the first set.
        if row["tmin_c"] != "7" {
            continue;
        }
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let advice =
            case_of_book("rulebooks/models/generic-infection.rulebook", "", "UTC", "2026-06-10T00:00", keys)
                .measured(wet_spell(10.0, &row["t_c"]))
                .advise();
        let need = value(&advice, "need");
        match number(&row, "required_wet_hours_capped_at_wmax") {
            Some(expected) => close(of(need), expected, 1e-4, &row["case_id"]),
            None => assert!(need["empty"].is_string(), "{}: {need}", row["case_id"]),
        }
        checked += 1;
    }
    assert_eq!(checked, 8);
}

/// The rule of 10 mm and 10 °C over 24 hours, both ends counted (downy mildew of grape, southern Australia).
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
        let items = "measure met-now = hours with met over last 1 h\n";
        let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
        let advice =
            case_of_book("rulebooks/models/rule-10-10-24.rulebook", items, "Australia/Sydney", &as_of, keys)
                .measured(csv)
                .advise();
        close(of(value(&advice, "rain-now")), rain, 1e-9, &row["time_local"]);
        close(of(value(&advice, "low-now")), low, 1e-9, &row["time_local"]);
        close(
            of(value(&advice, "met-now")),
            number(row, "expected_met_t_ge_10").unwrap(),
            0.0,
            &row["time_local"],
        );
        checked += 1;
    }
    assert!(checked > 10, "{checked}");
}
