//! Which names an item is made from.
//!
//! Comes in: an item. Goes out: every name in it that could stand for another item. Knows no meaning.

use crate::syntax::tree::{
    Aggregate, Clause, Comparison, Condition, Expression, Item, Name, Node, Spell, Value, Window,
};

/// Where a name stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    /// For what is judged or reckoned with.
    AsName,
    /// At the place of a value, where a figure may stand and a word of a list.
    AsValue,
}

type Visit<'v, 'a> = &'v mut dyn FnMut(&'a str, Stands);

/// Calls a function with every name that an item is made from.
pub(super) fn of_item<'a>(item: &Item<'a>, visit: Visit<'_, 'a>) {
    for clause in &item.clauses {
        match &clause.value {
            Clause::Value(it) | Clause::Starts(it) => value(it, visit),
            Clause::Range(low, high) | Clause::Kept(low, high) => {
                value(low, visit);
                value(high, visit);
            }
            Clause::Assume(it, when) => {
                value(it, visit);
                when.iter().for_each(|when| condition(when, visit));
            }
            Clause::Holds(it) | Clause::ValidIf(it) | Clause::WaitsFor(it) | Clause::Reset(it) => {
                condition(it, visit);
            }
            Clause::Yields(it) => expression(it, visit),
            Clause::Over(it) => window(&it.value, visit),
            Clause::Add(amount, when) => {
                expression(amount, visit);
                when.iter().for_each(|when| condition(when, visit));
            }
            Clause::BandRow(row) => condition(&row.condition, visit),
            _ => {}
        }
    }
}

fn name<'a>(it: &Name<'a>, visit: Visit<'_, 'a>) {
    visit(it.value, Stands::AsName);
}

fn value<'a>(it: &Value<'a>, visit: Visit<'_, 'a>) {
    if let Value::Name(it) = it {
        visit(it.value, Stands::AsValue);
    }
}

fn condition<'a>(it: &Condition<'a>, visit: Visit<'_, 'a>) {
    match it {
        Condition::All(parts) | Condition::Any(parts) => parts.iter().for_each(|part| condition(part, visit)),
        Condition::Not(inner, _) | Condition::Parenthesis(inner, _) | Condition::Panicles(_, inner, _) => {
            condition(inner, visit);
        }
        Condition::Bare(it) => name(it, visit),
        Condition::Test(it, with, _) => {
            name(it, visit);
            comparison(with, visit);
        }
    }
}

fn comparison<'a>(it: &Comparison<'a>, visit: Visit<'_, 'a>) {
    match it {
        Comparison::AtLeast(a)
        | Comparison::AtMost(a)
        | Comparison::Above(a)
        | Comparison::Below(a)
        | Comparison::Is(a)
        | Comparison::IsNot(a) => value(a, visit),
        Comparison::IsOneOf(list) => list.iter().for_each(|it| value(it, visit)),
        Comparison::FromTo(a, b) | Comparison::FromToBelow(a, b) => {
            value(a, visit);
            value(b, visit);
        }
    }
}

fn expression<'a>(it: &Expression<'a>, visit: Visit<'_, 'a>) {
    match &*it.node {
        Node::Literal(_)
        | Node::DaysSinceLast(_)
        | Node::DaysToHarvest
        | Node::SpraysInARow(_)
        | Node::SpraysOf(..)
        | Node::AmountOf(..) => {}
        Node::Name(it)
        | Node::DaysSince(it)
        | Node::DaysTo(it)
        | Node::OfPanicles(_, it)
        | Node::LikelyRange(it) => {
            name(it, visit);
        }
        Node::Parenthesis(inner)
        | Node::InUnit(inner, _)
        | Node::Rounded(inner, _)
        | Node::Function(_, inner) => expression(inner, visit),
        Node::Arithmetic(_, a, b) | Node::OrElse(a, b) | Node::Pick(_, a, b) => {
            expression(a, visit);
            expression(b, visit);
        }
        Node::Kept(a, b, c) => [a, b, c].into_iter().for_each(|it| expression(it, visit)),
        Node::Lookup(_, keys) => keys.iter().for_each(|key| expression(key, visit)),
        Node::Panicles(_, it) | Node::ShareOfPanicles(it) | Node::ShareOfTrees(_, it) => condition(it, visit),
        Node::Aggregate(aggregate, over) => {
            match aggregate {
                Aggregate::Hours(it) | Aggregate::Spells(it, _) => condition(it, visit),
                Aggregate::Spell(it) => spell(it, visit),
                Aggregate::Days(it, with) => {
                    name(it, visit);
                    with.iter().for_each(|with| comparison(with, visit));
                }
                Aggregate::Of(_, it) => name(it, visit),
                Aggregate::While(_, it, when) => {
                    name(it, visit);
                    condition(when, visit);
                }
                Aggregate::InSpell(_, it, within) => {
                    name(it, visit);
                    spell(within, visit);
                }
            }
            window(&over.value, visit);
        }
    }
}

fn spell<'a>(it: &Spell<'a>, visit: Visit<'_, 'a>) {
    condition(&it.condition, visit);
}

fn window<'a>(it: &Window<'a>, visit: Visit<'_, 'a>) {
    if let Window::Since(it) = it {
        name(it, visit);
    }
}
