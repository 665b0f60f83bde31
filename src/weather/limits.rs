//! Which values can be: wide limits, beyond every record, outside which a reading is an error of the station.

use super::Column;

/// A metre a second in millimetres an hour, the base unit of speeds.
pub(super) const METRES_PER_SECOND: f64 = 3.6e6;

/// Returns the lowest and the highest value that a reading can be, in base units.
///
/// The limits lie beyond what the World Meteorological Organization lists as extremes for places where fruit
/// grows: they sort out broken sensors, not unusual weather. A humidity up to half a percent above 100 % is the
/// rounding of a saturated sensor.
pub fn possible(column: Column) -> (f64, f64) {
    match column {
        Column::Temperature => (-60.0, 60.0),
        Column::DewPoint => (-75.0, 40.0),
        Column::Humidity => (0.0, 1.0),
        Column::Rain => (0.0, 500.0),
        Column::Wind => (0.0, 100.0 * METRES_PER_SECOND),
        Column::Gust => (0.0, 120.0 * METRES_PER_SECOND),
        Column::LeafWet => (0.0, 1.0),
    }
}

/// Returns the value that counts for a reading, nothing where it cannot be.
pub(super) fn accept(column: Column, value: f64) -> Option<f64> {
    let (low, high) = possible(column);
    let spare = if matches!(column, Column::Humidity | Column::LeafWet) { 0.005 } else { 0.0 };
    (value >= low && value <= high + spare + 1e-12).then_some(value.clamp(low, high))
}
