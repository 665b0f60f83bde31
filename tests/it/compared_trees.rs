//! What `compare` tells against what trees come to: the shipped base with an item changed, and random groves around the change, each
//! advised under both. Every tree that is decided otherwise must be told, with its was and its now, in one region; no other
//! tree may be in any.

use bloomward::advice::{Advisor, with_jugs};
use bloomward::check;
use bloomward::grove::{self, Sprays, Texts, UnknownNames};
use bloomward::measure::{Extent, Gauged, Sky};
use bloomward::plan::{Place, Plan};
use bloomward::prove::BUDGET;
use bloomward::prove::differences::{Comparison, Regions, compare};
use bloomward::source::Sources;
use bloomward::trace::Verdict;
use bloomward::weather::{self, Site};
use chrono::{NaiveDate, TimeDelta, Timelike, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

const BASE: &str = "rulebooks/base/mango.rulebook";

/// Dice of a seed: the generator SplitMix64, with its published constants.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 33) as usize % count
    }

    fn one_of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    fn from(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.below(1_000) as f64 / 1_000.0
    }
}

/// A grove with its weather and its log.
struct World {
    yaml: String,
    weather: String,
    sprays: String,
}

const STAGES: [&str; 9] = [
    "bud-swell",
    "axis-growing",
    "spreading",
    "first-open",
    "half-open",
    "full-bloom",
    "petal-fall",
    "pea",
    "egg",
];

fn group(dice: &mut Dice) -> String {
    let stage = dice.one_of(&STAGES);
    let (open, set) = match stage {
        "bud-swell" | "axis-growing" => (0, 0),
        "spreading" => (dice.one_of(&[0, 3, 12]), 0),
        _ => (dice.one_of(&[0, 5, 10, 12, 16, 20, 22, 25, 30, 60]), dice.one_of(&[0, 1, 3, 4, 5, 6, 9])),
    };
    let (length, size) = (dice.one_of(&[3, 5, 12]), dice.one_of(&[4, 15, 30]));
    format!(
        "stage: {stage}, open-flowers: {open} %, fruit-set: {set}, panicle-length: {length} cm, fruit-size: {size} mm"
    )
}

fn world(dice: &mut Dice, trees: usize) -> World {
    let mut yaml = "grove: Test grove\nrulebook: test.rulebook\n\
        place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }\n\
        as-of: 2027-02-11T05:30\nweather: { file: weather.csv, forecast-issued: 2027-02-11T05:00 }\n\
        sprayer: { kind: handgun, tank: 25 gal, per-tree: 1.5 gal, pace: 25 gal / h, fill: 15 min }\n\
        blocks:\n  - { block: terrace, spacing: 24 ft x 20 ft }\n\
        sprays: sprays.csv\nharvest: 2027-06-20\nseen: 2027-02-10\ntrees:\n"
        .to_owned();
    // The first trees of a grove are of one stage, so that the share of trees that bloom lies on either side of thresholds.
    for tree in 0..trees {
        let cultivar = dice.one_of(&["Haden", "Fairchild", "Mallika", "Tommy Atkins", "Maha"]);
        let cultivar = if cultivar == "Maha" && tree % 2 == 0 { "Haden" } else { cultivar };
        let mildew = dice.one_of(&[0, 0, 1, 5, 12, 40]);
        let blight = dice.one_of(&[0, 0, 1, 4, 12, 30]);
        let seen = format!("mildew: {mildew} %, blight: {blight} %, dead-wood: no, fruit-touching: no");
        let panicles = if dice.below(3) == 0 {
            let share = dice.one_of(&[20, 30, 75]);
            let (one, other) = (group(dice), group(dice));
            format!("panicles: [ {{ share: {share} %, {one} }}, {{ share: {} %, {other} }} ]", 100 - share)
        } else {
            group(dice)
        };
        let _ = writeln!(
            yaml,
            "  - {{ tree: T{tree}, block: terrace, cultivar: {cultivar}, {seen}, {panicles} }}"
        );
    }
    let mut weather = "time,temperature [°C],humidity [%],rain [mm],wind [mph]\n".to_owned();
    let now = NaiveDate::from_ymd_opt(2027, 2, 11).unwrap().and_hms_opt(5, 0, 0).unwrap();
    let (night, day) = (dice.from(13.0, 19.0), dice.from(30.0, 32.5));
    let (damp, wet) = (dice.from(82.0, 100.0), dice.below(4));
    let mut shift = 0.0;
    for hour in -24 * 45..24 * 5i64 {
        let time = now + TimeDelta::hours(hour);
        if time.hour() == 0 {
            shift = dice.from(-1.2, 1.2);
        }
        let sun = (9..18).contains(&time.hour());
        let air = if sun { day + shift } else { night + shift };
        let rain = if wet > 0 && dice.below(60) < wet { dice.from(0.2, 6.0) } else { 0.0 };
        let humid = if sun { damp * 0.7 } else { (damp + dice.from(-4.0, 4.0)).min(100.0) };
        let _ = writeln!(weather, "{},{air:.2},{humid:.1},{rain:.2},4", time.format("%Y-%m-%dT%H:%M"));
    }
    let mut sprays = "start,end,on,product,strength,volume,area\n".to_owned();
    let kinds = [
        ("sulfur", "reduced"),
        ("copper", "reduced"),
        ("mancozeb", "label-rate"),
        ("azoxystrobin", "label-rate"),
    ];
    let mut days: Vec<usize> = (0..dice.below(3)).map(|_| 1 + dice.below(28)).collect();
    days.sort_unstable_by(|a, b| b.cmp(a));
    days.dedup();
    for ago in days {
        let (product, strength) = dice.one_of(&kinds);
        let day = now.date() - TimeDelta::days(ago as i64);
        let _ = writeln!(sprays, "{day}T06:00,{day}T07:00,grove,{product},{strength},18 gal,1 ac");
    }
    World { yaml, weather, sprays }
}

