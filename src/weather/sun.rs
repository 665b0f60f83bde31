//! Sunrise and sunset: the sun's centre at -0.833°, a flat horizon.

use chrono::{DateTime, Duration, NaiveDate, TimeZone, Timelike, Utc};
use chrono_tz::Tz;
use solar_positioning::{Horizon, Location, SolarEvents, SolarPositions};

const ALTITUDE: f64 = -0.833;

/// The sun of one local date.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SunDay {
    /// Noon by the mean sun.
    pub noon: DateTime<Utc>,
    /// Sunrise, unless the sun does not rise.
    pub sunrise: Option<DateTime<Utc>>,
    /// Sunset, unless the sun does not set.
    pub sunset: Option<DateTime<Utc>>,
    /// Whether the sun is up at noon.
    pub up_at_noon: bool,
}

impl SunDay {
    /// Computes the sun of a local date.
    pub(super) fn of(date: NaiveDate, latitude: f64, longitude: f64, zone: Tz) -> Self {
        let noon = solar_noon(date, longitude, zone);
        let (start, end) = (noon - Duration::hours(12), noon + Duration::hours(12));
        let location = Location { latitude, longitude };
        let horizon = Horizon::Custom(ALTITUDE);
        let delta_t = solar_positioning::delta_t::estimate_from_date_like(&date).unwrap_or(69.0);
        let events = SolarEvents::new();
        let sunrise = events.next_rise(&start, &noon, location, delta_t, horizon).ok().flatten();
        let sunset = events.next_set(&noon, &end, location, delta_t, horizon).ok().flatten();
        let up_at_noon = (sunrise.is_some() && sunset.is_some())
            || SolarPositions::new()
                .at(&noon, location, 0.0, delta_t, None)
                .is_ok_and(|position| position.elevation_angle() > ALTITUDE);
        Self { noon, sunrise, sunset, up_at_noon }
    }

    /// Returns when the sun comes up and goes down: half a day before and after noon where it does not set, noon
    /// itself, twice, where it does not rise.
    pub fn up(&self) -> (DateTime<Utc>, DateTime<Utc>) {
        let half = Duration::hours(if self.up_at_noon { 12 } else { 0 });
        (self.sunrise.unwrap_or(self.noon - half), self.sunset.unwrap_or(self.noon + half))
    }
}

/// Returns noon by the mean sun that lies nearest to noon by the clock.
fn solar_noon(date: NaiveDate, longitude: f64, zone: Tz) -> DateTime<Utc> {
    let clock_noon = date.and_hms_opt(12, 0, 0).unwrap_or_default();
    let at = match zone.from_local_datetime(&clock_noon) {
        chrono::LocalResult::Single(at) | chrono::LocalResult::Ambiguous(at, _) => at.with_timezone(&Utc),
        chrono::LocalResult::None => super::first_instant(zone, clock_noon),
    };
    let utc_hours = f64::from(at.num_seconds_from_midnight()) / 3600.0;
    let ahead = (utc_hours + longitude / 15.0).rem_euclid(24.0) - 12.0;
    at - Duration::seconds((ahead * 3600.0) as i64)
}
