//! Which choices stand below which, directly or through others.

use crate::plan::{ChoiceId, Plan};

/// For each choice the choices below it, a bit for each.
#[derive(Clone, Debug)]
pub struct Ranks {
    below: Vec<Vec<u64>>,
}

impl Ranks {
    /// Reads a rulebook. In a circle of ranks each choice is below all others of it, and below itself.
    pub fn of(plan: &Plan) -> Self {
        Self::directly(&plan.choices.iter().map(|choice| &*choice.outranks).collect::<Vec<_>>())
    }

    /// The same, of the choices that each outranks directly.
    fn directly(outranks: &[&[ChoiceId]]) -> Self {
        let count = outranks.len();
        let mut below = vec![vec![0_u64; count.div_ceil(64)]; count];
        let order = lowest_first(outranks);
        // One round is enough where no ranks go in a circle.
        let mut is_changed = true;
        while is_changed {
            is_changed = false;
            for at in &order {
                let mut mine = std::mem::take(&mut below[*at]);
                let before = mine.clone();
                for lower in outranks[*at] {
                    let lower = lower.index();
                    mine[lower / 64] |= 1 << (lower % 64);
                    mine.iter_mut().zip(&below[lower]).for_each(|(mine, theirs)| *mine |= theirs);
                }
                is_changed |= mine != before;
                below[*at] = mine;
            }
        }
        Self { below }
    }

    /// Returns the choices below one, in the order of their numbers.
    pub fn below(&self, choice: usize) -> impl Iterator<Item = ChoiceId> {
        let words = self.below.get(choice).into_iter().flatten().enumerate();
        words.flat_map(|(place, word)| {
            let mut left = *word;
            std::iter::from_fn(move || {
                let bit = (left != 0).then(|| left.trailing_zeros())?;
                left &= left - 1;
                Some(ChoiceId(place as u32 * 64 + bit))
            })
        })
    }
}

/// Returns the choices so that those which one outranks come before it, as far as that can be.
fn lowest_first(outranks: &[&[ChoiceId]]) -> Vec<usize> {
    let mut order = Vec::with_capacity(outranks.len());
    let mut seen = vec![false; outranks.len()];
    for start in 0..outranks.len() {
        // A choice and how many of those that it outranks were gone into.
        let mut path = if std::mem::replace(&mut seen[start], true) { Vec::new() } else { vec![(start, 0)] };
        while let Some((at, next)) = path.last_mut() {
            match outranks[*at].get(*next).map(|lower| lower.index()) {
                None => {
                    order.push(*at);
                    path.pop();
                }
                Some(lower) => {
                    *next += 1;
                    if !std::mem::replace(&mut seen[lower], true) {
                        path.push((lower, 0));
                    }
                }
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::{ChoiceId, Ranks};
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    /// Goes from one choice along its ranks as long as anything new is met.
    fn walked(outranks: &[Vec<u32>], choice: usize) -> BTreeSet<u32> {
        let mut found: BTreeSet<u32> = outranks[choice].iter().copied().collect();
        loop {
            let next = found.iter().flat_map(|at| &outranks[*at as usize]).copied();
            let all: BTreeSet<u32> = found.iter().copied().chain(next).collect();
            if all.len() == found.len() {
                return found;
            }
            found = all;
        }
    }

    fn lists() -> impl Strategy<Value = Vec<Vec<u32>>> {
        (1_usize..90).prop_flat_map(|count| {
            proptest::collection::vec(proptest::collection::vec(0..count as u32, 0..3), count)
        })
    }

    proptest! {
        #[test]
        fn below_a_choice_is_all_that_its_ranks_lead_to_also_in_circles(lists in lists()) {
            let ids: Vec<Vec<ChoiceId>> =
                lists.iter().map(|list| list.iter().map(|at| ChoiceId(*at)).collect()).collect();
            let ranks = Ranks::directly(&ids.iter().map(|list| &list[..]).collect::<Vec<_>>());
            for choice in 0..lists.len() {
                let below: Vec<u32> = ranks.below(choice).map(|it| it.0).collect();
                prop_assert_eq!(below, walked(&lists, choice).into_iter().collect::<Vec<_>>());
            }
        }
    }
}
