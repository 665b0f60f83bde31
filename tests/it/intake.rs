//! Weather files of every form, each with the hours that it must give, what must be asked and what is settled without asking.
//! The files and what is expected of them lie in `tests/reference/weather-forms`; its README tells where they come from.

use bloomward::intake::{FormAnswers, FormFact, HourBounds, Intake, IntakePlace, Topic, decode, read};
use bloomward::source::Sources;
use bloomward::tables::read_stamp;
use bloomward::units::plain;
use bloomward::weather::{Column, Site};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

pub fn forms() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/weather-forms")
}

/// A file: what must be asked of it, and the answers for which its hours are expected.
struct Case {
    file: &'static str,
    zone: Tz,
    /// Each question with what the file itself suggests; one that ends in `?` may stay open.
    asked: &'static [&'static str],
    answers: &'static [(Topic, &'static str)],
    /// Hours beyond the last expected one, of which only the rain is known.
    beyond: usize,
}

const HERE: Tz = chrono_tz::America::Puerto_Rico;
const NEW_YORK: Tz = chrono_tz::America::New_York;

const fn case(file: &'static str) -> Case {
    Case { file, zone: HERE, asked: &[], answers: &[], beyond: 0 }
}

const CASES: &[Case] = &[
    Case {
        zone: NEW_YORK,
        asked: &["stamps"],
        answers: &[(Topic::Stamps, "begin")],
        ..case("clock-change-autumn.csv")
    },
    Case { zone: NEW_YORK, ..case("clock-standard-spring.csv") },
    Case { asked: &["issued"], answers: &[(Topic::Issued, "2027-02-09T00:30")], ..case("columnar.json") },
    case("coverage.json"),
    Case { asked: &["day?"], ..case("daily-min-max.csv") },
    Case { asked: &["dates"], ..case("dates-ambiguous.csv") },
    Case {
        asked: &["stamps"],
        answers: &[(Topic::Stamps, "leave-out")],
        ..case("dates-settled-by-step.csv")
    },
    case("global-hourly.csv"),
    Case { zone: chrono_tz::America::Toronto, ..case("hourly-lst.csv") },
    case("isd-lite.txt"),
    case("logger-four-header.dat"),
    case("metar.txt"),
    Case { asked: &["temperature"], ..case("no-units-doubtful.csv") },
    Case { asked: &["temperature = F", "rain", "wind", "stamps"], ..case("no-units.csv") },
    Case { beyond: 12, ..case("nws-gridpoint.json") },
    case("nws-hourly-flat-si.json"),
    case("nws-hourly.json"),
    case("nws-observations.json"),
    Case {
        asked: &["rain-is = counter"],
        answers: &[(Topic::RainIs, "counter")],
        ..case("rain-counter-resets.csv")
    },
    Case { asked: &["stamps"], answers: &[(Topic::Stamps, "begin")], ..case("spreadsheet-serial-dates.csv") },
    case("station-10min-eu.csv"),
    case("station-15min-us.csv"),
    Case { asked: &["stamps"], answers: &[(Topic::Stamps, "begin")], ..case("station-30min-utf16.tsv") },
    case("timeseries.json"),
    Case { asked: &["typical-year"], answers: &[(Topic::TypicalYear, "yes")], ..case("typical-day.epw") },
    Case {
        asked: &["typical-year"],
        answers: &[(Topic::TypicalYear, "yes")],
        ..case("typical-day-tmy3.csv")
    },
    case("wmo-aws.csv"),
];

/// Files that other tests read.
const ELSEWHERE: &[&str] = &["README.md", "forecast-words.txt", "hourly-from-min-max.csv"];

pub fn site(zone: Tz) -> Site {
    Site::new(18.2, -66.3, 90.0, zone)
}

/// The moment of the advice of all files.
pub fn as_of() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2027-02-09T05:30:00-04:00").unwrap().to_utc()
}

#[track_caller]
fn taken(file: &str, zone: Tz, as_of: DateTime<Utc>, answers: &FormAnswers) -> Intake {
    let bytes = fs::read(forms().join(file)).unwrap();
    let text = decode(&bytes).unwrap();
    let mut sources = Sources::default();
    let id = sources.add(file, text.as_ref());
    let site = site(zone);
    read(id, &text, &IntakePlace { site: &site, as_of, answers })
        .unwrap_or_else(|problem| panic!("{file}: {} ({:?})", problem.message, problem.help))
}

