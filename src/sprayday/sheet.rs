//! What is kept of a sheet in the grove folder, so that the record of the spray can be taken from it.
//!
//! The parts of a mix are joined by `with`, as in the spray log.

use super::rounds::Round;
use crate::grove::{Grove, UnitSystem};
use crate::plan::Plan;
use crate::units::{clean, plain};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::fmt::Write;

/// A sheet as it is kept.
#[derive(Clone, PartialEq, Debug)]
pub struct KeptSheet {
    /// The day for which it is planned.
    pub day: NaiveDate,
    /// Each key with its value, in order; a list where it is one.
    keys: Vec<(&'static str, Vec<String>)>,
}

/// Returns what is kept of a round; `as_of` is the moment of the plan.
pub fn kept(plan: &Plan, grove: &Grove, round: &Round<'_>, as_of: DateTime<Tz>) -> KeptSheet {
    let start = round.planned.stretches.first().map(|stretch| stretch.from);
    let end = round.planned.stretches.last().and_then(|stretch| stretch.to);
    let day = end.or(start).unwrap_or(as_of).date_naive();
    let (volume, land) = match grove.units {
        UnitSystem::Us => ("gal", "ac"),
        UnitSystem::Metric => ("L", "ha"),
    };
    let quantity = |base: f64, symbol: &str| {
        let number = plain(symbol).map_or(0.0, |unit| unit.amount_from_base(base));
        format!("{} {symbol}", clean((number * 1e4).round() / 1e4))
    };
    let parts = |of: &dyn Fn(usize, u8) -> Option<String>| -> Vec<String> {
        let parts = round.spray.iter().map(|(product, strength)| of(product.index(), *strength));
        parts.collect::<Option<Vec<_>>>().map(|parts| parts.join(" with ")).into_iter().collect()
    };
    let strength = |product: usize, at: u8| plan.products.get(product)?.strengths.get(usize::from(at));
    let jug = |product: usize| grove.jug(crate::plan::ProductId(product as u32));
    let moment = |at: Option<DateTime<Tz>>| -> Vec<String> {
        at.map(|at| at.format("%Y-%m-%dT%H:%M%:z").to_string()).into_iter().collect()
    };
    let one = |text: Option<String>| -> Vec<String> { text.into_iter().collect() };
    let diseases = round.aims.iter().filter_map(|id| plan.diseases.get(id.index()));
    let targets: Vec<&str> = diseases.map(|disease| &*disease.name).collect();
    let keys = vec![
        ("day", vec![day.to_string()]),
        ("product", parts(&|product, _| plan.products.get(product).map(|it| it.name.to_string()))),
        ("jug", parts(&|product, _| jug(product).map(|jug| jug.name.to_string()))),
        ("registration", parts(&|product, _| jug(product)?.registration.as_ref().map(|it| it.to_string()))),
        ("strength", parts(&|product, at| strength(product, at).map(|it| it.name.to_string()))),
        ("rate", parts(&|product, at| strength(product, at).map(|it| it.amount.written.to_string()))),
        ("volume", one(round.job.as_ref().ok().map(|job| quantity(job.volume, volume)))),
        ("area", one(round.area.map(|area| quantity(area, land)))),
        ("start", moment(start)),
        ("end", moment(end)),
        ("target", one(Some(targets.join(", ")).filter(|text| !text.is_empty()))),
        ("re-entry", moment(round.keep_out_until)),
        ("trees", round.trees.iter().map(|tree| grove.trees.name(*tree).to_string()).collect()),
    ];
    KeptSheet { day, keys }
}

impl KeptSheet {
    /// Returns the text of the file for a sheet of this number.
    pub fn text(&self, number: u64) -> String {
        let mut text = format!("number: {number}\n");
        for (key, values) in &self.keys {
            // JSON's quotes are YAML's, so that no value is taken for anything but text.
            let quoted = |value: &String| serde_json::Value::from(value.as_str()).to_string();
            let value = match (*key, &values[..]) {
                ("trees", trees) => format!("[{}]", trees.iter().map(quoted).collect::<Vec<_>>().join(", ")),
                (_, [one]) => quoted(one),
                (_, _) => continue,
            };
            // Writing into a text cannot fail.
            let _ = writeln!(text, "{key}: {value}");
        }
        text
    }

    /// Returns the value of a key that has one.
    pub fn value(&self, key: &str) -> Option<&str> {
        let (_, values) = self.keys.iter().find(|(known, _)| *known == key)?;
        values.first().map(String::as_str)
    }
}
