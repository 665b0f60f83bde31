//! Sets of cells of one axis: those in which something holds, and those in which a value can be, of which there is always
//! one.

/// The cells of one axis in which something holds; there may be none.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Cells {
    first: u64,
    more: Vec<u64>,
}

/// The cells of one axis in which a value can be. A set without a cell would be within anything, and everything would
/// hold of it, so that none can be made.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct CellSet(Cells);

impl Cells {
    /// The set of one cell.
    pub fn one(cell: u16) -> Self {
        let mut set = Self::default();
        set.insert(cell);
        set
    }

    /// Adds a cell.
    pub fn insert(&mut self, cell: u16) {
        if cell < 64 {
            self.first |= 1 << cell;
            return;
        }
        let block = usize::from(cell) / 64 - 1;
        if self.more.len() <= block {
            self.more.resize(block + 1, 0);
        }
        if let Some(bits) = self.more.get_mut(block) {
            *bits |= 1 << (cell % 64);
        }
    }

    /// Returns whether a cell is in the set.
    #[inline]
    pub fn contains(&self, cell: u16) -> bool {
        if cell < 64 {
            return self.first >> cell & 1 == 1;
        }
        self.more.get(usize::from(cell) / 64 - 1).is_some_and(|bits| bits >> (cell % 64) & 1 == 1)
    }

    /// Returns whether it has no cell.
    pub fn is_empty(&self) -> bool {
        self.first == 0 && self.more.iter().all(|bits| *bits == 0)
    }

    /// Returns its cells, lowest first.
    pub fn iter(&self) -> impl Iterator<Item = u16> + '_ {
        std::iter::once(&self.first).chain(&self.more).enumerate().flat_map(|(block, bits)| {
            (0..64u16).filter(move |bit| bits >> bit & 1 == 1).map(move |bit| block as u16 * 64 + bit)
        })
    }
}

impl FromIterator<u16> for Cells {
    fn from_iter<T: IntoIterator<Item = u16>>(cells: T) -> Self {
        let mut set = Self::default();
        cells.into_iter().for_each(|cell| set.insert(cell));
        set
    }
}

impl CellSet {
    /// The set of one cell.
    pub fn one(cell: u16) -> Self {
        Self(Cells::one(cell))
    }

    /// Makes a set of cells, nothing where there are none.
    pub fn new(cells: Cells) -> Option<Self> {
        (!cells.is_empty()).then_some(Self(cells))
    }

    /// Returns the cells.
    pub fn cells(&self) -> &Cells {
        &self.0
    }

    /// Returns whether a cell is in the set.
    #[inline]
    pub fn contains(&self, cell: u16) -> bool {
        self.0.contains(cell)
    }

    /// Returns whether every cell of this set is in the other.
    pub fn is_within(&self, other: &Cells) -> bool {
        self.0.first & !other.first == 0
            && self
                .0
                .more
                .iter()
                .enumerate()
                .all(|(block, bits)| bits & !other.more.get(block).copied().unwrap_or(0) == 0)
    }

    /// Returns whether no cell is in both sets.
    pub fn is_apart_from(&self, other: &Cells) -> bool {
        self.0.first & other.first == 0 && self.0.more.iter().zip(&other.more).all(|(a, b)| a & b == 0)
    }

    /// Returns its only cell, if it has exactly one.
    pub fn only(&self) -> Option<u16> {
        let mut cells = self.iter();
        let cell = cells.next()?;
        cells.next().is_none().then_some(cell)
    }

    /// Returns its cells, lowest first.
    pub fn iter(&self) -> impl Iterator<Item = u16> + '_ {
        self.0.iter()
    }
}
