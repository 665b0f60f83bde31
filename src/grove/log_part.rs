//! What was in the tank, as a row of the spray log says it.
//!
//! A mix is written `copper with oil`, and its strengths, rates, jugs and registrations likewise, part by part.

use super::dose::both_ways;
use super::log::{SprayPart, SprayRate};
use super::log_row::RowCells;
use super::reading::{FileReading, UnknownNames};
use super::shed::{Form, Jug};
use super::trouble::Trouble;
use super::used;
use crate::phrase::said;
use crate::plan::{Product, ProductId, Strength};
use crate::problems::{Finding, Problem, nearest, one_letter_off};
use crate::units::{Dimension, spoken};
use std::sync::Arc;

/// Reads the products of a row.
pub(super) fn parts(cells: &RowCells, shed: &[Jug], reading: &mut FileReading) -> Vec<SprayPart> {
    let products = of_mix(cells.text("product"));
    if products.is_empty() {
        let help =
            "complete the row with the rulebook's word for the product, or delete it if it was half written";
        reading.error(cells.span("product"), "the row does not say its `product`", help);
        return Vec::new();
    }
    let in_parts = |column: &'static str, reading: &mut FileReading| {
        let given = of_mix(cells.text(column));
        if !given.is_empty() && given.len() != products.len() {
            let (own, wanted) = (given.len(), products.len());
            let message =
                said!("`{column}` has {own} parts, but `product` has {wanted}", column, own, wanted);
            reading.error(
                cells.span(column),
                message,
                "write one for each product, with `with` between them",
            );
        }
        given
    };
    let strengths = in_parts("strength", reading);
    let rates = in_parts("rate", reading);
    let jugs = in_parts("jug", reading);
    let registrations = in_parts("registration", reading);
    let held = in_parts(used::JUG, reading);
    let kept = of_mix(cells.text(used::AMOUNT));
    if strengths.is_empty() && rates.is_empty() {
        let help =
            "write the `strength` by its name in the rulebook, or the `rate` in figures: `2 lb / 100 gal`";
        reading.error(cells.span("strength"), "the row says neither a strength nor a rate", help);
    }
    let part = |at: usize, of: &[&str]| of.get(at).copied().unwrap_or_default().to_string();
    let mut parts = Vec::new();
    for (at, word) in products.iter().enumerate() {
        let registration = part(at, &registrations);
        let named = named_jug(&part(at, &jugs), &registration, shed);
        let product = product(word, (&registration, named), cells, shed, reading);
        let said = part(at, &strengths);
        let (strength, mut rate) = strength(&said, product, reading);
        let jug = jug(&part(at, &jugs), &registration, word, product, shed);
        let name = part(at, &jugs);
        let name: &str = if name.is_empty() { word } else { &name };
        let used = used::jug(&part(at, &held), name, word, product);
        let used = used.map(|jug| Arc::new(Jug { span: cells.span(used::JUG), ..jug }));
        let in_shed = jug.and_then(|at| shed.get(at));
        let form = used.as_deref().or(in_shed).map(|jug| jug.form);
        if let Some(text) = Some(part(at, &rates)).filter(|text| !text.is_empty()) {
            rate = reading.keep(read_rate(&text, form), cells.span("rate"));
            if let (Some(id), Some(strength), Some(rate)) = (product, strength, &rate) {
                hold_together(id, strength, rate, used.as_deref().or(in_shed), cells, reading);
            }
        }
        let is_word = !said.is_empty() && strength.is_none() && read_rate(&said, None).is_err();
        if let Some(id) = product.filter(|_| is_word) {
            // The rulebook may have another name for it by now: what the row itself says of the amount counts.
            rate = rate.or_else(|| read_rate(kept.get(at)?, form).ok());
            no_strength(&said, id, rate.as_ref(), cells, reading);
        }
        parts.push(SprayPart { word: (*word).into(), product, strength, rate, jug, used });
    }
    parts
}

/// By so much, as a part of the larger, a strength and a rate may differ: both are rounded to what a scale shows.
const ROUNDED: f64 = 0.05;

