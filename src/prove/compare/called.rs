//! Strengths that two rulebooks call otherwise: the advice is the same, and what is kept under the old word is not.

use super::items::amount_meaning;
use crate::plan::Plan;
use serde::Serialize;

/// A strength that bears another name at the same amount.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct CalledOtherwise {
    /// The product.
    pub product: String,
    /// What the strength was called.
    pub was: String,
    /// What it is called.
    pub now: String,
    /// What it amounts to, as written.
    pub amount: String,
    /// What the old word amounts to now, if it is still one.
    pub then: Option<String>,
}

/// Returns the strengths whose amount bears another name, by products.
pub(crate) fn called_otherwise(old: &Plan, new: &Plan) -> Vec<CalledOtherwise> {
    let mut found = Vec::new();
    for before in &old.products {
        let Some(after) = new.product(&before.name).map(|id| &new[id]) else { continue };
        for (at, strength) in before.strengths.iter().enumerate() {
            let amount = amount_meaning(before, at as u8);
            let alike = after.strengths.iter().enumerate();
            let alike = alike.filter(|(at, _)| amount_meaning(after, *at as u8) == amount);
            let names: Vec<_> = alike.map(|(_, it)| &it.name).collect();
            let Some(now) = names.first().filter(|_| !names.contains(&&strength.name)) else { continue };
            let then = after.strengths.iter().find(|it| it.name == strength.name);
            found.push(CalledOtherwise {
                product: before.name.to_string(),
                was: strength.name.to_string(),
                now: now.to_string(),
                amount: strength.amount.written.to_string(),
                then: then.map(|it| it.amount.written.to_string()),
            });
        }
    }
    found
}
