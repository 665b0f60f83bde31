//! Rain on a spray that is written down: what fell since it was done, and on it while it was wet, as the guide counts.

use crate::grove::SprayRow;
use crate::measure::{History, LastSpray, Reading, UnknownHistory, WeatherMeasures};
use crate::plan::{
    Aggregate, ExprNode, HourSeries, NameId, Origin, Plan, Series, Sprayed, Statistic, Window,
};
use chrono::{DateTime, NaiveDate, Utc};

/// Rain on a spray, in millimeters.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rained {
    /// From the end of the spray to the moment; nothing where it is not known.
    pub since: Option<(f64, f64)>,
    /// In the hours after the spray in which the guide asks for dry weather: how many they are, how much, and whether a
    /// forecast went into it.
    pub soon: Option<(u32, (f64, f64), bool)>,
}

/// Returns the rain on a spray up to the moment of the weather.
pub fn rained_on(plan: &Plan, weather_measures: &WeatherMeasures<'_>, spray: &SprayRow) -> Rained {
    let done = Done { plan, end: spray.end.to_utc() };
    let total = |window: &Window| {
        let rain = Aggregate::Of(Statistic::Total, HourSeries::Series(Series::Rain));
        let reading = weather_measures.aggregate(&rain, window, &done);
        let known = reading.extent.ends().filter(|(low, high)| *low >= 0.0 && high.is_finite());
        known.map(|ends| (ends, reading.forecast))
    };
    let hours = plan.names.iter().filter_map(|name| hours_after(plan, &name.origin, spray)).max();
    let soon = hours.and_then(|hours| {
        let (ends, forecast) = total(&Window::HoursAfterLast(hours, Sprayed::Any))?;
        Some((hours, ends, forecast))
    });
    Rained { since: total(&Window::SinceLast(Sprayed::Any)).map(|(ends, _)| ends), soon }
}

/// Returns over how many hours after a spray a measure counts rain.
fn hours_after(plan: &Plan, origin: &Origin, spray: &SprayRow) -> Option<u32> {
    let Origin::Measure(measure) = origin else { return None };
    match &*measure.expr.node {
        ExprNode::Aggregate(
            Aggregate::Of(Statistic::Total, HourSeries::Series(Series::Rain)),
            Window::HoursAfterLast(hours, what),
        ) => spray.holds(what, plan).then_some(*hours),
        _ => None,
    }
}

/// The past of a tree of which one spray is known.
struct Done<'p> {
    plan: &'p Plan,
    end: DateTime<Utc>,
}

impl Done<'_> {
    fn unknown(&self) -> UnknownHistory<'_> {
        UnknownHistory { plan: self.plan }
    }
}

impl History for Done<'_> {
    fn number(&self) -> usize {
        self.unknown().number()
    }

    fn last_spray(&self, _: &Sprayed) -> LastSpray {
        LastSpray::Ended(self.end)
    }

    fn sprays_on(&self, day: NaiveDate, begins: u16, what: &Sprayed) -> Reading {
        self.unknown().sprays_on(day, begins, what)
    }

    fn amount_on(&self, day: NaiveDate, begins: u16, ingredient: &str) -> Reading {
        self.unknown().amount_on(day, begins, ingredient)
    }

    fn date_of(&self, name: NameId) -> Reading {
        self.unknown().date_of(name)
    }
}
