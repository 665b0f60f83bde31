//! How much metal a copper compound can hold, so that a content typed wrong is refused.
//!
//! Fractions by stoichiometry from abridged standard atomic masses: Cu 63.546, O 15.999, H 1.008, S 32.06, Cl 35.45.

use super::shed::{Contained, Form};
use super::trouble::Trouble;
use crate::phrase::{Phrase, said};

const CU: f64 = 63.546;
const O: f64 = 15.999;
const H: f64 = 1.008;
const S: f64 = 32.06;
const CL: f64 = 35.45;

/// The share of a compound's weight that is copper; of one that is not known nothing. The longer name stands first
/// where a shorter one is part of it.
pub fn copper_share(compound: &str) -> Option<f64> {
    let compound = compound.to_lowercase().replace('-', " ");
    let known = [
        // Cu2Cl(OH)3
        (&["oxychloride"][..], 2.0 * CU, CL + 3.0 * (O + H)),
        // Cu4SO4(OH)6
        (
            &["basic copper sulfate", "basic copper sulphate", "tribasic", "brochantite"],
            4.0 * CU,
            S + 4.0 * O + 6.0 * (O + H),
        ),
        // CuSO4 with five of water
        (&["pentahydrate", "bluestone"], CU, S + 4.0 * O + 5.0 * (2.0 * H + O)),
        // CuSO4
        (&["copper sulfate", "copper sulphate"], CU, S + 4.0 * O),
        // Cu2O
        (&["cuprous oxide", "copper(i) oxide"], 2.0 * CU, O),
        // Cu(OH)2
        (&["hydroxide"], CU, 2.0 * (O + H)),
    ];
    let share = |part: &str| {
        let (_, copper, rest) =
            known.iter().find(|(names, ..)| names.iter().any(|name| part.contains(name)))?;
        Some(copper / (copper + rest))
    };
    // Of a mixture of compounds the richest.
    let parts = compound.split(['+', ',', ';']).flat_map(|part| part.split(" and "));
    parts.filter_map(share).max_by(f64::total_cmp)
}

/// Refuses a content of copper that its compound, or any compound in use, cannot have. The compound is the first that
/// the words beside the jug name.
pub(super) fn refuse(
    ingredient: &str,
    typed: &str,
    amount: Contained,
    form: Form,
    said_to_be: &[&str],
) -> Option<Trouble> {
    if !ingredient.to_lowercase().contains("copper") {
        return None;
    }
    let share = match (amount, form) {
        (Contained::OfMass(share), _) => share,
        (Contained::OfVolume(mass), Form::Liquid(Some(weight))) => mass / weight,
        (Contained::OfVolume(_), Form::Liquid(None) | Form::Powder) => return None,
    };
    // An ingredient that is a compound itself, `copper hydroxide`, may be all there is.
    if copper_share(ingredient).is_some() {
        return None;
    }
    let known = said_to_be.iter().find_map(|words| copper_share(words).map(|most| (*words, most)));
    // Cuprous oxide is the richest compound in use.
    let (compound, most) = match known {
        Some((compound, most)) => (Phrase::from(compound.to_string()), most),
        None => (Phrase::from("any copper compound"), copper_share("cuprous oxide")?),
    };
    // Labels give a tenth of a percent at the finest.
    (share > most + 0.0005).then(|| {
        Trouble::new(said!(
            "`{typed}` of copper cannot be: {compound} holds at most {most} % of metal",
            typed,
            compound,
            most = format!("{:.1}", most * 100.0)
        ))
        .help("write the metallic copper that the label states, not the weight of the compound")
    })
}
