//! What names computed from other names can be, when what they are computed from is given.

use crate::measure::{Carried, Cause, Extent, Truth, against, compare, evaluate, values};
use crate::plan::{
    Aggregate, Compare, Condition, Expr, ExprNode, HourSeries, Kind, NameId, Origin, Plan, ProductId, Series,
    Statistic, Subject, Window, Yields,
};
use std::ops::Not;

/// An extent on its way through an expression.
#[derive(Clone, Copy)]
struct Plain(Extent);

impl Carried for Plain {
    fn extent(&self) -> Extent {
        self.0
    }

    fn made_of(extent: Extent, _: &[&Self], _: Option<Cause>) -> Self {
        Self(extent)
    }
}

/// What gives the value of a name or of an expression that is no arithmetic.
pub(crate) trait Given {
    /// Returns what a name can be, where it is given.
    fn name(&self, name: NameId) -> Option<Extent>;

    /// Returns what an expression that is no arithmetic can be.
    fn leaf(&self, expr: &Expr) -> Extent;

    /// Takes what a name was computed to be, to be given from then on where that spares work.
    fn keep(&self, _name: NameId, _extent: Extent) {}
}

/// Returns what a name can be: as given, or computed from what is given.
pub(crate) fn of_name(plan: &Plan, name: NameId, given: &dyn Given) -> Extent {
    if let Some(extent) = given.name(name) {
        return extent;
    }
    let extent = of_definition(plan, name, given);
    given.keep(name, extent);
    extent
}

/// Returns all that a name can be, one by one where it is looked up.
pub(super) fn values_of_name(plan: &Plan, name: NameId, given: &dyn Given) -> Vec<Extent> {
    if let Origin::Measure(measure) = &plan[name].origin
        && measure.valid_if.is_none()
        && let ExprNode::Lookup(table, keys) = &*measure.expr.node
        && let Some(table) = plan.tables.get(table.index())
        && given.name(name).is_none()
    {
        let keys: Vec<Extent> = keys.iter().map(|key| of_expr(plan, key, given)).collect();
        return values(plan, table, &keys);
    }
    vec![of_name(plan, name, given)]
}

fn of_definition(plan: &Plan, name: NameId, given: &dyn Given) -> Extent {
    match &plan[name].origin {
        Origin::Measure(measure) => {
            let extent = of_expr(plan, &measure.expr, given);
            match measure.valid_if.as_ref().map(|valid| of_condition(plan, valid, given)) {
                None | Some(Truth::Yes) => extent,
                Some(Truth::No) => Extent::EMPTY,
                Some(Truth::Open) => extent.or_empty(),
            }
        }
        Origin::Band(band) => {
            let rows: Vec<(bool, u16, Truth)> = band
                .rows
                .iter()
                .map(|row| (row.caps, row.level, of_condition(plan, &row.condition, given)))
                .collect();
            Extent::words(crate::measure::grade(rows.into_iter()))
        }
        Origin::Observed(_) | Origin::Tally(_) | Origin::Cultivar | Origin::Block | Origin::Date => {
            domain(plan, name)
        }
    }
}

/// Returns what an expression can be.
pub(crate) fn of_expr(plan: &Plan, expr: &Expr, given: &dyn Given) -> Extent {
    let made = evaluate(expr, plan, &mut |leaf| match &*leaf.node {
        ExprNode::Name(name) => Plain(of_name(plan, *name, given)),
        _ => Plain(given.leaf(leaf)),
    });
    made.0
}

/// Returns whether a condition holds, as far as is given.
pub(crate) fn of_condition(plan: &Plan, condition: &Condition, given: &dyn Given) -> Truth {
    match condition {
        Condition::Test(test) => {
            let Subject::Name(name) = test.subject else { return Truth::Open };
            let extent = of_name(plan, name, given);
            match test.compare {
                Compare::Name(order, other) => {
                    against(order, &plan[name], extent, of_name(plan, other, given))
                }
                _ => compare(extent, &test.compare),
            }
        }
        Condition::Not(inner) => of_condition(plan, inner, given).not(),
        Condition::All(parts) => Truth::all(parts.iter().map(|part| of_condition(plan, part, given))),
        Condition::Any(parts) => Truth::any(parts.iter().map(|part| of_condition(plan, part, given))),
    }
}

