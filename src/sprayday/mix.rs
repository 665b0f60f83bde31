//! How much of a jug makes a volume of spray of a strength.
//!
//! Comes in: a jug, a strength as the rulebook or the grower says it, a volume. Goes out: grams of a powder or
//! millilitres of a liquid, and how a scale shows them. An amount that the jug cannot be measured in is refused.

use super::scale::{ShownAmount, shown_mass, shown_volume};
use crate::grove::{Content, Form, Jug};
use crate::labels::OfJug;
use crate::plan::{Amount, AmountOf};
use crate::units::spoken::{self, Unspoken};
use crate::units::{Dimension, Unit, clean, show};
use std::sync::Arc;

/// A strength that is wanted.
#[derive(Clone, PartialEq, Debug)]
pub struct WantedStrength {
    /// How much, in base units: by volume of spray, by area, by tree or in all.
    amount: f64,
    /// The unit in which it is said.
    unit: Unit,
    per_tree: bool,
    /// Of which ingredient; nothing: of the product.
    of: Option<Arc<str>>,
    /// As written.
    pub written: Arc<str>,
}

/// The spray that is made, and where it goes.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Spray {
    /// How much, in cubic millimetres.
    pub volume: f64,
    /// How much of it goes on an area, in millimetres.
    pub per_area: Option<f64>,
    /// How much of it goes on a tree, in cubic millimetres.
    pub per_tree: Option<f64>,
}

/// What goes into the tank.
#[derive(Clone, PartialEq, Debug)]
pub struct Mix {
    /// The exact amount.
    pub amount: f64,
    /// Its unit: `g` of a powder, `mL` of a liquid.
    pub unit: &'static str,
    /// The amount as scale and cup show it: metric, US, and in the strength's own unit where that is another.
    pub shown: Vec<ShownAmount>,
    /// The same for one gallon of spray.
    pub per_gallon: Vec<ShownAmount>,
    /// The same for one litre of spray.
    pub per_litre: Vec<ShownAmount>,
    /// The strength that the shown amount makes, in the unit of the wanted one.
    pub strength_shown: String,
    /// How much of the jug is in it, and what of that it puts on an area.
    pub of_jug: OfJug,
    /// The amount that the metric scale or cup shows, in `unit`.
    pub measured: f64,
}

impl Mix {
    /// Returns what the measured amount makes of each ingredient of the jug, `597 ppm copper`.
    pub fn makes(&self, jug: &Jug, spray: &Spray) -> Vec<String> {
        let product = self.measured * if self.unit == "mL" { 1e3 } else { 1.0 };
        let ppm = |content: &Content| {
            let unit = Unit::ppm(&content.ingredient);
            let grams = product * jug.strength(&content.ingredient)?;
            Some(show(unit.amount_from_base(grams / spray.volume), &unit.symbol))
        };
        jug.contains.iter().filter_map(ppm).collect()
    }
}

/// Why nothing can be mixed.
#[derive(Clone, PartialEq, Debug)]
pub enum MixTrouble {
    /// The strength is not a quantity.
    Unreadable(String, Unspoken),
    /// The strength has no unit, or one that is no strength.
    NoStrength(String),
    /// A weight of a liquid.
    WeightOfLiquid(String),
    /// A volume of a powder.
    VolumeOfPowder(String),
    /// A weight of a liquid whose weight per volume is not known.
    NoWeight(String),
    /// The jug does not say how much of the ingredient it holds.
    NoContent(Arc<str>),
    /// How much spray goes on an area is not known.
    NoArea(String),
    /// How much spray goes on a tree is not known.
    NoTree(String),
    /// There is no spray.
    NoVolume,
    /// It would be more product than spray.
    MoreThanSpray(String),
    /// It would be less than a scale or a measuring cup shows.
    TooLittle(String, &'static str),
    /// It would be more spray than any tank holds.
    TooMuchSpray,
}

impl WantedStrength {
    /// Takes a strength of the rulebook; `contains` is the ingredient that the product is counted in.
    pub fn of_plan(amount: &Amount, contains: Option<&Arc<str>>) -> Self {
        let of = match amount.of {
            AmountOf::Ingredient => contains.cloned(),
            AmountOf::Product => None,
        };
        let (unit, written) = (amount.unit.clone(), amount.written.clone());
        Self { amount: amount.quantity, unit, per_tree: false, of, written }
    }

