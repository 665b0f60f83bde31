//! Two rulebooks compared: as text, as JSON, and as Markdown for a review comment.
//!
//! Comes in: a [`Comparison`] with the two plans and their texts. Goes out: pages. Knows no terminal.

mod words;
mod json;
mod text;
mod markdown;

use crate::plan::Plan;
use crate::problems::Problem;
use crate::prove::compare::items::{Change, Concern, ItemChange, ItemDirection};
use crate::prove::compare::{CalledOtherwise, Comparison, Direction, Headline, Opened, VerdictTurn};
use crate::source::Sources;
use serde::Serialize;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

pub use words::place_words;

/// The name of the JSON form.
pub const FORMAT: &str = "bloomward.comparison/1";
/// How many headlines a page has; the changes of verdict of the rest are named.
const HEADLINES: usize = 12;

/// A tree of a grove whose verdict differs.
#[derive(Clone, Debug, Serialize)]
pub struct TreeChange {
    /// The grove.
    pub grove: String,
    /// The tree.
    pub tree: String,
    /// What the old rulebook says, in words.
    pub was: String,
    /// What the new one says.
    pub now: String,
    /// The places of the regions that it is in for sure, in the comparison's list.
    #[serde(skip)]
    pub regions: Vec<usize>,
}

/// All that a page about two rulebooks needs.
#[derive(Clone, Copy, Debug)]
pub struct Compared<'a> {
    /// How they differ.
    pub comparison: &'a Comparison,
    /// The old plan and the new one.
    pub plans: [&'a Plan; 2],
    /// What the two are called.
    pub names: [&'a str; 2],
    /// Their texts.
    pub sources: &'a Sources,
    /// Groves that were looked at, with how many trees each has.
    pub groves: &'a [(String, usize)],
    /// The trees whose verdict differs.
    pub trees: &'a [TreeChange],
}

impl Compared<'_> {
    /// Returns the sentence that sums it up.
    pub fn summary(&self) -> String {
        let comparison = self.comparison;
        if comparison.spent {
            return "Not decided: there are too many situations to compare within the budget. Nothing is said of what \
                    is the same."
                .to_owned();
        }
        let meant = comparison.items.iter().filter(|it| it.in_meaning()).count();
        if comparison.same_verdicts {
            let certified = if comparison.certified.is_some() {
                "The same verdicts and doses in groves that are not certified organic, proved; other ones in certified groves"
            } else {
                "The same verdicts and doses in every situation, proved"
            };
            let mut parts = vec![certified.to_owned()];
            if meant > 0 {
                // A proof knows the labels of books and whole weather; a shed and a gap may make an item count elsewhere.
                parts.push("a jug's own label, missing weather and the log are not part of it".to_owned());
            }
            let hours = self.of_hours();
            if meant > hours {
                parts.push(format!("{} changed in meaning", counted(meant - hours, "item")));
            }
            parts.extend(self.beside());
            return parts.join("; ") + ".";
        }
        let turns = &comparison.turns;
        let mut ways: Vec<(&str, usize)> = Vec::new();
        let order =
            Direction::ALL.into_iter().flat_map(|it| turns.iter().filter(move |turn| turn.direction == it));
        for turn in order {
            match ways.iter_mut().find(|(words, _)| *words == turn.words()) {
                Some((_, count)) => *count += 1,
                None => ways.push((turn.words(), 1)),
            }
        }
        let ways: Vec<String> = match turns.len() {
            1 => ways.into_iter().map(|(words, _)| words.to_owned()).collect(),
            _ => ways.into_iter().map(|(words, count)| format!("{words} ({count})")).collect(),
        };
        let mut parts = vec![format!("{}: {}", ways.join(", "), changes(turns.len()))];
        if !turns.iter().any(|turn| turn.sprays == [false, true]) {
            parts.push("no tree is sprayed that was not".to_owned());
        }
        let opened: BTreeSet<&str> = turns.iter().flat_map(|turn| &turn.was_shut).map(|it| &*it.0).collect();
        if !opened.is_empty() {
            let products: Vec<&str> = opened.into_iter().collect();
            parts.push(format!("sprayed where it was shut: {}", products.join(", ")));
        }
        parts.extend(self.beside());
        let text = parts.join("; ") + ".";
        let mut signs = text.chars();
        signs.next().map_or(String::new(), |first| first.to_uppercase().chain(signs).collect())
    }

    /// Returns how many items move hours: gates of hours, and which hours are better.
    fn of_hours(&self) -> usize {
        self.comparison.items.iter().filter(|it| it.in_meaning() && it.concern == Concern::Hours).count()
    }

    /// Returns what moves hours, and which way: `fewer hours by gate school-hours`.
    fn hours(&self) -> Vec<String> {
        let mut ways: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for it in self.comparison.items.iter().filter(|it| it.in_meaning() && it.concern == Concern::Hours) {
            let way = it.direction.map_or("other hours", ItemDirection::words);
            ways.entry(way).or_default().push(&it.item);
        }
        ways.into_iter().map(|(way, items)| format!("{way} by {}", items.join(", "))).collect()
    }

    /// Returns what differs beside verdicts and doses: what is broken, hours, and words.
    fn beside(&self) -> Vec<String> {
        let words = self.comparison.items.iter().filter(|it| it.change == Change::Words).count();
        let said =
            |count: usize, what: &str| (count > 0).then(|| format!("{what} in {}", counted(count, "item")));
        let weaker = match self.weakened().count() {
            0 => None,
            1 => Some("1 thing that protects is weaker or gone".to_owned()),
            more => Some(format!("{more} things that protect are weaker or gone")),
        };
        let broken = match self.comparison.to_mend.new.len() {
            0 => None,
            some => Some(format!("{some} newly broken, to mend before merging")),
        };
        let all = broken.into_iter().chain(weaker).chain(self.hours());
        all.chain(said(words, "other words")).collect()
    }

    /// Returns what protects and is weaker now, or gone.
    fn weakened(&self) -> impl Iterator<Item = &ItemChange> {
        self.comparison.items.iter().filter(|it| it.is_weakened())
    }

    /// Returns the gates that let through what they shut, though none of their own words changed, each with its reason.
    fn gates_opened(&self) -> Vec<String> {
        let line = |it: &Opened| {
            let because = self.because(it).map_or(String::new(), |it| format!("; its reason: {it}"));
            let products = it.products.join(" and ");
            format!("gate {}: in some situations no longer shuts {products}{because}", it.gate)
        };
        self.opened().map(line).collect()
    }

    /// Returns the gates that let something through and are not told as items.
    fn opened(&self) -> impl Iterator<Item = &Opened> {
        let told = |gate: &str| self.weakened().any(|it| it.item == format!("gate {gate}"));
        self.comparison.opened.iter().filter(move |it| !told(&it.gate))
    }

    /// Returns the reason that a gate gave.
    fn because(&self, opened: &Opened) -> Option<&str> {
        let gate = self.plans[0].gates.iter().find(|it| *it.name == *opened.gate && it.line.is_none())?;
        gate.why.because.as_deref()
    }

    /// Returns what is to be mended before merging, each with its place, and how many errors stood there before.
    fn mended_first(&self) -> (Vec<String>, Option<String>) {
        let of = |it: &Problem| format!("{} ({})", it.message, self.sources.locate(it.at));
        let before = match self.comparison.to_mend.before {
            0 => None,
            some => Some(format!("{} stood here before.", counted(some, "error"))),
        };
        (self.comparison.to_mend.new.iter().map(of).collect(), before)
    }

    /// Returns a sentence that names the changes of verdict of which not every place is listed.
    fn cut(&self) -> Option<String> {
        let is_cut = |it: &&Headline| it.is_cut || it.elsewhere > 0;
        let cut = self.comparison.headlines.iter().take(HEADLINES).filter(is_cut);
        let more = self.comparison.headlines.iter().skip(HEADLINES);
        let named: BTreeSet<String> =
            cut.chain(more).flat_map(|it| &it.turns).map(|it| format!("{} → {}", it.was, it.now)).collect();
        if named.is_empty() {
            return None;
        }
        let all: BTreeSet<String> =
            self.comparison.turns.iter().map(|it| format!("{} → {}", it.was, it.now)).collect();
        let of = if named == all && all.len() > 1 {
            "each change of verdict".to_owned()
        } else {
            named.into_iter().collect::<Vec<String>>().join("; ")
        };
        Some(format!("There are more places than are listed here, of {of}."))
    }

    /// Returns the sentence that no promise is weaker, where that is so of a rulebook that differs.
    fn promises_kept(&self) -> Option<&'static str> {
        let is_weaker = self.weakened().any(|it| it.concern == Concern::Promise);
        let says = !self.comparison.same && !self.plans[0].promises.is_empty() && !is_weaker;
        says.then_some("No promise was weakened or dropped.")
    }

    /// Returns what strengths are called now, a sentence for each pair of words.
    fn called_otherwise(&self) -> Vec<String> {
        let mut pairs: BTreeMap<[&str; 2], Vec<&CalledOtherwise>> = BTreeMap::new();
        for it in &self.comparison.called_otherwise {
            pairs.entry([&it.was, &it.now]).or_default().push(it);
        }
        let sentence = |([was, now], all): ([&str; 2], Vec<&CalledOtherwise>)| {
            let same: Vec<String> = all.iter().map(|it| format!("{} {}", it.product, it.amount)).collect();
            let then = all.iter().filter_map(|it| Some(format!("{} {}", it.product, it.then.as_ref()?)));
            let then: Vec<String> = then.collect();
            let log = match &then[..] {
                [] => format!(
                    "Rows of a spray log that say `{was}` are not known by that word under the new rulebook: keep the \
                     rate in such rows, or mend the word."
                ),
                some => format!(
                    "`{was}` now means {}: rows of a spray log that say `{was}` are read as that, unless they have a \
                     rate of their own.",
                    some.join(", ")
                ),
            };
            format!("`{was}` is now called `{now}`, the dose unchanged ({}). {log}", same.join(", "))
        };
        pairs.into_iter().map(sentence).collect()
    }

    /// Returns the items that a page lists, and those that mean the same as a sentence.
    fn listed_items(&self) -> (Vec<&ItemChange>, Option<String>) {
        let (same, listed): (Vec<&ItemChange>, Vec<&ItemChange>) =
            self.comparison.items.iter().partition(|it| it.change == Change::Otherwise);
        let listed = listed.into_iter().filter(|it| !it.is_weakened()).collect();
        let (examples, others): (Vec<&ItemChange>, Vec<&ItemChange>) =
            same.into_iter().partition(|it| it.concern == Concern::Example);
        let mut names: Vec<String> = others.iter().map(|it| it.item.clone()).collect();
        names.extend((!examples.is_empty()).then(|| counted(examples.len(), "worked example")));
        let words = (!names.is_empty())
            .then(|| format!("written otherwise, and meaning the same: {}", names.join(", ")));
        (listed, words)
    }

    /// Returns the texts of an item in both rulebooks, where it is told by them: once where they are the same.
    fn texts(&self, it: &ItemChange) -> [Option<String>; 2] {
        let says_all = it.written.is_some() || it.concern == Concern::Caution || it.change == Change::Renamed;
        if says_all || !it.rows.is_empty() || it.concern == Concern::Example {
            return [None, None];
        }
        let [was, now] = [it.was, it.now].map(|span| span.map(|span| plain(self.sources.words(span))));
        if was == now {
            [None, now.map(|text| format!("{text} (the same words, which stand for less)"))]
        } else {
            [was, now]
        }
    }

    /// Returns what becomes of verdicts in groves that are certified organic, a heading and a line each.
    fn certified_turns(&self) -> Vec<String> {
        let Some(certified) = &self.comparison.certified else { return Vec::new() };
        if certified.spent {
            return vec![
                "In certified organic groves: not decided, there are too many situations.".to_owned(),
            ];
        }
        let line = |turn: &VerdictTurn| format!("  {} becomes {} ({})", turn.was, turn.now, turn.words());
        let lines = certified.turns.iter().map(line);
        std::iter::once("In certified organic groves".to_owned()).chain(lines).collect()
    }

    /// Returns how the names of which a page speaks, and which are defined otherwise, stand to what they were, with both
    /// definitions.
    fn redefined(&self) -> Vec<(String, [Option<String>; 2])> {
        let places = self.comparison.headlines.iter().take(HEADLINES).flat_map(|it| &it.places).flatten();
        let told: BTreeSet<&str> = places.filter(|it| it.is_redefined).map(|it| &*it.name).collect();
        let named = self.comparison.redefined.iter().filter(|it| told.contains(&*it.name));
        let mut lines: Vec<(String, [Option<String>; 2])> = named
            .map(|it| {
                let follows = match it.order {
                    Some(Ordering::Greater) if it.is_yes_no => {
                        "is yes in more situations than before, and still in all of those"
                    }
                    Some(Ordering::Less) if it.is_yes_no => {
                        "is yes in fewer situations than before, and in no new one"
                    }
                    None if it.is_yes_no => {
                        "is yes in some situations where it was no, or no where it was yes"
                    }
                    Some(Ordering::Greater) => "is as high as before, or higher",
                    Some(Ordering::Less) => "is as high as before, or lower",
                    Some(Ordering::Equal) => "is as high as before",
                    None => "may be higher or lower than before, so either way is told",
                };
                let name = self.plans[0].named().find(|(_, name)| *name.word == *it.name);
                let is_it = |item: &&ItemChange| item.was == name.map(|(_, name)| name.span);
                let item = self.comparison.items.iter().find(is_it);
                let texts = item.map_or([None, None], |item| self.texts(item));
                (format!("`{}` is defined otherwise: it {follows}.", it.name), texts)
            })
            .collect();
        lines.sort();
        lines
    }

    /// Returns the changes of verdict that are in no headline of a page.
    fn unnamed(&self) -> Vec<VerdictTurn> {
        let named = |turn: &VerdictTurn| {
            self.comparison.headlines.iter().take(HEADLINES).any(|headline| headline.turns.contains(turn))
        };
        self.comparison.turns.iter().filter(|turn| !named(turn)).cloned().collect()
    }
}

