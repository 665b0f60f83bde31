//! Hours that are missing: what is said of them holds whatever they were, and says no more than it must.

use super::weather_measures::{Ground, ends, extent, hours, measure, moment, plan};
use bloomward::measure::{Cause, Extent, Steps, UnknownHistory, WeatherGap};
use bloomward::source::Sources;
use bloomward::weather::{self, Site};
use proptest::prelude::*;
use std::collections::BTreeMap;

const ITEMS: &str = "
hourly wet = humidity at least 90 %
hourly wet-before = hours with wet over 6 h to that hour
measure wet-hours = hours with wet over last 24 h
measure longest = longest spell with wet over last 24 h
measure bridged = longest spell with wet across gaps below 3 h over last 24 h
measure latest = latest spell with wet across gaps below 3 h over last 24 h
measure spells = spells with wet of at least 3 h over last 24 h
measure warmth = mean temperature while wet over last 24 h
measure coldest = lowest temperature while wet over last 24 h
measure hottest = highest temperature while wet over last 24 h
measure rain-wet = total rain while wet over last 24 h
measure spell-warmth = mean temperature in longest spell with wet over last 24 h
measure latest-warmth = mean temperature in latest spell with wet across gaps below 3 h over last 24 h
measure most-before = highest wet-before over last 12 h
";

/// An hour of a series: its temperature in °C, its rain in mm, and whether it is wet; nothing where that is missing.
#[derive(Clone, Copy, Debug)]
struct Hour {
    warm: i32,
    rain: u32,
    wet: Option<bool>,
}

fn series() -> impl Strategy<Value = Vec<Hour>> {
    let hour = (10..30, 0..4u32, prop_oneof![5 => Just(Some(true)), 5 => Just(Some(false)), 2 => Just(None)]);
    prop::collection::vec(hour.prop_map(|(warm, rain, wet)| Hour { warm, rain, wet }), 24)
        .prop_filter("few enough to try all", |hours| {
            hours.iter().filter(|hour| hour.wet.is_none()).count() <= 9
        })
}

/// What a plain count finds in hours of which all is known. Nothing: there is no such value.
fn counted(hours: &[Hour]) -> Vec<(&'static str, Option<f64>)> {
    let wet: Vec<usize> = (0..hours.len()).filter(|at| hours[*at].wet == Some(true)).collect();
    let spells = |gap: usize| {
        let mut spells: Vec<Vec<usize>> = Vec::new();
        for at in &wet {
            match spells.last_mut() {
                Some(spell) if at - spell[spell.len() - 1] - 1 < gap.max(1) => spell.push(*at),
                _ => spells.push(vec![*at]),
            }
        }
        spells
    };
    let longest = |spells: &[Vec<usize>]| {
        let most = spells.iter().map(Vec::len).max().unwrap_or(0);
        spells.iter().rev().find(|spell| spell.len() == most).cloned().unwrap_or_default()
    };
    let warm = |at: &[usize]| at.iter().map(|at| f64::from(hours[*at].warm)).collect::<Vec<f64>>();
    let mean = |at: &[usize]| (!at.is_empty()).then(|| warm(at).iter().sum::<f64>() / at.len() as f64);
    let (plain, bridged) = (spells(0), spells(3));
    let latest = bridged.last().cloned().unwrap_or_default();
    let of_six = |end: usize| wet.iter().filter(|at| **at <= end && **at + 6 > end).count();
    vec![
        ("wet-hours", Some(wet.len() as f64)),
        ("longest", Some(longest(&plain).len() as f64)),
        ("bridged", Some(longest(&bridged).len() as f64)),
        ("latest", Some(latest.len() as f64)),
        ("spells", Some(plain.iter().filter(|spell| spell.len() >= 3).count() as f64)),
        ("warmth", mean(&wet)),
        ("coldest", warm(&wet).into_iter().reduce(f64::min)),
        ("hottest", warm(&wet).into_iter().reduce(f64::max)),
        ("rain-wet", Some(wet.iter().map(|at| f64::from(hours[*at].rain)).sum())),
        ("spell-warmth", mean(&longest(&plain))),
        ("latest-warmth", mean(&latest)),
        ("most-before", (12..24).map(|end| of_six(end) as f64).reduce(f64::max)),
    ]
}

/// Returns every way in which the missing hours can have been.
fn completions(hours: &[Hour]) -> Vec<Vec<Hour>> {
    let missing: Vec<usize> = (0..hours.len()).filter(|at| hours[*at].wet.is_none()).collect();
    (0..1u32 << missing.len())
        .map(|chosen| {
            let mut complete = hours.to_vec();
            for (bit, at) in missing.iter().enumerate() {
                complete[*at].wet = Some(chosen & (1 << bit) != 0);
            }
            complete
        })
        .collect()
}

