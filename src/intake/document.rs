//! A text with what tells its form: its JSON, its lines, its beginning.

use crate::phrase::said;
use crate::problems::{Finding, Problem};
use crate::source::{SourceId, Span};
use serde::Deserialize;
use serde_json::Value;

/// The text of a weather file.
pub(super) struct Document<'t> {
    pub(super) source: SourceId,
    pub(super) text: &'t str,
    /// What it holds, where it is JSON.
    pub(super) json: Option<Value>,
}

impl<'t> Document<'t> {
    pub(super) fn new(source: SourceId, text: &'t str) -> Result<Self, Box<Problem>> {
        let text = text.trim_start_matches('\u{feff}').trim_end_matches('\u{1a}');
        let mut document = Self { source, text, json: None };
        if text.trim_start().starts_with(['{', '[']) {
            let json = serde_json::from_str(text).map_err(|error| document.broken_json(&error))?;
            document.json = Some(json);
        }
        Ok(document)
    }

    fn broken_json(&self, error: &serde_json::Error) -> Box<Problem> {
        let lines = self.text.split_inclusive('\n').take(error.line().saturating_sub(1));
        let at = lines.map(str::len).sum::<usize>() + error.column().saturating_sub(1);
        let at = at.min(self.text.len());
        let (message, help) = if error.is_eof() {
            ("the JSON breaks off here", "the file was not fetched whole: fetch it again")
        } else {
            ("the JSON cannot be read from here on", "fetch the file again, and change nothing in it")
        };
        let problem = Problem::new(Finding::Input, Span::new(self.source, at, at), message);
        Box::new(problem.label("here").help(help))
    }

    /// Returns the JSON as one of the forms.
    pub(super) fn parsed<'d, T: Deserialize<'d>>(&'d self) -> Result<T, Box<Problem>> {
        let value = self.json.as_ref().unwrap_or(&Value::Null);
        T::deserialize(value).map_err(|error| {
            let message = said!("a part of the file is not as this form has it: {error}", error);
            self.problem(0, message, "fetch it again; if it stays so, the service has changed its form")
        })
    }

    /// Returns the lines with the place of each in the text.
    pub(super) fn lines(&self) -> impl Iterator<Item = (usize, &'t str)> {
        let mut at = 0;
        self.text.split_inclusive('\n').map(move |line| {
            let start = at;
            at += line.len();
            (start, line.trim_end_matches(['\n', '\r']))
        })
    }

    /// Returns what is wrong at a place of the text.
    pub(super) fn problem(
        &self,
        at: usize,
        message: impl Into<crate::phrase::Phrase>,
        help: impl Into<crate::phrase::Phrase>,
    ) -> Box<Problem> {
        let rest = self.text.get(at..).unwrap_or_default();
        let line = rest.lines().next().unwrap_or_default();
        let span = Span::new(self.source, at, at + line.len().min(200));
        Box::new(Problem::new(Finding::Input, span, message).label("here").help(help))
    }
}
