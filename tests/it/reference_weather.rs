//! Humidity, sun, spray windows, degree-days: held against published and independently computed tables.

use super::case::{Case, number, reference, value};
use bloomward::weather::{self, Site};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use std::fmt::Write;

#[track_caller]
fn close(found: f64, expected: f64, within: f64, what: &str) {
    assert!((found - expected).abs() <= within, "{what}: {found} is not {expected}");
}

/// Alduchov and Eskridge 1996 (saturation, dew point), the psychrometer equation of FAO-56 (Eq. 15 and 16) with
/// 0.000662 per °C (there with FAO-56's own saturation, which moves the wet bulb by up to 0.03 °C), and the vapour deficit at air temperature; computed by an independent script, see the columns.
#[test]
fn dew_point_wet_bulb_and_deficit_of_the_humidity_table() {
    for row in reference("humidity_state.csv") {
        let cell = |column: &str| number(&row, column).unwrap();
        let (warm, damp, pressure) = (cell("t_c"), cell("rh_pct") / 100.0, cell("pressure_hpa"));
        let what = &row["case_id"];
        close(weather::dew_point(warm, damp), cell("td_ae96_c"), 0.002, what);
        let wet = weather::wet_bulb(warm, damp, pressure);
        close(wet, cell("tw_psychrometer_a000662_c"), 0.03, what);
        // The equation itself, with our saturation: e = es(wet) - 0.000662 p (dry - wet).
        let vapour = weather::saturation_pressure(warm) * damp;
        let psychrometer = weather::saturation_pressure(wet) - 0.000662 * pressure * (warm - wet);
        close(psychrometer, vapour, 1e-6, what);
        close(warm - wet, cell("delta_t_psychrometer_c"), 0.03, what);
        close(weather::vapour_deficit(warm, damp) / 10.0, cell("vpd_ae96_kpa"), 2e-4, what);
    }
    for row in reference("humidity_rh_from_td.csv") {
        let cell = |column: &str| number(&row, column).unwrap();
        close(
            weather::humidity_from_dew_point(cell("t_c"), cell("td_c")) * 100.0,
            cell("rh_ae96_pct"),
            0.002,
            &row["case_id"],
        );
    }
    for row in reference("humidity_es.csv") {
        let cell = |column: &str| number(&row, column).unwrap();
        close(
            weather::saturation_pressure(cell("t_c")) / 10.0,
            cell("es_magnus_ae96_kpa"),
            1e-4,
            &row["case_id"],
        );
    }
}

/// Sunrise and sunset by Skyfield 1.55 with JPL DE421 (the table's columns), sun centre at -0.8333°.
#[test]
fn sunrise_and_sunset_of_thirty_places_and_days() {
    for row in reference("sun_times.csv") {
        let zone: Tz = row["iana_tz"].parse().unwrap();
        let site = Site::new(number(&row, "lat_deg").unwrap(), number(&row, "lon_deg").unwrap(), 0.0, zone);
        let sun = site.sun(row["local_date"].parse::<NaiveDate>().unwrap());
        for (found, column) in [(sun.sunrise, "sunrise_skyfield"), (sun.sunset, "sunset_skyfield")] {
            let expected = DateTime::parse_from_rfc3339(&row[column]).unwrap().with_timezone(&Utc);
            let found = found.unwrap_or_else(|| panic!("{} has no {column}", row["case_id"]));
            close(
                (found - expected).num_seconds() as f64,
                0.0,
                60.0,
                &format!("{} {column}", row["case_id"]),
            );
        }
    }
}

