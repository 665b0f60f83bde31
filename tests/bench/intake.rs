//! Taking in a station's file: 20 000 rows of 15 minutes, 5 000 hours, from bytes to hours and into the grove's file. The aim
//! is less than 0.3 s.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::intake::{FormAnswers, Intake, IntakePlace, decode, read};
use bloomward::source::Sources;
use bloomward::weather::{Clash, Column, HourGrid, HoursToAdd, KeptWeather, NewHour, Site, added};
use chrono::{DateTime, Duration, TimeZone, Utc};
use divan::{Bencher, black_box};
use mimalloc::MiMalloc;
use std::collections::BTreeMap;
use std::fmt::Write;

/// The one of the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() {
    divan::main();
}

const ZONE: chrono_tz::Tz = chrono_tz::America::Puerto_Rico;
const ROWS: i64 = 20_000;

fn first() -> DateTime<chrono_tz::Tz> {
    ZONE.with_ymd_and_hms(2026, 6, 1, 0, 15, 0).single().expect("a moment")
}

fn station() -> String {
    let mut text = String::from(
        "\"Date\",\"Time\",\"Outdoor Temp (°F)\",\"Outdoor Hum (%)\",\"Wind Speed (mph)\",\"Gust (mph)\",\"Rain (in)\"\r\n",
    );
    for row in 0..ROWS {
        let at = first() + Duration::minutes(15 * row);
        let (temperature, rain) = (66.0 + (row % 96) as f64 / 6.0, if row % 300 < 4 { 0.02 } else { 0.0 });
        let when = at.format("\"%m/%d/%Y\",\"%-I:%M %p\"");
        let humidity = 60 + row % 40;
        write!(
            text,
            "{when},\"{temperature:.1}\",\"{humidity}\",\"{}\",\"{}\",\"{rain:.2}\"\r\n",
            row % 7,
            row % 11
        )
        .expect("a string takes all");
    }
    text
}

fn taken(bytes: &[u8], site: &Site) -> Intake {
    let text = decode(bytes).expect("a text");
    let mut sources = Sources::default();
    let id = sources.add("station.csv", text.as_ref());
    let as_of = (first() + Duration::minutes(15 * ROWS)).to_utc();
    let answers = FormAnswers::default();
    read(id, &text, &IntakePlace { site, as_of, answers: &answers }).expect("a table")
}

/// From bytes to hours.
#[divan::bench]
fn rows_to_hours(bencher: Bencher<'_, '_>) {
    let (text, site) = (station(), Site::new(18.2, -66.3, 90.0, ZONE));
    assert_eq!(taken(text.as_bytes(), &site).hours.len(), 5000);
    bencher.bench(|| taken(black_box(text.as_bytes()), &site));
}

/// From bytes to the new text of the grove's file.
#[divan::bench]
fn rows_into_the_file(bencher: Bencher<'_, '_>) {
    let (text, site) = (station(), Site::new(18.2, -66.3, 90.0, ZONE));
    let as_of: DateTime<Utc> = (first() + Duration::minutes(15 * ROWS)).to_utc();
    let mut sources = Sources::default();
    let source = sources.add("weather.csv", "");
    bencher.bench(|| {
        let intake = taken(black_box(text.as_bytes()), &site);
        let value = |hour: &bloomward::intake::IntakeHour, column: Column| {
            hour.value(column).map(|value| (column, value.from, value.to))
        };
        let hours: Vec<NewHour> = intake
            .hours
            .iter()
            .map(|hour| NewHour {
                begins: hour.begins,
                values: Column::ALL.iter().filter_map(|(column, _)| value(hour, *column)).collect(),
                rain_over: None,
            })
            .collect();
        let kept = KeptWeather {
            text: "",
            source,
            columns: &BTreeMap::new(),
            issued: None,
            measured_to: None,
            grid: HourGrid::new(ZONE, as_of),
        };
        let units = ["°F", "in", "mph"];
        let new = HoursToAdd { measured: &hours, forecast: None, as_of, units, clash: Clash::Keep };
        added(&kept, &new).expect("a file").text.len()
    });
}
