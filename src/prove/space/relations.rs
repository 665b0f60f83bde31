//! What cannot be together: what the rulebook says is always so, names that are computed from others, and measures of the
//! same weather or the same log, where arithmetic alone rules something out.

use super::build::{RootMeanings, kind_and_domain};
use super::compute;
use super::rims::{inside, least};
use super::roots::Root;
use super::{Read, Space};
use crate::measure::{Extent, Possible};
use crate::plan::{
    Aggregate, Compare, Condition, Counted, Expr, ExprNode, HourSeries, Kind, Meaning, NameId, Origin, Plan,
    Series, Sprayed, Statistic, Subject, Which, Window, Yields,
};
use crate::situation::Set;
use std::collections::{BTreeMap, BTreeSet};

/// How many combinations of pieces are tried to relate a computed name to its roots.
const COMBINATIONS: usize = 20_000;

/// Relates a computed name to its roots: of each combination of their pieces what it can be.
pub(crate) fn computed(
    space: &mut Space<'_>,
    book: usize,
    name: NameId,
    roots: &BTreeMap<Meaning, Root<'_>>,
) {
    let Some(read) = space.read(book, name).cloned() else { return };
    let variables: Vec<RootPieces> = roots
        .iter()
        .filter_map(|(meaning, root)| {
            let variable = space.of_meaning.get(meaning).copied()?;
            let (kind, _) = kind_and_domain(&space.rooted[book], *root);
            let pieces = space.pieces_in(book, *meaning, variable);
            let pieces = pieces.into_iter().map(|piece| inside(kind, piece)).collect();
            Some(RootPieces { meaning: *meaning, variable, pieces })
        })
        .collect();
    let combinations = variables.iter().map(|it| it.pieces.len().max(1)).fold(1usize, usize::saturating_mul);
    if combinations > COMBINATIONS || variables.is_empty() {
        return;
    }
    let mut given = Vec::new();
    let set = combine(space, book, name, &read, &variables, &mut given);
    space.relations.push(set);
}

/// A root with its pieces.
struct RootPieces {
    meaning: Meaning,
    variable: u16,
    pieces: Vec<Extent>,
}

fn combine(
    space: &mut Space<'_>,
    book: usize,
    name: NameId,
    read: &Read,
    rest: &[RootPieces],
    given: &mut Vec<(Meaning, Extent)>,
) -> Set {
    let Some((part, rest)) = rest.split_first() else {
        let rooted = &space.rooted[book];
        let at = RootMeanings {
            rooted,
            values: &|meaning| given.iter().find(|(of, _)| *of == meaning).map(|(_, extent)| *extent),
        };
        let values = compute::values_of_name(rooted.plan, name, &at);
        let kind = rooted.plan[name].kind;
        let can: Vec<bool> =
            read.extents.iter().map(|piece| values.iter().any(|it| overlap(kind, *piece, *it))).collect();
        return space
            .diagrams
            .test(read.variable, |piece| can.get(usize::from(piece)).copied().unwrap_or(false));
    };
    let mut sets = Vec::new();
    for (piece, extent) in part.pieces.iter().enumerate() {
        given.push((part.meaning, *extent));
        let there = combine(space, book, name, read, rest, given);
        given.pop();
        let here = space.diagrams.test(part.variable, |it| usize::from(it) == piece);
        sets.push(space.diagrams.both(here, there));
    }
    space.diagrams.any(sets)
}

/// Returns whether two extents of a kind have a value in common; pieces lie a little inside their ends.
pub(crate) fn overlap(kind: Kind, a: Extent, b: Extent) -> bool {
    if a.may_be_empty && b.may_be_empty {
        return true;
    }
    match (a.can_be, b.can_be) {
        (Possible::Numbers(low, high), Possible::Numbers(from, to)) => {
            reaches(kind, low, to) && reaches(kind, from, high)
        }
        (Possible::Words(a), Possible::Words(b)) => a & b != 0,
        (Possible::Text(a), Possible::Text(b)) => a == b,
        (Possible::Nothing, _) | (_, Possible::Nothing) => false,
        (Possible::Numbers(..) | Possible::Words(_) | Possible::Text(_) | Possible::AnyText, _) => true,
    }
}

