//! The page of a comparison in its order: what it comes to, what is to mend, what protects less, the items, each with where and what
//! it changes, the trees, and all texts.
//!
//! Comes in: all that is known of a comparison. Goes out: its parts in words, the same for text and Markdown.

use super::edits::Edits;
use super::sections::{SHORT, Section};
use super::turns::{TurnRow, turn_rows};
use super::words::{counted, in_short, listed, named, shortened};
use super::{Compared, TreeDifference};
use crate::problems::{Finding, Problem};
use crate::prove::compare::items::{Change, Concern, ItemChange};
use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// How many sections a page has; the changes of verdict of the rest are named.
pub(super) const SECTIONS: usize = 12;
/// How many signs of a reason stand beside what protects.
const REASON: usize = 140;
/// How many signs of one side of an item stand in the table.
const SIDE: usize = 240;
/// How many rows of changes of verdict stand in one table; the others are folded.
const ROWS: usize = 12;

/// A page in its parts.
pub(super) struct Page<'a> {
    pub(super) summary: String,
    pub(super) also: Vec<String>,
    pub(super) called: Vec<String>,
    pub(super) mend: Mend,
    pub(super) protects: Vec<Told>,
    pub(super) promises: Option<&'static str>,
    pub(super) table: Vec<ItemRow>,
    pub(super) follows: Vec<String>,
    pub(super) sections: Vec<Section<'a>>,
    pub(super) redefined: Vec<String>,
    pub(super) elsewhere: Vec<TurnRow>,
    pub(super) cut: Option<String>,
    pub(super) certified: Option<(&'static str, Vec<TurnRow>)>,
    pub(super) groves: Vec<(String, Vec<String>)>,
    pub(super) folded: Vec<Told>,
    /// The rows of all tables that are longer than a page has room for.
    pub(super) rest: Vec<TurnRow>,
}

/// What is newly broken.
pub(super) struct Mend {
    pub(super) all: Vec<String>,
    pub(super) before: Option<String>,
}

/// Something in a few lines, each with what it is.
pub(super) struct Told {
    pub(super) title: String,
    pub(super) lines: Vec<(&'static str, String)>,
}

/// What follows edits, and the reasons of it.
type Followers = (Vec<String>, Vec<String>);

/// A row of the table of items.
pub(super) struct ItemRow {
    pub(super) number: usize,
    pub(super) item: String,
    pub(super) was: String,
    pub(super) now: String,
    pub(super) short: String,
    /// Whether it stands among what protects, with both sides.
    pub(super) is_told: bool,
}

impl<'a> Compared<'a> {
    /// Returns the page with at most so many sections, and with the texts of items or without.
    pub(super) fn page(&self, sections: usize) -> Page<'a> {
        let edits = Edits::of(&self.comparison.items, self.plans, self.sources);
        let numbers: BTreeMap<usize, usize> =
            self.rowed(&edits).enumerate().map(|(number, (at, _))| (at, number + 1)).collect();
        let all = self.sections(&edits, &numbers);
        let (shown, rest) = all.split_at(sections.min(all.len()));
        let elsewhere = self.turns_beside(shown);
        let (protects, told) = self.protects(&edits);
        let mut page = Page {
            summary: self.summary_of(&edits),
            also: self.also_words(),
            called: self.called_otherwise(),
            mend: self.mend(),
            protects,
            promises: self.promises_kept(),
            table: self.table(&edits, &numbers, &all),
            follows: self.follows(&edits, &told),
            redefined: self.redefined(shown.iter().flat_map(|it| &it.headlines).copied()),
            elsewhere: turn_rows(&elsewhere),
            cut: self.cut(shown, rest),
            certified: self.certified_rows(),
            groves: self.trees_by_grove(),
            folded: self.folded(&edits),
            sections: all.into_iter().take(sections).collect(),
            rest: Vec::new(),
        };
        let certified = page.certified.iter_mut().map(|it| &mut it.1);
        let tables =
            page.sections.iter_mut().map(|it| &mut it.rows).chain([&mut page.elsewhere]).chain(certified);
        for rows in tables {
            page.rest.extend(rows.drain(ROWS.min(rows.len())..));
        }
        page
    }

