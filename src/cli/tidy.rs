//! `tidy`: writes the one canonical form of rulebooks.

use super::books::Book;
use super::end::{CommandOutcome, End, Refusal};
use super::files;
use super::terminal::{LineLength, Stream, refusal_text};
use crate::source::Sources;
use crate::syntax;
use crate::workspace::Store;
use std::path::Path;

/// Writes rulebooks in their one canonical form; comments are kept
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Tidy {
    /// The rulebooks: PATH, or - to read standard input and print the result; to check also REV:PATH
    #[arg(value_name = "BOOK", required = true)]
    books: Vec<String>,
    /// Only tells which are not tidy
    #[arg(long)]
    check: bool,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

impl Tidy {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let width = Stream::Diagnostics.width(self.lines.width);
        let mut end = End::Done;
        for argument in &self.books {
            end = end.max(match self.one(argument, width) {
                Ok(end) => end,
                Err(refusal) => {
                    Stream::Diagnostics.print(&refusal_text(&refusal, width))?;
                    End::Unreadable
                }
            });
        }
        Ok(end)
    }

    fn one(&self, argument: &str, width: usize) -> CommandOutcome {
        let book = Book::of(argument)?;
        let name = book.name();
        let text = book.read(Path::new(&name))?;
        if text.trim_start_matches('\u{feff}').trim().is_empty() {
            let refusal = Refusal::new(format!("`{name}` is empty: there is no rulebook in it"));
            return Err(
                refusal.help("begin it with `rulebook \"Title\"` and its clauses, or restore the file")
            );
        }
        let mut sources = Sources::default();
        let id = sources.add(name.as_str(), text.as_str());
        match syntax::tidy(&sources, id) {
            Ok(tidied) => self.done(&book, &name, &text, &tidied),
            Err(problems) => {
                Stream::Diagnostics.in_the_way(&problems, &sources, width)?;
                Ok(End::Unreadable)
            }
        }
    }

    /// Writes the tidy form, or tells that the text is another.
    fn done(&self, book: &Book, name: &str, text: &str, tidied: &str) -> CommandOutcome {
        match book {
            Book::Input if !self.check => Stream::Results.print(tidied).map(|()| End::Done),
            _ if tidied == text => Ok(End::Done),
            Book::File(path) if !self.check => {
                files::replace(path, tidied)?;
                Stream::Results.print(&format!("{name} is tidy now.\n")).map(|()| End::Done)
            }
            Book::AtRevision { .. } if !self.check => {
                let refusal = Refusal::new(format!("`{name}` stands in the past and cannot be written"));
                Err(refusal.help("`--check` tells whether it is tidy"))
            }
            Book::File(_) | Book::AtRevision { .. } | Book::Input | Book::Copy { .. } => {
                let told = format!("{name} is not tidy. Next: `bloomward tidy {name}` writes it.\n");
                Stream::Results.print(&told).map(|()| End::Found)
            }
        }
    }
}
