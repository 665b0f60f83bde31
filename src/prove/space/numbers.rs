//! Numbers for what a situation leaves as ranges, chosen so that what is computed from them lies where the situation says.

use super::Space;
use super::build::RootMeanings;
use super::compute;
use super::witness::number_in;
use crate::measure::Extent;
use crate::plan::{Meaning, NameId, Origin};
use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

/// How many combinations of numbers are tried for names that hang together.
const TRIES: usize = 20_000;

/// The numbers of a situation.
#[derive(Clone, Debug, Default)]
pub(crate) struct Numbers {
    /// What roots are, where names are computed from them.
    of: BTreeMap<Meaning, Extent>,
    /// Names that were found nowhere near where the situation has them, whatever their roots were taken for.
    pub(crate) missed: BTreeSet<NameId>,
}

/// A root with all that it is tried for: first what a person would say, then others, which are seldom asked for.
struct TriedRoot<'s> {
    meaning: Meaning,
    first: Option<Extent>,
    others: LazyCell<Vec<Extent>, Box<dyn Fn() -> Vec<Extent> + 's>>,
}

impl Numbers {
    /// Chooses the numbers of a situation, as far as some names come from them.
    pub(crate) fn of(space: &Space<'_>, book: usize, situation: &[u16], shown: &BTreeSet<NameId>) -> Self {
        let mut chosen = Numbers::default();
        let rooted = &space.rooted[book];
        let mut asked: BTreeSet<Meaning> = BTreeSet::new();
        for name in shown {
            asked.insert(rooted.definitions.name(*name));
            asked.extend(rooted.roots(*name).into_keys());
        }
        let mut rest = computed(space, book);
        while let Some((name, roots)) = rest.pop() {
            let (mut names, mut all) = (vec![name], roots);
            // Names that have a root in common are looked at together.
            while let Some(at) = rest.iter().position(|(_, roots)| !all.is_disjoint(roots)) {
                let (name, roots) = rest.swap_remove(at);
                names.push(name);
                all.extend(roots);
            }
            if !all.is_disjoint(&asked) {
                chosen.choose(space, book, situation, &names, &all);
            }
        }
        chosen
    }

    /// Returns what a root is.
    pub(crate) fn root(&self, meaning: Meaning) -> Option<Extent> {
        self.of.get(&meaning).copied()
    }

    /// Returns what a computed name comes to, where numbers were found for all that it comes from.
    pub(crate) fn computed(&self, space: &Space<'_>, book: usize, name: NameId) -> Option<Extent> {
        let rooted = &space.rooted[book];
        let roots = rooted.roots(name);
        if self.missed.contains(&name) || !roots.keys().all(|root| self.of.contains_key(root)) {
            return None;
        }
        let at = RootMeanings { rooted, values: &|meaning| self.of.get(&meaning).copied() };
        let extent = compute::of_name(rooted.plan, name, &at);
        extent.is_settled().then_some(extent)
    }

    fn choose(
        &mut self,
        space: &Space<'_>,
        book: usize,
        situation: &[u16],
        names: &[NameId],
        all: &BTreeSet<Meaning>,
    ) {
        let roots: Vec<TriedRoot<'_>> =
            all.iter().filter_map(|meaning| root(space, book, situation, *meaning)).collect();
        let mut tries = TRIES;
        let mut given = BTreeMap::new();
        if fit(space, book, situation, names, &roots, &mut given, &mut tries) {
            self.of.extend(given);
        } else {
            self.missed.extend(names);
        }
    }
}

/// Returns the names that are computed from several roots, or not step by step from one, with their roots.
fn computed(space: &Space<'_>, book: usize) -> Vec<(NameId, BTreeSet<Meaning>)> {
    let rooted = &space.rooted[book];
    let mut found = Vec::new();
    for (id, name) in rooted.plan.named() {
        if matches!(name.origin, Origin::Band(_)) {
            continue;
        }
        let Some(variable) = space.variable(book, id) else { continue };
        let roots = rooted.roots(id);
        let variables = roots.keys().map(|root| space.of_meaning.get(root).copied());
        if variables.flatten().any(|root| root == variable) {
            continue;
        }
        found.push((id, roots.into_keys().collect()));
    }
    found
}

