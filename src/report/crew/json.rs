//! The day's rounds as JSON, `bloomward.sprayday/1`.

use super::Crew;
use crate::report::job_json::{AmountEntry, VolumeEntry};
use crate::report::json::{self, Day, Moment};
use crate::sprayday::{KeptSheet, LoadTrees, OneTank, PlanGround, Round, Stretch, TankPart};
use crate::trace::doses_in_words;
use serde::Serialize;

/// The rounds of a day, each with what is kept of its sheet.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.sprayday/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct CrewForm<'a> {
    grove: &'a str,
    as_of: Moment,
    /// When rain is forecast.
    rain_from: Option<Moment>,
    sheets: Vec<SheetEntry<'a>>,
    /// Single mixes for the whole grove, the best first, and what is lost with each.
    one_tank: Vec<OneTankEntry<'a>>,
    look: TreesEntry<'a>,
    not_sprayed: TreesEntry<'a>,
}

/// In walking order.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TreesEntry<'a>(Vec<&'a str>);

/// The parts of a mix are joined by `with`, as in the spray log.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct SheetEntry<'a> {
    /// Null where the plan is only looked at.
    number: Option<u64>,
    day: Day,
    product: Option<&'a str>,
    jug: Option<&'a str>,
    registration: Option<&'a str>,
    strength: Option<&'a str>,
    rate: Option<&'a str>,
    volume: Option<&'a str>,
    area: Option<&'a str>,
    target: Option<&'a str>,
    trees: TreesEntry<'a>,
    /// Whether its hours are open, the best compromise, not known, or none.
    #[cfg_attr(test, schemars(extend("enum" = ["open", "compromise", "unknown", "none"])))]
    ground: &'static str,
    stretches: Vec<StretchEntry>,
    loads_without_hours: u64,
    loads: Vec<LoadEntry<'a>>,
    /// If it is finished as planned.
    keep_out_until: Option<Moment>,
    pick_not_before: Option<Day>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct StretchEntry {
    from: Moment,
    to: Option<Moment>,
    loads: u64,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct LoadEntry<'a> {
    volume: VolumeEntry,
    /// One for each product of the mix; null where it is not known.
    amounts: Vec<Option<AmountEntry>>,
    trees: TreesEntry<'a>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct OneTankEntry<'a> {
    spray: String,
    allowed: TreesEntry<'a>,
    left_out: TreesEntry<'a>,
    unguarded: Vec<UnguardedEntry<'a>>,
    needless: TreesEntry<'a>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct UnguardedEntry<'a> {
    disease: &'a str,
    trees: TreesEntry<'a>,
}

/// Returns the rounds of a day as JSON, each with what is kept of its sheet.
pub fn crew_json(crew: &Crew<'_>, kept: &[KeptSheet]) -> String {
    let rounds = crew.day.rounds.iter().zip(kept).enumerate();
    let plan = crew.scene.plan;
    let one_tank = |tank: &OneTank| OneTankEntry {
        spray: doses_in_words(plan, &tank.spray),
        allowed: crew.names(&tank.allowed),
        left_out: crew.names(&tank.left_out),
        unguarded: tank
            .unguarded
            .iter()
            .map(|(disease, trees)| UnguardedEntry {
                disease: &plan[*disease].name,
                trees: crew.names(trees),
            })
            .collect(),
        needless: crew.names(&tank.needless),
    };
    json::line(&CrewForm {
        grove: crew.facts.grove,
        as_of: crew.advice.as_of.into(),
        rain_from: crew.day.rain.map(Moment::from),
        sheets: rounds
            .map(|(at, (round, kept))| crew.sheet(crew.numbers.get(at).copied(), round, kept))
            .collect(),
        one_tank: crew.day.one_tank.iter().map(one_tank).collect(),
        look: crew.names(&crew.day.look),
        not_sprayed: crew.names(&crew.day.not_sprayed),
    })
}

impl<'a> Crew<'a> {
    fn sheet(&self, number: Option<u64>, round: &Round<'_>, kept: &'a KeptSheet) -> SheetEntry<'a> {
        let stretch = |it: &Stretch| StretchEntry {
            from: it.from.into(),
            to: it.to.map(Moment::from),
            loads: it.loads,
        };
        SheetEntry {
            number,
            day: kept.day.into(),
            product: kept.value("product"),
            jug: kept.value("jug"),
            registration: kept.value("registration"),
            strength: kept.value("strength"),
            rate: kept.value("rate"),
            volume: kept.value("volume"),
            area: kept.value("area"),
            target: kept.value("target"),
            trees: self.names(&round.trees),
            ground: match round.planned.ground {
                PlanGround::Open => "open",
                PlanGround::Compromise { .. } => "compromise",
                PlanGround::Unknown => "unknown",
                // No load fits into what is open.
                PlanGround::Short | PlanGround::Nothing => "none",
            },
            stretches: round.planned.stretches.iter().map(stretch).collect(),
            loads_without_hours: round.planned.unfitted,
            loads: self.load_entries(round),
            keep_out_until: round.keep_out_until.map(Moment::from),
            pick_not_before: round.pick_not_before.map(Day::from),
        }
    }

    fn load_entries(&self, round: &Round<'_>) -> Vec<LoadEntry<'a>> {
        let Ok(job) = &round.job else { return Vec::new() };
        let entry = |(at, load): (usize, &LoadTrees)| {
            let is_full = (at as u64) < job.loads.full;
            let made = |part: &TankPart<'_>| {
                AmountEntry::of(if is_full { part.full.as_ref() } else { part.last.as_ref() })
            };
            LoadEntry {
                volume: VolumeEntry::of(load.volume, self.scene.speech),
                amounts: job.parts.iter().map(made).collect(),
                trees: self.names(&load.trees),
            }
        };
        round.loads.iter().enumerate().map(entry).collect()
    }

    fn names(&self, trees: &[usize]) -> TreesEntry<'a> {
        TreesEntry(trees.iter().map(|tree| self.ground.trees.grove.trees.name(*tree)).collect())
    }
}
