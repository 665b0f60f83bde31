//! Two rulebooks compared: as text, as JSON, and as Markdown for a review comment.
//!
//! Comes in: a [`Comparison`] with the two plans and their texts. Goes out: pages. Knows no terminal.

mod words;
mod edits;
mod turns;
mod summary;
mod sections;
mod page;
mod json;
mod text;
mod markdown;

use crate::plan::Plan;
use crate::prove::compare::items::{Change, Concern, ItemChange};
use crate::prove::compare::{CalledOtherwise, Comparison, Headline, Opened, Redefined};
use crate::source::Sources;
use page::Page;
use serde::Serialize;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use words::{counted, named};

pub use words::place_words;

/// The name of the JSON form.
pub const FORMAT: &str = "bloomward.comparison/1";

/// How many bytes a page has at most.
const LARGEST: usize = 60_000;

/// What differs of a tree.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TreeDifference {
    /// It is decided otherwise.
    Verdict,
    /// It must be looked at before it can be decided.
    MustLook,
    /// The same is sprayed in other hours.
    Hours,
}

/// A tree of a grove whose advice differs.
#[derive(Clone, Debug, Serialize)]
pub struct TreeChange {
    /// The grove.
    pub grove: String,
    /// The tree.
    pub tree: String,
    /// What differs.
    pub difference: TreeDifference,
    /// What the old rulebook says, in words.
    pub was: String,
    /// What the new one says.
    pub now: String,
    /// The places of the regions that it is in for sure, in the comparison's list.
    #[serde(skip)]
    pub regions: Vec<usize>,
}

/// A rulebook that builds on the one that changed, compared with itself on the base as it was.
#[derive(Clone, Debug)]
pub struct BuiltOn {
    /// What it is called.
    pub name: String,
    /// How it differs.
    pub comparison: Comparison,
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
    /// Rulebooks that build on them.
    pub built: &'a [BuiltOn],
    /// Groves that were looked at, with how many trees each has.
    pub groves: &'a [(String, usize)],
    /// The trees whose advice differs.
    pub trees: &'a [TreeChange],
}

impl Compared<'_> {
    /// Returns what protects and is weaker now, or gone.
    fn weakened(&self) -> impl Iterator<Item = &ItemChange> {
        self.comparison.items.iter().filter(|it| it.is_weakened())
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

    /// Returns the items that are written otherwise and mean the same, as a sentence.
    fn written_otherwise(&self) -> Option<String> {
        let same = self.comparison.items.iter().filter(|it| it.change == Change::Otherwise);
        let (examples, others): (Vec<&ItemChange>, Vec<&ItemChange>) =
            same.partition(|it| it.concern == Concern::Example);
        let mut names: Vec<String> = others.iter().map(|it| named(&it.item)).collect();
        names.extend((!examples.is_empty()).then(|| counted(examples.len(), "worked example")));
        (!names.is_empty()).then(|| format!("written otherwise, and meaning the same: {}", names.join(", ")))
    }

    /// Returns how the names of some headlines' places that are defined otherwise stand to what they were.
    fn redefined<'h>(&self, headlines: impl Iterator<Item = &'h Headline>) -> Vec<String> {
        let places = headlines.flat_map(|it| &it.places).flatten();
        let told: BTreeSet<&str> = places.filter(|it| it.is_redefined).map(|it| &*it.name).collect();
        let named = self.comparison.redefined.iter().filter(|it| told.contains(&*it.name));
        let line = |it: &Redefined| {
            let follows = match it.order {
                Some(Ordering::Greater) if it.is_yes_no => {
                    "is yes in more situations than before, and still in all of those"
                }
                Some(Ordering::Less) if it.is_yes_no => {
                    "is yes in fewer situations than before, and in no new one"
                }
                None if it.is_yes_no => "is yes in some situations where it was no, or no where it was yes",
                Some(Ordering::Greater) => "is as high as before, or higher",
                Some(Ordering::Less) => "is as high as before, or lower",
                Some(Ordering::Equal) => "is as high as before",
                None => "may be higher or lower than before, so either way is told",
            };
            format!("`{}` is defined otherwise: it {follows}.", it.name)
        };
        let lines: BTreeSet<String> = named.map(line).collect();
        lines.into_iter().collect()
    }

    /// Returns what the items at some places are called.
    fn item_names(&self, places: &BTreeSet<usize>) -> Vec<&str> {
        places.iter().filter_map(|at| self.comparison.items.get(*at)).map(|it| &*it.item).collect()
    }

    /// Returns the page that is not too long: all of it, else without the texts of items, else with fewer sections.
    fn fitting(&self, write: impl Fn(&Page) -> String) -> String {
        let mut written = String::new();
        for (sections, has_texts) in [(page::SECTIONS, true), (page::SECTIONS, false), (4, false), (0, false)]
        {
            let mut page = self.page(sections);
            if !has_texts {
                page.folded = Vec::new();
            }
            written = write(&page);
            if written.len() <= LARGEST {
                return written;
            }
        }
        let end = (0..=LARGEST - 100).rev().find(|end| written.is_char_boundary(*end)).unwrap_or(0);
        format!("{}\n\nThe page ends here; all of it is in `--format json`.\n", &written[..end])
    }
}

/// Returns an item's text with single blanks and without comments.
fn plain(text: &str) -> String {
    let lines = text.lines().map(|line| line.split(" #").next().unwrap_or_default());
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}
