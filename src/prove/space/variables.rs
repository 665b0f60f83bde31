//! The variables of the space: each root and each name that is computed from several, with its range cut into pieces.

use super::build::{Meanings, RootMeanings, RootedName, Roots, kind_and_domain};
use super::compute::{self, is_whole};
use super::relations;
use super::rims::{inside, near};
use super::roots::{Root, Rooted};
use super::taken::lies_in;
use super::{Book, Read, Variable};
use crate::check::canonical_unit;
use crate::measure::{Extent, Possible, Truth, compare};
use crate::plan::{Bound, Compare, ExprNode, Kind, Meaning, NameId, TextId};
use crate::situation::Axis;
use crate::source::Span;
use chrono::{Datelike, NaiveDate};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// The variables while they are made.
pub(crate) struct Parts<'a, 'p> {
    pub(crate) books: &'a [Book<'p>],
    pub(crate) rooted: &'a [Rooted<'p>],
    pub(crate) meanings: &'a Meanings<'p>,
    pub(crate) variables: Vec<Variable>,
    pub(crate) reads: Vec<FxHashMap<NameId, Read>>,
    pub(crate) of_meaning: FxHashMap<Meaning, u16>,
}

impl<'p> Parts<'_, 'p> {
    pub(super) fn add_root(&mut self, meaning: Meaning, roots: &Roots<'p>, cuts: &[f64], of_group: bool) {
        let Some((book, root)) = roots.get(&meaning).copied() else { return };
        let rooted = &self.rooted[book];
        let (kind, domain) = kind_and_domain(rooted, root);
        let never = matches!(root, Root::Leaf(expr) if matches!(&*expr.node, ExprNode::DaysSinceLast(_)));
        let mut extents = self.cut(meaning, book, kind, domain, cuts, never);
        if never {
            extents.iter_mut().for_each(|list| list.push(Extent::number(f64::INFINITY)));
        }
        if matches!(root, Root::Leaf(expr) if counts_days(expr)) {
            extents.iter_mut().for_each(|list| list.retain(|piece| has_whole_days(*piece, domain)));
        }
        let from = relations::sources(rooted.plan, root);
        self.add(
            meaning,
            extents,
            Variable {
                name: match root {
                    Root::Name(name) => Some((book, name)),
                    Root::Leaf(_) => None,
                },
                pieces: Vec::new(),
                of_group,
                whole: is_whole(kind),
                from,
            },
        );
    }

    /// Returns whether the variables of all roots of a name are there.
    pub(super) fn has_roots_of(&self, it: &RootedName<'p>) -> bool {
        it.roots.keys().all(|root| self.of_meaning.contains_key(root))
    }

    /// Adds a computed name; returns whether it has a variable of its own, which is to be related to its roots.
    pub(super) fn add_computed(&mut self, it: &RootedName<'p>) -> bool {
        if self.read_from_root(it) {
            return false;
        }
        if self.of_meaning.contains_key(&it.meaning) {
            return true;
        }
        let rooted = &self.rooted[it.book];
        let kind = rooted.plan[it.name].kind;
        let all = compute::of_name(rooted.plan, it.name, &RootMeanings { rooted, values: &|_| None });
        let mut extents = self.cut(it.meaning, it.book, kind, all, &[], false);
        // What is looked up is nothing that the table does not give.
        let values =
            compute::values_of_name(rooted.plan, it.name, &RootMeanings { rooted, values: &|_| None });
        let given = |piece: &Extent| values.iter().any(|value| relations::overlap(kind, *piece, *value));
        if kind.is_numeric() && extents.iter().all(|list| list.iter().any(given)) {
            extents.iter_mut().for_each(|list| list.retain(given));
        }
        let mut from = BTreeSet::new();
        it.roots.values().for_each(|root| from.extend(relations::sources(rooted.plan, *root)));
        let variable =
            Variable { name: None, pieces: Vec::new(), of_group: false, whole: is_whole(kind), from };
        self.add(it.meaning, extents, variable);
        true
    }

    /// Adds a variable with what each name that it is reads from it.
    fn add(&mut self, meaning: Meaning, extents: Vec<Vec<Extent>>, mut variable: Variable) {
        let number = self.variables.len() as u16;
        let names = self.meanings.get(&meaning).map(|met| met.names.clone()).unwrap_or_default();
        for (book, name) in &names {
            let extents = extents.get(*book).cloned().unwrap_or_default();
            let axis = self.books[*book].rules.axes.of(*name);
            let cells = extents.iter().map(|extent| axis.touched(*extent)).collect();
            self.reads[*book].insert(*name, Read { variable: number, extents, cells });
        }
        let called = names.iter().min_by_key(|(book, name)| {
            let of = &self.rooted[*book].plan[*name];
            (of.hidden, *book, &of.word)
        });
        variable.name = called.copied().or(variable.name);
        variable.pieces = extents.into_iter().next().unwrap_or_default();
        self.of_meaning.insert(meaning, number);
        self.variables.push(variable);
    }

    /// Keeps of the pieces of a name of the first book those that lie in an extent, if there are any.
    pub(crate) fn narrow(&mut self, name: NameId, within: Extent) {
        let Some(read) = self.reads.first().and_then(|reads| reads.get(&name)) else { return };
        let variable = read.variable;
        let Some(of) = self.rooted.first().map(|rooted| &rooted.plan[name]) else { return };
        let kept: Vec<bool> = read.extents.iter().map(|piece| lies_in(of, *piece, within)).collect();
        if !kept.contains(&true) {
            return;
        }
        if let Some(of) = self.variables.get_mut(usize::from(variable)) {
            of.pieces = only(&of.pieces, &kept);
        }
        for read in self.reads.iter_mut().flat_map(FxHashMap::values_mut) {
            if read.variable == variable {
                (read.extents, read.cells) = (only(&read.extents, &kept), only(&read.cells, &kept));
            }
        }
    }

    /// Reads a name from its only root, where each piece of the root leads to one cell of it.
    fn read_from_root(&mut self, it: &RootedName<'p>) -> bool {
        let Some((root, of)) = it.roots.first_key_value().filter(|_| it.roots.len() == 1) else {
            return false;
        };
        let Some(variable) = self.of_meaning.get(root).copied() else { return false };
        let Some(of_root) = self.extents_of(it.book, *root, variable) else { return false };
        let rooted = &self.rooted[it.book];
        let (kind, _) = kind_and_domain(rooted, *of);
        let axis = self.books[it.book].rules.axes.of(it.name);
        let extents: Vec<Extent> = of_root
            .iter()
            .map(|extent| {
                let inside = inside(kind, *extent);
                let at = RootMeanings { rooted, values: &|meaning| (meaning == *root).then_some(inside) };
                compute::of_name(rooted.plan, it.name, &at)
            })
            .collect();
        let cells: Vec<crate::situation::CellSet> = extents.iter().map(|it| axis.touched(*it)).collect();
        if cells.iter().any(|cells| cells.only().is_none()) {
            return false;
        }
        let names = self.meanings.get(&it.meaning).map(|met| met.names.clone()).unwrap_or_default();
        for (_, name) in names.into_iter().filter(|(book, _)| *book == it.book) {
            let axis = self.books[it.book].rules.axes.of(name);
            let cells = extents.iter().map(|it| axis.touched(*it)).collect();
            self.reads[it.book].insert(name, Read { variable, extents: extents.clone(), cells });
        }
        true
    }

    /// Returns the pieces of a root as a book reads them.
    fn extents_of(&self, book: usize, root: Meaning, variable: u16) -> Option<Vec<Extent>> {
        let met = self.meanings.get(&root);
        let name = met.and_then(|met| met.names.iter().find(|(of, _)| *of == book));
        match name {
            Some((book, name)) => self.reads[*book].get(name).map(|read| read.extents.clone()),
            None => self.variables.get(usize::from(variable)).map(|it| it.pieces.clone()),
        }
    }

    /// Cuts a range into pieces, for each book as it reads them.
    fn cut(
        &self,
        meaning: Meaning,
        book: usize,
        kind: Kind,
        domain: Extent,
        cuts: &[f64],
        finite: bool,
    ) -> Vec<Vec<Extent>> {
        let compares = self.meanings.get(&meaning).map_or(&[][..], |met| &met.compares);
        if kind == Kind::Text {
            return self.texts(domain);
        }
        let unit = canonical_unit(kind);
        let bound = |value: &f64| Bound {
            at: kind.threshold(&unit, *value),
            closed: true,
            unit: unit.clone(),
            figure: None,
            span: Span::default(),
        };
        let mut written = Vec::new();
        compares.iter().for_each(|(_, compare)| numbers_of(compare, &mut written));
        let mut fresh: Vec<f64> = Vec::new();
        for at in cuts {
            if !written.iter().chain(&fresh).any(|it| near(kind, *it, *at)) {
                fresh.push(*at);
            }
        }
        let more = Compare::NumberIsOneOf(fresh.iter().map(bound).collect());
        let all: Vec<&Compare> = compares.iter().map(|(_, compare)| *compare).chain([&more]).collect();
        let axis = Axis::new(self.rooted[book].plan, kind, &all, is_whole(kind));
        let domain = match (finite, domain.can_be) {
            (true, Possible::Numbers(low, _)) => Extent { can_be: Possible::Numbers(low, FAR), ..domain },
            _ => domain,
        };
        let extents = match axis {
            Axis::Calendar { dates } => days(&dates, &all, domain),
            Axis::Numbers { .. } | Axis::Words(_) | Axis::Texts(_) => axis.split(domain),
        };
        vec![extents; self.books.len()]
    }

    /// Returns a piece for each text that a book knows, and one for all others.
    fn texts(&self, domain: Extent) -> Vec<Vec<Extent>> {
        let known: BTreeSet<&str> =
            self.rooted.iter().flat_map(|rooted| rooted.plan.texts.iter().map(|text| &**text)).collect();
        let text = |text: TextId| Extent { can_be: Possible::Text(text), may_be_empty: false };
        let of = |rooted: &Rooted<'_>| {
            let mut list: Vec<Extent> = known.iter().map(|word| text(rooted.plan.text(word))).collect();
            list.push(text(TextId::OTHER));
            list.extend(domain.may_be_empty.then_some(Extent::EMPTY));
            list
        };
        self.rooted.iter().map(of).collect()
    }
}

