//! One mix: what goes into the tank from one jug, as text and as JSON.

use super::job::{twice, volume_words};
use super::json;
use super::lines::Lines;
use super::page::sentence;
use crate::grove::Jug;
use crate::plan::{Plan, ProductId};
use crate::sprayday::{Mix, MixLimit, Spray};
use crate::units::{Unit, clean, plain, show};
use crate::words::{Speech, weekday};
use std::sync::Arc;

/// One mix with all that is said of it.
#[derive(Clone, Debug)]
pub struct Mixing<'a> {
    /// The rulebook.
    pub plan: &'a Plan,
    /// The word of the product.
    pub word: &'a str,
    /// The product of the rulebook, if it knows it.
    pub product: Option<ProductId>,
    /// The jug.
    pub jug: &'a Jug,
    /// Other jugs of the same product.
    pub others: Vec<&'a Jug>,
    /// The strength as asked for.
    pub asked: &'a str,
    /// The strength in figures.
    pub written: Arc<str>,
    /// The spray.
    pub spray: Spray,
    /// The volume in the unit in which it was asked for.
    pub volume: (f64, Unit),
    /// What goes in.
    pub mix: &'a Mix,
    /// Limits of rulebook and jug.
    pub limits: Vec<MixLimit>,
    /// In which units it is said.
    pub speech: Speech,
}

impl Mixing<'_> {
    /// Returns whether a limit is certainly broken.
    pub fn breaks_a_limit(&self) -> bool {
        self.limits.iter().any(|limit| limit.kept == Some(false))
    }
}

/// Returns a mix as text of a width.
pub fn mix_page(mixing: &Mixing<'_>, width: usize) -> String {
    let Mixing { plan, jug, mix, .. } = mixing;
    let mut lines = Lines::new(width);
    let product = mixing.product.and_then(|id| plan.products.get(id.index()));
    let label = product.map_or(mixing.word, |product| &product.label);
    let volume = volume_as_said(mixing);
    lines.text(0, &format!("{label} at {}, for {volume} of spray", mixing.asked));
    lines.rule('=');
    let broken = mixing.breaks_a_limit();
    if broken {
        lines.text(0, "DO NOT MIX THIS: it is more than is allowed.");
        lines.blank();
    } else {
        lines.field("Take", &twice(&mix.shown));
    }
    let named = mixing.asked != &*mixing.written;
    let strength = if named { mixing.written.to_string() } else { String::new() };
    if named {
        lines.field("Strength", &format!("{}: {strength}", mixing.asked));
    }
    // Of a mix that is not to be made there is nothing to measure out.
    if !broken {
        let mut makes = vec![mix.strength_shown.clone()];
        makes.extend(mix.makes(jug, &mixing.spray).into_iter().filter(|it| *it != mix.strength_shown));
        lines.field("That makes", &makes.join(", or "));
        lines.field("A gallon", &twice(&mix.per_gallon));
        lines.field("A litre", &twice(&mix.per_litre));
    }
    lines.field("Jug", &jug_words(jug));
    lines.fields("Other jugs", mixing.others.iter().map(|jug| &*jug.name));
    let mut limits: Vec<&MixLimit> = mixing.limits.iter().collect();
    limits.sort_by_key(|limit| limit.kept != Some(false));
    let limits = limits.into_iter().map(|limit| match limit.kept {
        Some(true) => format!("{}: kept", limit.written),
        Some(false) => format!("{}: THIS IS MORE", limit.written),
        None => format!("{}: not known, since the land that it goes on is not", limit.written),
    });
    lines.fields("Limits", limits.collect::<Vec<_>>().iter().map(String::as_str));
    lines.fields("Take care", product.into_iter().flat_map(|it| &it.cautions).map(|it| &**it));
    lines.blank();
    for caution in &plan.head.cautions {
        lines.text(0, &sentence(caution));
    }
    if broken {
        lines.blank();
        lines.text(0, "Next: read the label, and ask again for a strength within every limit.");
        return lines.finish();
    }
    lines.text(0, "Put on what the label asks for before you open the jug.");
    lines.blank();
    let next = format!(
        "Next: read the label, half fill the tank with water, add this and no more, then fill up to {volume}."
    );
    lines.text(0, &next);
    lines.finish()
}

