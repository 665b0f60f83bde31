//! Many names in one string, found again by their words.

use std::hash::Hasher;

/// A list of names.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    text: String,
    ends: Vec<u32>,
    /// Open addressing: the number of a name plus one, at a place that its hash gives.
    table: Vec<u32>,
}

impl Names {
    /// Returns how many there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Returns a name.
    pub fn get(&self, at: usize) -> &str {
        let Some(end) = self.ends.get(at) else { return "" };
        let start = at.checked_sub(1).and_then(|before| self.ends.get(before)).map_or(0, |start| *start);
        self.text.get(start as usize..*end as usize).unwrap_or_default()
    }

    /// Returns the number of a name.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.slot(name).ok()
    }

    /// Adds a name; where it is there already, returns its number as an error.
    pub fn add(&mut self, name: &str) -> Result<usize, usize> {
        if (self.len() + 1) * 2 > self.table.len() {
            self.grow();
        }
        match self.slot(name) {
            Ok(there) => Err(there),
            Err(slot) => {
                self.text.push_str(name);
                self.ends.push(u32::try_from(self.text.len()).unwrap_or(u32::MAX));
                if let Some(place) = self.table.get_mut(slot) {
                    *place = u32::try_from(self.ends.len()).unwrap_or(u32::MAX);
                }
                Ok(self.ends.len() - 1)
            }
        }
    }

    /// Gives back room that is not used.
    pub fn trim(&mut self) {
        self.text.shrink_to_fit();
        self.ends.shrink_to_fit();
    }

    /// Returns the number of a name, or the free place in the table where it would go.
    fn slot(&self, name: &str) -> Result<usize, usize> {
        let mask = self.table.len().wrapping_sub(1);
        let mut slot = hash(name) & mask;
        while let Some(place) = self.table.get(slot) {
            match place.checked_sub(1) {
                None => return Err(slot),
                Some(at) if self.get(at as usize) == name => return Ok(at as usize),
                Some(_) => slot = (slot + 1) & mask,
            }
        }
        Err(usize::MAX)
    }

    fn grow(&mut self) {
        let size = (self.table.len() * 2).max(64);
        self.table = vec![0; size];
        for at in 0..self.len() {
            let mut slot = hash(self.get(at)) & (size - 1);
            while self.table.get(slot).is_some_and(|place| *place != 0) {
                slot = (slot + 1) & (size - 1);
            }
            if let Some(place) = self.table.get_mut(slot) {
                *place = u32::try_from(at + 1).unwrap_or(u32::MAX);
            }
        }
    }
}

fn hash(name: &str) -> usize {
    let mut hasher = rustc_hash::FxHasher::default();
    hasher.write(name.as_bytes());
    hasher.finish() as usize
}
