//! `rehearse`: a rulebook's worked examples and promises, and which rules they reach.

use super::books::{self, Book};
use super::end::{CommandOutcome, End};
use super::terminal::{Format, Printing, Stream};
use crate::decide::{Certified, Rules};
use crate::prove::mutate::mutate;
use crate::prove::{BUDGET, Book as Proved, Prover, examples};
use crate::report::mutation::mutation_text;
use crate::report::rehearsal::Rehearsal;
use crate::source::Sources;
use crate::workspace::{OpenRulebook, take_example_hours};
use std::path::PathBuf;

/// Runs a rulebook's worked examples, proves its promises, and tells which rules the examples reach
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Rehearse {
    /// The rulebooks: PATH, REV:PATH, or - for standard input
    #[arg(value_name = "BOOK", required = true)]
    books: Vec<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    /// Tries small changes of the rules and of what they compare, and prints for each that nothing notices the worked example
    /// that would
    #[arg(long)]
    mutate: bool,
    #[command(flatten)]
    pub(super) printing: Printing,
}

impl Rehearse {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let mut end = End::Done;
        for argument in &self.books {
            end = end.max(self.one(argument)?);
        }
        Ok(end)
    }

    fn one(&self, argument: &str) -> CommandOutcome {
        let mut sources = Sources::default();
        let book = Book::of(argument)?;
        let OpenRulebook { plan, mut problems } = books::load(&book, self.library.as_deref(), &mut sources)?;
        let Some(mut plan) = plan else {
            problems.retain(|it| it.finding.level() == crate::problems::Level::Error);
            let width = Stream::Diagnostics.width(self.printing.lines.width);
            Stream::Diagnostics.in_the_way(&problems, &sources, width)?;
            return Ok(End::Unreadable);
        };
        let (hours, unread) = take_example_hours(&book, &mut plan, &mut sources);
        if !unread.is_empty() {
            let width = Stream::Diagnostics.width(self.printing.lines.width);
            Stream::Diagnostics.in_the_way(&unread, &sources, width)?;
        }
        let rules = Rules::new(&plan, Certified::No);
        let proved = Proved { plan: &plan, rules: &rules };
        let mut prover = Prover::new(proved, BUDGET);
        let promises = (0..plan.promises.len()).map(|at| prover.promise(at)).collect();
        let decided = !prover.space.diagrams.is_spent();
        let outcomes = examples::run(proved, BUDGET);
        let reach = examples::reach::reach(proved, &outcomes);
        let rehearsal = Rehearsal { plan: &plan, outcomes, promises, decided, reach, sources: &sources };
        let mutation = self.mutate.then(|| {
            let mut progress = |tried: usize, of: usize| {
                Stream::Diagnostics.progress(&format!("small changes: {tried} of {of}"));
            };
            let mutation = mutate(&plan, &hours, BUDGET, &mut progress);
            Stream::Diagnostics.progress("");
            mutation
        });
        let width = Stream::Results.width(self.printing.lines.width);
        let text = match self.printing.format {
            Format::Json => rehearsal.json(mutation.as_ref()),
            Format::Text => {
                let more = mutation.as_ref().map(|it| mutation_text(it, &sources, width));
                rehearsal.text(width) + &more.map_or_else(String::new, |more| "\n".to_owned() + &more)
            }
        };
        let found = !unread.is_empty()
            || rehearsal.failed()
            || mutation.is_some_and(|it| it.spent || !it.survived.is_empty());
        Stream::Results.print(&text).map(|()| if found { End::Found } else { End::Done })
    }
}
