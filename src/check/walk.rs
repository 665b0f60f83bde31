//! What the pieces of a plan are made of.
//!
//! Comes in: expressions and conditions of a plan. Goes out: every name, hourly, daily and window in them.

use crate::plan::{
    Aggregate, Compare, Condition, Expr, ExprNode, HourSeries, Origin, Plan, Spell, Subject, Window, Yields,
};

/// A piece that something is made of.
#[derive(Clone, Copy)]
pub(super) enum WalkedPiece<'p> {
    /// A name, an hourly, a daily or a series.
    Subject(Subject),
    /// A window.
    Window(&'p Window),
}

type Visit<'v, 'p> = &'v mut dyn FnMut(WalkedPiece<'p>);

/// Calls a function with everything that a name, an hourly or a daily is made of directly.
pub(super) fn of_subject<'p>(plan: &'p Plan, subject: Subject, visit: Visit<'_, 'p>) {
    match subject {
        Subject::Series(_) => {}
        Subject::Hourly(id) => {
            if let Some(hourly) = plan.hourlies.get(id.index()) {
                yields(&hourly.yields, visit);
            }
        }
        Subject::Daily(id) => {
            if let Some(daily) = plan.dailies.get(id.index()) {
                yields(&daily.yields, visit);
                daily.valid_if.iter().for_each(|it| condition(it, visit));
            }
        }
        Subject::Name(id) => {
            if let Some(name) = plan.names.get(id.index()) {
                origin(&name.origin, visit);
            }
        }
    }
}

fn origin<'p>(it: &'p Origin, visit: Visit<'_, 'p>) {
    match it {
        Origin::Cultivar | Origin::Block | Origin::Date => {}
        Origin::Observed(seen) => {
            let assumed = seen.assume.as_ref().and_then(|assume| assume.condition.as_ref());
            assumed.iter().for_each(|it| condition(it, visit));
        }
        Origin::Measure(measure) => {
            expression(&measure.expr, visit);
            measure.valid_if.iter().for_each(|it| condition(it, visit));
        }
        Origin::Tally(tally) => {
            window(&tally.over, visit);
            for it in [&tally.waits_for, &tally.reset].into_iter().flatten() {
                condition(it, visit);
            }
            for add in &tally.adds {
                expression(&add.amount, visit);
                add.condition.iter().for_each(|it| condition(it, visit));
            }
        }
        Origin::Band(band) => band.rows.iter().for_each(|row| condition(&row.condition, visit)),
    }
}

fn yields<'p>(it: &'p Yields, visit: Visit<'_, 'p>) {
    match it {
        Yields::Condition(it) => condition(it, visit),
        Yields::Value(it) => expression(it, visit),
    }
}

/// Calls a function with everything that a condition speaks of directly.
pub(super) fn condition<'p>(it: &'p Condition, visit: Visit<'_, 'p>) {
    it.each_test(&mut |test| {
        visit(WalkedPiece::Subject(test.subject));
        compare(&test.compare, visit);
    });
}

fn compare(it: &Compare, visit: Visit<'_, '_>) {
    match it {
        Compare::Name(_, id) => visit(WalkedPiece::Subject(Subject::Name(*id))),
        Compare::Not(inner) => compare(inner, visit),
        Compare::Numbers { .. }
        | Compare::NumberIsOneOf(_)
        | Compare::Words(_)
        | Compare::Texts(_)
        | Compare::DaysOfYear(..) => {}
    }
}

fn series<'p>(it: HourSeries, visit: Visit<'_, 'p>) {
    visit(WalkedPiece::Subject(match it {
        HourSeries::Series(series) => Subject::Series(series),
        HourSeries::Hourly(id) => Subject::Hourly(id),
        HourSeries::Daily(id) => Subject::Daily(id),
    }));
}

fn spell<'p>(it: &'p Spell, visit: Visit<'_, 'p>) {
    condition(&it.condition, visit);
}

fn window<'p>(it: &'p Window, visit: Visit<'_, 'p>) {
    visit(WalkedPiece::Window(it));
    if let Window::Since(id) = it {
        visit(WalkedPiece::Subject(Subject::Name(*id)));
    }
}

fn expression<'p>(it: &'p Expr, visit: Visit<'_, 'p>) {
    let mut met = |subject| visit(WalkedPiece::Subject(subject));
    match &*it.node {
        ExprNode::Number(_)
        | ExprNode::Word(_)
        | ExprNode::DaysSinceLast(_)
        | ExprNode::DaysToHarvest
        | ExprNode::SpraysInARow(_)
        | ExprNode::SpraysOf(..)
        | ExprNode::AmountOf(..)
        | ExprNode::AmountOfProduct(..) => {}
        ExprNode::Name(id)
        | ExprNode::DaysSince(id)
        | ExprNode::DaysTo(id)
        | ExprNode::OfPanicles(_, id)
        | ExprNode::LikelyRange(id) => met(Subject::Name(*id)),
        ExprNode::Series(series) => met(Subject::Series(*series)),
        ExprNode::Hourly(id) => met(Subject::Hourly(*id)),
        ExprNode::Daily(id) => met(Subject::Daily(*id)),
        ExprNode::Fitting { used, .. } => used.iter().for_each(|id| met(Subject::Name(*id))),
        ExprNode::Arithmetic(_, a, b) | ExprNode::OrElse(a, b) | ExprNode::Pick(_, a, b) => {
            expression(a, visit);
            expression(b, visit);
        }
        ExprNode::InUnit(a, _) | ExprNode::Rounded(a, _, _) | ExprNode::Function(_, a) => {
            expression(a, visit)
        }
        ExprNode::Kept(a, b, c) => [a, b, c].into_iter().for_each(|it| expression(it, visit)),
        ExprNode::Lookup(_, keys) => keys.iter().for_each(|key| expression(key, visit)),
        ExprNode::Panicles(_, it) | ExprNode::ShareOfPanicles(it) | ExprNode::ShareOfTrees(_, it) => {
            condition(it, visit);
        }
        ExprNode::Aggregate(aggregate, over) => {
            match aggregate {
                Aggregate::Hours(it) | Aggregate::Spells(it, _) => condition(it, visit),
                Aggregate::Spell(it) => spell(it, visit),
                Aggregate::Days(id, _) => visit(WalkedPiece::Subject(Subject::Daily(*id))),
                Aggregate::Of(_, it) => series(*it, visit),
                Aggregate::While(_, it, when) => {
                    series(*it, visit);
                    condition(when, visit);
                }
                Aggregate::InSpell(_, it, within) => {
                    series(*it, visit);
                    spell(within, visit);
                }
            }
            window(over, visit);
        }
    }
}
