//! Sets of cells of one axis.

/// A set of cells of one axis.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct CellSet {
    first: u64,
    more: Vec<u64>,
}

impl CellSet {
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

    /// Adds every cell from one to another, both counted.
    pub fn insert_range(&mut self, from: u16, to: u16) {
        (from..=to).for_each(|cell| self.insert(cell));
    }

    /// Returns whether a cell is in the set.
    #[inline]
    pub fn contains(&self, cell: u16) -> bool {
        if cell < 64 {
            return self.first >> cell & 1 == 1;
        }
        self.more.get(usize::from(cell) / 64 - 1).is_some_and(|bits| bits >> (cell % 64) & 1 == 1)
    }

    /// Returns whether every cell of this set is in the other.
    pub fn is_within(&self, other: &Self) -> bool {
        self.first & !other.first == 0
            && self
                .more
                .iter()
                .enumerate()
                .all(|(block, bits)| bits & !other.more.get(block).copied().unwrap_or(0) == 0)
    }

    /// Returns whether no cell is in both sets.
    pub fn is_apart_from(&self, other: &Self) -> bool {
        self.first & other.first == 0 && self.more.iter().zip(&other.more).all(|(a, b)| a & b == 0)
    }

    /// Returns its only cell, if it has exactly one.
    pub fn only(&self) -> Option<u16> {
        let mut cells = self.iter();
        let cell = cells.next()?;
        cells.next().is_none().then_some(cell)
    }

    /// Returns how many cells it has.
    pub fn len(&self) -> usize {
        (self.first.count_ones() + self.more.iter().map(|bits| bits.count_ones()).sum::<u32>()) as usize
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
