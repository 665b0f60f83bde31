//! A rulebook's texts in another language, and the words of it that a grower may type.
//!
//! Only what is printed is translated: names, words and codes stay, so that logs, identifiers and decisions are those of the
//! rulebook in every language.

use super::{Origin, Plan, Task, Warning, Why};
use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The texts of a rulebook in another language, by the author's own.
#[derive(Clone, Debug, Default)]
pub struct Translation {
    /// The language's code.
    pub language: Arc<str>,
    /// The texts.
    pub texts: BTreeMap<Arc<str>, Translated>,
}

/// A text in another language.
#[derive(Clone, Debug)]
pub struct Translated {
    /// The text.
    pub text: Arc<str>,
    /// Where the author's own stands as its key.
    pub span: Span,
}

impl Translation {
    fn of(&self, text: &str) -> Option<&Arc<str>> {
        self.texts.get(text).map(|translated| &translated.text)
    }
}

impl Plan {
    /// Returns the rulebook with its author's texts in another language; one that has no translation stays.
    #[must_use]
    pub fn translated(&self, translation: &Translation) -> Plan {
        let mut plan = self.clone();
        plan.each_text(&mut |own, shown| {
            if let Some(text) = translation.of(own) {
                *shown = text.clone();
            }
        });
        plan
    }

    /// Returns the rulebook in a language, by its code, so far as a translation stands beside it.
    #[must_use]
    pub fn in_language(&self, code: &str) -> Plan {
        let translation = self.translations.iter().find(|it| &*it.language == code);
        translation.map_or_else(|| self.clone(), |translation| self.translated(translation))
    }

    /// Returns the author's texts that are printed on pages: of words and strengths as they are written, else as they are
    /// printed.
    pub fn texts_of_author(&self) -> BTreeSet<Arc<str>> {
        let mut texts = BTreeSet::new();
        self.clone().each_text(&mut |own, _| {
            texts.insert(own.into());
        });
        texts
    }

    /// Adds a translation that stands beside the rulebook; its words may be typed from then on.
    pub fn add_translation(&mut self, translation: Translation) {
        let words = self.typed_words(&translation);
        for (own, typed) in words {
            self.other_words.entry(own).or_default().extend(typed);
        }
        self.translations.push(translation);
    }

