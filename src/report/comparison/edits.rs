//! Which items were edited, what each said and says in its own clauses, and which edits stand behind what only follows them.

use crate::plan::Plan;
use crate::prove::compare::items::{Change, Concern, ItemChange, RowChange};
use crate::source::{Sources, Span};
use crate::syntax::tree::{Clause, Verb};
use crate::syntax::{ClauseLine, ItemClauses, parse};
use std::collections::{BTreeMap, BTreeSet};

/// The items that differ, by what was edited.
pub(super) struct Edits<'a> {
    items: &'a [ItemChange],
    plans: [&'a Plan; 2],
    sources: &'a Sources,
    /// What conditions can name, with where it stands.
    named: [BTreeMap<&'a str, Vec<Span>>; 2],
    /// Where gates, choices and products stand, by what a cause calls them.
    causes: [BTreeMap<String, Span>; 2],
    is_edited: Vec<bool>,
}

impl<'a> Edits<'a> {
    pub(super) fn of(items: &'a [ItemChange], plans: [&'a Plan; 2], sources: &'a Sources) -> Self {
        let mut edits = Self {
            items,
            plans,
            sources,
            named: plans.map(named),
            causes: plans.map(causes),
            is_edited: Vec::new(),
        };
        edits.is_edited = items.iter().map(|it| edits.differs(it)).collect();
        edits
    }

    /// Returns whether somebody edited an item itself: what only follows another has the words that it had.
    pub(super) fn is_edited(&self, at: usize) -> bool {
        self.is_edited.get(at) == Some(&true)
    }

    /// Returns the items that were edited and mean something else, by their places.
    pub(super) fn edited(&self) -> impl Iterator<Item = (usize, &'a ItemChange)> {
        let all = self.items.iter().enumerate();
        all.filter(|(at, it)| it.in_meaning() && self.is_edited(*at))
    }

    fn differs(&self, it: &ItemChange) -> bool {
        let (Some(was), Some(now)) = (it.was, it.now) else { return true };
        match self.clauses([was, now]) {
            _ if it.written.is_some() => true,
            _ if it.value.iter().all(Option::is_some) => it.value[0] != it.value[1],
            Some([was, now]) => ItemClauses::differing(&was, &now).iter().any(|side| !side.is_empty()),
            None => self.sources.words(was) != self.sources.words(now),
        }
    }

    fn clauses(&self, spans: [Span; 2]) -> Option<[ItemClauses; 2]> {
        let [was, now] = spans.map(|span| ItemClauses::of(self.sources.words(span)));
        Some([was?, now?])
    }

    /// Returns what an item said and says, each side as far as it differs; nothing on a side without the item.
    pub(super) fn sides(&self, it: &ItemChange) -> [Option<String>; 2] {
        if !it.rows.is_empty() {
            return [rows_of(&it.rows, |row| &row.was), rows_of(&it.rows, |row| &row.now)].map(Some);
        }
        let is_held = it.concern == Concern::Gate;
        match &it.written {
            Some((was, now)) if !is_held => return [Some(was.clone()), Some(now.clone())],
            None if it.value.iter().any(Option::is_some) => return it.value.clone(),
            _ => {}
        }
        // What has an item of its own is told there, and what is held to in amounts.
        let told = |line: &ClauseLine| match &*line.word {
            "label" | "caution" => it.concern == Concern::Other,
            "holds" => it.written.is_some(),
            _ => false,
        };
        let joined = |mut lines: Vec<ClauseLine>, held: Option<&String>| {
            lines.retain(|line| !told(line));
            let lines = held.cloned().into_iter().chain(lines.into_iter().map(|it| it.line));
            let all: Vec<String> = lines.collect();
            if all.is_empty() { "none".to_owned() } else { all.join("; ") }
        };
        let held = |side: fn(&(String, String)) -> &String| it.written.as_ref().map(side);
        if let Some([was, now]) = it.was.zip(it.now).and_then(|(was, now)| self.clauses([was, now])) {
            let [was, now] = ItemClauses::differing(&was, &now);
            return [joined(was, held(|it| &it.0)), joined(now, held(|it| &it.1))].map(Some);
        }
        [it.was, it.now].map(|span| {
            let text = self.sources.words(span?);
            Some(match ItemClauses::of(text) {
                Some(clauses) => joined(clauses.lines(), None),
                None => super::plain(text),
            })
        })
    }

    /// Returns the whole text of an item in each rulebook.
    pub(super) fn texts(&self, it: &ItemChange) -> [Option<String>; 2] {
        [it.was, it.now].map(|span| {
            let text = self.sources.words(span?);
            Some(ItemClauses::of(text).map_or_else(|| super::plain(text), |it| it.whole()))
        })
    }

    /// Returns why an item says what it said, and why an overlay leaves it out.
    pub(super) fn reasons(&self, it: &ItemChange) -> Vec<(&'static str, String)> {
        let [old, new] = self.plans;
        let gates = old.gates.iter().filter(|gate| gate.line.is_none()).map(|gate| (gate.span, &gate.why));
        let promises = old.promises.iter().map(|promise| (promise.span, &promise.why));
        let why = gates.chain(promises).find(|(span, _)| Some(*span) == it.was);
        let because = why.and_then(|(_, why)| why.because.as_ref()).map(|it| ("its reason", it.to_string()));
        let left_out = (it.change == Change::Omitted).then(|| self.left_out(new, &it.item)).flatten();
        because.into_iter().chain(left_out.map(|it| ("left out because", it))).collect()
    }

    /// Returns the reason for which the uppermost layer of a rulebook leaves an item of its base out.
    fn left_out(&self, plan: &Plan, item: &str) -> Option<String> {
        let (tree, _) = parse(self.sources, plan.head.span.source);
        let omits = tree.items.iter().filter(|it| it.verb == Verb::Omit);
        let mut of = omits.filter(|it| {
            let name = it.name.as_ref().map(|name| name.value.to_owned());
            let label = it.label.as_ref().map(|label| format!("\"{}\"", label.value));
            name.or(label).is_some_and(|name| format!("{} {name}", it.kind.word()) == item)
        });
        of.next()?.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Because(text) => Some(text.value.to_string()),
            _ => None,
        })
    }

    /// Returns whether a cause is that item itself.
    pub(super) fn is_cause(&self, it: &ItemChange, cause: &str) -> bool {
        let spans = [it.was, it.now].into_iter().zip(&self.causes);
        it.item == cause
            || spans.into_iter().any(|(span, causes)| span.is_some() && causes.get(cause).copied() == span)
    }

    /// Returns the edited items that a cause is, or that stand behind it through all that it names.
    pub(super) fn behind_cause(&self, cause: &str) -> BTreeSet<usize> {
        let of = |book: usize| self.causes[book].get(cause).copied();
        self.behind([of(0), of(1)])
    }

    /// Returns the edited items that stand at a place in each rulebook, or behind it through all that is named there.
    pub(super) fn behind(&self, starts: [Option<Span>; 2]) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for (book, start) in starts.into_iter().enumerate() {
            let mut todo: Vec<Span> = start.into_iter().collect();
            let mut seen: BTreeSet<Span> = BTreeSet::new();
            while let Some(span) = todo.pop() {
                if !seen.insert(span) {
                    continue;
                }
                let here = self.edited().filter(|(_, it)| [it.was, it.now][book] == Some(span));
                // What a name stands for is its definition; the labels and cautions of a product are told by themselves.
                let counts = |it: &ItemChange| match it.concern {
                    Concern::ReEntry | Concern::Caution | Concern::Fact => false,
                    Concern::Definition | Concern::Other => true,
                    _ => Some(span) == start,
                };
                found.extend(here.filter(|(_, it)| counts(it)).map(|(at, _)| at));
                let clauses = ItemClauses::of(self.sources.words(span));
                let names = clauses.iter().flat_map(ItemClauses::words);
                todo.extend(names.filter_map(|word| self.named[book].get(word)).flatten());
            }
        }
        found
    }
}

