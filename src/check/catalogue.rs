//! Which names there are, and finding them.
//!
//! Comes in: the items of a book. Goes out: what a name stands for, or a finding with the nearest name of the right
//! kind. What people compare and compute with shares one set of names: observations, measures, tallies, bands,
//! hourlies, dailies and figures; every other kind of item has a set of its own. A name that an item which could not
//! be read would have defined is known as broken, and is not reported again where it is used.

use super::Checker;
use super::overlay::MergedItem;
use super::wording;
use crate::plan::{DailyId, FigureId, HourlyId, ItemKind, NameId, Series};
use crate::problems::{self, Finding, Problem, Problems};
use crate::syntax::tree::{self, Item};
use rustc_hash::{FxHashMap, FxHashSet};

/// What a name that is compared or computed with stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum NameMeaning {
    /// A name of the plan.
    Name(NameId),
    /// A weather series.
    Series(Series),
    /// An `hourly`.
    Hourly(HourlyId),
    /// A `daily`.
    Daily(DailyId),
    /// A figure.
    Figure(FigureId),
}

/// The names that are known of every tree without being observed.
pub(super) const ALWAYS_THERE: [(&str, NameId); 3] =
    [("cultivar", NameId(0)), ("block", NameId(1)), ("date", NameId(2))];

/// All names of a book.
#[derive(Default)]
pub(super) struct Catalogue<'a> {
    values: FxHashMap<&'a str, (ItemKind, NameMeaning)>,
    others: FxHashMap<(ItemKind, &'a str), u32>,
    anything: FxHashMap<&'a str, ItemKind>,
    broken: FxHashSet<&'a str>,
    used: FxHashSet<(ItemKind, &'a str)>,
    /// Names compared so far with mistyped ones; past a limit no more suggestions are looked for.
    compared: usize,
}

/// Returns whether items of a kind share the names that conditions and arithmetic speak of.
pub(super) fn is_value(kind: ItemKind) -> bool {
    matches!(
        kind,
        ItemKind::Observe
            | ItemKind::Measure
            | ItemKind::Tally
            | ItemKind::Band
            | ItemKind::Hourly
            | ItemKind::Daily
            | ItemKind::Figure
    )
}

/// Returns what an item of a kind is called, `a product`.
pub(super) fn called(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Rulebook => "a rulebook",
        ItemKind::Source => "a source",
        ItemKind::Disease => "a disease",
        ItemKind::Scale => "a scale",
        ItemKind::Figure => "a figure",
        ItemKind::Observe => "an observation",
        ItemKind::Hourly => "an `hourly`",
        ItemKind::Daily => "a `daily`",
        ItemKind::Measure => "a measure",
        ItemKind::Table => "a table",
        ItemKind::Tally => "a tally",
        ItemKind::Band => "a band",
        ItemKind::Product => "a product",
        ItemKind::Gate => "a gate",
        ItemKind::Prefer => "a `prefer`",
        ItemKind::Choice => "a choice",
        ItemKind::Task => "a task",
        ItemKind::Warning => "a warning",
        ItemKind::Always => "an `always`",
        ItemKind::Promise => "a promise",
        ItemKind::Worked => "a worked example",
        ItemKind::Setting => "a setting",
        ItemKind::Caution => "a caution",
    }
}