/// Spray windows of a constructed series near Homestead, Florida, by three rules of limits; expected hours by an
/// independent script. The rain-free hours ahead must be there to be known.
///
/// A: wind of 3 to 10 mph (training of US applicators). B: wind of 3 to 20 km/h (Australian label statements, from
/// memory), Delta T of 2 to 8 °C (Bureau of Meteorology), nothing until an hour after sunrise nor from two hours before
/// sunset (GRDC Spray Application Manual, module 10.8). C: an air-blast sprayer's 15 km/h (advice, from memory), gusts to
/// 25 km/h, Delta T to 10 °C (Bureau of Meteorology), 30 °C at most.
///
/// The last hour of rule B is one of which the two after it are light from end to end.
#[test]
fn spray_windows_of_a_series() {
    let rows = reference("spray_window_series_1.csv");
    let mut csv = String::from("time,temperature [°C],humidity [%],wind [m/s],gust [m/s],rain [mm]\n");
    for row in &rows {
        writeln!(
            csv,
            "{},{},{},{},{},{}",
            row["hour_start_local"],
            row["t_c"],
            row["rh_pct"],
            row["wind_mean_ms"],
            row["wind_gust_ms"],
            row["rain_mm"]
        )
        .unwrap();
    }
    let rules = [
        (
            "expected_rule_a",
            "hourly rain-to-come = total rain over 4 h after that hour\n\ngate limits\n  shuts spraying\n  in hours when wind below 3 mph or wind above 10 mph or rain above 0 mm or rain-to-come above 0 mm or not daylight\n  cites own\n",
        ),
        (
            "expected_rule_b",
            "hourly rain-to-come = total rain over 6 h after that hour\nhourly light-to-come = hours with daylight over 2 h after that hour\n\ngate limits\n  shuts spraying\n  in hours when wind below 3 km/h or wind above 20 km/h or delta-t below 2 °C or delta-t above 8 °C or rain above 0 mm or rain-to-come above 0 mm or not daylight or after-sunrise below 1 h or light-to-come below 2 h\n  cites own\n",
        ),
        (
            "expected_rule_c",
            "hourly rain-to-come = total rain over 2 h after that hour\nhourly rain-before = total rain over 4 h to that hour\n\ngate limits\n  shuts spraying\n  in hours when wind above 15 km/h or gust above 25 km/h or delta-t above 10 °C or temperature above 30 °C or humidity at least 95 % or rain-to-come above 0 mm or rain-before above 0 mm or not daylight\n  cites own\n",
        ),
    ];
    for (column, gate) in rules {
        let book = format!(
            "product water\n  strength plain 1 g/L\n  cites own\n\n{gate}\nchoice one\n  advise water at plain\n  within 48 h\n  cites own\n"
        );
        let mut case: Case = super::case::case(&book, "sprays: none yet\ntrees:\n  - { tree: A1 }\n")
            .weather(csv.clone(), "2026-03-10T00:00-04:00");
        case.grove = case.grove.replace("as-of: 2027-02-11T05:30", "as-of: 2026-03-10T00:00").replace(
            "latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico",
            "latitude: 25.4687, longitude: -80.4776, elevation: 0 m, timezone: America/New_York",
        );
        let advice = case.advise();
        let windows = advice["trees"][0]["windows"].as_array().unwrap();
        let open = |hour: &str| {
            let hour = DateTime::parse_from_rfc3339(hour).unwrap();
            windows.iter().any(|window| {
                let at = |key: &str| DateTime::parse_from_rfc3339(window[key].as_str().unwrap()).unwrap();
                at("from") <= hour && hour < at("to")
            })
        };
        let mut seen = 0;
        for row in &rows {
            let expected = row[column] == "1";
            assert_eq!(open(&row["hour_start_local"]), expected, "{column} at {}", row["hour_start_local"]);
            seen += usize::from(expected);
        }
        assert!(seen > 0, "{column}");
        // The same hours merged, in a table of their own.
        let rule = column.trim_start_matches("expected_rule_").to_uppercase();
        let merged: Vec<(DateTime<Utc>, DateTime<Utc>)> = reference("spray_window_expected.csv")
            .iter()
            .filter(|row| row["rule"] == rule)
            .map(|row| {
                let at = |key: &str| DateTime::parse_from_rfc3339(&row[key]).unwrap().with_timezone(&Utc);
                (at("window_start_local"), at("window_end_local"))
            })
            .collect();
        let found: Vec<(DateTime<Utc>, DateTime<Utc>)> = windows
            .iter()
            .map(|window| {
                let at = |key: &str| {
                    DateTime::parse_from_rfc3339(window[key].as_str().unwrap()).unwrap().with_timezone(&Utc)
                };
                (at("from"), at("to"))
            })
            .collect();
        assert!(!merged.is_empty());
        assert_eq!(found, merged, "{column}");
    }
}

