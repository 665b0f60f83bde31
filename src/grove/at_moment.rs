//! A grove as it stood at an earlier moment: what was seen and sprayed by then, and nothing of what came later.
//!
//! Comes in: a grove read for a later moment. Goes out: the same as if its files had been read for the earlier one. What bears no
//! day counts as seen on the day of that moment.

use super::scouting::gauge_at;
use super::{Grove, SprayLog};
use crate::source::Span;
use chrono::DateTime;
use chrono_tz::Tz;

impl Grove {
    /// Returns the grove as it stood at a moment, no later than the one it was read for.
    ///
    /// # Errors
    /// Gives a row of panicle groups whose shares did not add up then.
    pub fn at(&self, as_of: DateTime<Tz>) -> Result<Self, Span> {
        self.at_with(as_of, self.log.at(as_of, &self.trees))
    }

    /// Returns the grove as it stood at a moment, under another spray log.
    ///
    /// # Errors
    /// Gives a row of panicle groups whose shares did not add up then.
    pub fn at_with(&self, as_of: DateTime<Tz>, log: SprayLog) -> Result<Self, Span> {
        let (sights, wrong) = self.sights.at(&self.trees, as_of);
        if let Some(shares) = wrong.first() {
            return Err(shares.rows.last().copied().unwrap_or_default());
        }
        let gauge = gauge_at(&self.gauge_rows, as_of);
        Ok(Self { as_of, sights, gauge, log, ..self.clone() })
    }
}
