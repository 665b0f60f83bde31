//! Long records: a spray log, its corrections and labels, scouting, many years of hours. Each is read at sizes n, 2n and 4n,
//! and the cost must grow like them. Medians of one run on a machine with two cores, which was busy with other work:
//!
//! | what | n | 2n | 4n | 4n over n |
//! |---|---|---|---|---|
//! | spray log of 120 trees: 6 250, 12 500, 25 000 rows | 88 ms | 181 ms | 349 ms | 4.0 |
//! | the same, every second row a correction | 85 ms | 171 ms | 385 ms | 4.5 |
//! | labels of one tree, sprayed as often in one season | 16 ms | 35 ms | 72 ms | 4.6 |
//! | labels after the oldest of these, written down last (debug build) | 146 ms | 301 ms | 589 ms | 4.0 |
//! | scouting of 20 trees: 50 000, 100 000, 200 000 rows | 41 ms | 78 ms | 152 ms | 3.7 |
//! | scouting of 2 000 trees: as many rows | 36 ms | 68 ms | 170 ms | 4.7 |
//! | advice for 250, 500, 1 000 trees of which nothing was seen | 666 ms | 665 ms | 714 ms | 1.1 |
//! | 10, 20, 40 years of hours, read | 347 ms | 687 ms | 1.3 s | 3.8 |
//! | the same, prepared | 19 ms | 10 ms | 15 ms | 0.8 |
//!
//! All of it in one program took no more than 147 MB at a time.
//!
//! Quote the ratio of n to 4n, which must stay near 4, and of many trees to few, near 1; ratios of one run, never single
//! times. In the first edition each row of a log copied the history of its trees, so that 4n took 16 times as long and as much
//! memory, and every column of the weather was laid out over all of its hours; later each correction looked through all rows
//! before it, and each spray through all sprays before it for each line of a label; a row written down late was held against a
//! copy of the log for each spray after it.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::advice::Advisor;
use bloomward::check;
use bloomward::grove::{self, Grove, Texts, UnknownNames};
use bloomward::labels::{broken_labels, later_broken};
use bloomward::measure::WeatherMeasures;
use bloomward::plan::Plan;
use bloomward::source::Sources;
use bloomward::weather::{self, Site, Weather};
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

/// The common base, which the regional books are made of.
fn plan() -> Plan {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/rulebooks/base/mango.rulebook");
    let mut sources = Sources::default();
    let id = sources.add("mango.rulebook", std::fs::read_to_string(path).expect("the base is there"));
    let (plan, _) = check::load(id, &mut sources, None, &mut |_| Err("no base".to_string()));
    plan.expect("the base is sound")
}

fn as_of() -> DateTime<chrono_tz::Tz> {
    ZONE.with_ymd_and_hms(2027, 2, 9, 4, 0, 0).single().expect("a moment")
}

/// The files of a grove of so many trees.
struct Files {
    plan: Plan,
    yaml: String,
    trees: String,
    scouting: String,
    sprays: String,
}

impl Files {
    fn new(trees: usize) -> Self {
        let yaml = "grove: Large\nplace: { latitude: 18.2, longitude: -66.3, elevation: 90 m, timezone: America/Puerto_Rico }\n\
                    trees: trees.csv\nscouting: scouting.csv\nsprays: sprays.csv\n";
        let mut list = String::from("tree,block\n");
        for tree in 0..trees {
            writeln!(list, "T{tree:05},{}", ["terrace", "slope"][tree % 2]).expect("a string takes all");
        }
        let (scouting, sprays) =
            ("when,on,mildew\n".to_string(), "start,end,on,product,strength,corrects\n".to_string());
        Self { plan: plan(), yaml: yaml.to_string(), trees: list, scouting, sprays }
    }

    fn read(&self) -> Grove {
        let mut sources = Sources::default();
        let id = sources.add("grove.yaml", self.yaml.as_str());
        let (outline, _) = grove::outline(id, &sources);
        let outline = outline.expect("the grove is sound");
        let mut add = |name: &str, text: &str| Some(sources.add(name, text));
        let texts = Texts {
            trees: add("trees.csv", &self.trees),
            scouting: add("scouting.csv", &self.scouting),
            sprays: add("sprays.csv", &self.sprays),
            bloom: None,
        };
        let (grove, problems) =
            grove::read(&outline, texts, &self.plan, as_of(), UnknownNames::Refuse, &sources);
        assert!(!problems.any_error(), "{}", problems.plain(&sources));
        grove.expect("the grove is sound")
    }
}

