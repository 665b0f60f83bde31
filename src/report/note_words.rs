//! The words that notes may use, each with what is short for it and a value as it is written.

use super::Lines;
use crate::grove::NoteWord;
use crate::plan::{Kind, NameId, Plan};
use crate::units::Dimension;
use crate::words::{Speech, Words};

/// Writes the words of a rulebook's observations, a field each, and how days, trees and rain are written.
pub fn words_page(lines: &mut Lines, all: &[NoteWord], words: Words<'_>) {
    lines.text(0, &words.say("noted.words", &[]));
    lines.blank();
    for word in all.iter().filter(|word| word.place.is_none()) {
        let label = words.plan.names.get(word.of.index()).map_or("", |name| &name.label);
        let mut said = vec![label.to_string()];
        if !word.shorts.is_empty() {
            said.push(words.say("noted.words.short", &[("shorts", &word.shorts.join(", "))]));
        }
        said.push(match scale_words(all, word.of).next() {
            Some(_) => words.say("noted.words.alone", &[]),
            None => words.say("noted.words.example", &[("example", &example(word.of, &word.word, words))]),
        });
        lines.field(&word.word, &said.join("; "));
        let scale: Vec<String> = scale_words(all, word.of).collect();
        if !scale.is_empty() {
            lines.text(4, &scale.join(", "));
        }
    }
    lines.blank();
    let rain = if words.speech == Speech::Us { "rain .5" } else { "rain 12" };
    lines.text(0, &words.say("noted.words.else", &[("rain", rain)]));
}

/// Returns the words of the scale of an observation, each with what is short for it: `full-bloom (full)`.
pub fn scale_words(all: &[NoteWord], of: NameId) -> impl Iterator<Item = String> {
    let of_scale = all.iter().filter(move |word| word.of == of && word.place.is_some());
    of_scale.map(|word| match &word.shorts[..] {
        [] => word.word.clone(),
        shorts => format!("{} ({})", word.word, shorts.join(", ")),
    })
}

/// Returns what a note of it looks like.
pub fn example(of: NameId, word: &str, words: Words<'_>) -> String {
    let plan: &Plan = words.plan;
    let us = words.speech == Speech::Us;
    let value = match plan.names.get(of.index()).map(|name| name.kind) {
        Some(Kind::Share) => "3/25",
        Some(Kind::Count | Kind::Number) => "3",
        Some(Kind::YesNo) => return format!("{word} / no {word}"),
        Some(Kind::Temperature) => {
            if us {
                "61 F"
            } else {
                "16 C"
            }
        }
        Some(Kind::Quantity(Dimension::LENGTH)) => {
            if us {
                "2 in"
            } else {
                "5 cm"
            }
        }
        Some(Kind::Words(_) | Kind::Quantity(_) | Kind::Date | Kind::Clock | Kind::Text) | None => "…",
    };
    format!("{word} {value}")
}
