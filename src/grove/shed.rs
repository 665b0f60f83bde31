//! The jugs on the grower's shelf: what they hold and what their labels say.
//!
//! Comes in: the key `shed`. Goes out: contents in base units and the limits of labels. Which product of the rulebook
//! a jug is says its key.

use super::compound;
use super::keys::{self, Keys};
use super::reading::{FileReading, UnknownNames};
use super::trouble::Trouble;
use super::value;
use super::yaml::{Key, Value, YamlNode};
use crate::phrase::said;
use crate::plan::{Plan, ProductId, Total};
use crate::problems::nearest;
use crate::source::Span;
use crate::units::{Dimension, Threshold, Unit, spoken};
use chrono::NaiveDate;
use std::sync::Arc;

/// A jug.
#[derive(Clone, PartialEq, Debug)]
pub struct Jug {
    /// The word of the product that it is.
    pub word: Arc<str>,
    /// The product of the rulebook; nothing where it knows none of this word.
    pub product: Option<ProductId>,
    /// The name on its label.
    pub name: Arc<str>,
    /// The registration on its label.
    pub registration: Option<Arc<str>>,
    /// Powder or liquid.
    pub form: Form,
    /// What it holds.
    pub contains: Vec<Content>,
    /// What its label says.
    pub label: JugLabel,
    /// The day on which the grower read the label.
    pub label_read: Option<NaiveDate>,
    /// Where it is written.
    pub span: Span,
}

/// Whether it is weighed or measured.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Form {
    /// It is weighed.
    Powder,
    /// It is measured; with its weight per volume (g/mm³) where that is given.
    Liquid(Option<f64>),
}

/// An ingredient of a jug.
#[derive(Clone, Debug, PartialEq)]
pub struct Content {
    /// The ingredient, as the rulebook counts it.
    pub ingredient: Arc<str>,
    /// How much of it.
    pub amount: Contained,
    /// Where it is written.
    pub span: Span,
}

/// How much of an ingredient a jug holds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Contained {
    /// Grams in a gram of product.
    OfMass(f64),
    /// Grams in a cubic millimetre of product.
    OfVolume(f64),
}

/// What the label of a jug says; the stricter of it and of the rulebook counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JugLabel {
    /// Hours from the end of a spray until people may go back in.
    pub re_entry: Option<f64>,
    /// Days before harvest.
    pub before_harvest: Option<f64>,
    /// Days between two sprays.
    pub interval: Option<f64>,
    /// The most sprays of a season or a year.
    pub sprays: Vec<(Total, u32)>,
    /// The most of a season, of a year (or of one spray, without a total), on an area.
    pub amounts: Vec<JugCap>,
    /// The strongest mix: the most in a volume of spray.
    pub strengths: Vec<JugCap>,
}

/// The most that may be put on an area, or into a volume of spray.
#[derive(Clone, Debug, PartialEq)]
pub struct JugCap {
    /// Over which time; nothing: in one spray.
    pub total: Option<Total>,
    /// A mass (g/mm²) or a volume (mm) on an area; in a volume of spray a mass (g/mm³), or a part of it.
    pub at_most: Threshold,
    /// Its dimension.
    pub dimension: Dimension,
    /// Of which ingredient; nothing: of the product.
    pub of: Option<Arc<str>>,
    /// As written.
    pub written: Arc<str>,
    /// The unit in which it is written.
    pub unit: Unit,
}

impl Jug {
    /// Returns how much of an ingredient it holds.
    pub fn content(&self, ingredient: &str) -> Option<&Content> {
        self.contains.iter().find(|content| &*content.ingredient == ingredient)
    }

    /// Returns the grams of an ingredient in one gram of a powder or one cubic millimetre of a liquid.
    ///
    /// A liquid whose contents are in percent needs its weight per volume.
    pub fn strength(&self, ingredient: &str) -> Option<f64> {
        match (self.content(ingredient)?.amount, self.form) {
            (Contained::OfMass(share), Form::Powder) => Some(share),
            (Contained::OfMass(share), Form::Liquid(weight)) => weight.map(|weight| share * weight),
            (Contained::OfVolume(mass), Form::Liquid(_)) => Some(mass),
            (Contained::OfVolume(_), Form::Powder) => None,
        }
    }
}