fn answers(given: &[(Topic, &str)]) -> FormAnswers {
    let mut answers = FormAnswers::default();
    for (topic, answer) in given {
        assert!(answers.give(*topic, answer), "{topic:?}: {answer}");
    }
    answers
}

/// What is expected of an hour or a day, by the titles of the table.
type Expected = BTreeMap<String, BTreeMap<String, f64>>;

/// Reads an expected table: for each moment the cells that hold a number, in base units.
fn expected(file: &str) -> Expected {
    let text = fs::read_to_string(forms().join(file)).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let titles = reader.headers().unwrap().clone();
    let mut rows = BTreeMap::new();
    for row in reader.records() {
        let row = row.unwrap();
        let mut values = BTreeMap::new();
        for (title, cell) in
            titles.iter().zip(&row).skip(1).filter(|(title, cell)| *title != "note" && !cell.is_empty())
        {
            let (name, symbol) = title.strip_suffix(']').unwrap().split_once(" [").unwrap();
            let unit = plain(symbol).unwrap();
            let number: f64 = cell.parse().unwrap();
            let base =
                if unit.is_temperature() { unit.point_to_base(number) } else { unit.amount_to_base(number) };
            values.insert(name.to_string(), base);
        }
        assert!(rows.insert(row[0].to_string(), values).is_none(), "{file}: {} is given twice", &row[0]);
    }
    rows
}

fn moment(text: &str) -> DateTime<Utc> {
    read_stamp(text).unwrap().moment().unwrap()
}

/// Holds a value against what is expected of it: one number, or its ends.
fn hold(
    what: &str,
    value: Option<HourBounds>,
    name: &str,
    row: &BTreeMap<String, f64>,
    tolerance: f64,
) -> Vec<String> {
    let expected = (row.get(name), row.get(&format!("{name} from")), row.get(&format!("{name} to")));
    let near = |one: f64, other: f64| (one - other).abs() <= tolerance || one == other;
    let fits = match (value, expected) {
        (None, (None, None, None)) => true,
        (Some(value), (Some(one), None, None)) => near(value.from, *one) && near(value.to, *one),
        (Some(value), (None, Some(from), Some(to))) => near(value.from, *from) && near(value.to, *to),
        (Some(value), (None, Some(from), None)) => near(value.from, *from) && value.to == f64::INFINITY,
        _ => false,
    };
    if fits { Vec::new() } else { vec![format!("{what} {name}: {value:?}, expected {expected:?}")] }
}

/// Tolerances of the expected tables in base units: 0.0001 in the unit of the column, 0.001 of converted temperatures.
const SERIES: [(Column, f64); 6] = [
    (Column::Temperature, 0.001),
    (Column::DewPoint, 0.001),
    (Column::Humidity, 1e-6),
    (Column::Rain, 1e-4),
    (Column::Wind, 3.6e6 * 1e-4),
    (Column::Gust, 3.6e6 * 1e-4),
];

fn compare(file: &str, intake: &Intake, table: &str, beyond: usize) -> Vec<String> {
    let expected = expected(table);
    let mut wrong = Vec::new();
    let mut hours: BTreeMap<DateTime<Utc>, _> = intake.hours.iter().map(|hour| (hour.begins, hour)).collect();
    assert_eq!(hours.len(), intake.hours.len(), "{file}: an hour is given twice");
    let columns: BTreeSet<&str> =
        expected.values().flat_map(BTreeMap::keys).map(|name| name.split(' ').next().unwrap()).collect();
    for (time, row) in &expected {
        let hour = hours.remove(&moment(time));
        for (column, tolerance) in SERIES {
            let value = hour.and_then(|hour| hour.value(column));
            wrong.extend(hold(&format!("{file} {time}"), value, column.word(), row, tolerance));
        }
    }
    assert!(!columns.is_empty(), "{table} expects something");
    let left: Vec<_> = hours.values().filter(|hour| !hour.is_empty()).collect();
    if left.len() != beyond {
        wrong.push(format!(
            "{file}: {} hours more than expected, from {:?}",
            left.len(),
            left.first().map(|it| it.begins)
        ));
    }
    for hour in left {
        let others = SERIES.iter().filter(|(column, _)| *column != Column::Rain);
        if others.into_iter().any(|(column, _)| hour.value(*column).is_some()) {
            wrong.push(format!("{file}: {} is more than expected", hour.begins));
        }
    }
    wrong
}

