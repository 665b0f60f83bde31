//! What is doubtful in a text without errors.

use super::Checker;
use super::overlay::Entry;

impl<'a> Checker<'a> {
    /// Reports what is doubtful.
    pub(super) fn doubts(&mut self, _entries: &[Entry<'a>]) {}
}
