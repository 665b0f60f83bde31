//! Words of the command line as they are typed or pasted.

/// Takes away quotes that were pasted with a word, whatever a phone made of them; those of the shell are gone already.
pub fn unquoted(word: &str) -> Result<String, String> {
    Ok(word.trim_matches(['"', '\'', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}']).to_string())
}

/// Returns the words of a rulebook for what was typed, part by part of a mix: capitals do not matter.
pub fn in_words_of<'w>(typed: &str, words: impl Fn(usize) -> Vec<&'w str>) -> String {
    let part = |(at, part): (usize, &str)| {
        let found = words(at).into_iter().find(|word| word.eq_ignore_ascii_case(part.trim()));
        found.unwrap_or(part.trim()).to_string()
    };
    typed.split(" with ").enumerate().map(part).collect::<Vec<_>>().join(" with ")
}
