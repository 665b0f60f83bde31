//! A spray held against the guide: the gates of the moment at which it began.

use super::groves::{self, Asked, Opened, Purpose};
use super::spray_times::iso;
use crate::advice::{RuledOut, ruled_out};
use crate::grove::SprayRow;
use crate::measure::WeatherMeasures;
use chrono::Utc;
use std::path::Path;

/// Returns the gates of the guide that ruled a spray out when it began, and the grove as it stood then; `log` is the name
/// and the text of the log with the spray. Nothing where the grove cannot be read for that moment.
pub fn checked(
    grove: &Path,
    asked: &Asked,
    log: (String, String),
    spray: &SprayRow,
) -> Option<(Vec<RuledOut>, Opened)> {
    let asked = Asked { as_of: Some(iso(&spray.start)), ..asked.clone() };
    let mut then = groves::open_for(grove, &asked, Purpose::Sprays(log.0, log.1)).ok()?;
    then.grove.log = then.grove.log.before(spray, &then.grove.trees);
    let weather_measures =
        WeatherMeasures::new(&then.plan, then.weather.as_ref(), &then.site, then.as_of.with_timezone(&Utc));
    let found = ruled_out(&then.plan, &then.grove, &weather_measures, spray);
    drop(weather_measures);
    Some((found, then))
}
