//! Asking the grower before something doubtful is stored. Where nobody can answer, nothing is guessed.

use super::end::Refusal;
use super::terminal::Stream;
use std::io::{self, IsTerminal};

/// Who answers a question.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Answers {
    /// `--yes` has answered already.
    Yes,
    /// The grower, at the terminal.
    Grower,
    /// Nobody: standard input is no terminal, or was read for something else.
    Nobody,
}

impl Answers {
    /// Finds out who answers.
    pub fn of(yes: bool, input_is_used: bool) -> Self {
        match (yes, io::stdin().is_terminal() && !input_is_used) {
            (true, _) => Answers::Yes,
            (false, true) => Answers::Grower,
            (false, false) => Answers::Nobody,
        }
    }

    /// Asks a question; an error where nobody can answer.
    pub fn ask(self, question: &str) -> Result<bool, Refusal> {
        match self {
            Answers::Yes => Ok(true),
            Answers::Nobody => {
                let refusal = Refusal::new("what is doubtful is not stored without being asked about");
                Err(refusal.help("look at it again, and add `--yes` if it is right"))
            }
            Answers::Grower => {
                Stream::Diagnostics.print(&format!("{question} [y/N] "))?;
                let mut answer = String::new();
                // A terminal that cannot be read gives no answer, which is a no.
                let _ = io::stdin().read_line(&mut answer);
                Ok(matches!(answer.trim().to_lowercase().as_str(), "y" | "yes"))
            }
        }
    }
}
