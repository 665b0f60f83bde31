//! Values of days, and aggregates over days.

use super::aggregate::{Hour, Taking, parts, take_steps};
use super::aggregate_statistic::{Member, statistic};
use super::arithmetic::Carried;
use super::history::History;
use super::series::{Holds, Reach, Taken, judge};
use super::weather_measures::{Both, WeatherMeasures, locked};
use super::window::{Anchor, FoundWindow, shift};
use super::{Cause, Extent, LogGap, NoValue, Reading, Steps, WeatherGap, evaluate};
use super::{Truth, compare};
use crate::plan::{
    Aggregate, Compare, Condition, Counted, DailyId, Expr, ExprNode, HourSeries, Kind, Origin, Subject, Test,
    Window, Yields,
};
use chrono::{Datelike, NaiveDate};
use std::sync::Arc;

/// A daily, its day, and the history of the trees for which it was computed.
pub(super) type DayKey = (u32, NaiveDate, usize);

/// An aggregate, its first day and the one after its last, and the history of the trees.
pub(super) type DaysKey = (u32, NaiveDate, NaiveDate, usize);

/// The most days of one window.
pub(super) const MOST_DAYS: i64 = 20_000;

/// What days are computed for: a tree's history, and how deep definitions have been followed.
#[derive(Clone, Copy)]
pub(super) struct DayContext<'h> {
    pub(super) history: &'h dyn History,
    pub(super) depth: u32,
}

impl<'h> DayContext<'h> {
    pub(super) fn new(history: &'h dyn History) -> Self {
        Self { history, depth: 0 }
    }

    /// Goes one definition deeper; nothing where definitions must be going in a circle.
    pub(super) fn deeper(self) -> Option<Self> {
        (self.depth < 48).then_some(Self { depth: self.depth + 1, ..self })
    }
}