/// A spray log over 120 trees: the grove, a block or one tree in turn, so that all trees differ.
#[divan::bench(args = [6_250, 12_500, 25_000], sample_count = 5, sample_size = 1)]
fn history(bencher: Bencher<'_, '_>, rows: usize) {
    let mut files = Files::new(120);
    let mut start = as_of().naive_local() - Duration::minutes(150 * (rows as i64 + 1));
    for row in 0..rows {
        let on = match row % 4 {
            0 => "grove".to_string(),
            1 => "terrace".to_string(),
            _ => format!("T{:05}", row * 7 % 120),
        };
        let end = start + Duration::minutes(45);
        let (from, to) = (start.format("%Y-%m-%dT%H:%M"), end.format("%Y-%m-%dT%H:%M"));
        writeln!(files.sprays, "{from},{to},{on},sulfur,full").expect("a string takes all");
        start += Duration::minutes(150);
    }
    bencher.bench(|| black_box(files.read()));
}

/// A spray log of which every second row corrects one of the first half.
#[divan::bench(args = [6_250, 12_500, 25_000], sample_count = 5, sample_size = 1)]
fn corrections(bencher: Bencher<'_, '_>, rows: usize) {
    let mut files = Files::new(120);
    let first = as_of().naive_local() - Duration::minutes(90 * rows as i64);
    for row in 0..rows {
        let of = row % (rows / 2);
        let start = first + Duration::minutes(180 * of as i64);
        let end = start + Duration::minutes(45 + i64::from(row != of));
        let (from, to) = (start.format("%Y-%m-%dT%H:%M"), end.format("%Y-%m-%dT%H:%M"));
        let corrects = if row == of { String::new() } else { format!("row {}", of + 2) };
        writeln!(files.sprays, "{from},{to},T{:05},sulfur,full,{corrects}", of % 120)
            .expect("a string takes all");
    }
    bencher.bench(|| black_box(files.read()));
}

/// A grove of one tree with a spray every six minutes, all of one season, without the first so many of them.
fn one_tree(rows: usize, without: usize) -> (Plan, Grove) {
    let mut files = Files::new(1);
    let first = as_of().naive_local() - Duration::minutes(6 * (rows as i64 + 1));
    for row in without..rows {
        let start = first + Duration::minutes(6 * row as i64);
        let end = start + Duration::minutes(5);
        let (from, to) = (start.format("%Y-%m-%dT%H:%M"), end.format("%Y-%m-%dT%H:%M"));
        let product = ["sulfur", "copper"][row % 2];
        writeln!(files.sprays, "{from},{to},T00000,{product},full").expect("a string takes all");
    }
    (files.plan.clone(), files.read())
}

/// The labels of all sprays of one tree.
#[divan::bench(args = [6_250, 12_500, 25_000], sample_count = 5, sample_size = 1)]
fn labels_of_one_tree(bencher: Bencher<'_, '_>, rows: usize) {
    let (plan, grove) = one_tree(rows, 0);
    bencher.bench(|| black_box(broken_labels(&plan, &grove)));
}

/// The oldest spray of one tree written down last: which of all that came after it break a label by it.
#[divan::bench(args = [6_250, 12_500, 25_000], sample_count = 5, sample_size = 1)]
fn labels_after_a_late_row(bencher: Bencher<'_, '_>, rows: usize) {
    let ((plan, with), (_, before)) = (one_tree(rows, 0), one_tree(rows, 1));
    let late = with.log.rows().first().expect("a spray");
    bencher.bench(|| black_box(later_broken(&plan, (&before, &with), late)));
}