/// Returns whether one end is no higher than another, give or take what rounding makes of it. What has no end on one side is
/// measured by the other.
fn reaches(kind: Kind, low: f64, high: f64) -> bool {
    let ends = [low, high].into_iter().filter(|end| end.is_finite());
    let size = ends.map(f64::abs).fold(least(kind), f64::max);
    low <= high + 1e-9 * size
}

/// Adds what follows from the definitions of measures.
pub(crate) fn add(space: &mut Space<'_>, book: usize) {
    let plan = space.rooted[book].plan;
    let leaves: Vec<(Read, &Expr)> = plan
        .named()
        .filter_map(|(id, name)| {
            let Origin::Measure(measure) = &name.origin else { return None };
            let is_leaf = measure.valid_if.is_none() && !compute::is_arithmetic(&measure.expr);
            let read = space.read(book, id).filter(|_| is_leaf)?;
            Some((read.clone(), &measure.expr))
        })
        .collect();
    let mut seen = BTreeSet::new();
    let leaves: Vec<(Read, &Expr)> =
        leaves.into_iter().filter(|(read, _)| seen.insert(read.variable)).collect();
    for (a, of_a) in &leaves {
        if let ExprNode::ShareOfTrees(_, condition) = &*of_a.node {
            own_tree(space, book, a, condition);
        }
        for (b, of_b) in &leaves {
            if a.variable == b.variable {
                continue;
            }
            if at_most(plan, of_a, of_b) {
                pairs(space, a, b, &|a, b| match (a.ends(), b.ends()) {
                    (Some((low, _)), Some((_, high))) => low <= high,
                    _ => true,
                });
            }
            if let ExprNode::DaysSinceLast(what) = &*of_a.node {
                log(space, plan, (a, what), (b, of_b));
            }
            if made_of(of_a, of_b) {
                // Of no hours there is no mean, and of some there is one.
                pairs(space, a, b, &|hours, stat| match hours.ends() {
                    Some((_, high)) if high <= 0.0 => stat.is_empty(),
                    Some((low, _)) if low > 0.0 => !stat.is_empty(),
                    _ => true,
                });
            }
        }
    }
}

/// A tree is one of those of its block and grove.
fn own_tree(space: &mut Space<'_>, book: usize, share: &Read, condition: &Condition) {
    let at = |space: &mut Space<'_>, is: &dyn Fn((f64, f64)) -> bool| {
        let within: Vec<bool> = share.extents.iter().map(|it| it.ends().is_some_and(is)).collect();
        space.diagrams.test(share.variable, |piece| within.get(usize::from(piece)).copied().unwrap_or(false))
    };
    let (none, all) = (at(space, &|(_, high)| high <= 0.0), at(space, &|(low, _)| low >= 1.0));
    let (is, is_not) = (space.may_hold(book, condition, true), space.may_hold(book, condition, false));
    let (not_none, not_all) = (space.diagrams.not(none), space.diagrams.not(all));
    let first = space.diagrams.either(not_none, is_not);
    let second = space.diagrams.either(not_all, is);
    space.relations.push(first);
    space.relations.push(second);
}

/// Relates two variables: pieces that may not be together are left out.
pub(crate) fn pairs(space: &mut Space<'_>, a: &Read, b: &Read, may: &dyn Fn(Extent, Extent) -> bool) {
    let mut sets = Vec::new();
    for (piece, of_a) in a.extents.iter().enumerate() {
        let with: Vec<bool> = b.extents.iter().map(|of_b| may(*of_a, *of_b)).collect();
        let here = space.diagrams.test(a.variable, |it| usize::from(it) == piece);
        let there = space.diagrams.test(b.variable, |it| with.get(usize::from(it)).copied().unwrap_or(false));
        sets.push(space.diagrams.both(here, there));
    }
    let set = space.diagrams.any(sets);
    if !set.is_all() {
        space.relations.push(set);
    }
}

