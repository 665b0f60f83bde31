//! The rounds of a day that wait for the same hours: what all of them together take of the one sprayer's time, and whether they
//! fit. Every page and JSON form says the same of it.

use super::json::WindowEntry;
use crate::advice::Window;
use crate::sprayday::Day;
use serde::Serialize;

/// The rounds whose first hours open at the same moment.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Together {
    /// How many.
    pub mixes: usize,
    /// How many hours all of them take, with the filling before each load.
    pub hours: f64,
    /// The longest window that opens then.
    pub window: Window,
    /// Whether one sprayer does all of them in the window; the first load of hours to come is filled before they open.
    pub fits: bool,
}

/// Returns what the rounds of a day that can begin first take together; nothing where there are not several,
/// or the pace of the sprayer is not known.
pub fn together(day: &Day<'_>) -> Option<Together> {
    let rounds = day.rounds.iter().filter(|round| round.is_weighed());
    let mut sprays = Vec::new();
    for round in rounds {
        let takes = round.takes?;
        sprays.extend(round.usable().first().copied().map(|window| (window, takes)));
    }
    let first = sprays.iter().map(|(window, _)| window.from).min()?;
    sprays.retain(|(window, _)| window.from == first);
    let window = sprays.iter().map(|(window, _)| *window).max_by_key(|window| window.to)?;
    let hours = sprays.iter().map(|(_, takes)| takes).sum::<f64>();
    let before = if window.from > day.as_of { day.fill } else { 0.0 };
    let fits = hours - before <= window.hours() + 1e-9;
    (sprays.len() > 1).then_some(Together { mixes: sprays.len(), hours, window, fits })
}

/// Several mixes whose first hours open at the same moment.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct TogetherEntry {
    mixes: usize,
    minutes: i64,
    #[serde(flatten)]
    window: WindowEntry,
    fits: bool,
}

impl From<Together> for TogetherEntry {
    fn from(together: Together) -> Self {
        Self {
            mixes: together.mixes,
            minutes: libm::ceil(together.hours * 60.0 - 1e-6) as i64,
            window: (&together.window).into(),
            fits: together.fits,
        }
    }
}
