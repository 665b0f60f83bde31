//! Groves of random trees and weather, advised by a rulebook: the verdict of each tree, what is shut for it, and its values.

use bloomward::advice::Advisor;
use bloomward::decide::decide;
use bloomward::grove::{self, Texts, UnknownNames};
use bloomward::measure::{Extent, Gauged, WeatherMeasures};
use bloomward::plan::{NameId, Place, Plan};
use bloomward::situation::CellSet;
use bloomward::source::Sources;
use bloomward::trace::{Decision, Shutter, Truth, Verdict};
use bloomward::weather::{self, Site};
use chrono::{Duration, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

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
    /// What `grove.yaml` says.
    pub yaml: String,
    /// Its hours.
    pub weather: String,
    /// Its spray log.
    pub sprays: String,
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
    /// The places of the choices that hold, whether or not one outranks them.
    pub choices: Vec<usize>,
    /// What was seen of it.
    pub seen: String,
    /// What each name is.
    pub names: BTreeMap<String, Vec<Extent>>,
}

impl Told {
    /// Returns whether all panicles of the tree are written as one group.
    pub fn is_one_group(&self) -> bool {
        !self.seen.contains("panicles:")
    }

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

/// How many of the stages are those of closed buds: petal tips may show an open flower, but no fruit.
const CLOSED: usize = 6;

/// The last stage at which flowers may be open.
const LAST_OPEN: usize = 10;

/// Numbers near a change, by what they are numbers of: on its thresholds, just below, between and just above.
#[derive(Default, Debug)]
pub struct Near {
    /// Degrees Fahrenheit.
    degrees: Vec<f64>,
    /// Percent.
    shares: Vec<f64>,
    /// Millimeters of rain.
    rain: Vec<f64>,
    /// Days since a spray, or to the harvest.
    days: Vec<f64>,
    /// Counts.
    counts: Vec<f64>,
    /// Lengths in centimeters.
    lengths: Vec<f64>,
}

impl Near {
    /// Adds what lies around two thresholds.
    pub fn add(&mut self, old: f64, new: f64, unit: &str) {
        let (low, high) = (old.min(new), old.max(new));
        let with = |step: f64| vec![low - step, low, f64::midpoint(low, high), high, high + step];
        match unit {
            "°F" => self.degrees.extend(with(0.4)),
            "°C" => self.degrees.extend(with(0.2).into_iter().map(|it| it * 1.8 + 32.0)),
            "%" => self.shares.extend(with(1.0).into_iter().map(f64::round)),
            "mm" => {
                self.rain.extend(with(0.2));
                self.lengths.extend(with(1.0).into_iter().map(|it| it / 10.0));
            }
            "cm" => self.lengths.extend(with(0.5)),
            "d" | "days" => self.days.extend(with(1.0).into_iter().map(f64::round)),
            "" => self.counts.extend(with(1.0).into_iter().map(f64::round)),
            _ => {}
        }
    }