/// Returns all that a name which is not computed can be.
pub(crate) fn domain(plan: &Plan, name: NameId) -> Extent {
    let anything = Extent::anything(plan[name].kind, plan);
    match &plan[name].origin {
        Origin::Observed(seen) => match seen.range {
            Some((low, high)) => Extent::between(low, high),
            None => anything,
        },
        Origin::Tally(tally) => {
            let kept = tally.kept.map_or(anything, |(low, high)| Extent::between(low, high));
            if tally.waits_for.is_some() { kept.or_empty() } else { kept }
        }
        Origin::Measure(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => anything,
    }
}

/// Returns all that an expression which is no arithmetic can be.
pub(crate) fn domain_of_leaf(plan: &Plan, expr: &Expr) -> Extent {
    let anything = Extent::anything(expr.kind, plan);
    let not_negative = Extent::between(0.0, f64::INFINITY);
    match &*expr.node {
        ExprNode::DaysSinceLast(_)
        | ExprNode::SpraysInARow(_)
        | ExprNode::SpraysOf(..)
        | ExprNode::AmountOf(..)
        | ExprNode::AmountOfProduct(..) => not_negative,
        ExprNode::ShareOfPanicles(_) | ExprNode::ShareOfTrees(..) => Extent::between(0.0, 1.0),
        ExprNode::OfPanicles(_, name) | ExprNode::LikelyRange(name) => domain(plan, *name),
        ExprNode::Fitting { product, .. } => Extent::words(strengths(plan, *product)),
        ExprNode::Aggregate(aggregate, window) => {
            let extent = of_aggregate(plan, aggregate, window).unwrap_or(anything);
            // There may have been no such spray, or the date lies ahead.
            let may_not_be = window.spray().is_some() || matches!(window, Window::Since(_));
            if may_not_be { extent.or_empty() } else { extent }
        }
        _ => anything,
    }
}

fn strengths(plan: &Plan, product: ProductId) -> u64 {
    let count = plan.products.get(product.index()).map_or(0, |product| product.strengths.len().min(62));
    (1u64 << (count + 1)) - 1
}

fn of_aggregate(plan: &Plan, aggregate: &Aggregate, window: &Window) -> Option<Extent> {
    let (hours, days) = length(window);
    match aggregate {
        Aggregate::Hours(_) | Aggregate::Spell(_) => Some(Extent::between(0.0, hours)),
        Aggregate::Spells(_, least) => Some(Extent::between(0.0, hours / least.max(1.0))),
        Aggregate::Days(..) => Some(Extent::between(0.0, days)),
        Aggregate::Of(statistic, series) => {
            let extent = of_series(plan, *series)?;
            // A daily value may be empty on every day.
            let extent = of_statistic(*statistic, extent);
            let daily = matches!(series, HourSeries::Daily(_)) && *statistic != Statistic::Total;
            Some(if daily { extent.or_empty() } else { extent })
        }
        Aggregate::While(statistic, series, _) | Aggregate::InSpell(statistic, series, _) => {
            let extent = of_statistic(*statistic, of_series(plan, *series)?);
            Some(if *statistic == Statistic::Total { extent } else { extent.or_empty() })
        }
    }
}

fn of_statistic(statistic: Statistic, of: Extent) -> Extent {
    match (statistic, of.ends()) {
        (Statistic::Total, Some((low, _))) if low >= 0.0 => Extent::between(0.0, f64::INFINITY),
        (Statistic::Total, Some(_)) => Extent::between(f64::NEG_INFINITY, f64::INFINITY),
        _ => Extent { may_be_empty: false, ..of },
    }
}

/// Returns the hours and the days that a window can have at most.
fn length(window: &Window) -> (f64, f64) {
    // A day on which the clock is put back has 25 hours.
    let days = |count: u32| (f64::from(count) * 24.0 + 1.0, f64::from(count));
    match window {
        Window::LastHours(hours) | Window::NextHours(hours) | Window::HoursAfterLast(hours, _) => {
            (f64::from(*hours), f64::from(*hours) / 24.0 + 1.0)
        }
        Window::LastDays(count)
        | Window::NextDays(count)
        | Window::LastNights(count)
        | Window::NextNights(count)
        | Window::DaysToThatDay(count) => days(*count),
        Window::LastDaysAndToday(count) | Window::TodayAndNextDays(count) => days(count + 1),
        Window::Today | Window::Tonight | Window::ThatDay | Window::ThatNight => days(1),
        Window::HoursToThatHour(hours) | Window::HoursAfterThatHour(hours) => (f64::from(*hours), 1.0),
        Window::ThisSeason
        | Window::SinceLast(_)
        | Window::SinceDate { .. }
        | Window::SinceDayOfYear { .. }
        | Window::Since(_) => (f64::INFINITY, f64::INFINITY),
    }
}

pub(crate) fn of_series(plan: &Plan, series: HourSeries) -> Option<Extent> {
    match series {
        HourSeries::Series(series) => Some(of_weather(series)),
        HourSeries::Hourly(id) => match &plan.hourlies.get(id.index())?.yields {
            Yields::Condition(_) => Some(Extent::YES_OR_NO),
            Yields::Value(expr) => Some(of_expr(plan, expr, &Anything { plan })),
        },
        HourSeries::Daily(id) => match &plan.dailies.get(id.index())?.yields {
            Yields::Condition(_) => Some(Extent::YES_OR_NO),
            Yields::Value(expr) => Some(of_expr(plan, expr, &Anything { plan })),
        },
    }
}

fn of_weather(series: Series) -> Extent {
    match series {
        Series::Humidity | Series::LeafWet => Extent::between(0.0, 1.0),
        Series::Rain
        | Series::Wind
        | Series::Gust
        | Series::DeltaT
        | Series::VapourDeficit
        | Series::AfterSunset => Extent::between(0.0, f64::INFINITY),
        Series::Clock => Extent::between(0.0, 24.0),
        Series::AfterSunrise => Extent::between(-24.0, 25.0),
        Series::Daylight => Extent::YES_OR_NO,
        Series::Temperature | Series::DewPoint | Series::WetBulb => {
            Extent::between(f64::NEG_INFINITY, f64::INFINITY)
        }
    }
}

/// Everything may be anything.
pub(crate) struct Anything<'p> {
    pub(crate) plan: &'p Plan,
}

