//! Groves of random trees and weather, advised by a rulebook: the verdict of each tree, what is shut for it, and its values.

use bloomward::advice::Advisor;
use bloomward::grove::{self, Texts, UnknownNames};
use bloomward::measure::{Extent, Gauged, Sky};
use bloomward::plan::{Place, Plan};
use bloomward::source::Sources;
use bloomward::trace::{Shutter, Truth, Verdict};
use bloomward::weather::{self, Site};
use chrono::{Duration, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// How many trees a grove has.
const TREES: usize = 60;

/// Dice of a seed: the generator SplitMix64, with its published constants.
pub struct Dice(pub u64);

impl Dice {
    /// Throws a number below another.
    pub fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 33) as usize % count
    }

    fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        words[self.below(words.len())]
    }
}

/// A grove in text.
pub struct Grove {
    yaml: String,
    weather: String,
    sprays: String,
    seen: Vec<String>,
    /// Whether it is certified organic.
    pub certified: bool,
}

/// What is told of a tree.
pub struct Told {
    /// Its name.
    pub tree: String,
    /// The verdict.
    pub verdict: Verdict,
    /// The products that are certainly shut for it, by gates and caps of today.
    pub shut: BTreeSet<String>,
    /// What was seen of it.
    pub seen: String,
    names: BTreeMap<String, Vec<Extent>>,
}

impl Told {
    /// Returns what a name is: once, or once for each group of panicles.
    pub fn readings(&self, name: &str) -> Vec<Extent> {
        self.names.get(name).cloned().unwrap_or_default()
    }
}

const STAGES: [&str; 15] = [
    "dormant",
    "bud-swell",
    "bud-burst",
    "axis-growing",
    "spreading",
    "petal-tips",
    "first-open",
    "half-open",
    "full-bloom",
    "petal-fall",
    "pinhead",
    "pea",
    "marble",
    "egg",
    "grown",
];

/// How many of the stages are those of closed buds.
const CLOSED: usize = 6;

/// Makes some groves: the weather of each is drawn anew, from cool and dry to hot and wet.
pub fn groves(dice: &mut Dice, count: usize) -> Vec<Grove> {
    (0..count).map(|_| grove(dice)).collect()
}

fn grove(dice: &mut Dice) -> Grove {
    let mut trees = String::new();
    let mut seen = Vec::new();
    for tree in 0..TREES {
        // Most trees are one group of panicles, some are two.
        let group = |dice: &mut Dice| {
            let stage = dice.one_of(&STAGES);
            let early = STAGES.iter().position(|it| *it == stage).unwrap_or(0) < CLOSED;
            let open = if early {
                "0 %"
            } else {
                dice.one_of(&[
                    "0 %", "5 %", "9 %", "10 %", "11 %", "15 %", "20 %", "22 %", "25 %", "30 %", "60 %",
                    "90 %",
                ])
            };
            let fruit = if early { "0" } else { dice.one_of(&["0", "1", "4", "5", "6", "12", "40"]) };
            let length = dice.one_of(&["2 cm", "4 cm", "5 cm", "6 cm", "20 cm"]);
            let size = dice.one_of(&["4 mm", "13 mm", "15 mm", "17 mm", "40 mm"]);
            format!(
                "stage: {stage}, open-flowers: {open}, fruit-set: {fruit}, panicle-length: {length}, fruit-size: {size}"
            )
        };
        let own = format!(
            "mildew: {}, blight: {}, dead-wood: {}, fruit-touching: {}, scab-spots: {}, frost-burn: {}",
            dice.one_of(&["0 %", "2 %", "5 %", "8 %", "10 %", "12 %", "20 %", "40 %", "80 %"]),
            dice.one_of(&["0 %", "2 %", "5 %", "8 %", "10 %", "12 %", "20 %", "40 %", "80 %"]),
            dice.one_of(&["yes", "no"]),
            dice.one_of(&["yes", "no"]),
            dice.one_of(&["0 %", "4 %", "5 %", "10 %", "30 %"]),
            dice.one_of(&["yes", "no", "no"]),
        );
        let cultivar = dice.one_of(&[
            "Kent",
            "Haden",
            "Sabine",
            "Tommy Atkins",
            "Edward",
            "Chino",
            "Van Dyke",
            "unheard of",
        ]);
        let panicles = if dice.below(8) == 0 {
            format!("panicles: [ {{ share: 60 %, {} }}, {{ share: 40 %, {} }} ]", group(dice), group(dice))
        } else {
            group(dice)
        };
        let words = format!("{panicles}, {own}");
        let _ = writeln!(trees, "  - {{ tree: T{tree}, cultivar: {cultivar}, {words} }}");
        seen.push(format!("{cultivar}, {words}"));
    }
    let harvest = dice.one_of(&["2027-02-16", "2027-02-25", "2027-03-10", "2027-06-20"]);
    let certified = dice.below(4) == 0;
    let key = if certified { "certified: organic\n" } else { "" };
    let yaml = format!(
        "grove: Random grove\nrulebook: test.rulebook\n\
         place: {{ latitude: 18.20, longitude: -66.30, elevation: 90 m, timezone: America/Puerto_Rico }}\n\
         as-of: 2027-02-11T05:30\nweather: {{ file: weather.csv, forecast-issued: 2027-02-11T05:00 }}\n\
         {key}harvest: {harvest}\nsprays: sprays.csv\nseen: 2027-02-10\npollinators-seen: no\ntrees:\n{trees}"
    );
    Grove { yaml, weather: weather_of(dice), sprays: sprays_of(dice), seen, certified }
}