fn plan(text: &str) -> Plan {
    let mut sources = Sources::default();
    let book = sources.add("test.rulebook", text);
    let (plan, problems) =
        check::load(book, &mut sources, None, &mut |path| Err(format!("{path} is not asked for")));
    let mut problems = problems;
    problems.retain(|it| check::is_of_text(it.finding));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    plan.expect("a plan")
}

/// A tree's verdict in figures, and what each of its names is.
type Came = (String, Gauged);

/// Advises a world; nothing where a tree breaks what is always so.
fn came(plan: &Plan, world: &World) -> Option<Vec<Came>> {
    let mut sources = Sources::default();
    let yaml = sources.add("grove.yaml", world.yaml.as_str());
    let (outline, mut problems) = grove::outline(yaml, &sources);
    let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let as_of = outline.as_of.expect("a moment");
    let log = sources.add("sprays.csv", world.sprays.as_str());
    assert!(matches!(outline.sprays, Sprays::File(_)));
    let texts = Texts { trees: None, scouting: None, sprays: Some(log) };
    let (grove, found) = grove::read(&outline, texts, plan, as_of, UnknownNames::Refuse, &sources);
    problems.extend(found);
    let grove = grove.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    let source = sources.add("weather.csv", world.weather.as_str());
    let (weather, found) = weather::read(&weather::WeatherFile {
        text: &world.weather,
        source,
        columns: &BTreeMap::new(),
        zone: outline.place.zone,
        as_of: as_of.with_timezone(&Utc),
        forecast_issued: outline.weather.as_ref().and_then(|it| it.forecast_issued).map(|it| it.to_utc()),
        gauge: &BTreeMap::new(),
    });
    assert!(!found.any_error(), "{}", found.plain(&sources));
    let (latitude, longitude) = outline.place.position.expect("a position");
    let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
    let plan = with_jugs(plan, &grove);
    let sky = Sky::new(&plan, Some(&weather), &site, as_of.with_timezone(&Utc));
    let advisor = Advisor::new(&plan, &grove, &sky, as_of);
    if bloomward::advice::broken_always(&advisor).any_error() {
        return None;
    }
    let came = |tree: usize| {
        let case = advisor.case_of(&advisor.tree(tree)).expect("a case");
        (in_figures(&plan, &case.decision.verdict), advisor.gauge(tree))
    };
    Some((0..grove.trees.len()).map(came).collect())
}

fn in_figures(plan: &Plan, verdict: &Verdict) -> String {
    let Verdict::Spray(doses) = verdict else { return verdict.word().to_owned() };
    let mut words: Vec<String> = doses
        .iter()
        .map(|(product, at)| {
            let of = &plan[*product];
            format!("{} {}", of.name, of.strengths[usize::from(*at)].amount.written)
        })
        .collect();
    words.sort();
    format!("spray {}", words.join(" with "))
}

/// Returns the regions in which a tree is for sure, and whether all that they speak of is settled for it.
fn regions(comparison: &Comparison, plans: [&Plan; 2], of: [&Gauged; 2]) -> (Vec<usize>, bool) {
    let can_be = |book: usize, name: &str| -> Vec<Extent> {
        let found = plans[book].named().find(|(_, it)| *it.word == *name);
        let Some((id, it)) = found else { return Vec::new() };
        assert!(it.scope != Place::Panicles, "a region speaks of a group: {name}");
        of[book].names.get(id.index()).map(|reading| reading.extent).into_iter().collect()
    };
    let is_settled = comparison
        .regions
        .iter()
        .flat_map(|region| &region.place)
        .all(|it| can_be(it.book, &it.name).iter().all(|extent| extent.is_settled()));
    let inside = comparison.regions.iter().enumerate().filter(|(_, region)| region.has(&can_be));
    (inside.map(|(at, _)| at).collect(), is_settled)
}

/// Counts what was met.
#[derive(Default, Debug)]
struct Met {
    differ: usize,
    same: usize,
    pairs: BTreeSet<(String, String)>,
}