/// Returns what conditions and clauses of a rulebook can name.
fn named(plan: &Plan) -> BTreeMap<&str, Vec<Span>> {
    let names = plan.named().filter(|(_, name)| !name.hidden).map(|(_, it)| (&*it.word, it.span));
    let figures = plan.figures.iter().map(|it| (&*it.name, it.span));
    let hourlies = plan.hourlies.iter().map(|it| (&*it.name, it.span));
    let dailies = plan.dailies.iter().map(|it| (&*it.name, it.span));
    let tables = plan.tables.iter().map(|it| (&*it.name, it.span));
    let scales = plan.word_lists.iter().filter(|it| it.ordered).map(|it| (&*it.name, it.span));
    let products = plan.products.iter().map(|it| (&*it.name, it.span));
    let all = names.chain(figures).chain(hourlies).chain(dailies).chain(tables).chain(scales);
    let mut found: BTreeMap<&str, Vec<Span>> = BTreeMap::new();
    all.chain(products).for_each(|(word, span)| found.entry(word).or_default().push(span));
    found
}

fn causes(plan: &Plan) -> BTreeMap<String, Span> {
    let gates = plan.gates.iter().map(|it| (format!("gate {}", it.name), it.span));
    let choices = plan.choices.iter().map(|it| (format!("choice {}", it.name), it.span));
    let products = plan.products.iter().map(|it| (format!("product {}", it.name), it.span));
    gates.chain(choices).chain(products).collect()
}

fn rows_of(rows: &[RowChange], side: fn(&RowChange) -> &Option<String>) -> String {
    let one = |row: &RowChange| format!("{} {}", row.key, side(row).as_deref().unwrap_or("none"));
    rows.iter().map(one).collect::<Vec<String>>().join("; ")
}
