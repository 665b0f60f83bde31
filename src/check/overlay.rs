//! Putting overlays on their bases: which items the merged rulebook has.
//!
//! Comes in: the layers of a book, the deepest base first. Goes out: its items in order, with what the top layer
//! replaced and left out, and findings about the `replace` and `omit` themselves. Knows no meaning of items.

use super::Layer;
use super::clauses::named;
use crate::phrase::Phrase;
use crate::problems::{self, Finding, Level, Problem, Problems};
use crate::source::Span;
use crate::syntax::tree::{Clause, Item, ItemKind, Literal, Value, Verb};
use rustc_hash::{FxHashMap, FxHashSet};

/// One item of the merged book.
#[derive(Clone, Copy)]
pub(super) struct MergedItem<'a> {
    /// The item.
    pub(super) item: &'a Item<'a>,
    /// Whether it is in error and another item bears its name.
    pub(super) shadowed: bool,
}

/// An item that an overlay replaced or left out.
pub(super) struct OverlayChange<'a> {
    /// The item that does it.
    pub(super) item: &'a Item<'a>,
    /// The layer of that item.
    pub(super) layer: usize,
    /// What it is put in the place of, where that is an item.
    pub(super) below: Option<&'a Item<'a>>,
}

/// The merged book.
pub(super) struct Book<'a> {
    /// Its items, those of the base first; heads are not among them.
    pub(super) entries: Vec<MergedItem<'a>>,
    /// The head of each layer.
    pub(super) heads: Vec<Option<&'a Item<'a>>>,
    /// Whether the head of a layer could not be read.
    pub(super) broken_heads: Vec<bool>,
    /// The names of items that could not be read.
    pub(super) broken: FxHashSet<&'a str>,
    /// Whether an item that could not be read may have been a product.
    pub(super) broken_product: bool,
    /// What overlays replaced and left out.
    pub(super) changes: Vec<OverlayChange<'a>>,
    /// The cautions that overlays leave out of the heads of their bases.
    pub(super) dropped: Vec<OverlayChange<'a>>,
}

impl Book<'_> {
    /// Returns whether there are items that could not be read.
    pub(super) fn any_broken(&self) -> bool {
        !self.broken.is_empty()
    }

    /// Returns where the head of a layer says that it only tightens its base.
    pub(super) fn tightens(&self, layer: usize) -> Option<Span> {
        let head = self.heads.get(layer).copied().flatten()?;
        let says_so = head.clauses.iter().find(|clause| matches!(clause.value, Clause::Tightens))?;
        Some(says_so.span)
    }
}

/// By what an item is found in its base: its kind, and its name or title.
type ItemKey<'a> = (ItemKind, &'a str);

/// Merges the layers of a book.
pub(super) fn merge<'a>(layers: &[Layer<'a>], problems: &mut Problems) -> Book<'a> {
    let mut merge =
        Merge { slots: Vec::new(), places: FxHashMap::default(), changes: Vec::new(), layer: 0, missed: 0 };
    let mut book = Book {
        entries: Vec::new(),
        heads: vec![None; layers.len()],
        broken_heads: vec![false; layers.len()],
        broken: FxHashSet::default(),
        broken_product: false,
        changes: Vec::new(),
        dropped: Vec::new(),
    };
    for (at, layer) in layers.iter().enumerate() {
        merge.layer = at;
        broken_items(*layer, at, &mut book);
        let mut touched: FxHashMap<ItemKey<'a>, Span> = FxHashMap::default();
        for (place, item) in layer.tree.items.iter().enumerate() {
            if item.kind == ItemKind::Rulebook {
                head(item, place, at, &mut book, problems);
                continue;
            }
            if item.verb != Verb::Define
                && let Some(before) = key(item).and_then(|key| touched.insert(key, item.span))
            {
                let message = format!("{} is already replaced or left out", named(item));
                problems.push(
                    Problem::new(Finding::DefinedTwice, called_at(item), message)
                        .related(before, "here")
                        .help("say it once"),
                );
                continue;
            }
            if item.kind == ItemKind::Caution {
                book.dropped.push(OverlayChange { item, layer: at, below: None });
                continue;
            }
            merge.item(item, &book, problems);
        }
    }
    book.entries = merge.slots.into_iter().filter_map(|(entry, _)| entry).collect();
    book.changes = merge.changes;
    book
}