impl WeatherMeasures<'_> {
    /// Returns the value of a `daily` on a day, for trees with a history.
    pub fn daily(&self, id: DailyId, date: NaiveDate, history: &dyn History) -> Reading {
        let taken = self.day_value(id, date, DayContext::new(history));
        let cause = match taken.reach {
            _ if taken.extent.is_empty() => Some(Cause::Empty(NoValue::On(date))),
            _ if taken.extent.is_settled() => None,
            Reach::Beyond => Some(Cause::Weather(WeatherGap::DayBeyond(date))),
            Reach::Missing => Some(Cause::Weather(WeatherGap::DayLacking(date))),
            Reach::Sound => Some(self.doubt(self.daily_of_log(id), Steps::Hours)),
        };
        Reading { extent: taken.extent, cause, forecast: taken.forecast, assumed: false }
    }

    /// Returns why a value of days is in doubt without a fault of the weather's reach.
    pub(super) fn doubt(&self, of_log: bool, step: Steps) -> Cause {
        if of_log { Cause::Sprays(LogGap::Enough) } else { Cause::Weather(WeatherGap::Doubt(step)) }
    }

    /// Returns the value of a `daily` on a day.
    pub(super) fn day_value(&self, id: DailyId, date: NaiveDate, context: DayContext<'_>) -> Taken {
        let Some(daily) = self.plan.dailies.get(id.index()) else { return Taken::sound(Extent::EMPTY) };
        let key = (id.0, date, self.history_number(self.daily_of_log(id), context.history));
        if let Some(known) = locked(&self.days).get(&key) {
            return *known;
        }
        let Some(context) = context.deeper() else {
            return Taken::sound(Extent::anything(daily.kind, self.plan));
        };
        let value = match &daily.yields {
            Yields::Condition(condition) => {
                let holds = self.judge_day(condition, date, context);
                Taken { extent: holds.truth.extent(), reach: holds.reach, forecast: holds.forecast }
            }
            Yields::Value(expr) => self.value_on(expr, date, daily.begins, context),
        };
        let value = match &daily.valid_if {
            Some(condition) => {
                let holds = self.judge_day(condition, date, context);
                let extent = match holds.truth {
                    Truth::No => Extent::EMPTY,
                    Truth::Open => value.extent.or_empty(),
                    Truth::Yes => value.extent,
                };
                let valid = Taken { extent, reach: holds.reach, forecast: holds.forecast };
                Taken::made_of(extent, &[&value, &valid], None)
            }
            None => value,
        };
        locked(&self.days).insert(key, value);
        value
    }

    /// Judges a condition on a day.
    pub(super) fn judge_day(&self, condition: &Condition, date: NaiveDate, context: DayContext<'_>) -> Holds {
        judge(condition, &mut |test: &Test| match test.subject {
            Subject::Daily(id) => self.day_value(id, date, context),
            Subject::Name(name) => self.name_on(name, date, context),
            Subject::Series(_) | Subject::Hourly(_) => Taken::sound(Extent::YES_OR_NO),
        })
    }

    /// Returns the value of a tally on a day; any other name is that of all trees.
    fn name_on(&self, name: crate::plan::NameId, date: NaiveDate, context: DayContext<'_>) -> Taken {
        match self.plan.names.get(name.index()).map(|name| &name.origin) {
            Some(Origin::Tally(tally)) => self.tally_on(name, tally, date, context),
            _ => Taken::sound(self.name_of_all(name)),
        }
    }

    /// Computes an expression on a day.
    pub(super) fn value_on(
        &self,
        expr: &Expr,
        date: NaiveDate,
        begins: u16,
        context: DayContext<'_>,
    ) -> Taken {
        evaluate(expr, self.plan, &mut |leaf| match &*leaf.node {
            ExprNode::Daily(id) => self.day_value(*id, date, context),
            ExprNode::Name(name) => self.name_on(*name, date, context),
            ExprNode::Aggregate(aggregate, window) => {
                let anchor = Anchor::Day(date, begins);
                if self.is_of_days(aggregate) {
                    return self.days_taken(aggregate, window, anchor, leaf.kind, context);
                }
                match self.now.hours(window, anchor, context.history) {
                    FoundWindow::Is(stretches) => {
                        self.taken_over(aggregate, &stretches).0.taken(self, self.kind_of(aggregate))
                    }
                    FoundWindow::Never(_) => Taken::sound(Extent::EMPTY),
                    FoundWindow::Unknown(_) | FoundWindow::AnyOf(..) => {
                        Taken::sound(Extent::anything(leaf.kind, self.plan).or_empty())
                    }
                }
            }
            ExprNode::SpraysOf(what, Counted::ThatDay) => {
                Taken::sound(context.history.sprays_on(date, begins, what).extent)
            }
            ExprNode::AmountOf(ingredient, Counted::ThatDay) => {
                Taken::sound(context.history.amount_on(date, begins, ingredient).extent)
            }
            _ => Taken::sound(Extent::anything(leaf.kind, self.plan)),
        })
    }

    /// Returns whether an aggregate is one of days.
    pub(super) fn is_of_days(&self, aggregate: &Aggregate) -> bool {
        matches!(parts(aggregate).1, Some(HourSeries::Daily(_)))
    }

    fn days_taken(
        &self,
        aggregate: &Aggregate,
        window: &Window,
        anchor: Anchor,
        kind: Kind,
        context: DayContext<'_>,
    ) -> Taken {
        match self.now.days(window, self.begins_of(aggregate), anchor, context.history) {
            FoundWindow::Is((from, to)) => {
                let (taking, _) = &*self.taken_over_days(aggregate, from, to, context);
                taking.taken(self, self.kind_of(aggregate))
            }
            FoundWindow::Never(_) => Taken::sound(Extent::EMPTY),
            FoundWindow::Unknown(_) | FoundWindow::AnyOf(..) => {
                Taken::sound(Extent::anything(kind, self.plan).or_empty())
            }
        }
    }

    /// Takes an aggregate of days over a window.
    pub(super) fn aggregate_of_days(
        &self,
        aggregate: &Aggregate,
        window: &Window,
        anchor: Anchor,
        history: &dyn History,
    ) -> (Option<(NaiveDate, NaiveDate)>, Reading) {
        let found = self.now.days(window, self.begins_of(aggregate), anchor, history);
        let days = match &found {
            FoundWindow::Is(days) => Some(*days),
            FoundWindow::Never(_) | FoundWindow::Unknown(_) | FoundWindow::AnyOf(..) => None,
        };
        let context = DayContext::new(history);
        let reading = self.reading_of(found, self.kind_of(aggregate), aggregate, &mut |(from, to)| {
            self.taken_over_days(aggregate, from, to, context).1.clone()
        });
        (days, reading)
    }

    pub(super) fn begins_of(&self, aggregate: &Aggregate) -> u16 {
        match parts(aggregate).1 {
            Some(HourSeries::Daily(id)) => self.plan.dailies.get(id.index()).map_or(0, |daily| daily.begins),
            Some(HourSeries::Series(_) | HourSeries::Hourly(_)) | None => 0,
        }
    }

    /// Takes an aggregate over days, once for all trees with one history.
    pub(super) fn taken_over_days(
        &self,
        aggregate: &Aggregate,
        from: NaiveDate,
        to: NaiveDate,
        context: DayContext<'_>,
    ) -> Both {
        let of_log = self.aggregate_of_log(aggregate);
        let number = self.with_prepared(aggregate, |number, _| number);
        let key = (number, from, to, self.history_number(of_log, context.history));
        if let Some(known) = locked(&self.days_taken).get(&key) {
            return known.clone();
        }
        let taking = self.take_days(aggregate, from, to, context);
        let mut reading = taking.reading(self, self.kind_of(aggregate), Steps::Days);
        if of_log && taking.missing == 0 && taking.beyond == 0 && !reading.extent.is_settled() {
            reading.cause = Some(self.doubt(true, Steps::Days));
        }
        let made = Arc::new((taking, reading));
        locked(&self.days_taken).insert(key, made.clone());
        made
    }

    fn aggregate_of_log(&self, aggregate: &Aggregate) -> bool {
        let (condition, series) = parts(aggregate);
        let mut of_log = match series {
            Some(HourSeries::Daily(id)) => self.daily_of_log(id),
            Some(HourSeries::Series(_) | HourSeries::Hourly(_)) | None => false,
        };
        if let Some(condition) = condition {
            condition.each_test(&mut |test| of_log |= self.subject_of_log(test.subject));
        }
        of_log
    }

    fn take_days(
        &self,
        aggregate: &Aggregate,
        from: NaiveDate,
        to: NaiveDate,
        context: DayContext<'_>,
    ) -> Taking {
        let count = (to - from).num_days().max(0);
        let mut taking = Taking { steps: count, ..Taking::default() };
        if count > MOST_DAYS {
            taking.beyond = count;
            return taking;
        }
        let (condition, series) = parts(aggregate);
        let Some(HourSeries::Daily(id)) = series else { return taking };
        let bare = Compare::Words(0b10);
        let days: Vec<Hour> = (0..count)
            .map(|ahead| {
                let date = shift(from, ahead);
                let value = self.day_value(id, date, context);
                let holds = match (aggregate, condition) {
                    (Aggregate::Days(_, with), _) => {
                        let truth = compare(value.extent, with.as_ref().unwrap_or(&bare));
                        let reach = if truth == Truth::Open { value.reach } else { Reach::Sound };
                        Holds { truth, reach, forecast: value.forecast }
                    }
                    (_, Some(condition)) => self.judge_day(condition, date, context),
                    (_, None) => Holds { truth: Truth::Yes, reach: Reach::Sound, forecast: false },
                };
                Hour { at: i64::from(date.num_days_from_ce()), holds, value: Some(value) }
            })
            .collect();
        match aggregate {
            Aggregate::Days(..) => {
                let truths: Vec<Hour> = days.into_iter().map(|day| Hour { value: None, ..day }).collect();
                take_steps(&Aggregate::Hours(Condition::All(Vec::new())), &truths, 1.0, &mut taking);
            }
            Aggregate::Of(which, _) => {
                let members: Vec<Member> =
                    days.iter().filter_map(|day| Some(Member { taken: day.value?, certain: true })).collect();
                take_steps(aggregate, &days, 24.0, &mut taking);
                taking.extent = statistic(*which, &members).extent;
            }
            Aggregate::Hours(_)
            | Aggregate::Spell(_)
            | Aggregate::Spells(..)
            | Aggregate::While(..)
            | Aggregate::InSpell(..) => take_steps(aggregate, &days, 24.0, &mut taking),
        }
        taking
    }
}
