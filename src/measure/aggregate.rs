//! Aggregates over windows of hours.

use super::Truth;
use super::aggregate_spells::{SpellPlaces, Step, certain_spell, spell, spell_length, spells_of};
use super::aggregate_statistic::{Member, statistic};
use super::history::History;
use super::series::{Holds, Reach, Taken, lacks_too_many};
use super::series_columns::{Counts, Totals, TruthColumn, ValueColumn};
use super::weather_measures::{Both, WeatherMeasures, locked};
use super::window::{Anchor, FoundWindow, Stretches};
use super::{Cause, Extent, NoValue, Reading, Steps, WeatherGap};
use crate::plan::{Aggregate, Condition, HourSeries, Kind, Series, Spell, Statistic, Window};
use std::sync::Arc;

/// What an aggregate is taken from.
#[derive(Debug, Default)]
pub(super) struct Prepared {
    pub(super) truth: Option<Arc<TruthColumn>>,
    pub(super) values: Option<Arc<ValueColumn>>,
}

impl Prepared {
    pub(super) fn new(weather_measures: &WeatherMeasures<'_>, aggregate: &Aggregate) -> Self {
        let (condition, series) = parts(aggregate);
        if series.is_some_and(|series| matches!(series, HourSeries::Daily(_))) {
            return Self::default();
        }
        Self {
            truth: condition.map(|condition| weather_measures.truth_column(condition)),
            values: series.and_then(|series| weather_measures.value_column(series)),
        }
    }
}

/// Returns the condition and the series of an aggregate.
pub(super) fn parts(aggregate: &Aggregate) -> (Option<&Condition>, Option<HourSeries>) {
    match aggregate {
        Aggregate::Hours(condition) | Aggregate::Spells(condition, _) => (Some(condition), None),
        Aggregate::Spell(spell) => (Some(&spell.condition), None),
        Aggregate::Days(daily, _) => (None, Some(HourSeries::Daily(*daily))),
        Aggregate::Of(_, series) => (None, Some(*series)),
        Aggregate::While(_, series, condition) => (Some(condition), Some(*series)),
        Aggregate::InSpell(_, series, spell) => (Some(&spell.condition), Some(*series)),
    }
}

/// What an aggregate came to over hours or days, and from how many of them.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Taking {
    /// What it can be; nothing where no value is there to take it from, though there should be.
    pub(super) extent: Option<Extent>,
    /// How many hours or days the window has.
    pub(super) steps: i64,
    /// How many of them were counted.
    pub(super) counted: i64,
    pub(super) missing: i64,
    pub(super) beyond: i64,
    pub(super) forecast: i64,
    /// The first step of the spell and the one after its last, where it is certain.
    pub(super) spell: Option<(i64, i64)>,
}

impl Taking {
    fn add(&mut self, counts: Counts) {
        self.counted += counts.yes;
        self.missing += counts.missing;
        self.beyond += counts.beyond;
        self.forecast += counts.forecast;
    }

    /// Returns why the weather does not say enough.
    fn lacks(&self, weather_measures: &WeatherMeasures<'_>) -> Option<Reach> {
        if self.beyond > 0 {
            Some(Reach::Beyond)
        } else if lacks_too_many(self.missing, self.steps, weather_measures.plan.head.gaps)
            || self.extent.is_none()
        {
            Some(Reach::Missing)
        } else {
            None
        }
    }

    /// Returns the value for an hour or a day.
    pub(super) fn taken(&self, weather_measures: &WeatherMeasures<'_>, kind: Kind) -> Taken {
        match (self.lacks(weather_measures), self.extent) {
            (None, Some(extent)) => Taken { extent, reach: Reach::Sound, forecast: self.forecast > 0 },
            (lacks, _) => Taken {
                extent: Extent::anything(kind, weather_measures.plan),
                reach: lacks.unwrap_or(Reach::Missing),
                forecast: self.forecast > 0,
            },
        }
    }