    /// Returns the items that have a row of their own, with their places.
    fn rowed<'e>(&'e self, edits: &'e Edits<'_>) -> impl Iterator<Item = (usize, &'e ItemChange)> {
        let has_row = |(at, it): &(usize, &ItemChange)| {
            edits.is_edited(*at) && it.concern != Concern::Example && it.change != Change::Otherwise
        };
        self.comparison.items.iter().enumerate().filter(has_row)
    }

    fn mend(&self) -> Mend {
        let mut new: Vec<&Problem> = self.comparison.to_mend.new.iter().collect();
        new.sort_by_key(|it| it.finding == Finding::WorkedFailed);
        let all = new.into_iter().map(|it| format!("{} ({})", it.message, self.place(it.at)));
        let before = match self.comparison.to_mend.before {
            0 => None,
            some => Some(format!("{} stood here before.", counted(some, "error"))),
        };
        Mend { all: all.collect(), before }
    }

    /// Returns where a span begins: the name of its file without folders, and the line.
    fn place(&self, at: Span) -> String {
        let name = self.sources.get(at.source).map_or("?", |it| &*it.name);
        let file = Path::new(name).file_name().map_or(name.into(), |it| it.to_string_lossy());
        format!("{file}:{}", self.sources.place(at).line)
    }

    /// Returns what protects and is weaker or gone: first what was edited, then what only follows, told together by the edits behind
    /// it. Returns the places of the items that are told there, too.
    fn protects(&self, edits: &Edits<'_>) -> (Vec<Told>, BTreeSet<usize>) {
        let items = self.comparison.items.iter().enumerate();
        let weakened: Vec<(usize, &ItemChange)> = items.filter(|(_, it)| it.is_weakened()).collect();
        let mut all = Vec::new();
        let mut followers: BTreeMap<(BTreeSet<usize>, String), Followers> = BTreeMap::new();
        for (at, it) in &weakened {
            if edits.is_edited(*at) {
                let says_all = it.concern == Concern::Caution;
                let mut lines = if says_all { Vec::new() } else { was_and_now(edits.sides(it)) };
                lines
                    .extend(edits.reasons(it).into_iter().map(|(label, it)| (label, shortened(&it, REASON))));
                all.push(Told { title: format!("{}: {}", named(&it.item), in_short(it)), lines });
                continue;
            }
            let words = match it.concern {
                Concern::Hours => it.direction.map_or(
                    "the same words stand for other hours",
                    |_| "the same words stand for more open hours",
                ),
                _ if it.direction.is_some() => "the same words stand for less",
                _ => "the same words stand for something else, not shown to be as strict",
            };
            let place = followers.entry((edits.behind([it.was, it.now]), words.to_owned())).or_default();
            place.0.push(named(&it.item));
            place.1.extend(edits.reasons(it).into_iter().map(|(_, because)| because));
        }
        for it in self.opened() {
            let gate = format!("gate {}", it.gate);
            let words = format!("no longer shuts {} in some situations", it.products.join(" and "));
            let place = followers.entry((edits.behind_cause(&gate), words)).or_default();
            place.0.push(named(&gate));
            place.1.extend(self.because(it).map(str::to_owned));
        }
        for ((behind, words), (names, reasons)) in followers {
            let by: Vec<String> = self.item_names(&behind).into_iter().map(named).collect();
            let by = if by.is_empty() { String::new() } else { format!(", by {}", listed(&by)) };
            let mut lines = Vec::new();
            for it in behind.iter().filter_map(|at| self.comparison.items.get(*at)) {
                lines.extend(was_and_now(edits.sides(it)));
            }
            lines.extend(reasons.into_iter().take(2).map(|it| ("its reason", shortened(&it, REASON))));
            all.push(Told { title: format!("{}: {words}{by}", names.join(", ")), lines });
        }
        (all, weakened.into_iter().map(|(at, _)| at).collect())
    }

    fn table(
        &self,
        edits: &Edits<'_>,
        numbers: &BTreeMap<usize, usize>,
        sections: &[Section<'_>],
    ) -> Vec<ItemRow> {
        let row = |(at, it): (usize, &ItemChange)| {
            let [was, now] = edits.sides(it);
            let ways: Vec<&str> =
                sections.iter().filter(|of| of.edits.contains(&at)).flat_map(Section::ways).collect();
            let ways: Vec<&str> = ways
                .iter()
                .enumerate()
                .filter(|(at, it)| !ways[..*at].contains(it))
                .map(|it| *it.1)
                .collect();
            let own = in_short(it);
            let is_told = own.is_empty() || own == "changed" || ways.contains(&&*own);
            let short = match (ways.is_empty(), is_told) {
                (false, true) => ways.join(", "),
                (false, false) => format!("{own}: {}", ways.join(", ")),
                (true, true) if self.comparison.certified.is_some() => {
                    "no verdict changes elsewhere than told below".to_owned()
                }
                (true, true) => "no verdict changes by it".to_owned(),
                (true, false) => own,
            };
            let gone =
                |side: Option<String>, word: &str| side.map_or(word.to_owned(), |it| shortened(&it, SIDE));
            ItemRow {
                number: numbers.get(&at).copied().unwrap_or(0),
                item: named(&shortened(&it.item, SHORT)),
                was: gone(was, "none"),
                now: gone(now, "gone"),
                short,
                is_told: it.is_weakened(),
            }
        };
        self.rowed(edits).map(row).collect()
    }

    /// Returns what has no row of its own: what follows edits and was not told, worked examples, and what means the same.
    fn follows(&self, edits: &Edits<'_>, told: &BTreeSet<usize>) -> Vec<String> {
        let items: Vec<(usize, &ItemChange)> = self.comparison.items.iter().enumerate().collect();
        let mut words = Vec::new();
        let follows = |(at, it): &&(usize, &ItemChange)| {
            it.in_meaning() && it.concern != Concern::Example && !edits.is_edited(*at) && !told.contains(at)
        };
        for (at, it) in items.iter().filter(follows) {
            let mut behind = edits.behind([it.was, it.now]);
            behind.remove(at);
            let by: Vec<String> = self.item_names(&behind).into_iter().map(named).collect();
            let by = if by.is_empty() { String::new() } else { format!(" by {}", listed(&by)) };
            words.push(format!("{}: {} in the same words{by}", named(&it.item), in_short(it)));
        }
        let examples: Vec<&ItemChange> =
            items.iter().map(|it| it.1).filter(|it| it.concern == Concern::Example).collect();
        let count = |of: &[Change]| examples.iter().filter(|it| of.contains(&it.change)).count();
        let counts = [
            (count(&[Change::Added]), "added"),
            (count(&[Change::Omitted]), "dropped"),
            (count(&[Change::Changed, Change::Words, Change::Sources, Change::Renamed]), "changed"),
        ];
        let counts: Vec<String> = counts
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!("{} {what}", counted(count, "worked example")))
            .collect();
        words.extend((!counts.is_empty()).then(|| counts.join(", ")));
        words.extend(self.written_otherwise());
        words
    }

    fn certified_rows(&self) -> Option<(&'static str, Vec<TurnRow>)> {
        let certified = self.comparison.certified.as_ref()?;
        Some(match certified.spent {
            true => ("In certified organic groves: not decided, there are too many situations.", Vec::new()),
            false => ("In certified organic groves", turn_rows(&certified.turns)),
        })
    }

    /// Returns the trees of each grove that are decided otherwise, have other hours or must be looked at, by what becomes of them.
    fn trees_by_grove(&self) -> Vec<(String, Vec<String>)> {
        let of = |(grove, count): &(String, usize)| {
            let here: Vec<_> = self.trees.iter().filter(|it| it.grove == *grove).collect();
            let number = |what: TreeDifference| here.iter().filter(|it| it.difference == what).count();
            let mut parts = vec![format!(
                "{} of {count} trees are decided otherwise today",
                number(TreeDifference::Verdict)
            )];
            for (what, words) in
                [(TreeDifference::MustLook, "must be looked at"), (TreeDifference::Hours, "have other hours")]
            {
                parts.extend((number(what) > 0).then(|| format!("{} {words}", number(what))));
            }
            let mut changes: Vec<(String, Vec<String>)> = Vec::new();
            for it in &here {
                let change = match it.difference {
                    TreeDifference::Hours => format!("{} in other hours", it.now),
                    TreeDifference::Verdict | TreeDifference::MustLook => {
                        format!("{} becomes {}", it.was, it.now)
                    }
                };
                match changes.iter_mut().find(|(known, _)| *known == change) {
                    Some((_, list)) => list.push(it.tree.clone()),
                    None => changes.push((change, vec![it.tree.clone()])),
                }
            }
            let lines = changes.into_iter().map(|(change, trees)| format!("{change}: {}", trees.join(", ")));
            (format!("{grove}: {}", parts.join(", ")), lines.collect())
        };
        self.groves.iter().map(of).collect()
    }

    /// Returns the whole text of all that was edited.
    fn folded(&self, edits: &Edits<'_>) -> Vec<Told> {
        let is_whole = |it: &&ItemChange| !matches!(it.concern, Concern::Caution | Concern::ReEntry);
        let rows = self.rowed(edits).map(|(_, it)| it);
        rows.filter(is_whole)
            .map(|it| Told { title: named(&it.item), lines: was_and_now(edits.texts(it)) })
            .collect()
    }
}

fn was_and_now([was, now]: [Option<String>; 2]) -> Vec<(&'static str, String)> {
    vec![("was", was.unwrap_or_else(|| "none".to_owned())), ("now", now.unwrap_or_else(|| "gone".to_owned()))]
}
