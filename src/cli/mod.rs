//! The program: arguments, files, clock, terminal, exit status; one file a command.
//!
//! Comes in: what was typed. Goes out: results on standard output, diagnostics on standard error, an exit status.
//! Everything that opens a file, reads the clock or the environment, or prints, is in here and nowhere below.

mod advise;
mod ask;
mod append;
mod books;
mod bulletin;
mod compare;
mod confirm;
mod end;
mod examples;
mod files;
mod grove_files;
mod groves;
mod mix;
mod morning;
mod noted_breaks;
mod papers;
mod pasted;
mod proofread;
mod sheets;
mod reader;
mod records;
mod rehearse;
mod scouted;
mod season;
mod shell;
mod sprayday;
mod spray_checked;
mod spray_sheet;
mod spray_taken;
mod spray_times;
mod spray_words;
mod sprayed;
mod start;
mod start_grove;
mod start_weather;
mod storing;
mod terminal;
mod tidy;
mod weather;
mod weather_file;
mod weather_flags;
mod weather_input;
mod why;

use clap::{Parser, Subcommand};
use end::End;
use std::process::ExitCode;
use terminal::Stream;

/// Runs the program with the arguments that were typed.
pub fn run() -> ExitCode {
    let program = Program::parse();
    reader::reads(program.command.language());
    let outcome = match &program.command {
        Command::Start(command) => command.run(),
        Command::Advise(command) => command.run(),
        Command::Why(command) => command.run(),
        Command::Ask(command) => command.run(),
        Command::SprayDay(command) => command.run(),
        Command::Mix(command) => command.run(),
        Command::Records(command) => command.run(),
        Command::Scouted(command) => command.run(),
        Command::Season(command) => command.run(),
        Command::Sprayed(command) => command.run(),
        Command::Weather(command) => command.run(),
        Command::Proofread(command) => command.run(),
        Command::Rehearse(command) => command.run(),
        Command::Compare(command) => command.run(),
        Command::Tidy(command) => command.run(),
        Command::Bulletin(command) => command.run(),
        Command::Completions(command) => command.run(),
        Command::Man(command) => command.run(),
    };
    outcome.map_or_else(|refusal| refused(&refusal, program.command.width()), ExitCode::from)
}

/// Says why a command could not be done.
fn refused(refusal: &end::Refusal, width: Option<u16>) -> ExitCode {
    let width = Stream::Diagnostics.width(width);
    // Standard error takes what it takes: there is no other place to say it.
    let _ = Stream::Diagnostics.print(&terminal::refusal_text(refusal, width));
    ExitCode::from(End::Unreadable)
}

/// Spray guidance for mango groves in bloom, decided tree by tree from plain-text rulebooks
#[derive(Parser, Debug)]
#[command(
    name = "bloomward",
    version,
    after_help = "GROVE is a folder or its grove.yaml, the current folder if left out. BOOK is a path, or REV:PATH for \
                  a file as it stood at a git revision. No command uses the network.\n\
                  Exit status: 0 done, nothing wrong; 1 found what the command looks for; 2 cannot be read."
)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    Start(start::Start),
    Advise(advise::Advise),
    Why(why::Why),
    Ask(ask::Ask),
    #[command(name = "sprayday")]
    SprayDay(sprayday::SprayDay),
    Mix(mix::Mix),
    Records(records::Records),
    Scouted(scouted::Scouted),
    Season(Box<season::Season>),
    Sprayed(Box<sprayed::Sprayed>),
    Weather(Box<weather::TakeWeather>),
    Proofread(proofread::Proofread),
    Rehearse(rehearse::Rehearse),
    Compare(compare::Compare),
    Tidy(tidy::Tidy),
    Bulletin(bulletin::PrintBulletin),
    Completions(shell::Completions),
    #[command(hide = true)]
    Man(shell::Manual),
}

impl Command {
    /// Returns the language that was asked for, of a command that has one.
    fn language(&self) -> Option<&str> {
        match self {
            Command::Start(command) => Some(&command.language),
            Command::Advise(command) => Some(command.papers.language.code()),
            Command::Why(command) => Some(command.language.code()),
            Command::Ask(command) => Some(command.papers.language.code()),
            Command::SprayDay(command) => Some(command.papers.language.code()),
            Command::Mix(command) => Some(&command.language),
            Command::Records(command) => Some(&command.language),
            Command::Scouted(command) => Some(command.storing.code()),
            Command::Sprayed(command) => Some(command.storing.code()),
            Command::Weather(command) => Some(command.storing.code()),
            Command::Season(command) => Some(command.language.code()),
            Command::Bulletin(command) => Some(command.papers.language.code()),
            Command::Proofread(_)
            | Command::Rehearse(_)
            | Command::Compare(_)
            | Command::Tidy(_)
            | Command::Completions(_)
            | Command::Man(_) => None,
        }
    }

    /// Returns the length of lines that was asked for.
    fn width(&self) -> Option<u16> {
        match self {
            Command::Start(command) => command.lines.width,
            Command::Advise(command) => command.papers.lines.width,
            Command::Why(command) => command.printing.lines.width,
            Command::Ask(command) => command.papers.lines.width,
            Command::SprayDay(command) => command.papers.lines.width,
            Command::Mix(command) => command.printing.lines.width,
            Command::Records(command) => command.lines.width,
            Command::Scouted(command) => command.storing.printing.lines.width,
            Command::Season(command) => command.lines.width,
            Command::Proofread(command) => command.lines.width,
            Command::Rehearse(command) => command.printing.lines.width,
            Command::Compare(command) => command.lines.width,
            Command::Sprayed(command) => command.storing.printing.lines.width,
            Command::Weather(command) => command.storing.printing.lines.width,
            Command::Tidy(command) => command.lines.width,
            Command::Bulletin(command) => command.papers.lines.width,
            Command::Completions(_) | Command::Man(_) => None,
        }
    }
}

/// Returns in which units pages of a grove speak.
fn speech(read: &groves::Opened) -> crate::words::Speech {
    match read.grove.units {
        crate::grove::UnitSystem::Us => crate::words::Speech::Us,
        crate::grove::UnitSystem::Metric => crate::words::Speech::Metric,
    }
}
