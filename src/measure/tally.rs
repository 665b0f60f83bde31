//! Running totals over days.

use super::Truth;
use super::daily::{DayContext, MOST_DAYS};
use super::history::History;
use super::series::{Reach, Taken, lacks_too_many};
use super::weather_measures::{WeatherMeasures, locked};
use super::window::{Anchor, FoundWindow, shift};
use super::{Cause, Extent, NoValue, Possible, Reading, Steps, WeatherGap};
use crate::plan::{Kind, NameId, Origin, Tally};
use chrono::NaiveDate;
use rustc_hash::FxHashMap;

/// The states of tallies day by day, for a first day and a history.
pub(super) type Runs = FxHashMap<(NameId, NaiveDate, usize), Vec<State>>;

/// A tally at the end of a day.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct State {
    /// What it can be; it may be empty as long as it may still be waiting.
    extent: Extent,
    /// How many days went into it since it was last certain.
    days: i64,
    /// How many of these the weather has too little of.
    missing: i64,
    beyond: i64,
    forecast: bool,
}

impl State {
    fn before(tally: &Tally) -> Self {
        let extent = if tally.waits_for.is_some() { Extent::EMPTY } else { Extent::number(tally.starts) };
        Self { extent, days: 0, missing: 0, beyond: 0, forecast: false }
    }

    fn note(&mut self, reach: Reach) {
        match reach {
            Reach::Sound => {}
            Reach::Missing => self.missing += 1,
            Reach::Beyond => self.beyond += 1,
        }
    }

    fn reach(&self, gaps: f64) -> Reach {
        if self.extent.is_settled() {
            Reach::Sound
        } else if self.beyond > 0 {
            Reach::Beyond
        } else if lacks_too_many(self.missing, self.days, gaps) {
            Reach::Missing
        } else {
            Reach::Sound
        }
    }
}

