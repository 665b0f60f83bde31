//! Windows of time as hours and as days.

use super::history::{History, LastSpray};
use super::{Cause, Extent, InDoubt, LogGap, NoValue, Unseen, WeatherGap};
use crate::plan::{Counted, NameId, Plan, Window};
use crate::weather::{HourGrid, Site};
use chrono::{DateTime, Datelike, Days, NaiveDate, Utc};

/// Stretches of hours, each from its first hour to the one after its last; in order, none of them empty.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub(super) struct Stretches {
    first: (i64, i64),
    more: Vec<(i64, i64)>,
}

impl Stretches {
    pub(super) fn one(from: i64, to: i64) -> Self {
        Self { first: if from < to { (from, to) } else { (0, 0) }, more: Vec::new() }
    }

    fn of(list: impl Iterator<Item = (i64, i64)>) -> Self {
        let mut list = list.filter(|(from, to)| from < to);
        let first = list.next().unwrap_or((0, 0));
        Self { first, more: list.collect() }
    }

    pub(super) fn each(&self) -> impl Iterator<Item = (i64, i64)> + '_ {
        std::iter::once(self.first).filter(|(from, to)| from < to).chain(self.more.iter().copied())
    }

    pub(super) fn hours(&self) -> i64 {
        self.each().map(|(from, to)| to - from).sum()
    }

    pub(super) fn ends(&self) -> Option<(i64, i64)> {
        let first = self.each().next()?;
        Some((first.0, self.each().last().unwrap_or(first).1))
    }
}

/// What a window is for a tree.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum FoundWindow<T> {
    /// These hours or days.
    Is(T),
    /// There is no such window.
    Never(NoValue),
    /// It is not known which hours or days it is.
    Unknown(Cause),
    /// It may be any of these.
    AnyOf(Vec<T>, Cause),
}

impl<T> FoundWindow<T> {
    pub(super) fn map<U>(self, with: impl Fn(T) -> U) -> FoundWindow<U> {
        match self {
            FoundWindow::Is(it) => FoundWindow::Is(with(it)),
            FoundWindow::Never(why) => FoundWindow::Never(why),
            FoundWindow::Unknown(cause) => FoundWindow::Unknown(cause),
            FoundWindow::AnyOf(all, cause) => FoundWindow::AnyOf(all.into_iter().map(with).collect(), cause),
        }
    }
}

/// What `that hour` and `that day` are.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Anchor {
    /// Nothing: the window is one of the advice.
    Advice,
    /// An hour.
    Hour(i64),
    /// A day that begins so many minutes after midnight.
    Day(NaiveDate, u16),
}

/// The moment of the advice at a place.
pub(super) struct Now<'p> {
    pub(super) plan: &'p Plan,
    pub(super) site: Site,
    pub(super) grid: HourGrid,
    pub(super) as_of: DateTime<Utc>,
    /// The hour under way.
    pub(super) hour: i64,
}

