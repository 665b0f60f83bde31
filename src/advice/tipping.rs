//! What would change a verdict: along each name the nearest values at which it becomes another, and readings that
//! a small error would turn.
//!
//! Each value is tried with all that is not known left open: the verdict there is the one to which every state of the
//! rest leads, or to look.

use super::accuracy::accuracy;
use super::range::border;
use super::worlds::{Gauge, WorldNode, WorldWalk};
use super::{CloseCall, PanicleShare, RangeEnd, TippingPoint, ValueRange};
use crate::measure::{Extent, Reading, WorldInput, wilson};
use crate::plan::{Bound, Kind, NameId, Origin, Place, Plan};
use crate::situation::Axis;
use crate::trace::Verdict;

/// How many worlds are looked at for one value.
const WORLDS: u32 = 1_000;
/// How many ranges are tried inside one cell to find where the verdict turns.
const TRIES: u32 = 400;

/// Finds for each name that a condition compares the nearest values at which the verdict becomes another.
pub fn points(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    verdict: &Verdict,
) -> Vec<TippingPoint> {
    let mut names: Vec<NameId> = walk.inputs.tested().collect();
    names.sort_by(|a, b| walk.plan[*a].word.cmp(&walk.plan[*b].word));
    let mut found = Vec::new();
    for name in names {
        for leaf in leaves(walk, root, name) {
            let Some(axis) = walk.cuts.get(name.index()) else { continue };
            let along = Along { walk, gauge, root, leaf, name, axis, verdict: verdict.essence() };
            found.extend(along.tipping_points());
        }
    }
    found
}

/// Returns where a name can be turned, of panicles in each of their groups; nowhere for bands, which follow from others,
/// and for texts.
fn leaves(walk: &WorldWalk<'_>, root: &WorldNode, name: NameId) -> impl Iterator<Item = WorldInput> + use<> {
    let item = &walk.plan[name];
    let groups = root.gauged.groups.len();
    let (of_groups, alone) = match item.origin {
        Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => (0, false),
        Origin::Observed(_) if item.scope == Place::Panicles => (groups, false),
        // Of a tree with one group the condition on its panicles says no more than what is seen of them.
        Origin::Measure(_) if item.hidden && item.kind == Kind::YesNo && groups == 1 => (0, false),
        Origin::Observed(_) | Origin::Measure(_) | Origin::Tally(_) => (0, true),
    };
    let in_groups = (0..of_groups).map(move |group| WorldInput::InGroup(group, name));
    in_groups.chain(alone.then_some(WorldInput::Name(name)))
}

fn extent_at(node: &WorldNode, leaf: WorldInput) -> Option<Extent> {
    reading_at(node, leaf).map(|reading| reading.extent)
}

fn reading_at(node: &WorldNode, leaf: WorldInput) -> Option<&Reading> {
    match leaf {
        WorldInput::Name(name) | WorldInput::Others(name) => node.gauged.names.get(name.index()),
        WorldInput::InGroup(group, name) => node.gauged.groups.get(group)?.names.get(name.index()),
    }
}

/// Returns all that an observation, or any other name, can be.
pub fn whole_range(plan: &Plan, name: NameId) -> Extent {
    let kind = Extent::anything(plan[name].kind, plan);
    match kind.ends() {
        Some(_) => {
            let (low, high) = domain(plan, name);
            Extent::between(low, high)
        }
        None => kind,
    }
}

/// Returns the range in which a name's numbers lie.
fn domain(plan: &Plan, name: NameId) -> (f64, f64) {
    let kind = Extent::anything(plan[name].kind, plan).ends().unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
    match &plan[name].origin {
        Origin::Observed(seen) => seen.range.map_or(kind, |(low, high)| (low.max(kind.0), high.min(kind.1))),
        Origin::Measure(_)
        | Origin::Tally(_)
        | Origin::Band(_)
        | Origin::Cultivar
        | Origin::Block
        | Origin::Date => kind,
    }
}

