//! What was written down without the day on which it was seen: it counts as seen at the moment of the advice, and
//! the grower is told so.

use crate::phrase::said;
use crate::problems::{Finding, Problem};
use crate::source::Span;
use chrono::NaiveDate;

/// So many are named.
const NAMED: usize = 4;

/// What bears no day, in the order of reading.
#[derive(Debug, Default)]
pub(super) struct Undated {
    first: Option<Span>,
    of: Vec<String>,
    others: usize,
    last: Option<String>,
    names: Vec<String>,
}

impl Undated {
    /// Adds an observation of a tree, a block or the grove.
    pub fn add(&mut self, of: &str, name: &str, at: Span) {
        self.first.get_or_insert(at);
        if self.last.as_deref() != Some(of) {
            self.last = Some(of.to_string());
            if self.of.len() < NAMED {
                self.of.push(of.to_string());
            } else {
                self.others += 1;
            }
        }
        if !self.names.iter().any(|known| known == name) {
            self.names.push(name.to_string());
        }
    }

    /// Returns the note that tells of it; nothing where everything bears its day.
    pub fn note(&self, today: NaiveDate) -> Option<Problem> {
        let at = self.first?;
        let names: Vec<String> = self.names.iter().map(|name| format!("`{name}`")).collect();
        let of = self.of.join(", ");
        let of = match self.others {
            0 => of.into(),
            others => said!("{of} and {others} more", of, others),
        };
        let message = said!(
            "{names} of {of} bears no day and counts as seen on the day of the advice, {today}: write `seen: DATE` beside it, \
             or the day in a column `seen`",
            of,
            today,
            names = names.join(", ")
        );
        Some(Problem::new(Finding::InputNote, at, message).label("seen when?"))
    }
}
