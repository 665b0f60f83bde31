//! Whether an answer will do. What the readers of a grove accept is accepted here, since they are what is asked.

use super::row_plan::row;
use super::{Answers, OF_JUG, Wrong, unknown};
use crate::grove::typed_jug::{JugSaid, typed_jug};
use crate::grove::{Form, jug_name, keys, shed, value, zone_of_place};
use crate::phrase::{Phrase, said};
use crate::plan::{Plan, Total};
use crate::problems::nearest;
use crate::units::{Dimension, spoken};
use chrono_tz::Tz;

/// Checks an answer that is not empty.
pub(super) fn answer(answers: &Answers, key: &str, text: &str, plan: Option<&Plan>) -> Result<(), Wrong> {
    let wrong = |message: Phrase, help: &'static str| Err(Wrong { message, help: help.into() });
    match key {
        "grove" | "guide" => Ok(()),
        "units" if matches!(text, "us" | "metric") => Ok(()),
        "units" => wrong(said!("`{text}` is no system of units", text), "write `us` or `metric`"),
        "place" => {
            let position = place(text)?;
            let zone = answers.get("timezone").and_then(|zone| zone.parse().ok());
            zone.map_or(Ok(()), |zone| together(position, zone))
        }
        "timezone" => {
            let zone = timezone(text)?;
            let position = answers.get("place").and_then(|text| place(text).ok());
            position.map_or(Ok(()), |position| together(position, zone))
        }
        "spacing" => crate::grove::block::spacing(text).map(|_| ()).map_err(of_trouble),
        "row" => row(text).and_then(|said| {
            let given =
                answers.rows().filter_map(|other| row(other).ok()).any(|other| other.name == said.name);
            if given {
                return wrong(
                    said!("the row `{name}` is given twice", name = said.name),
                    "give each row a name of its own",
                );
            }
            Ok(())
        }),
        "sprayer" => sprayer(text).map(|_| ()),
        "harvest" => value::date(text).map(|_| ()).map_err(of_trouble),
        "certified" if matches!(text, "organic" | "yes" | "no") => Ok(()),
        "certified" => wrong(said!("`{text}` does not say it", text), "write `organic` or `no`"),
        "sprayed" if matches!(text, "yes" | "no") => Ok(()),
        "sprayed" => wrong(said!("`{text}` does not say it", text), "write `yes` or `no`"),
        // Whether there is such a file is looked at by whoever can open one.
        "weather" => Ok(()),
        "forecast" => {
            let zone = answers.get("timezone").and_then(|zone| zone.parse().ok()).unwrap_or(Tz::UTC);
            crate::grove::moment::moment(text, zone).map(|_| ()).map_err(of_trouble)
        }
        "station" => station(text).map(|_| ()),
        _ => of_jug(answers, key, text, plan),
    }
}

fn of_trouble(trouble: crate::grove::trouble::Trouble) -> Wrong {
    let (message, help) = trouble.into_parts();
    Wrong { message, help: help.unwrap_or_default() }
}

/// Reads `18.05, -66.50, 120 m`.
pub(super) fn place(text: &str) -> Result<(f64, f64, Option<String>), Wrong> {
    let help =
        "write degrees north, degrees east and how high: `18.05, -66.50, 120 m`; south and west are negative";
    let wrong = |message: Phrase| Wrong { message, help: help.into() };
    let mut parts = text.split([',', ';']).map(str::trim);
    let mut degrees = |most: f64, what: &'static str| {
        let part = parts.next().unwrap_or_default().trim_end_matches('°').trim();
        let number = part.parse::<f64>().ok().filter(|number| number.abs() <= most);
        number.ok_or_else(|| wrong(said!("`{part}` is not {what}", part, what = Phrase::from(what))))
    };
    let (latitude, longitude) = (degrees(90.0, "a latitude")?, degrees(180.0, "a longitude")?);
    let elevation = parts.next().filter(|part| !part.is_empty());
    if let Some(elevation) = elevation {
        keys::quantity(elevation.trim_start_matches('-'), Dimension::LENGTH).map_err(of_trouble)?;
    }
    Ok((latitude, longitude, elevation.map(str::to_string)))
}

/// Refuses a place that cannot lie in a time zone.
fn together((latitude, longitude, _): (f64, f64, Option<String>), zone: Tz) -> Result<(), Wrong> {
    zone_of_place::misplaced((latitude, longitude), zone).map_or(Ok(()), |trouble| Err(of_trouble(trouble)))
}

/// Returns whether a time zone is one, but not that of the place that was given.
pub(super) fn contradicts_place(answers: &Answers, zone: &str) -> bool {
    let position = answers.get("place").and_then(|text| place(text).ok());
    let zone = timezone(zone).ok();
    position.zip(zone).is_some_and(|(position, zone)| together(position, zone).is_err())
}