/// Reads the shed.
pub(super) fn read(node: &YamlNode, reading: &mut FileReading) -> Vec<Jug> {
    let mut jugs = Vec::new();
    let Some(keys) = Keys::open(node, "the shed", &mut reading.problems) else { return jugs };
    for (key, node) in keys.rest() {
        let product = reading.plan.product(&key.text);
        if product.is_none() {
            let words = reading.plan.products.iter().map(|product| &*product.name);
            let near = nearest(&key.text, words).filter(|_| reading.unknown == UnknownNames::Refuse);
            if let Some(near) = near {
                let message = said!("`{key}` is not a product of this rulebook", key = key.text);
                reading.error(key.span, message, said!("did you mean `{near}`?", near));
            } else {
                let message = said!(
                    "`{key}` is not a product of this rulebook; the jug stays on the shelf",
                    key = key.text
                );
                reading.note(key.span, message);
            }
        }
        match &node.value {
            Value::List(items) => {
                jugs.extend(items.iter().filter_map(|item| jug(key, item, product, reading)))
            }
            Value::Nothing | Value::Text(_) | Value::Map(_) => jugs.extend(jug(key, node, product, reading)),
        }
    }
    jugs
}

fn jug(key: &Key, node: &YamlNode, product: Option<ProductId>, reading: &mut FileReading) -> Option<Jug> {
    let mut keys = Keys::open(node, "a jug", &mut reading.problems)?;
    let problems = &mut reading.problems;
    let named = keys.text("name", problems);
    let name: Arc<str> = named.map_or(key.text.as_str(), |(name, _)| name).into();
    let registration = keys.text("registration", problems).map(|(text, _)| text.into());
    let form = keys.text("form", problems);
    let weight = ["density", "weight"].iter().find_map(|key| keys.text(key, problems));
    let contains = keys.take("contains");
    let label_read = keys.text("label-read", problems);
    let label = label(&mut keys, problems);
    let strength = keys.take("strength");
    let form = form_of(form, weight, key, reading);
    let strengths = strength.map_or_else(Vec::new, |node| strengths(node, form, reading));
    let label = JugLabel { strengths, ..label };
    let contains = contains.map_or_else(Vec::new, |node| contents(node, form, &name, product, reading));
    let label_read = label_read.and_then(|(text, at)| reading.keep(value::date(text), at));
    keys.refuse_rest(&mut reading.problems);
    if let (Some((name, at)), Some(product)) = (named, product)
        && let Some(trouble) = super::jug_name::of_another(name, product, reading.plan)
    {
        reading.problems.push(trouble.at(at));
    }
    Some(Jug {
        word: key.text.as_str().into(),
        product,
        name,
        registration,
        form,
        contains,
        label,
        label_read,
        span: key.span,
    })
}

fn form_of(
    form: Option<(&str, Span)>,
    weight: Option<(&str, Span)>,
    key: &Key,
    reading: &mut FileReading,
) -> Form {
    let weight = weight.and_then(|(text, at)| {
        let weight = keys::quantity(text, Dimension::CONCENTRATION);
        let weight = reading.keep(weight, at)?;
        // Between half and three times the weight of water: 4 to 25 lb/gal.
        if (0.5e-3..=3e-3).contains(&weight) {
            return Some(weight);
        }
        let help = "write the weight of a volume of it, as its label says: `10.4 lb/gal` or `1.25 kg/L`";
        reading.error(at, said!("no jug holds a liquid of `{text}`", text), help);
        None
    });
    match form {
        Some(("powder", _)) => Form::Powder,
        Some(("liquid", _)) => Form::Liquid(weight),
        Some((other, at)) => {
            reading.error(
                at,
                said!("`{other}` is no form of a product", other),
                "write `powder` or `liquid`",
            );
            Form::Powder
        }
        None => {
            let help = "write `form: powder` where it is weighed, `form: liquid` where it is measured";
            reading.error(key.span, said!("the jug `{key}` does not say its form", key = key.text), help);
            Form::Powder
        }
    }
}

