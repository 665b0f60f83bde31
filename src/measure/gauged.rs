//! All values of one tree.

use super::Reading;
use std::rc::Rc;

/// What every name of a plan is for one tree.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Gauged {
    /// By the name's number. An observation of panicles has its value here where the tree is one group.
    pub names: Vec<Reading>,
    /// The groups of panicles; one of 100 % where the tree has none of its own. The worlds of a
    /// tree share them until one of them differs.
    pub groups: Rc<[Group]>,
}

/// The values of a group of panicles.
#[derive(Clone, PartialEq, Debug)]
pub struct Group {
    /// Its share of the tree's panicles, 0 to 1; unknown where it was not given.
    pub share: Option<f64>,
    /// The values of the observations of panicles, by the name's number; of other names unknown and unused.
    pub names: Vec<Reading>,
}
