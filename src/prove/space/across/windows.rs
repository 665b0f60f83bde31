//! How sums, counts and extremes of two rulebooks stand to one another, by their windows and by what they count.

use super::conditions::is_implied;
use super::{Across, DefinitionOf};
use crate::plan::{
    Aggregate, Compare, Condition, DailyId, HourSeries, Spell, Sprayed, Statistic, Which, Window, Yields,
};
use crate::prove::space::compute::{self, Anything};
use crate::prove::space::relations::{is_never_negative, is_within};

impl<'p> Across<'_, 'p> {
    pub(crate) fn aggregates(
        &self,
        (DefinitionOf(i, a), over): (DefinitionOf<'_, Aggregate>, &Window),
        (DefinitionOf(j, b), within): (DefinitionOf<'_, Aggregate>, &Window),
        deep: usize,
    ) -> bool {
        let shorter = self.is_within(DefinitionOf(i, over), DefinitionOf(j, within));
        let longer = self.is_within(DefinitionOf(j, within), DefinitionOf(i, over));
        let equal = shorter && longer;
        let implies =
            |x: &Condition, y: &Condition| self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep);
        let implied =
            |x: &Condition, y: &Condition| self.implies(DefinitionOf(j, y), DefinitionOf(i, x), deep);
        let series = |x: &HourSeries, y: &HourSeries| {
            self.series(DefinitionOf(i, x), DefinitionOf(j, y), deep)
                && self.are_there_together(DefinitionOf(i, x), DefinitionOf(j, y))
        };
        match (a, b) {
            (Aggregate::Of(one, x), Aggregate::Of(other, y)) if series(x, y) => match (one, other) {
                (Statistic::Lowest, Statistic::Lowest) => longer,
                (Statistic::Highest, Statistic::Highest) => shorter,
                (Statistic::Total, Statistic::Total) => equal || (shorter && is_never_negative(*y)),
                (Statistic::Mean, Statistic::Mean)
                | (Statistic::Lowest, Statistic::Mean | Statistic::Highest)
                | (Statistic::Mean, Statistic::Highest) => equal,
                _ => false,
            },
            (Aggregate::Hours(x), Aggregate::Hours(y)) => shorter && implies(x, y),
            (Aggregate::Spell(x), Aggregate::Hours(y)) => {
                shorter && x.across == 0.0 && implies(&x.condition, y)
            }
            (Aggregate::Spell(x), Aggregate::Spell(y)) => {
                y.which == Which::Longest
                    && shorter
                    && x.across <= y.across
                    && implies(&x.condition, &y.condition)
            }
            (Aggregate::Spells(x, least), Aggregate::Spells(y, hours)) => {
                shorter && least >= hours && implies(x, y) && implied(x, y)
            }
            (Aggregate::Days(x, one), Aggregate::Days(y, other)) => {
                shorter
                    && self.days(DefinitionOf(i, x), one.as_ref(), DefinitionOf(j, y), other.as_ref(), deep)
            }
            (Aggregate::While(one, x, c), Aggregate::While(other, y, d)) if one == other && series(x, y) => {
                match one {
                    Statistic::Highest => shorter && implies(c, d),
                    Statistic::Lowest => longer && implied(c, d),
                    Statistic::Total => {
                        (equal && implies(c, d) && implied(c, d))
                            || (shorter && implies(c, d) && is_never_negative(*y))
                    }
                    Statistic::Mean => equal && implies(c, d) && implied(c, d),
                }
            }
            (Aggregate::InSpell(one, x, c), Aggregate::InSpell(other, y, d)) => {
                one == other
                    && equal
                    && series(x, y)
                    && self.is_same_spell(DefinitionOf(i, c), DefinitionOf(j, d), deep)
            }
            _ => false,
        }
    }

    pub(super) fn is_same_spell(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Spell>,
        DefinitionOf(j, b): DefinitionOf<'_, Spell>,
        deep: usize,
    ) -> bool {
        a.which == b.which
            && a.across == b.across
            && self.implies(DefinitionOf(i, &a.condition), DefinitionOf(j, &b.condition), deep)
            && self.implies(DefinitionOf(j, &b.condition), DefinitionOf(i, &a.condition), deep)
    }

    /// Returns whether each day that the first counts is one that the second counts.
    pub(crate) fn days(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, DailyId>,
        one: Option<&Compare>,
        DefinitionOf(j, b): DefinitionOf<'_, DailyId>,
        other: Option<&Compare>,
        deep: usize,
    ) -> bool {
        let (x, y) = (HourSeries::Daily(*a), HourSeries::Daily(*b));
        match (one, other) {
            (None, None) => self.series(DefinitionOf(i, &x), DefinitionOf(j, &y), deep),
            (Some(one), Some(other)) => {
                let rises = self.series(DefinitionOf(i, &x), DefinitionOf(j, &y), deep);
                let falls = self.series(DefinitionOf(j, &y), DefinitionOf(i, &x), deep);
                self.are_there_together(DefinitionOf(i, &x), DefinitionOf(j, &y))
                    && is_implied(one, other, rises, falls)
            }
            _ => false,
        }
    }

    /// Returns whether all of the first window lies in the second.
    pub(crate) fn is_within(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Window>,
        DefinitionOf(j, b): DefinitionOf<'_, Window>,
    ) -> bool {
        match (a, b) {
            (Window::Since(x), Window::Since(y)) => {
                self.rooted[i].definitions.name(*x) == self.rooted[j].definitions.name(*y)
            }
            (Window::SinceLast(x), Window::SinceLast(y)) => {
                self.is_same_spray(DefinitionOf(i, x), DefinitionOf(j, y))
            }
            (Window::HoursAfterLast(a, x), Window::HoursAfterLast(b, y)) => {
                a <= b && self.is_same_spray(DefinitionOf(i, x), DefinitionOf(j, y))
            }
            (Window::ThisSeason, Window::ThisSeason) => self.plan(i).head.season == self.plan(j).head.season,
            (Window::HoursToThatHour(x), Window::HoursToThatHour(y))
            | (Window::HoursAfterThatHour(x), Window::HoursAfterThatHour(y))
            | (Window::DaysToThatDay(x), Window::DaysToThatDay(y)) => x <= y,
            (
                Window::SinceDate { date, to_that_day },
                Window::SinceDate { date: since, to_that_day: same },
            ) => to_that_day == same && date >= since,
            (
                Window::Since(_) | Window::SinceLast(_) | Window::HoursAfterLast(..) | Window::ThisSeason,
                _,
            ) => false,
            _ => is_within(a, b),
        }
    }

    pub(super) fn is_same_spray(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, Sprayed>,
        DefinitionOf(j, b): DefinitionOf<'_, Sprayed>,
    ) -> bool {
        match (a, b) {
            (Sprayed::Product(x), Sprayed::Product(y)) => self.plan(i)[*x].name == self.plan(j)[*y].name,
            _ => a == b,
        }
    }

    pub(crate) fn series(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, HourSeries>,
        DefinitionOf(j, b): DefinitionOf<'_, HourSeries>,
        deep: usize,
    ) -> bool {
        let Some(deep) = deep.checked_sub(1) else { return false };
        let of = |x: &'p Yields, y: &'p Yields| match (x, y) {
            (Yields::Value(x), Yields::Value(y)) => self.exprs(DefinitionOf(i, x), DefinitionOf(j, y), deep),
            (Yields::Condition(x), Yields::Condition(y)) => {
                self.implies(DefinitionOf(i, x), DefinitionOf(j, y), deep)
            }
            _ => false,
        };
        match (a, b) {
            (HourSeries::Series(x), HourSeries::Series(y)) => x == y,
            (HourSeries::Hourly(x), HourSeries::Hourly(y)) => {
                let [x, y] = [(i, x), (j, y)].map(|(book, id)| self.plan(book).hourlies.get(id.index()));
                x.zip(y).is_some_and(|(x, y)| of(&x.yields, &y.yields))
            }
            (HourSeries::Daily(x), HourSeries::Daily(y)) => {
                let definitions = [i, j].map(|book| &self.rooted[book].definitions);
                if definitions[0].daily(*x) == definitions[1].daily(*y) {
                    return true;
                }
                let [x, y] = [(i, x), (j, y)].map(|(book, id)| self.plan(book).dailies.get(id.index()));
                x.zip(y).is_some_and(|(x, y)| {
                    let plain = x.valid_if.is_none() && y.valid_if.is_none() && x.begins == y.begins;
                    plain && of(&x.yields, &y.yields)
                })
            }
            _ => false,
        }
    }

    /// Returns whether there is a value of the one on each day, or in each hour, on which there is one of the other, and the other
    /// way round.
    pub(super) fn are_there_together(
        &self,
        DefinitionOf(i, a): DefinitionOf<'_, HourSeries>,
        DefinitionOf(j, b): DefinitionOf<'_, HourSeries>,
    ) -> bool {
        let id = |book: usize, series: &HourSeries| match series {
            HourSeries::Daily(id) => Some(self.rooted[book].definitions.daily(*id)),
            HourSeries::Series(_) | HourSeries::Hourly(_) => None,
        };
        let is_whole = |book: usize, series: &HourSeries| match series {
            HourSeries::Daily(id) => {
                self.plan(book).dailies.get(id.index()).is_some_and(|daily| match &daily.yields {
                    Yields::Value(expr) => {
                        let plan = self.plan(book);
                        !compute::of_expr(plan, expr, &Anything { plan }).may_be_empty
                            && daily.valid_if.is_none()
                    }
                    Yields::Condition(_) => true,
                })
            }
            HourSeries::Series(_) | HourSeries::Hourly(_) => true,
        };
        id(i, a) == id(j, b) || (is_whole(i, a) && is_whole(j, b))
    }
}
