//! One mix: what goes into the tank from one jug, as text.

use super::lines::Lines;
use super::page::sentence;
use crate::grove::Jug;
use crate::labels::MixLimit;
use crate::plan::ProductId;
use crate::sprayday::{Mix, Spray};
use crate::units::{Unit, clean, plain, show};
use crate::words::{Speech, Words};
use chrono::NaiveDate;
use std::sync::Arc;

/// One mix with all that is said of it.
#[derive(Clone, Debug)]
pub struct Mixing<'a> {
    /// In which words it is said.
    pub words: Words<'a>,
    /// The word of the product.
    pub word: &'a str,
    /// The day on which it is asked, and which counts as that of the spray.
    pub today: NaiveDate,
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
    /// The guide's strongest mix, by the name of its strength, where both can be counted.
    pub strongest: Option<(Arc<str>, MixLimit)>,
}

impl Mixing<'_> {
    /// Returns whether a limit is certainly broken.
    pub fn breaks_a_limit(&self) -> bool {
        let strongest = self.strongest.iter().map(|(_, limit)| limit);
        self.limits.iter().chain(strongest).any(|limit| limit.kept == Some(false))
    }
}

/// Returns a mix as text of a width.
pub fn mix_page(mixing: &Mixing<'_>, width: usize) -> String {
    let Mixing { words, jug, mix, .. } = mixing;
    let say = |key: &str| words.say(key, &[]);
    let mut lines = Lines::new(width);
    let product = mixing.product.map_or_else(|| mixing.word.to_string(), |product| words.product(product));
    let volume = volume_as_said(mixing);
    let asked = asked_words(mixing);
    let places = [("product", &*product), ("strength", &asked), ("volume", &volume)];
    lines.text(0, &words.say("mix.title", &places));
    lines.rule('=');
    let broken = mixing.breaks_a_limit();
    if broken {
        lines.text(0, &say("mix.do-not"));
        lines.blank();
    } else {
        lines.field(&say("mix.take"), &words.amount(&mix.shown));
    }
    if mixing.asked != &*mixing.written {
        let places = [("name", &*asked), ("written", &*words.plan.amount_shown(&mixing.written))];
        lines.field(&say("mix.strength"), &words.say("mix.strength.words", &places));
    }
    // Of a mix that is not to be made there is nothing to measure out.
    if !broken {
        let mut makes = vec![mix.strength_shown.clone()];
        makes.extend(mix.makes(jug, &mixing.spray).into_iter().filter(|it| *it != mix.strength_shown));
        lines.field(&say("mix.makes"), &words.language.joined("mix.makes.or", &makes));
        let mut each = [("mix.gallon", &mix.per_gallon), ("mix.liter", &mix.per_litre)];
        if words.speech == Speech::Metric {
            each.reverse();
        }
        each.iter().for_each(|(key, amount)| lines.field(&say(key), &words.amount(amount)));
    }
    lines.field(&say("mix.jug"), &jug_words(jug, *words));
    lines.fields(&say("mix.jugs"), mixing.others.iter().map(|jug| &*jug.name));
    lines.fields(&say("mix.limits"), limit_words(mixing).iter().map(String::as_str));
    let cautions = mixing.product.and_then(|id| words.plan.products.get(id.index()));
    lines.fields(&say("mix.care"), cautions.into_iter().flat_map(|it| &it.cautions).map(|it| &**it));
    let bars = words.barred(mixing.product.as_slice(), mixing.today);
    let bars: Vec<String> =
        bars.iter().map(|bars| words.say("label.bars.today", &[("bars", bars)])).collect();
    lines.fields(&say("sheet.apart"), bars.iter().map(String::as_str));
    lines.blank();
    for caution in &words.plan.head.cautions {
        lines.text(0, &sentence(caution));
    }
    if broken {
        lines.blank();
        lines.text(0, &say("mix.next.broken"));
        return lines.finish();
    }
    lines.text(0, &say("mix.gear"));
    lines.blank();
    lines.text(0, &words.say("mix.next", &[("volume", &volume)]));
    lines.finish()
}

/// Returns the strength as it was asked for; one of the rulebook's by its name.
fn asked_words(mixing: &Mixing<'_>) -> String {
    let product = mixing.product.and_then(|id| mixing.words.plan.products.get(id.index()));
    let is = |name: &str| name.eq_ignore_ascii_case(mixing.asked.trim());
    let named = product.and_then(|product| product.strengths.iter().find(|strength| is(&strength.name)));
    named.map_or_else(|| mixing.asked.to_string(), |strength| strength.shown.to_string())
}

/// Returns the limits, each with whether it is kept, the broken ones first.
fn limit_words(mixing: &Mixing<'_>) -> Vec<String> {
    let words = mixing.words;
    let of_labels = mixing
        .limits
        .iter()
        .map(|limit| (words.label_line(limit.word, &limit.limit), limit.kept, "mix.broken.label"));
    let product = mixing.product.and_then(|id| words.plan.products.get(id.index()));
    let strongest = mixing.strongest.iter().map(|(strength, limit)| {
        let named = product.and_then(|product| product.strengths.iter().find(|it| it.name == *strength));
        let shown = named.map_or(strength, |named| &named.shown);
        let places = [("strength", &**shown), ("written", &*words.plan.amount_shown(&limit.written))];
        (words.say("mix.strongest", &places), limit.kept, "mix.broken")
    });
    let mut limits: Vec<(String, Option<bool>, &str)> = of_labels.chain(strongest).collect();
    limits.sort_by_key(|(_, kept, _)| *kept != Some(false));
    let one = |(limit, kept, broken): (String, Option<bool>, &str)| {
        let key = match kept {
            Some(true) => "mix.kept",
            Some(false) => broken,
            None => "mix.unknown",
        };
        words.say(key, &[("limit", &limit)])
    };
    limits.into_iter().map(one).collect()
}

/// Returns the volume in the grower's units; one that was said in another, a cup or an imperial gallon, as it was said:
/// rounded to hundredths of a gallon it would not be the same spray.
fn volume_as_said(mixing: &Mixing<'_>) -> String {
    let words = mixing.words;
    let (number, unit) = &mixing.volume;
    let count = clean(*number).to_string();
    let volume = match &*unit.symbol {
        "gal" | "L" => return words.volume(mixing.spray.volume),
        "cup" => words.say(if count == "1" { "mix.cup" } else { "mix.cups" }, &[("count", &count)]),
        symbol => format!("{count} {symbol}"),
    };
    let of = |symbol: &str| {
        plain(symbol)
            .map_or_else(String::new, |unit| show(unit.amount_from_base(mixing.spray.volume), &unit.symbol))
    };
    words.say("mix.volume", &[("volume", &volume), ("gallons", &of("gal")), ("liters", &of("L"))])
}

/// Returns what a jug is called, its registration, and when its label was read.
fn jug_words(jug: &Jug, words: Words<'_>) -> String {
    let read = words.label_read(jug);
    match &jug.registration {
        Some(number) => {
            let places = [("name", &*jug.name), ("registration", number), ("read", &read)];
            words.say("mix.jug.registered", &places)
        }
        None => words.say("mix.jug.words", &[("name", &jug.name), ("read", &read)]),
    }
}
