//! What a sample says of the whole.

/// Returns the 90 % interval of Wilson (1927) for a share of which so many were found among so many looked at.
///
/// The bounds are those of the score test with z = 1.644853627, without a correction for continuity. Of nothing
/// looked at it is everything.
pub fn wilson(found: u32, of: u32) -> (f64, f64) {
    const Z: f64 = 1.644_853_626_951_472_2;
    if of == 0 {
        return (0.0, 1.0);
    }
    let n = f64::from(of);
    let share = f64::from(found.min(of)) / n;
    let spread = Z * Z / n;
    let middle = (share + spread / 2.0) / (1.0 + spread);
    let half = Z / (1.0 + spread) * libm::sqrt(share * (1.0 - share) / n + spread / (4.0 * n));
    ((middle - half).max(0.0), (middle + half).min(1.0))
}
