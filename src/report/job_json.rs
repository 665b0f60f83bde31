//! The tank work of a spray in JSON.

use super::json::Number;
use crate::advice::Spray;
use crate::grove::Grove;
use crate::plan::Plan;
use crate::sprayday::{Job, Mix, MixTrouble, ShownAmount, TankPart, jobs};
use crate::units::plain;
use crate::words::{Language, Speech};
use serde::Serialize;

/// Trees that are sprayed out of the same tanks, and what goes into them.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct JobEntry<'a> {
    /// How many.
    trees: usize,
    volume: VolumeEntry,
    tank: Option<VolumeEntry>,
    full_loads: u64,
    last_load: Option<VolumeEntry>,
    products: Vec<PartEntry<'a>>,
}

#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PartEntry<'a> {
    product: &'a str,
    /// As the rulebook writes it.
    strength: &'a str,
    jug: Option<&'a str>,
    full_load: Option<AmountEntry>,
    last_load: Option<AmountEntry>,
    /// Why there is no amount.
    trouble: Option<String>,
}

/// How much of a product.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AmountEntry {
    value: Number,
    unit: &'static str,
    /// As a scale shows it, in both systems.
    shown: Vec<String>,
}

/// How much spray.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct VolumeEntry {
    value: Number,
    #[cfg_attr(test, schemars(extend("enum" = ["gal", "L"])))]
    unit: &'static str,
}

/// Returns what goes into the tank for a spray on some trees; nothing where there is no spray, or no amounts are known.
pub(super) fn mixes<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    (spray, trees): (&Spray, &[usize]),
    speech: Speech,
) -> Option<Vec<JobEntry<'a>>> {
    let jobs = if spray.is_empty() { Vec::new() } else { jobs(plan, grove, spray, trees).ok()? };
    let volume = |cubic: f64| VolumeEntry::of(cubic, speech);
    let entry = |job: &Job<'a>| JobEntry {
        trees: job.trees.len(),
        volume: volume(job.volume),
        tank: job.tank.map(volume),
        full_loads: job.loads.full,
        last_load: Some(job.loads.last).filter(|last| *last > 0.0).map(volume),
        products: job.parts.iter().map(|part| PartEntry::of(plan, part)).collect(),
    };
    Some(jobs.iter().map(entry).collect()).filter(|jobs: &Vec<_>| !jobs.is_empty())
}

impl<'a> PartEntry<'a> {
    fn of(plan: &'a Plan, part: &TankPart<'a>) -> Self {
        let product = &plan[part.product];
        let strength = product.strengths.get(usize::from(part.strength));
        let trouble = [&part.full, &part.last].into_iter().flatten().find_map(|made| made.as_ref().err());
        Self {
            product: &product.name,
            strength: strength.map_or("", |strength| &strength.amount.written),
            jug: part.jug.map(|jug| &*jug.name),
            full_load: AmountEntry::of(part.full.as_ref()),
            last_load: AmountEntry::of(part.last.as_ref()),
            trouble: trouble.map(|trouble| Language::English.mix_trouble(trouble)),
        }
    }
}

impl AmountEntry {
    /// Returns an amount with how a scale shows it, where there is one.
    pub(super) fn of(made: Option<&Result<Mix, MixTrouble>>) -> Option<Self> {
        let mix = made?.as_ref().ok()?;
        Some(Self { value: Number(mix.amount), unit: mix.unit, shown: shown(&mix.shown) })
    }
}

impl VolumeEntry {
    /// Returns a volume (mm³) in the unit of the grower.
    pub(super) fn of(cubic: f64, speech: Speech) -> Self {
        let unit = match speech {
            Speech::Metric => "L",
            Speech::Us | Speech::AsWritten | Speech::Both => "gal",
        };
        Self { value: Number(plain(unit).map_or(0.0, |unit| unit.amount_from_base(cubic))), unit }
    }
}

/// Returns amounts as scale and cup show them, in English.
pub(super) fn shown(shown: &[ShownAmount]) -> Vec<String> {
    let words = |amount: &ShownAmount| match amount.less_than {
        Some(_) => Language::English.say("amount.less-than", &[("amount", &amount.figure())]),
        None => amount.figure(),
    };
    shown.iter().map(words).collect()
}