impl WeatherMeasures<'_> {
    /// Returns the value of a tally at the end of its last whole day, for trees with a history.
    pub fn tally(&self, name: NameId, history: &dyn History) -> Reading {
        let Some((tally, kind)) = self.tally_of(name) else { return Reading::known(Extent::EMPTY) };
        let found = self.now.days(&tally.over, tally.begins, Anchor::Advice, history);
        let context = DayContext::new(history);
        match found {
            FoundWindow::Is((from, to)) => self.tally_reading(name, tally, kind, (from, to), context),
            FoundWindow::Never(why) => Reading::because(Extent::EMPTY, Cause::Empty(why)),
            FoundWindow::Unknown(cause) => {
                Reading::because(Extent::anything(kind, self.plan).or_empty(), cause)
            }
            FoundWindow::AnyOf(all, cause) => {
                let readings =
                    all.into_iter().map(|days| self.tally_reading(name, tally, kind, days, context));
                let joined = readings.reduce(|one, other| Reading {
                    extent: one.extent.union(other.extent),
                    cause: one.cause.or(other.cause),
                    forecast: one.forecast || other.forecast,
                    assumed: false,
                });
                let mut reading = joined.unwrap_or_else(|| Reading::known(Extent::EMPTY));
                if !reading.extent.is_settled() {
                    reading.cause = reading.cause.or(Some(cause));
                }
                reading
            }
        }
    }

    /// Returns a tally day by day, to the last whole one, for trees with a history.
    pub fn tally_days(&self, name: NameId, history: &dyn History) -> Vec<(NaiveDate, Extent)> {
        let Some((tally, kind)) = self.tally_of(name) else { return Vec::new() };
        let FoundWindow::Is((from, to)) = self.now.days(&tally.over, tally.begins, Anchor::Advice, history)
        else {
            return Vec::new();
        };
        let context = DayContext::new(history);
        let count = (to - from).num_days().clamp(0, MOST_DAYS);
        (0..count)
            .map(|ahead| shift(from, ahead))
            .map(|date| {
                (
                    date,
                    self.state_on(name, tally, from, date, context)
                        .map_or(Extent::EMPTY, |state| self.value_of(&state, kind).extent),
                )
            })
            .collect()
    }

    fn tally_of(&self, name: NameId) -> Option<(&Tally, Kind)> {
        let name = self.plan.names.get(name.index())?;
        match &name.origin {
            Origin::Tally(tally) => Some((tally, name.kind)),
            Origin::Observed(_)
            | Origin::Measure(_)
            | Origin::Band(_)
            | Origin::Cultivar
            | Origin::Block
            | Origin::Date => None,
        }
    }

    fn tally_reading(
        &self,
        name: NameId,
        tally: &Tally,
        kind: Kind,
        (from, to): (NaiveDate, NaiveDate),
        context: DayContext<'_>,
    ) -> Reading {
        let Some(state) = self.state_on(name, tally, from, shift(to, -1), context) else {
            let cause = Cause::Weather(WeatherGap::Endless);
            return Reading::because(Extent::anything(kind, self.plan), cause);
        };
        let taken = self.value_of(&state, kind);
        let days = state.days;
        let cause = match state.reach(self.plan.head.gaps) {
            Reach::Beyond => Some(Cause::Weather(WeatherGap::Beyond(state.beyond, days, Steps::Days))),
            Reach::Missing => Some(Cause::Weather(WeatherGap::DaysLacking(state.missing, days))),
            Reach::Sound if taken.extent.is_empty() => Some(Cause::Empty(NoValue::Waiting)),
            Reach::Sound if taken.extent.is_settled() => None,
            Reach::Sound if state.missing > 0 => {
                Some(Cause::Weather(WeatherGap::DaysWithGaps(state.missing, days)))
            }
            Reach::Sound => Some(self.doubt(self.tally_of_log(name), Steps::Days)),
        };
        Reading { extent: taken.extent, cause, forecast: taken.forecast, assumed: false }
    }

    fn value_of(&self, state: &State, kind: Kind) -> Taken {
        let reach = state.reach(self.plan.head.gaps);
        let extent = match reach {
            Reach::Sound => state.extent,
            Reach::Missing | Reach::Beyond if state.extent.may_be_empty => {
                Extent::anything(kind, self.plan).or_empty()
            }
            Reach::Missing | Reach::Beyond => Extent::anything(kind, self.plan),
        };
        let reach =
            if extent.is_settled() || state.missing + state.beyond == 0 { Reach::Sound } else { reach };
        Taken { extent, reach, forecast: state.forecast }
    }

    /// Returns a tally at the end of a day, as another of that day sees it.
    pub(super) fn tally_on(
        &self,
        name: NameId,
        tally: &Tally,
        date: NaiveDate,
        context: DayContext<'_>,
    ) -> Taken {
        let kind = self.plan.names.get(name.index()).map_or(Kind::Number, |name| name.kind);
        let unknown = || Taken::sound(Extent::anything(kind, self.plan).or_empty());
        let Some(context) = context.deeper() else { return unknown() };
        match self.now.days(&tally.over, tally.begins, Anchor::Advice, context.history) {
            FoundWindow::Is((from, _)) => self
                .state_on(name, tally, from, date, context)
                .map_or_else(unknown, |state| self.value_of(&state, kind)),
            FoundWindow::Never(_) => Taken::sound(Extent::EMPTY),
            FoundWindow::Unknown(_) | FoundWindow::AnyOf(..) => unknown(),
        }
    }

    /// Returns the state at the end of a day of the run that begins on a day; nothing where it is too long.
    fn state_on(
        &self,
        name: NameId,
        tally: &Tally,
        from: NaiveDate,
        date: NaiveDate,
        context: DayContext<'_>,
    ) -> Option<State> {
        if date < from {
            return Some(State::before(tally));
        }
        let wanted =
            usize::try_from((date - from).num_days()).ok().filter(|days| *days < MOST_DAYS as usize)?;
        let key = (name, from, self.history_number(self.tally_of_log(name), context.history));
        if let Some(known) = locked(&self.runs).get(&key).and_then(|run| run.get(wanted)) {
            return Some(*known);
        }
        let mut run = locked(&self.runs).remove(&key).unwrap_or_default();
        let mut state = run.last().copied().unwrap_or_else(|| State::before(tally));
        while run.len() <= wanted {
            let day = shift(from, run.len() as i64);
            state = self.next(tally, state, day, context);
            run.push(state);
        }
        let found = run.get(wanted).copied();
        locked(&self.runs).insert(key, run);
        found
    }

    /// Takes a tally over one day: first the reset, then the sum of all that is added, then the bounds.
    fn next(&self, tally: &Tally, before: State, day: NaiveDate, context: DayContext<'_>) -> State {
        let mut after = State { days: before.days + 1, ..before };
        let mut reach = Reach::Sound;
        let judged = |condition: Option<&crate::plan::Condition>, otherwise: Truth| match condition {
            None => (otherwise, Reach::Sound, false),
            Some(condition) => {
                let holds = self.judge_day(condition, day, context);
                (holds.truth, holds.reach, holds.forecast)
            }
        };
        let mut running = before.extent.ends();
        if let Some((low, high)) = running {
            let (reset, reset_reach, forecast) = judged(tally.reset.as_ref(), Truth::No);
            after.forecast |= forecast;
            reach = reach.max(reset_reach);
            let mut ends = match reset {
                Truth::No => (low, high),
                Truth::Open => (low.min(tally.starts), high.max(tally.starts)),
                Truth::Yes => (tally.starts, tally.starts),
            };
            if reset == Truth::Yes && !before.extent.may_be_empty {
                after = State { days: 1, missing: 0, beyond: 0, ..after };
            }
            for add in &tally.adds {
                let (holds, add_reach, forecast) = judged(add.condition.as_ref(), Truth::Yes);
                if holds == Truth::No {
                    continue;
                }
                let amount = self.value_on(&add.amount, day, tally.begins, context);
                // An amount that does not exist adds nothing, as in a total.
                let (low, high) = amount.extent.ends().unwrap_or((0.0, 0.0));
                let spared = holds == Truth::Open || amount.extent.may_be_empty;
                let (low, high) = if spared { (low.min(0.0), high.max(0.0)) } else { (low, high) };
                ends = (plus(ends.0, low), plus(ends.1, high));
                after.forecast |= forecast || amount.forecast;
                reach = reach.max(add_reach).max(amount.reach);
            }
            if let Some((least, most)) = tally.kept {
                ends = (ends.0.max(least).min(most), ends.1.max(least).min(most));
            }
            running = Some(ends);
        }
        let mut waiting = before.extent.may_be_empty;
        if waiting {
            let (come, come_reach, forecast) = judged(tally.waits_for.as_ref(), Truth::No);
            after.forecast |= forecast;
            reach = reach.max(come_reach);
            waiting = come != Truth::Yes;
            if come != Truth::No {
                let (low, high) = running.unwrap_or((tally.starts, tally.starts));
                running = Some((low.min(tally.starts), high.max(tally.starts)));
            }
        }
        after.extent = match running {
            Some((low, high)) => Extent { can_be: Possible::Numbers(low, high), may_be_empty: waiting },
            None => Extent::EMPTY,
        };
        after.note(reach);
        after
    }
}

/// Adds without the noise of binary fractions; what has no end on one side keeps none.
fn plus(a: f64, b: f64) -> f64 {
    let sum = a + b;
    if sum.abs() < 1e3 { libm::rint(sum * 1e12) / 1e12 } else { sum }
}