fn timezone(text: &str) -> Result<Tz, Wrong> {
    if let Ok(zone) = text.parse::<Tz>() {
        return Ok(zone);
    }
    let near = nearest(text, chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name()));
    let help = match near {
        Some(near) => said!("did you mean `{near}`?", near),
        None => "write a name such as `America/Puerto_Rico` or `Asia/Kolkata`".into(),
    };
    Err(Wrong { message: said!("`{text}` is not a time zone", text), help })
}

/// Reads `2 mi, 90 m`: how far away the station is, and how high it stands.
pub(super) fn station(text: &str) -> Result<(&str, &str), Wrong> {
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    let [distance, height] = parts[..] else {
        let message = said!("`{text}` does not say how far and how high", text);
        return Err(Wrong { message, help: "write both: `2 mi, 90 m`".into() });
    };
    for part in [distance, height] {
        keys::quantity(part, Dimension::LENGTH).map_err(of_trouble)?;
    }
    Ok((distance, height))
}

/// Reads `handgun, tank 25 gal, 1.5 gal per tree, pace 25 gal/h` into the keys of a sprayer.
pub(super) fn sprayer(text: &str) -> Result<Vec<(&'static str, String)>, Wrong> {
    let mut keys: Vec<(&'static str, String)> = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let after = |word: &str| part.strip_prefix(word).map(|rest| rest.trim_start_matches(':').trim());
        let (key, value) = if let Some(tank) = after("tank") {
            ("tank", tank)
        } else if let Some(pace) = after("pace") {
            ("pace", pace)
        } else if let Some(fill) = after("fill") {
            ("fill", fill)
        } else if let Ok(said) = spoken::parse(part) {
            // What is said by tree goes on each tree; by acre or hectare, on the land.
            if said.per_tree { ("per-tree", part) } else { ("volume", part) }
        } else if part.starts_with("from") {
            ("volume", part)
        } else {
            if part.contains(|sign: char| sign.is_ascii_digit()) {
                let message = said!("`{part}` says nothing of a sprayer", part);
                return Err(Wrong {
                    message,
                    help: said!("write such as `{example}`", example = super::SPRAYER),
                });
            }
            ("kind", part)
        };
        let fits = match key {
            "tank" => Some(Dimension::VOLUME),
            "fill" => Some(Dimension::TIME),
            "volume" if !part.starts_with("from") => Some(Dimension::VOLUME.over(Dimension::AREA)),
            _ => None,
        };
        if let Some(of) = fits {
            keys::quantity(value, of).map_err(of_trouble)?;
        }
        if key == "pace" {
            crate::grove::sprayer::pace(value).map_err(of_trouble)?;
        }
        if keys.iter().any(|(known, _)| *known == key) {
            let message = said!("the sprayer's {key} is said twice", key);
            return Err(Wrong {
                message,
                help: said!("write it once: `{example}`", example = super::SPRAYER),
            });
        }
        keys.push((key, value.to_string()));
    }
    Ok(keys)
}

fn of_jug(answers: &Answers, key: &str, text: &str, plan: Option<&Plan>) -> Result<(), Wrong> {
    let wrong = |message: Phrase, help: &'static str| Err(Wrong { message, help: help.into() });
    let Some(plan) = plan else {
        return wrong(said!("`{key}` is asked for once the guide is known", key), "write `guide:` before it");
    };
    if let Some(product) = plan.product(key) {
        return jug_name::of_another(text, product, plan).map_or(Ok(()), |trouble| Err(of_trouble(trouble)));
    }
    let found = OF_JUG.iter().find_map(|(word, ..)| {
        let product = key.strip_suffix(word)?.strip_suffix(' ')?;
        Some((plan.product(product)?, product, *word))
    });
    let Some((product, word, of)) = found else { return Err(unknown(key, Some(plan))) };
    match of {
        "registration" => Ok(()),
        "form" if matches!(text, "powder" | "liquid") => Ok(()),
        "form" => wrong(said!("`{text}` is no form of a product", text), "write `powder` or `liquid`"),
        "weight" => keys::quantity(text, Dimension::CONCENTRATION).map(|_| ()).map_err(of_trouble),
        "season" | "single" => {
            let total = (of == "season").then_some(Total::Season);
            shed::cap(text, total).map(|_| ()).map_err(of_trouble)
        }
        "strength" => {
            let liquid = answers.get(&format!("{word} form")) == Some("liquid");
            let form = if liquid { Form::Liquid(None) } else { Form::Powder };
            shed::strength(text, form).map(|_| ()).map_err(of_trouble)
        }
        "re-entry" | "before-harvest" | "interval" => {
            keys::quantity(text, Dimension::TIME).map(|_| ()).map_err(of_trouble)
        }
        _ => {
            let ingredient = plan[product].contains.clone().unwrap_or_else(|| word.into());
            let said = JugSaid {
                word,
                product: Some(product),
                name: answers.get(word),
                liquid: answers.get(&format!("{word} form")) == Some("liquid"),
                density: None,
                contains: &[format!("{ingredient}: {text}")],
            };
            typed_jug(&said, plan).map(|_| ()).map_err(|message| Wrong {
                message,
                help: "write what the label states: `50 %`, of a liquid also `5 lb/gal`".into(),
            })
        }
    }
}
