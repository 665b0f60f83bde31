//! How far back and ahead the windows of a rulebook reach, and which aggregates it has.

use super::aggregate::parts;
use crate::plan::{
    Aggregate, Condition, DailyId, Expr, ExprNode, HourSeries, NameId, Origin, Plan, Series, Subject, Tally,
    Test, Window, Yields,
};
use rustc_hash::FxHashMap;

/// Calls a function with every aggregate of a rulebook and its window.
pub(super) fn each_aggregate<'p>(plan: &'p Plan, f: &mut dyn FnMut(&'p Aggregate, &'p Window)) {
    for name in &plan.names {
        match &name.origin {
            Origin::Measure(measure) => in_expression(&measure.expr, f),
            Origin::Tally(tally) => tally.adds.iter().for_each(|add| in_expression(&add.amount, f)),
            Origin::Observed(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => {}
        }
    }
    let hourlies = plan.hourlies.iter().map(|hourly| &hourly.yields);
    for yields in hourlies.chain(plan.dailies.iter().map(|daily| &daily.yields)) {
        match yields {
            Yields::Value(expr) => in_expression(expr, f),
            Yields::Condition(_) => {}
        }
    }
}

fn in_expression<'p>(expr: &'p Expr, f: &mut dyn FnMut(&'p Aggregate, &'p Window)) {
    each_node(expr, &mut |node| {
        if let ExprNode::Aggregate(aggregate, window) = node {
            f(aggregate, window);
        }
    });
}

/// Calls a function with every node of an expression.
fn each_node<'p>(expr: &'p Expr, f: &mut dyn FnMut(&'p ExprNode)) {
    f(&expr.node);
    expr.each_part(&mut |part| each_node(part, f));
}

/// Returns whether a rulebook takes anything of a weather series.
pub fn reads(plan: &Plan, series: Series) -> bool {
    let is_of = |test: &Test| test.subject == Subject::Series(series);
    let mut found = false;
    let mut in_condition = |condition: &Condition| condition.each_test(&mut |test| found |= is_of(test));
    let yields = plan.hourlies.iter().map(|hourly| &hourly.yields);
    for yields in yields.chain(plan.dailies.iter().map(|daily| &daily.yields)) {
        if let Yields::Condition(condition) = yields {
            in_condition(condition);
        }
    }
    each_aggregate(plan, &mut |aggregate, _| {
        let (condition, of) = parts(aggregate);
        found |= of == Some(HourSeries::Series(series));
        if let Some(condition) = condition {
            condition.each_test(&mut |test| found |= is_of(test));
        }
    });
    let is_read = |yields: &Yields| match yields {
        Yields::Value(expr) => {
            let mut is = false;
            each_node(expr, &mut |node| is |= matches!(node, ExprNode::Series(of) if *of == series));
            is
        }
        Yields::Condition(_) => false,
    };
    found || plan.hourlies.iter().any(|hourly| is_read(&hourly.yields))
}

/// Which dailies and tallies differ with a tree's spray log, directly or by what they use.
pub(super) struct OfLog {
    pub(super) dailies: Vec<bool>,
    pub(super) tallies: FxHashMap<NameId, bool>,
}

impl OfLog {
    pub(super) fn new(plan: &Plan) -> Self {
        let tallies: Vec<(NameId, &Tally)> = plan
            .named()
            .filter_map(|(id, name)| match &name.origin {
                Origin::Tally(tally) => Some((id, tally)),
                _ => None,
            })
            .collect();
        let mut of_log = Self {
            dailies: plan.dailies.iter().map(|daily| daily.of_log).collect(),
            tallies: tallies.iter().map(|(id, _)| (*id, false)).collect(),
        };
        // What uses something of the log is of the log: at most one round for each definition.
        for _ in 0..=plan.dailies.len() + tallies.len() {
            let before = (of_log.dailies.clone(), of_log.tallies.clone());
            for (place, daily) in plan.dailies.iter().enumerate() {
                let mut is = of_log.dailies.get(place).copied().unwrap_or(true);
                match &daily.yields {
                    Yields::Condition(condition) => is |= of_log.condition(condition),
                    Yields::Value(expr) => is |= of_log.expression(expr),
                }
                is |= daily.valid_if.as_ref().is_some_and(|condition| of_log.condition(condition));
                if let Some(slot) = of_log.dailies.get_mut(place) {
                    *slot = is;
                }
            }
            for (id, tally) in &tallies {
                let conditions = [&tally.waits_for, &tally.reset].into_iter().flatten();
                let adds = tally.adds.iter().filter_map(|add| add.condition.as_ref());
                let is = conditions.chain(adds).any(|condition| of_log.condition(condition))
                    || tally.adds.iter().any(|add| of_log.expression(&add.amount));
                of_log.tallies.insert(*id, is);
            }
            if before == (of_log.dailies.clone(), of_log.tallies.clone()) {
                break;
            }
        }
        of_log
    }

    fn condition(&self, condition: &Condition) -> bool {
        let mut is = false;
        condition.each_test(&mut |test| {
            is |= match test.subject {
                Subject::Daily(id) => self.daily(id),
                Subject::Name(name) => self.name(name),
                Subject::Series(_) | Subject::Hourly(_) => false,
            };
        });
        is
    }

