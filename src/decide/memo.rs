//! Many trees at once: each distinct situation is decided once and shared by all trees in it.
//!
//! A tree's values become one number, its situation's key: the cells of all names, one digit each. Cells are found
//! by a ruler over each axis, so that a value costs the same however many thresholds its name has.

use super::{Rules, decide};
use crate::plan::{NameId, Origin, Plan};
use crate::situation::{Axis, CellSet};
use crate::trace::Decision;
use rustc_hash::FxHashMap;

/// All situations met so far, with their decisions.
#[derive(Debug)]
pub struct Memo<'a> {
    plan: &'a Plan,
    rules: &'a Rules,
    digits: Vec<Digit>,
    known: FxHashMap<u128, u32>,
    decisions: Vec<Result<Decision, NameId>>,
}

/// One name of a situation's key.
#[derive(Debug)]
struct Digit {
    name: NameId,
    weight: u128,
    cells: u16,
    ruler: Ruler,
}

/// The values of one name for many trees, in base units; of words their places. What is empty is not a number.
#[derive(Clone, Copy, Debug)]
pub struct Column<'v> {
    /// The name.
    pub name: NameId,
    /// One value a tree.
    pub values: &'v [f64],
}

/// How many trees are brought to keys at a time.
const BLOCK: usize = 512;

impl<'a> Memo<'a> {
    /// Makes an empty memory for a plan; nothing where its situations have no key, having too many names.
    pub fn new(plan: &'a Plan, rules: &'a Rules) -> Option<Self> {
        let mut weight: u128 = 1;
        let mut digits = Vec::new();
        let names =
            rules.axes.compared().iter().filter(|name| !matches!(plan[**name].origin, Origin::Band(_)));
        for name in names {
            let axis = rules.axes.of(*name);
            let cells = axis.len();
            digits.push(Digit { name: *name, weight, cells, ruler: Ruler::new(axis) });
            weight = weight.checked_mul(u128::from(cells))?;
        }
        Some(Self { plan, rules, digits, known: FxHashMap::default(), decisions: Vec::new() })
    }

    /// Decides many trees: returns the number of each tree's situation. A name without a column is empty.
    pub fn decide_all(&mut self, columns: &[Column<'_>]) -> Vec<u32> {
        let count = columns.iter().map(|column| column.values.len()).max().unwrap_or(0);
        let mut numbers = Vec::with_capacity(count);
        let mut keys = [0u128; BLOCK];
        for start in (0..count).step_by(BLOCK) {
            let size = BLOCK.min(count - start);
            keys.fill(0);
            for digit in &self.digits {
                let column = columns.iter().find(|column| column.name == digit.name);
                let values = column.and_then(|column| column.values.get(start..start + size));
                match values {
                    Some(values) => {
                        for (key, value) in keys.iter_mut().zip(values) {
                            *key += u128::from(digit.ruler.cell(*value)) * digit.weight;
                        }
                    }
                    None => {
                        keys.iter_mut().for_each(|key| *key += u128::from(digit.cells - 1) * digit.weight)
                    }
                }
            }
            for key in keys.iter().take(size) {
                let number = match self.known.get(key) {
                    Some(number) => *number,
                    None => self.learn(*key),
                };
                numbers.push(number);
            }
        }
        numbers
    }

    /// Returns the number of the situation in which every name is in one cell, given by the name's number.
    pub fn situation(&mut self, cells: &[CellSet]) -> Option<u32> {
        let mut key = 0;
        for digit in &self.digits {
            key += u128::from(cells.get(digit.name.index())?.only()?) * digit.weight;
        }
        Some(self.known.get(&key).copied().unwrap_or_else(|| self.learn(key)))
    }

    /// Returns the decision of a situation with its trace, or the name that must be known first.
    pub fn decision(&self, situation: u32) -> Option<&Result<Decision, NameId>> {
        self.decisions.get(situation as usize)
    }

    /// Returns how many situations were met.
    pub fn len(&self) -> usize {
        self.decisions.len()
    }

    /// Returns whether no situation was met.
    pub fn is_empty(&self) -> bool {
        self.decisions.is_empty()
    }

    #[cold]
    fn learn(&mut self, key: u128) -> u32 {
        let mut cells = vec![CellSet::one(0); self.rules.axes.len()];
        for digit in &self.digits {
            if let Some(set) = cells.get_mut(digit.name.index()) {
                *set = CellSet::one((key / digit.weight % u128::from(digit.cells)) as u16);
            }
        }
        let number = self.decisions.len() as u32;
        self.decisions.push(decide(self.plan, self.rules, &cells));
        self.known.insert(key, number);
        number
    }
}

/// Finds the cell of a number in a few steps: evenly spaced marks tell where to begin to count thresholds.
#[derive(Debug)]
struct Ruler {
    low: f64,
    marks_per_unit: f64,
    marks: Vec<u16>,
    edges: Vec<(f64, f64)>,
    empty: u16,
    axis: Option<Axis>,
}

/// The number of marks on a ruler.
const MARKS: usize = 1024;

impl Ruler {
    fn new(axis: &Axis) -> Self {
        let (edges, plain) = match axis {
            Axis::Numbers { edges, .. } => (edges.clone(), true),
            Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => (Vec::new(), false),
        };
        let low = edges.first().map_or(0.0, |edge| edge.0);
        let high = edges.last().map_or(1.0, |edge| edge.1);
        let marks_per_unit = (MARKS - 1) as f64 / (high - low).max(f64::MIN_POSITIVE);
        let begin = |mark: usize| {
            // One mark earlier, so that a value rounded up to a mark is not begun too late.
            let number = low + (mark as f64 - 1.0) / marks_per_unit;
            edges.iter().filter(|edge| edge.1 < number).count() as u16
        };
        let marks = (0..MARKS).map(begin).collect();
        Self { low, marks_per_unit, marks, edges, empty: axis.empty(), axis: (!plain).then(|| axis.clone()) }
    }

    #[inline]
    fn cell(&self, value: f64) -> u16 {
        if value.is_nan() {
            return self.empty;
        }
        if let Some(axis) = &self.axis {
            return match axis {
                Axis::Words(_) | Axis::Texts(_) => (value as u16).min(self.empty),
                Axis::Numbers { .. } | Axis::Calendar { .. } => axis.cell(value),
            };
        }
        let mark = ((value - self.low) * self.marks_per_unit) as usize;
        let mut place = self.marks.get(mark.min(MARKS - 1)).copied().unwrap_or(0);
        while let Some((low, high)) = self.edges.get(usize::from(place)) {
            if value <= *high {
                return 2 * place + u16::from(value >= *low);
            }
            place += 1;
        }
        2 * place
    }
}
