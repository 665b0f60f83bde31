//! The season as JSON.

use super::SeasonPage;
use super::csv_form::{blank_word, rounded};
use crate::replay::{DecisionGroup, PartDone, Parting, PartingKind, ReplayedDay, TankDone};
use crate::report::json::{self, Day, Moment, Object};
use crate::trace::Verdict;
use serde::Serialize;

/// A season, replayed.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.season/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct SeasonForm<'a> {
    grove: &'a str,
    rulebook: &'a str,
    /// The path of the rulebook.
    file: &'a str,
    from: Option<Day>,
    to: Option<Day>,
    /// What the hours after each morning are: those measured later.
    hours_ahead: &'static str,
    /// Whether the advice was taken as followed.
    assume_sprayed: bool,
    log_known: bool,
    /// What the bloom is called that was assumed in place of what was scouted.
    assumed_bloom: Option<&'a str>,
    counts: Counts,
    mornings: Vec<Morning<'a>>,
    partings: Vec<PartingEntry<'a>>,
}

/// How often, each tree for itself, and an advice once for as long as it stands.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct Counts {
    advised: usize,
    followed: usize,
    done: usize,
    mornings: usize,
    /// Mornings without an answer.
    blank: usize,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct Morning<'a> {
    at: Moment,
    /// Why there is no answer: `weather`, `shares` of panicles that do not add up, or an `always` that is broken.
    blank: Option<&'static str>,
    decisions: Vec<DecisionEntry<'a>>,
    /// The sprays that began from this morning on and before the next one.
    sprayed: Vec<TankEntry<'a>>,
    /// The words of the bands that are the same for the whole grove; null where one is not known.
    levels: Object<'a, &'a str, Option<&'a str>>,
    /// By block, how many trees are in each stage of bloom.
    bloom: Object<'a, &'a str, Object<'a, &'a str, u32>>,
    air: AirEntry,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct DecisionEntry<'a> {
    /// `spray`, `hold`, `look`, `undecided` or `uncovered`.
    verdict: &'static str,
    /// Of a `hold`: `advised` or `all-shut`.
    because: Option<&'static str>,
    spray: Vec<DoseEntry<'a>>,
    choices: Vec<&'a str>,
    /// Of a `look`: whether something is open on which it hangs and that only weather tells.
    waits_for_weather: bool,
    trees: Vec<&'a str>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct DoseEntry<'a> {
    product: &'a str,
    strength: Option<&'a str>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TankEntry<'a> {
    start: Moment,
    products: Vec<DoseEntry<'a>>,
    trees: Vec<&'a str>,
    /// Whether it is only taken as done.
    assumed: bool,
}

/// The air from midnight to midnight, of the hours that were measured: °C, percent, mm.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AirEntry {
    lowest: Option<f64>,
    highest: Option<f64>,
    humidity: Option<f64>,
    rain: Option<f64>,
    wet_hours: Option<u32>,
    hours_known: u32,
    hours: u32,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PartingEntry<'a> {
    /// `not-sprayed`, `still-open`, `other-product` or `not-advised`.
    kind: &'static str,
    from: Option<Day>,
    to: Option<Day>,
    /// What was advised.
    advised: Vec<DoseEntry<'a>>,
    /// What was sprayed.
    done: Option<TankEntry<'a>>,
    trees: Vec<&'a str>,
}

/// Returns the season as JSON, `bloomward.season/1`.
pub fn json(page: &SeasonPage<'_>) -> String {
    let days = &page.replay.days;
    let date = |day: Option<&ReplayedDay>| day.map(|day| day.date().into());
    json::lines(&SeasonForm {
        grove: &page.open.grove.title,
        rulebook: &page.open.plan.head.title,
        file: &page.open.book,
        from: date(days.first()),
        to: date(days.last()),
        hours_ahead: "measured",
        assume_sprayed: page.assumed,
        log_known: page.open.grove.log.is_known(),
        assumed_bloom: page.open.grove.assumed_bloom.as_deref(),
        counts: Counts {
            advised: page.counts.advised,
            followed: page.counts.followed,
            done: page.counts.done,
            mornings: days.len(),
            blank: days.iter().filter(|day| day.blank.is_some()).count(),
        },
        mornings: days.iter().map(|day| page.morning_entry(day)).collect(),
        partings: page.partings.iter().map(|parting| page.parting_entry(parting)).collect(),
    })
}

