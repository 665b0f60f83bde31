//! Statistics over a tree's groups of panicles.

use super::Extent;
use crate::plan::Statistic;

/// A value of a group with its share of the panicles.
pub(super) type OfGroup = (Option<f64>, Extent);

/// Returns a statistic of numbers; the mean is weighted by the shares, and lies anywhere between where they are not
/// known.
pub(super) fn statistic_of_numbers(statistic: Statistic, several: &[OfGroup]) -> Extent {
    let ends: Vec<(Option<f64>, f64, f64)> =
        several.iter().filter_map(|(share, it)| it.ends().map(|(low, high)| (*share, low, high))).collect();
    let fold = |of: fn(f64, f64) -> f64, from: f64| {
        (ends.iter().map(|it| it.1).fold(from, of), ends.iter().map(|it| it.2).fold(from, of))
    };
    let may_be_empty = several.iter().all(|(_, it)| it.may_be_empty);
    let (low, high) = match statistic {
        Statistic::Lowest => fold(f64::min, f64::INFINITY),
        Statistic::Highest => fold(f64::max, f64::NEG_INFINITY),
        Statistic::Total => (ends.iter().map(|it| it.1).sum(), ends.iter().map(|it| it.2).sum()),
        Statistic::Mean => {
            let weights: Option<Vec<f64>> = ends.iter().map(|it| it.0).collect();
            match weights {
                Some(weights) => {
                    let all: f64 = weights.iter().sum();
                    let mean = |of: fn(&(Option<f64>, f64, f64)) -> f64| {
                        ends.iter().zip(&weights).map(|(it, weight)| of(it) * weight).sum::<f64>() / all
                    };
                    (crate::units::clean(mean(|it| it.1)), crate::units::clean(mean(|it| it.2)))
                }
                None => (fold(f64::min, f64::INFINITY).0, fold(f64::max, f64::NEG_INFINITY).1),
            }
        }
    };
    Extent { may_be_empty, ..Extent::between(low, high) }
}

/// Returns the lowest or the highest of words.
pub(super) fn statistic_of_words(statistic: Statistic, several: &[OfGroup]) -> Extent {
    let sets = several.iter().map(|(_, it)| it.word_set()).filter(|set| *set != 0);
    let join = |a: u64, b: u64| {
        let mut joined = 0u64;
        for one in (0..64).filter(|place| a >> place & 1 == 1) {
            for other in (0..64).filter(|place| b >> place & 1 == 1) {
                let place = if statistic == Statistic::Highest { one.max(other) } else { one.min(other) };
                joined |= 1 << place;
            }
        }
        joined
    };
    sets.reduce(join).map_or(Extent::EMPTY, Extent::words)
}