    /// Reads a strength as a grower says it.
    pub fn spoken(text: &str) -> Result<Self, MixTrouble> {
        let said = spoken::parse(text).map_err(|error| MixTrouble::Unreadable(text.to_string(), error))?;
        let amount = said.amount();
        let symbol = &said.unit.symbol;
        let of_spray = symbol.contains('/') || symbol.starts_with("in ");
        let fits = match said.unit.dimension {
            Dimension::CONCENTRATION => said.of.is_some() || &**symbol != "ppm",
            Dimension::NONE => of_spray,
            Dimension::MASS | Dimension::VOLUME => said.per_tree,
            Dimension::RATE => true,
            of => of == Dimension::VOLUME.over(Dimension::AREA) && of_spray,
        };
        if !fits || amount < 0.0 {
            return Err(MixTrouble::NoStrength(text.to_string()));
        }
        Ok(Self {
            amount,
            unit: said.unit,
            per_tree: said.per_tree,
            of: said.of,
            written: text.trim().into(),
        })
    }

    /// Returns the mass or the volume that goes into a spray, in base units.
    fn in_spray(&self, spray: &Spray) -> Result<f64, MixTrouble> {
        let positive = |part: Option<f64>| part.filter(|part| *part > 0.0);
        match self.unit.dimension {
            Dimension::CONCENTRATION | Dimension::NONE => Ok(self.amount * spray.volume),
            Dimension::MASS | Dimension::VOLUME => {
                let each =
                    positive(spray.per_tree).ok_or_else(|| MixTrouble::NoTree(self.written.to_string()))?;
                Ok(self.amount * spray.volume / each)
            }
            _ => {
                let depth =
                    positive(spray.per_area).ok_or_else(|| MixTrouble::NoArea(self.written.to_string()))?;
                Ok(self.amount * spray.volume / depth)
            }
        }
    }
}

/// The most spray that is mixed at one time, in cubic millimetres: ten million litres cover the largest farm.
const MOST_SPRAY: f64 = 1e13;

/// Returns how much of a jug makes a spray of a strength.
pub fn mix(jug: &Jug, wanted: &WantedStrength, spray: &Spray) -> Result<Mix, MixTrouble> {
    if !(spray.volume.is_finite() && spray.volume > 0.0) {
        return Err(MixTrouble::NoVolume);
    }
    if spray.volume > MOST_SPRAY {
        return Err(MixTrouble::TooMuchSpray);
    }
    let base = of_jug(jug, wanted, wanted.in_spray(spray)?)?;
    // No powder of more than a kilogram goes into a litre.
    let room = if jug.form == Form::Powder { spray.volume / 1e3 } else { spray.volume };
    if base > room {
        return Err(MixTrouble::MoreThanSpray(wanted.written.to_string()));
    }
    let per = |volume: f64| shown_of(jug.form, base * volume / spray.volume);
    let gallon = crate::units::plain("gal").map_or(0.0, |unit| unit.factor);
    let own = own_unit(jug.form, wanted, base);
    let shown = shown_of(jug.form, base);
    // The metric scale or cup comes first.
    let measured = shown.first().map_or(0.0, |amount| amount.number);
    // Nothing at all may be wanted; a little that the scale shows as nothing would be forgotten.
    if measured <= 0.0 && base > 0.0 {
        let least = if jug.form == Form::Powder { "0.1 g" } else { "0.1 mL" };
        return Err(MixTrouble::TooLittle(wanted.written.to_string(), least));
    }
    Ok(Mix {
        amount: clean(in_jug_unit(jug.form, base)),
        unit: jug_unit(jug.form),
        shown: shown.into_iter().chain(own).collect(),
        per_gallon: per(gallon),
        per_litre: per(1e6),
        strength_shown: strength_shown(wanted, measured / in_jug_unit(jug.form, base)),
        measured,
        of_jug: OfJug {
            in_spray: base / spray.volume,
            on_area: spray.per_area.map(|depth| base * depth / spray.volume),
        },
    })
}

/// Brings a mass or a volume of what is wanted to grams of a powder, or cubic millimetres of a liquid.
fn of_jug(jug: &Jug, wanted: &WantedStrength, amount: f64) -> Result<f64, MixTrouble> {
    let by_mass = wanted.unit.dimension.mass == 1;
    let written = || wanted.written.to_string();
    if let Some(ingredient) = &wanted.of {
        // An ingredient is counted by its weight, whatever it comes in.
        if !by_mass {
            return Err(MixTrouble::NoStrength(written()));
        }
        let Some(strength) = jug.strength(ingredient).filter(|strength| *strength > 0.0) else {
            return Err(match jug.content(ingredient) {
                Some(_) => MixTrouble::NoWeight(written()),
                None => MixTrouble::NoContent(ingredient.clone()),
            });
        };
        return Ok(amount / strength);
    }
    match (jug.form, by_mass) {
        (Form::Powder, true) | (Form::Liquid(_), false) => Ok(amount),
        (Form::Powder, false) => Err(MixTrouble::VolumeOfPowder(written())),
        (Form::Liquid(_), true) if wanted.unit.symbol.starts_with("oz") => {
            Err(MixTrouble::WeightOfLiquid(written()))
        }
        (Form::Liquid(Some(weight)), true) => Ok(amount / weight),
        (Form::Liquid(None), true) => Err(MixTrouble::NoWeight(written())),
    }
}

fn jug_unit(form: Form) -> &'static str {
    match form {
        Form::Powder => "g",
        Form::Liquid(_) => "mL",
    }
}