/// Reports a strength and a rate that do not say the same.
fn hold_together(
    product: ProductId,
    strength: u8,
    rate: &SprayRate,
    jug: Option<&Jug>,
    cells: &RowCells,
    reading: &mut FileReading,
) {
    let item = &reading.plan[product];
    let Some(strength) = item.strengths.get(usize::from(strength)) else { return };
    let both = both_ways(jug, item.contains.as_deref(), &strength.amount, rate);
    let Some((named, figures)) = both else { return };
    if (named - figures).abs() > ROUNDED * named.max(figures) {
        let message = said!(
            "the strength `{strength}` of {name} is {amount}, but the rate says {rate}: the rate counts",
            strength = strength.name,
            name = item.name,
            amount = strength.amount.written,
            rate = rate.written
        );
        reading.note(cells.span("rate"), message);
    }
}

impl SprayPart {
    /// Returns whether it was stronger than a strength of its product: by its figures, else by the name of its strength.
    pub fn is_above(&self, most: u8, product: &Product, shed: &[Jug]) -> bool {
        let by_figures = || {
            let jug = self.used.as_deref().or_else(|| shed.get(self.jug?));
            let strength = product.strengths.get(usize::from(most))?;
            let contains = product.contains.as_deref();
            let (allowed, was) = both_ways(jug, contains, &strength.amount, self.rate.as_ref()?)?;
            Some(was > allowed * (1.0 + ROUNDED))
        };
        by_figures().unwrap_or_else(|| self.strength.is_some_and(|strength| strength > most))
    }
}

fn of_mix(text: &str) -> Vec<&str> {
    text.split(" with ").map(str::trim).filter(|part| !part.is_empty()).collect()
}

fn product(
    word: &str,
    (registration, named): (&str, Option<&Jug>),
    cells: &RowCells,
    shed: &[Jug],
    reading: &mut FileReading,
) -> Option<ProductId> {
    if let Some(id) = reading.plan.product(word) {
        return Some(id);
    }
    let span = cells.span("product");
    let in_shed = shed.iter().any(|jug| &*jug.word == word);
    if let Some((id, jug)) = named.filter(|_| !in_shed).and_then(|jug| Some((jug.product?, jug))) {
        let own = &reading.plan[id].name;
        let message = said!(
            "`{word}` is not a product of this rulebook; by its jug, `{jug}` of the shed, this spray counts as {own}",
            word,
            own,
            jug = jug.name
        );
        let help = said!("write `{own}`", own);
        reading.problems.push(Problem::new(Finding::InputNote, span, message).help(help));
        return Some(id);
    }
    let all = || reading.plan.products.iter().map(|product| &*product.name);
    let slip = if in_shed { None } else { one_letter_off(word, all()) };
    if let Some(near) = slip.filter(|_| reading.unknown == UnknownNames::Refuse) {
        let help = said!("write `{near}`, or the whole word of the other product", near);
        let message =
            said!("`{word}` is not a product of this rulebook, but a letter off `{near}`", word, near);
        reading.error(span, message, help);
        return None;
    }
    let on_shelf = in_shed || !cells.text(used::JUG).is_empty();
    if !registration.is_empty() || on_shelf || reading.unknown == UnknownNames::LeaveOut {
        reading.note(
            span,
            said!("`{word}` is not a product of this rulebook: it counts as a spray, but as none of a group; how much of \
                 an ingredient it held is known only where its jug in the shed says so", word),
        );
        return None;
    }
    let words = || reading.plan.products.iter().map(|product| &*product.name);
    let help = match nearest(word, words()) {
        Some(near) => said!("did you mean `{near}`? Another product is logged with its `registration`", near),
        None => {
            let all: Vec<String> = words().map(|word| format!("`{word}`")).collect();
            said!(
                "the rulebook has {all}; another product is logged with its `registration`",
                all = all.join(", ")
            )
        }
    };
    reading.error(span, said!("`{word}` is not a product of this rulebook", word), help);
    None
}

/// Reads the name of a strength; one in figures is a rate.
fn strength(
    text: &str,
    product: Option<ProductId>,
    reading: &FileReading,
) -> (Option<u8>, Option<SprayRate>) {
    let strengths: &[Strength] = product.map_or(&[], |id| &reading.plan[id].strengths);
    match strengths.iter().position(|strength| &*strength.name == text) {
        Some(at) => (u8::try_from(at).ok(), None),
        None => (None, read_rate(text, None).ok()),
    }
}

