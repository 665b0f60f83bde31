//! What is taken of the hours and days of a window.
//!
//! Comes in: aggregates as written. Goes out: expressions of the plan, with their kinds.

use super::Checker;
use super::catalogue::NameMeaning;
use super::conditions::{Scene, Speaks};
use super::expressions::{Typed, typed};
use super::units_of::Hint;
use super::windows::Over;
use crate::plan::{Aggregate, Condition, DailyId, ExprNode, HourSeries, Kind, Spell, Statistic, Subject};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Spanned, Window};
use crate::units::{self, Dimension, Unit};

/// The kind of durations.
pub(super) const DURATION: Kind = Kind::Quantity(Dimension::TIME);

/// Returns hours as a unit.
pub(super) fn hours() -> Unit {
    units::plain("h").unwrap_or_else(Unit::none)
}

/// Returns days as a unit.
pub(super) fn days() -> Unit {
    units::plain("d").unwrap_or_else(Unit::none)
}

impl<'a> Checker<'a> {
    /// Checks an aggregate over a window.
    pub(super) fn aggregate(
        &mut self,
        aggregate: &tree::Aggregate<'a>,
        window: &Spanned<Window<'a>>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        if scene.speaks == Speaks::Tally {
            let message = "a tally adds up values of the day, and this looks at hours or days";
            return self.fail(
                Problem::new(Finding::KindMismatch, span, message)
                    .help("name it in a `daily`, and speak of that name here"),
            );
        }
        let mut hour = Scene::of(Speaks::Hour);
        let (taken, kind, hint, over) = match aggregate {
            tree::Aggregate::Hours(condition) => {
                let condition = self.condition(condition, &mut hour);
                (condition.map(Aggregate::Hours), Some(DURATION), Hint::Unit(hours()), Over::Hours)
            }
            tree::Aggregate::Spell(spell) => {
                let spell = self.spell(spell);
                (spell.map(Aggregate::Spell), Some(DURATION), Hint::Unit(hours()), Over::Hours)
            }
            tree::Aggregate::Spells(condition, length) => {
                let (condition, length) = (self.condition(condition, &mut hour), self.duration(length));
                let taken =
                    condition.zip(length).map(|(condition, length)| Aggregate::Spells(condition, length));
                (taken, Some(Kind::Count), Hint::Open, Over::Hours)
            }
            tree::Aggregate::Days(name, comparison) => {
                let taken = self.days_with(name, comparison.as_ref(), scene);
                (taken, Some(Kind::Count), Hint::Open, Over::Days)
            }
            tree::Aggregate::Of(statistic, name) => {
                let series = self.series(name, scene);
                let kind = series.and_then(|(_, kind)| self.statistic(*statistic, kind, name));
                let hint = series_hint(series);
                (series.map(|(series, _)| Aggregate::Of(*statistic, series)), kind, hint, over_of(series))
            }
            tree::Aggregate::While(statistic, name, condition) => {
                let series = self.series(name, scene);
                let condition = self.meanwhile(series, condition, &mut hour, scene);
                let kind = series.and_then(|(_, kind)| self.statistic(*statistic, kind, name));
                let taken =
                    series.zip(condition).map(|((series, _), it)| Aggregate::While(*statistic, series, it));
                (taken, kind, series_hint(series), over_of(series))
            }
            tree::Aggregate::InSpell(statistic, name, spell) => {
                let (series, spell) = (self.series(name, scene), self.spell(spell));
                let series = series.and_then(|series| self.of_hours(series, name));
                let kind = series.and_then(|(_, kind)| self.statistic(*statistic, kind, name));
                let taken =
                    series.zip(spell).map(|((series, _), it)| Aggregate::InSpell(*statistic, series, it));
                (taken, kind, series_hint(series), Over::Hours)
            }
        };
        let window = self.window(window, over, scene);
        Some(typed(ExprNode::Aggregate(taken?, window?), kind?, hint, span))
    }

    fn spell(&mut self, spell: &tree::Spell<'a>) -> Option<Spell> {
        let condition = self.condition(&spell.condition, &mut Scene::of(Speaks::Hour));
        let across = match &spell.across {
            Some(quantity) => self.duration(quantity),
            None => Some(0.0),
        };
        Some(Spell { which: spell.which, condition: condition?, across: across? })
    }

    /// Checks the condition of a `while`: of hours, or of days where a `daily` is taken.
    fn meanwhile(
        &mut self,
        series: Option<(HourSeries, Kind)>,
        condition: &tree::Condition<'a>,
        hour: &mut Scene,
        scene: &mut Scene,
    ) -> Option<Condition> {
        if !matches!(series, Some((HourSeries::Daily(_), _))) {
            return self.condition(condition, hour);
        }
        let mut day = Scene::of(Speaks::Day);
        let condition = self.condition(condition, &mut day);
        scene.log |= day.log;
        scene.begins = scene.begins.max(day.begins);
        scene.reach(day.place);
        condition
    }

    fn days_with(
        &mut self,
        name: &tree::Name<'a>,
        comparison: Option<&tree::Comparison<'a>>,
        scene: &mut Scene,
    ) -> Option<Aggregate> {
        let id = match self.catalogue.meaning(name.value) {
            Some(NameMeaning::Daily(id)) => id,
            Some(NameMeaning::Series(_) | NameMeaning::Hourly(_)) => {
                let message = format!("`days with` takes a `daily`, and `{}` is of an hour", name.value);
                let help =
                    format!("name it in a `daily`: `daily … = hours with {} … over that day`", name.value);
                return self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help));
            }
            Some(NameMeaning::Name(_) | NameMeaning::Figure(_)) | None => {
                return self
                    .unknown_name(name, "a `daily`", |_, meaning| matches!(meaning, NameMeaning::Daily(_)));
            }
        };
        self.daily_in(id, scene);
        let (subject, kind) = self.kinded(Subject::Daily(id))?;
        match comparison {
            Some(comparison) => {
                let compare = self.compare(name.value, subject, kind, comparison, name.span, scene)?;
                Some(Aggregate::Days(id, Some(compare)))
            }
            None if kind == Kind::YesNo => Some(Aggregate::Days(id, None)),
            None => {
                let message =
                    format!("`{}` is {}, and only yes or no stands alone", name.value, self.called(kind));
                let help = format!("compare it: `days with {} at least … over …`", name.value);
                self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help))
            }
        }
    }

    /// Notes that days of a `daily` are taken.
    fn daily_in(&mut self, id: DailyId, scene: &mut Scene) {
        self.meets_daily(id, scene);
    }

    /// Returns the series, hourly or daily of this name, with its kind.
    fn series(&mut self, name: &tree::Name<'a>, scene: &mut Scene) -> Option<(HourSeries, Kind)> {
        match self.catalogue.meaning(name.value) {
            Some(NameMeaning::Series(series)) => Some((HourSeries::Series(series), series.kind())),
            Some(NameMeaning::Hourly(id)) => {
                self.kinded(Subject::Hourly(id)).map(|(_, kind)| (HourSeries::Hourly(id), kind))
            }
            Some(NameMeaning::Daily(id)) => {
                self.daily_in(id, scene);
                self.kinded(Subject::Daily(id)).map(|(_, kind)| (HourSeries::Daily(id), kind))
            }
            Some(NameMeaning::Name(_) | NameMeaning::Figure(_)) => {
                let what = self.catalogue.value_called(name.value).unwrap_or("something else");
                let message = format!(
                    "expected a weather series, an `hourly` or a `daily`, but `{}` is {what}",
                    name.value
                );
                self.fail(Problem::new(Finding::KindMismatch, name.span, message))
            }
            None => self.unknown_name(name, "a weather series, an `hourly` or a `daily`", |_, meaning| {
                matches!(meaning, NameMeaning::Series(_) | NameMeaning::Hourly(_) | NameMeaning::Daily(_))
            }),
        }
    }

    fn of_hours(&mut self, series: (HourSeries, Kind), name: &tree::Name<'a>) -> Option<(HourSeries, Kind)> {
        if !matches!(series.0, HourSeries::Daily(_)) {
            return Some(series);
        }
        let message = format!("a spell is of hours, and `{}` is a value of a day", name.value);
        self.fail(
            Problem::new(Finding::KindMismatch, name.span, message)
                .help("take a weather series or an `hourly`"),
        )
    }

    /// Returns the kind of a statistic of values.
    pub(super) fn statistic(
        &mut self,
        statistic: Statistic,
        kind: Kind,
        name: &tree::Name<'a>,
    ) -> Option<Kind> {
        let taken = match (statistic, kind) {
            (_, Kind::YesNo | Kind::Text | Kind::Words(_) | Kind::Date | Kind::Clock) => None,
            (Statistic::Total, Kind::Temperature) => None,
            (Statistic::Total, Kind::Share) => Some(Kind::Number),
            (Statistic::Mean, Kind::Count) => Some(Kind::Number),
            (_, kind) => Some(kind),
        };
        if taken.is_some() {
            return taken;
        }
        let word = match statistic {
            Statistic::Lowest => "lowest",
            Statistic::Highest => "highest",
            Statistic::Mean => "mean",
            Statistic::Total => "total",
        };
        let message = format!("`{}` is {}, which has no {word}", name.value, self.called(kind));
        let help = match kind {
            Kind::YesNo => {
                Some(format!("count it: `hours with {}` or `days with {}`", name.value, name.value))
            }
            Kind::Temperature => Some(
                "add up what lies above a base: `hourly … = greater of 0 and ((temperature in °C) - 10)`"
                    .to_string(),
            ),
            _ => None,
        };
        self.fail(Problem::new(Finding::KindMismatch, name.span, message).maybe_help(help))
    }
}

fn series_hint(series: Option<(HourSeries, Kind)>) -> Hint {
    match series {
        Some((HourSeries::Hourly(id), _)) => Hint::Like(Subject::Hourly(id)),
        Some((HourSeries::Daily(id), _)) => Hint::Like(Subject::Daily(id)),
        Some((HourSeries::Series(_), _)) | None => Hint::Open,
    }
}

fn over_of(series: Option<(HourSeries, Kind)>) -> Over {
    match series {
        Some((HourSeries::Daily(_), _)) => Over::Days,
        Some((HourSeries::Series(_) | HourSeries::Hourly(_), _)) | None => Over::Hours,
    }
}
