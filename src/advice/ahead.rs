//! What is coming: the first moment at which, as the forecast stands, a verdict not to spray becomes another.
//!
//! Comes in: an advisor, the weather as measured. Goes out: for a tree a [`Turn`]. The forecast is taken to come true, nothing is sprayed, and
//! what was seen stays as it is, of the tree as of all others. Trees of one case with the same past share it.

use super::Advisor;
use super::facts::TreeFacts;
use super::result::Turn;
use crate::decide::Weighed;
use crate::measure::{Evaluator, Reading, WeatherMeasures, World};
use crate::plan::Series;
use crate::trace::Verdict;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;

/// So many hours ahead are looked at, as far as the forecast goes.
const HORIZON: i64 = 7 * 24;

/// The grove at a later moment.
pub struct Later<'a> {
    at: DateTime<Tz>,
    weather_measures: WeatherMeasures<'a>,
    grove_values: Vec<Reading>,
}

/// Returns the moments at which something may turn: the days to come, and the ends of the rains that are forecast.
pub fn moments<'a>(advisor: &Advisor<'a>, now: &WeatherMeasures<'a>) -> Vec<Later<'a>> {
    let rains =
        |hour: i64| now.series_in_hour(Series::Rain, hour).ends().is_some_and(|(least, _)| least > 0.0);
    let day = |hour: i64| now.hour_start(hour).date_naive();
    let first = now.hour_under_way() + 1;
    (first..first + HORIZON)
        .take_while(|hour| now.reaches(*hour - 1))
        .filter(|hour| day(*hour) != day(hour - 1) || (rains(hour - 1) && !rains(*hour)))
        .map(|hour| {
            let at = now.hour_start(hour);
            let mut later =
                Later { at, weather_measures: now.at(at.with_timezone(&Utc)), grove_values: Vec::new() };
            later.grove_values =
                judge(advisor, &later).gauge(&facts(advisor, &later, 0), &World::default()).names;
            later
        })
        .collect()
}

/// Returns the first of the moments at which a tree's verdict is surely another than the one of today.
pub fn turn(advisor: &Advisor<'_>, moments: &[Later<'_>], tree: usize, today: &Verdict) -> Option<Turn> {
    moments.iter().find_map(|later| {
        let gauged = judge(advisor, later).gauge(&facts(advisor, later, tree), &World::default());
        let cells = advisor.walk().cells(&gauged);
        let (verdict, _) =
            Weighed::graded(advisor.plan(), advisor.rules(), cells).verdict(advisor.rules())?;
        let is_another = verdict.essence() != today.essence();
        is_another.then_some(Turn { at: later.at, verdict })
    })
}

fn facts<'f>(advisor: &'f Advisor<'_>, later: &Later<'_>, tree: usize) -> TreeFacts<'f> {
    TreeFacts { as_of: later.at, ..advisor.facts(tree) }
}

fn judge<'j>(advisor: &'j Advisor<'_>, later: &'j Later<'_>) -> Evaluator<'j> {
    Evaluator {
        weather_measures: &later.weather_measures,
        today: later.at.date_naive(),
        grove: Some(&later.grove_values[..]).filter(|values| !values.is_empty()),
        ..advisor.judge()
    }
}