/// One name of one tree, whose value is changed while the rest stays as it is.
struct Along<'a> {
    walk: &'a WorldWalk<'a>,
    gauge: &'a dyn Gauge,
    root: &'a WorldNode,
    leaf: WorldInput,
    name: NameId,
    axis: &'a Axis,
    /// The verdict as it is, as far as two are equal.
    verdict: Verdict,
}

/// In which direction a value is changed.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Towards {
    More,
    Less,
}

impl Towards {
    /// Returns all numbers beyond an end.
    fn beyond(self, end: Option<RangeEnd>) -> ValueRange {
        match self {
            Towards::More => ValueRange::Numbers { low: end, high: None },
            Towards::Less => ValueRange::Numbers { low: None, high: end },
        }
    }
}

impl Along<'_> {
    fn tipping_points(&self) -> Vec<TippingPoint> {
        let Some(here) = extent_at(self.root, self.leaf) else { return Vec::new() };
        if here.is_empty() || self.surely_stays(whole_range(self.walk.plan, self.name)) {
            return Vec::new();
        }
        match (here.ends(), self.axis) {
            (Some(ends), Axis::Numbers { .. }) => {
                let turns = [Towards::Less, Towards::More];
                turns.into_iter().filter_map(|towards| self.nearest(ends, towards)).collect()
            }
            (Some(_), _) => Vec::new(),
            (None, _) => self.words(here.word_set()),
        }
    }

    /// Returns the verdict to which all that is left open leads where the value is one of these.
    fn there(&self, extent: Extent) -> Verdict {
        self.walk.budget.set(WORLDS);
        let node = self.walk.fixed(self.gauge, self.root, self.leaf, extent);
        self.walk.one(self.gauge, node).ok().flatten().unwrap_or(Verdict::Look)
    }

    /// Returns whether a look at the cells alone shows that the verdict stays.
    fn surely_stays(&self, extent: Extent) -> bool {
        let walk = self.walk;
        let node = walk.fixed(self.gauge, self.root, self.leaf, extent);
        let verdict = walk.weighed(&node).verdict(walk.rules);
        verdict.is_some_and(|(verdict, _)| verdict.essence() == self.verdict)
    }

    fn stays(&self, extent: Extent) -> bool {
        self.there(extent) == self.verdict
    }

    /// Returns the verdict at a number where it is another.
    fn turned(&self, number: f64) -> Option<Verdict> {
        let then = self.there(Extent::number(number));
        (then != self.verdict).then_some(then)
    }

    fn tipping(&self, range: ValueRange, then: Verdict) -> TippingPoint {
        let groups = &self.root.gauged.groups;
        let group = match self.leaf {
            WorldInput::InGroup(group, _) if groups.len() > 1 => {
                Some(PanicleShare { group, share: groups.get(group).and_then(|it| it.share) })
            }
            WorldInput::InGroup(..) | WorldInput::Name(_) | WorldInput::Others(_) => None,
        };
        TippingPoint { name: self.name, group, range, then }
    }

    fn words(&self, here: u64) -> Vec<TippingPoint> {
        if here == 0 {
            return Vec::new();
        }
        let turned = |place: u16| {
            let then = self.there(Extent::word(place));
            (then != self.verdict).then(|| self.tipping(ValueRange::word(place), then))
        };
        let (low, high) = (here.trailing_zeros() as u16, 63 - here.leading_zeros() as u16);
        let count = self.axis.empty();
        if self.walk.plan.is_ordered(self.name) {
            let (down, up) = ((0..low).rev().find_map(turned), (high + 1..count).find_map(turned));
            return down.into_iter().chain(up).collect();
        }
        (0..count).filter(|place| here >> place & 1 == 0).filter_map(turned).collect()
    }

    /// Finds the nearest number beyond what the value can be at which the verdict is another.
    fn nearest(&self, (low, high): (f64, f64), towards: Towards) -> Option<TippingPoint> {
        let (bottom, top) = domain(self.walk.plan, self.name);
        let (range, cells): ((f64, f64), Vec<u16>) = match towards {
            Towards::More if high < top => ((high, top), (self.axis.cell(high)..self.axis.empty()).collect()),
            Towards::Less if low > bottom => {
                ((bottom, low), (0..=self.axis.cell(low).min(self.axis.empty() - 1)).rev().collect())
            }
            Towards::More | Towards::Less => return None,
        };
        if self.surely_stays(Extent::between(range.0, range.1)) {
            return None;
        }
        let beyond = cells.into_iter().filter_map(|cell| Some((cell, self.axis.part(cell, range)?)));
        beyond.into_iter().find_map(|(cell, part)| self.in_cell(cell, part, towards))
    }

    fn in_cell(&self, cell: u16, part: (f64, f64), towards: Towards) -> Option<TippingPoint> {
        if self.stays(Extent::between(part.0, part.1)) {
            return None;
        }
        let near = if towards == Towards::More { part.0 } else { part.1 };
        if let Some(then) = self.turned(near) {
            return Some(self.tipping(towards.beyond(rim(self.axis, cell, near, towards)), then));
        }
        let number = self.first_turned(part, towards, &mut TRIES.clone())?;
        let border = border(self.walk.plan, self.name, self.axis, number);
        let size = self.size();
        // Beyond the border, not on its rim, is what the value leads to.
        let beyond = match towards {
            _ if whole(self.axis) => number,
            Towards::More => (number + slack(number, size)).min(part.1),
            Towards::Less => (number - slack(number, size)).max(part.0),
        };
        let then = self.turned(beyond).or_else(|| self.turned(number))?;
        let counts = whole(self.axis) || self.turned(border).is_some();
        Some(self.tipping(towards.beyond(Some(RangeEnd { at: border, closed: counts })), then))
    }

    /// Returns how large one of the name's own unit is: an amount on land is a small number of base units, a volume a large one.
    fn size(&self) -> f64 {
        match self.walk.plan[self.name].kind {
            Kind::Quantity(_) => self.walk.plan[self.name].unit.amount_to_base(1.0).abs(),
            _ => 1.0,
        }
    }

    /// Finds the first number of a range at which the verdict is another, where what is computed from it turns between two
    /// of its own constants.
    fn first_turned(&self, (low, high): (f64, f64), towards: Towards, tries: &mut u32) -> Option<f64> {
        *tries = tries.checked_sub(1)?;
        let size = self.size();
        let (low, high) = (low.max(-FAR * size), high.min(FAR * size));
        if low > high || self.stays(Extent::between(low, high)) {
            return None;
        }
        let is_whole = whole(self.axis);
        let middle = middle((low, high), size, is_whole);
        if middle <= low && (!is_whole || low == high) || middle >= high || near_equal(low, high, size) {
            let ends = if towards == Towards::More { [low, high] } else { [high, low] };
            return ends.into_iter().find(|end| self.turned(*end).is_some());
        }
        let (below, above) = ((low, middle), (if is_whole { middle + 1.0 } else { middle }, high));
        let (first, second) = if towards == Towards::More { (below, above) } else { (above, below) };
        self.first_turned(first, towards, tries).or_else(|| self.first_turned(second, towards, tries))
    }
}

