//! Everything of a rulebook that comes from weather: one for all trees of a grove.
//!
//! Comes in: a plan, the weather, the place, the moment. Goes out: what each aggregate, daily, tally and hour
//! can be. What a tree's own log decides it asks a [`History`] for.

use super::aggregate::{Prepared, Taking};
use super::daily::{DayKey, DaysKey};
use super::history::History;
use super::series::{AllSeries, Holds, Reach, Taken, judge};
use super::series_columns::{TruthColumn, ValueColumn};
use super::tally::Runs;
use super::weather_reach::{OfLog, chained, each_aggregate, hangs_on_the_moment, reach, usual_reach};
use super::window::{Anchor, Now, Stretches};
use super::{Extent, Truth, evaluate};
use crate::plan::{
    Aggregate, Condition, DailyId, Expr, ExprNode, HourSeries, HourlyId, Kind, NameId, Origin, Plan, Series,
    Subject, Window, Yields,
};
use crate::units::Dimension;
use crate::weather::{Site, Weather};
use chrono::{DateTime, Datelike, Utc};
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// The weather of a grove as a rulebook sees it.
pub struct WeatherMeasures<'a> {
    pub(super) plan: &'a Plan,
    pub(super) series: Arc<AllSeries<'a>>,
    pub(super) now: Now<'a>,
    hourlies: Arc<Vec<OnceLock<Arc<ValueColumn>>>>,
    conditions: Arc<Mutex<KnownConditions>>,
    by_place: Arc<FxHashMap<usize, u32>>,
    aggregates: Arc<Mutex<Vec<Arc<Known>>>>,
    pub(super) taken: Arc<Mutex<FxHashMap<(u32, Stretches), Both>>>,
    pub(super) days: Mutex<FxHashMap<DayKey, Taken>>,
    pub(super) days_taken: Mutex<FxHashMap<DaysKey, Both>>,
    pub(super) runs: Mutex<Runs>,
    of_log: Arc<OfLog>,
    /// From this hour on all columns are complete; what lies before is read from `farther`.
    complete_from: i64,
    /// The same over more of the weather, laid out when a window reaches so far back.
    farther: Option<Arc<WeatherMeasures<'a>>>,
}

/// Conditions that were met, each hour by hour.
type KnownConditions = Vec<(Condition, Arc<TruthColumn>)>;

/// What an aggregate came to, and the reading of it.
pub(super) type Both = Arc<(Taking, super::Reading)>;

/// An aggregate that was met, and what it is taken from.
struct Known {
    aggregate: Aggregate,
    prepared: OnceLock<Prepared>,
}

/// Whether a condition holds in an hour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct HourTruth {
    /// Whether it holds.
    pub truth: Truth,
    /// Whether that is in doubt because the weather of the hour is not known.
    pub not_checked: bool,
    /// Whether a forecast went into it.
    pub forecast: bool,
}

impl<'a> WeatherMeasures<'a> {
    /// Prepares the weather of a place for a rulebook at the moment of the advice.
    pub fn new(plan: &'a Plan, weather: Option<&'a Weather>, site: &Site, as_of: DateTime<Utc>) -> Self {
        Self::over(plan, weather, site, (as_of, as_of))
    }

    /// Prepares the weather of a place for moments from one to another: the measures are those of the last, and
    /// [`WeatherMeasures::moved_to`] those of an earlier one.
    pub fn over(
        plan: &'a Plan,
        weather: Option<&'a Weather>,
        site: &Site,
        moments: (DateTime<Utc>, DateTime<Utc>),
    ) -> Self {
        // Of many years of weather the advice needs the last one, unless a spray lies farther back.
        let weather_measures = Self::back_to(plan, weather, site, moments, usual_reach(plan));
        weather_measures.lay_out();
        weather_measures
    }

    /// Returns the same weather at another of its moments; what does not hang on the moment is shared.
    pub fn moved_to(&self, as_of: DateTime<Utc>) -> Self {
        if hangs_on_the_moment(self.plan) {
            return Self::new(self.plan, self.series.weather, &self.now.site, as_of);
        }
        Self {
            plan: self.plan,
            series: Arc::clone(&self.series),
            now: Now { as_of, hour: self.now.grid.hour_of(as_of), site: self.now.site.clone(), ..self.now },
            hourlies: Arc::clone(&self.hourlies),
            conditions: Arc::clone(&self.conditions),
            by_place: Arc::clone(&self.by_place),
            aggregates: Arc::clone(&self.aggregates),
            taken: Arc::clone(&self.taken),
            days: Mutex::default(),
            days_taken: Mutex::default(),
            runs: Mutex::default(),
            of_log: Arc::clone(&self.of_log),
            complete_from: self.complete_from,
            farther: self.farther.as_ref().map(|farther| Arc::new(farther.moved_to(as_of))),
        }
    }

