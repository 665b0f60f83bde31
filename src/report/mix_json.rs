//! One mix as JSON, `bloomward.mix/1`.

use super::Mixing;
use super::job_json::shown;
use super::json::{self, Number};
use crate::labels::MixLimit;
use crate::sprayday::Mix;
use serde::Serialize;
use std::borrow::Cow;

/// How much of a jug goes into a volume of spray.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.mix/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct MixForm<'a> {
    product: &'a str,
    jug: &'a str,
    /// As it was asked for; one of the rulebook in figures.
    strength: &'a str,
    volume: QuantityEntry<'a>,
    /// Whether it is more than a limit: then nothing is said of what to measure out.
    do_not_mix: bool,
    amount: Option<QuantityEntry<'a>>,
    /// As a scale or a jug shows it, in both systems of units, rounded down.
    shown: Vec<String>,
    /// The strength that the rounded amount makes.
    strength_shown: Option<&'a str>,
    per_gallon: Vec<String>,
    per_litre: Vec<String>,
    limits: Vec<LimitEntry<'a>>,
}

/// A number with its unit.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct QuantityEntry<'a> {
    value: Number,
    unit: &'a str,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct LimitEntry<'a> {
    limit: Cow<'a, str>,
    /// Null where it is not known.
    kept: Option<bool>,
}

/// Returns a mix as JSON.
pub fn mix_json(mixing: &Mixing<'_>) -> String {
    let do_not_mix = mixing.breaks_a_limit();
    let mix: Option<&Mix> = Some(mixing.mix).filter(|_| !do_not_mix);
    let of_labels =
        mixing.limits.iter().map(|it| LimitEntry { limit: Cow::Borrowed(&*it.written), kept: it.kept });
    let strongest = mixing.strongest.iter().map(|(strength, MixLimit { written, kept, .. })| LimitEntry {
        limit: Cow::Owned(format!("the guide's strongest, {strength}: {written}")),
        kept: *kept,
    });
    json::line(&MixForm {
        product: mixing.word,
        jug: &mixing.jug.name,
        strength: &mixing.written,
        volume: QuantityEntry { value: Number(mixing.volume.0), unit: &mixing.volume.1.symbol },
        do_not_mix,
        amount: mix.map(|mix| QuantityEntry { value: Number(mix.amount), unit: mix.unit }),
        shown: mix.map_or_else(Vec::new, |mix| shown(&mix.shown)),
        strength_shown: mix.map(|mix| &*mix.strength_shown),
        per_gallon: mix.map_or_else(Vec::new, |mix| shown(&mix.per_gallon)),
        per_litre: mix.map_or_else(Vec::new, |mix| shown(&mix.per_litre)),
        limits: of_labels.chain(strongest).collect(),
    })
}
