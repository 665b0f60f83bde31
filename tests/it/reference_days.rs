//! Half a year of hours day by day, and spray hours of a cautious rule: held against independently computed tables.

use super::case::{number, reference};
use super::weather_sky::{Ground, hours, moment, plan};
use bloomward::measure::{Extent, Truth, UnknownHistory};
use bloomward::plan::DailyId;
use bloomward::weather::Site;
use chrono::NaiveDate;

/// Miami, January to June of a typical year (NSRDB PSM v4, from the package pvdeg, BSD-3-Clause; a wet hour has a humidity
/// of 90 % or more), against a daily table computed by an independent script.
#[test]
fn half_a_year_of_hours_day_by_day() {
    let items = "hourly wet = humidity at least 90 %\n\
        daily low = lowest temperature over that day\ndaily high = highest temperature over that day\n\
        daily middle = mean temperature over that day\ndaily damp = hours with wet over that day\n\
        daily warmth = mean temperature while wet over that day\n\
        daily run = longest spell with temperature from 70 °F to 85 °F over that day\n\
        daily strongest = highest wind over that day\n\
        daily six = longest spell with temperature from 70 °F to 85 °F over that day\n\
        daily six-hours = six at least 6 h\n";
    let mut csv = String::from("time,temperature [°C],humidity [%],wind [m/s]\n");
    for row in reference("weather/miami_tmy_jan_jun_hourly.csv") {
        csv += &format!("{},{},{},{}\n", row["time_local"], row["t_c"], row["rh_pct"], row["wind_ms"]);
    }
    let as_of = moment("2019-07-01T00:00:00-05:00");
    let ground = Ground {
        plan: plan("0 %", items),
        weather: Some(hours(&csv, "Etc/GMT+5", as_of, None)),
        site: Site::new(25.77, -80.18, 2.0, "Etc/GMT+5".parse().unwrap()),
        as_of,
    };
    let sky = ground.sky();
    let history = UnknownHistory { plan: &ground.plan };
    let value = |name: &str, day: NaiveDate| -> Extent {
        let id = ground.plan.dailies.iter().position(|daily| &*daily.name == name).unwrap();
        sky.daily(DailyId(id as u32), day, &history).extent
    };
    let columns = [
        ("low", "tmin_c", 1.0, 0.002),
        ("high", "tmax_c", 1.0, 0.002),
        ("middle", "tmean_c", 1.0, 0.002),
        ("damp", "hours_rh_ge_90_reported", 1.0, 0.0),
        ("warmth", "mean_t_of_wet_hours_c", 1.0, 0.002),
        ("run", "longest_run_h_70_to_85_f", 1.0, 0.0),
        ("strongest", "max_wind_mph_after_qc", 1_609_344.0, 0.002),
    ];
    let (mut days, mut without) = (0, 0);
    for row in reference("weather/miami_tmy_jan_jun_expected_daily.csv") {
        let day: NaiveDate = row["local_date"].parse().unwrap();
        for (name, column, unit, within) in columns {
            let found = value(name, day);
            match number(&row, column) {
                Some(expected) => {
                    let found =
                        found.one_number().unwrap_or_else(|| panic!("{name} on {day}: {found:?}")) / unit;
                    assert!((found - expected).abs() <= within, "{name} on {day}: {found} is not {expected}");
                }
                None => {
                    assert!(found.is_empty(), "{name} on {day}");
                    without += 1;
                }
            }
        }
        let six = if row["six_hours_met"] == "1" { Extent::YES } else { Extent::NO };
        assert_eq!(value("six-hours", day), six, "{day}");
        days += 1;
    }
    assert_eq!(days, 181);
    assert!(without > 50, "days without a wet hour have no warmth of it");
}

/// Rule B of the table: 3 to 20 km/h, delta-t from 2 to 8 °C (by another psychrometric library, which agrees within
/// 0.05 °C; no hour lies so near to a limit), no rain in this hour and the six after it, the whole hour between an
/// hour after sunrise and two hours before sunset.
#[test]
fn spray_hours_by_delta_t_away_from_inversions() {
    let items = "hourly rain-to-come = total rain over 6 h after that hour\n\
        hourly light-to-come = hours with daylight over 2 h after that hour\n\n\
        gate limits\n  shuts spraying\n  in hours when wind below 3 km/h or wind above 20 km/h or delta-t below 2 °C or delta-t above 8 °C \
        or rain above 0 mm or rain-to-come above 0 mm or after-sunrise below 1 h or not daylight or light-to-come below 2 h\n";
    let rows = reference("spray_window_series_1.csv");
    let mut csv = String::from("time,temperature [°C],humidity [%],wind [m/s],rain [mm]\n");
    for row in &rows {
        let cells = ["hour_start_local", "t_c", "rh_pct", "wind_mean_ms", "rain_mm"]
            .map(|column| row[column].as_str());
        csv += &format!("{}\n", cells.join(","));
    }
    let as_of = moment("2026-03-10T00:00:00-04:00");
    let zone = "America/New_York";
    let ground = Ground {
        plan: plan("0 %", items),
        weather: Some(hours(&csv, zone, as_of, Some("2026-03-10T00:00:00-04:00"))),
        site: Site::new(25.4687, -80.4776, 0.0, zone.parse().unwrap()),
        as_of,
    };
    let sky = ground.sky();
    let condition = ground.plan.gates[0].hours.as_ref().unwrap();
    let mut open = 0;
    for (ahead, row) in rows.iter().enumerate() {
        let found = sky.hour(condition, sky.hour_under_way() + ahead as i64, &|_| Extent::YES_OR_NO);
        let expected = row["expected_rule_b"] == "1";
        assert_eq!(found.truth == Truth::No, expected, "{}: {found:?}", row["hour_start_local"]);
        open += usize::from(expected);
    }
    assert_eq!(open, 4);
}