fn asked(intake: &Intake) -> Vec<String> {
    let question = |question: &bloomward::intake::FormQuestion| {
        let proposed = question.proposed.map_or(String::new(), |it| format!(" = {it}"));
        format!("{}{proposed}{}", question.topic.word(), if question.is_needed { "" } else { "?" })
    };
    intake.questions.iter().map(question).collect()
}

#[test]
fn no_file_of_the_forms_is_passed_over() {
    let mut known: BTreeSet<String> = ELSEWHERE.iter().map(|file| (*file).to_string()).collect();
    for case in CASES {
        known.insert(case.file.to_string());
        let stem = case.file.rsplit_once('.').unwrap().0;
        for other in ["expected.csv", "asks.txt"] {
            known.extend([format!("{stem}.{other}"), format!("{}.{other}", case.file.replace('.', "-"))]);
        }
    }
    known.extend(["expected.csv", "asks.txt"].map(|other| format!("forecast-words.{other}")));
    for entry in fs::read_dir(forms()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(name == "real" || known.contains(&name), "{name} is read by no test");
    }
}

#[test]
fn every_form_asks_what_it_must_and_gives_the_hours_expected() {
    let mut wrong = Vec::new();
    for case in CASES {
        let first = taken(case.file, case.zone, as_of(), &FormAnswers::default());
        let open = asked(&first);
        if open != case.asked {
            wrong.push(format!("{} asks {open:?}, expected {:?}", case.file, case.asked));
        }
        if first.questions.iter().any(|question| question.is_needed) {
            assert!(first.hours.is_empty(), "{}: nothing is read until it is answered", case.file);
        }
        let stem = case.file.rsplit_once('.').unwrap().0;
        let table = [format!("{stem}.expected.csv"), format!("{}.expected.csv", case.file.replace('.', "-"))]
            .into_iter()
            .find(|table| forms().join(table).exists());
        let intake = taken(case.file, case.zone, as_of(), &answers(case.answers));
        match table {
            Some(table) if table.starts_with("daily") => wrong.extend(compare_days(&intake, &table)),
            Some(table) => wrong.extend(compare(case.file, &intake, &table, case.beyond)),
            None => assert!(!case.asked.is_empty(), "{}: nothing is expected of it", case.file),
        }
    }
    assert!(wrong.is_empty(), "{} are not as expected:\n{}", wrong.len(), wrong.join("\n"));
}

fn compare_days(intake: &Intake, table: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    let expected = expected(table);
    assert!(intake.hours.is_empty(), "no hour is made of days without being asked");
    assert_eq!(intake.days.len(), expected.len());
    for (day, (date, row)) in intake.days.iter().zip(&expected) {
        assert_eq!(day.date.to_string(), *date);
        let rename = |(name, value): (&String, &f64)| (name.replace(" of the day", ""), *value);
        let row: BTreeMap<String, f64> = row.iter().map(rename).collect();
        wrong.extend(hold(date, day.temperature, "temperature", &row, 0.001));
        let rain =
            day.rain.map(|rain| if row.contains_key("rain to") { rain } else { HourBounds::is(rain.from) });
        wrong.extend(hold(date, rain, "rain", &row, 1e-4));
    }
    wrong
}

