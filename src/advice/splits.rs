//! Where a world is split: at an input that can be found out, into pieces between which something computed from it changes
//! its cell.

use super::Need;
use super::worlds::{Gauge, WorldNode, WorldWalk};
use crate::measure::{Extent, Gauged, Possible, Reading, WorldInput, speaks_of_trees};
use crate::plan::{Kind, NameId, Place, TextId};
use std::cell::RefCell;

/// Where a walk can go on.
#[derive(Debug)]
pub struct Split {
    /// What is split.
    pub leaf: WorldInput,
    /// Its pieces, in order.
    pub pieces: Vec<Extent>,
    /// What would have to be found out.
    pub needs: Vec<Need>,
    /// The name that hangs on it.
    pub target: NameId,
}

impl WorldWalk<'_> {
    /// Splits a world at a leaf that was split somewhere below it.
    pub fn split_at(
        &self,
        gauge: &dyn Gauge,
        node: &WorldNode,
        leaf: WorldInput,
        target: NameId,
        needs: &[Need],
    ) -> Option<Split> {
        let name = leaf.name();
        let split = match leaf {
            WorldInput::Others(_) => None,
            WorldInput::Name(_) | WorldInput::InGroup(..) => self.split_leaf(gauge, node, leaf, name, target),
        };
        split
            .or_else(|| {
                let found = self.split(gauge, node, target);
                (found.leaf == leaf).then_some(found)
            })
            .filter(|split| split.pieces.len() > 1)
            .map(|split| Split { needs: needs.to_vec(), ..split })
    }

    /// Finds what to split so that a name becomes one cell: an input that can be split, else the name itself.
    pub fn split(&self, gauge: &dyn Gauge, node: &WorldNode, name: NameId) -> Split {
        self.split_below(gauge, node, name, name).unwrap_or_else(|| {
            let extent = node.gauged.names.get(name.index()).map_or(Extent::EMPTY, |reading| reading.extent);
            let needs = self.needs_of(gauge, node, name);
            Split {
                leaf: WorldInput::Name(name),
                pieces: self.rules.axes.of(name).split(extent),
                needs,
                target: name,
            }
        })
    }

    fn split_below(
        &self,
        gauge: &dyn Gauge,
        node: &WorldNode,
        name: NameId,
        target: NameId,
    ) -> Option<Split> {
        let leaf = |leaf| self.split_leaf(gauge, node, leaf, name, target);
        let observed = self.is_asked(name);
        if observed && self.plan[name].scope == Place::Panicles {
            let groups = 0..node.gauged.groups.len();
            return groups.into_iter().find_map(|group| leaf(WorldInput::InGroup(group, name)));
        }
        if (observed || node.world.fixed(WorldInput::Name(name)).is_some())
            && let Some(split) = leaf(WorldInput::Name(name))
        {
            return Some(split);
        }
        let others = || self.split_others(gauge, node, name, target);
        let unsettled = |input: &NameId| {
            self.plan[*input].scope == Place::Panicles
                || node.gauged.names.get(input.index()).is_some_and(|reading| !reading.extent.is_settled())
        };
        let inputs = self.inputs.direct(name).filter(unsettled);
        inputs.into_iter().find_map(|input| self.split_below(gauge, node, input, target)).or_else(others)
    }

    /// Splits how many of the other trees a measure over trees counts where that changes the cell of the target, else
    /// into each count.
    fn split_others(
        &self,
        gauge: &dyn Gauge,
        node: &WorldNode,
        name: NameId,
        target: NameId,
    ) -> Option<Split> {
        speaks_of_trees(&self.plan[name])?;
        let leaf = WorldInput::Others(name);
        let fixed = node.world.fixed(leaf).and_then(Extent::ends);
        let (low, high) = fixed.unwrap_or((0.0, gauge.others_open(name)));
        let needs = gauge.unseen_elsewhere(name);
        if low >= high || needs.is_empty() {
            return None;
        }
        let mut pieces = self.pieces(gauge, node, (leaf, target), (low, high, true));
        if pieces.len() < 2 {
            pieces = (0..=(high - low) as u32).map(|more| Extent::number(low + f64::from(more))).collect();
        }
        Some(Split { leaf, pieces, needs: needs.to_vec(), target })
    }

    /// Cuts the numbers of a leaf where a name changes its cell.
    fn pieces(
        &self,
        gauge: &dyn Gauge,
        node: &WorldNode,
        (leaf, target): (WorldInput, NameId),
        (low, high, whole): (f64, f64, bool),
    ) -> Vec<Extent> {
        // Each try computes the same names anew, so that one copy serves them all.
        let tried = RefCell::new(node.gauged.clone());
        let between: Vec<NameId> = self.inputs.between(leaf.name(), target).collect();
        let axis = self.rules.axes.of(target);
        let cells = |extent: Extent| {
            let gauged = &mut *tried.borrow_mut();
            let world = node.world.with(leaf, extent);
            gauge.gauge_from(&world, gauged, leaf, &mut between.iter().copied(), &mut drop);
            gauged.names.get(target.index()).map_or_else(|| axis.all(), |it| axis.touched(it.extent))
        };
        crate::situation::pieces(low, high, whole, &cells)
    }

    /// Splits a leaf at its cuts; where they leave one piece, at the values at which the target changes its cell.
    fn split_leaf(
        &self,
        gauge: &dyn Gauge,
        node: &WorldNode,
        leaf: WorldInput,
        name: NameId,
        target: NameId,
    ) -> Option<Split> {
        let extent = reading(&node.gauged, leaf)?.extent;
        if extent.is_settled() {
            return None;
        }
        let mut pieces = match (extent.word_set(), self.classes.get(name.index())) {
            (set, Some(classes)) if set != 0 && !extent.may_be_empty && !classes.is_empty() => {
                let classes = classes.iter().map(|class| class & set).filter(|class| *class != 0);
                classes.map(Extent::words).collect()
            }
            _ => self.cuts.get(name.index())?.split(extent),
        };
        // Texts have no order of their own; the place of an item in its rulebook is none.
        let written = |text: TextId| self.plan.texts.get(text.0 as usize);
        pieces.sort_by_key(|piece| piece.text().map(|text| (written(text).is_none(), written(text))));
        if let [Extent { can_be: Possible::Numbers(low, high), .. }] = pieces[..] {
            let whole = matches!(self.plan[name].kind, Kind::Count | Kind::Date);
            pieces = self.pieces(gauge, node, (leaf, target), (low, high, whole));
        }
        (pieces.len() > 1).then_some(Split { leaf, pieces, needs: vec![Need::Name(name)], target })
    }
}

/// Returns the reading at a leaf.
fn reading(gauged: &Gauged, leaf: WorldInput) -> Option<&Reading> {
    match leaf {
        WorldInput::Name(name) | WorldInput::Others(name) => gauged.names.get(name.index()),
        WorldInput::InGroup(group, name) => gauged.groups.get(group)?.names.get(name.index()),
    }
}
