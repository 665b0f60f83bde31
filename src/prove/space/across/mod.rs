//! What follows of the definitions of two rulebooks for what their names can be together: a definition that was changed is one
//! quantity under two definitions. A longer window has no smaller highest, a stricter condition counts no more, and where
//! the same goes in, the same comes out.

pub(crate) mod conditions;
pub(crate) mod windows;
pub(crate) mod tables;

use crate::measure::{Extent, Possible};
use crate::plan::{
    Aggregate, Counted, Expr, ExprNode, HourSeries, Kind, Measure, NameId, Operator, Origin, Plan,
};
use crate::prove::space::Space;
use crate::prove::space::compute::{self, Anything};
use crate::prove::space::roots::Rooted;
use std::cmp::Ordering;

/// How deep definitions are followed.
pub(super) const DEEP: usize = 24;

/// A definition with its rulebook.
pub(crate) struct DefinitionOf<'a, T>(pub(crate) usize, pub(crate) &'a T);

impl<T> Clone for DefinitionOf<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for DefinitionOf<'_, T> {}

/// Two rulebooks.
pub(crate) struct Across<'a, 'p> {
    pub(crate) rooted: &'a [Rooted<'p>],
}

/// How a name as it is stands to the same as it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Redefined {
    /// The name.
    pub name: String,
    /// Whether it says yes or no: yes is greater.
    pub is_yes_no: bool,
    /// Greater: it is never smaller than it was; less: never larger; nothing: either way.
    pub order: Option<Ordering>,
}

/// Adds what follows for names of which the other rulebook has none that means the same.
pub(crate) fn add(space: &mut Space<'_>) {
    let own: Vec<Vec<NameId>> = (0..2).map(|book| own_names(space, book)).collect();
    let [was, now] = &own[..] else { return };
    let mut found: Vec<(NameId, NameId, bool)> = Vec::new();
    let across = Across { rooted: &space.rooted };
    for old in was {
        for new in now {
            found.extend(across.is_at_most(0, *old, *new).then_some((*old, *new, true)));
            found.extend(across.is_at_most(1, *new, *old).then_some((*old, *new, false)));
        }
    }
    for (old, new, rises) in found {
        let (Some(a), Some(b)) = (space.read(0, old).cloned(), space.read(1, new).cloned()) else { continue };
        crate::prove::space::relations::pairs(space, &a, &b, &|a, b| match (place(a), place(b)) {
            (Some((low, high)), Some((from, to))) => {
                if rises {
                    low <= to
                } else {
                    from <= high
                }
            }
            _ => true,
        });
    }
    let across = Across { rooted: &space.rooted };
    let alike = was.iter().flat_map(|old| now.iter().map(move |new| (*old, *new)));
    let alike: Vec<(NameId, NameId)> = alike
        .filter(|(old, new)| across.are_empty_together(DefinitionOf(0, old), DefinitionOf(1, new)))
        .collect();
    for (old, new) in alike {
        let (Some(a), Some(b)) = (space.read(0, old).cloned(), space.read(1, new).cloned()) else { continue };
        crate::prove::space::relations::pairs(space, &a, &b, &|a, b| a.is_empty() == b.is_empty());
    }
    for old in was {
        for new in now {
            same_rows(space, *old, *new);
        }
    }
}