    /// Adds a value of a situation.
    pub fn add_value(&mut self, value: &serde_json::Value) {
        let unit = value["unit"].as_str().unwrap_or_default();
        if let Some(number) = value["value"].as_f64() {
            self.add(number, number, unit);
        }
    }
}

/// What a tree is made from: what is seen of it, by name, and its sprays by product with the days since.
#[derive(Clone, Default, Debug)]
pub struct Seed {
    /// Observations as they are written in a grove.
    pub seen: BTreeMap<String, String>,
    /// The days since sprays of products.
    pub sprayed: Vec<(String, i64)>,
    /// The days to the harvest.
    pub harvest: Option<i64>,
}

/// What groves are made around.
#[derive(Default)]
pub struct Around {
    /// Numbers near the change.
    pub near: Near,
    /// The products that a tree can have got, each with one of its strengths.
    pub products: Vec<(String, String)>,
    /// What some trees are made from.
    pub seeds: Vec<Seed>,
}

/// Draws one of some numbers, every other time one near the change.
fn number(dice: &mut Dice, near: &[f64], low: f64, high: f64, usual: &[f64]) -> f64 {
    let near: Vec<f64> = near.iter().copied().filter(|it| (low..=high).contains(it)).collect();
    let from = if near.is_empty() || dice.below(2) == 0 { usual } else { &near };
    from[dice.below(from.len())]
}

/// Makes a grove of so many trees in some weather: most are made from leading seeds, the first of which makes the grove, too;
/// others from any seed, or drawn anew.
pub fn grove(
    dice: &mut Dice,
    around: &Around,
    weather_measures: &Weather,
    trees: usize,
    leading: &[Seed],
) -> Grove {
    let near = &around.near;
    let lead = leading.first().cloned().unwrap_or_default();
    let led = 2 + dice.below(8);
    let count = trees;
    let mut trees = String::new();
    let mut seen = Vec::new();
    let mut rows: Vec<String> = Vec::new();
    // Half of the groves are mostly in bloom: shares of trees lie on both sides of their thresholds.
    let mostly = dice.below(STAGES.len());
    for tree in 0..count {
        let from = if dice.below(10) < led { leading } else { &around.seeds };
        let seed = from.get(dice.below(from.len().max(1))).filter(|_| dice.below(8) > 0);
        let seed = seed.cloned().unwrap_or_default();
        // Of a seed all is kept, or most.
        let is_kept = dice.below(2) == 0;
        let given = |dice: &mut Dice, name: &str, drawn: String| match seed.seen.get(name) {
            Some(value) if is_kept || dice.below(6) > 0 => value.clone(),
            _ => drawn,
        };
        // Most trees are one group of panicles, some are two.
        let group = |dice: &mut Dice| {
            let stage = if dice.below(3) == 0 { STAGES[mostly] } else { dice.one_of(&STAGES) };
            let stage = given(dice, "stage", stage.to_owned());
            // What an `always` rules out is no tree.
            let place = STAGES.iter().position(|it| *it == stage).unwrap_or(0);
            let (is_early, is_closed) = (place < CLOSED, !(CLOSED - 1..=LAST_OPEN).contains(&place));
            let some = [0.0, 5.0, 9.0, 10.0, 11.0, 15.0, 20.0, 22.0, 25.0, 30.0, 60.0, 90.0];
            let open = number(dice, &near.shares, 0.0, 100.0, &some);
            let open =
                if is_closed { "0 %".to_owned() } else { given(dice, "open-flowers", format!("{open} %")) };
            let fruit = number(dice, &near.counts, 0.0, 300.0, &[0.0, 0.0, 1.0, 4.0, 5.0, 6.0, 12.0]);
            let fruit = if is_early { "0".to_owned() } else { given(dice, "fruit-set", format!("{fruit}")) };
            let length = number(dice, &near.lengths, 0.0, 80.0, &[2.0, 4.0, 5.0, 6.0, 20.0]);
            let length = given(dice, "panicle-length", format!("{length:.1} cm"));
            let size = number(dice, &near.lengths, 0.0, 25.0, &[0.4, 1.3, 1.5, 1.7, 4.0]) * 10.0;
            let size = given(dice, "fruit-size", format!("{size:.0} mm"));
            format!(
                "stage: {stage}, open-flowers: {open}, fruit-set: {fruit}, panicle-length: {length}, fruit-size: {size}"
            )
        };
        let few = [0.0, 0.0, 0.0, 1.0, 4.0, 5.0, 8.0, 10.0, 12.0, 40.0];
        let mut own = Vec::new();
        for name in ["mildew", "blight", "scab-spots", "spotted-leaves"] {
            let share = number(dice, &near.shares, 0.0, 100.0, &few);
            own.push(format!("{name}: {}", given(dice, name, format!("{share} %"))));
        }
        for name in ["dead-wood", "fruit-touching", "frost-burn"] {
            let word = dice.one_of(&["yes", "no", "no"]).to_owned();
            own.push(format!("{name}: {}", given(dice, name, word)));
        }
        let cultivars =
            ["Kent", "Haden", "Sabine", "Tommy Atkins", "Edward", "Chino", "Van Dyke", "unheard of"];
        let cultivar = dice.one_of(&cultivars).to_owned();
        let cultivar = given(dice, "cultivar", cultivar);
        let panicles = if dice.below(8) == 0 {
            format!("panicles: [ {{ share: 60 %, {} }}, {{ share: 40 %, {} }} ]", group(dice), group(dice))
        } else {
            group(dice)
        };
        let words = format!("{panicles}, {}", own.join(", "));
        let _ = writeln!(trees, "  - {{ tree: T{tree}, block: low, cultivar: {cultivar}, {words} }}");
        let mut sprays: Vec<(String, i64)> = seed.sprayed.clone();
        let is_of_seed = !seed.seen.is_empty() || !seed.sprayed.is_empty();
        for _ in 0..if is_of_seed && is_kept { 0 } else { dice.below(3) } {
            let (product, _) = &around.products[dice.below(around.products.len())];
            let usual = [2.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 13.0, 14.0, 15.0, 20.0];
            sprays.push((product.clone(), number(dice, &near.days, 1.0, 33.0, &usual) as i64));
        }
        for (product, ago) in &sprays {
            let Some((_, strength)) = around.products.iter().find(|it| it.0 == *product) else { continue };
            let day = weather_measures.today - Duration::days(*ago);
            rows.push(format!("{day}T05:00,{day}T05:30,T{tree},{product},{strength},1 gal,0.02 ac\n"));
        }
        seen.push(format!("{cultivar}, {words}, {sprays:?}"));
    }
    rows.sort();
    let usual = [5.0, 14.0, 27.0, 129.0, 129.0, 129.0];
    let days = lead.harvest.unwrap_or_else(|| number(dice, &near.days, 1.0, 200.0, &usual) as i64);
    let (today, harvest) = (weather_measures.today, weather_measures.today + Duration::days(days));
    let certified = dice.below(16) == 0;
    let key = if certified { "certified: organic\n" } else { "" };
    let mut of_grove = |name: &str, words: &[&str]| {
        let drawn = dice.one_of(words).to_owned();
        lead.seen.get(name).cloned().unwrap_or(drawn)
    };
    let [fog, visited, lies_low] =
        ["fog-lay", "pollinators-seen", "low-spot"].map(|name| of_grove(name, &["yes", "no"]));
    let acid = of_grove("water-acidity", &["6.0", "6.5", "7.2"]);
    let yesterday = today - Duration::days(1);
    let yaml = format!(
        "grove: Random grove\nrulebook: test.rulebook\n\
         place: {{ latitude: 18.20, longitude: -66.30, elevation: 90 m, timezone: America/Puerto_Rico }}\n\
         as-of: {today}T05:30\nweather: {{ file: weather.csv, forecast-issued: {today}T05:00 }}\n\
         sprayer: {{ kind: handgun, tank: 25 gal, per-tree: 1.5 gal, pace: 25 gal / h, fill: 15 min }}\n\
         {key}harvest: {harvest}\nsprays: sprays.csv\nseen: {yesterday}\npollinators-seen: {visited}\n\
         fog-lay: {fog}\nwater-acidity: {acid}\nblocks:\n  - {{ block: low, low-spot: {lies_low}, spacing: 24 ft x 20 ft }}\ntrees:\n{trees}"
    );
    let sprays = format!("start,end,on,product,strength,volume,area\n{}", rows.concat());
    Grove { yaml, weather: weather_measures.text.clone(), sprays, seen, certified }
}

/// Hourly weather around a day.
pub struct Weather {
    text: String,
    today: NaiveDate,
}

/// The days of advice: most of them in bloom, some at the ends of seasons.
const DAYS: [(i32, u32, u32); 10] = [
    (2027, 2, 11),
    (2027, 2, 11),
    (2027, 2, 11),
    (2027, 1, 20),
    (2026, 10, 31),
    (2026, 11, 1),
    (2026, 12, 1),
    (2027, 3, 15),
    (2027, 3, 16),
    (2027, 6, 15),
];

/// Draws hourly weather of some weeks before and some days after, each night and day around a threshold: what counts nights or
/// days, and what looks further back, comes to another number.
pub fn weather_near(dice: &mut Dice, near: &Near) -> Weather {
    let (year, month, day) = DAYS[dice.below(DAYS.len())];
    let today = NaiveDate::from_ymd_opt(year, month, day).expect("a day");
    let cool = dice.below(3);
    let nights: &[f64] = match cool {
        0 => &[47.8, 48.0, 48.4, 55.8, 56.0, 60.0],
        1 => &[55.8, 56.0, 60.0, 68.8, 69.0, 69.2],
        _ => &[60.0, 68.8, 69.2, 72.8, 73.0, 73.2, 75.2],
    };
    let peaks: &[f64] =
        if cool == 2 { &[81.8, 82.0, 89.8, 90.0, 90.2, 95.2] } else { &[76.0, 81.8, 82.2, 88.0] };
    let damps: &[f64] =
        if dice.below(3) == 0 { &[55.0, 60.0, 79.0, 80.0] } else { &[79.0, 80.0, 86.0, 94.0, 95.0, 99.0] };
    let (wet, long) = (dice.below(3), 1 + dice.below(6) as i64);
    let mut text = "time,temperature [°F],humidity [%],rain [mm],wind [mph]\n".to_owned();
    let from = today.and_hms_opt(0, 0, 0).expect("a time") - Duration::days(34);
    let (mut night, mut peak, mut damp, mut fallen, mut starts) = (60.0, 80.0, 80.0, 0.0, 0);
    for hour in 0..24 * 38 {
        let time = from + Duration::hours(hour);
        // A night and the day after it are of one kind.
        if hour % 24 == 18 || hour == 0 {
            night = number(dice, &near.degrees, 35.0, 78.0, nights);
            peak = number(dice, &near.degrees, 74.0, 104.0, peaks).max(night);
            damp = number(dice, &near.shares, 30.0, 100.0, damps);
            let rain = number(dice, &near.rain, 0.0, 60.0, &[0.2, 0.6, 1.9, 2.0, 5.0, 13.0, 25.0]);
            fallen = if dice.below(8) < 2 * wet { rain } else { 0.0 };
            starts = dice.below(20) as i64;
        }
        let is_day = (8..18).contains(&(hour % 24));
        // The rest of the night is as cool as its coolest hour; a day has one warmest hour.
        let degrees = match hour % 24 {
            13 => peak,
            _ if is_day => f64::midpoint(night, peak),
            _ => night,
        };
        let humidity = if is_day { damp * 0.75 } else { damp };
        let since = (hour + 6) % 24 - starts;
        let rain = if (0..long).contains(&since) { fallen / long as f64 } else { 0.0 };
        let wind = 3 + dice.below(4);
        let _ =
            writeln!(text, "{},{degrees:.2},{humidity:.1},{rain:.3},{wind}", time.format("%Y-%m-%dT%H:%M"));
    }
    Weather { text, today }
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
            bloom: None,
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
            measured_to: None,
            gauge: &BTreeMap::new(),
        });
        problems.extend(found);
        assert!(!problems.any_error(), "{}", problems.plain(&sources));
        let grove = read.expect("a grove");
        let (latitude, longitude) = outline.place.position.expect("a place");
        let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
        let weather_measures = WeatherMeasures::new(plan, Some(&weather), &site, as_of.with_timezone(&Utc));
        let advisor = Advisor::new(plan, &grove, &weather_measures, as_of);
        (0..grove.trees.len()).map(|tree| self.told_of(plan, &advisor, &grove, tree)).collect()
    }

    fn told_of(&self, plan: &Plan, advisor: &Advisor<'_>, grove: &grove::Grove, tree: usize) -> Told {
        // The verdict alone: its hours are not asked for.
        let gauged = advisor.gauge(tree);
        let rules = advisor.rules();
        let cells =
            gauged.names.iter().zip(0..).map(|(it, name)| rules.axes.touched(NameId(name), it.extent));
        let cells: Vec<CellSet> = cells.collect();
        let Ok(Decision { verdict, trace, .. }) = decide(plan, rules, &cells) else {
            return Told {
                tree: grove.trees.name(tree).to_owned(),
                verdict: Verdict::Look,
                shut: BTreeSet::new(),
                choices: Vec::new(),
                seen: self.seen.get(tree).cloned().unwrap_or_default(),
                names: names(plan, &gauged),
            };
        };
        let shut_by = |shutter: &Shutter| match shutter {
            Shutter::Gate(gate) => trace.gates.get(gate.index()) == Some(&Truth::Yes),
            Shutter::Certified => true,
        };
        let holding = trace.choices.iter().enumerate().filter(|(_, it)| it.holds == Truth::Yes);
        let rules = &rules.products;
        let shut = plan.products.iter().zip(rules).filter(|(_, rules)| rules.shut_by.iter().any(shut_by));
        let shut = shut.map(|(product, _)| product.name.to_string()).collect();
        Told {
            tree: grove.trees.name(tree).to_owned(),
            verdict,
            shut,
            choices: holding.map(|(at, _)| at).collect(),
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