/// Returns whether the second is a statistic of the hours that the first counts.
fn made_of(a: &Expr, b: &Expr) -> bool {
    let (ExprNode::Aggregate(a, over), ExprNode::Aggregate(b, same)) = (&*a.node, &*b.node) else {
        return false;
    };
    let is = match (a, b) {
        (Aggregate::Hours(c), Aggregate::While(statistic, series, d)) => {
            c == d && *statistic != Statistic::Total && !matches!(series, HourSeries::Daily(_))
        }
        (Aggregate::Spell(c), Aggregate::InSpell(statistic, series, d)) => {
            c == d && *statistic != Statistic::Total && !matches!(series, HourSeries::Daily(_))
        }
        _ => false,
    };
    is && over == same
}

/// Relates the time since a spray to what else is known of the log.
fn log(
    space: &mut Space<'_>,
    plan: &Plan,
    (since, what): (&Read, &Sprayed),
    (other, of_other): (&Read, &Expr),
) {
    let never = |extent: Extent| extent.ends().is_some_and(|(low, _)| low.is_infinite());
    match &*of_other.node {
        ExprNode::SpraysInARow(counted) | ExprNode::SpraysOf(counted, _) if part_of(plan, counted, what) => {
            let last_days = match &*of_other.node {
                ExprNode::SpraysOf(same, Counted::LastDays(days)) if same == what => {
                    Some(f64::from(*days) * 24.0)
                }
                _ => None,
            };
            pairs(space, since, other, &|since, count| {
                let Some((least, most)) = count.ends() else { return true };
                let Some((low, high)) = since.ends() else { return true };
                let known = match last_days {
                    Some(span) => (least < 1.0 || low <= span) && (most >= 1.0 || high > span || high < 24.0),
                    None => true,
                };
                known && (!never(since) || least < 1.0)
            });
        }
        ExprNode::AmountOf(..) | ExprNode::AmountOfProduct(..) if *what == Sprayed::Any => {
            pairs(space, since, other, &|since, amount| {
                !never(since) || amount.ends().is_none_or(|(low, _)| low <= 0.0)
            });
        }
        ExprNode::Aggregate(aggregate, window) if window.spray() == Some(what) => {
            // Of no hours there is no mean, whether there was a spray or not.
            let may_be_empty = aggregate.is_empty_of_nothing();
            pairs(space, since, other, &|since, value| {
                if never(since) { value.is_empty() } else { may_be_empty || !value.is_empty() }
            });
        }
        _ => {}
    }
}

/// Returns whether every spray of the first is one of the second.
pub(crate) fn part_of(plan: &Plan, one: &Sprayed, other: &Sprayed) -> bool {
    match (one, other) {
        (_, Sprayed::Any) => true,
        (Sprayed::Product(product), Sprayed::Group(group)) => {
            plan.products.get(product.index()).is_some_and(|product| product.groups.contains(group))
        }
        _ => one == other,
    }
}

/// Returns whether the first is never above the second.
fn at_most(plan: &Plan, a: &Expr, b: &Expr) -> bool {
    match (&*a.node, &*b.node) {
        (ExprNode::DaysSinceLast(a), ExprNode::DaysSinceLast(b)) => a != b && part_of(plan, b, a),
        (ExprNode::SpraysOf(a, over), ExprNode::SpraysOf(b, within)) => {
            part_of(plan, a, b) && counted_within(*over, *within)
        }
        (ExprNode::AmountOf(a, over), ExprNode::AmountOf(b, within)) => {
            a == b && counted_within(*over, *within)
        }
        (ExprNode::Aggregate(a, over), ExprNode::Aggregate(b, within)) => {
            aggregate_at_most(a, over, b, within)
        }
        _ => false,
    }
}

fn counted_within(over: Counted, within: Counted) -> bool {
    match (over, within) {
        (Counted::LastDays(a), Counted::LastDays(b)) => a <= b,
        _ => over == within,
    }
}

