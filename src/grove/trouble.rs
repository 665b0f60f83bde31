//! What is wrong with a cell or a value, before it is known where that stands.

use crate::phrase::{Phrase, said};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::units::spoken::Unspoken;

/// A message and what to write instead.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Trouble {
    message: Phrase,
    help: Option<Phrase>,
}

impl Trouble {
    /// Says what is wrong.
    pub fn new(message: impl Into<Phrase>) -> Self {
        Self { message: message.into(), help: None }
    }

    /// Returns whether it names what was meant.
    pub fn is_sure(&self) -> bool {
        self.help.as_deref().is_some_and(|help| help.starts_with("did you mean"))
    }

    /// Returns the message.
    pub fn into_message(self) -> Phrase {
        self.message
    }

    /// Returns the message and what to write instead.
    pub fn into_parts(self) -> (Phrase, Option<Phrase>) {
        (self.message, self.help)
    }

    /// Says what to write instead.
    pub fn help(mut self, help: impl Into<Phrase>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says what to write instead, where that is known.
    pub fn maybe_help<P: Into<Phrase>>(mut self, help: Option<P>) -> Self {
        self.help = help.map(Into::into).or(self.help);
        self
    }

    /// Says why something is not a quantity.
    pub fn unspoken(text: &str, error: &Unspoken, example: Option<Phrase>) -> Self {
        match error {
            Unspoken::NoNumber => {
                Self::new(said!("`{text}` does not begin with a number", text)).maybe_help(example)
            }
            Unspoken::Number(write) => Self::new(said!("the number of `{text}` cannot be read", text))
                .help(said!("write {write}", write)),
            Unspoken::Unit(unit, near) => {
                let help = near.map(|near| said!("did you mean `{near}`?", near));
                Self::new(said!("`{unit}` is not a unit that is known", unit)).maybe_help(help.or(example))
            }
        }
    }

    /// Makes a finding of it.
    pub fn at(self, span: Span) -> Problem {
        Problem::new(Finding::Input, span, self.message).maybe_help(self.help)
    }
}