struct Merge<'a> {
    slots: Vec<(Option<MergedItem<'a>>, usize)>,
    places: FxHashMap<ItemKey<'a>, usize>,
    changes: Vec<OverlayChange<'a>>,
    layer: usize,
    /// How many names were looked for in vain.
    missed: usize,
}

impl<'a> Merge<'a> {
    fn item(&mut self, item: &'a Item<'a>, book: &Book<'a>, problems: &mut Problems) {
        let Some(key) = key(item) else { return self.push(item, None, false) };
        let here = self.places.get(&key).copied();
        let in_base = here.filter(|at| {
            self.slots.get(*at).is_some_and(|(entry, layer)| *layer < self.layer && entry.is_some())
        });
        match item.verb {
            Verb::Define => {
                if let Some(before) = in_base.and_then(|at| self.slots.get(at)).and_then(|(entry, _)| *entry)
                {
                    let message = format!("the base already has {}", named(item));
                    problems.push(
                        Problem::new(Finding::DefinedTwice, called_at(item), message)
                            .related(called_at(before.item), "the base has it here")
                            .help(format!("write `replace {} …` to put this one in its place", bare(item))),
                    );
                    return self.push(item, None, true);
                }
                self.push(item, here.is_none().then_some(key), false);
            }
            Verb::Replace | Verb::Omit => match in_base {
                Some(at) => {
                    let base = self.slots.get(at).and_then(|(entry, _)| *entry);
                    let below = base.map(|entry| entry.item);
                    self.changes.push(OverlayChange { item, layer: self.layer, below });
                    if let (ItemKind::Promise, Verb::Omit, Some(base)) = (item.kind, item.verb, base)
                        && let Some(says_so) = book.tightens(self.layer)
                    {
                        let message = format!(
                            "it says that it only tightens its base, and leaves out its {}",
                            named(item)
                        );
                        problems.push(
                            Problem::new(Finding::PromiseDropped, called_at(item), message)
                                .related(says_so, "it says so here")
                                .related(base.item.span, "the base promises it here")
                                .help(
                                    "no verdict changes by that, but nothing proves the promise any more: leave this \
                                     `omit` out if it still holds, or promise what does",
                                ),
                        );
                    }
                    if let Some(slot) = self.slots.get_mut(at) {
                        let entry = MergedItem { item, shadowed: false };
                        *slot = ((item.verb == Verb::Replace).then_some(entry), self.layer);
                    }
                }
                None => {
                    if !book.broken.contains(key.1) {
                        self.nothing_to_change(item, key, problems);
                    }
                    if item.verb == Verb::Replace {
                        self.push(item, here.is_none().then_some(key), here.is_some());
                    }
                }
            },
        }
    }

    fn push(&mut self, item: &'a Item<'a>, key: Option<ItemKey<'a>>, shadowed: bool) {
        if let Some(key) = key {
            self.places.insert(key, self.slots.len());
        }
        self.slots.push((Some(MergedItem { item, shadowed }), self.layer));
    }

    fn nothing_to_change(&mut self, item: &'a Item<'a>, key: ItemKey<'a>, problems: &mut Problems) {
        let verb = if item.verb == Verb::Replace { "replace" } else { "omit" };
        if self.layer == 0 {
            let message = format!("`{verb}` is for overlays, and this rulebook builds on nothing");
            problems.push(
                Problem::new(Finding::UnknownName, called_at(item), message)
                    .help("name the base in the head: `builds-on \"base.rulebook\"`"),
            );
            return;
        }
        // A file with ever so many such errors gets no suggestions for the last of them.
        const MOST: usize = 200;
        self.missed += 1;
        let names: Vec<&str> = self
            .places
            .iter()
            .filter(|((kind, _), at)| {
                *kind == key.0 && self.slots.get(**at).is_some_and(|(entry, _)| entry.is_some())
            })
            .map(|((_, name), _)| *name)
            .collect();
        let other = ItemKind::ALL.iter().find(|kind| {
            let at = self.places.get(&(**kind, key.1));
            at.is_some_and(|at| {
                self.slots.get(*at).is_some_and(|(entry, layer)| entry.is_some() && *layer < self.layer)
            })
        });
        let help = match problems::nearest(key.1, names.iter().copied().take_while(|_| self.missed <= MOST)) {
            _ if other.is_some() => {
                format!("the base has `{} {}`", other.map_or("", |kind| kind.word()), key.1)
            }
            Some(near) => format!("did you mean `{verb} {} {near}`?", item.kind.word()),
            None if item.verb == Verb::Replace => {
                "leave the word `replace` out to define it anew".to_string()
            }
            None => "leave this `omit` out".to_string(),
        };
        let message = format!("the base has no {}", named(item));
        problems.push(Problem::new(Finding::UnknownName, called_at(item), message).help(help));
    }
}