/// Returns how each name that both rulebooks have and define otherwise stands to what it was.
pub(crate) fn redefined(space: &Space<'_>) -> Vec<Redefined> {
    let across = Across { rooted: &space.rooted };
    let (old, new) = (across.rooted[0].plan, across.rooted[1].plan);
    let mut found = Vec::new();
    for (was, of) in old.named().filter(|(_, of)| !of.hidden) {
        let Some((now, _)) = new.named().find(|(_, it)| it.word == of.word) else { continue };
        let meanings = [(0, was), (1, now)].map(|(book, id)| space.rooted[book].definitions.name(id));
        let is_band = matches!(of.origin, Origin::Band(_));
        if meanings[0] == meanings[1]
            || is_band
            || space.read(0, was).is_none()
            || space.read(1, now).is_none()
        {
            continue;
        }
        let order = match (across.is_at_most(0, was, now), across.is_at_most(1, now, was)) {
            (true, true) => Some(Ordering::Equal),
            (true, false) => Some(Ordering::Greater),
            (false, true) => Some(Ordering::Less),
            (false, false) => None,
        };
        found.push(Redefined { name: of.word.to_string(), is_yes_no: of.kind == Kind::YesNo, order });
    }
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// Returns the names of a rulebook whose variables are no names of the other, each variable once.
fn own_names(space: &Space<'_>, book: usize) -> Vec<NameId> {
    let of_other: std::collections::BTreeSet<u16> =
        space.reads[1 - book].values().map(|read| read.variable).collect();
    let mut seen = std::collections::BTreeSet::new();
    let plan = space.rooted[book].plan;
    let names = plan.named().map(|(id, _)| id).filter(|id| {
        !matches!(plan[*id].origin, Origin::Band(_))
            && space.variable(book, *id).is_some_and(|it| !of_other.contains(&it) && seen.insert(it))
    });
    names.collect()
}

/// Returns where a value lies: numbers, or the places of words.
pub(crate) fn place(extent: Extent) -> Option<(f64, f64)> {
    match extent.word_set() {
        0 => extent.ends(),
        set => Some((f64::from(set.trailing_zeros()), f64::from(63 - set.leading_zeros()))),
    }
}

/// Relates names that are looked up: at a key at which both tables give the same range, since sources disagree, it is the same value.
fn same_rows(space: &mut Space<'_>, old: NameId, new: NameId) {
    let (Some(a), Some(b)) = (space.read(0, old).cloned(), space.read(1, new).cloned()) else { return };
    let roots = [(0, old), (1, new)].map(|(book, name)| space.rooted[book].roots(name));
    let Some((meaning, _)) = roots[0].first_key_value().filter(|_| roots[0].len() == 1) else { return };
    if !roots[1].keys().eq([meaning]) || space.rooted[0].plan[old].kind.is_numeric() {
        return;
    }
    let meaning = *meaning;
    let Some(variable) = space.of_meaning.get(&meaning).copied() else { return };
    let pieces = [0, 1].map(|book| space.pieces_in(book, meaning, variable));
    let mut sets = Vec::new();
    for (at, (was, now)) in pieces[0].iter().zip(&pieces[1]).enumerate() {
        let here = space.diagrams.test(variable, |it| usize::from(it) == at);
        let given = [(0, old, *was), (1, new, *now)].map(|(book, name, extent)| {
            let rooted = &space.rooted[book];
            let at = crate::prove::space::build::RootMeanings {
                rooted,
                values: &|of| (of == meaning).then_some(extent),
            };
            compute::of_name(rooted.plan, name, &at)
        });
        let is_one = |extent: &Extent| match extent.can_be {
            Possible::Numbers(low, high) => low == high,
            Possible::Words(set) => set.count_ones() == 1,
            Possible::Text(_) => true,
            Possible::Nothing | Possible::AnyText => false,
        };
        let same = is_one(was) && given[0] == given[1] && !given[0].is_settled();
        let mut there = Vec::new();
        if same {
            for (piece, extent) in a.extents.iter().enumerate() {
                let one = space.diagrams.test(a.variable, |it| usize::from(it) == piece);
                let other = space
                    .diagrams
                    .test(b.variable, |it| b.extents.get(usize::from(it)).is_some_and(|it| it == extent));
                there.push(space.diagrams.both(one, other));
            }
        }
        let there = if same { space.diagrams.any(there) } else { crate::situation::Set::ALL };
        sets.push(space.diagrams.both(here, there));
    }
    let set = space.diagrams.any(sets);
    if !set.is_all() {
        space.relations.push(set);
    }
}

impl<'p> Across<'_, 'p> {
    /// Returns whether a name of a rulebook is never above a name of the other, where there are both.
    fn is_at_most(&self, book: usize, name: NameId, other: NameId) -> bool {
        let plans = [self.plan(book), self.plan(1 - book)];
        if std::mem::discriminant(&plans[0][name].kind) != std::mem::discriminant(&plans[1][other].kind) {
            return false;
        }
        self.names(DefinitionOf(book, &name), DefinitionOf(1 - book, &other), DEEP)
    }

    pub(crate) fn plan(&self, book: usize) -> &'p Plan {
        self.rooted[book].plan
    }

    pub(crate) fn measure(&self, book: usize, name: NameId) -> Option<&'p Measure> {
        match &self.plan(book)[name].origin {
            Origin::Measure(measure) if !self.rooted[book].cut.contains(&name) => Some(measure),
            _ => None,
        }
    }

    pub(crate) fn is_same(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Expr>,
        DefinitionOf(j, b): DefinitionOf<'_, Expr>,
    ) -> bool {
        self.rooted[i].definitions.expr(a) == self.rooted[j].definitions.expr(b)
    }

    fn names(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, NameId>,
        DefinitionOf(j, b): DefinitionOf<'_, NameId>,
        deep: usize,
    ) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        if self.rooted[i].definitions.name(*a) == self.rooted[j].definitions.name(*b) {
            return true;
        }
        if let (Origin::Tally(one), Origin::Tally(other)) =
            (&self.plan(i)[*a].origin, &self.plan(j)[*b].origin)
        {
            return self.tallies(DefinitionOf(i, one), DefinitionOf(j, other), deep);
        }
        match (self.measure(i, *a), self.measure(j, *b)) {
            (Some(one), Some(other)) => {
                self.exprs(DefinitionOf(i, &one.expr), DefinitionOf(j, &other.expr), deep)
            }
            _ => false,
        }
    }

    /// Returns whether one value is never above another, where there are both.
    pub(super) fn exprs(&self, a: DefinitionOf<'_, Expr>, b: DefinitionOf<'_, Expr>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        if self.is_same(a, b) {
            return true;
        }
        let (DefinitionOf(i, one), DefinitionOf(j, other)) = (a, b);
        if let ExprNode::Name(name) = &*one.node
            && let Some(measure) = self.measure(i, *name)
        {
            return self.exprs(DefinitionOf(i, &measure.expr), b, deep);
        }
        if let ExprNode::Name(name) = &*other.node
            && let Some(measure) = self.measure(j, *name)
        {
            return self.exprs(a, DefinitionOf(j, &measure.expr), deep);
        }
        let pair = |x: &Expr, y: &Expr| self.exprs(DefinitionOf(i, x), DefinitionOf(j, y), deep);
        match (&*one.node, &*other.node) {
            (ExprNode::Name(x), ExprNode::Name(y)) => {
                self.names(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            (ExprNode::Number(x), ExprNode::Number(y)) => x <= y,
            (ExprNode::Arithmetic(with, x, y), ExprNode::Arithmetic(same, z, w)) if with == same => {
                let falls = |x: &Expr, y: &Expr| self.exprs(DefinitionOf(j, y), DefinitionOf(i, x), deep);
                let positive = [(i, x), (i, y), (j, z), (j, w)];
                let positive = positive.into_iter().all(|(book, it)| self.is_never_negative(book, it));
                let same = |x: &Expr, y: &Expr| self.is_same(DefinitionOf(i, x), DefinitionOf(j, y));
                match with {
                    Operator::Plus => pair(x, z) && pair(y, w),
                    Operator::Minus => pair(x, z) && falls(y, w),
                    Operator::Times if positive => pair(x, z) && pair(y, w),
                    Operator::Times => {
                        (same(y, w) && self.is_never_negative(i, y) && pair(x, z))
                            || (same(x, z) && self.is_never_negative(i, x) && pair(y, w))
                    }
                    Operator::Over if positive => pair(x, z) && falls(y, w),
                    Operator::Over => same(y, w) && self.is_never_negative(i, y) && pair(x, z),
                    Operator::Power => positive && same(y, w) && pair(x, z),
                }
            }
            (ExprNode::Pick(pick, x, y), ExprNode::Pick(same, z, w)) => {
                pick == same && pair(x, z) && pair(y, w)
            }
            (ExprNode::Kept(x, low, high), ExprNode::Kept(y, from, to)) => {
                pair(x, y) && pair(low, from) && pair(high, to)
            }
            (ExprNode::Rounded(x, step, unit), ExprNode::Rounded(y, by, of)) => {
                step == by && unit.symbol == of.symbol && pair(x, y)
            }
            (ExprNode::InUnit(x, unit), ExprNode::InUnit(y, of)) => unit.symbol == of.symbol && pair(x, y),
            (ExprNode::Function(of, x), ExprNode::Function(same, y)) => of == same && pair(x, y),
            (ExprNode::Lookup(table, keys), ExprNode::Lookup(by, others)) => {
                let same = |(x, y): (&Expr, &Expr)| self.is_same(DefinitionOf(i, x), DefinitionOf(j, y));
                let (Some(one), Some(other)) =
                    (self.plan(i).tables.get(table.index()), self.plan(j).tables.get(by.index()))
                else {
                    return false;
                };
                keys.len() == others.len()
                    && keys.iter().zip(others).all(same)
                    && self.tables(DefinitionOf(i, one), DefinitionOf(j, other))
            }
            (ExprNode::Series(x), ExprNode::Series(y)) => x == y,
            (ExprNode::Hourly(x), ExprNode::Hourly(y)) => self.series(
                DefinitionOf(i, &HourSeries::Hourly(*x)),
                DefinitionOf(j, &HourSeries::Hourly(*y)),
                deep,
            ),
            (ExprNode::Daily(x), ExprNode::Daily(y)) => self.series(
                DefinitionOf(i, &HourSeries::Daily(*x)),
                DefinitionOf(j, &HourSeries::Daily(*y)),
                deep,
            ),
            (ExprNode::SpraysOf(x, over), ExprNode::SpraysOf(y, within)) => {
                self.is_same_spray(DefinitionOf(i, x), DefinitionOf(j, y))
                    && is_counted_within(*over, *within)
            }
            (ExprNode::AmountOf(x, over), ExprNode::AmountOf(y, within)) => {
                x == y && is_counted_within(*over, *within)
            }
            (ExprNode::ShareOfPanicles(x), ExprNode::ShareOfPanicles(y)) => {
                self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            (ExprNode::ShareOfTrees(place, x), ExprNode::ShareOfTrees(same, y)) => {
                place == same && self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            (ExprNode::Panicles(some, x), ExprNode::Panicles(same, y)) => {
                some == same && self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            (ExprNode::Aggregate(x, over), ExprNode::Aggregate(y, within)) => {
                self.aggregates((DefinitionOf(i, x), over), (DefinitionOf(j, y), within), deep)
            }
            (ExprNode::Fitting { .. }, ExprNode::Fitting { .. }) => self.fitting(a, b),
            _ => false,
        }
    }

    pub(super) fn is_never_negative(&self, book: usize, expr: &Expr) -> bool {
        let plan = self.plan(book);
        let extent = compute::of_expr(plan, expr, &Anything { plan });
        !expr.kind.is_point() && extent.ends().is_some_and(|(low, _)| low >= 0.0)
    }

    /// Returns whether there is a value of the second wherever there is one of the first.
    pub(crate) fn is_there(&self, a: DefinitionOf<'_, Expr>, b: DefinitionOf<'_, Expr>, deep: usize) -> bool {
        let plan = self.plan(b.0);
        if self.is_same(a, b) || !compute::of_expr(plan, b.1, &Anything { plan }).may_be_empty {
            return true;
        }
        match (&*a.1.node, &*b.1.node) {
            (
                ExprNode::Aggregate(Aggregate::While(_, _, x), over),
                ExprNode::Aggregate(Aggregate::While(_, _, y), within),
            ) => {
                self.is_within(DefinitionOf(a.0, over), DefinitionOf(b.0, within))
                    && self.implies(DefinitionOf(a.0, x), DefinitionOf(b.0, y), deep)
            }
            _ => self.count_from_one_spray(a, b),
        }
    }

    /// Returns whether both count from the same spray on, so that there is no value of either where it never was.
    fn count_from_one_spray(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Expr>,
        DefinitionOf(j, b): DefinitionOf<'_, Expr>,
    ) -> bool {
        let (ExprNode::Aggregate(a, over), ExprNode::Aggregate(b, within)) = (&*a.node, &*b.node) else {
            return false;
        };
        !a.is_empty_of_nothing()
            && !b.is_empty_of_nothing()
            && over
                .spray()
                .zip(within.spray())
                .is_some_and(|(x, y)| self.is_same_spray(DefinitionOf(i, x), DefinitionOf(j, y)))
    }

    /// Returns whether there is no value of a measure of a rulebook exactly where there is none of a measure of the other.
    fn are_empty_together(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, NameId>,
        DefinitionOf(j, b): DefinitionOf<'_, NameId>,
    ) -> bool {
        match (self.measure(i, *a), self.measure(j, *b)) {
            (Some(x), Some(y)) if x.valid_if.is_none() && y.valid_if.is_none() => {
                self.empty(DefinitionOf(i, &x.expr), DefinitionOf(j, &y.expr), DEEP)
            }
            _ => false,
        }
    }

    fn empty(&self, a: DefinitionOf<'_, Expr>, b: DefinitionOf<'_, Expr>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let extent = |DefinitionOf(book, expr): DefinitionOf<'_, Expr>| {
            let plan = self.plan(book);
            compute::of_expr(plan, expr, &Anything { plan })
        };
        if self.is_same(a, b) || (!extent(a).may_be_empty && !extent(b).may_be_empty) {
            return true;
        }
        let (DefinitionOf(i, one), DefinitionOf(j, other)) = (a, b);
        let inner = |book: usize, expr: &Expr| match &*expr.node {
            ExprNode::Name(name) => self.measure(book, *name).filter(|it| it.valid_if.is_none()),
            _ => None,
        };
        if let Some(measure) = inner(i, one) {
            return self.empty(DefinitionOf(i, &measure.expr), b, deep);
        }
        if let Some(measure) = inner(j, other) {
            return self.empty(a, DefinitionOf(j, &measure.expr), deep);
        }
        let pair = |x: &Expr, y: &Expr| self.empty(DefinitionOf(i, x), DefinitionOf(j, y), deep);
        let is_positive = |book: usize, expr: &Expr| {
            extent(DefinitionOf(book, expr)).ends().is_some_and(|(low, _)| low > 0.0)
        };
        match (&*one.node, &*other.node) {
            (ExprNode::Arithmetic(with, x, y), ExprNode::Arithmetic(same, z, w)) if with == same => {
                // Nothing is divided by zero in one of them alone.
                let whole = match with {
                    Operator::Plus | Operator::Minus | Operator::Times => true,
                    Operator::Over => {
                        self.is_same(DefinitionOf(i, y), DefinitionOf(j, w))
                            || (is_positive(i, y) && is_positive(j, w))
                    }
                    Operator::Power => false,
                };
                whole && pair(x, z) && pair(y, w)
            }
            (ExprNode::Kept(x, low, high), ExprNode::Kept(y, from, to)) => {
                pair(x, y) && pair(low, from) && pair(high, to)
            }
            (ExprNode::Rounded(x, ..), ExprNode::Rounded(y, ..))
            | (ExprNode::InUnit(x, _), ExprNode::InUnit(y, _)) => pair(x, y),
            (ExprNode::Lookup(table, keys), ExprNode::Lookup(by, others)) => {
                let (Some(one), Some(other)) =
                    (self.plan(i).tables.get(table.index()), self.plan(j).tables.get(by.index()))
                else {
                    return false;
                };
                let same = |(x, y): (&Expr, &Expr)| self.is_same(DefinitionOf(i, x), DefinitionOf(j, y));
                keys.len() == others.len()
                    && keys.iter().zip(others).all(same)
                    && self.at_keys(DefinitionOf(i, one), DefinitionOf(j, other), &|a, b| {
                        a.is_empty() == b.is_empty() && a.may_be_empty == b.may_be_empty
                    })
            }
            (
                ExprNode::Aggregate(Aggregate::While(_, _, x), over),
                ExprNode::Aggregate(Aggregate::While(_, _, y), within),
            ) => {
                self.is_within(DefinitionOf(i, over), DefinitionOf(j, within))
                    && self.is_within(DefinitionOf(j, within), DefinitionOf(i, over))
                    && self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep)
                    && self.implies(DefinitionOf(j, y), DefinitionOf(i, x), deep)
            }
            _ => self.count_from_one_spray(a, b),
        }
    }
}

fn is_counted_within(over: Counted, within: Counted) -> bool {
    match (over, within) {
        (Counted::LastDays(a), Counted::LastDays(b)) => a <= b,
        (Counted::ThisSeason, _) | (_, Counted::ThisSeason) => false,
        _ => over == within,
    }
}
