//! An open grove at its moment: its weather, and what advises it.

use super::OpenGrove;
use crate::advice::Advisor;
use crate::measure::WeatherMeasures;
use chrono::Utc;

impl OpenGrove {
    /// Returns the grove with the rulebook's texts in a language, by its code; what has no translation stays.
    #[must_use]
    pub fn in_language(mut self, code: &str) -> Self {
        for plan in [&mut self.plan, &mut self.book_plan] {
            *plan = plan.in_language(code);
        }
        self
    }

    /// Returns what the weather says at the moment of the advice.
    pub fn weather_measures(&self) -> WeatherMeasures<'_> {
        WeatherMeasures::new(&self.plan, self.weather.as_ref(), &self.site, self.as_of.with_timezone(&Utc))
    }

    /// Makes ready to advise the grove under its weather.
    pub fn advisor<'a>(&'a self, weather_measures: &'a WeatherMeasures<'a>) -> Advisor<'a> {
        Advisor::new(&self.plan, &self.grove, weather_measures, self.as_of)
    }
}