/// Returns the parts of a list that are kept.
fn only<T: Clone>(list: &[T], kept: &[bool]) -> Vec<T> {
    list.iter().zip(kept).filter(|(_, kept)| **kept).map(|(part, _)| part.clone()).collect()
}

/// Returns whether an expression counts calendar days.
fn counts_days(expr: &crate::plan::Expr) -> bool {
    matches!(
        &*expr.node,
        ExprNode::DaysSinceLast(_) | ExprNode::DaysSince(_) | ExprNode::DaysTo(_) | ExprNode::DaysToHarvest
    )
}

/// Returns whether some number of whole days lies in a piece of durations. The ends of a range are pieces of their own, but
/// for those of all that there is.
fn has_whole_days(piece: Extent, domain: Extent) -> bool {
    let Some((low, high)) = piece.ends().filter(|(low, _)| low.is_finite()) else { return true };
    let (low, high) = (low / 24.0, high / 24.0);
    if low == high || domain.ends().is_some_and(|(first, _)| first / 24.0 == low) {
        return (low.ceil() - low).min(low - low.floor()) < 1e-9 || low.floor() + 1.0 < high - 1e-9;
    }
    (low + 1e-9).floor() + 1.0 < high - 1e-9
}

/// Gathers the numbers that a comparison is made with.
fn numbers_of(compare: &Compare, numbers: &mut Vec<f64>) {
    match compare {
        Compare::Numbers { low, high } => numbers.extend(low.iter().chain(high).map(Bound::value)),
        Compare::NumberIsOneOf(list) => numbers.extend(list.iter().map(Bound::value)),
        Compare::Not(inner) => numbers_of(inner, numbers),
        Compare::Words(_) | Compare::Texts(_) | Compare::DaysOfYear(..) | Compare::Name(..) => {}
    }
}

