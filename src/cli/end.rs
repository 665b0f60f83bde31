//! How a command ends: its exit status, and why it could not be done.

use crate::phrase::said;
pub use crate::problems::Refusal;
use std::fmt;
use std::io;
use std::process::ExitCode;

/// How a command ends. This is the one place where exit statuses are chosen.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum End {
    /// Done, nothing wrong.
    Done,
    /// The command did its work and found what it looks for.
    Found,
    /// The arguments or the input cannot be read.
    Unreadable,
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        match end {
            End::Done => ExitCode::SUCCESS,
            End::Found => ExitCode::from(1),
            End::Unreadable => ExitCode::from(2),
        }
    }
}

impl Refusal {
    /// Says that a file could not be read.
    pub fn unread(path: impl fmt::Display, error: &io::Error) -> Self {
        Self::new(said!("`{path}` cannot be read: {why}", path = path.to_string(), why = plain(error)))
    }

    /// Says that a file could not be written.
    pub fn unwritten(path: impl fmt::Display, error: &io::Error) -> Self {
        Self::new(said!("`{path}` cannot be written: {why}", path = path.to_string(), why = plain(error)))
    }
}

/// Returns an error of the system without the number that it puts behind.
pub fn plain(error: &io::Error) -> String {
    let text = error.to_string();
    match text.find(" (os error") {
        Some(at) => text.get(..at).unwrap_or(&text).to_lowercase(),
        None => text,
    }
}

/// What a command comes to.
pub type CommandOutcome = Result<End, Refusal>;

/// Makes a sentence of a message.
pub fn sentence(message: &str) -> String {
    let mut signs = message.chars();
    let first = signs.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", signs.as_str())
}