fn aggregate_at_most(a: &Aggregate, over: &Window, b: &Aggregate, within: &Window) -> bool {
    let (shorter, longer) = (is_within(over, within), is_within(within, over));
    match (a, b) {
        (Aggregate::Of(one, a), Aggregate::Of(other, b)) if a == b => match (one, other) {
            (Statistic::Lowest, Statistic::Mean | Statistic::Highest)
            | (Statistic::Mean, Statistic::Highest) => over == within,
            (Statistic::Lowest, Statistic::Lowest) => longer,
            (Statistic::Highest, Statistic::Highest) => shorter,
            (Statistic::Total, Statistic::Total) => shorter && is_never_negative(*a),
            _ => false,
        },
        (Aggregate::Hours(a), Aggregate::Hours(b)) => shorter && implies(a, b),
        (Aggregate::Spell(a), Aggregate::Hours(b)) => over == within && implies(&a.condition, b),
        (Aggregate::Spell(a), Aggregate::Spell(b)) => {
            let same = a.condition == b.condition && a.across == b.across;
            (same && a.which == Which::Latest && b.which == Which::Longest && over == within)
                || (a.which == Which::Longest
                    && b.which == Which::Longest
                    && shorter
                    && a.across <= b.across
                    && implies(&a.condition, &b.condition))
        }
        (Aggregate::Days(a, Some(one)), Aggregate::Days(b, Some(other))) => {
            a == b && shorter && compare_implies(one, other)
        }
        (Aggregate::Days(a, None), Aggregate::Days(b, None)) => a == b && shorter,
        _ => false,
    }
}

pub(super) fn is_never_negative(series: HourSeries) -> bool {
    match series {
        HourSeries::Series(series) => {
            matches!(series, Series::Rain | Series::Wind | Series::Gust | Series::Humidity | Series::LeafWet)
        }
        HourSeries::Hourly(_) | HourSeries::Daily(_) => false,
    }
}

/// Returns whether all of the first window lies in the second.
pub(crate) fn is_within(a: &Window, b: &Window) -> bool {
    match (a, b) {
        (Window::LastHours(a), Window::LastHours(b))
        | (Window::NextHours(a), Window::NextHours(b))
        | (Window::LastDays(a), Window::LastDays(b) | Window::LastDaysAndToday(b))
        | (Window::LastDaysAndToday(a), Window::LastDaysAndToday(b))
        | (Window::NextDays(a), Window::NextDays(b) | Window::TodayAndNextDays(b))
        | (Window::TodayAndNextDays(a), Window::TodayAndNextDays(b))
        | (Window::LastNights(a), Window::LastNights(b))
        | (Window::NextNights(a), Window::NextNights(b)) => a <= b,
        (Window::HoursAfterLast(a, of), Window::HoursAfterLast(b, same)) => of == same && a <= b,
        (Window::Today, Window::LastDaysAndToday(_) | Window::TodayAndNextDays(_)) => true,
        _ => a == b,
    }
}

/// Returns whether the second holds wherever the first does, as far as their wording shows it.
fn implies(a: &Condition, b: &Condition) -> bool {
    match (a, b) {
        _ if a == b => true,
        (Condition::All(parts), _) if parts.iter().any(|part| implies(part, b)) => true,
        (_, Condition::Any(parts)) if parts.iter().any(|part| implies(a, part)) => true,
        (_, Condition::All(parts)) => parts.iter().all(|part| implies(a, part)),
        (Condition::Any(parts), _) => parts.iter().all(|part| implies(part, b)),
        (Condition::Test(a), Condition::Test(b)) => {
            a.subject == b.subject && compare_implies(&a.compare, &b.compare)
        }
        _ => false,
    }
}

pub(super) fn compare_implies(a: &Compare, b: &Compare) -> bool {
    match (a, b) {
        _ if a == b => true,
        (Compare::Numbers { low, high }, Compare::Numbers { low: from, high: to }) => {
            let above = from.as_ref().is_none_or(|from| {
                low.as_ref().is_some_and(|low| {
                    let (low_at, from_at) = (low.value(), from.value());
                    low_at > from_at || (low_at == from_at && (from.closed || !low.closed))
                })
            });
            let below = to.as_ref().is_none_or(|to| {
                high.as_ref().is_some_and(|high| {
                    let (high_at, to_at) = (high.value(), to.value());
                    high_at < to_at || (high_at == to_at && (to.closed || !high.closed))
                })
            });
            // Bounds in reverse run over midnight.
            let in_order = |low: &Option<crate::plan::Bound>, high: &Option<crate::plan::Bound>| {
                low.as_ref().zip(high.as_ref()).is_none_or(|(low, high)| low.value() <= high.value())
            };
            above && below && in_order(low, high) && in_order(from, to)
        }
        _ => false,
    }
}

