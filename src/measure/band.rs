//! The grade of a band from the truth of its rows.

use super::Truth;

/// Returns the levels that a band can have, the bit of a level being its place.
///
/// Every row that holds raises to its level or caps at it; the grade is the highest raise, cut by the lowest cap.
pub fn grade(rows: impl Iterator<Item = (bool, u16, Truth)> + Clone) -> u64 {
    let raises = || rows.clone().filter(|(caps, _, _)| !caps);
    let caps = || rows.clone().filter(|(caps, _, _)| *caps);
    let sure = |truth: &Truth| *truth == Truth::Yes;
    let raised = raises().filter(|(_, _, truth)| sure(truth)).map(|(_, level, _)| level).max().unwrap_or(0);
    let capped = caps().filter(|(_, _, truth)| sure(truth)).map(|(_, level, _)| level).min().unwrap_or(63);
    let mut grades = 0;
    let perhaps_capped = caps().filter(|(_, level, truth)| *truth == Truth::Open && *level < capped);
    for cap in perhaps_capped.map(|(_, level, _)| level).chain([capped]) {
        let perhaps_raised = raises().filter(|(_, level, truth)| *truth == Truth::Open && *level > raised);
        for raise in perhaps_raised.map(|(_, level, _)| level).chain([raised]) {
            grades |= 1u64 << raise.min(cap).min(63);
        }
    }
    grades
}