/// What is settled without asking, by the `asks` files: in which way it is known.
#[test]
fn what_a_file_settles_itself_is_said() {
    let facts = |file: &str, zone: Tz| taken(file, zone, as_of(), &FormAnswers::default()).facts;
    let has = |file: &str, zone: Tz, fact: &FormFact| {
        let facts = facts(file, zone);
        assert!(facts.contains(fact), "{file}: {fact:?} is not among {facts:?}");
    };
    has("clock-change-autumn.csv", NEW_YORK, &FormFact::Dates("month-first", "steps"));
    has("clock-change-autumn.csv", NEW_YORK, &FormFact::Clock("wall".into(), "shown-twice"));
    has("clock-standard-spring.csv", NEW_YORK, &FormFact::Clock("standard".into(), "said"));
    has("dates-settled-by-step.csv", HERE, &FormFact::Dates("day-first", "steps"));
    has("logger-four-header.dat", HERE, &FormFact::Stamps("end", "logger"));
    has("metar.txt", HERE, &FormFact::Month(2027, 2));
    has("metar.txt", HERE, &FormFact::Specials(1));
    has(
        "spreadsheet-serial-dates.csv",
        HERE,
        &FormFact::DayNumbers(NaiveDate::from_ymd_opt(2027, 2, 9).unwrap()),
    );
    has("station-10min-eu.csv", HERE, &FormFact::Stamps("end", "24:00"));
    has("station-10min-eu.csv", HERE, &FormFact::Clock("UTC-04:00".into(), "said"));
    has("station-15min-us.csv", HERE, &FormFact::Dates("month-first", "ahead"));
    has("station-15min-us.csv", HERE, &FormFact::Stamps("end", "last-row"));
    has("station-30min-utf16.tsv", HERE, &FormFact::Dates("day-first", "no-month"));
    has("typical-day-tmy3.csv", HERE, &FormFact::Tenths);
    has("nws-observations.json", HERE, &FormFact::Flagged(3));
    let left = taken("station-15min-us.csv", HERE, as_of(), &FormAnswers::default()).left_out;
    assert_eq!(left, ["High (°F)", "Low (°F)", "Wind Dir", "Rain Rate (in/h)", "Indoor Temp (°F)"]);
}

/// Real files: a year of an airport by days, a forecast and an observation of the US National Weather Service.
mod real {
    use super::*;
    use bloomward::weather::humidity_from_dew_point;