/// The longest time since a spray that is told from never, in hours: a hundred years.
pub(crate) const FAR: f64 = 24.0 * 36_525.0;

/// Cuts dates into runs of days of which every comparison says the same: those of two years where only days of the year
/// are compared, else from a year before the first date that is compared to a year after the last.
fn days(dates: &[f64], compares: &[&Compare], domain: Extent) -> Vec<Extent> {
    let some = NaiveDate::from_ymd_opt(2027, 1, 1).map_or(0.0, |day| f64::from(day.num_days_from_ce()));
    let (low, high) = domain.ends().unwrap_or((some, some));
    let first = dates.first().copied().unwrap_or(some) - if dates.is_empty() { 0.0 } else { 366.0 };
    let last = dates.last().copied().unwrap_or(some + 365.0) + 366.0;
    let mut runs: Vec<(Extent, Vec<Truth>)> = Vec::new();
    let mut day = first.max(low);
    while day <= last.min(high) {
        let says: Vec<Truth> = compares.iter().map(|it| compare(Extent::number(day), it)).collect();
        match runs.last_mut() {
            Some((run, before)) if *before == says => *run = run.union(Extent::number(day)),
            _ => runs.push((Extent::number(day), says)),
        }
        day += 1.0;
    }
    let mut pieces: Vec<Extent> = runs.into_iter().map(|(run, _)| run).collect();
    if domain.may_be_empty || pieces.is_empty() {
        pieces.push(Extent::EMPTY);
    }
    pieces
}
