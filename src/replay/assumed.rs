//! The advice taken as followed: what is advised in the morning is sprayed in the first hours that are open until the next one.

use super::TankDone;
use crate::advice::{Advice, Spray, Window};
use crate::grove::{Grove, SprayRow};
use crate::plan::Plan;
use crate::trace::Verdict;
use chrono::{DateTime, Duration};
use chrono_tz::Tz;
use std::sync::Arc;

/// So long a spray is taken to last, where its hours are not shorter.
const LASTS: i64 = 60;

/// Returns the sprays of a morning that are taken as done before the next one: one for all trees with the same spray and hours.
pub(super) fn sprays(
    (plan, grove): (&Plan, &Grove),
    advice: &Advice,
    chosen: &[usize],
    next: DateTime<Tz>,
) -> Vec<(SprayRow, TankDone)> {
    let mut tanks: Vec<(Spray, Window, Vec<usize>)> = Vec::new();
    for tree in chosen {
        let Some(own) = advice.trees.get(*tree) else { continue };
        let Some(case) = advice.case_of(own) else { continue };
        let window = own.hours.for_spray(None).first().copied().filter(|window| window.from < next);
        let (Verdict::Spray(_), Some(window)) = (&case.decision.verdict, window) else { continue };
        match tanks.iter_mut().find(|(spray, at, _)| *spray == case.spray && at.from == window.from) {
            Some((_, _, trees)) => trees.push(*tree),
            None => tanks.push((case.spray.clone(), window, vec![*tree])),
        }
    }
    let made = tanks.into_iter().map(|(spray, window, trees)| {
        let end = window.to.min(window.from + Duration::minutes(LASTS));
        let row = SprayRow::assumed((window.from, end), (plan, grove), &spray, &trees);
        let word = |product: crate::plan::ProductId| Arc::clone(&plan[product].name);
        let parts = spray.iter().map(|(product, strength)| (word(*product), Some(*product), Some(*strength)));
        (row, TankDone { start: window.from, parts: parts.collect(), trees, assumed: true })
    });
    made.collect()
}