impl<'a> Catalogue<'a> {
    /// Lists the items' names and reports those defined twice. What is computed has no number yet.
    pub(super) fn declare(
        entries: &[MergedItem<'a>],
        broken: FxHashSet<&'a str>,
        problems: &mut Problems,
    ) -> Self {
        let mut catalogue = Self { broken, ..Self::default() };
        let mut first: FxHashMap<(Option<ItemKind>, &'a str), &'a Item<'a>> = FxHashMap::default();
        let mut counts: FxHashMap<ItemKind, u32> = FxHashMap::default();
        for entry in entries {
            let (item, count) = (entry.item, counts.entry(entry.item.kind).or_default());
            let number = *count;
            *count += 1;
            let Some(name) = item.name else { continue };
            let value = is_value(item.kind);
            if value && ALWAYS_THERE.iter().any(|(word, _)| *word == name.value) {
                let message = format!("`{}` is always there, and cannot be defined", name.value);
                let help = "choose another name; `cultivar`, `block` and `date` are known of every tree";
                problems.push(Problem::new(Finding::DefinedTwice, name.span, message).help(help));
                continue;
            }
            if item.kind == ItemKind::Scale && super::kinds::built_in(name.value).is_some() {
                let message = format!("`{}` is a kind, and cannot name a scale", name.value);
                problems.push(
                    Problem::new(Finding::DefinedTwice, name.span, message)
                        .help("choose another name for the scale"),
                );
                continue;
            }
            if item.kind == ItemKind::Source && ALWAYS_SOURCES.contains(&name.value) {
                let message = format!("the source `{}` always exists", name.value);
                problems.push(
                    Problem::new(Finding::DefinedTwice, name.span, message).help("leave this item out"),
                );
                continue;
            }
            if entry.shadowed {
                continue;
            }
            let key = (if value { None } else { Some(item.kind) }, name.value);
            if let Some(before) = first.get(&key) {
                let message = if before.kind == item.kind {
                    format!("{} `{}` is defined twice", item.kind.word(), name.value)
                } else {
                    format!("`{}` is already {}", name.value, called(before.kind))
                };
                problems.push(
                    Problem::new(Finding::DefinedTwice, name.span, message)
                        .label("defined again here")
                        .related(before.name.map_or(before.span, |it| it.span), "it is already defined here")
                        .help("give one of them another name, or leave one of them out"),
                );
                continue;
            }
            first.insert(key, item);
            catalogue.anything.entry(name.value).or_insert(item.kind);
            if !value {
                catalogue.others.insert((item.kind, name.value), number);
            }
        }
        for (series, word) in Series::ALL {
            catalogue.values.insert(word, (ItemKind::Hourly, NameMeaning::Series(*series)));
        }
        for (word, id) in ALWAYS_THERE {
            catalogue.values.insert(word, (ItemKind::Observe, NameMeaning::Name(id)));
        }
        for ((group, word), item) in first {
            if group.is_none() {
                // The numbers are given in `give` when the order of definitions is known.
                catalogue.values.insert(word, (item.kind, NameMeaning::Name(NameId(u32::MAX))));
            }
        }
        catalogue
    }

    /// Says what a name stands for; the first to say so counts.
    pub(super) fn give(&mut self, word: &'a str, kind: ItemKind, meaning: NameMeaning) {
        if let Some(slot) = self.values.get_mut(word)
            && slot.0 == kind
            && slot.1 == NameMeaning::Name(NameId(u32::MAX))
        {
            slot.1 = meaning;
        }
    }

    /// Returns what a name stands for, and counts the use.
    pub(super) fn meaning(&mut self, word: &'a str) -> Option<NameMeaning> {
        let (kind, meaning) = *self.values.get(word)?;
        self.used.insert((kind, word));
        Some(meaning)
    }

    /// Returns what a name stands for, and does not count it as a use.
    pub(super) fn peek(&self, word: &str) -> Option<NameMeaning> {
        self.values.get(word).map(|(_, meaning)| *meaning)
    }

    /// Returns whether an item of the shared names defines this one.
    pub(super) fn defines(&self, word: &str, kind: ItemKind) -> bool {
        self.values.get(word).is_some_and(|(found, _)| *found == kind)
    }

    /// Returns the number of an item in its list, and counts the use.
    pub(super) fn number(&mut self, kind: ItemKind, word: &'a str) -> Option<u32> {
        let number = *self.others.get(&(kind, word))?;
        self.used.insert((kind, word));
        Some(number)
    }

    /// Returns whether anything speaks of an item.
    pub(super) fn is_used(&self, kind: ItemKind, word: &str) -> bool {
        self.used.contains(&(kind, word))
    }

    /// Returns whether an item that could not be read would have defined this name.
    pub(super) fn is_broken(&self, word: &str) -> bool {
        self.broken.contains(word)
    }

    /// Returns what a name of the shared ones is called.
    pub(super) fn value_called(&self, word: &str) -> Option<&'static str> {
        let (kind, meaning) = self.values.get(word)?;
        Some(match meaning {
            NameMeaning::Series(_) => "a weather series",
            NameMeaning::Name(_)
            | NameMeaning::Hourly(_)
            | NameMeaning::Daily(_)
            | NameMeaning::Figure(_) => called(*kind),
        })
    }

    /// Returns what any item of this name is called.
    pub(super) fn anything_called(&self, word: &str) -> Option<&'static str> {
        self.value_called(word).or_else(|| self.anything.get(word).map(|kind| called(*kind)))
    }