    fn at(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    #[test]
    fn a_year_of_an_airport_has_the_days_expected() {
        let intake = taken(
            "real/isd-lite-miami-2015.txt",
            NEW_YORK,
            at("2016-01-02T00:00:00Z"),
            &FormAnswers::default(),
        );
        let mut days: BTreeMap<NaiveDate, Vec<_>> = BTreeMap::new();
        for hour in &intake.hours {
            days.entry(hour.begins.with_timezone(&NEW_YORK).date_naive()).or_default().push(hour);
        }
        let text = fs::read_to_string(forms().join("real/isd-lite-miami-2015.expected-daily.csv")).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let (mut wrong, mut compared) = (Vec::new(), 0);
        for row in reader.records() {
            let row = row.unwrap();
            let hours = &days[&row[0].parse().unwrap()];
            let values = |column: Column| hours.iter().filter_map(move |hour| hour.value(column)?.one());
            let (air, wind): (Vec<f64>, Vec<f64>) =
                (values(Column::Temperature).collect(), values(Column::Wind).collect());
            let humid = hours.iter().filter(|hour| {
                let one = |column| hour.value(column)?.one();
                let humidity = one(Column::Temperature).zip(one(Column::DewPoint));
                humidity.is_some_and(|(air, dew)| humidity_from_dew_point(air, dew) >= 0.9)
            });
            let rain: Vec<HourBounds> = hours.iter().filter_map(|hour| hour.value(Column::Rain)).collect();
            let found = [
                hours.len() as f64,
                air.iter().copied().fold(f64::INFINITY, f64::min),
                air.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                air.iter().sum::<f64>() / air.len() as f64,
                humid.count() as f64,
                wind.iter().copied().fold(f64::NEG_INFINITY, f64::max) / 3.6e6,
                rain.len() as f64,
                rain.iter().filter(|rain| rain.one().is_none()).count() as f64,
                rain.iter().filter_map(|rain| rain.one()).sum(),
            ];
            for (place, found) in found.iter().enumerate() {
                compared += 1;
                let expected: f64 = row[place + 1].parse().unwrap();
                if (found - expected).abs() > 0.001 {
                    wrong.push(format!("{} column {}: {found}, expected {expected}", &row[0], place + 1));
                }
            }
        }
        assert!(compared > 3000, "{compared}");
        assert!(
            wrong.is_empty(),
            "{} are not as expected:\n{}",
            wrong.len(),
            wrong[..wrong.len().min(20)].join("\n")
        );
    }

    /// The tables of Guam also have the chance of rain, which is not read, and no other titles of instants.
    fn guam(file: &str) -> Intake {
        let zone = chrono_tz::Pacific::Guam;
        let intake =
            taken(&format!("real/{file}.json"), zone, at("2026-05-14T16:36:00Z"), &FormAnswers::default());
        let wrong = compare(file, &intake, &format!("real/{file}.expected.csv"), 0);
        assert!(
            wrong.is_empty(),
            "{} are not as expected:\n{}",
            wrong.len(),
            wrong[..wrong.len().min(20)].join("\n")
        );
        intake
    }

    #[test]
    fn a_forecast_of_guam_by_its_grid() {
        let intake = guam("nws-gridpoint-guam-2026-05-14");
        assert_eq!(intake.hours.len(), 198);
        assert_eq!(intake.issued, Some(at("2026-05-14T15:20:52Z")));
        assert!(intake.totals.iter().all(|total| (total.to - total.from).num_hours() > 1));
        assert_eq!(intake.totals.len(), 18);
    }

    #[test]
    fn the_same_forecast_by_its_hours_with_rounded_wind() {
        let intake = guam("nws-hourly-guam-2026-05-14");
        assert_eq!(intake.hours.len(), 156);
        assert!(intake.facts.contains(&FormFact::RoundedWind));
    }

    #[test]
    fn one_observation_is_one_hour() {
        let file = "real/nws-observation-guam-2026-05-14.json";
        let intake =
            taken(file, chrono_tz::Pacific::Guam, at("2026-05-14T16:36:00Z"), &FormAnswers::default());
        // PGUM 141554Z 10008KT … 27/24 … T02720244: 8 knots, 27.2 and 24.4 °C at the hour of 16:00 UTC.
        let hour = intake.hours.iter().find(|hour| hour.begins == at("2026-05-14T16:00:00Z")).unwrap();
        let one = |column| hour.value(column).unwrap().one().unwrap();
        assert!((one(Column::Temperature) - 27.2).abs() < 1e-9);
        assert!((one(Column::DewPoint) - 24.4).abs() < 1e-9);
        assert!((one(Column::Wind) / 1e6 - 14.76).abs() < 1e-9);
        let before = intake.hours.iter().find(|hour| hour.begins == at("2026-05-14T15:00:00Z")).unwrap();
        assert_eq!(before.value(Column::Rain), Some(HourBounds::is(0.0)));
    }
}

/// A forecast in words.
mod words {
    use super::*;
    use bloomward::intake::{DayCurve, ToldUnits, told};

    fn units(symbol: &str) -> ToldUnits {
        // Measured on the Tuesday of the words: low 62, high 82 °F.
        let base = |degrees: f64| plain("°F").unwrap().point_to_base(degrees);
        ToldUnits { temperature: plain(symbol).unwrap(), measured_today: Some((base(62.0), base(82.0))) }
    }

    fn said(text: &str, symbol: &str, answers: &FormAnswers) -> Result<Intake, String> {
        let mut sources = Sources::default();
        let id = sources.add("forecast", text);
        let site = site(HERE);
        let as_of = DateTime::parse_from_rfc3339("2027-02-09T17:30:00-04:00").unwrap().to_utc();
        let place = IntakePlace { site: &site, as_of, answers };
        told(id, text, &place, &units(symbol))
            .map_err(|problem| format!("{}: {}", sources.locate(problem.at), problem.message))
    }