    /// Returns the value for a tree; `unit` is what the steps are called.
    pub(super) fn reading(&self, weather_measures: &WeatherMeasures<'_>, kind: Kind, unit: Steps) -> Reading {
        let taken = self.taken(weather_measures, kind);
        let (missing, steps) = (self.missing, self.steps);
        let cause = match self.lacks(weather_measures) {
            Some(Reach::Beyond) => Some(Cause::Weather(WeatherGap::Beyond(self.beyond, steps, unit))),
            Some(Reach::Missing | Reach::Sound) if self.extent.is_none() => {
                Some(Cause::Weather(WeatherGap::None(steps, unit)))
            }
            Some(Reach::Missing | Reach::Sound) => Some(Cause::Weather(WeatherGap::TooMany(
                missing,
                steps,
                unit,
                weather_measures.plan.head.gaps,
            ))),
            None if taken.extent.is_empty() => Some(Cause::Empty(NoValue::In(steps, unit))),
            None if taken.extent.is_settled() => None,
            None if missing > 0 => Some(Cause::Weather(WeatherGap::Missing(missing, steps, unit))),
            None => Some(Cause::Weather(WeatherGap::Doubt(unit))),
        };
        Reading { extent: taken.extent, cause, forecast: taken.forecast, assumed: false }
    }
}

impl WeatherMeasures<'_> {
    /// Takes an aggregate over a window, for trees with a history.
    pub fn aggregate(&self, aggregate: &Aggregate, window: &Window, history: &dyn History) -> Reading {
        let kind = self.kind_of(aggregate);
        if self.is_of_days(aggregate) {
            return self.aggregate_of_days(aggregate, window, Anchor::Advice, history).1;
        }
        let found = self.now.hours(window, Anchor::Advice, history);
        self.reading_of(found, kind, aggregate, &mut |stretches| {
            self.taken_over(aggregate, &stretches).1.clone()
        })
    }

    /// Makes a reading of what a window is.
    pub(super) fn reading_of<T>(
        &self,
        found: FoundWindow<T>,
        kind: Kind,
        aggregate: &Aggregate,
        take: &mut dyn FnMut(T) -> Reading,
    ) -> Reading {
        match found {
            FoundWindow::Is(it) => take(it),
            FoundWindow::Never(why) => Reading::because(Extent::EMPTY, Cause::Empty(why)),
            FoundWindow::Unknown(cause) => {
                let extent = Extent::anything(kind, self.plan);
                let may_be_empty = matches!(cause, Cause::Sprays(_)) || aggregate.is_empty_of_nothing();
                Reading::because(if may_be_empty { extent.or_empty() } else { extent }, cause)
            }
            FoundWindow::AnyOf(all, cause) => {
                let mut joined: Option<Reading> = None;
                for reading in all.into_iter().map(take) {
                    joined = Some(match joined {
                        None => reading,
                        Some(joined) => Reading {
                            extent: joined.extent.union(reading.extent),
                            cause: joined.cause.or(reading.cause),
                            forecast: joined.forecast || reading.forecast,
                            assumed: false,
                        },
                    });
                }
                let mut reading = joined.unwrap_or_else(|| Reading::known(Extent::EMPTY));
                if !reading.extent.is_settled() {
                    reading.cause = reading.cause.or(Some(cause));
                }
                reading
            }
        }
    }

    /// Takes an aggregate over hours, once for all trees.
    pub(super) fn taken_over(&self, aggregate: &Aggregate, stretches: &Stretches) -> Both {
        self.with_prepared(aggregate, |number, prepared| {
            let key = (number, stretches.clone());
            if let Some(known) = locked(&self.taken).get(&key) {
                return known.clone();
            }
            let first = stretches.ends().map(|(first, _)| first);
            if let Some(farther) = first.and_then(|first| self.farther(first)) {
                return farther.taken_over(aggregate, stretches);
            }
            let taking = self.take(aggregate, prepared, stretches);
            let reading = taking.reading(self, self.kind_of(aggregate), Steps::Hours);
            let made = Arc::new((taking, reading));
            locked(&self.taken).insert(key, made.clone());
            made
        })
    }

    /// Takes an aggregate over hours.
    pub(super) fn take(&self, aggregate: &Aggregate, prepared: &Prepared, stretches: &Stretches) -> Taking {
        let mut taking = Taking { steps: stretches.hours(), ..Taking::default() };
        let truth = prepared.truth.as_deref();
        let values = prepared.values.as_deref();
        let mut counts = Counts::default();
        let mut totals = Totals::default();
        for (from, to) in stretches.each() {
            if let Some(truth) = truth {
                counts = counts.plus(truth.counts(from, to));
            }
            if let Some(values) = values {
                totals = totals.plus(values.totals(from, to));
            }
        }
        if counts.beyond > 0 || truth.is_none() && totals.beyond > 0 {
            taking.beyond = counts.beyond.max(totals.beyond);
            return taking;
        }
        match (aggregate, truth, values) {
            (Aggregate::Hours(_), Some(_), _) => {
                taking.add(counts);
                taking.extent = Some(Extent::between(counts.yes as f64, (counts.yes + counts.maybe) as f64));
            }
            (Aggregate::Of(which, _), _, Some(values)) => {
                (taking.missing, taking.forecast, taking.counted) =
                    (totals.missing, totals.forecast, totals.there);
                taking.extent = quick(*which, &totals);
                if taking.extent.is_none() {
                    let members: Vec<Member> = each_hour(stretches)
                        .filter_map(|hour| Some(Member { taken: values.at(hour)?, certain: true }))
                        .collect();
                    taking.extent = statistic(*which, &members).extent;
                }
            }
            (_, Some(truth), values) => {
                let hours: Vec<Hour> = each_hour(stretches)
                    .map(|hour| Hour {
                        at: hour,
                        holds: truth.at(hour),
                        value: values.and_then(|values| values.at(hour)),
                    })
                    .collect();
                take_steps(aggregate, &hours, 1.0, &mut taking);
                // Rain that is known for several hours together fell once, in whichever of them.
                if is_rain_of_some_hours(aggregate)
                    && let Some(all) = quick(Statistic::Total, &totals).and_then(Extent::ends)
                {
                    let ends = taking.extent.and_then(Extent::ends);
                    taking.extent = ends.map(|(low, high)| Extent::between(low.min(all.1), high.min(all.1)));
                }
            }
            _ => {}
        }
        taking
    }
}

