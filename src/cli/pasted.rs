//! Words of the command line as they are typed or pasted.

use super::end::Refusal;
use crate::phrase::{Phrase, said};
use crate::plan::Plan;

/// Takes away quotes that were pasted with a word, whatever a phone made of them; those of the shell are gone already.
pub fn unquoted(word: &str) -> Result<String, String> {
    Ok(word.trim_matches(['"', '\'', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}']).to_string())
}

/// Returns the word of the rulebook for what was typed, one of those that may stand there; what is none of them as typed.
pub fn word_of<'w>(
    plan: &Plan,
    typed: &'w str,
    among: impl IntoIterator<Item = &'w str>,
) -> Result<&'w str, Refusal> {
    let among: Vec<&str> = among.into_iter().collect();
    let mut meant = plan.typed(typed, among.iter().copied());
    // A page calls the strength `full` a full rate.
    if let Some(bare) = typed.trim().strip_suffix(" rate").filter(|_| meant.is_empty()) {
        meant = plan.typed(bare, among);
    }
    match &meant[..] {
        [] => Ok(typed.trim()),
        [one] => Ok(one),
        several => {
            let words: Vec<String> = several.iter().map(|word| format!("`{word}`")).collect();
            let refusal = Refusal::new(said!(
                "`{typed}` may be {words}",
                typed = typed.trim(),
                words = Phrase::any_of(words)
            ));
            Err(refusal.help("write the one that is meant"))
        }
    }
}

/// What stands between the parts of a mix, as it is written and as pages and people say it.
const BETWEEN: [&str; 5] = [" with ", " con ", "+", " and ", " y "];

/// Returns the words of the rulebook for what was typed, part by part of a mix, `copper with oil`, `copper + oil`.
pub fn in_words_of<'w>(
    plan: &Plan,
    typed: &'w str,
    words: impl Fn(usize) -> Vec<&'w str>,
) -> Result<String, Refusal> {
    let mut parts = vec![typed];
    for sign in BETWEEN {
        parts = parts.into_iter().flat_map(|part| part.split(sign)).collect();
    }
    let parts = parts.into_iter().enumerate().map(|(at, part)| word_of(plan, part, words(at)));
    Ok(parts.collect::<Result<Vec<&str>, Refusal>>()?.join(" with "))
}