    #[test]
    fn the_words_of_a_grower_become_the_hours_expected() {
        let text = fs::read_to_string(forms().join("forecast-words.txt")).unwrap();
        let intake = said(&text, "°F", &FormAnswers::default()).unwrap();
        assert_eq!(asked(&intake), ["dry-otherwise?", "wind-otherwise?"]);
        let expected = expected("forecast-words.expected.csv");
        assert_eq!(intake.hours.len(), expected.len());
        let mut wrong = Vec::new();
        for (time, row) in &expected {
            let hour = intake.hours.iter().find(|hour| hour.begins == moment(time)).unwrap();
            // Sunrise may differ by a minute or two: 0.3 °F.
            for (column, tolerance) in
                [(Column::Temperature, 0.3 * 5.0 / 9.0), (Column::Rain, 1e-3), (Column::Wind, 2e3)]
            {
                wrong.extend(hold(time, hour.value(column), column.word(), row, tolerance));
            }
            assert_eq!(hour.value(Column::Humidity), None, "nothing was said of it");
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        let total: Vec<_> = intake.totals.iter().map(|total| total.amount.one().unwrap()).collect();
        assert_eq!(total, [15.24]);
    }

    #[test]
    fn what_was_not_said_is_taken_once_it_is_answered() {
        let text = "tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63";
        let given = answers(&[(Topic::DryOtherwise, "yes"), (Topic::WindOtherwise, "5-10 mph")]);
        let intake = said(text, "°F", &given).unwrap();
        assert!(intake.questions.is_empty());
        let at = |time: &str| *intake.hours.iter().find(|hour| hour.begins == moment(time)).unwrap();
        assert_eq!(at("2027-02-10T10:00-04:00").value(Column::Rain), Some(HourBounds::is(0.0)));
        let wind = at("2027-02-10T10:00-04:00").value(Column::Wind).unwrap();
        let mph = plain("mph").unwrap();
        assert!(
            (mph.amount_from_base(wind.from) - 5.0).abs() < 1e-9
                && (mph.amount_from_base(wind.to) - 10.0).abs() < 1e-9
        );
    }

    #[test]
    fn spanish_words_give_the_same_hours() {
        let english =
            said("tonight 16 calm dry; wed 27 rain 14-18h 15 mm; thu low 17", "°C", &FormAnswers::default());
        let spanish = said(
            "esta noche 16 calma seco; mié 27 lluvia 14-18h 15 mm; jue mínima 17",
            "°C",
            &FormAnswers::default(),
        );
        let (english, spanish) = (english.unwrap(), spanish.unwrap());
        assert!(english.hours.len() > 30);
        assert_eq!(english.hours, spanish.hours);
    }

    #[test]
    fn other_ways_to_say_it() {
        let hours = |text: &str| said(text, "°F", &FormAnswers::default()).unwrap().hours;
        let usual = hours("tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63");
        for text in [
            "Tonight: low 61F, calm, no rain\nWednesday high 80, rain 2 pm to 6 pm 0.6in\nThursday low 63",
            "tonight 61° calm and dry; tomorrow 80 showers 2-6pm .6 inches; wed night 63",
            "tonight 61 calm dry; wed 80 rain 14:00-18:00 0.6 in; thu low 63",
        ] {
            let text = text.replace("tonight:", "tonight").replace("Tonight:", "Tonight");
            assert_eq!(hours(&text), usual, "{text}");
        }
    }

    #[test]
    fn what_is_not_understood_is_named_at_its_place() {
        let refused = |text: &str, symbol: &str| said(text, symbol, &FormAnswers::default()).unwrap_err();
        assert!(refused("tonight 61; wed 80 bloop", "°F").contains("`bloop` is not understood"));
        assert!(refused("tonight 61; wed 80 bloop", "°F").starts_with("forecast:1:20"));
        assert!(refused("61 calm", "°F").contains("of which day"));
        assert!(refused("wed 80", "°C").contains("80 cannot be a temperature in °C"));
        assert!(refused("", "°C").contains("says nothing"));
    }

    /// Worked hours of the curve, from three independent codes.
    #[test]
    fn the_curve_of_a_day_is_that_of_the_reference() {
        let text = fs::read_to_string(forms().join("hourly-from-min-max.csv")).unwrap();
        let before = DayCurve { low: 16.0, high: 28.0, next_low: 16.0, sunrise: 6.86, sunset: 18.39 };
        let day = DayCurve { low: 16.0, high: 27.0, next_low: 17.0, sunrise: 6.85, sunset: 18.40 };
        let rows: Vec<&str> = text.lines().skip(2).collect();
        assert_eq!(rows.len(), 24);
        for row in rows {
            let cells: Vec<f64> = row.split(',').map(|cell| cell.parse().unwrap()).collect();
            let hour = cells[0];
            let found = if hour < day.begins() { before.at(hour + 24.0) } else { day.at(hour) };
            assert!((found - cells[1]).abs() < 1e-6, "hour {hour}: {found}, expected {}", cells[1]);
        }
    }
}
