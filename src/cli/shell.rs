//! `completions` and `man`: what comes from the argument definitions alone.

use super::Program;
use super::end::{CommandOutcome, End, Refusal};
use super::terminal::Stream;
use clap::CommandFactory;

/// Prints completions for a shell
#[derive(clap::Args, Debug)]
pub struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    shell: clap_complete::Shell,
}

/// Prints the manual page, in the form that `man` reads
#[derive(clap::Args, Debug)]
pub struct Manual {
    /// The command that it is about; the whole program if left out
    #[arg(value_name = "COMMAND")]
    command: Option<String>,
}

impl Completions {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Program::command(), "bloomward", &mut text);
        Stream::Results.print(&String::from_utf8_lossy(&text)).map(|()| End::Done)
    }
}

impl Manual {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let mut program = Program::command();
        program.build();
        let page = match &self.command {
            None => clap_mangen::Man::new(program),
            Some(name) => match program.find_subcommand(name) {
                Some(command) => clap_mangen::Man::new(command.clone()),
                None => return Err(Refusal::new(format!("there is no command `{name}`"))),
            },
        };
        let mut text = Vec::new();
        page.render(&mut text).map_err(|error| Refusal::unwritten("the manual page", &error))?;
        Stream::Results.print(&String::from_utf8_lossy(&text)).map(|()| End::Done)
    }
}
