//! Whether the name on a jug is that of another product: `mancozeb WP` is no bicarbonate, whatever it is filed under.

use super::trouble::Trouble;
use crate::phrase::said;
use crate::plan::{Plan, Product, ProductId};
use std::ops::Range;

/// Returns what is wrong with the name of a jug that holds the name of another product, or of what is active in it, where its
/// own does not hold that too: `copper soap` is no copper, and soap of copper is.
pub(super) fn of_another(name: &str, product: ProductId, plan: &Plan) -> Option<Trouble> {
    let words = words(name);
    let own: Vec<Range<usize>> = terms(&plan[product]).iter().flat_map(|term| found(&words, term)).collect();
    let is_own = |at: &Range<usize>| own.iter().any(|own| own.start <= at.start && at.end <= own.end);
    let others = plan.products.iter().filter(|other| other.name != plan[product].name);
    let other = others.into_iter().find(|other| {
        let named = named(other);
        named.iter().flat_map(|term| found(&words, term)).any(|at| !is_own(&at))
    })?;
    let message = said!(
        "the jug `{name}` is filed under `{filed}`, but it bears the name of `{other}`",
        name,
        filed = plan[product].name,
        other = other.name
    );
    let help = said!("file it under `{other}`, or give it the name that its label bears", other = other.name);
    Some(Trouble::new(message).help(help))
}

/// Returns what a product is called: its word, its label, each of its active ingredients.
fn named(product: &Product) -> Vec<Vec<String>> {
    let active = product.active.as_deref().unwrap_or_default();
    let actives = active.split(',').flat_map(|part| part.split(" or ")).flat_map(|part| part.split(" and "));
    // `copper octanoate 10 %` is called copper octanoate.
    let actives =
        actives.map(|part| part.split(|sign: char| sign.is_ascii_digit()).next().unwrap_or_default());
    let all = [&*product.name, &*product.label].into_iter().chain(actives);
    all.map(words).filter(|words| !words.is_empty()).collect()
}

/// Returns what may stand in the name of its jug: also what the rulebook counts in it.
fn terms(product: &Product) -> Vec<Vec<String>> {
    let mut terms = named(product);
    terms.extend(product.contains.as_deref().map(words));
    terms
}

fn words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    lower
        .split(|sign: char| !sign.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_string)
        .collect()
}

/// Returns where a term stands in a name.
fn found(name: &[String], term: &[String]) -> Vec<Range<usize>> {
    let places = name.windows(term.len()).enumerate().filter(|(_, window)| *window == term);
    places.map(|(at, _)| at..at + term.len()).collect()
}
