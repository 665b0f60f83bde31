//! Spells: runs of hours or days in which a condition holds.

use super::Truth;
use crate::plan::Which;
use crate::units::Unit;

/// One hour or day of a window, in order: its number, and whether the condition holds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Step {
    pub(super) at: i64,
    pub(super) truth: Truth,
}

/// A spell: the places of its steps among those of the window.
pub(super) type SpellPlaces = Vec<usize>;

/// Returns the spell that is asked for, with the steps in doubt taken as the function says; of longest spells of
/// one length the latest. Gaps shorter than `across` do not end a spell, and are not counted.
pub(super) fn spell(
    steps: &[Step],
    which: Which,
    across: f64,
    holds: &dyn Fn(usize) -> bool,
) -> Option<SpellPlaces> {
    let mut best: Option<SpellPlaces> = None;
    let mut current: SpellPlaces = Vec::new();
    let mut before: Option<i64> = None;
    for (place, step) in steps.iter().enumerate() {
        if !holds(place) {
            continue;
        }
        let gap = before.map_or(0, |before| step.at - before - 1);
        if gap > 0 && gap as f64 >= across {
            best = better(best, std::mem::take(&mut current), which);
        }
        current.push(place);
        before = Some(step.at);
    }
    if current.is_empty() { best } else { better(best, current, which) }
}

fn better(best: Option<SpellPlaces>, new: SpellPlaces, which: Which) -> Option<SpellPlaces> {
    match best {
        Some(best) if which == Which::Longest && best.len() > new.len() => Some(best),
        Some(_) | None => Some(new),
    }
}

/// Returns the spell with every step in doubt taken to hold or not.
pub(super) fn certain_spell(steps: &[Step], which: Which, across: f64, doubt: bool) -> Option<SpellPlaces> {
    let holds = |place: usize| {
        steps.get(place).is_some_and(|step| step.truth == Truth::Yes || doubt && step.truth == Truth::Open)
    };
    spell(steps, which, across, &holds)
}

/// Returns the least and the greatest number of steps that the spell can have.
pub(super) fn spell_length(steps: &[Step], which: Which, across: f64) -> (usize, usize) {
    let length = |doubt| certain_spell(steps, which, across, doubt).map_or(0, |spell| spell.len());
    match which {
        // One more step that holds never makes the longest spell shorter.
        Which::Longest => (length(false), length(true)),
        Which::Latest => latest_length(steps, across),
    }
}

/// The latest spell ends in the last step that holds; which one that is the steps in doubt behind it decide.
fn latest_length(steps: &[Step], across: f64) -> (usize, usize) {
    let surely = steps.iter().rposition(|step| step.truth == Truth::Yes);
    let ends = steps
        .iter()
        .enumerate()
        .filter(|(place, step)| Some(*place) == surely || step.truth == Truth::Open && Some(*place) > surely);
    let (mut least, mut most) = if surely.is_none() { (0, 0) } else { (usize::MAX, 0) };
    for (end, _) in ends {
        let length = |doubt: bool| {
            let holds = |place: usize| {
                let truth = steps.get(place).map(|step| step.truth);
                place == end
                    || place < end && (truth == Some(Truth::Yes) || doubt && truth == Some(Truth::Open))
            };
            spell(steps, Which::Latest, across, &holds).map_or(0, |spell| spell.len())
        };
        (least, most) = (least.min(length(false)), most.max(length(true)));
    }
    (least.min(most), most)
}

/// Returns the least and the greatest number of spells of at least so many steps.
pub(super) fn spells_of(steps: &[Step], at_least: f64) -> (usize, usize) {
    let (threshold, whole) = (Unit::none().threshold_of_amount(at_least), libm::floor(at_least));
    let wanted = if threshold.is_reached_by(whole, true) { whole } else { whole + 1.0 };
    let wanted = (wanted.max(1.0) as usize).min(steps.len() + 1);
    // For each length of the run that is under way, the least and the greatest count of spells so far.
    let mut counts: Vec<Option<(usize, usize)>> = vec![None; wanted + 1];
    if let Some(start) = counts.first_mut() {
        *start = Some((0, 0));
    }
    let mut before: Option<i64> = None;
    for step in steps {
        if before.is_some_and(|before| step.at != before + 1) {
            counts = merged_to_start(&counts);
        }
        before = Some(step.at);
        let mut next =
            if step.truth == Truth::Yes { vec![None; wanted + 1] } else { merged_to_start(&counts) };
        if step.truth != Truth::No {
            for (length, count) in counts.iter().enumerate() {
                let Some((least, most)) = *count else { continue };
                let longer = (length + 1).min(wanted);
                let new = usize::from(length + 1 == wanted);
                if let Some(slot) = next.get_mut(longer) {
                    *slot = Some(widened(*slot, (least + new, most + new)));
                }
            }
        }
        counts = next;
    }
    merged_to_start(&counts).first().copied().flatten().unwrap_or((0, 0))
}

fn merged_to_start(counts: &[Option<(usize, usize)>]) -> Vec<Option<(usize, usize)>> {
    let mut start = vec![None; counts.len()];
    let all = counts.iter().flatten().fold(None, |all, count| Some(widened(all, *count)));
    if let Some(slot) = start.first_mut() {
        *slot = all;
    }
    start
}

fn widened(range: Option<(usize, usize)>, with: (usize, usize)) -> (usize, usize) {
    range.map_or(with, |range| (range.0.min(with.0), range.1.max(with.1)))
}
