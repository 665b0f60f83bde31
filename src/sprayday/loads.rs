//! Tank loads: how often the tank is filled, and what the last load holds.

use crate::units::clean;

/// The loads of a job.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Loads {
    /// How many full tanks.
    pub full: u64,
    /// What is left for a last load, in the volume's own unit; zero where the full tanks are all.
    pub last: f64,
}

/// Divides a volume of spray into tanks; the last load is exact. Without a tank it is one load.
pub fn loads(volume: f64, tank: f64) -> Loads {
    let full = whole_times(volume, tank);
    if full == 0 {
        return Loads { full, last: volume.max(0.0) };
    }
    Loads { full, last: clean(volume - full as f64 * tank).max(0.0) }
}

/// Returns how often one amount goes into another: trees into a tank, sprays into a label's total. Three times 0.2 is
/// 0.6, whatever binary numbers say.
pub fn whole_times(whole: f64, part: f64) -> u64 {
    if !(whole.is_finite() && part.is_finite() && whole > 0.0 && part > 0.0) {
        return 0;
    }
    libm::floor(clean(whole / part)) as u64
}
