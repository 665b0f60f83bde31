//! The values that an explanation shows: those of one tree, or of several at once.

use crate::measure::{Gauged, Reading};
use crate::plan::NameId;

/// The values of one tree or of several. A name may have no value here: then only conditions on it are said.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Values {
    /// The number of the tree, where they are of one.
    pub tree: Option<usize>,
    names: Vec<Vec<Reading>>,
    groups: Vec<PanicleGroup>,
}

/// The values of a group of panicles.
#[derive(Clone, PartialEq, Debug)]
struct PanicleGroup {
    share: Option<f64>,
    names: Vec<Vec<Reading>>,
}

/// So many different readings of one name are kept; of numbers then the lowest and the highest.
const MOST: usize = 64;

impl Values {
    /// The values of one tree.
    pub fn of_tree(tree: usize, gauged: &Gauged) -> Self {
        let one = |readings: &[Reading]| readings.iter().map(|reading| vec![reading.clone()]).collect();
        let groups = gauged
            .groups
            .iter()
            .map(|group| PanicleGroup { share: group.share, names: one(&group.names) })
            .collect();
        Self { tree: Some(tree), names: one(&gauged.names), groups }
    }

    /// Values that are the same for all trees, and no others.
    pub fn of_grove(count: usize, values: &[(NameId, Reading)]) -> Self {
        let mut names = vec![Vec::new(); count];
        for (name, reading) in values {
            if let Some(place) = names.get_mut(name.index()) {
                place.push(reading.clone());
            }
        }
        Self { tree: None, names, groups: Vec::new() }
    }

    /// Adds the values of another tree. Groups of panicles are kept where each tree is one group.
    pub fn join(&mut self, gauged: &Gauged) {
        self.tree = None;
        for (known, reading) in self.names.iter_mut().zip(&gauged.names) {
            add(known, reading);
        }
        match (&mut self.groups[..], &gauged.groups[..]) {
            ([ours], [theirs]) => {
                ours.names.iter_mut().zip(&theirs.names).for_each(|(known, reading)| add(known, reading));
            }
            _ => self.groups.clear(),
        }
    }

    /// Returns the different readings of a name; none where it has no value here.
    pub fn of(&self, name: NameId) -> &[Reading] {
        self.names.get(name.index()).map_or(&[], |readings| readings)
    }

    /// Returns how many groups of panicles are known here.
    pub fn groups(&self) -> usize {
        self.groups.len()
    }

    /// Returns the share of a group of panicles.
    pub fn share(&self, group: usize) -> Option<f64> {
        self.groups.get(group).and_then(|group| group.share)
    }

    /// Returns the different readings of a name in a group of panicles.
    pub fn in_group(&self, group: usize, name: NameId) -> &[Reading] {
        self.groups
            .get(group)
            .and_then(|group| group.names.get(name.index()))
            .map_or(&[], |readings| readings)
    }
}

fn add(known: &mut Vec<Reading>, reading: &Reading) {
    if known.last() == Some(reading) || known.contains(reading) {
        return;
    }
    known.push(reading.clone());
    if known.len() <= MOST {
        return;
    }
    let number = |reading: &Reading| reading.extent.one_number();
    let (mut numbers, mut rest): (Vec<Reading>, Vec<Reading>) =
        known.drain(..).partition(|reading| number(reading).is_some());
    numbers.sort_by(|a, b| number(a).unwrap_or(0.0).total_cmp(&number(b).unwrap_or(0.0)));
    rest.truncate(MOST / 2);
    known.extend(rest);
    if numbers.len() > 2 {
        let last = numbers.len() - 1;
        numbers.drain(1..last);
    }
    known.extend(numbers);
}
