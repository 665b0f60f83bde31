//! Where output goes: how wide it is, whether it is drawn and coloured, and what happens when nobody reads on.

use super::end::Refusal;
use super::reader;
use crate::problems::Problems;
use crate::report::filling::{filled, paragraph};
use crate::report::{findings, findings_drawn};
use crate::source::Sources;
use std::io::{self, IsTerminal, Write};
use terminal_size::{Width, terminal_size_of};

/// How a page is printed.
#[derive(clap::Args, Clone, Copy, Debug)]
pub struct Printing {
    /// What is printed: text for people, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = Format::Text)]
    pub format: Format,
    #[command(flatten)]
    pub lines: LineLength,
}

/// How long lines are.
#[derive(clap::Args, Clone, Copy, Debug)]
pub struct LineLength {
    /// Longest line of text [default: the terminal's width, at most 80]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(20..=200))]
    pub width: Option<u16>,
}

/// The form in which results are printed.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
}

/// One of the two streams of a program.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Stream {
    /// Standard output, for results.
    Results,
    /// Standard error, for what is in the way of results.
    Diagnostics,
}

impl Stream {
    /// Returns the width of the text: as asked for, else the terminal's but at most 80.
    pub fn width(self, asked: Option<u16>) -> usize {
        let terminal = match self {
            Stream::Results => terminal_size_of(io::stdout()),
            Stream::Diagnostics => terminal_size_of(io::stderr()),
        };
        let own = || terminal.map_or(80, |(Width(width), _)| width.clamp(20, 80));
        usize::from(asked.unwrap_or_else(own))
    }

    /// Returns findings in the form that suits the stream: drawn on a terminal, plain elsewhere.
    pub fn findings(self, problems: &Problems, sources: &Sources, width: usize) -> String {
        match self.look() {
            FindingStyle::Plain => findings::text(problems, sources, width, reader::language()),
            FindingStyle::Drawn(colour) => {
                findings_drawn::drawn(problems, sources, width, (colour, reader::language()))
            }
        }
    }

    /// Prints findings that are in the way of a command, and what to do about them.
    pub fn in_the_way(self, problems: &Problems, sources: &Sources, width: usize) -> Result<(), Refusal> {
        let language = reader::language();
        let count = findings::count(problems, language);
        let next = language.say("finding.next", &[("count", &count)]);
        let text = self.findings(problems, sources, width) + "\n" + &paragraph(&next, width);
        self.print(&text)
    }

    /// Writes a text. That nobody reads on is no error.
    pub fn print(self, text: &str) -> Result<(), Refusal> {
        self.print_bytes(text.as_bytes())
    }

    /// Writes bytes, as [`Stream::print`] writes a text.
    pub fn print_bytes(self, bytes: &[u8]) -> Result<(), Refusal> {
        match self {
            Stream::Results => {
                let mut out = io::stdout().lock();
                read_on(out.write_all(bytes).and_then(|()| out.flush()))
            }
            Stream::Diagnostics => {
                // Where standard error cannot be written nobody is there to be told.
                let _ = io::stderr().lock().write_all(bytes);
                Ok(())
            }
        }
    }

    /// Returns whether somebody looks at it on a terminal.
    pub fn is_terminal(self) -> bool {
        match self {
            Stream::Results => io::stdout().is_terminal(),
            Stream::Diagnostics => io::stderr().is_terminal(),
        }
    }

    /// Says how far long work is, where somebody looks on; the line is written over.
    pub fn progress(self, words: &str) {
        let is_terminal = match self {
            Stream::Results => false,
            Stream::Diagnostics => io::stderr().is_terminal(),
        };
        if is_terminal {
            let _ = write!(io::stderr().lock(), "\r\x1b[K{words}");
        }
    }

    fn look(self) -> FindingStyle {
        let is_terminal = self.is_terminal();
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        match (is_terminal, set("TERM").is_some_and(|term| term == "dumb"), set("NO_COLOR").is_some()) {
            (false, _, _) | (true, true, _) => FindingStyle::Plain,
            (true, false, true) => FindingStyle::Drawn(findings_drawn::Colour::Plain),
            (true, false, false) => FindingStyle::Drawn(findings_drawn::Colour::Coloured),
        }
    }
}

/// How findings look on a stream.
enum FindingStyle {
    Plain,
    Drawn(findings_drawn::Colour),
}

/// Turns the end of reading at the other side of a pipe into a quiet end.
pub fn read_on(written: io::Result<()>) -> Result<(), Refusal> {
    match written {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        Err(error) => Err(Refusal::unwritten("standard output", &error)),
        Ok(()) => Ok(()),
    }
}

/// Returns a refusal as text of a width.
pub fn refusal_text(refusal: &Refusal, width: usize) -> String {
    let language = reader::language();
    let mut lines =
        filled(&language.say("refusal", &[("message", &language.phrase(&refusal.message))]), "", "  ", width);
    if let Some(help) = &refusal.help {
        lines.extend(filled(
            &language.say("refusal.help", &[("help", &language.phrase(help))]),
            "  ",
            "    ",
            width,
        ));
    }
    let also = refusal.also.iter().map(|other| refusal_text(other, width));
    lines.join("\n") + "\n" + &also.collect::<String>()
}