    pub(super) fn expression(&self, expr: &Expr) -> bool {
        let mut is = false;
        each_node(expr, &mut |node| {
            is |= match node {
                ExprNode::Daily(id) => self.daily(*id),
                ExprNode::Name(name) => self.name(*name),
                ExprNode::SpraysOf(..) | ExprNode::AmountOf(..) | ExprNode::AmountOfProduct(..) => true,
                ExprNode::Aggregate(aggregate, window) => {
                    let (condition, series) = parts(aggregate);
                    window.spray().is_some()
                        || matches!(window, Window::Since(_))
                        || condition.is_some_and(|condition| self.condition(condition))
                        || matches!(series, Some(HourSeries::Daily(id)) if self.daily(id))
                }
                _ => false,
            };
        });
        is
    }

    fn daily(&self, id: DailyId) -> bool {
        self.dailies.get(id.index()).copied().unwrap_or(false)
    }

    fn name(&self, name: NameId) -> bool {
        self.tallies.get(&name).copied().unwrap_or(false)
    }
}

/// Returns how many hours back and ahead of the advice the windows and spray hours of a rulebook reach.
pub(super) fn reach(plan: &Plan) -> (i64, i64) {
    let (mut back, mut ahead) = (48, hours(plan.head.window.1));
    for choice in &plan.choices {
        ahead = ahead.max(hours(choice.within.unwrap_or(0.0)));
    }
    let (mut more_back, mut more_ahead) = (0, 0);
    each_aggregate(plan, &mut |_, window| {
        let days = |count: u32| (i64::from(count) + 2).saturating_mul(25);
        match window {
            Window::LastHours(count) => back = back.max(i64::from(*count)),
            Window::NextHours(count) | Window::HoursAfterLast(count, _) => {
                ahead = ahead.max(i64::from(*count));
            }
            Window::LastDays(count) | Window::LastNights(count) => back = back.max(days(*count)),
            Window::NextDays(count) | Window::NextNights(count) => ahead = ahead.max(days(*count)),
            Window::Today | Window::Tonight => ahead = ahead.max(days(1)),
            Window::LastDaysAndToday(count) => (back, ahead) = (back.max(days(*count)), ahead.max(days(1))),
            Window::TodayAndNextDays(count) => ahead = ahead.max(days(*count)),
            Window::HoursToThatHour(count) => more_back = more_back.max(i64::from(*count)),
            Window::HoursAfterThatHour(count) => more_ahead = more_ahead.max(i64::from(*count)),
            Window::DaysToThatDay(count) => more_back = more_back.max(days(*count)),
            Window::ThisSeason
            | Window::ThatDay
            | Window::ThatNight
            | Window::SinceLast(_)
            | Window::SinceDate { .. }
            | Window::SinceDayOfYear { .. }
            | Window::Since(_) => {}
        }
    });
    ((back + more_back).min(MOST), (ahead + more_ahead).min(MOST))
}

/// Returns how many hours back columns are laid out before a window asks for more: as far as those reach whose length is
/// known, and a year for a season, and for what counts from a spray.
pub(super) fn usual_reach(plan: &Plan) -> i64 {
    const YEAR: i64 = 370 * 24;
    let (mut back, mut days) = (reach(plan).0, 0i64);
    let mut meet = |window: &Window| match window {
        Window::DaysToThatDay(count) => days = days.saturating_add((i64::from(*count) + 2) * 25),
        Window::ThisSeason
        | Window::SinceDayOfYear { .. }
        | Window::SinceDate { .. }
        | Window::SinceLast(_)
        | Window::HoursAfterLast(..)
        | Window::Since(_) => back = back.max(YEAR),
        _ => {}
    };
    each_aggregate(plan, &mut |_, window| meet(window));
    plan.names.iter().for_each(|name| {
        if let Origin::Tally(tally) = &name.origin {
            meet(&tally.over);
        }
    });
    back.saturating_add(days.min(MOST)).saturating_add(chained(plan))
}

/// Returns by how many hours hourly definitions look back one on another, at the most: so many of the first hours of the
/// columns are there for the others, and are not complete themselves.
pub(super) fn chained(plan: &Plan) -> i64 {
    let mut chained = 0i64;
    each_aggregate(plan, &mut |_, window| {
        if let Window::HoursToThatHour(count) = window {
            chained = chained.saturating_add(i64::from(*count));
        }
    });
    chained
}

/// Returns whether what a rulebook takes of an hour, or counts of hours, hangs on the moment of the advice: where it speaks of the
/// day, or looks back from now within an hour.
pub(super) fn hangs_on_the_moment(plan: &Plan) -> bool {
    let mut hangs = false;
    let names_one = |condition: &Condition| {
        let mut names = false;
        condition.each_test(&mut |test| names |= matches!(test.subject, Subject::Name(_)));
        names
    };
    each_aggregate(plan, &mut |aggregate, _| {
        hangs |= parts(aggregate).0.is_some_and(names_one);
    });
    for hourly in &plan.hourlies {
        match &hourly.yields {
            Yields::Condition(condition) => hangs |= names_one(condition),
            Yields::Value(expr) => each_node(expr, &mut |node| {
                hangs |= match node {
                    ExprNode::Name(_) => true,
                    ExprNode::Aggregate(_, window) => {
                        !matches!(window, Window::HoursToThatHour(_) | Window::HoursAfterThatHour(_))
                    }
                    _ => false,
                };
            }),
        }
    }
    hangs
}

/// The most hours in either direction for which clock and sun are laid out beyond the weather.
const MOST: i64 = 400 * 24;

fn hours(duration: f64) -> i64 {
    if duration.is_finite() { libm::ceil(duration.clamp(0.0, 1e6)) as i64 } else { 0 }
}
