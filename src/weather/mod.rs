//! Hourly weather: reading it, moist air, the sun, and the hours and days of a place.
//!
//! Comes in: the text of a weather file, the place, the moment of the advice. Goes out: a dense timeline of whole
//! hours, each value measured, forecast or missing, with a finding for whatever cannot be read or cannot be.
//! Knows no rulebook.

mod added;
mod added_table;
mod alike;
mod columns;
mod gauge;
mod grid;
mod hours;
mod limits;
mod moist_air;
mod quality;
mod read;
mod rows;
mod site;
mod sun;

pub use added::{AddedWeather, Clash, HoursToAdd, KeptWeather, NewHour, added};
pub use gauge::GaugeReading;
pub use grid::{HourGrid, LocalTime, first_instant, resolve_local};
pub use hours::{Column, Weather};
pub use limits::possible;
pub use moist_air::{
    dew_point, humidity_from_dew_point, saturation_pressure, standard_pressure, vapour_deficit, wet_bulb,
};
pub use read::{WeatherFile, read};
pub use site::Site;
pub use sun::SunDay;
