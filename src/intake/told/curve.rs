//! The temperature of each hour from the lowest and the highest of a day: Parton and Logan, Agric. Meteorol. 23 (1981), 205,
//! at the height of a thermometer screen.

/// By how many hours the highest temperature lies after noon of the sun.
const AFTER_NOON: f64 = 1.86;
/// How fast the night cools.
const COOLING: f64 = 2.20;
/// By how many hours the lowest temperature lies after sunrise.
const AFTER_SUNRISE: f64 = -0.17;

/// A day with its lowest and highest temperature and the lowest of the next; times are hours from any one begin.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct DayCurve {
    /// The lowest temperature of the day.
    pub low: f64,
    /// The highest.
    pub high: f64,
    /// The lowest of the next day.
    pub next_low: f64,
    /// Sunrise.
    pub sunrise: f64,
    /// Sunset.
    pub sunset: f64,
}

impl DayCurve {
    /// Returns the time from which the curve of the day holds.
    pub fn begins(&self) -> f64 {
        self.sunrise + AFTER_SUNRISE
    }

    /// Returns the temperature at a time of the day or of the night after it.
    pub fn at(&self, time: f64) -> f64 {
        if time <= self.sunset { self.by_day(time) } else { self.by_night(time) }
    }

    fn by_day(&self, time: f64) -> f64 {
        let length = self.sunset - self.sunrise;
        let angle = std::f64::consts::PI * (time - self.begins()) / (length + 2.0 * AFTER_NOON);
        self.low + (self.high - self.low) * libm::sin(angle)
    }

    fn by_night(&self, time: f64) -> f64 {
        let length = self.sunset - self.sunrise;
        let dusk = self.by_day(self.sunset);
        self.next_low + (dusk - self.next_low) * libm::exp(-COOLING * (time - self.sunset) / (24.0 - length))
    }
}