fn in_jug_unit(form: Form, base: f64) -> f64 {
    match form {
        Form::Powder => base,
        Form::Liquid(_) => base / 1e3,
    }
}

fn shown_of(form: Form, base: f64) -> Vec<ShownAmount> {
    match form {
        Form::Powder => shown_mass(base),
        Form::Liquid(_) => shown_volume(base / 1e3),
    }
}

/// Returns the amount in the unit in which the strength counts the product, where that is none of those shown anyway.
fn own_unit(form: Form, wanted: &WantedStrength, base: f64) -> Option<ShownAmount> {
    let first = wanted.unit.symbol.split('/').next()?.trim();
    // Milligrams are finer than any scale of a grower's.
    if wanted.of.is_some() || matches!(first, "g" | "mg" | "oz" | "lb" | "mL" | "fl oz" | "gal") {
        return None;
    }
    let unit = spoken::unit(first).ok()?;
    let fits = match form {
        Form::Powder => unit.dimension == Dimension::MASS,
        Form::Liquid(_) => unit.dimension == Dimension::VOLUME,
    };
    fits.then(|| ShownAmount::down(base / unit.factor, 2, first))
}

/// Returns the strength that comes out of a share of the wanted amount.
fn strength_shown(wanted: &WantedStrength, share: f64) -> String {
    let share = if share.is_finite() { share } else { 1.0 };
    let number = wanted.unit.amount_from_base(wanted.amount * share);
    let symbol = match (&wanted.of, wanted.per_tree) {
        (Some(of), false) if !wanted.unit.symbol.contains(&**of) => format!("{} {of}", wanted.unit.symbol),
        (_, true) => format!("{} / tree", wanted.unit.symbol),
        (_, false) => wanted.unit.symbol.to_string(),
    };
    show(number, &symbol)
}