    /// Returns the names of all items of a kind.
    pub(super) fn words_of(&self, kind: ItemKind) -> impl Iterator<Item = &'a str> {
        self.others.keys().filter(move |(found, _)| *found == kind).map(|(_, word)| *word)
    }

    /// Returns the shared names whose meaning is wanted.
    pub(super) fn values(&self, wanted: impl Fn(ItemKind, NameMeaning) -> bool) -> Vec<&'a str> {
        if self.is_tired() {
            return Vec::new();
        }
        self.values
            .iter()
            .filter(|(_, (kind, meaning))| wanted(*kind, *meaning))
            .map(|(word, _)| *word)
            .collect()
    }

    /// Returns the candidate nearest to a mistyped word. A text with ever so many errors gets no suggestions for the
    /// last of them.
    pub(super) fn near<'c>(
        &mut self,
        word: &str,
        candidates: impl IntoIterator<Item = &'c str>,
    ) -> Option<&'c str> {
        if self.is_tired() {
            return None;
        }
        let (limit, letters) = ((word.len() / 3).max(1), letters(word));
        let compared = &mut self.compared;
        // A cheap look at length and letters leaves few candidates to compare in earnest.
        let close = candidates.into_iter().filter(|candidate| {
            *compared += 1;
            candidate.len().abs_diff(word.len()) <= limit
                && (self::letters(candidate) ^ letters).count_ones() as usize <= 2 * limit
        });
        problems::nearest(word, close)
    }

    /// Returns whether so many mistyped names were compared that no more suggestions are looked for.
    fn is_tired(&self) -> bool {
        const MOST: usize = 5_000_000;
        self.compared >= MOST
    }
}

/// The sources that always exist.
pub(super) const ALWAYS_SOURCES: [&str; 2] = ["common-practice", "to-be-sourced"];

/// Returns which signs a word has.
fn letters(word: &str) -> u64 {
    word.bytes().fold(0, |set, sign| set | 1 << (sign % 64))
}

impl<'a> Checker<'a> {
    /// Returns the number of an item of a kind, or says that there is none.
    pub(super) fn find(&mut self, kind: ItemKind, name: &tree::Name<'a>) -> Option<u32> {
        if let Some(number) = self.catalogue.number(kind, name.value) {
            return Some(number);
        }
        if self.catalogue.is_broken(name.value) {
            return None;
        }
        let tired = self.catalogue.is_tired();
        let words: Vec<&str> = self.catalogue.words_of(kind).take_while(|_| !tired).collect();
        let built_in = ALWAYS_SOURCES.iter().copied().filter(|_| kind == ItemKind::Source);
        let near = self.catalogue.near(name.value, words.iter().copied().chain(built_in));
        let what = called(kind).trim_start_matches("a ").trim_start_matches("an ");
        let message = match self.catalogue.anything_called(name.value) {
            Some(other) => format!("expected {}, but `{}` is {other}", called(kind), name.value),
            None => format!("there is no {what} `{}`", name.value),
        };
        let mut words = words;
        words.sort_unstable();
        let help = match near {
            Some(near) => Some(format!("did you mean `{near}`?")),
            None if words.is_empty() && !tired => {
                Some(format!("define it: `{} {} …`", kind.word(), name.value))
            }
            None if words.len() <= 8 && !tired => Some(format!("there is {}", wording::both(words))),
            None => None,
        };
        self.fail(Problem::new(Finding::UnknownName, name.span, message).maybe_help(help))
    }

    /// Returns the figure of this name.
    pub(super) fn figure(&mut self, word: &'a str) -> Option<FigureId> {
        if !self.catalogue.defines(word, ItemKind::Figure) {
            return None;
        }
        match self.catalogue.meaning(word) {
            Some(NameMeaning::Figure(id)) => Some(id),
            Some(
                NameMeaning::Name(_)
                | NameMeaning::Series(_)
                | NameMeaning::Hourly(_)
                | NameMeaning::Daily(_),
            )
            | None => None,
        }
    }

    /// Says that no shared name is this one, with the nearest of those that would do.
    pub(super) fn unknown_name<T>(
        &mut self,
        name: &tree::Name<'a>,
        what: &str,
        wanted: impl Fn(ItemKind, NameMeaning) -> bool,
    ) -> Option<T> {
        if self.catalogue.is_broken(name.value) {
            return None;
        }
        let words = self.catalogue.values(wanted);
        let near = self.catalogue.near(name.value, words);
        let message = match self.catalogue.anything_called(name.value) {
            Some(other) => format!("expected {what}, but `{}` is {other}", name.value),
            None => format!("nothing is named `{}`", name.value),
        };
        let help = near.map(|near| format!("did you mean `{near}`?"));
        self.fail(Problem::new(Finding::UnknownName, name.span, message).maybe_help(help))
    }
}
