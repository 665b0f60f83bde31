//! `tidy`: writes the one canonical form of rulebooks.

use super::books::Book;
use super::end::{End, Outcome};
use super::files;
use super::terminal::{LineLength, Stream, refusal_text};
use crate::source::Sources;
use crate::syntax;
use std::path::PathBuf;

/// Writes rulebooks in their one canonical form; comments are kept
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Tidy {
    /// The rulebooks, or - to read standard input and print the result
    #[arg(value_name = "BOOK", required = true)]
    books: Vec<PathBuf>,
    /// Only tells which are not tidy
    #[arg(long)]
    check: bool,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

impl Tidy {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let width = Stream::Diagnostics.width(self.lines.width);
        let mut end = End::Done;
        for path in &self.books {
            let is_input = path.as_os_str() == "-";
            let book = if is_input { Book::Input } else { Book::File(path.clone()) };
            let name = if is_input { "standard input".to_owned() } else { path.display().to_string() };
            let text = match book.read(&name) {
                Ok(text) => text,
                Err(refusal) => {
                    Stream::Diagnostics.print(&refusal_text(&refusal, width))?;
                    end = End::Unreadable;
                    continue;
                }
            };
            let mut sources = Sources::default();
            let id = sources.add(name.as_str(), text.as_str());
            match syntax::tidy(&sources, id) {
                Ok(tidied) if is_input && !self.check => Stream::Results.print(&tidied)?,
                Ok(tidied) if tidied == text => {}
                Ok(_) if self.check => {
                    Stream::Results
                        .print(&format!("{name} is not tidy. Next: `bloomward tidy {name}` writes it.\n"))?;
                    end = end.max(End::Found);
                }
                Ok(tidied) => {
                    files::replace(path, &tidied)?;
                    Stream::Results.print(&format!("{name} is tidy now.\n"))?;
                }
                Err(problems) => {
                    Stream::Diagnostics.in_the_way(&problems, &sources, width)?;
                    end = End::Unreadable;
                }
            }
        }
        Ok(end)
    }
}
