//! How the space of all situations is made: the roots of all names that are compared, their ranges cut into pieces.

use super::compute::{self, Given, domain, domain_of_leaf, is_whole};
use super::rims::{inside, near, table_edges, without_rim};
use super::roots::{Root, Rooted, each_condition_within, names_in};
use super::space::{Book, Read, Space, Variable};
use super::taken::lies_in;
use super::{across, panicles, relations};
use crate::check::canonical_unit;
use crate::measure::{Extent, Possible, Truth, compare};
use crate::plan::{
    Bound, Compare, Condition, Definitions, ExprNode, Kind, Meaning, NameId, Origin, Place, Statistic,
    Subject, TextId,
};
use crate::situation::{Axis, pieces};
use crate::source::Span;
use crate::units::Threshold;
use chrono::{Datelike, NaiveDate};
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};

/// All that is known of one meaning.
#[derive(Default)]
struct Met<'c> {
    names: BTreeSet<(usize, NameId)>,
    compares: Vec<(usize, &'c Compare)>,
    uses: u32,
}

type Meanings<'c> = FxHashMap<Meaning, Met<'c>>;
type Roots<'p> = BTreeMap<Meaning, (usize, Root<'p>)>;

/// A name that is computed, with its roots.
struct Computed<'p> {
    book: usize,
    name: NameId,
    meaning: Meaning,
    roots: BTreeMap<Meaning, Root<'p>>,
}

/// What a space is made for.
pub(super) struct Purpose<'a> {
    /// For each book the names that are taken: free of what they come from.
    pub(super) cut: &'a [BTreeSet<NameId>],
    /// Comparisons of the first book by which ranges are cut besides those of its rules.
    pub(super) more: &'a [(NameId, Compare)],
    /// What taken names of the first book are: only such pieces of them are kept, as far as there are any.
    pub(super) fixed: &'a [(NameId, Extent)],
    pub(super) related: Related,
    pub(super) budget: usize,
}

/// Makes the space of rulebooks.
pub(super) fn space<'p>(books: &[Book<'p>], purpose: &Purpose<'_>) -> Space<'p> {
    let Purpose { cut, more, fixed, related, budget } = *purpose;
    let rooted: Vec<Rooted<'p>> = books
        .iter()
        .enumerate()
        .map(|(at, book)| Rooted {
            plan: book.plan,
            definitions: Definitions::of(book.plan),
            cut: cut.get(at).cloned().unwrap_or_default(),
        })
        .collect();
    let mut meanings = Meanings::default();
    let mut wanted: Vec<BTreeSet<NameId>> = vec![BTreeSet::new(); books.len()];
    for (book, rooted) in rooted.iter().enumerate() {
        gather(book, rooted, &mut meanings, &mut wanted[book]);
    }
    for (name, compare) in more {
        let meaning = rooted[0].definitions.name(*name);
        meanings.entry(meaning).or_default().compares.push((0, compare));
        wanted[0].insert(*name);
    }
    cut_alike(&rooted, &mut meanings);
    let (roots, computed, of_group) = reach(&rooted, &wanted, &mut meanings);
    let single = refine(books, &rooted, &roots, &computed);

    let mut order: Vec<Meaning> = roots.keys().copied().collect();
    let uses = |meaning: &Meaning| meanings.get(meaning).map_or(0, |met| met.uses);
    let place = |meaning: &Meaning| {
        let met = meanings.get(meaning);
        met.and_then(|met| met.names.first().copied())
            .map(|(book, name)| (book, rooted[book].plan[name].span))
    };
    order.sort_by_key(|meaning| {
        (of_group.contains(meaning), u32::MAX - uses(meaning), place(meaning), *meaning)
    });
    let mut parts = Parts {
        books,
        rooted: &rooted,
        meanings: &meanings,
        variables: Vec::new(),
        reads: vec![FxHashMap::default(); books.len()],
        of_meaning: FxHashMap::default(),
    };
    let (group, mut tree): (Vec<Meaning>, Vec<Meaning>) =
        order.into_iter().partition(|meaning| of_group.contains(meaning));
    super::order::sort(books, &rooted, &mut tree);
    // A computed name stands right behind the last of its roots, so that these need not be remembered for longer.
    let mut links = Vec::new();
    let mut open: Vec<&Computed<'_>> = computed.iter().collect();
    for meaning in &tree {
        parts.add_root(*meaning, &roots, single.get(meaning).map_or(&[][..], |cuts| cuts), false);
        let ready;
        (ready, open) = open.into_iter().partition(|it| parts.has_roots_of(it));
        links.extend(ready.into_iter().filter(|it| parts.add_computed(it)));
    }
    links.extend(open.into_iter().filter(|it| parts.add_computed(it)));
    for meaning in &group {
        parts.add_root(*meaning, &roots, &[], true);
    }
    for (name, extent) in fixed {
        parts.narrow(*name, *extent);
    }
    let Parts { variables, reads, of_meaning, .. } = parts;
    let relate: Vec<(usize, NameId, Vec<Meaning>)> =
        links.iter().map(|it| (it.book, it.name, it.roots.keys().copied().collect())).collect();
    let mut space = Space::of_parts(books, rooted, variables, reads, of_meaning, budget);
    for (book, name, roots) in relate {
        relations::computed(&mut space, book, name, &roots);
    }
    for book in 0..books.len() {
        space.open_bands(book);
    }
    for book in 0..books.len() {
        if book == 0 || related != Related::Beside {
            relations::always(&mut space, book);
        }
        if related != Related::ByArithmetic {
            relations::add(&mut space, book);
        }
    }
    if related != Related::ByArithmetic {
        panicles::add(&mut space);
        if related == Related::Fully && books.len() == 2 {
            across::add(&mut space);
        }
    }
    space
}

