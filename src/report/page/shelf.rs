//! What is on the shelf: a product that is not in the shed is not named as the thing to spray without saying so.

use super::Page;
use super::questions::safe_words;
use crate::advice::Case;
use crate::plan::ProductId;

/// Returns the products of a spray that are not in the shed, as they are called; none where the grove names no jugs.
fn missing(page: &Page<'_>, spray: &[(ProductId, u8)]) -> Vec<String> {
    let missing = spray.iter().filter(|(product, _)| page.ground.lacks(*product));
    missing.map(|(product, _)| page.words().product(*product)).collect()
}

/// Returns what is said of a spray, with what of it is not in the shed.
pub fn with_missing(page: &Page<'_>, says: String, spray: &[(ProductId, u8)]) -> String {
    match &missing(page, spray)[..] {
        [] => says,
        products => {
            let products = page.words().language.listed("list.and", products);
            page.words().say("look.not-in-shed", &[("says", &says), ("products", &products)])
        }
    }
}

/// Returns which sprays are allowed whatever is found, under a label: those of which all is in the shed, if there are any.
pub fn safe_in_shed(page: &Page<'_>, case: &Case) -> Option<(String, String)> {
    let mut here = case.clone();
    here.safe.retain(|spray| missing(page, spray).is_empty());
    if !here.safe.is_empty() {
        return safe_words(page.words(), &here);
    }
    let all: Vec<(ProductId, u8)> = case.safe.iter().flatten().copied().collect();
    let (label, says) = safe_words(page.words(), case)?;
    Some((label, with_missing(page, says, &all)))
}
