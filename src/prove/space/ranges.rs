//! The ranges of what is seen, of two rulebooks: what either of them takes.

use crate::plan::{Origin, Plan};

/// Returns two rulebooks in which what both ask for has all values that one of them takes: beyond its own range a rulebook refuses
/// a grove, and says nothing of it.
pub(crate) fn with_common_ranges(plans: [&Plan; 2]) -> [Plan; 2] {
    let common = |book: usize| {
        let mut plan = plans[book].clone();
        for name in &mut plan.names {
            let Origin::Observed(seen) = &mut name.origin else { continue };
            let mut others = plans[1 - book].observations();
            if let Some((_, _, other)) =
                others.find(|(_, of, _)| of.word == name.word && of.kind == name.kind)
            {
                let both = seen.range.zip(other.range);
                seen.range = both.map(|((low, high), (from, to))| (low.min(from), high.max(to)));
            }
        }
        plan
    };
    [common(0), common(1)]
}