/// Returns a mean or a total where every value is there.
fn quick(which: Statistic, totals: &Totals) -> Option<Extent> {
    if totals.missing > 0 || totals.odd > 0 {
        return None;
    }
    match which {
        Statistic::Total => {
            Some(Extent::between(Totals::over(totals.low, 1.0), Totals::over(totals.high, 1.0)))
        }
        Statistic::Mean if totals.there > 0 => {
            let count = totals.there as f64;
            Some(Extent::between(Totals::over(totals.low, count), Totals::over(totals.high, count)))
        }
        Statistic::Mean | Statistic::Lowest | Statistic::Highest => None,
    }
}

fn is_rain_of_some_hours(aggregate: &Aggregate) -> bool {
    let rain = HourSeries::Series(Series::Rain);
    matches!(aggregate, Aggregate::While(Statistic::Total, of, _) | Aggregate::InSpell(Statistic::Total, of, _) if *of == rain)
}

fn each_hour(stretches: &Stretches) -> impl Iterator<Item = i64> + '_ {
    stretches.each().flat_map(|(from, to)| from..to)
}

/// An hour or a day of a window.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hour {
    pub(super) at: i64,
    pub(super) holds: Holds,
    pub(super) value: Option<Taken>,
}

/// Takes an aggregate that has a condition over steps of so many hours each.
pub(super) fn take_steps(aggregate: &Aggregate, hours: &[Hour], length: f64, taking: &mut Taking) {
    let steps: Vec<Step> = hours.iter().map(|hour| Step { at: hour.at, truth: hour.holds.truth }).collect();
    for hour in hours {
        let value = hour.value.filter(|_| hour.holds.truth != Truth::No);
        let reach = hour.holds.reach.max(value.map_or(Reach::Sound, |value| value.reach));
        taking.missing += i64::from(reach == Reach::Missing);
        taking.beyond += i64::from(reach == Reach::Beyond);
        taking.forecast += i64::from(hour.holds.forecast || value.is_some_and(|value| value.forecast));
        taking.counted += i64::from(hour.holds.truth == Truth::Yes);
    }
    let range = |(least, most): (usize, usize), length: f64| {
        Some(Extent::between(least as f64 * length, most as f64 * length))
    };
    match aggregate {
        Aggregate::Hours(_) => {
            let count = |wanted: Truth| steps.iter().filter(|step| step.truth >= wanted).count();
            taking.extent = range((count(Truth::Yes), count(Truth::Open)), length);
        }
        Aggregate::Spell(spell) => {
            taking.extent = range(spell_length(&steps, spell.which, spell.across / length), length);
            note_spell(&steps, spell, length, taking);
        }
        Aggregate::Spells(_, at_least) => taking.extent = range(spells_of(&steps, at_least / length), 1.0),
        Aggregate::While(which, ..) => {
            let members: Vec<Member> = hours
                .iter()
                .filter(|hour| hour.holds.truth != Truth::No)
                .filter_map(|hour| {
                    Some(Member { taken: hour.value?, certain: hour.holds.truth == Truth::Yes })
                })
                .collect();
            taking.extent = statistic(*which, &members).extent;
        }
        Aggregate::InSpell(which, _, spell) => {
            taking.extent = in_spell(*which, spell, hours, &steps, length);
            note_spell(&steps, spell, length, taking);
        }
        Aggregate::Days(..) | Aggregate::Of(..) => {}
    }
}

