//! What every reader of a grove's files needs: the rulebook's names, the moment, and a list for what is wrong.

use super::figures::DateOrder;
use super::target::Target;
use super::trouble::Trouble;
use super::undated::Undated;
use crate::phrase::{Phrase, said};
use crate::plan::{NameId, Origin, Place, Plan};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::{SourceId, Sources, Span};
use chrono::{DateTime, Datelike};
use chrono_tz::Tz;
use std::collections::BTreeSet;

/// What is done with observations that the rulebook does not know.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnknownNames {
    /// They are errors: the grove is read for its own rulebook.
    Refuse,
    /// Each is named once and left out: the grove is read for another rulebook.
    LeaveOut,
}

/// What readers share.
pub(super) struct FileReading<'r> {
    pub plan: &'r Plan,
    pub sources: &'r Sources,
    pub as_of: DateTime<Tz>,
    pub unknown: UnknownNames,
    /// Which figure of a day is the month, where a spreadsheet has saved one.
    pub order: DateOrder,
    pub problems: Problems,
    pub undated: Undated,
    left_out: BTreeSet<String>,
}

impl AsMut<Problems> for FileReading<'_> {
    fn as_mut(&mut self) -> &mut Problems {
        &mut self.problems
    }
}

impl<'r> FileReading<'r> {
    /// Begins without problems.
    pub fn new(plan: &'r Plan, sources: &'r Sources, as_of: DateTime<Tz>, unknown: UnknownNames) -> Self {
        let (problems, undated, left_out) = Default::default();
        Self { plan, sources, as_of, unknown, order: DateOrder::MonthFirst, problems, undated, left_out }
    }

    /// Returns the text of a file.
    pub fn text_of(&self, file: SourceId) -> &'r str {
        self.sources.get(file).map_or("", |source| &source.text)
    }

    /// Returns the time zone of the grove.
    pub fn zone(&self) -> Tz {
        self.as_of.timezone()
    }

    /// Returns the day of the advice, in days of the common era.
    pub fn today(&self) -> i32 {
        self.as_of.date_naive().num_days_from_ce()
    }

    /// Reports an error at a place.
    pub fn error(
        &mut self,
        at: Span,
        message: impl Into<crate::phrase::Phrase>,
        help: impl Into<crate::phrase::Phrase>,
    ) {
        self.problems.push(Problem::new(Finding::Input, at, message).help(help));
    }

    /// Reports something that was left out.
    pub fn note(&mut self, at: Span, message: impl Into<crate::phrase::Phrase>) {
        self.problems.push(Problem::new(Finding::InputNote, at, message));
    }

    /// Keeps what was read, or reports why it was not.
    pub fn keep<T>(&mut self, read: Result<T, Trouble>, at: Span) -> Option<T> {
        read.map_err(|trouble| self.problems.push(trouble.at(at))).ok()
    }

    /// Returns the observation of this name; a name that is none is reported, or named once and left out.
    pub fn observation(
        &mut self,
        word: &str,
        at: Span,
        what: &'static str,
        known: &[&str],
    ) -> Option<NameId> {
        if let Some(id) = self.plan.name(word).filter(|id| !self.plan[*id].hidden) {
            if matches!(self.plan[id].origin, Origin::Observed(_)) {
                return Some(id);
            }
            let (message, help) = match self.plan[id].origin {
                Origin::Cultivar | Origin::Block | Origin::Date => (
                    said!("`{word}` is known of every tree, nobody has to see it", word),
                    "leave it out here: it stands with the trees",
                ),
                _ => (
                    said!("`{word}` is computed by the rulebook, nobody sees it", word),
                    "leave it out: only what the rulebook asks to `observe` is written down",
                ),
            };
            self.error(at, message, help);
            return None;
        }
        if self.unknown == UnknownNames::LeaveOut && nearest(word, known.iter().copied()).is_none() {
            if self.left_out.insert(word.to_string()) {
                self.note(at, said!("`{word}` is not an observation of this rulebook; it is left out", word));
            }
            return None;
        }
        let observed: Vec<&str> = self.plan.observations().map(|(_, name, _)| &*name.word).collect();
        let help = match nearest(word, observed.iter().copied().chain(known.iter().copied())) {
            Some(near) => said!("did you mean `{near}`?", near),
            None if observed.is_empty() => "this rulebook asks for no observations".into(),
            None => {
                let all: Vec<String> = observed.iter().map(|word| format!("`{word}`")).collect();
                said!("the rulebook asks to observe {all}", all = all.join(", "))
            }
        };
        let message = said!(
            "`{word}` is neither {what} nor an observation of this rulebook",
            word,
            what = Phrase::from(what)
        );
        self.error(at, message, help);
        None
    }

    /// Says why an observation cannot be made of a target.
    pub fn misplaced(&self, name: NameId, target: Target) -> Option<Trouble> {
        let name = &self.plan[name];
        let (of, write) = match (name.scope, target) {
            (Place::Grove, Target::Grove)
            | (Place::Block, Target::Grove | Target::Block(_))
            | (Place::Tree | Place::Panicles, _) => return None,
            (Place::Grove, _) => ("the whole grove", "write it on a row of scouting with `grove` under `on`"),
            (Place::Block, _) => ("a block", "write it on a row of scouting with the block under `on`"),
        };
        Some(
            Trouble::new(said!(
                "`{word}` is seen of {of}, not of a part of it",
                of = Phrase::from(of),
                word = name.word
            ))
            .help(write),
        )
    }
}
