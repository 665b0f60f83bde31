//! From which hours an aggregate was taken.

use super::aggregate::Taking;
use super::daily::DayContext;
use super::history::History;
use super::weather_measures::WeatherMeasures;
use super::window::{Anchor, FoundWindow};
use crate::plan::{Aggregate, Window};
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// From which hours or days an aggregate was taken.
#[derive(Clone, PartialEq, Debug)]
pub struct Provenance {
    /// When the window begins.
    pub from: DateTime<Tz>,
    /// When it ends.
    pub to: DateTime<Tz>,
    /// Whether it counts days; else hours.
    pub of_days: bool,
    /// How many hours or days it has.
    pub steps: i64,
    /// How many of them were counted: those in which the condition held, or that have a value.
    pub counted: i64,
    /// How many of them are missing.
    pub missing: i64,
    /// How many are known from a forecast.
    pub forecast: i64,
    /// When the spell that was taken begins and ends, where that is certain.
    pub spell: Option<(DateTime<Tz>, DateTime<Tz>)>,
    /// What is to be known of it: `taken from 70 of 72 hours`.
    pub note: Option<Arc<str>>,
}

impl WeatherMeasures<'_> {
    /// Returns from which hours or days an aggregate is taken over a window, nothing where the window is not
    /// known or does not exist.
    pub fn explain_aggregate(
        &self,
        aggregate: &Aggregate,
        window: &Window,
        history: &dyn History,
    ) -> Option<Provenance> {
        if self.is_of_days(aggregate) {
            return self.explain_days(aggregate, window, history);
        }
        let FoundWindow::Is(stretches) = self.now.hours(window, Anchor::Advice, history) else { return None };
        let (taking, _) = &*self.taken_over(aggregate, &stretches);
        let (from, to) = stretches.ends().unwrap_or((self.now.hour, self.now.hour));
        let moment = |hour: i64| self.now.grid.local(hour);
        let spell = taking.spell.map(|(from, to)| (moment(from), moment(to)));
        Some(provenance(taking, (moment(from), moment(to)), spell, "hours"))
    }

    fn explain_days(
        &self,
        aggregate: &Aggregate,
        window: &Window,
        history: &dyn History,
    ) -> Option<Provenance> {
        let begins = self.begins_of(aggregate);
        let FoundWindow::Is((from, to)) = self.now.days(window, begins, Anchor::Advice, history) else {
            return None;
        };
        let (taking, _) = &*self.taken_over_days(aggregate, from, to, DayContext::new(history));
        let moment = |date: NaiveDate| self.now.grid.local(self.now.grid.day_start(date, begins));
        let day = |number: i64| i32::try_from(number).ok().and_then(NaiveDate::from_num_days_from_ce_opt);
        let spell = taking.spell.and_then(|(from, to)| Some((moment(day(from)?), moment(day(to)?))));
        Some(provenance(taking, (moment(from), moment(to.max(from))), spell, "days"))
    }
}

fn provenance(
    taking: &Taking,
    (from, to): (DateTime<Tz>, DateTime<Tz>),
    spell: Option<(DateTime<Tz>, DateTime<Tz>)>,
    unit: &str,
) -> Provenance {
    let Taking { steps, missing, .. } = *taking;
    let note = if missing > 0 {
        Some(format!("taken from {} of {steps} {unit}", steps - missing).into())
    } else {
        None
    };
    Provenance {
        from,
        to,
        of_days: unit == "days",
        steps,
        counted: taking.counted,
        missing,
        forecast: taking.forecast,
        spell,
        note,
    }
}