/// Returns by what an item is found.
fn key<'a>(item: &'a Item<'a>) -> Option<ItemKey<'a>> {
    match (&item.name, &item.label) {
        (Some(name), _) => Some((item.kind, name.value)),
        (None, Some(title)) => Some((item.kind, &title.value)),
        (None, None) => None,
    }
}

/// Returns an item as `replace` and `omit` name it.
fn bare(item: &Item<'_>) -> String {
    named(item).replace('`', if item.name.is_some() { "" } else { "\"" })
}

/// Returns the place of an item's first word and its name.
pub(super) fn called_at(item: &Item<'_>) -> Span {
    let name = item.name.map(|name| name.span).or(item.label.as_ref().map(|label| label.span));
    name.map_or(item.word, |name| item.word.to(name))
}

fn head<'a>(item: &'a Item<'a>, place: usize, layer: usize, book: &mut Book<'a>, problems: &mut Problems) {
    if item.verb != Verb::Define {
        let message = "the head of a rulebook cannot be replaced or left out";
        problems.push(
            Problem::new(Finding::Syntax, called_at(item), message)
                .help("every file has a head of its own, and says in it only what differs from its base"),
        );
        return;
    }
    let Some(slot) = book.heads.get_mut(layer) else { return };
    if let Some(before) = slot {
        problems.push(
            Problem::new(Finding::DefinedTwice, called_at(item), "a rulebook has one head")
                .related(called_at(before), "it already stands here")
                .help("move the clauses of this one to the first"),
        );
        return;
    }
    if place > 0 {
        problems.push(
            Problem::new(Finding::Syntax, called_at(item), "the head is not the first item of its file")
                .help("move `rulebook …` with its clauses to the top"),
        );
    }
    *slot = Some(item);
}

/// Notes the names of items that could not be read, from their first words.
fn broken_items<'a>(layer: Layer<'a>, at: usize, book: &mut Book<'a>) {
    let mut read = layer.tree.items.iter().map(|item| item.span.start as usize).peekable();
    let mut start = 0;
    for line in layer.text.split_inclusive('\n') {
        let offset = start;
        start += line.len();
        let (offset, line) = match line.strip_prefix('\u{feff}') {
            Some(rest) if offset == 0 => (line.len() - rest.len(), rest),
            Some(_) | None => (offset, line),
        };
        if line.starts_with([' ', '\t', '\r', '\n', '#']) || line.is_empty() {
            continue;
        }
        while read.next_if(|known| *known < offset).is_some() {}
        if read.peek() == Some(&offset) {
            continue;
        }
        let mut words = line.split(|sign: char| !(sign.is_ascii_alphanumeric() || matches!(sign, '-' | '_')));
        let mut first = words.next().unwrap_or_default();
        if matches!(first, "replace" | "omit") {
            first = words.next().unwrap_or_default();
        }
        let kind = ItemKind::ALL.iter().find(|kind| kind.word() == first);
        match kind {
            Some(ItemKind::Rulebook) => {
                if let Some(slot) = book.broken_heads.get_mut(at) {
                    *slot = true;
                }
            }
            Some(ItemKind::Product) | None => book.broken_product = true,
            Some(_) => {}
        }
        book.broken.extend(words.find(|word| !word.is_empty()));
        // An item without a name still counts as one that could not be read.
        book.broken.insert(first);
    }
}