fn hold(old: &str, new: &str, seed: u64, worlds: u64) -> Met {
    let plans = [&plan(old), &plan(new)];
    let comparison = compare(plans[0], plans[1], BUDGET, Regions::All);
    assert_eq!((comparison.unconfirmed, comparison.spent), (0, false));
    let told: BTreeSet<(&str, &str)> = comparison.turns.iter().map(|it| (&*it.was, &*it.now)).collect();
    let in_headlines: BTreeSet<(&str, &str)> =
        comparison.headlines.iter().flat_map(|it| &it.turns).map(|it| (&*it.was, &*it.now)).collect();
    assert_eq!(told, in_headlines);
    let of_regions: BTreeSet<(&str, &str)> =
        comparison.regions.iter().map(|it| (&*it.was.verdict, &*it.now.verdict)).collect();
    assert_eq!(told, of_regions, "each change has a region");
    for place in comparison.regions.iter().map(|it| &it.place) {
        let mut names: Vec<(&str, usize)> = place.iter().map(|it| (&*it.name, it.book)).collect();
        names.sort_unstable();
        let twice = names.windows(2).filter(|pair| pair[0].0 == pair[1].0);
        assert!(twice.clone().all(|pair| pair[0].1 != pair[1].1), "{names:?}");
        for pair in twice {
            assert!(place.iter().filter(|it| it.name == pair[0].0).all(|it| it.is_redefined));
        }
    }
    let cut: BTreeSet<(&str, &str)> = comparison.cut.iter().map(|it| (&*it.was, &*it.now)).collect();
    let mut met = Met::default();
    for number in 0..worlds {
        let mut dice = Dice(seed * 1_000 + number);
        let world = world(&mut dice, 30);
        let (Some(was), Some(now)) = (came(plans[0], &world), came(plans[1], &world)) else { continue };
        for ((before, of_old), (after, of_new)) in was.iter().zip(&now) {
            if before == "look" || after == "look" {
                continue;
            }
            let (inside, is_settled) = regions(&comparison, plans, [of_old, of_new]);
            if before == after {
                met.same += 1;
                assert!(
                    inside.is_empty(),
                    "{before} stays, and is told: {:?}",
                    comparison.regions[inside[0]]
                );
                continue;
            }
            met.differ += 1;
            met.pairs.insert((before.clone(), after.clone()));
            let is_told = told.iter().any(|(one, other)| {
                // What is undecided names its verdicts.
                let fits = |said: &str, is: &str| said == is || (is == "undecided" && said.starts_with(is));
                fits(one, before) && fits(other, after)
            });
            assert!(is_told, "{before} becomes {after}, and is not told of {told:?}");
            for at in &inside {
                let region = &comparison.regions[*at];
                assert!(region.was.verdict.starts_with(before.as_str()), "{} {before}", region.was.verdict);
                assert!(region.now.verdict.starts_with(after.as_str()), "{} {after}", region.now.verdict);
            }
            assert!(inside.len() <= 1, "regions overlap: {inside:?}");
            if is_settled && !cut.contains(&(before.as_str(), after.as_str())) {
                assert_eq!(inside.len(), 1, "{before} becomes {after} in no region");
            }
        }
    }
    met
}

/// Changes of the base: what stands there, and what stands there then.
const EDITS: &[(&str, &str)] = &[
    ("figure few-open-in-step = 20 %", "figure few-open-in-step = 25 %"),
    ("figure hot = 90 °F", "figure hot = 88 °F"),
    ("highest temperature over today and next 2 days", "highest temperature over today and next 1 days"),
    (
        "  \"Haden\"           high\n  \"Maya\"",
        "  \"Haden\"           high\n  \"Maha\"            low\n  \"Maya\"",
    ),
    (
        "  strength reduced  2 g/L\n  strength full     3 g/L",
        "  strength reduced  2.5 g/L\n  strength full     3 g/L",
    ),
    ("azoxystrobin at label-rate", "mancozeb at label-rate"),
];

#[test]
#[ignore = "its random trees lie too seldom near the change to show much: nearer ones are to be made first"]
fn every_tree_that_differs_is_told_and_no_other() {
    let base = std::fs::read_to_string(format!("{}/{BASE}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mut all = Met::default();
    let mut telling = 0;
    for (at, (was, now)) in EDITS.iter().enumerate() {
        let new = base.replacen(was, now, 1);
        assert_ne!(new, base, "{was}");
        // Half of them backwards.
        let (old, new) = if at % 2 == 0 { (&base, &new) } else { (&new, &base) };
        let met = hold(old, new, at as u64, 3);
        telling += usize::from(met.differ > 0);
        eprintln!("{was} → {now}: {} differ, {} stay, {:?}", met.differ, met.same, met.pairs.len());
        all.differ += met.differ;
        all.same += met.same;
    }
    assert!(all.differ >= 20 && all.same >= 150 && telling >= 3, "{all:?} {telling}");
}
