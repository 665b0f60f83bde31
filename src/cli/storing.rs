//! What the commands that add to a log have in common: their flags, asking before what is doubtful, saying what was done.

use super::append::Fix;
use super::confirm::Answers;
use super::end::Refusal;
use super::groves::Asked;
use super::papers;
use super::terminal::{Format, Printing, Stream};
use crate::report::Lines;
use crate::words::Language;
use std::path::{Path, PathBuf};

/// The flags of a command that adds to a log.
#[derive(clap::Args, Debug)]
pub struct Storing {
    /// Store doubtful entries without asking
    #[arg(long)]
    yes: bool,
    /// Says what it would store, and stores nothing
    #[arg(long)]
    pub dry_run: bool,
    /// What to do with a last row that was cut off while it was written
    #[arg(long, value_name = "HOW", value_enum)]
    pub fix: Option<Fix>,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    pub schema: bool,
    /// The language of the page: en, es. What the rulebook says comes from the translation beside it
    #[arg(long, value_name = "CODE", default_value = "en")]
    language: String,
    #[command(flatten)]
    pub asked: Asked,
    #[command(flatten)]
    pub printing: Printing,
}

/// Rows that were added to a log.
#[derive(Clone, Copy, Debug)]
pub struct Stored<'s> {
    /// The name of its file as messages print it.
    pub file: &'s str,
    /// The line of the first of them, counted from 1.
    pub line: usize,
    /// How many they are.
    pub rows: usize,
}

impl Storing {
    /// Returns the code of the language as it was typed.
    pub fn code(&self) -> &str {
        &self.language
    }

    /// Returns the language.
    pub fn language(&self) -> Result<Language, Refusal> {
        papers::language(&self.language)
    }

    /// Returns whether results are printed for people.
    pub fn is_text(&self) -> bool {
        self.printing.format == Format::Text
    }

    /// Returns whether what a file suggests is taken without asking.
    pub fn takes_proposals(&self) -> bool {
        self.yes
    }

    /// Returns whether somebody can be asked.
    pub fn can_ask(&self, input_is_used: bool) -> bool {
        self.is_text() && Answers::of(false, input_is_used) == Answers::Grower
    }

    /// Returns an empty page of results.
    pub fn page(&self) -> Lines {
        Lines::new(Stream::Results.width(self.printing.lines.width))
    }

    /// Asks about what is doubtful, if anything is; says so where the answer is no. `input_is_used`: standard input was
    /// read for something else.
    pub fn agreed(&self, doubts: &[String], input_is_used: bool) -> Result<bool, Refusal> {
        let answers = Answers::of(self.yes, input_is_used);
        let language = self.language()?;
        let agreed = doubts.is_empty() || answers.ask(&language.say("stored.all-the-same", &[]))?;
        if !agreed {
            nothing_stored(language)?;
        }
        Ok(agreed)
    }

    /// Says for people where rows were stored, and what to do next; or that nothing was.
    pub fn told(&self, stored: Option<Stored<'_>>, next: &str) -> Result<(), Refusal> {
        let language = self.language()?;
        let mut lines = self.page();
        match stored {
            Some(Stored { file, line, rows }) => {
                let last = line + rows.max(1) - 1;
                let key = if last == line { "stored.line" } else { "stored.lines" };
                let (line, last) = (line.to_string(), last.to_string());
                lines.text(0, &language.say(key, &[("file", file), ("line", &line), ("last", &last)]));
                lines.text(0, next);
            }
            None => lines.text(0, &language.say("stored.dry-run", &[])),
        }
        Stream::Results.print(&lines.finish())
    }
}

/// Says that nothing was stored, where something was in the way.
pub fn nothing_stored(language: Language) -> Result<(), Refusal> {
    Stream::Diagnostics.print(&(language.say("stored.nothing", &[]) + "\n"))
}

/// Takes the grove from the words of a command: the first one, where a grove is there.
pub fn grove_and_rest(words: &[String]) -> (PathBuf, &[String]) {
    if let Some((first, rest)) = words.split_first() {
        let path = Path::new(first);
        let is_grove = path.join("grove.yaml").is_file() || (path.is_file() && first.ends_with(".yaml"));
        let looks_like_one = first.contains(['/', '\\']) && !first.contains(' ') && path.exists();
        if is_grove || looks_like_one {
            return (path.to_owned(), rest);
        }
    }
    (PathBuf::from("."), words)
}
