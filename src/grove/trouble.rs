//! What is wrong with a cell or a value, before it is known where that stands.

use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::units::spoken::Unspoken;

/// A message and what to write instead.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Trouble {
    message: String,
    help: Option<String>,
}

impl Trouble {
    /// Says what is wrong.
    pub fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), help: None }
    }

    /// Returns whether it names what was meant.
    pub fn is_sure(&self) -> bool {
        self.help.as_deref().is_some_and(|help| help.starts_with("did you mean"))
    }

    /// Returns the message.
    pub fn into_message(self) -> String {
        self.message
    }

    /// Returns the message and what to write instead.
    pub fn into_parts(self) -> (String, Option<String>) {
        (self.message, self.help)
    }

    /// Says what to write instead.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says what to write instead, where that is known.
    pub fn maybe_help(mut self, help: Option<String>) -> Self {
        self.help = help.or(self.help);
        self
    }

    /// Says why something is not a quantity.
    pub fn unspoken(text: &str, error: &Unspoken, example: Option<String>) -> Self {
        match error {
            Unspoken::NoNumber => {
                Self::new(format!("`{text}` does not begin with a number")).maybe_help(example)
            }
            Unspoken::Number(write) => {
                Self::new(format!("the number of `{text}` cannot be read")).help(format!("write {write}"))
            }
            Unspoken::Unit(unit, near) => {
                let help = near.map(|near| format!("did you mean `{near}`?"));
                Self::new(format!("`{unit}` is not a unit that is known")).maybe_help(help.or(example))
            }
        }
    }

    /// Makes a finding of it.
    pub fn at(self, span: Span) -> Problem {
        Problem::new(Finding::Input, span, self.message).maybe_help(self.help)
    }
}
