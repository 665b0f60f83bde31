//! A rulebook's weather items on hours written in a test, without a grove.

use bloomward::check;
use bloomward::measure::{Extent, History, Reading, UnknownHistory, WeatherMeasures};
use bloomward::plan::{ExprNode, Origin, Plan};
use bloomward::source::Sources;
use bloomward::weather::{self, Site, Weather};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// A rulebook and hours, ready to be asked.
pub struct Ground {
    pub plan: Plan,
    pub weather: Option<Weather>,
    pub site: Site,
    pub as_of: DateTime<Utc>,
}

pub fn moment(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap_or_else(|error| panic!("{text}: {error}")).with_timezone(&Utc)
}

/// Makes the items of a rulebook a plan; `gaps` is the share of hours that may be missing.
#[track_caller]
pub fn plan(gaps: &str, items: &str) -> Plan {
    let mut sources = Sources::default();
    let text = format!("rulebook \"Test\"\n  gaps at most {gaps}\n  caution \"For tests only.\"\n\n{items}");
    let book = sources.add("test.rulebook", text);
    let (plan, problems) = check::load(book, &mut sources, None, &mut |_| Err("no base".to_string()));
    plan.filter(|_| !problems.any_error()).unwrap_or_else(|| panic!("{}", problems.plain(&sources)))
}

/// Reads hours for a moment; hours after `issued` are forecast.
#[track_caller]
pub fn hours(csv: &str, zone: &str, as_of: DateTime<Utc>, issued: Option<&str>) -> Weather {
    let mut sources = Sources::default();
    let source = sources.add("weather.csv", csv);
    let (weather, problems) = weather::read(&weather::WeatherFile {
        text: csv,
        source,
        columns: &BTreeMap::new(),
        zone: zone.parse().unwrap(),
        as_of,
        forecast_issued: issued.map(moment),
        measured_to: None,
        gauge: &BTreeMap::new(),
    });
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    weather
}

impl Ground {
    pub fn weather_measures(&self) -> WeatherMeasures<'_> {
        WeatherMeasures::new(&self.plan, self.weather.as_ref(), &self.site, self.as_of)
    }
}

/// Returns the value of a measure that is one aggregate over a window.
#[track_caller]
pub fn measure(
    plan: &Plan,
    weather_measures: &WeatherMeasures<'_>,
    name: &str,
    history: &dyn History,
) -> Reading {
    let id = plan.name(name).unwrap_or_else(|| panic!("no {name}"));
    let Origin::Measure(measure) = &plan[id].origin else { panic!("{name} is no measure") };
    let ExprNode::Aggregate(aggregate, window) = &*measure.expr.node else {
        panic!("{name} is no aggregate")
    };
    weather_measures.aggregate(aggregate, window, history)
}

/// Returns the ends of a measure's value, of a tree without a known log.
#[track_caller]
pub fn ends(plan: &Plan, weather_measures: &WeatherMeasures<'_>, name: &str) -> (f64, f64) {
    let extent = extent(plan, weather_measures, name);
    extent.ends().unwrap_or_else(|| panic!("{name}: {extent:?}"))
}

/// Returns what a measure's value can be, of a tree without a known log.
#[track_caller]
pub fn extent(plan: &Plan, weather_measures: &WeatherMeasures<'_>, name: &str) -> Extent {
    measure(plan, weather_measures, name, &UnknownHistory { plan }).extent
}