impl Now<'_> {
    /// Returns the day under way, among days that begin so many minutes after midnight.
    pub(super) fn today(&self, begins: u16) -> NaiveDate {
        self.grid.date_of(self.hour, begins)
    }

    /// Returns the hours of a window.
    pub(super) fn hours(
        &self,
        window: &Window,
        anchor: Anchor,
        history: &dyn History,
    ) -> FoundWindow<Stretches> {
        let (now, begins) = (self.hour, anchor_begins(anchor));
        let one = |from: i64, to: i64| FoundWindow::Is(Stretches::one(from, to));
        match (window, anchor) {
            (Window::LastHours(count), _) => one(now - i64::from(*count), now),
            (Window::NextHours(count), _) => one(now, now + i64::from(*count)),
            (Window::HoursToThatHour(count), Anchor::Hour(hour)) => {
                one(hour + 1 - i64::from(*count), hour + 1)
            }
            (Window::HoursAfterThatHour(count), Anchor::Hour(hour)) => {
                one(hour + 1, hour + 1 + i64::from(*count))
            }
            (Window::LastNights(count), _) => self.nights(1 - i64::from(*count), 1),
            (Window::NextNights(count), _) => self.nights(1, 1 + i64::from(*count)),
            (Window::Tonight, _) => self.nights(i64::from(!self.at_night()), 1 + i64::from(!self.at_night())),
            (Window::ThatNight, Anchor::Day(day, _)) => {
                FoundWindow::Is(Stretches::of([self.night(day)].into_iter()))
            }
            (Window::SinceLast(what), _) => {
                self.since_last(history.last_spray(what), what).map(|from| Stretches::one(from, now))
            }
            (Window::HoursAfterLast(count, what), _) => self
                .since_last(history.last_spray(what), what)
                .map(|from| Stretches::one(from, from + i64::from(*count))),
            (Window::Since(name), _) => {
                self.observed(*name, history).map(|day| Stretches::one(self.grid.day_start(day, 0), now))
            }
            (Window::ThisSeason, _) => one(self.grid.day_start(self.season_start(), 0), now),
            (Window::SinceDate { .. } | Window::SinceDayOfYear { .. }, Anchor::Advice | Anchor::Hour(_)) => {
                self.days(window, 0, anchor, history)
                    .map(|(from, _)| Stretches::one(self.grid.day_start(from, 0), now))
            }
            _ => self.days(window, begins, anchor, history).map(|(from, to)| {
                Stretches::one(self.grid.day_start(from, begins), self.grid.day_start(to, begins))
            }),
        }
    }

    /// Returns the days of a window, the first and the one after the last, among days that begin so many minutes
    /// after midnight: whole days only, unless the window names today.
    pub(super) fn days(
        &self,
        window: &Window,
        begins: u16,
        anchor: Anchor,
        history: &dyn History,
    ) -> FoundWindow<(NaiveDate, NaiveDate)> {
        let today = self.today(begins);
        let day = |ahead: i64| shift(today, ahead);
        let span = |from: i64, to: i64| FoundWindow::Is((day(from), day(to)));
        match (window, anchor) {
            (Window::LastDays(count), _) => span(-i64::from(*count), 0),
            (Window::NextDays(count), _) => span(1, 1 + i64::from(*count)),
            (Window::Today, _) => span(0, 1),
            (Window::LastDaysAndToday(count), _) => span(-i64::from(*count), 1),
            (Window::TodayAndNextDays(count), _) => span(0, 1 + i64::from(*count)),
            (Window::ThatDay, Anchor::Day(that, _)) => FoundWindow::Is((that, shift(that, 1))),
            (Window::DaysToThatDay(count), Anchor::Day(that, _)) => {
                FoundWindow::Is((shift(that, 1 - i64::from(*count)), shift(that, 1)))
            }
            (Window::SinceDate { date, to_that_day }, _) => {
                FoundWindow::Is((*date, self.until(*to_that_day, anchor, today)))
            }
            (Window::SinceDayOfYear { month, day, to_that_day }, _) => {
                let until = self.until(*to_that_day, anchor, today);
                let latest = if *to_that_day { shift(until, -1) } else { self.today(0) };
                FoundWindow::Is((season_start((*month, *day), latest), until))
            }
            (Window::ThisSeason, _) => FoundWindow::Is((self.season_start(), today)),
            (Window::SinceLast(what), _) => self.since_last(history.last_spray(what), what).map(|from| {
                let day = self.grid.date_of(from, begins);
                let first = if self.grid.day_start(day, begins) < from { shift(day, 1) } else { day };
                (first, today)
            }),
            (Window::Since(name), _) => self.observed(*name, history).map(|day| (day, today)),
            (
                Window::ThatDay
                | Window::DaysToThatDay(_)
                | Window::LastHours(_)
                | Window::NextHours(_)
                | Window::LastNights(_)
                | Window::NextNights(_)
                | Window::Tonight
                | Window::ThatNight
                | Window::HoursToThatHour(_)
                | Window::HoursAfterThatHour(_)
                | Window::HoursAfterLast(..),
                _,
            ) => FoundWindow::Unknown(Cause::Doubt(InDoubt::NoDays)),
        }
    }

    /// Returns the first day of the season under way.
    pub(super) fn season_start(&self) -> NaiveDate {
        season_start(self.plan.head.season.0, self.today(0))
    }

    fn until(&self, to_that_day: bool, anchor: Anchor, today: NaiveDate) -> NaiveDate {
        match anchor {
            Anchor::Day(that, _) if to_that_day => shift(that, 1),
            Anchor::Day(..) | Anchor::Hour(_) | Anchor::Advice => today,
        }
    }

    /// Returns the nights from one to another, counted from the latest, which is 0.
    fn nights(&self, from: i64, to: i64) -> FoundWindow<Stretches> {
        let latest = self.latest_night();
        let nights =
            (from..to.min(from.saturating_add(MOST_NIGHTS))).map(|ahead| self.night(shift(latest, ahead)));
        if to - from > MOST_NIGHTS {
            return FoundWindow::Unknown(Cause::Weather(WeatherGap::Endless));
        }
        FoundWindow::Is(Stretches::of(nights))
    }

    /// Returns the hours of the night that ends on a date: those that begin at sunset or after it, and before
    /// sunrise.
    fn night(&self, date: NaiveDate) -> (i64, i64) {
        let (evening, morning) = self.site.night(date);
        (self.grid.hour_from(evening), self.grid.hour_from(morning))
    }

    /// Returns the date on which the latest night ends, one under way among them.
    fn latest_night(&self) -> NaiveDate {
        let today = self.today(0);
        let (evening, morning) = self.site.night(shift(today, 1));
        if evening <= self.as_of && evening < morning { shift(today, 1) } else { today }
    }

    fn at_night(&self) -> bool {
        let (evening, morning) = self.site.night(self.latest_night());
        evening <= self.as_of && self.as_of < morning
    }

    /// Returns the first hour that lies wholly after a spray.
    fn since_last(&self, last: LastSpray, what: &crate::plan::Sprayed) -> FoundWindow<i64> {
        match last {
            LastSpray::Ended(end) => FoundWindow::Is(self.grid.hour_from(end)),
            LastSpray::Unknown => FoundWindow::Unknown(Cause::Sprays(LogGap::Unknown)),
            LastSpray::Never => FoundWindow::Never(NoValue::NeverSprayed(what.clone())),
        }
    }

    fn observed(&self, name: NameId, history: &dyn History) -> FoundWindow<NaiveDate> {
        let reading = history.date_of(name);
        let unknown = || reading.cause.clone().unwrap_or(Cause::Unseen(Unseen::Date(name)));
        let Extent { may_be_empty, .. } = reading.extent;
        match reading.extent.ends() {
            _ if reading.extent.is_empty() => FoundWindow::Never(NoValue::Date(name)),
            Some((low, high)) if !may_be_empty && high - low <= 60.0 => {
                let days = (libm::floor(low) as i64..=libm::floor(high) as i64)
                    .filter_map(|day| NaiveDate::from_num_days_from_ce_opt(i32::try_from(day).ok()?));
                let days: Vec<NaiveDate> = days.collect();
                match days.as_slice() {
                    [one] => FoundWindow::Is(*one),
                    [] => FoundWindow::Unknown(unknown()),
                    _ => FoundWindow::AnyOf(days, unknown()),
                }
            }
            Some(_) | None => FoundWindow::Unknown(unknown()),
        }
    }
}

