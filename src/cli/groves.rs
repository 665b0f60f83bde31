//! Groves as arguments name them.

use super::books::Book;
use super::end::{CommandOutcome, End, Refusal};
use super::files::Disk;
use super::terminal::Stream;
use crate::report::filling::paragraph;
use crate::words::Language;
use crate::workspace::{GroveRequest, OtherBook, open_grove};
pub use crate::workspace::{OpenGrove as Opened, Purpose, Unopened};
use chrono::Utc;
use std::path::{Path, PathBuf};

/// Which grove, under which rulebook, at which moment.
#[derive(clap::Args, Clone, Debug)]
pub struct Asked {
    /// The rulebook to use instead of the grove's own: PATH or REV:PATH
    #[arg(long, value_name = "BOOK")]
    pub by: Option<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    pub library: Option<PathBuf>,
    /// The moment of the advice, local to the grove or with an offset: 2027-02-11T05:30 [default: now]
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,
}

/// Opens a grove: a folder, or its `grove.yaml`. Everything that is wrong is found in one run.
pub fn open(grove: &Path, asked: &Asked) -> Result<Opened, Unopened> {
    open_for(grove, asked, Purpose::Reading)
}

/// Opens a grove for a purpose.
pub fn open_for(grove: &Path, asked: &Asked, purpose: Purpose) -> Result<Opened, Unopened> {
    let book = asked.by.as_deref().map(Book::of).transpose()?;
    let library = asked.library.as_deref();
    let by = match (&book, asked.by.as_deref()) {
        (Some(book), Some(typed)) => {
            let (name, library) = book.names(library);
            Some(OtherBook { typed, name, library, store: book })
        }
        _ => None,
    };
    let library = library.map(|folder| folder.to_string_lossy());
    open_grove(&GroveRequest {
        store: &Disk,
        grove,
        by,
        library: library.as_deref(),
        as_of: asked.as_of.as_deref(),
        now: Utc::now(),
        purpose,
    })
}

impl Unopened {
    /// Ends a command that could not open its grove: what is wrong is printed, if it is not one refusal.
    pub fn end(self, width: Option<u16>) -> CommandOutcome {
        match self {
            Unopened::Refusal(refusal) => Err(refusal),
            Unopened::Findings(problems, sources) => {
                let stream = Stream::Diagnostics;
                stream.in_the_way(&problems, &sources, stream.width(width))?;
                Ok(End::Unreadable)
            }
        }
    }
}

impl Opened {
    /// Says in one line that the weather was left out, where it was.
    pub fn told_without_weather(&self, language: Language, width: Option<u16>) -> Result<(), Refusal> {
        let Some(why) = &self.without_weather else { return Ok(()) };
        let width = Stream::Diagnostics.width(width);
        let text = language.say("weather.left-out", &[("why", &language.phrase(why))]);
        Stream::Diagnostics.print(&paragraph(&text, width))
    }
}