/// Draws hourly weather of some weeks before and some days after: cool or hot, dry or wet, as the dice fall.
fn weather_of(dice: &mut Dice) -> String {
    let (low, high) = (50 + dice.below(22), 74 + dice.below(20));
    let (dry, wet) = (50 + dice.below(40), 78 + dice.below(23));
    let rain = dice.below(30);
    let mut text = "time,temperature [°F],humidity [%],rain [mm],wind [mph]\n".to_owned();
    let from =
        NaiveDate::from_ymd_opt(2026, 12, 20).and_then(|day| day.and_hms_opt(0, 0, 0)).expect("a time");
    for hour in 0..24 * 60 {
        let time = from + Duration::hours(hour);
        // Coolest at five, warmest in the afternoon.
        let share = (1.0 - (((hour % 24) as f64 - 5.0) / 24.0 * std::f64::consts::TAU).cos()) / 2.0;
        let degrees = low as f64 + share * (high as f64 - low as f64) + dice.below(5) as f64 - 2.0;
        let humidity =
            (wet as f64 - share * (wet as f64 - dry.min(wet) as f64) + dice.below(5) as f64 - 2.0).min(100.0);
        let fallen = if dice.below(200) < rain { dice.below(60) as f64 / 10.0 } else { 0.0 };
        let _ = writeln!(
            text,
            "{},{degrees:.1},{humidity:.0},{fallen:.1},{}",
            time.format("%Y-%m-%dT%H:%M"),
            dice.below(14)
        );
    }
    text
}

/// Draws a spray log: some trees got something in the last weeks.
fn sprays_of(dice: &mut Dice) -> String {
    let mut rows: Vec<String> = Vec::new();
    for tree in 0..TREES {
        for _ in 0..dice.below(4) {
            let product = dice.one_of(&[
                "copper",
                "sulfur",
                "potassium-bicarbonate",
                "oil",
                "mancozeb",
                "azoxystrobin",
            ]);
            let day =
                NaiveDate::from_ymd_opt(2027, 2, 10).expect("a day") - Duration::days(dice.below(34) as i64);
            rows.push(format!("{day}T05:00,{day}T05:30,T{tree},{product},reduced\n"));
        }
    }
    rows.sort();
    format!("start,end,on,product,strength\n{}", rows.concat())
}

impl Grove {
    /// Advises all trees by a rulebook.
    pub fn told(&self, plan: &Plan) -> Vec<Told> {
        let mut sources = Sources::default();
        let yaml = sources.add("grove.yaml", self.yaml.as_str());
        let (outline, mut problems) = grove::outline(yaml, &sources);
        let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
        let as_of = outline.as_of.expect("a moment");
        let texts = Texts {
            trees: None,
            scouting: None,
            sprays: Some(sources.add("sprays.csv", self.sprays.as_str())),
        };
        // One rulebook asks for something that another does not.
        let (read, found) = grove::read(&outline, texts, plan, as_of, UnknownNames::LeaveOut, &sources);
        problems.extend(found);
        let text = sources.add("weather.csv", self.weather.as_str());
        let (weather, found) = weather::read(&weather::WeatherFile {
            text: sources.get(text).map_or("", |it| &it.text),
            source: text,
            columns: &BTreeMap::new(),
            zone: outline.place.zone,
            as_of: as_of.with_timezone(&Utc),
            forecast_issued: outline.weather.as_ref().and_then(|it| it.forecast_issued).map(|it| it.to_utc()),
            gauge: &BTreeMap::new(),
        });
        problems.extend(found);
        assert!(!problems.any_error(), "{}", problems.plain(&sources));
        let grove = read.expect("a grove");
        let (latitude, longitude) = outline.place.position.expect("a place");
        let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
        let sky = Sky::new(plan, Some(&weather), &site, as_of.with_timezone(&Utc));
        let advisor = Advisor::new(plan, &grove, &sky, as_of);
        (0..grove.trees.len()).map(|tree| self.told_of(plan, &advisor, &grove, tree)).collect()
    }

    fn told_of(&self, plan: &Plan, advisor: &Advisor<'_>, grove: &grove::Grove, tree: usize) -> Told {
        let case = advisor.case_of(&advisor.tree(tree)).expect("each tree is decided");
        let trace = &case.decision.trace;
        let shut_by = |shutter: &Shutter| match shutter {
            Shutter::Gate(gate) => trace.gates.get(gate.index()) == Some(&Truth::Yes),
            Shutter::Certified => true,
        };
        let rules = &advisor.rules().products;
        let shut = plan.products.iter().zip(rules).filter(|(_, rules)| rules.shut_by.iter().any(shut_by));
        let shut = shut.map(|(product, _)| product.name.to_string()).collect();
        let gauged = advisor.gauge(tree);
        Told {
            tree: grove.trees.name(tree).to_owned(),
            verdict: case.decision.verdict.clone(),
            shut,
            seen: self.seen.get(tree).cloned().unwrap_or_default(),
            names: names(plan, &gauged),
        }
    }
}

fn names(plan: &Plan, gauged: &Gauged) -> BTreeMap<String, Vec<Extent>> {
    let of = |(id, name): (bloomward::plan::NameId, &bloomward::plan::Name)| {
        let extent =
            |names: &[bloomward::measure::Reading]| names.get(id.index()).map(|reading| reading.extent);
        let readings = if name.scope == Place::Panicles {
            gauged.groups.iter().filter_map(|group| extent(&group.names)).collect()
        } else {
            extent(&gauged.names).into_iter().collect()
        };
        (name.word.to_string(), readings)
    };
    plan.named().map(of).collect()
}