fn note_spell(steps: &[Step], spell: &Spell, length: f64, taking: &mut Taking) {
    if steps.iter().any(|step| step.truth == Truth::Open) {
        return;
    }
    let places = certain_spell(steps, spell.which, spell.across / length, false).unwrap_or_default();
    taking.counted = places.len() as i64;
    let at = |place: Option<&usize>| place.and_then(|place| steps.get(*place)).map(|step| step.at);
    taking.spell = at(places.first()).zip(at(places.last())).map(|(first, last)| (first, last + 1));
}

/// Up to so many steps in doubt every way in which they can turn out is tried.
const TRIED: usize = 10;

fn in_spell(
    which: Statistic,
    spell_of: &Spell,
    hours: &[Hour],
    steps: &[Step],
    length: f64,
) -> Option<Extent> {
    let doubtful: Vec<usize> = steps
        .iter()
        .enumerate()
        .filter(|(_, step)| step.truth == Truth::Open)
        .map(|(place, _)| place)
        .collect();
    let across = spell_of.across / length;
    let of = |places: SpellPlaces| {
        let members: Vec<Member> = places
            .iter()
            .filter_map(|place| Some(Member { taken: hours.get(*place)?.value?, certain: true }))
            .collect();
        statistic(which, &members).extent
    };
    if doubtful.len() <= TRIED {
        let mut all: Option<Extent> = None;
        for chosen in 0..1u32 << doubtful.len() {
            let holds = |place: usize| match doubtful.iter().position(|doubtful| *doubtful == place) {
                Some(bit) => chosen & (1 << bit) != 0,
                None => steps.get(place).is_some_and(|step| step.truth == Truth::Yes),
            };
            let extent = of(spell(steps, spell_of.which, across, &holds).unwrap_or_default())?;
            all = Some(all.map_or(extent, |all| all.union(extent)));
        }
        return all;
    }
    let members: Vec<Member> = hours
        .iter()
        .filter(|hour| hour.holds.truth != Truth::No)
        .filter_map(|hour| Some(Member { taken: hour.value?, certain: false }))
        .collect();
    let surely = steps.iter().any(|step| step.truth == Truth::Yes);
    let lowest =
        statistic(if which == Statistic::Total { which } else { Statistic::Lowest }, &members).extent?;
    let highest =
        statistic(if which == Statistic::Total { which } else { Statistic::Highest }, &members).extent?;
    let hull = lowest.union(highest);
    Some(if surely && !hull.is_empty() { Extent { may_be_empty: false, ..hull } } else { hull })
}