impl Given for Anything<'_> {
    fn name(&self, _: NameId) -> Option<Extent> {
        None
    }

    fn leaf(&self, expr: &Expr) -> Extent {
        match &*expr.node {
            ExprNode::Series(series) => of_weather(*series),
            ExprNode::Hourly(id) => {
                of_series(self.plan, HourSeries::Hourly(*id)).unwrap_or(Extent::YES_OR_NO)
            }
            ExprNode::Daily(id) => of_series(self.plan, HourSeries::Daily(*id)).unwrap_or(Extent::YES_OR_NO),
            _ => domain_of_leaf(self.plan, expr),
        }
    }
}

/// Returns whether an expression is arithmetic on others.
pub(super) fn is_arithmetic(expr: &Expr) -> bool {
    matches!(
        &*expr.node,
        ExprNode::Number(_)
            | ExprNode::Word(_)
            | ExprNode::Arithmetic(..)
            | ExprNode::InUnit(..)
            | ExprNode::Kept(..)
            | ExprNode::Rounded(..)
            | ExprNode::OrElse(..)
            | ExprNode::Pick(..)
            | ExprNode::Function(..)
            | ExprNode::Lookup(..)
    )
}

/// Returns whether values of a kind are whole numbers.
pub(crate) fn is_whole(kind: Kind) -> bool {
    matches!(kind, Kind::Count | Kind::Date)
}