/// Returns the volume in the grower's units; one that was said in another, a cup or an imperial gallon, as it was said:
/// rounded to hundredths of a gallon it would not be the same spray.
fn volume_as_said(mixing: &Mixing<'_>) -> String {
    let (number, unit) = &mixing.volume;
    if matches!(&*unit.symbol, "gal" | "L") {
        return volume_words(mixing.spray.volume, mixing.speech);
    }
    let plural = if &*unit.symbol == "cup" && *number != 1.0 { "s" } else { "" };
    let of = |symbol: &str| {
        plain(symbol)
            .map_or_else(String::new, |unit| show(unit.amount_from_base(mixing.spray.volume), &unit.symbol))
    };
    format!("{} {}{plural} ({}, {})", clean(*number), unit.symbol, of("gal"), of("L"))
}

/// Returns what a jug is called, its registration, and when its label was read.
fn jug_words(jug: &Jug) -> String {
    let registration = jug.registration.as_ref().map_or_else(String::new, |number| format!(" ({number})"));
    let read = match jug.label_read {
        Some(day) => format!("label read {}", weekday(day)),
        None => "READ ITS LABEL FIRST: when it was read is not noted".to_string(),
    };
    format!("`{}`{registration}, {read}", jug.name)
}

/// Returns a mix as JSON, `bloomward.mix/1`.
pub fn mix_json(mixing: &Mixing<'_>) -> String {
    let mut out = Vec::new();
    let mix = mixing.mix;
    out.extend_from_slice(b"{\"format\":\"bloomward.mix/1\",\"product\":");
    json::text(&mut out, mixing.word);
    out.extend_from_slice(b",\"jug\":");
    json::text(&mut out, &mixing.jug.name);
    out.extend_from_slice(b",\"strength\":");
    json::text(&mut out, &mixing.written);
    out.extend_from_slice(b",\"volume\":{\"value\":");
    json::number(&mut out, mixing.volume.0);
    out.extend_from_slice(b",\"unit\":");
    json::text(&mut out, &mixing.volume.1.symbol);
    out.push(b'}');
    if mixing.breaks_a_limit() {
        out.extend_from_slice(
            b",\"do_not_mix\":true,\"amount\":null,\"shown\":[],\"strength_shown\":null,\"per_gallon\":[],\"per_litre\":[]",
        );
    } else {
        out.extend_from_slice(b",\"do_not_mix\":false,\"amount\":{\"value\":");
        json::number(&mut out, mix.amount);
        out.extend_from_slice(b",\"unit\":");
        json::text(&mut out, mix.unit);
        out.extend_from_slice(b"},\"shown\":");
        json::texts(&mut out, mix.shown.iter().map(String::as_str));
        out.extend_from_slice(b",\"strength_shown\":");
        json::text(&mut out, &mix.strength_shown);
        out.extend_from_slice(b",\"per_gallon\":");
        json::texts(&mut out, mix.per_gallon.iter().map(String::as_str));
        out.extend_from_slice(b",\"per_litre\":");
        json::texts(&mut out, mix.per_litre.iter().map(String::as_str));
    }
    out.extend_from_slice(b",\"limits\":");
    json::list(&mut out, &mixing.limits, |out, limit| {
        out.extend_from_slice(b"{\"limit\":");
        json::text(out, &limit.written);
        out.extend_from_slice(match limit.kept {
            Some(true) => b",\"kept\":true}",
            Some(false) => b",\"kept\":false}",
            None => b",\"kept\":null}",
        });
    });
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}
