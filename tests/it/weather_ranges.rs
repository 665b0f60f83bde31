//! Values of an hour that are known between two ends: `rain from`, `rain to`.

use super::weather_measures::{Ground, ends, hours, measure, moment, plan};
use super::weather_windows::Sprayed1;
use bloomward::measure::{LastSpray, Truth};
use bloomward::weather::{Column, Site};

const ZONE: &str = "America/Puerto_Rico";
const AS_OF: &str = "2027-02-11T05:00:00-04:00";

fn ground(items: &str, csv: &str) -> Ground {
    let as_of = moment(AS_OF);
    Ground {
        plan: plan("0 %", items),
        weather: Some(hours(csv, ZONE, as_of, Some("2027-02-11T04:30:00-04:00"))),
        site: Site::new(18.05, -66.5, 120.0, ZONE.parse().unwrap()),
        as_of,
    }
}

const HOURS: &str = "time,temperature [°F],temperature from [°F],temperature to [°F],rain [mm],rain from [mm],rain to [mm]\n\
    2027-02-11T05:00,66,,,0,,\n2027-02-11T06:00,,64,70,,0,2.5\n2027-02-11T07:00,,66,68,0.5,0,9\n\
    2027-02-11T08:00,70,,,,1,\n";

#[test]
fn a_total_is_between_what_it_can_be() {
    let items = "measure rain-soon = total rain over next 3 h\n\nmeasure coolest = lowest temperature over next 3 h\n";
    let ground = ground(items, HOURS);
    let weather_measures = ground.weather_measures();
    // 0 + between 0 and 2.5 + 0.5: the value stands before its ends.
    assert_eq!(ends(&ground.plan, &weather_measures, "rain-soon"), (0.5, 3.0));
    let fahrenheit = |degrees: f64| (degrees - 32.0) * 5.0 / 9.0;
    let (low, high) = ends(&ground.plan, &weather_measures, "coolest");
    assert!((low - fahrenheit(64.0)).abs() < 1e-9 && (high - fahrenheit(66.0)).abs() < 1e-9, "{low} {high}");
}

#[test]
fn what_has_one_end_reaches_to_the_last_that_can_be() {
    let ground = ground("measure rain-soon = total rain over next 4 h\n", HOURS);
    let weather = ground.weather.as_ref().unwrap();
    let hour = weather.grid().hour_of(moment("2027-02-11T08:00:00-04:00"));
    assert_eq!(weather.value(Column::Rain, hour), None);
    assert_eq!(weather.ends(Column::Rain, hour), Some((1.0, 500.0)));
    assert_eq!(ends(&ground.plan, &ground.weather_measures(), "rain-soon"), (1.5, 503.0));
}

#[test]
fn a_gate_by_the_hour_knows_what_the_ends_decide() {
    let items = "gate hot\n  shuts spraying\n  in hours when temperature above 72 °F\n\n\
                 gate cool\n  shuts spraying\n  in hours when temperature below 65 °F\n";
    let ground = ground(items, HOURS);
    let weather_measures = ground.weather_measures();
    let truth = |gate: &str| {
        let gate = ground.plan.gates.iter().find(|it| &*it.name == gate).unwrap();
        let hour = weather_measures.hour_under_way() + 1;
        weather_measures.hour(gate.hours.as_ref().unwrap(), hour, &|_| unreachable!()).truth
    };
    assert_eq!(truth("hot"), Truth::No, "64 to 70 is never above 72");
    assert_eq!(truth("cool"), Truth::Open);
}

#[test]
fn hours_of_a_forecast_that_have_passed_keep_no_range() {
    let as_of = moment("2027-02-11T07:30:00-04:00");
    let weather = hours(HOURS, ZONE, as_of, Some("2027-02-11T04:30:00-04:00"));
    let at = |time: &str| weather.ends(Column::Rain, weather.grid().hour_of(moment(time)));
    assert_eq!(at("2027-02-11T06:00:00-04:00"), None, "what a forecast said is no record of it");
    assert_eq!(at("2027-02-11T08:00:00-04:00"), Some((1.0, 500.0)));
}

