//! What a comparison comes to, in one sentence, and which rulebooks change with it.

use super::edits::Edits;
use super::words::{counted, listed};
use super::{BuiltOn, Compared};
use crate::prove::compare::items::{Change, Concern, ItemDirection};
use crate::prove::compare::{Comparison, Direction, VerdictTurn};
use std::collections::{BTreeMap, BTreeSet};

impl Compared<'_> {
    /// Returns the sentence that sums it up.
    pub fn summary(&self) -> String {
        self.summary_of(&Edits::of(&self.comparison.items, self.plans, self.sources))
    }

    pub(super) fn summary_of(&self, edits: &Edits<'_>) -> String {
        let comparison = self.comparison;
        if comparison.spent {
            return "Not decided: there are too many situations to compare within the budget. Nothing is said of what \
                    is the same."
                .to_owned();
        }
        let edited = match edits.edited().count() {
            0 => String::new(),
            1 => "1 item changes. ".to_owned(),
            more => format!("{more} items change. "),
        };
        let mut parts =
            if comparison.same_verdicts { self.same_parts() } else { decided_otherwise(comparison) };
        parts.extend(self.beside());
        let text = parts.join("; ") + ".";
        let mut signs = text.chars();
        let text: String =
            signs.next().map_or(String::new(), |first| first.to_uppercase().chain(signs).collect());
        edited + &text
    }

    /// Returns what is said where every verdict is the same.
    fn same_parts(&self) -> Vec<String> {
        let certified = if self.comparison.certified.is_some() {
            "the same verdicts and doses in groves that are not certified organic, proved; other ones in certified groves"
        } else {
            "the same verdicts and doses in every situation, proved"
        };
        // A proof knows the labels of books and whole weather; a shed and a gap may make an item count elsewhere.
        let is_meant = self.comparison.items.iter().any(|it| it.in_meaning());
        let limits = is_meant.then_some("a jug's own label, missing weather and the log are not part of it");
        std::iter::once(certified).chain(limits).map(str::to_owned).collect()
    }

    /// Returns what differs beside verdicts and doses: what is broken, hours, and words.
    fn beside(&self) -> Vec<String> {
        let items = &self.comparison.items;
        let words = items.iter().filter(|it| it.change == Change::Words).count();
        let weaker = match self.weakened().count() + self.opened().count() {
            0 => None,
            1 => Some("1 thing that protects is weaker or gone".to_owned()),
            more => Some(format!("{more} things that protect are weaker or gone")),
        };
        let broken = match self.comparison.to_mend.new.len() {
            0 => None,
            some => Some(format!("{some} newly broken, to mend before merging")),
        };
        let words = (words > 0).then(|| format!("other words in {}", counted(words, "item")));
        broken.into_iter().chain(weaker).chain(self.hours()).chain(words).collect()
    }

    /// Returns what moves hours, and which way: `fewer hours by gate school-hours`.
    fn hours(&self) -> Vec<String> {
        let mut ways: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        let is_of_hours = |concern: Concern| matches!(concern, Concern::Hours | Concern::Prefer);
        for it in self.comparison.items.iter().filter(|it| it.in_meaning() && is_of_hours(it.concern)) {
            let way = it.direction.map_or("other hours", ItemDirection::words);
            ways.entry(way).or_default().push(&it.item);
        }
        ways.into_iter().map(|(way, items)| format!("{way} by {}", items.join(", "))).collect()
    }

    /// Returns which rulebooks that build on this one change with it: those that change alike together, the others each with what is
    /// otherwise.
    pub(super) fn also_words(&self) -> Vec<String> {
        let all: Vec<(&BuiltOn, Vec<String>)> =
            self.built.iter().map(|it| (it, otherwise(self.comparison, &it.comparison))).collect();
        let names = |of: &dyn Fn(&Vec<String>) -> bool| -> Vec<String> {
            all.iter().filter(|(_, other)| of(other)).map(|(it, _)| it.name.clone()).collect()
        };
        let alike = names(&|other| other.is_empty());
        let mut lines = Vec::new();
        if !alike.is_empty() {
            lines.push(format!("Changes by it alike: {}.", listed(&alike)));
        }
        let others = all.iter().filter(|(_, other)| !other.is_empty());
        lines.extend(others.map(|(it, other)| format!("{} otherwise: {}.", it.name, other.join("; "))));
        lines
    }
}

/// Returns what is said where some verdicts differ: which ways they moved, and what is sprayed that was not.
fn decided_otherwise(comparison: &Comparison) -> Vec<String> {
    let turns = &comparison.turns;
    let mut ways: Vec<&str> = Vec::new();
    for way in Direction::ALL.into_iter().flat_map(|it| turns.iter().filter(move |turn| turn.direction == it))
    {
        if !ways.contains(&way.words()) {
            ways.push(way.words());
        }
    }
    let mut parts = vec![format!("{} ({})", ways.join(", "), counted(turns.len(), "change") + " of verdict")];
    if !turns.iter().any(|turn| turn.sprays == [false, true]) {
        parts.push("no tree is sprayed that was not".to_owned());
    }
    let opened: BTreeSet<&str> = turns.iter().flat_map(|turn| &turn.was_shut).map(|it| &*it.0).collect();
    if !opened.is_empty() {
        let products: Vec<&str> = opened.into_iter().collect();
        parts.push(format!("sprayed where it was shut: {}", products.join(", ")));
    }
    parts
}

/// Returns what a rulebook built on another changes otherwise than it: items, verdicts, what is newly broken.
fn otherwise(base: &Comparison, built: &Comparison) -> Vec<String> {
    if built.same {
        return vec!["nothing changes".to_owned()];
    }
    let items = |of: &Comparison| -> BTreeSet<String> {
        let meant = of.items.iter().filter(|it| it.in_meaning() && it.concern != Concern::Promise);
        meant.map(|it| it.item.clone()).collect()
    };
    let (was, now) = (items(base), items(built));
    let mut parts = Vec::new();
    let without: Vec<&str> = was.difference(&now).map(|it| &**it).collect();
    parts.extend((!without.is_empty()).then(|| format!("without {}", without.join(", "))));
    let more: Vec<&str> = now.difference(&was).map(|it| &**it).collect();
    parts.extend((!more.is_empty()).then(|| format!("also {}", more.join(", "))));
    let is_new = |turn: &&VerdictTurn| !base.turns.iter().any(|it| it.short == turn.short);
    let turns: Vec<String> = built.turns.iter().filter(is_new).map(|it| it.short.join(" → ")).collect();
    match &turns[..] {
        [] => {}
        [one] => parts.push(one.clone()),
        [first, more @ ..] => {
            parts.push(format!("{first} and {} of verdict", counted(more.len(), "more change")))
        }
    }
    let broken =
        built.to_mend.new.iter().filter(|it| !base.to_mend.new.iter().any(|one| one.message == it.message));
    match broken.count() {
        0 => {}
        some => parts.push(format!("{some} more newly broken")),
    }
    parts
}