/// Whether what cannot be together is worked out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Related {
    /// All of it.
    Fully,
    /// All of it, but what a second rulebook says is always so: it is the first with a change, and the world stays as it is.
    Beside,
    /// What the rulebook says is always so, and computed names only.
    ByArithmetic,
}

/// Gathers the names that conditions compare, and with what.
fn gather<'p>(book: usize, rooted: &Rooted<'p>, meanings: &mut Meanings<'p>, wanted: &mut BTreeSet<NameId>) {
    let plan = rooted.plan;
    let mut conditions: Vec<(&'p Condition, bool)> = Vec::new();
    for name in plan.names.iter().enumerate().map(|(at, _)| NameId(at as u32)) {
        each_condition_within(plan, name, &mut |condition| conditions.push((condition, false)));
    }
    conditions.extend(plan.always.iter().map(|always| (&always.statement, true)));
    let mut tests = Vec::new();
    crate::plan::each_test_of_a_tree(plan, &mut |test| tests.push((test, true)));
    for (condition, decides) in conditions {
        condition.each_test(&mut |test| tests.push((test, decides)));
        if decides {
            let mut names = Vec::new();
            names_in(condition, &mut names);
            wanted.extend(names);
        }
    }
    for (test, decides) in tests {
        let Subject::Name(name) = test.subject else { continue };
        let met = meanings.entry(rooted.definitions.name(name)).or_default();
        met.compares.push((book, &test.compare));
        met.uses += u32::from(decides);
        if decides {
            wanted.insert(name);
        }
    }
    wanted.extend(plan.gates.iter().filter_map(|gate| gate.fits.map(|(_, name)| name)));
    wanted.extend(rooted.cut.iter().copied());
    wanted.retain(|name| rooted.cut.contains(name) || !matches!(plan[*name].origin, Origin::Band(_)));
    for name in plan.names.iter().enumerate().map(|(at, _)| NameId(at as u32)) {
        let meaning = rooted.definitions.name(name);
        meanings.entry(meaning).or_default().names.insert((book, name));
    }
}

/// Cuts names that an `always` compares with one another by the thresholds of each of them, so that what is between is told apart.
fn cut_alike<'p>(rooted: &[Rooted<'p>], meanings: &mut Meanings<'p>) {
    let mut pairs: Vec<[Meaning; 2]> = Vec::new();
    for rooted in rooted {
        for always in &rooted.plan.always {
            always.statement.each_test(&mut |test| {
                if let (Subject::Name(one), Compare::Name(_, other)) = (test.subject, &test.compare)
                    && rooted.plan[one].kind.is_numeric()
                {
                    pairs.push([one, *other].map(|name| rooted.definitions.name(name)));
                }
            });
        }
    }
    for _ in 0..pairs.len() {
        for pair in &pairs {
            let mut all: Vec<(usize, &'p Compare)> = Vec::new();
            for met in pair.iter().filter_map(|it| meanings.get(it)) {
                for it in met.compares.iter().filter(|it| !matches!(it.1, Compare::Name(..))) {
                    if !all.iter().any(|known| known.1 == it.1) {
                        all.push(*it);
                    }
                }
            }
            for it in pair {
                meanings.entry(*it).or_default().compares.clone_from(&all);
            }
        }
    }
}

