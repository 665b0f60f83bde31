//! How the space of all situations is made: the roots of all names that are compared, their ranges cut into pieces.

use super::across;
use super::always;
use super::compute::{self, Given, domain, domain_of_leaf, is_whole};
use super::panicles;
use super::relations;
use super::rims::{near, table_edges, without_rim};
use super::roots::{Root, Rooted, each_condition_within, names_in};
use super::variables::Parts;
use super::{Book, Space};
use crate::measure::Extent;
use crate::plan::{
    Compare, Condition, Definitions, ExprNode, Kind, Meaning, NameId, Origin, Place, Statistic, Subject,
};
use crate::situation::pieces;
use crate::units::Threshold;
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};

/// All that is known of one meaning.
#[derive(Default)]
pub(crate) struct RootKnowledge<'c> {
    pub(crate) names: BTreeSet<(usize, NameId)>,
    pub(crate) compares: Vec<(usize, &'c Compare)>,
    uses: u32,
}

pub(super) type Meanings<'c> = FxHashMap<Meaning, RootKnowledge<'c>>;
pub(super) type Roots<'p> = BTreeMap<Meaning, (usize, Root<'p>)>;

/// A name that is computed, with its roots.
pub(crate) struct RootedName<'p> {
    pub(crate) book: usize,
    pub(crate) name: NameId,
    pub(crate) meaning: Meaning,
    pub(crate) roots: BTreeMap<Meaning, Root<'p>>,
}

/// What a space is made for.
pub(crate) struct Purpose<'a> {
    /// For each book the names that are taken: free of what they come from.
    pub(crate) cut: &'a [BTreeSet<NameId>],
    /// Comparisons of the first book by which ranges are cut besides those of its rules.
    pub(crate) more: &'a [(NameId, Compare)],
    /// What taken names of the first book are: only such pieces of them are kept, as far as there are any.
    pub(crate) fixed: &'a [(NameId, Extent)],
    pub(crate) related: Related,
    pub(crate) budget: usize,
}

/// Makes the space of rulebooks.
pub(crate) fn space<'p>(books: &[Book<'p>], purpose: &Purpose<'_>) -> Space<'p> {
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
    let mut open: Vec<&RootedName<'_>> = computed.iter().collect();
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
    let mut space = Space::of_parts(books, rooted, variables, reads, of_meaning, budget);
    for it in links {
        relations::computed(&mut space, it.book, it.name, &it.roots);
    }
    for book in 0..books.len() {
        space.open_bands(book);
    }
    match related {
        Related::Fully if books.len() == 2 => always::add_common(&mut space),
        Related::Fully | Related::Beside | Related::ByArithmetic => always::add(&mut space, 0),
    }
    if related != Related::ByArithmetic {
        (0..books.len()).for_each(|book| relations::add(&mut space, book));
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
pub(crate) enum Related {
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
) -> (Roots<'p>, Vec<RootedName<'p>>, BTreeSet<Meaning>) {
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
                computed.push(RootedName { book, name, meaning, roots: found.clone() });
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
    computed: &[RootedName<'_>],
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
            let at = RootMeanings {
                rooted: &rooted[it.book],
                values: &|meaning| (meaning == *root).then_some(extent),
            };
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
pub(crate) struct RootMeanings<'a, 'p> {
    pub(crate) rooted: &'a Rooted<'p>,
    pub(crate) values: &'a dyn Fn(Meaning) -> Option<Extent>,
}

impl Given for RootMeanings<'_, '_> {
    fn name(&self, name: NameId) -> Option<Extent> {
        (self.values)(self.rooted.definitions.name(name))
    }

    fn leaf(&self, expr: &crate::plan::Expr) -> Extent {
        (self.values)(self.rooted.definitions.expr(expr))
            .unwrap_or_else(|| domain_of_leaf(self.rooted.plan, expr))
    }
}

/// Returns the kind of a root, and all that it can be.
pub(super) fn kind_and_domain(rooted: &Rooted<'_>, root: Root<'_>) -> (Kind, Extent) {
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
