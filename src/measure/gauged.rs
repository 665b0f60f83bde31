//! All values of one tree.

use super::Reading;
use crate::plan::NameId;
use std::rc::Rc;

/// What every name of a plan is for one tree.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Gauged {
    /// By the name's number. An observation of panicles has its value here where the tree is one group.
    pub names: Vec<Reading>,
    /// The groups of panicles; one of 100 % where the tree has none of its own. The worlds of a
    /// tree share them until one of them differs.
    pub groups: Rc<[GaugedGroup]>,
}

/// The values of a group of panicles.
#[derive(Clone, PartialEq, Debug)]
pub struct GaugedGroup {
    /// Its share of the tree's panicles, 0 to 1; unknown where it was not given.
    pub share: Option<f64>,
    /// The values of the observations of panicles, by the name's number; of other names unknown and unused.
    pub names: Vec<Reading>,
}

/// What a name is, and where that stands.
#[derive(Clone, PartialEq, Debug)]
pub struct Placed {
    /// The group of panicles; nothing for the tree.
    pub group: Option<usize>,
    /// The name.
    pub name: NameId,
    /// What it is.
    pub reading: Reading,
}

impl Gauged {
    /// Puts a value in its place, and returns the one that stood there.
    pub fn put(&mut self, mut placed: Placed) -> Placed {
        let names = match placed.group {
            Some(group) => Rc::make_mut(&mut self.groups).get_mut(group).map(|it| &mut it.names),
            None => Some(&mut self.names),
        };
        if let Some(place) = names.and_then(|names| names.get_mut(placed.name.index())) {
            std::mem::swap(place, &mut placed.reading);
        }
        placed
    }
}
