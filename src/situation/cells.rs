//! Sets of cells of one axis: those in which something holds, and those in which a value can be, of which there is always
//! one.

/// The cells of one axis in which something holds; there may be none.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Cells {
    first: u64,
    /// The cells from the 64th on: few axes have so many, and without them a set is copied at no cost.
    more: Option<Box<[u64]>>,
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
        let mut more = self.more.take().map_or_else(Vec::new, <[u64]>::into_vec);
        more.resize(more.len().max(block + 1), 0);
        more[block] |= 1 << (cell % 64);
        self.more = Some(more.into());
    }

    /// Returns whether a cell is in the set.
    #[inline]
    pub fn contains(&self, cell: u16) -> bool {
        if cell < 64 {
            return self.first >> cell & 1 == 1;
        }
        self.more().get(usize::from(cell) / 64 - 1).is_some_and(|bits| bits >> (cell % 64) & 1 == 1)
    }

    /// Returns whether it has no cell.
    pub fn is_empty(&self) -> bool {
        self.blocks().all(|bits| bits == 0)
    }

    fn more(&self) -> &[u64] {
        self.more.as_deref().unwrap_or_default()
    }

    /// Returns its cells as bits, 64 to each number.
    pub fn blocks(&self) -> impl Iterator<Item = u64> + '_ {
        std::iter::once(self.first).chain(self.more().iter().copied())
    }

    /// Returns its cells, lowest first.
    pub fn iter(&self) -> impl Iterator<Item = u16> + '_ {
        self.blocks().enumerate().flat_map(|(block, bits)| {
            let lowest = |bits: u64| (bits != 0).then_some(bits);
            let each = std::iter::successors(lowest(bits), move |bits| lowest(bits & (bits - 1)));
            each.map(move |bits| block as u16 * 64 + bits.trailing_zeros() as u16)
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
        let without =
            |(block, bits): (usize, &u64)| bits & !other.more().get(block).copied().unwrap_or(0) == 0;
        self.0.first & !other.first == 0 && self.0.more().iter().enumerate().all(without)
    }

    /// Returns whether no cell is in both sets.
    pub fn is_apart_from(&self, other: &Cells) -> bool {
        self.0.first & other.first == 0 && self.0.more().iter().zip(other.more()).all(|(a, b)| a & b == 0)
    }

    /// Returns its only cell, if it has exactly one.
    pub fn only(&self) -> Option<u16> {
        if self.0.more.is_none() {
            return self.0.first.is_power_of_two().then(|| self.0.first.trailing_zeros() as u16);
        }
        let mut cells = self.iter();
        let cell = cells.next()?;
        cells.next().is_none().then_some(cell)
    }

    /// Returns its cells, lowest first.
    pub fn iter(&self) -> impl Iterator<Item = u16> + '_ {
        self.0.iter()
    }
}
