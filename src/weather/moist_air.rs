//! Moist air: dew point, humidity, wet bulb and vapour deficit.
//!
//! Saturation over water after Alduchov and Eskridge 1996; the psychrometer equation with the coefficient of a
//! ventilated instrument, 0.000662 per °C. Temperatures are in °C, humidity is a share of 1, pressures are in hPa.

use libm::{exp, log, pow};

const AT_ZERO: f64 = 6.1094;
const SLOPE: f64 = 17.625;
const SHIFT: f64 = 243.04;
const PSYCHROMETER: f64 = 0.000662;
/// Below this the logarithm of the humidity says nothing about air out of doors.
const DRIEST: f64 = 1e-4;

/// Returns the vapour pressure in hPa at which air over water is saturated.
pub fn saturation_pressure(temperature: f64) -> f64 {
    AT_ZERO * exp(SLOPE * temperature / (SHIFT + temperature))
}

/// Returns the dew point of air.
pub fn dew_point(temperature: f64, humidity: f64) -> f64 {
    let gamma = log(humidity.max(DRIEST)) + SLOPE * temperature / (SHIFT + temperature);
    SHIFT * gamma / (SLOPE - gamma)
}

/// Returns the humidity of air from its dew point; above 1 where the dew point lies above the temperature.
pub fn humidity_from_dew_point(temperature: f64, dew_point: f64) -> f64 {
    saturation_pressure(dew_point) / saturation_pressure(temperature)
}

/// Returns the vapour pressure in hPa that air lacks of being saturated.
pub fn vapour_deficit(temperature: f64, humidity: f64) -> f64 {
    saturation_pressure(temperature) * (1.0 - humidity)
}

/// Returns the wet-bulb temperature of air at a pressure in hPa: where
/// `e = es(wet) - 0.000662 · pressure · (dry - wet)`.
pub fn wet_bulb(temperature: f64, humidity: f64, pressure: f64) -> f64 {
    let humidity = humidity.clamp(0.0, 1.0);
    if humidity >= 1.0 {
        return temperature;
    }
    let vapour = saturation_pressure(temperature) * humidity;
    // The excess rises ever steeper with the wet bulb and is positive at the dry temperature: from there Newton's steps
    // fall towards its root and never pass it.
    let mut wet = temperature;
    for _ in 0..50 {
        let pressure_there = saturation_pressure(wet);
        let slope =
            pressure_there * SLOPE * SHIFT / ((SHIFT + wet) * (SHIFT + wet)) + PSYCHROMETER * pressure;
        let step = (pressure_there - PSYCHROMETER * pressure * (temperature - wet) - vapour) / slope;
        wet -= step;
        if step.abs() < 1e-11 {
            break;
        }
    }
    wet
}

/// Returns the pressure in hPa of the standard atmosphere (ISO 2533) at an elevation in metres.
pub fn standard_pressure(elevation: f64) -> f64 {
    1013.25 * pow((1.0 - 0.0065 * elevation / 288.15).max(0.0), 5.25588)
}