fn contents(
    node: &YamlNode,
    form: Form,
    name: &str,
    product: Option<ProductId>,
    reading: &mut FileReading,
) -> Vec<Content> {
    let mut contents = Vec::new();
    let Some(keys) = Keys::open(node, "the contents of a jug", &mut reading.problems) else {
        return contents;
    };
    for (key, node) in keys.rest() {
        let Some(text) = keys::text(node, &key.text, &mut reading.problems) else { continue };
        let read = contained(text, form);
        let Some(amount) = reading.keep(read, node.span) else { continue };
        let active = product.and_then(|id| reading.plan[id].active.clone()).unwrap_or_default();
        if let Some(trouble) = compound::refuse(&key.text, text, amount, form, &[name, &active]) {
            reading.problems.push(trouble.at(node.span));
            continue;
        }
        contents.push(Content { ingredient: key.text.as_str().into(), amount, span: node.span });
    }
    if let Some(trouble) = wanted_ingredient(&contents, product, reading.plan) {
        reading.problems.push(trouble.at(node.span));
    }
    contents
}

/// Asks for the ingredient that the rulebook counts, where another one near to it is given.
fn wanted_ingredient(contents: &[Content], product: Option<ProductId>, plan: &Plan) -> Option<Trouble> {
    let wanted = plan[product?].contains.as_ref()?;
    if contents.is_empty() || contents.iter().any(|content| content.ingredient == *wanted) {
        return None;
    }
    let given: Vec<String> = contents.iter().map(|content| format!("`{}`", content.ingredient)).collect();
    Some(
        Trouble::new(said!(
            "the rulebook counts `{wanted}` in this product, but the jug says {given}",
            wanted,
            given = given.join(", ")
        ))
        .help(said!("write how much `{wanted}` the jug holds: `contains: {{ {wanted}: 50 % }}`", wanted)),
    )
}

/// Reads `50 %`, `5 lb/gal` or `600 g/L`.
pub(super) fn contained(text: &str, form: Form) -> Result<Contained, Trouble> {
    let example = match form {
        Form::Powder => "write the share of its weight: `50 %`",
        Form::Liquid(_) => {
            "write the weight in a volume, `5 lb/gal` or `600 g/L`, or the share of its weight, `24 %`"
        }
    };
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let amount = said.amount();
    if said.per_tree || said.of.is_some() {
        return Err(Trouble::new(said!("`{text}` is no content of a jug", text)).help(example));
    }
    match (&*said.unit.symbol, said.unit.dimension) {
        ("%", _) if amount > 0.0 && amount <= 1.0 => Ok(Contained::OfMass(amount)),
        ("%", _) => Err(Trouble::new(said!("a jug cannot hold `{text}` of anything", text)).help(example)),
        ("% w/v", _) if form == Form::Powder => Err(Trouble::new("a powder has no volume").help(example)),
        (_, Dimension::CONCENTRATION) => match form {
            Form::Powder => {
                Err(Trouble::new(said!("`{text}` is of a liquid, but this is a powder", text)).help(example))
            }
            Form::Liquid(_) if amount > 0.0 && amount < 3e-3 => Ok(Contained::OfVolume(amount)),
            Form::Liquid(_) => {
                Err(Trouble::new(said!("a jug cannot hold `{text}` of anything", text)).help(example))
            }
        },
        _ if said.is_bare() => Err(Trouble::new(said!("`{text}` has no unit", text)).help(example)),
        _ => {
            let called = said.unit.dimension.called();
            Err(Trouble::new(said!("`{text}` is {called}, not a content", text, called)).help(example))
        }
    }
}