/// 6 mm in the three hours from 6:00 on, 1 mm in the next two; the last row of the third total is missing.
const TOGETHER: &str = "time,rain [mm],rain from [mm],rain to [mm],rain over [h]\n2027-02-11T05:00,0.5,,,\n\
    2027-02-11T06:00,,0,6,3\n2027-02-11T07:00,,0,6,\n2027-02-11T08:00,,0,6,\n2027-02-11T09:00,,0,1,2\n\
    2027-02-11T10:00,,0,1,\n2027-02-11T11:00,,0,2,3\n2027-02-11T12:00,,0,2,\n";

#[test]
fn rain_known_together_is_not_counted_in_every_hour() {
    for (hours, expected) in [
        (1, (0.5, 0.5)),
        // A part of the hours may have had nothing or all of it.
        (2, (0.5, 6.5)),
        (3, (0.5, 6.5)),
        (4, (6.5, 6.5)),
        (5, (6.5, 7.5)),
        (6, (7.5, 7.5)),
        // Not all hours of the third are there: each may have had all.
        (8, (7.5, 11.5)),
    ] {
        let ground = ground(&format!("measure ahead = total rain over next {hours} h\n"), TOGETHER);
        assert_eq!(ends(&ground.plan, &ground.weather_measures(), "ahead"), expected, "{hours} h");
    }
}

#[test]
fn an_hour_of_which_more_is_known_breaks_the_total_up() {
    let told = TOGETHER.replace("2027-02-11T07:00,,0,6,", "2027-02-11T07:00,2,0,6,");
    let ground = ground("measure ahead = total rain over next 4 h\n", &told);
    assert_eq!(ends(&ground.plan, &ground.weather_measures(), "ahead"), (2.5, 14.5));
}

/// What is taken of hours with a range has one, and what takes whole blocks is exact. By hand, of the four hours from five on:
/// half a millimeter, and six in the next three, of which each may have none or all.
#[test]
fn what_is_taken_of_a_range_has_one() {
    let cases = [
        ("hours with rain above 0 mm over next 4 h", (1.0, 4.0)),
        ("longest spell with rain above 0 mm over next 4 h", (1.0, 4.0)),
        ("hours with rain above 6 mm over next 4 h", (0.0, 0.0)),
        ("mean rain over next 4 h", (1.625, 1.625)),
        ("total rain while clock at least 06:00 over next 4 h", (0.0, 6.5)),
        ("total rain while rain above 0 mm over next 4 h", (0.5, 6.5)),
        ("highest rain over next 4 h", (0.5, 6.0)),
        ("lowest rain over next 4 h", (0.0, 0.5)),
        ("spells with rain above 1 mm of at least 2 h over next 4 h", (0.0, 1.0)),
        ("highest to-come over next 1 h", (6.0, 6.0)),
        ("hours with to-come at least 5 mm over next 1 h", (1.0, 1.0)),
        ("hours with soon above 0 mm over next 1 h", (0.0, 1.0)),
    ];
    for (written, expected) in cases {
        let items = format!(
            "hourly to-come = total rain over 3 h after that hour\n\nhourly soon = total rain over 1 h after that hour\n\n\
             measure value = {written}\n"
        );
        let ground = ground(&items, TOGETHER);
        assert_eq!(ends(&ground.plan, &ground.weather_measures(), "value"), expected, "{written}");
    }
}

/// Two hours after a spray that ended at 5:50 cut the six millimeters of three hours, and three take them whole.
#[test]
fn hours_after_a_spray_that_cut_a_block_have_its_range() {
    for (hours, expected) in [(2, (0.0, 6.0)), (3, (6.0, 6.0)), (4, (6.0, 7.0))] {
        let items = format!("measure after = total rain over the {hours} h after the last spray\n");
        let ground = ground(&items, TOGETHER);
        let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
        let last = LastSpray::Ended(moment("2027-02-11T05:50:00-04:00"));
        let history = Sprayed1 { last, days: Vec::new() };
        let extent = measure(plan, &weather_measures, "after", &history).extent;
        assert_eq!(extent.ends(), Some(expected), "{hours} h");
    }
}