/// Advice for trees of which nothing was seen, each sprayed twelve times at times of its own.
#[divan::bench(args = [250, 500, 1_000], sample_count = 3, sample_size = 1)]
fn advice_where_nothing_was_seen(bencher: Bencher<'_, '_>, trees: usize) {
    let mut files = Files::new(trees);
    let first = as_of().naive_local() - Duration::days(120);
    for row in 0..12 * trees {
        let start = first + Duration::minutes((row * 170_000 / (12 * trees)) as i64);
        let end = start + Duration::minutes(5);
        let (from, to) = (start.format("%Y-%m-%dT%H:%M"), end.format("%Y-%m-%dT%H:%M"));
        writeln!(files.sprays, "{from},{to},T{:05},sulfur,full", row % trees).expect("a string takes all");
    }
    let grove = files.read();
    let now = as_of().with_timezone(&Utc);
    let weather_measures = WeatherMeasures::new(&files.plan, None, &Site::new(18.2, -66.3, 90.0, ZONE), now);
    bencher.bench(|| Advisor::new(&files.plan, &grove, &weather_measures, as_of()).advise().trees.len());
}

/// Scouting of 2 000 trees, and the last value of each.
#[divan::bench(args = [50_000, 100_000, 200_000], sample_count = 5, sample_size = 1)]
fn scouting_of_many_trees(bencher: Bencher<'_, '_>, rows: usize) {
    scouting(bencher, rows, 2_000);
}

/// Scouting of 20 trees, and the last value of each.
#[divan::bench(args = [50_000, 100_000, 200_000], sample_count = 5, sample_size = 1)]
fn scouting_of_few_trees(bencher: Bencher<'_, '_>, rows: usize) {
    scouting(bencher, rows, 20);
}

fn scouting(bencher: Bencher<'_, '_>, rows: usize, trees: usize) {
    let mut files = Files::new(trees);
    let first = as_of().date_naive() - Duration::days(1800);
    for row in 0..rows {
        let day = first + Duration::days((row * 1800 / rows) as i64);
        writeln!(files.scouting, "{day},T{:05},{} %", row % trees, row % 31).expect("a string takes all");
    }
    let mildew = files.plan.name("mildew").expect("the base asks for it");
    bencher.bench(|| {
        let grove = files.read();
        (0..trees).filter_map(|tree| black_box(grove.seen(tree, mildew))).count()
    });
}

fn hours(years: i64) -> String {
    let count = years * 8766;
    let mut text = String::from("time,temperature [°F],humidity [%],rain [in],wind [mph]\n");
    let mut time = as_of().naive_local() - Duration::hours(count);
    for hour in 0..count {
        let (air, rain) = (62 + hour % 24, u8::from(hour % 37 == 0));
        let (humidity, wind) = (60 + hour * 7 % 40, hour % 9);
        writeln!(text, "{},{air}.5,{humidity},0.{rain}0,{wind}.5", time.format("%Y-%m-%dT%H:%M"))
            .expect("a string takes all");
        time += Duration::hours(1);
    }
    text
}

fn read_hours(text: &str) -> Weather {
    let mut sources = Sources::default();
    let source = sources.add("weather.csv", text);
    let (weather, problems) = weather::read(&weather::WeatherFile {
        text,
        source,
        columns: &BTreeMap::new(),
        zone: ZONE,
        as_of: as_of().with_timezone(&Utc),
        forecast_issued: None,
        measured_to: None,
        gauge: &BTreeMap::new(),
    });
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    weather
}

/// Years of hours, from text to a timeline.
#[divan::bench(args = [10, 20, 40], sample_count = 5, sample_size = 1)]
fn hours_read(bencher: Bencher<'_, '_>, years: i64) {
    let text = hours(years);
    bencher.bench(|| black_box(read_hours(&text)));
}

/// What the base's rulebook takes of years of hours.
#[divan::bench(args = [10, 20, 40], sample_count = 5, sample_size = 1)]
fn hours_prepared(bencher: Bencher<'_, '_>, years: i64) {
    let (plan, weather) = (plan(), read_hours(&hours(years)));
    let site = Site::new(18.2, -66.3, 90.0, ZONE);
    bencher.bench(|| {
        let weather_measures =
            WeatherMeasures::new(&plan, Some(&weather), &site, as_of().with_timezone(&Utc));
        let names =
            plan.named().filter(|(_, name)| matches!(name.origin, bloomward::plan::Origin::Measure(_)));
        let differing = names.filter(|(id, _)| weather_measures.differs_with_sprays(*id)).count();
        black_box((differing, weather_measures.hour_under_way()))
    });
}
