//! Where a grove lies.

use super::{HourGrid, SunDay, standard_pressure};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Where a grove lies: for the sun, the clock and the pressure of the air. Clones share what was computed.
#[derive(Clone, Debug)]
pub struct Site {
    latitude: f64,
    longitude: f64,
    elevation: f64,
    zone: Tz,
    sun: Arc<Mutex<BTreeMap<NaiveDate, SunDay>>>,
}

impl Site {
    /// Makes a site: degrees north, degrees east, metres above the sea, the zone of its clock. What lies outside
    /// the globe is moved to its edge.
    pub fn new(latitude: f64, longitude: f64, elevation: f64, zone: Tz) -> Self {
        let finite = |number: f64| if number.is_finite() { number } else { 0.0 };
        Self {
            latitude: finite(latitude).clamp(-90.0, 90.0),
            longitude: finite(longitude).clamp(-180.0, 180.0),
            elevation: finite(elevation).clamp(-500.0, 9000.0),
            zone,
            sun: Arc::default(),
        }
    }

    /// Returns the degrees north.
    pub fn latitude(&self) -> f64 {
        self.latitude
    }

    /// Returns the degrees east.
    pub fn longitude(&self) -> f64 {
        self.longitude
    }

    /// Returns the metres above the sea.
    pub fn elevation(&self) -> f64 {
        self.elevation
    }

    /// Returns the zone of the clock.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// Returns the pressure of the standard atmosphere here, in hPa.
    pub fn pressure(&self) -> f64 {
        standard_pressure(self.elevation)
    }

    /// Returns the grid of hours, aligned to the clock at a moment.
    pub fn grid(&self, at: DateTime<Utc>) -> HourGrid {
        HourGrid::new(self.zone, at)
    }

    /// Returns the sun of a local date.
    pub fn sun(&self, date: NaiveDate) -> SunDay {
        let mut known = self.sun.lock().unwrap_or_else(PoisonError::into_inner);
        *known.entry(date).or_insert_with(|| SunDay::of(date, self.latitude, self.longitude, self.zone))
    }

    /// Returns sunset and sunrise of the night that ends on a date; they are one moment where there is no night.
    pub fn night(&self, date: NaiveDate) -> (DateTime<Utc>, DateTime<Utc>) {
        let evening = date
            .pred_opt()
            .map_or(date.and_time(chrono::NaiveTime::MIN).and_utc(), |before| self.sun(before).up().1);
        (evening, self.sun(date).up().0.max(evening))
    }
}