/// Beyond so many of a name's unit no number is tried.
const FAR: f64 = 1e9;

fn near_equal(low: f64, high: f64, size: f64) -> bool {
    high - low <= 1e-12 * high.abs().max(low.abs()).max(1e-3 * size)
}

/// Returns by how much a number is gone beyond to be clear of it.
fn slack(number: f64, size: f64) -> f64 {
    1e-6 * number.abs().max(1e-3 * size)
}

/// Returns a number between two: their middle, or, where they lie far apart, one of a size between theirs.
fn middle((low, high): (f64, f64), size: f64, whole: bool) -> f64 {
    let between = |near: f64, far: f64| (near.max(size) * 4.0).min(far);
    let found = if low < 0.0 && high > 0.0 {
        0.0
    } else if low >= 0.0 && high > low.max(size) * 16.0 {
        between(low, high)
    } else if high <= 0.0 && -low > (-high).max(size) * 16.0 {
        -between(-high, -low)
    } else {
        (low + high) / 2.0
    };
    if whole { found.floor() } else { found }
}

/// Returns the end at the near rim of a cell; of whole numbers the number there.
fn rim(axis: &Axis, cell: u16, near: f64, towards: Towards) -> Option<RangeEnd> {
    let place = if towards == Towards::More { cell.saturating_sub(1) / 2 } else { cell / 2 };
    match threshold(axis, place)? {
        value if cell % 2 == 1 => Some(RangeEnd::closed(value)),
        _ if whole(axis) => Some(RangeEnd::closed(near)),
        value => Some(RangeEnd::open(value)),
    }
}