/// Says that the rulebook has no strength of this name, or no longer, and what counts in its place. The spray counts all
/// the same: a log that lost it would call copper older than it is.
fn no_strength(
    said: &str,
    product: ProductId,
    of_row: Option<&SprayRate>,
    cells: &RowCells,
    reading: &mut FileReading,
) {
    let product = &reading.plan[product];
    let names = || product.strengths.iter().map(|strength| &*strength.name);
    let message = said!(
        "`{word}` is not a strength of {product} in this rulebook, or no longer",
        word = said,
        product = product.name
    );
    let span = cells.span("strength");
    let problem = match of_row {
        Some(rate) => {
            let message =
                said!("{message}: the row itself says how much it was, {rate}", message, rate = rate.written);
            Problem::new(Finding::InputNote, span, message)
        }
        None => {
            let near = nearest(said, names()).map(|near| said!("did you mean `{near}`? Else ", near));
            let names = names().collect::<Vec<_>>().join(", ");
            let help = said!(
                "{near}write how much it was under `rate`, in figures: its strengths are {names}",
                names,
                near = near.unwrap_or_default()
            );
            let message = said!("{message}: the spray counts, but how much it was is not known", message);
            Problem::new(Finding::InputNote, span, message).help(help)
        }
    };
    reading.problems.push(problem);
}

/// Returns the jug of the shed that a row names, by its registration or its name.
fn named_jug<'s>(name: &str, registration: &str, shed: &'s [Jug]) -> Option<&'s Jug> {
    let by_registration = |jug: &&Jug| jug.registration.as_deref() == Some(registration);
    let by_name = |jug: &&Jug| jug.name.eq_ignore_ascii_case(name);
    shed.iter().find(by_registration).or_else(|| shed.iter().find(by_name))
}

/// Finds the jug by its name or registration; where the row gives neither, the first of the product.
fn jug(
    name: &str,
    registration: &str,
    word: &str,
    product: Option<ProductId>,
    shed: &[Jug],
) -> Option<usize> {
    let of_product = |jug: &Jug| &*jug.word == word || (product.is_some() && jug.product == product);
    let by_registration = |jug: &Jug| jug.registration.as_deref().is_some_and(|own| own == registration);
    if !registration.is_empty() && shed.iter().any(by_registration) {
        return shed.iter().position(by_registration);
    }
    if !name.is_empty() {
        return shed.iter().position(|jug| of_product(jug) && (&*jug.name == name || &*jug.word == name));
    }
    shed.iter().position(of_product).filter(|_| registration.is_empty())
}

/// Returns whether the log takes a rate of a jug of this form.
pub fn is_rate(text: &str, form: Option<Form>) -> bool {
    read_rate(text, form).is_ok()
}

/// Reads `2 lb / 100 gal`, `3 lb/ac`, `50 g/tree`, `600 ppm copper`, `1 % v/v`, `1:100` or `4 lb` in all.
fn read_rate(text: &str, form: Option<Form>) -> Result<SprayRate, Trouble> {
    let example =
        "write how much: `2 lb / 100 gal`, `3 lb/ac`, `50 g/tree`, `600 ppm copper` or, in all, `4 lb`";
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let dimension = said.unit.dimension;
    let ratio = matches!(&*said.unit.symbol, "% v/v") || said.unit.symbol.contains('/') || text.contains(':');
    let fits = match dimension {
        Dimension::MASS | Dimension::VOLUME | Dimension::CONCENTRATION | Dimension::RATE => true,
        Dimension::NONE => ratio,
        of => of == Dimension::VOLUME.over(Dimension::AREA) && said.unit.symbol.contains('/'),
    };
    let of: Option<Arc<str>> = said.of.clone();
    if &*said.unit.symbol == "ppm" {
        return Err(Trouble::new(said!("`{text}` does not say of what", text)).help("write `600 ppm copper`"));
    }
    if said.is_bare() {
        return Err(Trouble::new(said!("`{text}` has no unit", text)).help(example));
    }
    if !fits || said.number < 0.0 {
        return Err(Trouble::new(said!("`{text}` is not a rate", text)).help(example));
    }
    let by_mass = dimension.mass == 1;
    match form {
        Some(Form::Liquid(None)) if by_mass && of.is_none() && said.unit.symbol.starts_with("oz") => {
            return Err(Trouble::new(said!("`{text}` is a weight, but this jug is a liquid", text))
                .help("`oz` is a weight; of a liquid write `fl oz`"));
        }
        Some(Form::Powder) if !by_mass => {
            return Err(Trouble::new(said!("`{text}` is a volume, but this jug is a powder", text))
                .help("`fl oz` is a volume; of a powder write `oz`"));
        }
        Some(Form::Liquid(_) | Form::Powder) | None => {}
    }
    Ok(SprayRate { amount: said.amount(), dimension, per_tree: said.per_tree, of, written: text.into() })
}
