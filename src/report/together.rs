//! Sprays that wait for the same hours: what all of them together take of the one sprayer's time, and whether they fit.

use super::json::WindowEntry;
use super::{TreeGroup, Trees};
use crate::advice::{Case, Window};
use serde::Serialize;

/// The sprays whose first hours open at the same moment.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Together {
    /// How many groups of trees.
    pub groups: usize,
    /// How many hours all of them take, with the filling between their loads.
    pub hours: f64,
    /// The longest window that opens then.
    pub window: Window,
}

impl Together {
    /// Returns whether one sprayer does all of them in the window.
    pub fn fits(&self) -> bool {
        self.hours <= self.window.hours() + 1e-9
    }
}

/// Returns what the sprays of a page that can begin first take together; nothing where there are not several, or the pace of
/// the sprayer is not known.
pub fn together<'c>(
    trees: &dyn Trees,
    groups: &[TreeGroup],
    case: impl Fn(usize) -> Option<&'c Case>,
) -> Option<Together> {
    let mut sprays = Vec::new();
    for group in groups {
        let spray = &case(*group.cases.first()?)?.spray;
        if spray.is_empty() {
            continue;
        }
        let work = trees.work(spray, &group.trees)?;
        sprays.extend(group.hours.usable(Some(work.loads())).first().copied().map(|window| (window, work)));
    }
    let first = sprays.iter().map(|(window, _)| window.from).min()?;
    sprays.retain(|(window, _)| window.from == first);
    let window = sprays.iter().map(|(window, _)| *window).max_by_key(|window| window.to)?;
    let fill = sprays.first().map_or(0.0, |(_, work)| work.takes().fill);
    let hours = sprays.iter().map(|(_, work)| work.hours()).sum::<f64>() + fill * (sprays.len() - 1) as f64;
    (sprays.len() > 1).then_some(Together { groups: sprays.len(), hours, window })
}

/// Several sprays whose first hours open at the same moment.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct TogetherEntry {
    groups: usize,
    minutes: i64,
    #[serde(flatten)]
    window: WindowEntry,
    fits: bool,
}

impl From<Together> for TogetherEntry {
    fn from(together: Together) -> Self {
        Self {
            groups: together.groups,
            minutes: libm::ceil(together.hours * 60.0 - 1e-6) as i64,
            window: (&together.window).into(),
            fits: together.fits(),
        }
    }
}
