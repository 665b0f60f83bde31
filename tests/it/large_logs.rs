//! Long records give the answers of a plain small reading: histories of many rows, and windows that reach far back in
//! many years of hours. Nothing here is timed; `tests/bench/large_logs.rs` is.

use crate::case::case;
use crate::grove::read;
use crate::past_labels::BOOK;
use crate::weather_measures::{hours, measure, moment, plan};
use bloomward::labels::{LineKept, label_record, later_broken};
use bloomward::measure::{Extent, History, LastSpray, Reading, Truth, WeatherMeasures};
use bloomward::plan::{NameId, ProductId, Sprayed};
use bloomward::weather::{Column, Site};
use bloomward::workspace::OpenGrove;
use chrono::{DateTime, Duration, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::sync::Arc;

/// Numbers that look random and are the same each time.
pub struct Dice(pub u64);

impl Dice {
    /// Returns a number below a bound.
    pub fn below(&mut self, count: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % count
    }
}

const TREES: [&str; 5] = ["A01", "A02", "A03", "B01", "B02"];

#[test]
fn histories_of_many_rows_are_those_of_a_plain_reading() {
    for (seed, rows) in [(1, 3), (2, 40), (3, 400), (4, 2_000)] {
        let mut dice = Dice(seed);
        let mut text = String::from("start,end,on,product,strength\n");
        let mut expected: BTreeMap<&str, Vec<String>> =
            TREES.iter().map(|tree| (*tree, Vec::new())).collect();
        let mut start = moment("2015-01-01T09:00:00Z");
        for _ in 0..rows {
            // A row may name a tree twice: a range, and the tree beside it.
            let (on, trees): (&str, &[&str]) = match dice.below(8) {
                0 => ("grove", &TREES),
                1 => ("terrace", &TREES[..3]),
                2 => ("hollow", &TREES[3..]),
                3 => ("A01-A02; A02", &TREES[..2]),
                4 => ("A03; hollow", &TREES[2..]),
                5 => ("A01", &TREES[..1]),
                6 => ("A02", &TREES[1..2]),
                _ => ("B02", &TREES[4..]),
            };
            let (from, to) = (start.format("%Y-%m-%dT%H:%M"), start + Duration::minutes(30));
            let to = to.format("%Y-%m-%dT%H:%M");
            writeln!(text, "{from},{to},{on},copper,full").unwrap();
            for tree in trees {
                expected.get_mut(tree).unwrap().push(from.to_string());
            }
            start += Duration::hours(40);
        }
        let read = read(&[("sprays.csv", &text)]);
        let grove = read.whole();
        let found = |tree: &str| {
            let tree = grove.trees.find(tree).unwrap();
            let sprays = grove.log.of_tree(tree).map(|row| row.start.format("%Y-%m-%dT%H:%M").to_string());
            sprays.collect::<Vec<_>>()
        };
        for tree in TREES {
            assert_eq!(found(tree), expected[tree], "{tree} of {rows} rows");
        }
        // As many histories as there are different ones, numbered by their first trees.
        let mut different: Vec<&Vec<String>> = Vec::new();
        for (at, tree) in TREES.iter().enumerate() {
            let number = different.iter().position(|known| **known == expected[tree]);
            let number = number.unwrap_or_else(|| {
                different.push(&expected[tree]);
                different.len() - 1
            });
            assert_eq!(grove.log.history_of(at), number, "{tree} of {rows} rows");
        }
        assert_eq!(grove.log.histories(), different.len());
        // The log as it stood before its middle row.
        let middle = &grove.log.rows()[rows / 2];
        let before = grove.log.before(middle, &grove.trees);
        for (at, tree) in TREES.iter().enumerate() {
            let earlier = expected[tree]
                .iter()
                .filter(|start| **start < middle.start.format("%Y-%m-%dT%H:%M").to_string());
            assert_eq!(
                before.of_tree(at).count(),
                earlier.count(),
                "{tree} before the middle of {rows} rows"
            );
        }
    }
}

/// A tree whose one spray ended at a moment.
struct LongAgo(DateTime<Utc>);

impl History for LongAgo {
    fn number(&self) -> usize {
        self.0.timestamp() as usize
    }

    fn last_spray(&self, _: &Sprayed) -> LastSpray {
        LastSpray::Ended(self.0)
    }

    fn sprays_on(&self, _: NaiveDate, _: u16, _: &Sprayed) -> Reading {
        Reading::known(Extent::number(0.0))
    }

    fn amount_on(&self, _: NaiveDate, _: u16, _: &str) -> Reading {
        Reading::known(Extent::number(0.0))
    }

    fn date_of(&self, _: NameId) -> Reading {
        Reading::known(Extent::EMPTY)
    }
}

const ITEMS: &str = "hourly soaked = total rain over 6 h to that hour\n\
    hourly long-soaked = mean soaked over 40 h to that hour\n\
    daily rain-of-day = total rain over that day\n\
    measure washed = total rain over since last spray\n\
    measure soaked-hours = hours with long-soaked above 6.03 mm over since last spray\n\
    measure rain-of-days = total rain-of-day over since last spray\n\
    measure longest = longest spell with rain above 0 mm over since last spray\n\
    measure just-now = hours with long-soaked above 6.03 mm over last 72 h\n";

/// A spray years ago reaches farther back than the columns are laid out at first; what is counted from it is what a loop
/// over the hours counts.
#[test]
fn windows_that_reach_back_over_years_of_hours_count_what_a_loop_counts() {
    let count = 5 * 8766;
    let first = moment("2022-01-01T04:00:00Z");
    let as_of = first + Duration::hours(count);
    let mut dice = Dice(9);
    let rain: Vec<u64> = (0..count).map(|_| dice.below(3)).collect();
    let mut csv = String::from("time,rain [mm]\n");
    for (at, rain) in rain.iter().enumerate() {
        let time = first + Duration::hours(at as i64);
        writeln!(csv, "{}Z,{rain}", time.format("%Y-%m-%dT%H:%M")).unwrap();
    }
    let zone = "America/Puerto_Rico";
    let (plan, weather) = (plan("0 %", ITEMS), hours(&csv, zone, as_of, None));
    let site = Site::new(18.0, -66.0, 0.0, zone.parse().unwrap());
    let soaked = |hour: usize| rain[hour - 5..=hour].iter().sum::<u64>() as f64;
    let sums: Vec<f64> = (0..rain.len()).map(|hour| if hour < 5 { 0.0 } else { soaked(hour) }).collect();
    let long_soaked = |hour: usize| sums[hour - 39..=hour].iter().sum::<f64>() / 40.0;
    let holds: Vec<bool> = (0..rain.len()).map(|hour| hour >= 44 && long_soaked(hour) > 6.03).collect();
    let counted = |from: usize| holds[from..].iter().filter(|holds| **holds).count() as f64;
    // Each sky is new, so that none finds what another laid out; the last one goes from near to far.
    let ends = [400, 8_800, 9_000, 9_200, 20_000, 35_000, 43_700];
    let one = WeatherMeasures::new(&plan, Some(&weather), &site, as_of);
    for back in ends {
        let from = rain.len() - back;
        let history = LongAgo(first + Duration::hours(from as i64));
        let day_begins = from.div_ceil(24) * 24;
        let today = rain.len() / 24 * 24;
        let spells = rain[from..].split(|rain| *rain == 0).map(<[u64]>::len);
        let expected = [
            ("washed", rain[from..].iter().sum::<u64>() as f64),
            ("soaked-hours", counted(from)),
            ("rain-of-days", rain[day_begins..today].iter().sum::<u64>() as f64),
            ("longest", spells.max().unwrap() as f64),
            ("just-now", counted(rain.len() - 72)),
        ];
        let new = WeatherMeasures::new(&plan, Some(&weather), &site, as_of);
        for (name, expected) in expected {
            for weather_measures in [&new, &one] {
                let reading = measure(&plan, weather_measures, name, &history);
                assert_eq!(reading.extent, Extent::number(expected), "{name}, {back} h back");
            }
        }
    }
}

/// Forty years of hours are read, each at its place.
#[test]
fn hours_of_forty_years_ago_are_read() {
    let as_of = moment("2027-02-09T08:00:00Z");
    let csv = "time,temperature [°C]\n1987-02-10T00:00,11\n1987-02-10T01:00,12\n2027-02-09T03:00,20\n";
    let weather = hours(csv, "America/Puerto_Rico", as_of, None);
    let value = |time: &str| weather.value(Column::Temperature, weather.grid().hour_of(moment(time)));
    assert_eq!(value("1987-02-10T04:00:00Z"), Some(11.0));
    assert_eq!(value("1987-02-10T05:00:00Z"), Some(12.0));
    assert_eq!(value("1987-02-10T06:00:00Z"), None);
    assert_eq!(value("2027-02-09T07:00:00Z"), Some(20.0));
}

/// The lines of labels that a spray broke, of each tree.
type Broken = BTreeSet<(usize, ProductId, Arc<str>)>;

fn of_trees(lines: Vec<LineKept>) -> Broken {
    let broken = lines.into_iter().filter(|line| line.broken == Truth::Yes);
    let of = |line: LineKept| {
        let (product, written) = (line.product, line.label.written);
        line.trees.into_iter().map(move |tree| (tree, product, written.clone()))
    };
    broken.flat_map(of).collect()
}

/// A spray that is written down late: which later ones it makes break a label, of which tree and jug, is what a look at each
/// of them says, in the log with it and without it.
#[test]
fn the_later_sprays_that_a_late_one_breaks_are_those_of_a_look_at_each() {
    let keys = "shed:\n\
        \x20 copper:\n\
        \x20   - { name: old, registration: demo-0001, form: powder, contains: { copper: 50 % } }\n\
        \x20   - { name: new, registration: demo-0002, form: powder, contains: { copper: 40 % }, interval: 9 d }\n\
        trees:\n  - { tree: A1, cultivar: Kent }\n  - { tree: A2, cultivar: Kent }\n  - { tree: A3, cultivar: Kent }\n";
    let mut told = 0;
    for seed in 1..=60 {
        let mut dice = Dice(seed);
        let mut day = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
        let mut row = |_| {
            day += Duration::days(1 + dice.below(5) as i64);
            let on = ["grove", "A1", "A1-A2", "A3"][dice.below(4) as usize];
            let what = ["copper,old,,3 lb/ac", "copper,new,,3 lb/ac", "oil,,thin,"][dice.below(3) as usize];
            (day, format!("{day}T05:00,{day}T06:00,{on},{what}\n"))
        };
        let rows: Vec<(NaiveDate, String)> = (0..8).map(&mut row).collect();
        let late = rows[dice.below(6) as usize].0;
        let open = |is_kept: &dyn Fn(NaiveDate) -> bool| {
            let kept = rows.iter().filter(|(day, _)| is_kept(*day)).map(|(_, row)| row.as_str());
            let log = format!("start,end,on,product,jug,strength,rate\n{}", kept.collect::<String>());
            case(BOOK, keys).sprays(log).open().ok().expect("a grove")
        };
        let (before, with) = (open(&|day| day != late), open(&|_| true));
        let of = |read: &OpenGrove, day: NaiveDate| {
            let row = read.grove.log.rows().iter().find(|row| row.day() == day).expect("a spray");
            of_trees(label_record(&read.book_plan, &read.grove, row).lines)
        };
        let mut expected: Vec<(NaiveDate, Broken)> = Vec::new();
        for (day, _) in rows.iter().filter(|(day, _)| *day > late) {
            let new: Broken = of(&with, *day).difference(&of(&before, *day)).cloned().collect();
            expected.extend((!new.is_empty()).then_some((*day, new)));
        }
        let row = with.grove.log.rows().iter().find(|row| row.day() == late).expect("the late one");
        let found = later_broken(&with.book_plan, (&before.grove, &with.grove), row);
        let found: Vec<(NaiveDate, Broken)> =
            found.into_iter().map(|(row, record)| (row.day(), of_trees(record.lines))).collect();
        assert_eq!(found, expected, "seed {seed}, late {late}\n{rows:#?}");
        told += found.len();
    }
    assert!(told > 20, "only {told} are told of");
}