fn csv(series: &[Hour]) -> String {
    let mut csv = String::from("time,temperature [°C],rain [mm],humidity [%]\n");
    for (at, hour) in series.iter().enumerate() {
        let humidity = hour.wet.map_or("", |wet| if wet { "95" } else { "60" });
        csv += &format!("2027-02-10T{at:02}:00,{},{},{humidity}\n", hour.warm, hour.rain);
    }
    csv
}

fn ground(series: &[Hour]) -> Ground {
    let as_of = moment("2027-02-11T00:00:00-04:00");
    Ground {
        plan: plan("100 %", ITEMS),
        weather: Some(hours(&csv(series), "America/Puerto_Rico", as_of, None)),
        site: Site::new(18.05, -66.5, 120.0, "America/Puerto_Rico".parse().unwrap()),
        as_of,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    /// A value is the hull of what the missing hours can have made it: no completion leaves it, and some reach its ends.
    #[test]
    fn missing_hours_are_carried_exactly(series in series()) {
        let ground = ground(&series);
        let weather_measures = ground.weather_measures();
        let all: Vec<_> = completions(&series).iter().map(|hours| counted(hours)).collect();
        for (place, (name, _)) in counted(&series).iter().enumerate() {
            let values: Vec<f64> = all.iter().filter_map(|values| values[place].1).collect();
            let may_be_empty = values.len() < all.len();
            let found = extent(&ground.plan, &weather_measures, name);
            prop_assert_eq!(found.may_be_empty, may_be_empty, "{}", name);
            if values.is_empty() {
                prop_assert!(found.is_empty());
                continue;
            }
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let (from, to) = found.ends().unwrap_or((f64::NAN, f64::NAN));
            // Sliding windows are judged one by one, so that their greatest may be said too high, never too low.
            if *name == "most-before" {
                prop_assert!(from <= low && to >= high, "{}: {} to {}, not {} to {}", name, from, to, low, high);
            } else {
                prop_assert!((from - low).abs() < 1e-9 && (to - high).abs() < 1e-9,
                    "{}: {} to {}, not {} to {}", name, from, to, low, high);
            }
        }
    }
}

fn dry_day(cells: &dyn Fn(u32) -> &'static str) -> String {
    let mut csv = String::from("time,temperature [°C],rain [mm]\n");
    for hour in 0..24 {
        csv += &format!("2027-02-10T{hour:02}:00,{}\n", cells(hour));
    }
    csv
}

fn of_day(gaps: &str, csv: &str) -> Ground {
    let items = "measure rain-sum = total rain over last 24 h\nmeasure warm = mean temperature over last 24 h\n\
        measure low = lowest temperature over last 24 h\nmeasure wet = hours with rain above 0 mm over last 24 h\n\
        measure longer = total rain over last 25 h\nmeasure cut = hours with daylight over last 24 h\n\
        measure ahead = total rain over next 2 h\nmeasure none = total rain over since 2027-03-01\n\
        measure no-mean = mean temperature over since 2027-03-01\n";
    let as_of = moment("2027-02-11T00:00:00-04:00");
    Ground {
        plan: plan(gaps, items),
        weather: Some(hours(csv, "America/Puerto_Rico", as_of, None)),
        site: Site::new(18.05, -66.5, 120.0, "America/Puerto_Rico".parse().unwrap()),
        as_of,
    }
}

#[test]
fn within_gaps_means_come_from_what_is_there_and_beyond_them_nothing_is_known() {
    // Two of 24 hours are missing: 8.3 %.
    let csv = dry_day(&|hour| match hour {
        3 | 4 => ",",
        5 => "10,1.5",
        _ => "20,0",
    });
    let ground = of_day("9 %", &csv);
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    assert_eq!(ends(plan, &weather_measures, "low"), (10.0, 10.0));
    let (low, high) = ends(plan, &weather_measures, "warm");
    assert_eq!((low, high), ((21.0 * 20.0 + 10.0) / 22.0, (21.0 * 20.0 + 10.0) / 22.0));
    assert_eq!(ends(plan, &weather_measures, "wet"), (1.0, 3.0));
    let (low, high) = ends(plan, &weather_measures, "rain-sum");
    assert_eq!(low, 1.5);
    assert!(high > 100.0, "what fell in two hours is not known: {high}");
    let strict = of_day("8 %", &csv);
    for name in ["low", "warm", "wet", "rain-sum"] {
        let reading =
            measure(&strict.plan, &strict.weather_measures(), name, &UnknownHistory { plan: &strict.plan });
        assert!(!reading.extent.is_settled() && reading.extent.ends().unwrap().1.is_infinite(), "{name}");
        let Some(Cause::Weather(gap)) = reading.cause else { panic!("{name}") };
        assert_eq!(gap, WeatherGap::TooMany(2, 24, Steps::Hours, 0.08), "{name}");
    }
}

#[test]
fn a_window_beyond_the_weather_is_unknown_whatever_gaps_allow() {
    let ground = of_day("100 %", &dry_day(&|_| "20,0"));
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    assert_eq!(ends(plan, &weather_measures, "rain-sum"), (0.0, 0.0));
    for name in ["longer", "ahead"] {
        let reading = measure(plan, &weather_measures, name, &UnknownHistory { plan });
        assert!(!reading.extent.is_settled(), "{name}");
        let Some(Cause::Weather(gap)) = reading.cause else { panic!("{name}") };
        assert!(matches!(gap, WeatherGap::Beyond(_, _, Steps::Hours)), "{gap:?}");
    }
}

#[test]
fn totals_of_nothing_are_zero_and_means_of_nothing_empty() {
    let ground = of_day("10 %", &dry_day(&|_| "20,0"));
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    assert_eq!(extent(plan, &weather_measures, "none"), Extent::number(0.0));
    assert!(extent(plan, &weather_measures, "no-mean").is_empty());
}

#[test]
fn hours_that_the_sun_cuts_make_an_interval_and_no_gap() {
    // In Puerto Rico on 10 February the sun is up for 11 whole hours or a little more, and cuts two.
    let ground = of_day("0 %", &dry_day(&|_| "20,0"));
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    let (low, high) = ends(plan, &weather_measures, "cut");
    assert_eq!(high - low, 2.0);
    let sun = ground.site.sun(chrono::NaiveDate::from_ymd_opt(2027, 2, 10).unwrap());
    let day = (sun.sunset.unwrap() - sun.sunrise.unwrap()).num_minutes() as f64 / 60.0;
    assert!(low < day && day < high, "{low} to {high}, and {day}");
}

#[test]
fn exact_sums_of_many_hours() {
    // 0.1 mm an hour: ten times a tenth is one, not 0.9999999999999999.
    let ground = of_day("0 %", &dry_day(&|hour| if hour < 10 { "20.1,0.1" } else { "20.1,0" }));
    let (plan, weather_measures) = (&ground.plan, ground.weather_measures());
    assert_eq!(ends(plan, &weather_measures, "rain-sum"), (1.0, 1.0));
    assert_eq!(ends(plan, &weather_measures, "warm"), (20.1, 20.1));
}

/// Pieces that damaged files are made of.
const PIECES: &[&str] = &[
    "\n",
    "\r\n",
    "\r",
    ",",
    ",,",
    "\"",
    "\0",
    "\u{feff}",
    "2027-02-10T05:00",
    "2027-02-10T05:00Z",
    "2026-11-01T01:00",
    "9999-12-31T23:00",
    "0000-01-01T00:00",
    "-",
    "1e308",
    "-80",
    "140",
    "NaN",
    "time",
    "temperature [°C]",
    "rain [in]",
    "humidity [%]",
    "é",
    "🥭",
    "[",
    "]",
    " ",
    "2027-02-10T05:30:59.5+14:00",
    "2027-02-10T24:00",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// A damaged file is read without a panic, with every finding inside its text, and what is left of it can be asked.
    #[test]
    fn damaged_files_are_read_without_harm(
        series in series(),
        damage in prop::collection::vec((any::<prop::sample::Index>(), 0..PIECES.len(), 0..12usize), 0..8),
        year in prop_oneof![8 => Just(2027), 1 => Just(1), 1 => Just(9999)],
    ) {
        let mut letters: Vec<char> = csv(&series).chars().collect();
        for (at, piece, dropped) in damage {
            let at = at.index(letters.len());
            let end = (at + dropped).min(letters.len());
            letters.splice(at..end, PIECES[piece].chars());
        }
        let text: String = letters.into_iter().collect();
        let mut sources = Sources::default();
        let source = sources.add("weather.csv", text.as_str());
        let zone: chrono_tz::Tz = "America/New_York".parse().unwrap();
        let as_of = moment(&format!("{year:04}-02-11T00:00:00-04:00"));
        let reading = weather::GaugeReading { total: 3.0, from: None, read: None };
        let gauge = [(chrono::NaiveDate::from_ymd_opt(2027, 2, 10).unwrap(), reading)].into();
        let (weather, problems) = weather::read(&weather::WeatherFile {
            text: &text,
            source,
            columns: &BTreeMap::new(),
            zone,
            as_of,
            forecast_issued: Some(as_of),
            measured_to: None,
            gauge: &gauge,
        });
        for problem in problems.iter() {
            prop_assert!(problem.at.start <= problem.at.end && problem.at.end as usize <= text.len());
            prop_assert!(text.is_char_boundary(problem.at.start as usize), "{}", problems.plain(&sources));
        }
        let ground = Ground {
            plan: plan("100 %", ITEMS),
            weather: Some(weather),
            site: Site::new(40.0, -75.0, 0.0, zone),
            as_of,
        };
        let weather_measures = ground.weather_measures();
        for (name, _) in counted(&series) {
            let extent = extent(&ground.plan, &weather_measures, name);
            prop_assert!(extent.is_empty() || extent.ends().is_some_and(|(low, high)| low <= high), "{name}");
        }
    }
}