/// The most nights of one window.
const MOST_NIGHTS: i64 = 4000;

fn anchor_begins(anchor: Anchor) -> u16 {
    match anchor {
        Anchor::Day(_, begins) => begins,
        Anchor::Advice | Anchor::Hour(_) => 0,
    }
}

/// Returns the latest day of a month and a number on a day or before it, with which a season begins; of 29 February in a
/// short year 28 February.
pub fn season_start((month, day): (u8, u8), until: NaiveDate) -> NaiveDate {
    let in_year = |year: i32| {
        (0..4).find_map(|back| {
            NaiveDate::from_ymd_opt(year, u32::from(month), u32::from(day).checked_sub(back)?)
        })
    };
    let this = in_year(until.year());
    let found = if this.is_some_and(|date| date <= until) { this } else { in_year(until.year() - 1) };
    found.unwrap_or(until)
}

/// Returns the first and last day of a time over which sprays are counted, up to a day; a season begins on such a day of the
/// year.
pub fn days_counted(over: Counted, season: (u8, u8), today: NaiveDate) -> (NaiveDate, NaiveDate) {
    match over {
        Counted::ThisSeason => (season_start(season, today), today),
        Counted::ThisYear => (NaiveDate::from_ymd_opt(today.year(), 1, 1).unwrap_or(today), today),
        Counted::ThatDay => (today, today),
        Counted::LastDays(days) => (shift(today, -i64::from(days)), shift(today, -1)),
    }
}

/// Returns the date so many days later.
pub(super) fn shift(date: NaiveDate, days: i64) -> NaiveDate {
    let count = Days::new(days.unsigned_abs());
    let moved = if days < 0 { date.checked_sub_days(count) } else { date.checked_add_days(count) };
    moved.unwrap_or(if days < 0 { EARLIEST } else { LATEST })
}

const EARLIEST: NaiveDate = match NaiveDate::from_ymd_opt(1, 1, 1) {
    Some(date) => date,
    None => NaiveDate::MIN,
};
const LATEST: NaiveDate = match NaiveDate::from_ymd_opt(9998, 12, 31) {
    Some(date) => date,
    None => NaiveDate::MAX,
};