/// Returns what the values of a root come from, besides what a person sees of the tree.
pub(crate) fn sources(plan: &Plan, root: Root<'_>) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    match root {
        Root::Name(name) => {
            if let Origin::Tally(tally) = &plan[name].origin {
                let conditions = tally.adds.iter().filter_map(|add| add.condition.as_ref());
                for condition in conditions.chain(&tally.waits_for).chain(&tally.reset) {
                    of_condition(plan, condition, &mut found);
                }
                tally.adds.iter().for_each(|add| of_expr(plan, &add.amount, &mut found));
            }
        }
        Root::Leaf(expr) => of_expr(plan, expr, &mut found),
    }
    found
}

fn of_expr(plan: &Plan, expr: &Expr, found: &mut BTreeSet<String>) {
    match &*expr.node {
        ExprNode::Series(series) => {
            found.insert(series.word().to_owned());
        }
        ExprNode::Hourly(_) | ExprNode::Daily(_) => {
            let series = match &*expr.node {
                ExprNode::Hourly(id) => HourSeries::Hourly(*id),
                ExprNode::Daily(id) => HourSeries::Daily(*id),
                _ => return,
            };
            of_series(plan, series, found);
        }
        ExprNode::Aggregate(aggregate, window) => {
            match aggregate {
                Aggregate::Hours(condition) | Aggregate::Spells(condition, _) => {
                    of_condition(plan, condition, found);
                }
                Aggregate::Spell(spell) => of_condition(plan, &spell.condition, found),
                Aggregate::Days(daily, _) => of_series(plan, HourSeries::Daily(*daily), found),
                Aggregate::Of(_, series) => of_series(plan, *series, found),
                Aggregate::While(_, series, condition) => {
                    of_series(plan, *series, found);
                    of_condition(plan, condition, found);
                }
                Aggregate::InSpell(_, series, spell) => {
                    of_series(plan, *series, found);
                    of_condition(plan, &spell.condition, found);
                }
            }
            if window.spray().is_some() {
                found.insert("the spray log".to_owned());
            }
        }
        ExprNode::DaysSinceLast(_)
        | ExprNode::SpraysInARow(_)
        | ExprNode::SpraysOf(..)
        | ExprNode::AmountOf(..)
        | ExprNode::AmountOfProduct(..)
        | ExprNode::Fitting { .. } => {
            found.insert("the spray log".to_owned());
        }
        ExprNode::LikelyRange(name) => {
            found.insert(plan[*name].word.to_string());
        }
        ExprNode::ShareOfTrees(..) => {
            found.insert("the other trees".to_owned());
        }
        _ => expr.each_part(&mut |part| of_expr(plan, part, found)),
    }
}

fn of_series(plan: &Plan, series: HourSeries, found: &mut BTreeSet<String>) {
    let yields = match series {
        HourSeries::Series(series) => {
            found.insert(series.word().to_owned());
            return;
        }
        HourSeries::Hourly(id) => plan.hourlies.get(id.index()).map(|it| &it.yields),
        HourSeries::Daily(id) => plan.dailies.get(id.index()).map(|it| &it.yields),
    };
    match yields {
        Some(Yields::Condition(condition)) => of_condition(plan, condition, found),
        Some(Yields::Value(expr)) => of_expr(plan, expr, found),
        None => {}
    }
}

fn of_condition(plan: &Plan, condition: &Condition, found: &mut BTreeSet<String>) {
    condition.each_test(&mut |test| match test.subject {
        Subject::Series(series) => of_series(plan, HourSeries::Series(series), found),
        Subject::Hourly(id) => of_series(plan, HourSeries::Hourly(id), found),
        Subject::Daily(id) => of_series(plan, HourSeries::Daily(id), found),
        Subject::Name(_) => {}
    });
}