/// Finds the roots of all wanted names, those inside conditions on panicles among them.
fn reach<'p>(
    rooted: &[Rooted<'p>],
    wanted: &[BTreeSet<NameId>],
    meanings: &mut Meanings<'p>,
) -> (Roots<'p>, Vec<Computed<'p>>, BTreeSet<Meaning>) {
    let (mut roots, mut computed, mut of_group) = (Roots::new(), Vec::new(), BTreeSet::new());
    for (book, (rooted, wanted)) in rooted.iter().zip(wanted).enumerate() {
        let mut todo: Vec<NameId> = wanted.iter().copied().collect();
        let mut seen: BTreeSet<NameId> = wanted.clone();
        while let Some(name) = todo.pop() {
            let meaning = rooted.definitions.name(name);
            let found = rooted.roots(name);
            let mut inside = Vec::new();
            for root in found.values() {
                panicles::names_inside(rooted.plan, *root, &mut inside);
            }
            for inner in inside {
                if matches!(rooted.plan[inner].origin, Origin::Band(_)) || !seen.insert(inner) {
                    continue;
                }
                todo.push(inner);
            }
            if !found.contains_key(&meaning) {
                computed.push(Computed { book, name, meaning, roots: found.clone() });
            }
            for (meaning, root) in found {
                if let Root::Name(name) = root
                    && rooted.plan[name].scope == Place::Panicles
                    && !rooted.cut.contains(&name)
                {
                    of_group.insert(meaning);
                }
                roots.entry(meaning).or_insert((book, root));
            }
        }
        // A statistic over panicles and the observation that it is of are cut alike.
        for (id, name) in rooted.plan.named() {
            if let Origin::Measure(measure) = &name.origin
                && let ExprNode::OfPanicles(Statistic::Lowest | Statistic::Highest | Statistic::Mean, of) =
                    &*measure.expr.node
            {
                let (a, b) = (rooted.definitions.name(id), rooted.definitions.name(*of));
                let both: Vec<(usize, &'p Compare)> = [a, b]
                    .iter()
                    .filter_map(|it| meanings.get(it))
                    .flat_map(|met| met.compares.iter().copied())
                    .collect();
                for it in [a, b] {
                    meanings.entry(it).or_default().compares.clone_from(&both);
                }
            }
        }
    }
    computed.sort_by_key(|it| (it.book, rooted[it.book].plan[it.name].span, it.name));
    (roots, computed, of_group)
}

/// Finds where names that are computed from one root change their cells.
fn refine(
    books: &[Book<'_>],
    rooted: &[Rooted<'_>],
    roots: &Roots<'_>,
    computed: &[Computed<'_>],
) -> FxHashMap<Meaning, Vec<f64>> {
    let mut cuts: FxHashMap<Meaning, Vec<f64>> = FxHashMap::default();
    let of_tables: Vec<Threshold> = rooted.iter().flat_map(|rooted| table_edges(rooted.plan)).collect();
    for it in computed {
        let Some((root, _)) = it.roots.first_key_value().filter(|_| it.roots.len() == 1) else { continue };
        let Some((book, of)) = roots.get(root) else { continue };
        let (kind, domain) = kind_and_domain(&rooted[*book], *of);
        let Some((low, high)) = domain.ends() else { continue };
        let axis = books[it.book].rules.axes.of(it.name);
        let whole = is_whole(kind);
        let cells = |extent: Extent| {
            let at = At { rooted: &rooted[it.book], values: &|meaning| (meaning == *root).then_some(extent) };
            axis.touched(compute::of_name(rooted[it.book].plan, it.name, &at))
        };
        let ranges: Vec<(f64, f64)> =
            pieces(low, high, whole, &cells).iter().filter_map(|piece| piece.ends()).collect();
        let between = ranges.iter().zip(ranges.iter().skip(1)).map(|(a, b)| f64::midpoint(a.1, b.0));
        let of_root = cuts.entry(*root).or_default();
        // What is on a threshold of the computed name is one number of the root, in the middle of its rims.
        let mut edges: Vec<(f64, f64)> = Vec::new();
        for at in between {
            match edges.last_mut().filter(|(first, _)| near(kind, *first, at)) {
                Some((_, last)) => *last = at,
                None => edges.push((at, at)),
            }
        }
        for at in
            edges.into_iter().map(|(first, last)| without_rim(kind, f64::midpoint(first, last), &of_tables))
        {
            if !of_root.iter().any(|before| near(kind, *before, at)) {
                of_root.push(at);
            }
        }
    }
    cuts
}

/// What names are, given by the meanings of their roots.
pub(super) struct At<'a, 'p> {
    pub(super) rooted: &'a Rooted<'p>,
    pub(super) values: &'a dyn Fn(Meaning) -> Option<Extent>,
}

impl Given for At<'_, '_> {
    fn name(&self, name: NameId) -> Option<Extent> {
        (self.values)(self.rooted.definitions.name(name))
    }

    fn leaf(&self, expr: &crate::plan::Expr) -> Extent {
        (self.values)(self.rooted.definitions.expr(expr))
            .unwrap_or_else(|| domain_of_leaf(self.rooted.plan, expr))
    }
}

/// Returns the kind of a root, and all that it can be.
fn kind_and_domain(rooted: &Rooted<'_>, root: Root<'_>) -> (Kind, Extent) {
    match root {
        Root::Name(name) => {
            let domain = domain(rooted.plan, name);
            // Every band has a level.
            let is_band = matches!(rooted.plan[name].origin, Origin::Band(_));
            let taken = rooted.cut.contains(&name) && !is_band;
            (rooted.plan[name].kind, if taken { domain.or_empty() } else { domain })
        }
        Root::Leaf(expr) => (expr.kind, domain_of_leaf(rooted.plan, expr)),
    }
}

/// The variables while they are made.
struct Parts<'a, 'p> {
    books: &'a [Book<'p>],
    rooted: &'a [Rooted<'p>],
    meanings: &'a Meanings<'p>,
    variables: Vec<Variable>,
    reads: Vec<FxHashMap<NameId, Read>>,
    of_meaning: FxHashMap<Meaning, u16>,
}

impl<'p> Parts<'_, 'p> {
    fn add_root(&mut self, meaning: Meaning, roots: &Roots<'p>, cuts: &[f64], of_group: bool) {
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
    fn has_roots_of(&self, it: &Computed<'p>) -> bool {
        it.roots.keys().all(|root| self.of_meaning.contains_key(root))
    }

    /// Adds a computed name; returns whether it has a variable of its own, which is to be related to its roots.
    fn add_computed(&mut self, it: &Computed<'p>) -> bool {
        if self.read_from_root(it) {
            return false;
        }
        if self.of_meaning.contains_key(&it.meaning) {
            return true;
        }
        let rooted = &self.rooted[it.book];
        let kind = rooted.plan[it.name].kind;
        let all = compute::of_name(rooted.plan, it.name, &At { rooted, values: &|_| None });
        let mut extents = self.cut(it.meaning, it.book, kind, all, &[], false);
        // What is looked up is nothing that the table does not give.
        let values = compute::values_of_name(rooted.plan, it.name, &At { rooted, values: &|_| None });
        let given = |piece: &Extent| values.iter().any(|value| relations::overlap(*piece, *value));
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
    fn narrow(&mut self, name: NameId, within: Extent) {
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
    fn read_from_root(&mut self, it: &Computed<'p>) -> bool {
        let Some((root, _)) = it.roots.first_key_value().filter(|_| it.roots.len() == 1) else {
            return false;
        };
        let Some(variable) = self.of_meaning.get(root).copied() else { return false };
        let Some(of_root) = self.extents_of(it.book, *root, variable) else { return false };
        let whole = self.variables.get(usize::from(variable)).is_some_and(|it| it.whole);
        let rooted = &self.rooted[it.book];
        let axis = self.books[it.book].rules.axes.of(it.name);
        let extents: Vec<Extent> = of_root
            .iter()
            .map(|extent| {
                let inside = if whole { *extent } else { inside(*extent) };
                let at = At { rooted, values: &|meaning| (meaning == *root).then_some(inside) };
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
pub(super) const FAR: f64 = 24.0 * 36_525.0;

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
