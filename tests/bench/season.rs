//! A season of a grove of 120 trees: 180 days of hourly weather, scouting twice a week, six sprays, the humid lowland's rulebook;
//! every morning advised, as `season` does it. What it takes is said below by what runs: the whole walk, the same with the advice
//! taken as followed, and the grove alone as it stood on each morning.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::advice::Depth;
use bloomward::problems::Refusal;
use bloomward::replay::{ReplayWanted, replay};
use bloomward::workspace::{GroveRequest, MemoryStore, OpenGrove, Purpose, Store, open_grove};
use chrono::{Duration, NaiveDate, NaiveTime, TimeZone, Utc};
use divan::{Bencher, black_box};
use mimalloc::MiMalloc;
use std::fmt::Write;
use std::path::Path;

/// The one of the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() {
    divan::main();
}

/// The grove in memory over the rulebooks of the project.
struct Files(MemoryStore);

impl Store for Files {
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        let of_project = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
        self.0.read(path).or_else(|refusal| std::fs::read_to_string(of_project).map_err(|_| refusal))
    }

    fn exists(&self, path: &Path) -> bool {
        self.0.exists(path) || Path::new(env!("CARGO_MANIFEST_DIR")).join(path).exists()
    }
}

const DAYS: i64 = 180;

fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 12, 1).expect("a day")
}

fn grove() -> OpenGrove {
    let mut yaml = "grove: Bench\nrulebook: rulebooks/humid-lowland.rulebook\nunits: us\n\
         place: { latitude: 18.2, longitude: -66.3, timezone: America/Puerto_Rico }\nweather: { file: weather.csv }\n\
         scouting: scouting.csv\nsprays: sprays.csv\nharvest: 2027-06-20\n\
         sprayer: { kind: handgun, tank: 25 gal, per-tree: 1.5 gal, pace: 25 gal / h }\nblocks:\n"
        .to_owned();
    for block in ["low", "mid", "high"] {
        let _ = writeln!(yaml, "  - {{ block: {block}, spacing: 24 ft x 20 ft }}");
    }
    yaml += "trees:\n";
    for tree in 0..120 {
        let block = ["low", "mid", "high"][tree / 40];
        let cultivar = ["Kent", "Haden", "Sabine", "Tommy Atkins"][tree / 10 % 4];
        let _ = writeln!(yaml, "  - {{ tree: T{tree:03}, block: {block}, cultivar: {cultivar} }}");
    }
    let mut weather = "time,temperature [°C],humidity [%],rain [mm],wind [km/h]\n".to_owned();
    let begin = first().and_time(NaiveTime::MIN);
    for hour in 0..DAYS * 24 {
        let (at, day) = (begin + Duration::hours(hour), hour / 24);
        let of_day = (hour % 24 - 14).abs();
        let rain = if day % 9 > 6 && hour % 7 == 0 { 3 } else { 0 };
        let humidity = (60 + of_day * 3 + day % 5).min(99);
        let _ = writeln!(
            weather,
            "{},{},{humidity},{rain},{}",
            at.format("%Y-%m-%dT%H:%M"),
            29 - of_day,
            2 + hour % 8
        );
    }
    let stages = [
        "dormant",
        "bud-swell",
        "bud-burst",
        "axis-growing",
        "first-open",
        "full-bloom",
        "petal-fall",
        "pea",
        "grown",
    ];
    let mut scouting =
        "when,on,stage,open-flowers,fruit-set,mildew,blight,panicle-length,fruit-size,dead-wood,fruit-touching\n".to_owned();
    for walk in 0..DAYS / 3 {
        let day = first() + Duration::days(walk * 3);
        for range in 0..12 {
            let at = ((walk + range) * stages.len() as i64 / (DAYS / 3 + 12)) as usize;
            let open = if at == 5 { 70 } else { 0 };
            let (mildew, on) = (walk * 7 % 20, range * 10);
            let _ = writeln!(
                scouting,
                "{day},T{on:03}-T{:03},{},{open} %,{},{mildew} of 100,0 of 100,{} in,0.5 in,no,no",
                on + 9,
                stages[at],
                if at > 5 { 4 } else { 0 },
                at
            );
        }
    }
    let mut sprays = "start,end,on,product,strength\n".to_owned();
    for spray in 0..6 {
        let day = first() + Duration::days(20 + spray * 22);
        let product = ["sulfur", "copper"][spray as usize % 2];
        let _ = writeln!(sprays, "{day}T05:30,{day}T08:00,grove,{product},full");
    }
    let store = Files(
        MemoryStore::default()
            .with("grove.yaml", yaml)
            .with("weather.csv", weather)
            .with("scouting.csv", scouting)
            .with("sprays.csv", sprays),
    );
    let end = (first() + Duration::days(DAYS - 1)).format("%Y-%m-%dT23:00").to_string();
    let opened = open_grove(&GroveRequest {
        store: &store,
        grove: Path::new("grove.yaml"),
        by: None,
        library: None,
        as_of: Some(&end),
        now: Utc.with_ymd_and_hms(2027, 6, 1, 0, 0, 0).single().expect("a moment"),
        purpose: Purpose::Season,
    });
    opened.unwrap_or_else(|_| panic!("the grove is sound"))
}

fn season(bencher: Bencher, assume_sprayed: bool) {
    let open = grove();
    let trees: Vec<usize> = (0..open.grove.trees.len()).collect();
    let wanted = ReplayWanted {
        days: (first(), first() + Duration::days(DAYS - 1)),
        at: NaiveTime::from_hms_opt(5, 0, 0).expect("a time"),
        assume_sprayed,
        trees: &trees,
        depth: Depth::Verdict,
    };
    bencher.bench_local(|| black_box(replay(&open, &wanted, |_| {}).days.len()));
}

#[divan::bench]
fn advised_each_morning(bencher: Bencher) {
    season(bencher, false);
}

#[divan::bench]
fn taken_as_followed(bencher: Bencher) {
    season(bencher, true);
}

#[divan::bench]
fn the_grove_as_it_stood(bencher: Bencher) {
    let open = grove();
    let zone = open.site.zone();
    bencher.bench_local(|| {
        let days = (0..DAYS).map(|day| (first() + Duration::days(day)).and_hms_opt(5, 0, 0).expect("a time"));
        let mornings = days.filter_map(|day| zone.from_local_datetime(&day).single());
        black_box(mornings.filter(|morning| open.grove.at(*morning).is_ok()).count())
    });
}
