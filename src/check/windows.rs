//! Windows of time, and where which of them may be used.
//!
//! Comes in: a window as written. Goes out: a window of the plan, or a finding with the windows that would do.

use super::Checker;
use super::conditions::{Scene, Speaks};
use crate::plan::{Place, Sprayed, Window};
use crate::problems::{Finding, Problem};
use crate::syntax::tree::{self, Spanned, ToThatDay};

/// What is taken over a window.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Over {
    /// Hours: any window has some.
    Hours,
    /// Days: of a `daily`, or of a tally.
    Days,
}

/// From where a window is reckoned, and of what it is made.
struct WindowSort {
    speaks: Speaks,
    days: bool,
    ahead: bool,
}

impl<'a> Checker<'a> {
    /// Checks a window.
    pub(super) fn window(
        &mut self,
        written: &Spanned<tree::Window<'a>>,
        over: Over,
        scene: &mut Scene,
    ) -> Option<Window> {
        let sort = sort(&written.value);
        // A `daily` and a tally both speak of days, but a tally's own window is reckoned from today.
        let due = if scene.speaks == Speaks::Tally { Speaks::Tree } else { scene.speaks };
        let sound = sort.speaks == due && (over != Over::Days || sort.days);
        if !sound || (scene.speaks == Speaks::Tally && sort.ahead) {
            return self.wrong_window(written, over, scene.speaks);
        }
        Some(match &written.value {
            tree::Window::LastHours(number) => Window::LastHours(self.whole(number)?),
            tree::Window::NextHours(number) => Window::NextHours(self.whole(number)?),
            tree::Window::LastDays(number) => Window::LastDays(self.whole(number)?),
            tree::Window::NextDays(number) => Window::NextDays(self.whole(number)?),
            tree::Window::Today => Window::Today,
            tree::Window::LastDaysAndToday(number) => Window::LastDaysAndToday(self.whole(number)?),
            tree::Window::TodayAndNextDays(number) => Window::TodayAndNextDays(self.whole(number)?),
            tree::Window::LastNights(number) => Window::LastNights(self.whole(number)?),
            tree::Window::NextNights(number) => Window::NextNights(self.whole(number)?),
            tree::Window::Tonight => Window::Tonight,
            tree::Window::ThisSeason => Window::ThisSeason,
            tree::Window::ThatDay => Window::ThatDay,
            tree::Window::ThatNight => Window::ThatNight,
            tree::Window::HoursToThatHour(number) => Window::HoursToThatHour(self.whole(number)?),
            tree::Window::HoursAfterThatHour(number) => Window::HoursAfterThatHour(self.whole(number)?),
            tree::Window::DaysToThatDay(number) => Window::DaysToThatDay(self.whole(number)?),
            tree::Window::SinceLast(what) => Window::SinceLast(self.begins_at(what, scene)?),
            tree::Window::HoursAfterLast(number, what) => {
                let hours = self.whole(number);
                let what = self.begins_at(what, scene)?;
                Window::HoursAfterLast(hours?, what)
            }
            tree::Window::SinceDate(date, to) => {
                Window::SinceDate { date: self.date(*date)?, to_that_day: *to == ToThatDay::Yes }
            }
            tree::Window::SinceDayOfYear(day, to) => {
                let (month, day) = self.day_of_year(*day)?;
                Window::SinceDayOfYear { month, day, to_that_day: *to == ToThatDay::Yes }
            }
            tree::Window::Since(name) => {
                let mut tree = Scene::of(Speaks::Tree);
                let id = self.dated(name, &mut tree);
                scene.reach(tree.place);
                Window::Since(id?)
            }
        })
    }

    /// Returns the spray at which a window begins.
    fn begins_at(&mut self, what: &tree::Sprayed<'a>, scene: &mut Scene) -> Option<Sprayed> {
        let what = self.sprayed(what)?;
        scene.reach(Place::Tree);
        scene.log = true;
        Some(what)
    }

    fn wrong_window<T>(
        &mut self,
        written: &Spanned<tree::Window<'a>>,
        over: Over,
        speaks: Speaks,
    ) -> Option<T> {
        let (message, help) = match (speaks, over) {
            (Speaks::Hour, Over::Hours) => (
                "an `hourly` is reckoned from its own hour, and this window is not",
                "write `24 h to that hour` or `4 h after that hour`",
            ),
            (Speaks::Hour, Over::Days) => (
                "an `hourly` looks at hours, and this is a value of a day",
                "take a weather series or an `hourly`",
            ),
            (Speaks::Day, Over::Hours) => (
                "a `daily` is reckoned from its own day, and this window is not",
                "write `that day`, `that night`, `5 days to that day` or `since 1 Jan to that day`",
            ),
            (Speaks::Day, Over::Days) => (
                "values of days are taken over days up to that day, and this window is of something else",
                "write `5 days to that day` or `since 1 Jan to that day`",
            ),
            (Speaks::Tally, _) => (
                "a tally runs over whole days up to the last, and this window is of something else",
                "write `since 1 Jan`, `this season`, `last 30 days` or `since last copper`",
            ),
            (Speaks::Tree | Speaks::Group, Over::Hours) => (
                "this is reckoned from today, and the window from some other hour or day",
                "write `last 24 h`, `last 7 days`, `last 3 nights`, `today` or `next 2 days`",
            ),
            (Speaks::Tree | Speaks::Group, Over::Days) => (
                "values of days are taken over days, and this window is of something else",
                "write `last 7 days`, `last 7 days and today`, `next 2 days`, `this season` or `since last copper`",
            ),
        };
        self.fail(Problem::new(Finding::KindMismatch, written.span, message).help(help))
    }
}

fn sort(window: &tree::Window<'_>) -> WindowSort {
    let (speaks, days, ahead) = match window {
        tree::Window::LastHours(_) | tree::Window::LastNights(_) => (Speaks::Tree, false, false),
        tree::Window::NextHours(_)
        | tree::Window::NextNights(_)
        | tree::Window::Tonight
        | tree::Window::HoursAfterLast(..) => (Speaks::Tree, false, true),
        tree::Window::LastDays(_)
        | tree::Window::LastDaysAndToday(_)
        | tree::Window::ThisSeason
        | tree::Window::SinceLast(_)
        | tree::Window::Since(_) => (Speaks::Tree, true, false),
        tree::Window::NextDays(_) | tree::Window::Today | tree::Window::TodayAndNextDays(_) => {
            (Speaks::Tree, true, true)
        }
        tree::Window::ThatDay | tree::Window::DaysToThatDay(_) => (Speaks::Day, true, false),
        tree::Window::ThatNight => (Speaks::Day, false, false),
        tree::Window::HoursToThatHour(_) | tree::Window::HoursAfterThatHour(_) => {
            (Speaks::Hour, false, false)
        }
        tree::Window::SinceDate(_, to) | tree::Window::SinceDayOfYear(_, to) => match to {
            ToThatDay::Yes => (Speaks::Day, true, false),
            ToThatDay::No => (Speaks::Tree, true, false),
        },
    };
    WindowSort { speaks, days, ahead }
}
