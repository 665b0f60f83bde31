//! What would have to be found out where something is open.

use super::Need;
use super::worlds::{Gauge, WorldNode, WorldWalk};
use crate::measure::{Cause, Reading};
use crate::plan::{ExprNode, NameId, Origin, Place};

impl WorldWalk<'_> {
    /// Returns everything unsettled on which an open gate or choice hangs.
    pub fn everything_open(&self, gauge: &dyn Gauge, node: &WorldNode) -> Vec<Vec<Need>> {
        let weighed = self.weighed(node);
        let mut found = Vec::new();
        let mut seen = Vec::new();
        let mut todo: Vec<NameId> = weighed.open_names(self.rules);
        while let Some(name) = todo.pop() {
            if seen.contains(&name) {
                continue;
            }
            seen.push(name);
            if !self.is_open(node, name) {
                continue;
            }
            todo.extend(self.inputs.direct(name));
            if self.is_asked(name) {
                found.push(vec![Need::Name(name)]);
            } else if !self.inputs.direct(name).any(|input| self.is_open(node, input)) {
                found.push(self.needs_of(gauge, node, name));
            }
            let elsewhere = gauge.unseen_elsewhere(name);
            if !elsewhere.is_empty() {
                found.push(elsewhere.to_vec());
            }
        }
        found
    }

    /// Returns all that would have to be found out for a name that no input alone settles.
    pub(super) fn needs_of(&self, gauge: &dyn Gauge, node: &WorldNode, name: NameId) -> Vec<Need> {
        let mut found = Vec::new();
        let mut seen = Vec::new();
        let mut todo = vec![name];
        while let Some(name) = todo.pop() {
            if seen.contains(&name) {
                continue;
            }
            seen.push(name);
            found.extend_from_slice(gauge.unseen_elsewhere(name));
            if self.is_asked(name) {
                found.push(Need::Name(name));
                continue;
            }
            let cause = node.gauged.names.get(name.index()).and_then(|reading| reading.cause.as_ref());
            found.extend(match cause {
                Some(Cause::Weather(_)) => Some(Need::Weather),
                Some(Cause::Sprays(_)) => Some(Need::Sprays),
                Some(Cause::Harvest) => Some(Need::Harvest),
                Some(Cause::Sprayer) => Some(Need::Sprayer),
                Some(Cause::NoRow(_) | Cause::Doubt(_)) => self.doubted(node, name),
                Some(Cause::Unseen(_) | Cause::SeenBetween | Cause::Empty(_)) | None => None,
            });
            todo.extend(self.inputs.direct(name).filter(|input| self.is_open(node, *input)));
        }
        if found.is_empty() {
            // Nothing below it is open: what is known does not settle it, and is looked at again.
            found.push(Need::Name(self.observed_below(name).unwrap_or(name)));
        }
        found.sort();
        found.dedup();
        found
    }

    /// Returns what a name hangs on that is doubtful though all it is computed from is known: a sample is looked at
    /// again; what a table does not know nobody can look at, and it is named itself.
    fn doubted(&self, node: &WorldNode, name: NameId) -> Option<Need> {
        if self.inputs.direct(name).any(|input| self.is_open(node, input)) {
            return None;
        }
        let sampled = match &self.plan[name].origin {
            Origin::Measure(measure) => match &*measure.expr.node {
                ExprNode::LikelyRange(sampled) => Some(*sampled),
                _ => None,
            },
            _ => None,
        };
        Some(Need::Name(sampled.unwrap_or(name)))
    }

    /// Returns whether a name, or that of any group of panicles, is not known exactly.
    fn is_open(&self, node: &WorldNode, name: NameId) -> bool {
        let open =
            |names: &[Reading]| names.get(name.index()).is_some_and(|reading| !reading.extent.is_settled());
        if self.plan[name].scope == Place::Panicles {
            return node.gauged.groups.iter().any(|group| open(&group.names));
        }
        open(&node.gauged.names)
    }

    /// Returns whether the grower writes a name's value down: an observation, or the cultivar.
    pub(super) fn is_asked(&self, name: NameId) -> bool {
        matches!(self.plan[name].origin, Origin::Observed(_) | Origin::Cultivar)
    }

    fn observed_below(&self, name: NameId) -> Option<NameId> {
        if matches!(self.plan[name].origin, Origin::Observed(_)) {
            return Some(name);
        }
        self.inputs.direct(name).find_map(|input| self.observed_below(input))
    }
}
