//! What follows of the definitions of two rulebooks for what their names can be together: a definition that was changed is one
//! quantity under two definitions. A longer window has no smaller highest, a stricter condition counts no more, and where
//! the same goes in, the same comes out.

use super::compute::{self, Anything};
use super::relations::{compare_implies, is_never_negative, is_within};
use super::roots::Rooted;
use super::space::Space;
use crate::measure::{Extent, Possible, lookup};
use crate::plan::{
    Aggregate, Compare, Condition, Counted, DailyId, Expr, ExprNode, HourSeries, Kind, Measure, NameId,
    Operator, Origin, Pattern, Plan, Spell, Sprayed, Statistic, Subject, Table, Tally, TallyAdd, Test, Which,
    Window, Yields,
};
use std::cmp::Ordering;

/// How deep definitions are followed.
const DEEP: usize = 24;

/// A definition with its rulebook.
struct Of<'a, T>(usize, &'a T);

impl<T> Clone for Of<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Of<'_, T> {}

/// Two rulebooks.
pub(super) struct Across<'a, 'p> {
    rooted: &'a [Rooted<'p>],
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
pub(super) fn add(space: &mut Space<'_>) {
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
        super::relations::pairs(space, &a, &b, &|a, b| match (place(a), place(b)) {
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
    let alike: Vec<(NameId, NameId)> =
        alike.filter(|(old, new)| across.are_empty_together(Of(0, old), Of(1, new))).collect();
    for (old, new) in alike {
        let (Some(a), Some(b)) = (space.read(0, old).cloned(), space.read(1, new).cloned()) else { continue };
        super::relations::pairs(space, &a, &b, &|a, b| a.is_empty() == b.is_empty());
    }
    for old in was {
        for new in now {
            same_rows(space, *old, *new);
        }
    }
}

/// Returns how each name that both rulebooks have and define otherwise stands to what it was.
pub(super) fn redefined(space: &Space<'_>) -> Vec<Redefined> {
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
fn place(extent: Extent) -> Option<(f64, f64)> {
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
            let at = super::build::At { rooted, values: &|of| (of == meaning).then_some(extent) };
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
        self.names(Of(book, &name), Of(1 - book, &other), DEEP)
    }

    fn plan(&self, book: usize) -> &'p Plan {
        self.rooted[book].plan
    }

    fn measure(&self, book: usize, name: NameId) -> Option<&'p Measure> {
        match &self.plan(book)[name].origin {
            Origin::Measure(measure) if !self.rooted[book].cut.contains(&name) => Some(measure),
            _ => None,
        }
    }

    fn is_same(&self, Of(i, a): Of<'_, Expr>, Of(j, b): Of<'_, Expr>) -> bool {
        self.rooted[i].definitions.expr(a) == self.rooted[j].definitions.expr(b)
    }

    fn names(&self, Of(i, a): Of<'_, NameId>, Of(j, b): Of<'_, NameId>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        if self.rooted[i].definitions.name(*a) == self.rooted[j].definitions.name(*b) {
            return true;
        }
        if let (Origin::Tally(one), Origin::Tally(other)) =
            (&self.plan(i)[*a].origin, &self.plan(j)[*b].origin)
        {
            return self.tallies(Of(i, one), Of(j, other), deep);
        }
        match (self.measure(i, *a), self.measure(j, *b)) {
            (Some(one), Some(other)) => self.exprs(Of(i, &one.expr), Of(j, &other.expr), deep),
            _ => false,
        }
    }

    /// Returns whether one value is never above another, where there are both.
    fn exprs(&self, a: Of<'_, Expr>, b: Of<'_, Expr>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        if self.is_same(a, b) {
            return true;
        }
        let (Of(i, one), Of(j, other)) = (a, b);
        if let ExprNode::Name(name) = &*one.node
            && let Some(measure) = self.measure(i, *name)
        {
            return self.exprs(Of(i, &measure.expr), b, deep);
        }
        if let ExprNode::Name(name) = &*other.node
            && let Some(measure) = self.measure(j, *name)
        {
            return self.exprs(a, Of(j, &measure.expr), deep);
        }
        let pair = |x: &Expr, y: &Expr| self.exprs(Of(i, x), Of(j, y), deep);
        match (&*one.node, &*other.node) {
            (ExprNode::Name(x), ExprNode::Name(y)) => self.names(Of(i, x), Of(j, y), deep),
            (ExprNode::Number(x), ExprNode::Number(y)) => x <= y,
            (ExprNode::Arithmetic(with, x, y), ExprNode::Arithmetic(same, z, w)) if with == same => {
                let falls = |x: &Expr, y: &Expr| self.exprs(Of(j, y), Of(i, x), deep);
                let positive = [(i, x), (i, y), (j, z), (j, w)];
                let positive = positive.into_iter().all(|(book, it)| self.is_never_negative(book, it));
                let same = |x: &Expr, y: &Expr| self.is_same(Of(i, x), Of(j, y));
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
                let same = |(x, y): (&Expr, &Expr)| self.is_same(Of(i, x), Of(j, y));
                let (Some(one), Some(other)) =
                    (self.plan(i).tables.get(table.index()), self.plan(j).tables.get(by.index()))
                else {
                    return false;
                };
                keys.len() == others.len()
                    && keys.iter().zip(others).all(same)
                    && self.tables(Of(i, one), Of(j, other))
            }
            (ExprNode::Series(x), ExprNode::Series(y)) => x == y,
            (ExprNode::Hourly(x), ExprNode::Hourly(y)) => {
                self.series(Of(i, &HourSeries::Hourly(*x)), Of(j, &HourSeries::Hourly(*y)), deep)
            }
            (ExprNode::Daily(x), ExprNode::Daily(y)) => {
                self.series(Of(i, &HourSeries::Daily(*x)), Of(j, &HourSeries::Daily(*y)), deep)
            }
            (ExprNode::SpraysOf(x, over), ExprNode::SpraysOf(y, within)) => {
                self.is_same_spray(Of(i, x), Of(j, y)) && is_counted_within(*over, *within)
            }
            (ExprNode::AmountOf(x, over), ExprNode::AmountOf(y, within)) => {
                x == y && is_counted_within(*over, *within)
            }
            (ExprNode::ShareOfPanicles(x), ExprNode::ShareOfPanicles(y)) => {
                self.implies(Of(i, x), Of(j, y), deep)
            }
            (ExprNode::ShareOfTrees(place, x), ExprNode::ShareOfTrees(same, y)) => {
                place == same && self.implies(Of(i, x), Of(j, y), deep)
            }
            (ExprNode::Panicles(some, x), ExprNode::Panicles(same, y)) => {
                some == same && self.implies(Of(i, x), Of(j, y), deep)
            }
            (ExprNode::Aggregate(x, over), ExprNode::Aggregate(y, within)) => {
                self.aggregates((Of(i, x), over), (Of(j, y), within), deep)
            }
            (ExprNode::Fitting { .. }, ExprNode::Fitting { .. }) => self.fitting(a, b),
            _ => false,
        }
    }

    /// Returns whether a cap leaves no stronger strength than another: of the same product and the same use.
    fn fitting(&self, Of(i, a): Of<'_, Expr>, Of(j, b): Of<'_, Expr>) -> bool {
        let (
            ExprNode::Fitting { product, ingredient, used, at_most },
            ExprNode::Fitting { product: of, ingredient: also, used: by, at_most: most },
        ) = (&*a.node, &*b.node)
        else {
            return false;
        };
        let meaning =
            |book: usize, name: &Option<NameId>| name.map(|it| self.rooted[book].definitions.name(it));
        let doses = |book: usize, product: crate::plan::ProductId| {
            self.plan(book).products.get(product.index()).map(|product| {
                let amounts = product.strengths.iter().map(|it| it.amount.quantity.to_bits());
                (product.name.clone(), amounts.collect::<Vec<u64>>())
            })
        };
        ingredient == also
            && meaning(i, used) == meaning(j, by)
            && doses(i, *product) == doses(j, *of)
            && at_most.value() <= most.value()
    }

    fn is_never_negative(&self, book: usize, expr: &Expr) -> bool {
        let plan = self.plan(book);
        let extent = compute::of_expr(plan, expr, &Anything { plan });
        !expr.kind.is_point() && extent.ends().is_some_and(|(low, _)| low >= 0.0)
    }

    /// Returns whether there is a value of the second wherever there is one of the first.
    fn is_there(&self, a: Of<'_, Expr>, b: Of<'_, Expr>, deep: usize) -> bool {
        let plan = self.plan(b.0);
        if self.is_same(a, b) || !compute::of_expr(plan, b.1, &Anything { plan }).may_be_empty {
            return true;
        }
        match (&*a.1.node, &*b.1.node) {
            (
                ExprNode::Aggregate(Aggregate::While(_, _, x), over),
                ExprNode::Aggregate(Aggregate::While(_, _, y), within),
            ) => self.is_within(Of(a.0, over), Of(b.0, within)) && self.implies(Of(a.0, x), Of(b.0, y), deep),
            _ => false,
        }
    }

    /// Returns whether there is no value of a measure of a rulebook exactly where there is none of a measure of the other.
    fn are_empty_together(&self, Of(i, a): Of<'_, NameId>, Of(j, b): Of<'_, NameId>) -> bool {
        match (self.measure(i, *a), self.measure(j, *b)) {
            (Some(x), Some(y)) if x.valid_if.is_none() && y.valid_if.is_none() => {
                self.empty(Of(i, &x.expr), Of(j, &y.expr), DEEP)
            }
            _ => false,
        }
    }

    fn empty(&self, a: Of<'_, Expr>, b: Of<'_, Expr>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let extent = |Of(book, expr): Of<'_, Expr>| {
            let plan = self.plan(book);
            compute::of_expr(plan, expr, &Anything { plan })
        };
        if self.is_same(a, b) || (!extent(a).may_be_empty && !extent(b).may_be_empty) {
            return true;
        }
        let (Of(i, one), Of(j, other)) = (a, b);
        let inner = |book: usize, expr: &Expr| match &*expr.node {
            ExprNode::Name(name) => self.measure(book, *name).filter(|it| it.valid_if.is_none()),
            _ => None,
        };
        if let Some(measure) = inner(i, one) {
            return self.empty(Of(i, &measure.expr), b, deep);
        }
        if let Some(measure) = inner(j, other) {
            return self.empty(a, Of(j, &measure.expr), deep);
        }
        let pair = |x: &Expr, y: &Expr| self.empty(Of(i, x), Of(j, y), deep);
        let is_positive =
            |book: usize, expr: &Expr| extent(Of(book, expr)).ends().is_some_and(|(low, _)| low > 0.0);
        match (&*one.node, &*other.node) {
            (ExprNode::Arithmetic(with, x, y), ExprNode::Arithmetic(same, z, w)) if with == same => {
                // Nothing is divided by zero in one of them alone.
                let whole = match with {
                    Operator::Plus | Operator::Minus | Operator::Times => true,
                    Operator::Over => {
                        self.is_same(Of(i, y), Of(j, w)) || (is_positive(i, y) && is_positive(j, w))
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
                let same = |(x, y): (&Expr, &Expr)| self.is_same(Of(i, x), Of(j, y));
                keys.len() == others.len()
                    && keys.iter().zip(others).all(same)
                    && self.at_keys(Of(i, one), Of(j, other), &|a, b| {
                        a.is_empty() == b.is_empty() && a.may_be_empty == b.may_be_empty
                    })
            }
            (
                ExprNode::Aggregate(Aggregate::While(_, _, x), over),
                ExprNode::Aggregate(Aggregate::While(_, _, y), within),
            ) => {
                self.is_within(Of(i, over), Of(j, within))
                    && self.is_within(Of(j, within), Of(i, over))
                    && self.implies(Of(i, x), Of(j, y), deep)
                    && self.implies(Of(j, y), Of(i, x), deep)
            }
            _ => false,
        }
    }

    /// Returns whether a table gives no more than another at any keys.
    fn tables(&self, Of(i, a): Of<'_, Table>, Of(j, b): Of<'_, Table>) -> bool {
        if a.keys == [Kind::Text] && b.keys == [Kind::Text] {
            return self.tables_of_texts(Of(i, a), Of(j, b));
        }
        self.at_keys(Of(i, a), Of(j, b), &|one, other| match (one.ends(), other.ends()) {
            (Some((_, high)), Some((low, _))) => high <= low,
            _ => one.is_empty() || other.is_empty(),
        })
    }

    /// Returns whether what two tables of one number give stands to one another as asked, whatever the number is.
    fn at_keys(
        &self,
        Of(i, a): Of<'_, Table>,
        Of(j, b): Of<'_, Table>,
        stands: &dyn Fn(Extent, Extent) -> bool,
    ) -> bool {
        let numeric =
            |table: &Table| table.keys.len() == 1 && table.keys.iter().all(|kind| kind.is_numeric());
        if !numeric(a) || !numeric(b) || a.between != b.between {
            return false;
        }
        // Between all edges of both they are constant or run straight.
        let mut edges: Vec<f64> = [a, b].into_iter().flat_map(edges_of).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let ends = edges.first().map(|it| it - 1.0).into_iter().chain(edges.last().map(|it| it + 1.0));
        let between = edges.windows(2).flat_map(|pair| {
            let [low, high] = [pair[0], pair[1]];
            [0.01, 0.5, 0.99].map(|part| low + (high - low) * part)
        });
        let keys: Vec<f64> = ends.chain(between).chain(edges.iter().copied()).collect();
        keys.into_iter().all(|key| {
            let at = [Extent::number(key)];
            stands(lookup(self.plan(i), a, &at).0, lookup(self.plan(j), b, &at).0)
        })
    }

    fn tables_of_texts(&self, Of(i, a): Of<'_, Table>, Of(j, b): Of<'_, Table>) -> bool {
        let plans = [self.plan(i), self.plan(j)];
        let known: std::collections::BTreeSet<&str> =
            plans.iter().flat_map(|plan| plan.texts.iter().map(|text| &**text)).collect();
        let texts = known.into_iter().map(Some).chain([None]);
        texts.into_iter().all(|text| {
            let given = [(0, a), (1, b)].map(|(at, table)| {
                let text = text.map_or(crate::plan::TextId::OTHER, |text| plans[at].text(text));
                lookup(plans[at], table, &[Extent::datum(crate::plan::Datum::Text(text))]).0
            });
            given[0] == given[1]
                || match given.map(place) {
                    [Some((_, high)), Some((low, _))] => high <= low,
                    _ => false,
                }
        })
    }

    fn series(&self, Of(i, a): Of<'_, HourSeries>, Of(j, b): Of<'_, HourSeries>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let of = |x: &'p Yields, y: &'p Yields| match (x, y) {
            (Yields::Value(x), Yields::Value(y)) => self.exprs(Of(i, x), Of(j, y), deep),
            (Yields::Condition(x), Yields::Condition(y)) => self.implies(Of(i, x), Of(j, y), deep),
            _ => false,
        };
        match (a, b) {
            (HourSeries::Series(x), HourSeries::Series(y)) => x == y,
            (HourSeries::Hourly(x), HourSeries::Hourly(y)) => {
                let [x, y] = [(i, x), (j, y)].map(|(book, id)| self.plan(book).hourlies.get(id.index()));
                x.zip(y).is_some_and(|(x, y)| of(&x.yields, &y.yields))
            }
            (HourSeries::Daily(x), HourSeries::Daily(y)) => {
                let definitions = [i, j].map(|book| &self.rooted[book].definitions);
                if definitions[0].daily(*x) == definitions[1].daily(*y) {
                    return true;
                }
                let [x, y] = [(i, x), (j, y)].map(|(book, id)| self.plan(book).dailies.get(id.index()));
                x.zip(y).is_some_and(|(x, y)| {
                    let plain = x.valid_if.is_none() && y.valid_if.is_none() && x.begins == y.begins;
                    plain && of(&x.yields, &y.yields)
                })
            }
            _ => false,
        }
    }

    /// Returns whether there is a value of the one on each day, or in each hour, on which there is one of the other, and the other
    /// way round.
    fn are_there_together(&self, Of(i, a): Of<'_, HourSeries>, Of(j, b): Of<'_, HourSeries>) -> bool {
        let id = |book: usize, series: &HourSeries| match series {
            HourSeries::Daily(id) => Some(self.rooted[book].definitions.daily(*id)),
            HourSeries::Series(_) | HourSeries::Hourly(_) => None,
        };
        let is_whole = |book: usize, series: &HourSeries| match series {
            HourSeries::Daily(id) => {
                self.plan(book).dailies.get(id.index()).is_some_and(|daily| match &daily.yields {
                    Yields::Value(expr) => {
                        let plan = self.plan(book);
                        !compute::of_expr(plan, expr, &Anything { plan }).may_be_empty
                            && daily.valid_if.is_none()
                    }
                    Yields::Condition(_) => true,
                })
            }
            HourSeries::Series(_) | HourSeries::Hourly(_) => true,
        };
        id(i, a) == id(j, b) || (is_whole(i, a) && is_whole(j, b))
    }

    fn aggregates(
        &self,
        (Of(i, a), over): (Of<'_, Aggregate>, &Window),
        (Of(j, b), within): (Of<'_, Aggregate>, &Window),
        deep: usize,
    ) -> bool {
        let shorter = self.is_within(Of(i, over), Of(j, within));
        let longer = self.is_within(Of(j, within), Of(i, over));
        let equal = shorter && longer;
        let implies = |x: &Condition, y: &Condition| self.implies(Of(i, x), Of(j, y), deep);
        let implied = |x: &Condition, y: &Condition| self.implies(Of(j, y), Of(i, x), deep);
        let series = |x: &HourSeries, y: &HourSeries| {
            self.series(Of(i, x), Of(j, y), deep) && self.are_there_together(Of(i, x), Of(j, y))
        };
        match (a, b) {
            (Aggregate::Of(one, x), Aggregate::Of(other, y)) if series(x, y) => match (one, other) {
                (Statistic::Lowest, Statistic::Lowest) => longer,
                (Statistic::Highest, Statistic::Highest) => shorter,
                (Statistic::Total, Statistic::Total) => equal || (shorter && is_never_negative(*y)),
                (Statistic::Mean, Statistic::Mean)
                | (Statistic::Lowest, Statistic::Mean | Statistic::Highest)
                | (Statistic::Mean, Statistic::Highest) => equal,
                _ => false,
            },
            (Aggregate::Hours(x), Aggregate::Hours(y)) => shorter && implies(x, y),
            (Aggregate::Spell(x), Aggregate::Hours(y)) => {
                shorter && x.across == 0.0 && implies(&x.condition, y)
            }
            (Aggregate::Spell(x), Aggregate::Spell(y)) => {
                y.which == Which::Longest
                    && shorter
                    && x.across <= y.across
                    && implies(&x.condition, &y.condition)
            }
            (Aggregate::Spells(x, least), Aggregate::Spells(y, hours)) => {
                shorter && least >= hours && implies(x, y) && implied(x, y)
            }
            (Aggregate::Days(x, one), Aggregate::Days(y, other)) => {
                shorter && self.days(Of(i, x), one.as_ref(), Of(j, y), other.as_ref(), deep)
            }
            (Aggregate::While(one, x, c), Aggregate::While(other, y, d)) if one == other && series(x, y) => {
                match one {
                    Statistic::Highest => shorter && implies(c, d),
                    Statistic::Lowest => longer && implied(c, d),
                    Statistic::Total => {
                        (equal && implies(c, d) && implied(c, d))
                            || (shorter && implies(c, d) && is_never_negative(*y))
                    }
                    Statistic::Mean => equal && implies(c, d) && implied(c, d),
                }
            }
            (Aggregate::InSpell(one, x, c), Aggregate::InSpell(other, y, d)) => {
                one == other && equal && series(x, y) && self.is_same_spell(Of(i, c), Of(j, d), deep)
            }
            _ => false,
        }
    }

    fn is_same_spell(&self, Of(i, a): Of<'_, Spell>, Of(j, b): Of<'_, Spell>, deep: usize) -> bool {
        a.which == b.which
            && a.across == b.across
            && self.implies(Of(i, &a.condition), Of(j, &b.condition), deep)
            && self.implies(Of(j, &b.condition), Of(i, &a.condition), deep)
    }

    /// Returns whether each day that the first counts is one that the second counts.
    fn days(
        &self,
        Of(i, a): Of<'_, DailyId>,
        one: Option<&Compare>,
        Of(j, b): Of<'_, DailyId>,
        other: Option<&Compare>,
        deep: usize,
    ) -> bool {
        let (x, y) = (HourSeries::Daily(*a), HourSeries::Daily(*b));
        match (one, other) {
            (None, None) => self.series(Of(i, &x), Of(j, &y), deep),
            (Some(one), Some(other)) => {
                let rises = self.series(Of(i, &x), Of(j, &y), deep);
                let falls = self.series(Of(j, &y), Of(i, &x), deep);
                self.are_there_together(Of(i, &x), Of(j, &y)) && is_implied(one, other, rises, falls)
            }
            _ => false,
        }
    }

    /// Returns whether all of the first window lies in the second.
    fn is_within(&self, Of(i, a): Of<'_, Window>, Of(j, b): Of<'_, Window>) -> bool {
        match (a, b) {
            (Window::Since(x), Window::Since(y)) => {
                self.rooted[i].definitions.name(*x) == self.rooted[j].definitions.name(*y)
            }
            (Window::SinceLast(x), Window::SinceLast(y)) => self.is_same_spray(Of(i, x), Of(j, y)),
            (Window::ThisSeason, Window::ThisSeason) => self.plan(i).head.season == self.plan(j).head.season,
            (Window::HoursToThatHour(x), Window::HoursToThatHour(y))
            | (Window::HoursAfterThatHour(x), Window::HoursAfterThatHour(y))
            | (Window::DaysToThatDay(x), Window::DaysToThatDay(y)) => x <= y,
            (
                Window::SinceDate { date, to_that_day },
                Window::SinceDate { date: since, to_that_day: same },
            ) => to_that_day == same && date >= since,
            (Window::Since(_) | Window::SinceLast(_) | Window::ThisSeason, _) => false,
            _ => is_within(a, b),
        }
    }

    fn is_same_spray(&self, Of(i, a): Of<'_, Sprayed>, Of(j, b): Of<'_, Sprayed>) -> bool {
        match (a, b) {
            (Sprayed::Product(x), Sprayed::Product(y)) => self.plan(i)[*x].name == self.plan(j)[*y].name,
            _ => a == b,
        }
    }

    /// Returns whether the second condition holds wherever the first does.
    fn implies(&self, a: Of<'_, Condition>, b: Of<'_, Condition>, deep: usize) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let (Of(i, one), Of(j, other)) = (a, b);
        if self.rooted[i].definitions.condition(one) == self.rooted[j].definitions.condition(other) {
            return true;
        }
        match (one, other) {
            (Condition::Not(x), Condition::Not(y)) => self.implies(Of(j, y), Of(i, x), deep),
            (Condition::Any(parts), _) => parts.iter().all(|part| self.implies(Of(i, part), b, deep)),
            (_, Condition::All(parts)) => parts.iter().all(|part| self.implies(a, Of(j, part), deep)),
            (Condition::All(parts), _) if parts.iter().any(|part| self.implies(Of(i, part), b, deep)) => true,
            (_, Condition::Any(parts)) if parts.iter().any(|part| self.implies(a, Of(j, part), deep)) => true,
            (Condition::Test(x), Condition::Test(y)) => self.tests(Of(i, x), Of(j, y), deep),
            // An `hourly` or a yes-no measure stands for its condition.
            (Condition::Test(test), _) => {
                self.inside(i, test).is_some_and(|inner| self.implies(Of(i, inner), b, deep))
            }
            (_, Condition::Test(test)) => {
                self.inside(j, test).is_some_and(|inner| self.implies(a, Of(j, inner), deep))
            }
            _ => false,
        }
    }

    /// Returns the condition for which a test stands.
    fn inside(&self, book: usize, test: &Test) -> Option<&'p Condition> {
        if test.compare != Compare::Words(0b10) {
            return None;
        }
        let yields = match test.subject {
            Subject::Hourly(id) => self.plan(book).hourlies.get(id.index()).map(|it| &it.yields),
            Subject::Daily(_) | Subject::Name(_) | Subject::Series(_) => None,
        };
        match yields {
            Some(Yields::Condition(condition)) => Some(condition),
            _ => None,
        }
    }

    fn tests(&self, Of(i, a): Of<'_, Test>, Of(j, b): Of<'_, Test>, deep: usize) -> bool {
        match (self.inside(i, a), self.inside(j, b)) {
            (Some(x), Some(y)) => return self.implies(Of(i, x), Of(j, y), deep),
            (Some(x), None) => return self.implies(Of(i, x), Of(j, &Condition::Test(b.clone())), deep),
            (None, Some(y)) => return self.implies(Of(i, &Condition::Test(a.clone())), Of(j, y), deep),
            (None, None) => {}
        }
        let (rises, falls) = match (a.subject, b.subject) {
            (Subject::Series(x), Subject::Series(y)) => (x == y, x == y),
            (Subject::Hourly(x), Subject::Hourly(y)) => {
                let (x, y) = (HourSeries::Hourly(x), HourSeries::Hourly(y));
                (self.series(Of(i, &x), Of(j, &y), deep), self.series(Of(j, &y), Of(i, &x), deep))
            }
            (Subject::Daily(x), Subject::Daily(y)) => {
                let (x, y) = (HourSeries::Daily(x), HourSeries::Daily(y));
                if !self.are_there_together(Of(i, &x), Of(j, &y)) {
                    return false;
                }
                (self.series(Of(i, &x), Of(j, &y), deep), self.series(Of(j, &y), Of(i, &x), deep))
            }
            (Subject::Name(x), Subject::Name(y)) => {
                if self.rooted[i].definitions.name(x) == self.rooted[j].definitions.name(y) {
                    (true, true)
                } else if let (Some(one), Some(other)) = (self.measure(i, x), self.measure(j, y)) {
                    let (one, other) = (Of(i, &one.expr), Of(j, &other.expr));
                    if !self.is_there(one, other, deep) {
                        return false;
                    }
                    (self.exprs(one, other, deep), self.exprs(other, one, deep))
                } else {
                    return false;
                }
            }
            _ => (false, false),
        };
        is_implied(&a.compare, &b.compare, rises, falls)
    }

    /// Returns whether a tally is never above another: on each day no more is added to it.
    fn tallies(&self, Of(i, a): Of<'_, Tally>, Of(j, b): Of<'_, Tally>, deep: usize) -> bool {
        let same = |x: &Option<Condition>, y: &Option<Condition>| {
            let of = |book: usize, it: &Option<Condition>| {
                it.as_ref().map(|it| self.rooted[book].definitions.condition(it))
            };
            of(i, x) == of(j, y)
        };
        let kept = match (a.kept, b.kept) {
            (None, None) => true,
            (Some((low, high)), Some((from, to))) => low <= from && high <= to,
            _ => false,
        };
        let over =
            self.is_within(Of(i, &a.over), Of(j, &b.over)) && self.is_within(Of(j, &b.over), Of(i, &a.over));
        if !over || !kept || a.begins != b.begins || a.starts > b.starts {
            return false;
        }
        if !same(&a.waits_for, &b.waits_for) || !same(&a.reset, &b.reset) {
            return false;
        }
        let mut left: Vec<&TallyAdd> = b.adds.iter().collect();
        let mut unmatched = Vec::new();
        for add in &a.adds {
            let is_same = |other: &&TallyAdd| {
                self.is_same(Of(i, &add.amount), Of(j, &other.amount))
                    && same(&add.condition, &other.condition)
            };
            match left.iter().position(is_same) {
                Some(at) => drop(left.remove(at)),
                None => unmatched.push(add),
            }
        }
        for add in unmatched {
            match left.iter().position(|other| self.adds_no_more(Of(i, add), Of(j, other), deep)) {
                Some(at) => drop(left.remove(at)),
                // What is only taken away makes no more of it.
                None if self.is_never_positive(i, &add.amount) => {}
                None => return false,
            }
        }
        left.iter().all(|other| self.is_never_negative(j, &other.amount))
    }

    fn is_never_positive(&self, book: usize, expr: &Expr) -> bool {
        let plan = self.plan(book);
        compute::of_expr(plan, expr, &Anything { plan }).ends().is_some_and(|(_, high)| high <= 0.0)
    }

    /// Returns whether what one adds on a day is never more than what another adds on it.
    fn adds_no_more(&self, Of(i, a): Of<'_, TallyAdd>, Of(j, b): Of<'_, TallyAdd>, deep: usize) -> bool {
        let always = Condition::All(Vec::new());
        let [x, y] = [a, b].map(|add| add.condition.as_ref().unwrap_or(&always));
        let is_always = |condition: &Condition| *condition == Condition::All(Vec::new());
        let implies = is_always(y) || self.implies(Of(i, x), Of(j, y), deep);
        let implied = is_always(x) || self.implies(Of(j, y), Of(i, x), deep);
        self.exprs(Of(i, &a.amount), Of(j, &b.amount), deep)
            && (implies || self.is_never_positive(i, &a.amount))
            && (implied || self.is_never_negative(j, &b.amount))
            && (implies || implied)
    }
}

/// Returns whether a comparison of one value says that another holds of another value, which is no smaller where it rises and no
/// larger where it falls.
fn is_implied(a: &Compare, b: &Compare, rises: bool, falls: bool) -> bool {
    match b {
        _ if rises && falls => compare_implies(a, b),
        Compare::Numbers { low: Some(_), high: None } => rises && compare_implies(a, b),
        Compare::Numbers { low: None, high: Some(_) } => falls && compare_implies(a, b),
        // Of yes-no: yes where the other is.
        Compare::Words(0b10) => rises && *a == Compare::Words(0b10),
        Compare::Words(0b01) => falls && *a == Compare::Words(0b01),
        _ => false,
    }
}

fn is_counted_within(over: Counted, within: Counted) -> bool {
    match (over, within) {
        (Counted::LastDays(a), Counted::LastDays(b)) => a <= b,
        (Counted::ThisSeason, _) | (_, Counted::ThisSeason) => false,
        _ => over == within,
    }
}

fn edges_of(table: &Table) -> Vec<f64> {
    let mut edges = Vec::new();
    for pattern in table.rows.iter().flat_map(|row| &row.patterns) {
        match pattern {
            Pattern::Numbers { low, high } => {
                edges.extend([low, high].into_iter().flatten().map(|(at, _)| at.value()));
            }
            Pattern::Is(crate::plan::Datum::Number(at)) => edges.push(*at),
            Pattern::Is(_) | Pattern::Any => {}
        }
    }
    edges
}