    /// Returns the same weather at a later moment, its forecast taken to have come true until then.
    pub fn at(&self, later: DateTime<Utc>) -> Self {
        Self::new(self.plan, self.series.weather, &self.now.site, later)
    }

    /// Returns whether the weather reaches an hour, measured or forecast.
    pub fn reaches(&self, hour: i64) -> bool {
        self.series.weather.is_some_and(|weather| weather.reaches(hour))
    }

    /// Lays the columns out over so many hours back from the first of some moments, or as far as there is something.
    fn back_to(
        plan: &'a Plan,
        weather: Option<&'a Weather>,
        site: &Site,
        (first, as_of): (DateTime<Utc>, DateTime<Utc>),
        most: i64,
    ) -> Self {
        let grid = weather.map_or_else(|| site.grid(as_of), Weather::grid);
        let (hour, first_hour) = (grid.hour_of(as_of), grid.hour_of(first));
        let (back, ahead) = reach(plan);
        let (mut from, mut to) = (first_hour - back, hour + ahead + 1);
        if let Some(weather) = weather.filter(|weather| weather.first() < weather.end()) {
            (from, to) = (from.min(weather.first()), to.max(weather.end()));
        }
        let mut complete_from = i64::MIN;
        if from < first_hour - most {
            from = first_hour - most;
            complete_from = from + chained(plan);
        }
        let mut by_place = FxHashMap::default();
        let mut aggregates: Vec<Arc<Known>> = Vec::new();
        each_aggregate(plan, &mut |aggregate, _| {
            let known = aggregates.iter().position(|known| known.aggregate == *aggregate);
            let number = known.unwrap_or(aggregates.len());
            if known.is_none() {
                aggregates.push(Arc::new(Known::new(aggregate)));
            }
            by_place.insert(std::ptr::from_ref(aggregate) as usize, number as u32);
        });
        Self {
            plan,
            series: Arc::new(AllSeries::new(weather, site.clone(), grid, (from, to))),
            now: Now { plan, site: site.clone(), grid, as_of, hour },
            hourlies: Arc::new(plan.hourlies.iter().map(|_| OnceLock::new()).collect()),
            conditions: Arc::default(),
            by_place: Arc::new(by_place),
            aggregates: Arc::new(Mutex::new(aggregates)),
            taken: Arc::default(),
            days: Mutex::default(),
            days_taken: Mutex::default(),
            runs: Mutex::default(),
            of_log: Arc::new(OfLog::new(plan)),
            complete_from,
            // Each step goes four times as far back.
            farther: (complete_from > i64::MIN).then(|| {
                Arc::new(Self::back_to(plan, weather, site, (first, as_of), most.saturating_mul(4)))
            }),
        }
    }

    /// Lays out the hourly definitions, each after those that it is made from.
    fn lay_out(&self) {
        for (hourly, column) in self.plan.hourlies.iter().zip(self.hourlies.iter()) {
            column.get_or_init(|| Arc::new(self.hourly_column(&hourly.yields, hourly.kind)));
        }
    }

