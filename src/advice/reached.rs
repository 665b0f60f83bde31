//! The worlds to which answers to questions lead, each worked out once.
//!
//! Comes in: a world, the walk of what it leads to. Goes out: whether some questions settle it. Many sets of questions are
//! tried on one world, and lead to the same worlds again and again: what was reached is kept while they are tried. It
//! counts as a step of the walk each time, so that the number of steps does not hang on what was tried before.

use super::Need;
use super::splits::Split;
use super::worlds::{Gauge, Leads, TooMany, WorldNode, WorldWalk};
use std::cell::OnceCell;
use std::rc::Rc;

/// What a world leads to, and the worlds that were reached from it.
pub struct Reached {
    leads: Rc<Leads>,
    /// The worlds below it, for each thing that is asked there.
    below: Vec<OnceCell<Option<Below>>>,
}

/// The worlds of the pieces of a split.
struct Below {
    split: Split,
    worlds: Vec<OnceCell<Reached>>,
}

impl Reached {
    /// Walks all that a world can lead to.
    pub fn new(walk: &WorldWalk<'_>, gauge: &dyn Gauge, node: &mut WorldNode) -> Result<Self, TooMany> {
        let leads = walk.leads_of(gauge, node)?;
        let below = leads.asked.iter().map(|_| OnceCell::new()).collect();
        Ok(Self { leads, below })
    }

    /// Returns whether every combination of answers to these questions leaves one verdict. `node` is the world.
    pub fn is_settled_by(
        &self,
        walk: &WorldWalk<'_>,
        gauge: &dyn Gauge,
        node: &mut WorldNode,
        questions: &[Vec<Need>],
    ) -> Result<bool, TooMany> {
        if self.leads.one().is_some() {
            return Ok(true);
        }
        let asked = self.leads.asked.iter().zip(&self.below);
        let ours = asked.filter(|((_, _, needs), _)| questions.contains(needs));
        let mut below = ours.filter_map(|((leaf, target, needs), below)| {
            let split = || walk.split_at(gauge, node, *leaf, *target, needs);
            below.get_or_init(|| split().map(Below::new)).as_ref()
        });
        let Some(Below { split, worlds }) = below.next() else { return Ok(false) };
        drop(below);
        for (piece, world) in split.pieces.iter().zip(worlds) {
            walk.count_step()?;
            if world.get().is_some_and(|world| world.leads.one().is_some()) {
                continue;
            }
            let is_settled = walk.visit(gauge, node, (split.leaf, *piece), |node| {
                let world = match world.get() {
                    Some(world) => world,
                    None => {
                        let reached = Self::new(walk, gauge, node)?;
                        world.get_or_init(|| reached)
                    }
                };
                world.is_settled_by(walk, gauge, node, questions)
            })?;
            if !is_settled {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

impl Below {
    fn new(split: Split) -> Self {
        let worlds = split.pieces.iter().map(|_| OnceCell::new()).collect();
        Self { split, worlds }
    }
}
