//! Groves of which something is not known, with jugs and logs, and all that is advised of their trees: verdicts, hours, what is asked,
//! when to look again, until when people keep out.

use crate::edits::shared;
use crate::edits_trees::{Dice, Grove, Told};
use bloomward::advice::{Advisor, Case, TreeAdvice, Window, broken_always};
use bloomward::grove::{self, Texts, UnknownNames};
use bloomward::labels::with_jugs;
use bloomward::measure::WeatherMeasures;
use bloomward::plan::Plan;
use bloomward::source::Sources;
use bloomward::trace::Shutter;
use bloomward::weather::{self, Site};
use chrono::{DateTime, Duration, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// All that is advised of a tree.
pub struct FullAdvice {
    /// The verdict, what is shut, and the choices that hold.
    pub told: Told,
    /// The open hours, windows and shorter pieces.
    pub open: Vec<Window>,
    /// When to look again.
    pub recheck: Option<NaiveDate>,
    /// Until when people keep out.
    pub keep_out: Option<DateTime<Tz>>,
    /// From when on fruit may be picked.
    pub picking: Option<NaiveDate>,
    /// All of it in words that two rulebooks share.
    pub words: String,
}

const SHED: &str = "shed:\n  copper: { name: copper powder, form: powder, contains: { copper: 50 % }, interval: 10 d, \
    season: 3 sprays, before-harvest: 20 d, re-entry: 72 h }\n  sulfur: { name: sulfur powder, form: powder, contains: \
    { sulfur: 80 % }, season: 6 lb/ac, re-entry: 12 h }\n  mancozeb: { name: mancozeb powder, form: powder, contains: \
    { mancozeb: 75 % }, interval: 5 d, season: 2 sprays }\n";

/// Takes something of what is known out of a grove that was seen so many days ago: observations, hours; and puts jugs into it.
pub fn with_holes(grove: &mut Grove, days: i64, dice: &mut Dice) {
    let mut yaml = String::new();
    for line in grove.yaml.lines() {
        let is_tree = line.starts_with("  - { tree:") && !line.contains("panicles:");
        let line = match line.strip_prefix("seen: ").and_then(|day| day.parse::<NaiveDate>().ok()) {
            Some(day) => format!("seen: {}", day + Duration::days(1 - days)),
            None if is_tree => {
                let pairs: Vec<&str> = line.split(", ").collect();
                let last = pairs.len() - 1;
                let kept = |at: usize, dice: &mut Dice| at < 3 || at == last || dice.below(12) > 0;
                let pairs = pairs.iter().enumerate().filter(|(at, _)| kept(*at, dice)).map(|it| *it.1);
                pairs.collect::<Vec<&str>>().join(", ")
            }
            None if line.starts_with("pollinators-seen:") && dice.below(2) == 0 => continue,
            None => line.to_owned(),
        };
        if line == "trees:" {
            yaml += SHED;
        }
        yaml += &(line + "\n");
    }
    grove.yaml = yaml;
    let share = [0, 0, 4, 12][dice.below(4)];
    let mut weather = String::new();
    for (at, row) in grove.weather.lines().enumerate() {
        // The wind comes and goes: open hours are in pieces.
        match row.rsplit_once(',').filter(|_| at > 0) {
            Some((rest, _)) if dice.below(100) >= share => {
                weather += &format!("{rest},{}\n", [1, 4, 6, 9, 10, 12][dice.below(6)]);
            }
            Some(_) => {}
            None => weather += &format!("{row}\n"),
        }
    }
    grove.weather = weather;
}

/// Adds a tree of which something is odd.
pub fn with_tree(grove: &mut Grove, tree: &str) {
    grove.yaml += &format!("  - {{ tree: T99, block: low, cultivar: Kent, {tree} }}\n");
}

/// Advises all trees of a grove; nothing where the rulebook refuses it.
pub fn advised(of: &Grove, plan: &Plan) -> Option<Vec<FullAdvice>> {
    let mut sources = Sources::default();
    let yaml = sources.add("grove.yaml", of.yaml.as_str());
    let (outline, problems) = grove::outline(yaml, &sources);
    let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let as_of = outline.as_of.expect("a moment");
    let sprays = Some(sources.add("sprays.csv", of.sprays.as_str()));
    let texts = Texts { trees: None, scouting: None, sprays, bloom: None };
    let (read, mut found) = grove::read(&outline, texts, plan, as_of, UnknownNames::LeaveOut, &sources);
    let text = sources.add("weather.csv", of.weather.as_str());
    let (weather, more) = weather::read(&weather::WeatherFile {
        text: sources.get(text).map_or("", |it| &it.text),
        source: text,
        columns: &BTreeMap::new(),
        zone: outline.place.zone,
        as_of: as_of.with_timezone(&Utc),
        forecast_issued: outline.weather.as_ref().and_then(|it| it.forecast_issued).map(|it| it.to_utc()),
        measured_to: None,
        gauge: &BTreeMap::new(),
    });
    found.extend(more);
    let Some(grove) = read.filter(|_| !found.any_error()) else {
        // Only what is seen is refused.
        let said = found.plain(&sources);
        assert!(said.contains("lies outside of what"), "{said}");
        return None;
    };
    let joined = with_jugs(plan, &grove.shed);
    let (latitude, longitude) = outline.place.position.expect("a place");
    let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
    let measures = WeatherMeasures::new(&joined, Some(&weather), &site, as_of.with_timezone(&Utc));
    let advisor = Advisor::new(&joined, &grove, &measures, as_of);
    if broken_always(&advisor).any_error() {
        return None;
    }
    let trees = (0..grove.trees.len()).map(|tree| {
        let advice = advisor.tree(tree);
        let case = advisor.case_of(&advice).expect("a case");
        full(&joined, grove.trees.name(tree), advice, &case)
    });
    Some(trees.collect())
}

fn full(plan: &Plan, tree: &str, advice: TreeAdvice, case: &Case) -> FullAdvice {
    let shut = case.shut.iter().filter(|(_, by)| matches!(by, Shutter::Gate(_) | Shutter::Certified));
    let shut = shut
        .filter(|(products, _)| products.len() == 1)
        .map(|(products, _)| plan[products[0]].name.to_string());
    let holding = case.decision.trace.choices.iter().enumerate();
    let holding = holding.filter(|(_, it)| it.holds != bloomward::measure::Truth::No).map(|(at, _)| at);
    let verdict = case.decision.verdict.clone();
    let needs: Vec<String> = case
        .needs
        .iter()
        .map(|need| match need {
            bloomward::advice::Need::Name(name) | bloomward::advice::Need::OfTree(name, _) => {
                plan[*name].word.to_string()
            }
            other => format!("{other:?}"),
        })
        .collect();
    let tasks: Vec<&str> = case.tasks.iter().map(|at| &*plan.tasks[*at].does).collect();
    let warnings: Vec<&str> = case.warnings.iter().map(|at| &*plan.warnings[*at].says).collect();
    let close: Vec<&str> = advice.close_calls.iter().map(|it| &*plan[it.name].word).collect();
    let hours = &advice.hours;
    let not_checked: Vec<Window> = hours.not_checked.iter().map(|it| it.0).collect();
    let compromise = hours.compromise.as_ref().map(|it| it.0);
    let words = format!(
        "{tree}: {} {:?} {:?} {not_checked:?} {compromise:?} {needs:?} {tasks:?} {warnings:?} {close:?} {:?} {:?} {:?} {:?} {:?}",
        shared(plan, &verdict),
        hours.windows,
        hours.short,
        advice.recheck,
        advice.covered_until,
        advice.closed_until,
        advice.keep_out_until,
        advice.pick_not_before,
    );
    FullAdvice {
        told: Told {
            tree: tree.to_owned(),
            verdict,
            shut: shut.collect(),
            choices: holding.collect(),
            seen: String::new(),
            names: BTreeMap::new(),
        },
        open: hours.open(),
        recheck: advice.recheck,
        keep_out: advice.keep_out_until,
        picking: advice.pick_not_before,
        words,
    }
}
