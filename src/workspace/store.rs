//! Where a workspace reads its texts from.

use crate::phrase::said;
use crate::problems::Refusal;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A place of texts: a disk, a revision of a repository, memory.
pub trait Store {
    /// Reads a text.
    ///
    /// # Errors
    /// Says why it cannot be read, and what to write instead where that is known.
    fn read(&self, path: &Path) -> Result<String, Refusal>;

    /// Returns whether there is a file or a folder.
    fn exists(&self, path: &Path) -> bool;

    /// Returns a path without links; nothing where there is nothing, or where there are no links to speak of.
    fn real(&self, path: &Path) -> Option<PathBuf> {
        let _ = path;
        None
    }
}

/// Texts in memory, by their paths.
#[derive(Clone, Debug, Default)]
pub struct MemoryStore {
    texts: BTreeMap<PathBuf, String>,
}

impl MemoryStore {
    /// Adds a text.
    #[must_use]
    pub fn with(mut self, path: impl Into<PathBuf>, text: impl Into<String>) -> Self {
        self.texts.insert(path.into(), text.into());
        self
    }
}

impl Store for MemoryStore {
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        let found = self.texts.get(path).cloned();
        found.ok_or_else(|| Refusal::new(said!("there is no file `{path}`", path = path.display())))
    }

    fn exists(&self, path: &Path) -> bool {
        self.texts.keys().any(|known| known.starts_with(path))
    }
}