/// The changes of verdict that a page has told.
#[derive(Default)]
struct ToldChanges(BTreeSet<(String, String)>);

impl ToldChanges {
    /// Returns those of a headline that were not told before, and a sentence for the others.
    fn of(&mut self, headline: &Headline) -> (Vec<VerdictTurn>, Option<String>) {
        let is_new = |turn: &&VerdictTurn| self.0.insert((turn.was.clone(), turn.now.clone()));
        let new: Vec<VerdictTurn> = headline.turns.iter().filter(is_new).cloned().collect();
        let again = headline.turns.len() - new.len();
        let also = if new.is_empty() { "" } else { "also " };
        (new, (again > 0).then(|| format!("{also}{} told above", counted(again, "change"))))
    }
}

/// Groups the trees of one grove by what becomes of them.
fn by_change(trees: &[&TreeChange]) -> Vec<(String, Vec<String>)> {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for it in trees {
        let change = format!("{} becomes {}", it.was, it.now);
        match groups.iter_mut().find(|(known, _)| *known == change) {
            Some((_, list)) => list.push(it.tree.clone()),
            None => groups.push((change, vec![it.tree.clone()])),
        }
    }
    groups
}

/// Returns an item's text with single blanks and without comments.
fn plain(text: &str) -> String {
    let lines = text.lines().map(|line| line.split(" #").next().unwrap_or_default());
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn changes(count: usize) -> String {
    if count == 1 { "1 change of verdict".to_owned() } else { format!("{count} changes of verdict") }
}

fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}