fn label(keys: &mut Keys, problems: &mut crate::problems::Problems) -> JugLabel {
    let mut label = JugLabel {
        re_entry: keys.quantity("re-entry", Dimension::TIME, problems),
        before_harvest: keys.quantity("before-harvest", Dimension::TIME, problems).map(|hours| hours / 24.0),
        interval: keys.quantity("interval", Dimension::TIME, problems).map(|hours| hours / 24.0),
        ..JugLabel::default()
    };
    for (key, total) in [("season", Some(Total::Season)), ("year", Some(Total::Year)), ("single", None)] {
        let Some(node) = keys.take(key) else { continue };
        let parts: &[YamlNode] = match &node.value {
            Value::List(parts) => parts,
            Value::Nothing | Value::Text(_) | Value::Map(_) => std::slice::from_ref(node),
        };
        for part in parts {
            let Some(text) = keys::text(part, key, problems) else { continue };
            match cap(text, total) {
                Ok(SeasonCap::Sprays(total, sprays)) => label.sprays.push((total, sprays)),
                Ok(SeasonCap::Amount(cap)) => label.amounts.push(cap),
                Err(trouble) => problems.push(trouble.at(part.span)),
            }
        }
    }
    label
}

/// Reads the strongest mix that a label allows, or one for each ingredient.
fn strengths(node: &YamlNode, form: Form, reading: &mut FileReading) -> Vec<JugCap> {
    let parts: &[YamlNode] = match &node.value {
        Value::List(parts) => parts,
        Value::Nothing | Value::Text(_) | Value::Map(_) => std::slice::from_ref(node),
    };
    let mut caps = Vec::new();
    for part in parts {
        let Some(text) = keys::text(part, "strength", &mut reading.problems) else { continue };
        caps.extend(reading.keep(strength(text, form), part.span));
    }
    caps
}

/// Reads `1.5 g/L`, `2 tbsp per gallon` or `600 ppm copper`.
pub(super) fn strength(text: &str, form: Form) -> Result<JugCap, Trouble> {
    let example = match form {
        Form::Powder => "write the weight in a volume of spray, `1.5 g/L` or `2 oz/gal`",
        Form::Liquid(_) => "write the volume in a volume of spray, `2 tbsp/gal` or `5 mL/L`",
    };
    let text = text.strip_prefix("at most ").unwrap_or(text);
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let by_weight = said.unit.dimension == Dimension::CONCENTRATION;
    let in_spray = by_weight || said.unit.dimension == Dimension::NONE && said.unit.symbol.contains('/');
    // An ingredient is counted by its weight, a product as it is measured out.
    let fits = match &said.of {
        Some(_) => by_weight,
        None => by_weight == (form == Form::Powder) && &*said.unit.symbol != "ppm",
    };
    if !in_spray || !fits || said.per_tree || said.number <= 0.0 {
        return Err(Trouble::new(said!("`{text}` is no strength of this jug", text)).help(example));
    }
    Ok(JugCap {
        total: None,
        at_most: said.unit.threshold_of_amount(said.amount()),
        dimension: said.unit.dimension,
        of: said.of,
        written: text.into(),
        unit: said.unit,
    })
}

pub(super) enum SeasonCap {
    Sprays(Total, u32),
    Amount(JugCap),
}

/// Reads `6 sprays`, `12 lb/ac` or `12 lb/ac copper`.
pub(super) fn cap(text: &str, total: Option<Total>) -> Result<SeasonCap, Trouble> {
    let example = match total {
        Some(_) => "write `6 sprays`, or an amount on an area: `12 lb/ac copper`",
        None => "write an amount on an area: `3 lb/ac copper`",
    };
    let text = text.strip_prefix("at most ").unwrap_or(text);
    let said = spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, Some(example.into())))?;
    let Unit { symbol, dimension, .. } = &said.unit;
    if let (Some(total), "sprays") = (total, &**symbol)
        && said.number.fract() == 0.0
        && (0.0..=1000.0).contains(&said.number)
    {
        return Ok(SeasonCap::Sprays(total, said.number as u32));
    }
    let on_area = *dimension == Dimension::RATE || *dimension == Dimension::VOLUME.over(Dimension::AREA);
    if !on_area || said.per_tree || said.number < 0.0 || &**symbol == "sprays" {
        return Err(Trouble::new(said!("`{text}` is no limit of a label", text)).help(example));
    }
    Ok(SeasonCap::Amount(JugCap {
        total,
        at_most: said.unit.threshold_of_amount(said.amount()),
        dimension: *dimension,
        of: said.of,
        written: text.into(),
        unit: said.unit,
    }))
}