/// Degree-days of the day's lowest and highest, by three of the table's columns: the simple average with a floor at
/// nothing, the average of both kept within base and upper limit, and the four cases of the UK Met Office (read in a
/// stored copy). The fourth column, a sine, needs an arcsine, which the language does not have.
#[test]
fn degree_days_by_averages_and_by_four_cases() {
    for row in reference("models/degree_days.csv") {
        let (low, high) = (number(&row, "tmin_c").unwrap(), number(&row, "tmax_c").unwrap());
        let (base, upper) = (number(&row, "base_c").unwrap(), number(&row, "upper_c").unwrap());
        let book = format!(
            "daily low = lowest temperature over that day
daily high = highest temperature over that day
daily middle = low + (high - low) / 2
daily heat = (middle in °C) - {base} kept from 0 to 100
daily cut = ((low kept from {base} °C to {upper} °C) in °C) / 2 + ((high kept from {base} °C to {upper} °C) in °C) / 2 - {base}
daily over-base = (high in °C) - {base}
daily under-base = {base} - (low in °C)
tally simple
  over last 1 days
  add (heat)
tally clamped
  over last 1 days
  add (cut)
tally four-case
  over last 1 days
  add ((middle in °C) - {base}) if low at least {base} °C
  add (over-base / 2 - under-base / 4) if low below {base} °C and middle at least {base} °C
  add (over-base / 4) if middle below {base} °C and high above {base} °C
"
        );
        let mut csv = String::from("time,temperature [°C]\n");
        for hour in 0..24 {
            writeln!(csv, "2026-06-01T{hour:02}:00,{}", if hour % 2 == 0 { low } else { high }).unwrap();
        }
        let mut case = super::case::case(&book, "sprays: none yet\ntrees:\n  - { tree: A1 }\n").measured(csv);
        case.grove = case.grove.replace("as-of: 2027-02-11T05:30", "as-of: 2026-06-02T00:00");
        let advice = case.advise();
        for (name, column) in [
            ("simple", "simple_average_floored_at_0_c_day"),
            ("clamped", "average_with_inputs_clamped_c_day"),
            ("four-case", "uk_met_office_four_case_c_day"),
        ] {
            let found = value(&advice, name)["value"].as_f64().unwrap();
            close(found, number(&row, column).unwrap(), 1e-3, &format!("{} {name}", row["case_id"]));
        }
    }
}

/// Local times at the changes of clocks, by the IANA time-zone data (tzdata 2026.6): once, twice or never.
#[test]
fn local_times_at_the_changes_of_clocks() {
    use weather::LocalTime;
    let mut kinds = std::collections::BTreeSet::new();
    for row in reference("local_time_resolution.csv") {
        let zone: Tz = row["iana_tz"].parse().unwrap();
        let local = chrono::NaiveDateTime::parse_from_str(&row["local_time"], "%Y-%m-%dT%H:%M").unwrap();
        let at = |column: &str| DateTime::parse_from_rfc3339(&row[column]).unwrap().with_timezone(&Utc);
        let expected = match row["kind"].as_str() {
            "unique" => LocalTime::Once(at("utc_if_first_or_only")),
            "ambiguous" => LocalTime::Twice(at("utc_if_first_or_only"), at("utc_if_second")),
            "nonexistent" => LocalTime::Never,
            other => panic!("{other}"),
        };
        assert_eq!(weather::resolve_local(zone, local), expected, "{}", row["case_id"]);
        kinds.insert(row["kind"].clone());
    }
    assert_eq!(kinds.len(), 3);
}