    /// Returns which of some words of the rulebook is meant by what was typed: the word itself, how it is printed, or its
    /// translation, `reducida` for `dosis reducida` too. Several, where it is not clear.
    pub fn typed<'w>(&self, text: &str, among: impl IntoIterator<Item = &'w str>) -> Vec<&'w str> {
        let small = text.trim().to_lowercase();
        let hyphened = small.replace(' ', "-");
        let is = |word: &str| {
            let own = word.to_lowercase();
            own == small || own == hyphened || self.others_for(word).any(|other| other == small)
        };
        let among: Vec<&str> = among.into_iter().collect();
        let mut found: Vec<&str> = among.iter().copied().filter(|word| is(word)).collect();
        if found.is_empty() && !small.is_empty() {
            let ends = |other: &str| other.strip_suffix(&*small).is_some_and(|before| before.ends_with(' '));
            found = among.into_iter().filter(|word| self.others_for(word).any(ends)).collect();
        }
        // The rulebook's own word is never in doubt.
        match found.iter().find(|word| word.to_lowercase() == small) {
            Some(own) => vec![*own],
            None => found,
        }
    }

    /// Returns words of the rulebook's lists, as a file has them, as they are printed: `full-bloom to petal-fall`.
    pub fn shown(&self, written: &str) -> String {
        let words = || self.word_lists.iter().flat_map(|list| &list.words);
        let one = |word: &str| {
            let known = words().find(|known| *known.name == *word).map(|known| known.shown.to_string());
            known.unwrap_or_else(|| super::spaced(word))
        };
        written.split(' ').map(one).collect::<Vec<_>>().join(" ")
    }

    /// Returns an amount as it is written with its ingredient as it is printed: `600 ppm copper`.
    pub fn amount_shown(&self, written: &str) -> String {
        let of = written.rsplit_once(' ').and_then(|(amount, of)| Some((amount, self.product(of)?)));
        of.map_or_else(|| written.to_owned(), |(amount, of)| format!("{amount} {}", self[of].label))
    }

    /// Returns what may be typed for a word of the rulebook besides it, in small letters.
    pub fn others_for(&self, word: &str) -> impl Iterator<Item = &str> {
        self.other_words.get(word).into_iter().flatten().map(|other| &**other)
    }

    /// Returns for the words of the rulebook what they are called in a translation, in small letters.
    fn typed_words(&self, translation: &Translation) -> BTreeMap<Arc<str>, BTreeSet<Arc<str>>> {
        let mut words: BTreeMap<Arc<str>, BTreeSet<Arc<str>>> = BTreeMap::new();
        let mut add = |own: &Arc<str>, text: &str| {
            if let Some(said) = translation.of(text) {
                words.entry(own.clone()).or_default().insert(said.to_lowercase().into());
            }
        };
        for product in &self.products {
            add(&product.name, &product.label);
            product.strengths.iter().for_each(|strength| add(&strength.name, &strength.name));
        }
        self.diseases.iter().for_each(|disease| add(&disease.name, &disease.label));
        self.names.iter().filter(|name| !name.hidden).for_each(|name| add(&name.word, &name.label));
        for word in self.word_lists.iter().flat_map(|list| &list.words) {
            add(&word.name, &word.name);
            add(&word.name, &word.label);
        }
        words
    }

    /// Calls a function with each text of the author that a page may print: by what it is translated, and where it stands.
    fn each_text(&mut self, f: &mut dyn FnMut(&str, &mut Arc<str>)) {
        let head = &mut self.head;
        each(std::iter::once(&mut head.title), f);
        each(head.region.iter_mut().chain(&mut head.contact).chain(&mut head.cautions), f);
        each(self.diseases.iter_mut().map(|disease| &mut disease.label), f);
        for word in self.word_lists.iter_mut().flat_map(|list| &mut list.words) {
            f(&word.name, &mut word.shown);
            let own = if *word.label == *super::spaced(&word.name) {
                word.name.clone()
            } else {
                word.label.clone()
            };
            f(&own, &mut word.label);
        }
        self.figures.iter_mut().for_each(|figure| figure.why.each_text(f));
        for name in self.names.iter_mut().filter(|name| !name.hidden) {
            each(std::iter::once(&mut name.label), f);
            name.why.each_text(f);
            match &mut name.origin {
                Origin::Observed(seen) => each(seen.ask.iter_mut().chain(&mut seen.how), f),
                Origin::Band(band) => band.rows.iter_mut().for_each(|row| row.why.each_text(f)),
                Origin::Measure(_) | Origin::Tally(_) | Origin::Cultivar | Origin::Block | Origin::Date => {}
            }
        }
        let series = self.hourlies.iter_mut().map(|it| (&mut it.label, &mut it.why));
        let days = self.dailies.iter_mut().map(|it| (&mut it.label, &mut it.why));
        let tables = self.tables.iter_mut().map(|it| (&mut it.label, &mut it.why));
        let gates = self.gates.iter_mut().filter(|gate| gate.line.is_none());
        let gates = gates.map(|it| (&mut it.label, &mut it.why));
        let prefers = self.prefers.iter_mut().map(|it| (&mut it.label, &mut it.why));
        for (label, why) in series.chain(days).chain(tables).chain(gates).chain(prefers) {
            each(std::iter::once(label), f);
            why.each_text(f);
        }
        for product in &mut self.products {
            each(
                std::iter::once(&mut product.label).chain(&mut product.active).chain(&mut product.cautions),
                f,
            );
            product.why.each_text(f);
            product.strengths.iter_mut().for_each(|strength| f(&strength.name, &mut strength.shown));
        }
        for choice in &mut self.choices {
            each(std::iter::once(&mut choice.label).chain(&mut choice.how), f);
            choice.why.each_text(f);
        }
        let tasks = self.tasks.iter_mut().map(|Task { label, does, speaks, .. }| (label, does, speaks));
        let warnings =
            self.warnings.iter_mut().map(|Warning { label, says, speaks, .. }| (label, says, speaks));
        for (label, text, speaks) in tasks.chain(warnings) {
            each([label, text], f);
            speaks.why.each_text(f);
        }
        self.always.iter_mut().for_each(|always| always.why.each_text(f));
    }
}

impl Why {
    fn each_text(&mut self, f: &mut dyn FnMut(&str, &mut Arc<str>)) {
        each(&mut self.because, f);
    }
}

fn each<'t>(texts: impl IntoIterator<Item = &'t mut Arc<str>>, f: &mut dyn FnMut(&str, &mut Arc<str>)) {
    for text in texts {
        let own = text.clone();
        f(&own, text);
    }
}
