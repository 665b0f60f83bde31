//! `bulletin`: a rulebook as a printed guide.

use super::books::{self, Book};
use super::end::{CommandOutcome, End, Refusal};
use super::papers::Papers;
use super::terminal::Stream;
use crate::grove::UnitSystem;
use crate::problems::Level;
use crate::prove;
use crate::report::bulletin::Bulletin;
use crate::source::Sources;
use crate::words::{Speech, Words};
use crate::workspace::OpenRulebook;
use std::path::PathBuf;

/// Prints a rulebook as a guide to read: what to look at, what to do and not to do, products, hours, sources
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct PrintBulletin {
    /// The rulebook: PATH, REV:PATH, or - for standard input
    #[arg(value_name = "BOOK", required = true)]
    book: String,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    #[command(flatten)]
    pub(super) papers: Papers,
}

impl PrintBulletin {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let language = self.papers.language.chosen()?;
        self.papers.possible()?;
        if self.papers.is_json() || self.papers.schema {
            let refusal = Refusal::new("a bulletin is text, HTML or PDF");
            return Err(
                refusal.help("`bloomward compare`, `rehearse` and `proofread` write JSON of a rulebook")
            );
        }
        let mut sources = Sources::default();
        let book = Book::of(&self.book)?;
        let OpenRulebook { plan, mut problems } = books::load(&book, self.library.as_deref(), &mut sources)?;
        // What is proved is what is acted upon: a guide that breaks a promise or contradicts itself is not printed.
        problems.extend(plan.as_ref().map(prove::findings).unwrap_or_default());
        problems.retain(|it| it.finding.level() == Level::Error);
        let (Some(plan), false) = (&plan, problems.any_error()) else {
            let width = Stream::Diagnostics.width(self.papers.lines.width);
            Stream::Diagnostics.in_the_way(&problems, &sources, width)?;
            return Ok(if plan.is_some() { End::Found } else { End::Unreadable });
        };
        let plan = plan.in_language(language.code());
        let words = Words { language, speech: Speech::Both, plan: &plan };
        let bulletin = Bulletin { words, sources: &sources };
        let made = self.papers.made(|| vec![bulletin.paper()], String::new, language, UnitSystem::Us);
        self.papers.print(&made).map(|()| End::Done)
    }
}
