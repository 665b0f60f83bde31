//! Values of one observation in many rows: two bytes each while there are few different ones, else eight.
//!
//! Comes in: cells. Goes out: what was seen in a row. An ordinary value is a number; what is rare (an interval, a
//! sample, a text) stands in a list beside it, and the number says where.

use super::trouble::Trouble;
use super::value::{self, SeenValue};
use crate::plan::{Kind, Name, NameId, Plan};
use rustc_hash::FxHashMap;

/// The numbers that stand for a place in the list of rare values are those that are no number.
const RARE: u64 = 0x7ff8_0000_0000_0000;
const PLACE: u64 = 0x0007_ffff_ffff_ffff;
/// So many different cells of a column are remembered, so that each is read once.
const REMEMBERED: usize = 4096;

/// The values of one name.
#[derive(Clone, Debug, Default)]
pub(super) struct NamedColumn {
    words: bool,
    cells: ColumnCells,
    rare: Vec<SeenValue>,
}

/// The cells of a column.
#[derive(Clone, Debug)]
enum ColumnCells {
    /// Few different ones: each row has the place of its own.
    Few { places: Vec<u16>, different: Vec<f64>, known: FxHashMap<u64, u16> },
    /// Many different ones.
    Many(Vec<f64>),
}

impl Default for ColumnCells {
    fn default() -> Self {
        ColumnCells::Few { places: Vec::new(), different: Vec::new(), known: FxHashMap::default() }
    }
}

impl ColumnCells {
    fn len(&self) -> usize {
        match self {
            ColumnCells::Few { places, .. } => places.len(),
            ColumnCells::Many(cells) => cells.len(),
        }
    }

    fn get(&self, row: usize) -> Option<f64> {
        match self {
            ColumnCells::Few { places, different, .. } => {
                different.get(usize::from(*places.get(row)?)).copied()
            }
            ColumnCells::Many(cells) => cells.get(row).copied(),
        }
    }

    fn push(&mut self, cell: f64) {
        if let ColumnCells::Few { places, different, known } = self {
            let place = known.get(&cell.to_bits()).copied().or_else(|| {
                let place = u16::try_from(different.len()).ok()?;
                different.push(cell);
                known.insert(cell.to_bits(), place);
                Some(place)
            });
            if let Some(place) = place {
                return places.push(place);
            }
            let of =
                |place: &u16| different.get(usize::from(*place)).copied().unwrap_or(f64::from_bits(RARE));
            *self = ColumnCells::Many(places.iter().map(of).collect());
        }
        if let ColumnCells::Many(cells) = self {
            cells.push(cell);
        }
    }

    /// Gives back room that is not used.
    fn trim(&mut self) {
        match self {
            ColumnCells::Few { places, different, known } => {
                places.shrink_to_fit();
                different.shrink_to_fit();
                *known = FxHashMap::default();
            }
            ColumnCells::Many(cells) => cells.shrink_to_fit(),
        }
    }
}

impl NamedColumn {
    fn new(kind: Kind) -> Self {
        Self { words: matches!(kind, Kind::YesNo | Kind::Words(_)), ..Self::default() }
    }

    /// Returns what was seen in a row.
    pub fn get(&self, row: usize) -> Option<SeenValue> {
        let cell = self.cells.get(row)?;
        if !cell.is_nan() {
            return Some(if self.words { SeenValue::Word(cell as u16) } else { SeenValue::Number(cell) });
        }
        let place = (cell.to_bits() & PLACE).checked_sub(1)?;
        self.rare.get(usize::try_from(place).ok()?).cloned()
    }

    /// Returns whether anything was seen in a row.
    pub fn is_seen(&self, row: usize) -> bool {
        self.cells.get(row).is_some_and(|cell| !cell.is_nan() || cell.to_bits() & PLACE != 0)
    }

    fn pack(&mut self, value: Option<SeenValue>) -> f64 {
        match value {
            None => f64::from_bits(RARE),
            Some(SeenValue::Number(number)) if !number.is_nan() => number,
            Some(SeenValue::Word(word)) => f64::from(word),
            Some(rare) => {
                self.rare.push(rare);
                f64::from_bits(RARE | (self.rare.len() as u64 & PLACE))
            }
        }
    }

    /// Sets the value of a row; rows in between have none.
    fn put(&mut self, row: usize, cell: f64) {
        while self.cells.len() < row {
            self.cells.push(f64::from_bits(RARE));
        }
        self.cells.push(cell);
    }

    /// Gives back room that is not used.
    fn trim(&mut self) {
        self.cells.trim();
        self.rare.shrink_to_fit();
    }
}

/// Reads the cells of one name.
pub(super) struct ColumnReader<'p> {
    /// The name.
    pub id: NameId,
    /// The name.
    pub name: &'p Name,
    plan: &'p Plan,
    column: NamedColumn,
    remembered: FxHashMap<Box<[u8]>, f64>,
}

impl<'p> ColumnReader<'p> {
    /// Begins a column.
    pub fn new(id: NameId, plan: &'p Plan) -> Self {
        let name = &plan[id];
        Self { id, name, plan, column: NamedColumn::new(name.kind), remembered: FxHashMap::default() }
    }

    /// Reads the cell of a row, and says whether anything was seen in it.
    pub fn read(&mut self, row: usize, cell: &[u8]) -> Result<bool, Trouble> {
        if cell.is_empty() {
            return Ok(false);
        }
        let packed = match self.remembered.get(cell) {
            Some(packed) => *packed,
            None => {
                let text = std::str::from_utf8(cell).unwrap_or_default();
                let value = value::read(text, self.name, self.plan)?;
                let packed = self.column.pack(value);
                if self.remembered.len() < REMEMBERED {
                    self.remembered.insert(cell.into(), packed);
                }
                packed
            }
        };
        if packed.to_bits() == RARE {
            return Ok(false);
        }
        self.column.put(row, packed);
        Ok(true)
    }

    /// Returns the column.
    pub fn done(mut self) -> (NameId, NamedColumn) {
        self.column.trim();
        (self.id, self.column)
    }
}
