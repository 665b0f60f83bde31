//! A jug that is not on the shelf, as it is said in one line: what it holds, and whether it is weighed or measured.
//!
//! Comes in: words such as `copper: 50 %`. Goes out: a jug like those of the shed, or a clause that says what is wrong.

use super::compound;
use super::keys;
use super::shed::{Content, Form, Jug, JugLabel, contained};
use super::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::plan::{Plan, ProductId};
use crate::source::Span;
use crate::units::{Dimension, spoken};
use std::sync::Arc;

/// What is said of a jug.
#[derive(Clone, Copy, Debug)]
pub struct JugSaid<'s> {
    /// The word of the product that it is.
    pub word: &'s str,
    /// The product of the rulebook, if it is one.
    pub product: Option<ProductId>,
    /// The name on its label, or the compound.
    pub name: Option<&'s str>,
    /// Whether it is measured and not weighed.
    pub liquid: bool,
    /// What a volume of it weighs, `10.4 lb/gal`.
    pub density: Option<&'s str>,
    /// What it holds, `copper: 50 %` each.
    pub contains: &'s [String],
}

/// Makes a jug of what is said; contents that a compound cannot have are refused.
pub fn typed_jug(said: &JugSaid<'_>, plan: &Plan) -> Result<Jug, Phrase> {
    make(said, plan).map_err(Trouble::into_message)
}

fn make(said: &JugSaid<'_>, plan: &Plan) -> Result<Jug, Trouble> {
    let weight = said.density.map(|text| keys::quantity(text, Dimension::CONCENTRATION)).transpose()?;
    let form = if said.liquid { Form::Liquid(weight) } else { Form::Powder };
    let name: Arc<str> = said.name.unwrap_or(said.word).into();
    let active = said.product.and_then(|id| plan[id].active.clone()).unwrap_or_default();
    let mut contains = Vec::new();
    for text in said.contains {
        let (ingredient, amount_text) = parted(text)?;
        let amount = contained(&amount_text, form)?;
        if let Some(trouble) = compound::refuse(&ingredient, &amount_text, amount, form, &[&name, &active]) {
            return Err(trouble);
        }
        contains.push(Content { ingredient, amount, span: Span::default() });
    }
    Ok(Jug {
        word: said.word.into(),
        product: said.product,
        name,
        registration: None,
        form,
        contains,
        label: JugLabel::default(),
        label_read: None,
        span: Span::default(),
    })
}

/// Parts `copper: 50 %` or `50 % copper` into the ingredient and how much of it there is.
fn parted(text: &str) -> Result<(Arc<str>, String), Trouble> {
    if let Some((ingredient, amount)) = text.split_once([':', '=']) {
        return Ok((ingredient.trim().into(), amount.trim().to_string()));
    }
    let unclear =
        || Trouble::new(said!("`{text}` does not say what the jug holds: write `copper: 50 %`", text));
    let ingredient = spoken::parse(text).ok().and_then(|said| said.of).ok_or_else(unclear)?;
    let at = text.to_lowercase().rfind(&*ingredient).ok_or_else(unclear)?;
    let amount = text.get(..at).ok_or_else(unclear)?.trim();
    Ok((ingredient.clone(), amount.strip_suffix(" of").unwrap_or(amount).trim().to_string()))
}