/// Shows errors that an overlay's changes cause in its base at those changes.
///
/// `alone` holds the findings of the base by itself: what is wrong there anyway stays where it is.
pub(super) fn relocate(
    found: Problems,
    alone: &Problems,
    layers: &[Layer<'_>],
    changes: &[OverlayChange<'_>],
) -> Problems {
    let top = layers.len().saturating_sub(1);
    let known: FxHashSet<(Span, Finding)> =
        alone.iter().map(|problem| (problem.at, problem.finding)).collect();
    let mut out = Problems::default();
    // What is caused by one change and said in the same words is said once.
    let (mut list, mut shown) = (Vec::new(), FxHashMap::default());
    for problem in found.iter() {
        let layer = layers.iter().take(top).find(|layer| layer.source == problem.at.source);
        let (Some(layer), Level::Error) = (layer, problem.finding.level()) else {
            out.push(problem.clone());
            continue;
        };
        if known.contains(&(problem.at, problem.finding)) {
            out.push(problem.clone());
            continue;
        }
        match cause(problem, *layer, changes.iter().filter(|change| change.layer == top)) {
            None => out.push(problem.clone()),
            Some(item) => {
                let mut moved = problem.clone();
                let verb = if item.verb == Verb::Omit { "leaving out" } else { "replacing" };
                moved.message = format!("{verb} {} breaks the base: {}", named(item), problem.message).into();
                moved.at = item.span.to(called_at(item));
                moved.at.end = called_at(item).end;
                moved.label = Phrase::default();
                let shows = (problem.at, "the error shows here, in the base".into());
                let below =
                    changes.iter().find(|change| std::ptr::eq(change.item, item)).and_then(|it| it.below);
                if let (Some(below), Some(own)) = (below, layers.get(top))
                    && let Some((message, help)) = other_unit([below, item], [*layer, *own])
                {
                    moved.message = message.into();
                    moved.help = Some(help.into());
                    if shown.insert((moved.at, moved.message.clone()), usize::MAX).is_none() {
                        list.push(moved);
                    }
                    continue;
                }
                let user = layer
                    .tree
                    .items
                    .iter()
                    .find(|it| it.span.start <= shows.0.start && shows.0.end <= it.span.end);
                moved.help = user.map(|user| {
                    format!("replace or leave out {} too, or keep what the base has", named(user)).into()
                });
                match shown.get(&(moved.at, moved.message.clone())).and_then(|at: &usize| list.get_mut(*at)) {
                    Some(before) => {
                        let first: &mut Problem = before;
                        first.related.push(shows);
                        first.help = Some(
                            "replace or leave out all that speaks of it too, or keep what the base has"
                                .into(),
                        );
                    }
                    None => {
                        shown.insert((moved.at, moved.message.clone()), list.len());
                        moved.related.insert(0, shows);
                        list.push(moved);
                    }
                }
            }
        }
    }
    list.into_iter().for_each(|problem| out.push(problem));
    out
}

/// Returns the quantity of a figure as written.
fn quantity<'a>(item: &Item<'_>, layer: Layer<'a>) -> Option<&'a str> {
    let value = item.clauses.iter().find_map(|clause| match &clause.value {
        Clause::Value(Value::Literal(Literal::Quantity(quantity))) => Some(quantity.span),
        _ => None,
    })?;
    layer.text.get(value.start as usize..value.end as usize).map(str::trim)
}

/// Says of a figure that lost its unit what the base has, and what to write.
fn other_unit([below, item]: [&Item<'_>; 2], layers: [Layer<'_>; 2]) -> Option<(String, String)> {
    let [was, now] = [quantity(below, layers[0])?, quantity(item, layers[1])?];
    // A number is its unit's only beside it.
    let number = |text: &str| {
        text.len() - text.trim_start_matches(|sign: char| sign.is_ascii_digit() || ".-e".contains(sign)).len()
    };
    let (unit, bare) = (was.get(number(was)..)?.trim(), now.get(number(now)..)?.trim());
    if unit.is_empty() || !bare.is_empty() {
        return None;
    }
    let message = format!("{} is {was} in the base, and has no unit here", named(item));
    Some((message, format!("write its unit too: `{now} {unit}`")))
}

/// Returns the change that most likely caused an error: the one whose name stands at its place, else in its item.
fn cause<'a, 'c>(
    problem: &Problem,
    layer: Layer<'_>,
    changes: impl Iterator<Item = &'c OverlayChange<'a>>,
) -> Option<&'a Item<'a>>
where
    'a: 'c,
{
    let at = problem.at;
    let item = layer
        .tree
        .items
        .iter()
        .map(|item| item.span)
        .find(|span| span.start <= at.start && at.end <= span.end);
    let words = |span: Span| -> FxHashSet<&str> {
        let text = layer.text.get(span.start as usize..span.end as usize).unwrap_or_default();
        text.split(|sign: char| !(sign.is_ascii_alphanumeric() || sign == '-')).collect()
    };
    let (here, around) = (words(at), item.map(words).unwrap_or_default());
    changes
        .map(|change| {
            let name = key(change.item).map_or("", |(_, name)| name);
            let nearness = if here.contains(name) {
                0
            } else if around.contains(name) {
                1
            } else {
                2
            };
            (nearness, change.item)
        })
        .min_by_key(|(nearness, item)| (*nearness, item.span.start))
        .map(|(_, item)| item)
}
