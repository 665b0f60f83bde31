//! Within how much of a threshold a reading of the weather is a close call.

use crate::measure::speaks_of_weather;
use crate::plan::{Aggregate, Head, HourSeries, Kind, NameId, Origin, Plan, Series};
use crate::units::{Dimension, plain};

/// Returns within how much of a threshold a reading of the weather is a close call: the rulebook's own accuracy,
/// else what is usual.
pub(super) fn accuracy(plan: &Plan, name: NameId) -> Option<f64> {
    let Origin::Measure(measure) = &plan[name].origin else { return None };
    let series = match speaks_of_weather(&measure.expr)? {
        Aggregate::Hours(_) | Aggregate::Spell(_) => return Some(1.0),
        Aggregate::Spells(..) | Aggregate::Days(..) => return None,
        Aggregate::Of(_, series) | Aggregate::While(_, series, _) | Aggregate::InSpell(_, series, _) => {
            *series
        }
    };
    let own = match series {
        HourSeries::Series(series) => own_accuracy(&plan.head, series),
        HourSeries::Hourly(_) | HourSeries::Daily(_) => None,
    };
    own.or_else(|| usual_accuracy(plan[name].kind, series))
}

/// Returns within how much of a threshold a reading of a series is a close call, by a rulebook's head.
pub fn accuracy_of(head: &Head, series: Series) -> Option<f64> {
    let usual = || usual_accuracy(series.kind(), HourSeries::Series(series));
    own_accuracy(head, series).or_else(usual)
}

fn own_accuracy(head: &Head, series: Series) -> Option<f64> {
    head.accuracy.iter().find(|(known, ..)| *known == series).map(|(_, near, _)| *near)
}

/// Returns what is usual: 1 °F, 3 % of humidity, 1 h, 1 mm.
fn usual_accuracy(kind: Kind, series: HourSeries) -> Option<f64> {
    let degree = || plain("°F").map(|unit| unit.amount_to_base(1.0));
    match (kind, series) {
        (Kind::Temperature, _) => degree(),
        (Kind::Share, HourSeries::Series(Series::Humidity)) => Some(0.03),
        (Kind::Quantity(dimension), _) if dimension == Dimension::TIME => Some(1.0),
        (Kind::Quantity(dimension), _) if dimension == Dimension::LENGTH => Some(1.0),
        (Kind::Quantity(dimension), _) if dimension == Dimension::TEMPERATURE => degree(),
        (Kind::Share | Kind::Number | Kind::Count | Kind::Quantity(_) | Kind::Date | Kind::Clock, _)
        | (Kind::YesNo | Kind::Text | Kind::Words(_), _) => None,
    }
}
