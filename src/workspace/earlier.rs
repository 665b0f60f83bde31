//! An open grove at earlier moments: one weather for all of them, and the grove as it stood at each.

use super::OpenGrove;
use crate::grove::Grove;
use crate::grove::Outline;
use crate::problems::Problems;
use crate::source::{SourceId, Sources};
use crate::weather::{self, GaugeReading, Weather, WeatherFile};
use chrono::{DateTime, NaiveDate, Utc};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// The weather of a grove as it was known at earlier moments.
///
/// Forecasts are not kept once their hours have passed. So up to the moment at which the file's own forecast was issued the hours
/// that lay ahead are those measured later.
pub struct EarlierWeather<'o> {
    open: &'o OpenGrove,
    source: SourceId,
    /// Up to this moment all moments see the same hours, but for what the grower's gauge said.
    until: DateTime<Utc>,
    same: Weather,
}

impl OpenGrove {
    /// Makes ready to say what the weather was at earlier moments; nothing where the grove has none.
    pub fn earlier_weather(&self) -> Option<EarlierWeather<'_>> {
        let source = self.weather_source.filter(|_| self.weather.is_some())?;
        let as_of = self.as_of.with_timezone(&Utc);
        let issued = self.outline.weather.as_ref().and_then(|file| file.forecast_issued);
        let until = issued.map_or(as_of, |issued| issued.with_timezone(&Utc).min(as_of));
        let (same, _) = read_weather((source, &self.sources), &self.outline, &BTreeMap::new(), until);
        Some(EarlierWeather { open: self, source, until, same })
    }
}

impl EarlierWeather<'_> {
    /// Returns the weather that all moments up to one see, as long as no gauge said otherwise.
    pub fn shared(&self) -> &Weather {
        &self.same
    }

    /// Returns the weather of a grove as it stood.
    pub fn of(&self, grove: &Grove) -> Cow<'_, Weather> {
        let as_of = grove.as_of.with_timezone(&Utc);
        if grove.gauge.is_empty() && as_of <= self.until {
            return Cow::Borrowed(&self.same);
        }
        let of = (self.source, &self.open.sources);
        Cow::Owned(read_weather(of, &self.open.outline, &grove.gauge, as_of).0)
    }
}

/// Reads the weather of a grove at a moment. Where no forecast is said to have been issued, all that is in the file was measured.
fn read_weather(
    (source, sources): (SourceId, &Sources),
    outline: &Outline,
    gauge: &BTreeMap<NaiveDate, GaugeReading>,
    as_of: DateTime<Utc>,
) -> (Weather, Problems) {
    let file = outline.weather.as_ref();
    let issued = file.and_then(|file| file.forecast_issued).map(|at| at.with_timezone(&Utc));
    read_weather_file((source, sources), outline, gauge, as_of, issued.or(Some(as_of + ALL_MEASURED)))
}

/// So long after a moment no weather file reaches.
pub(super) const ALL_MEASURED: chrono::Duration = chrono::Duration::days(500);

/// Reads a weather file as the grove says, at a moment.
pub(super) fn read_weather_file(
    (source, sources): (SourceId, &Sources),
    outline: &Outline,
    gauge: &BTreeMap<NaiveDate, GaugeReading>,
    as_of: DateTime<Utc>,
    forecast_issued: Option<DateTime<Utc>>,
) -> (Weather, Problems) {
    let file = outline.weather.as_ref();
    let columns: BTreeMap<String, String> = file.map_or_else(BTreeMap::new, |file| {
        file.columns.iter().map(|(ours, theirs)| (ours.to_string(), theirs.to_string())).collect()
    });
    weather::read(&WeatherFile {
        text: sources.get(source).map_or("", |source| &source.text),
        source,
        columns: &columns,
        zone: outline.place.zone,
        as_of,
        forecast_issued,
        measured_to: file.and_then(|file| file.measured_to).map(|at| at.with_timezone(&Utc)),
        gauge,
    })
}