impl<'a> SeasonPage<'a> {
    fn tree_names(&self, trees: &[usize]) -> Vec<&'a str> {
        trees.iter().map(|tree| self.open.grove.trees.name(*tree)).collect()
    }

    fn dose_entry(&self, (product, strength): &(crate::plan::ProductId, u8)) -> DoseEntry<'a> {
        let product = &self.open.plan[*product];
        let strength = product.strengths.get(usize::from(*strength)).map(|strength| &*strength.name);
        DoseEntry { product: &product.name, strength }
    }

    fn morning_entry(&self, day: &'a ReplayedDay) -> Morning<'a> {
        let plan = &self.open.plan;
        let level = |(name, level): &(crate::plan::NameId, Option<u16>)| {
            (&*plan[*name].word, level.and_then(|level| word_of(plan, *name, level)))
        };
        let blocks = self.open.grove.blocks.iter().zip(&day.bloom);
        let bloom = blocks.map(|(block, count)| {
            let stages = count.stages.iter().enumerate().filter(|(_, count)| **count > 0);
            let stage =
                |(at, count): (usize, &u32)| Some((word_of(plan, self.replay.bloom?, at as u16)?, *count));
            (&*block.name, Object::of(stages.filter_map(stage).collect::<Vec<_>>().into_iter()))
        });
        let air = &day.air;
        Morning {
            at: day.morning.into(),
            blank: day.blank.as_ref().map(blank_word),
            decisions: day.groups.iter().map(|group| self.decision_entry(group)).collect(),
            sprayed: day.done.iter().map(|tank| self.tank_entry(tank)).collect(),
            levels: Object::of(day.levels.iter().map(level).collect::<Vec<_>>().into_iter()),
            bloom: Object::of(bloom.collect::<Vec<_>>().into_iter()),
            air: AirEntry {
                lowest: air.temperature.map(|(low, _)| rounded(low)),
                highest: air.temperature.map(|(_, high)| rounded(high)),
                humidity: air.humidity.map(|share| rounded(share * 100.0)),
                rain: air.rain.map(rounded),
                wet_hours: air.wet_hours,
                hours_known: air.hours.0,
                hours: air.hours.1,
            },
        }
    }

    fn decision_entry(&self, group: &'a DecisionGroup) -> DecisionEntry<'a> {
        let plan = &self.open.plan;
        DecisionEntry {
            verdict: group.verdict.word(),
            because: match group.verdict {
                Verdict::Hold => Some("advised"),
                Verdict::AllShut => Some("all-shut"),
                Verdict::Spray(_) | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => None,
            },
            spray: group.spray.iter().map(|dose| self.dose_entry(dose)).collect(),
            choices: group.choices.iter().map(|choice| &*plan[*choice].name).collect(),
            waits_for_weather: group.waits_for_weather,
            trees: self.tree_names(&group.trees),
        }
    }

    fn tank_entry(&self, tank: &'a TankDone) -> TankEntry<'a> {
        let part = |(word, product, strength): &'a PartDone| {
            let known = (*product).zip(*strength).map(|dose| self.dose_entry(&dose));
            known.unwrap_or(DoseEntry { product: word, strength: None })
        };
        TankEntry {
            start: tank.start.into(),
            products: tank.parts.iter().map(part).collect(),
            trees: self.tree_names(&tank.trees),
            assumed: tank.assumed,
        }
    }

    fn parting_entry(&self, parting: &Parting) -> PartingEntry<'a> {
        let day = |at: usize| self.replay.days.get(at);
        let tank = parting.done.and_then(|(at, tank)| day(at)?.done.get(tank));
        PartingEntry {
            kind: match parting.kind {
                PartingKind::NotSprayed => "not-sprayed",
                PartingKind::StillOpen => "still-open",
                PartingKind::OtherProduct => "other-product",
                PartingKind::NotAdvised => "not-advised",
            },
            from: day(parting.days.0).map(|day| day.date().into()),
            to: day(parting.days.1).map(|day| day.date().into()),
            advised: parting.advised.iter().map(|dose| self.dose_entry(dose)).collect(),
            done: tank.map(|tank| self.tank_entry(tank)),
            trees: self.tree_names(&parting.trees),
        }
    }
}

/// Returns the word of a scale or band for a place in it.
fn word_of(plan: &crate::plan::Plan, name: crate::plan::NameId, place: u16) -> Option<&str> {
    let list = plan.word_lists.get(plan[name].kind.list()?.index())?;
    list.words.get(usize::from(place)).map(|word| &*word.name)
}