/// Returns a root with what it is tried for in a situation.
fn root<'s>(space: &'s Space<'_>, book: usize, situation: &[u16], meaning: Meaning) -> Option<TriedRoot<'s>> {
    let rooted = &space.rooted[book];
    let variable = *space.of_meaning.get(&meaning)?;
    let of = space.variables.get(usize::from(variable))?;
    let piece = usize::from(situation.get(usize::from(variable)).copied()?);
    let named = rooted.plan.named().find(|(id, _)| rooted.definitions.name(*id) == meaning);
    // A piece as this rulebook reads it: texts have other numbers in each.
    let read = named.and_then(|(id, _)| space.read(book, id)).and_then(|read| read.extents.get(piece));
    let extent = *read.or(of.pieces.get(piece))?;
    let Some((low, high)) = extent.ends().filter(|(low, high)| low < high) else {
        return Some(TriedRoot { meaning, first: Some(extent), others: LazyCell::new(Box::new(Vec::new)) });
    };
    let in_words = move |part: Extent| named.and_then(|(id, _)| number_in(rooted.plan, id, part, of.whole));
    let round = move |number: f64| {
        let near = (high - low).min(number.abs().max(1e-2)) * 0.02;
        in_words(Extent::between((number - near).max(low), (number + near).min(high))).unwrap_or(number)
    };
    let others =
        move || others(low, high, of.whole).into_iter().map(|it| Extent::number(round(it))).collect();
    let first = in_words(extent).map(Extent::number);
    Some(TriedRoot { meaning, first, others: LazyCell::new(Box::new(others)) })
}

/// Returns numbers of a range, far from one another and close to its ends.
fn others(low: f64, high: f64, whole: bool) -> Vec<f64> {
    let far = |end: f64| end.abs().max(1.0);
    let steps = [0.5, 0.25, 0.75, 0.1, 0.9, 0.02, 0.98, 0.001, 0.999];
    let beyond = [0.1, 0.5, 1.0, 3.0, 10.0, 100.0, 1e-3, 1e4];
    let found: Vec<f64> = match (low.is_finite(), high.is_finite()) {
        (true, true) => steps.iter().map(|step| low + (high - low) * step).collect(),
        (true, false) => beyond.iter().map(|step| low + far(low) * step).collect(),
        (false, true) => beyond.iter().map(|step| high - far(high) * step).collect(),
        (false, false) => {
            beyond.iter().flat_map(|step| [*step, -step]).chain([0.0, 15.0, 20.0, 30.0]).collect()
        }
    };
    let found = found.into_iter().map(|number| if whole { libm::round(number) } else { number });
    found.filter(|number| *number >= low && *number <= high).collect()
}

/// Finds numbers for the roots with which all names lie where a situation has them.
fn fit(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    names: &[NameId],
    roots: &[TriedRoot<'_>],
    given: &mut BTreeMap<Meaning, Extent>,
    tries: &mut usize,
) -> bool {
    let Some((root, rest)) = roots.split_first() else {
        let Some(left) = tries.checked_sub(1) else { return false };
        *tries = left;
        return names.iter().all(|name| lies(space, book, situation, *name, given));
    };
    let mut fits = |extent: &Extent| {
        given.insert(root.meaning, *extent);
        *tries > 0 && fit(space, book, situation, names, rest, given, tries)
    };
    root.first.iter().any(&mut fits) || root.others.iter().any(fits)
}

/// Returns whether a name lies where a situation has it, its roots being given.
fn lies(
    space: &Space<'_>,
    book: usize,
    situation: &[u16],
    name: NameId,
    given: &BTreeMap<Meaning, Extent>,
) -> bool {
    let rooted = &space.rooted[book];
    let Some(read) = space.read(book, name) else { return true };
    let at = RootMeanings { rooted, values: &|meaning| given.get(&meaning).copied() };
    let extent = compute::of_name(rooted.plan, name, &at);
    let piece = usize::from(situation.get(usize::from(read.variable)).copied().unwrap_or(0));
    let axes = &space.books[book].rules.axes;
    if axes.is_compared(name) {
        let Some(cells) = read.cells.get(piece) else { return false };
        let touched = axes.touched(name, extent);
        // Where a table does not say for sure, it can be any of what it says.
        let unsure = || (0..axes.of(name).len()).any(|cell| touched.contains(cell) && cells.contains(cell));
        return touched.is_within(cells.cells()) || (!extent.is_settled() && unsure());
    }
    true
}