    /// Returns what has the hours from one on, where this has not.
    pub(super) fn farther(&self, from: i64) -> Option<&WeatherMeasures<'a>> {
        let farther = self.farther.as_deref().filter(|_| from < self.complete_from)?;
        let found = farther.farther(from).unwrap_or(farther);
        found.lay_out();
        Some(found)
    }

    /// Returns the hour under way at the moment of the advice; hours are numbered as they pass.
    pub fn hour_under_way(&self) -> i64 {
        self.now.hour
    }

    /// Returns the local time at which an hour begins.
    pub fn hour_start(&self, hour: i64) -> DateTime<Tz> {
        self.now.grid.local(hour)
    }

    /// Returns the day that a moment falls on at the grove.
    pub fn local_date(&self, moment: DateTime<Utc>) -> chrono::NaiveDate {
        moment.with_timezone(&self.now.site.zone()).date_naive()
    }

    /// Returns the moment of the advice.
    pub fn as_of(&self) -> DateTime<Utc> {
        self.now.as_of
    }

    /// Returns the first day of the season under way.
    pub fn season_start(&self) -> chrono::NaiveDate {
        self.now.season_start()
    }

    /// Returns whether a condition holds in an hour, which may lie ahead; `names` reads what belongs to a tree.
    pub fn hour(&self, condition: &Condition, hour: i64, names: &dyn Fn(NameId) -> Extent) -> HourTruth {
        if let Some(farther) = self.farther(hour) {
            return farther.hour(condition, hour, names);
        }
        let holds = judge(condition, &mut |test| match test.subject {
            Subject::Name(name) => Taken::sound(names(name)),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => self.in_hour(test.subject, hour),
        });
        let not_checked = holds.truth == Truth::Open && holds.reach != Reach::Sound;
        HourTruth { truth: holds.truth, not_checked, forecast: holds.forecast }
    }

    /// Returns the value of a weather series in an hour, unknown where it is missing.
    pub fn series_in_hour(&self, series: Series, hour: i64) -> Extent {
        self.series.at(series, hour).extent
    }

    /// Returns the value of an `hourly` in an hour, unknown where it is not known.
    pub fn hourly_in_hour(&self, hourly: HourlyId, hour: i64) -> Extent {
        self.farther(hour).unwrap_or(self).in_hour(Subject::Hourly(hourly), hour).extent
    }

    /// Reads what a condition speaks of in an hour.
    fn in_hour(&self, subject: Subject, hour: i64) -> Taken {
        match subject {
            Subject::Series(series) => self.series.at(series, hour),
            Subject::Hourly(id) => {
                let value = self.hourlies.get(id.index()).and_then(OnceLock::get);
                let value = value.and_then(|column| column.at(hour));
                value.unwrap_or_else(|| {
                    let kind = self.plan.hourlies.get(id.index()).map_or(Kind::Number, |hourly| hourly.kind);
                    let extent = Extent::anything(kind, self.plan);
                    Taken { extent, reach: Reach::Beyond, forecast: false }
                })
            }
            Subject::Name(name) => Taken::sound(self.name_of_all(name)),
            Subject::Daily(_) => Taken::sound(Extent::YES_OR_NO),
        }
    }

    /// Reads a name that is the same for all trees: the day of the advice. Any other is unknown here.
    pub(super) fn name_of_all(&self, id: NameId) -> Extent {
        match self.plan.names.get(id.index()) {
            Some(name) if matches!(name.origin, Origin::Date) => {
                Extent::number(f64::from(self.now.today(0).num_days_from_ce()))
            }
            Some(name) => Extent::anything(name.kind, self.plan),
            None => Extent::EMPTY,
        }
    }

    fn hourly_column(&self, yields: &Yields, kind: Kind) -> ValueColumn {
        let (from, to) = self.series.hours;
        let hours: Vec<Taken> = match yields {
            Yields::Condition(condition) => (from..to)
                .map(|hour| {
                    let holds = self.judge_hour(condition, hour);
                    Taken { extent: holds.truth.extent(), reach: holds.reach, forecast: holds.forecast }
                })
                .collect(),
            Yields::Value(expr) => {
                let mut ready: Vec<(usize, Arc<Known>)> = Vec::new();
                (from..to).map(|hour| self.hour_value(expr, kind, hour, &mut ready)).collect()
            }
        };
        ValueColumn::new(from, hours)
    }

    fn hour_value(&self, expr: &Expr, kind: Kind, hour: i64, ready: &mut Vec<(usize, Arc<Known>)>) -> Taken {
        evaluate(expr, self.plan, &mut |leaf| match &*leaf.node {
            ExprNode::Series(series) => self.in_hour(Subject::Series(*series), hour),
            ExprNode::Hourly(id) => self.in_hour(Subject::Hourly(*id), hour),
            ExprNode::Aggregate(aggregate, window) => {
                let place = std::ptr::from_ref(aggregate) as usize;
                let known = match ready.iter().find(|(known, _)| *known == place) {
                    Some((_, known)) => known.clone(),
                    None => {
                        let known = self.known(aggregate).1;
                        ready.push((place, known.clone()));
                        known
                    }
                };
                let history = super::UnknownHistory { plan: self.plan };
                match self.now.hours(window, Anchor::Hour(hour), &history) {
                    super::window::FoundWindow::Is(stretches) => {
                        let taking = self.take(aggregate, known.prepared(self), &stretches);
                        taking.taken(self, self.kind_of(aggregate))
                    }
                    _ => Taken::sound(Extent::anything(kind, self.plan)),
                }
            }
            ExprNode::Name(name) => Taken::sound(self.name_of_all(*name)),
            _ => Taken::sound(Extent::anything(leaf.kind, self.plan)),
        })
    }

    fn judge_hour(&self, condition: &Condition, hour: i64) -> Holds {
        judge(condition, &mut |test| self.in_hour(test.subject, hour))
    }

    /// Returns a condition hour by hour.
    pub(super) fn truth_column(&self, condition: &Condition) -> Arc<TruthColumn> {
        let find = |list: &[(Condition, Arc<TruthColumn>)]| {
            list.iter().find(|(known, _)| known == condition).map(|(_, column)| column.clone())
        };
        if let Some(column) = find(&locked(&self.conditions)) {
            return column;
        }
        let (from, to) = self.series.hours;
        let hours = (from..to).map(|hour| self.judge_hour(condition, hour)).collect();
        let column = Arc::new(TruthColumn::new(from, hours));
        locked(&self.conditions).push((condition.clone(), column.clone()));
        column
    }

    /// Returns a series hour by hour; nothing for a daily.
    pub(super) fn value_column(&self, series: HourSeries) -> Option<Arc<ValueColumn>> {
        match series {
            HourSeries::Series(series) => self.series.column(series).cloned(),
            HourSeries::Hourly(id) => self.hourlies.get(id.index()).and_then(OnceLock::get).cloned(),
            HourSeries::Daily(_) => None,
        }
    }

    /// Returns the number of an aggregate, and what it is taken from.
    fn known(&self, aggregate: &Aggregate) -> (u32, Arc<Known>) {
        let mut list = locked(&self.aggregates);
        let number =
            self.by_place.get(&(std::ptr::from_ref(aggregate) as usize)).map(|number| *number as usize);
        let number = number.or_else(|| list.iter().position(|known| known.aggregate == *aggregate));
        let number = number.unwrap_or_else(|| {
            list.push(Arc::new(Known::new(aggregate)));
            list.len() - 1
        });
        let known = list.get(number).cloned().unwrap_or_else(|| Arc::new(Known::new(aggregate)));
        (number as u32, known)
    }

    /// Returns the number of an aggregate and runs a function with what it is taken from.
    pub(super) fn with_prepared<T>(&self, aggregate: &Aggregate, f: impl FnOnce(u32, &Prepared) -> T) -> T {
        let (number, known) = self.known(aggregate);
        f(number, known.prepared(self))
    }

    /// Returns the kind of an aggregate's values.
    pub(super) fn kind_of(&self, aggregate: &Aggregate) -> Kind {
        let (statistic, series) = match aggregate {
            Aggregate::Hours(_) | Aggregate::Spell(_) => return Kind::Quantity(Dimension::TIME),
            Aggregate::Spells(..) | Aggregate::Days(..) => return Kind::Count,
            Aggregate::Of(statistic, series)
            | Aggregate::While(statistic, series, _)
            | Aggregate::InSpell(statistic, series, _) => (*statistic, *series),
        };
        let kind = match series {
            HourSeries::Series(series) => series.kind(),
            HourSeries::Hourly(id) => {
                self.plan.hourlies.get(id.index()).map_or(Kind::Number, |hourly| hourly.kind)
            }
            HourSeries::Daily(id) => {
                self.plan.dailies.get(id.index()).map_or(Kind::Number, |daily| daily.kind)
            }
        };
        if kind == Kind::Count && statistic == crate::plan::Statistic::Mean { Kind::Number } else { kind }
    }

    /// Returns the number under which values are kept: one for all trees where the spray log has no part.
    pub(super) fn history_number(&self, of_log: bool, history: &dyn History) -> usize {
        if of_log { history.number() } else { 0 }
    }

    /// Returns whether a daily differs with the spray log.
    pub(super) fn daily_of_log(&self, id: DailyId) -> bool {
        self.of_log.dailies.get(id.index()).copied().unwrap_or(true)
    }

    /// Returns whether what a measure or tally takes of the weather differs with the spray log.
    pub fn differs_with_sprays(&self, name: NameId) -> bool {
        match self.plan.names.get(name.index()).map(|name| &name.origin) {
            Some(Origin::Measure(measure)) => self.of_log.expression(&measure.expr),
            Some(Origin::Tally(tally)) => {
                self.tally_of_log(name) || matches!(tally.over, Window::SinceLast(_))
            }
            Some(Origin::Observed(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date)
            | None => false,
        }
    }

    /// Returns whether a tally differs with the spray log.
    pub(super) fn tally_of_log(&self, name: NameId) -> bool {
        self.of_log.tallies.get(&name).copied().unwrap_or(true)
    }

    /// Returns whether what a condition of days speaks of differs with the spray log.
    pub(super) fn subject_of_log(&self, subject: Subject) -> bool {
        match subject {
            Subject::Daily(id) => self.daily_of_log(id),
            Subject::Name(name) => self.of_log.tallies.get(&name).copied().unwrap_or(false),
            Subject::Series(_) | Subject::Hourly(_) => false,
        }
    }
}

impl Known {
    fn new(aggregate: &Aggregate) -> Self {
        Self { aggregate: aggregate.clone(), prepared: OnceLock::new() }
    }

    fn prepared(&self, weather_measures: &WeatherMeasures<'_>) -> &Prepared {
        self.prepared.get_or_init(|| Prepared::new(weather_measures, &self.aggregate))
    }
}

/// Takes a lock; what another thread left half done here is a cache, and whole.
pub(super) fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