fn threshold(axis: &Axis, place: u16) -> Option<f64> {
    match axis {
        Axis::Numbers { thresholds, .. } => thresholds.get(usize::from(place)).map(Bound::value),
        Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => None,
    }
}

fn whole(axis: &Axis) -> bool {
    matches!(axis, Axis::Numbers { whole: true, .. })
}

/// A reading that lies near a threshold of its name.
#[derive(Clone, Copy, Debug)]
pub struct Near {
    leaf: WorldInput,
    ends: (f64, f64),
    sample: Option<(u32, u32)>,
}

impl Near {
    /// Returns what tells it from other readings.
    pub fn bits(&self) -> [u64; 4] {
        let group = match self.leaf {
            WorldInput::InGroup(group, _) => group as u64,
            WorldInput::Name(_) | WorldInput::Others(_) => u64::MAX,
        };
        [u64::from(self.leaf.name().0), group, self.ends.0.to_bits(), self.ends.1.to_bits()]
    }
}

/// Finds the readings that lie so near a threshold that a small error takes them to its other side.
pub fn near(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode) -> Vec<Near> {
    let near = |leaf: WorldInput| {
        let name = leaf.name();
        let axis = walk.cuts.get(name.index())?;
        let reading = reading_at(root, leaf)?;
        let number = reading.extent.one_number()?;
        let sample = gauge.sample(leaf);
        let ends = match sample {
            Some((found, of)) => wilson(found, of),
            None => {
                let slack = accuracy(walk.plan, name)?;
                (number - slack, number + slack)
            }
        };
        let apart = axis.cell(ends.0) != axis.cell(ends.1);
        apart.then_some(Near { leaf, ends, sample })
    };
    walk.inputs.tested().flat_map(|name| leaves(walk, root, name)).filter_map(near).collect()
}

/// Finds the names whose reading a small error would turn into another verdict.
pub fn close_calls(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    verdict: &Verdict,
    near: &[Near],
) -> Vec<CloseCall> {
    let turns = near.iter().filter(|it| {
        let (leaf, name) = (it.leaf, it.leaf.name());
        let Some(axis) = walk.cuts.get(name.index()) else { return false };
        let along = Along { walk, gauge, root, leaf, name, axis, verdict: verdict.essence() };
        let (low, high) = it.ends;
        !along.stays(Extent::between(low, high))
    });
    let mut found: Vec<CloseCall> = turns
        .map(|it| CloseCall {
            name: it.leaf.name(),
            group: match it.leaf {
                WorldInput::InGroup(group, _) => group,
                WorldInput::Name(_) | WorldInput::Others(_) => 0,
            },
            look_at_more: it.sample.and_then(|(found, of)| more(walk, it.leaf.name(), found, of)),
        })
        .collect();
    found.sort_by(|a, b| (&walk.plan[a.name].word, a.group).cmp(&(&walk.plan[b.name].word, b.group)));
    found
}

/// Returns how many more have to be looked at until the sample's interval is clear of the nearest threshold, if
/// what is found goes on as it began.
fn more(walk: &WorldWalk<'_>, name: NameId, found: u32, of: u32) -> Option<u32> {
    let axis = walk.cuts.get(name.index())?;
    let part = f64::from(found) / f64::from(of.max(1));
    (of + 1..=1000).find_map(|more| {
        let (low, high) = wilson((part * f64::from(more)).round() as u32, more);
        (axis.cell(low) == axis.cell(high)).then_some(more - of)
    })
}
