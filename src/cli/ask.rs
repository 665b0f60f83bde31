//! `ask`: the observations that would change a decision today, in walking order.

use super::advise::{Chosen, book_problems, facts, notes, with_scene};
use super::end::{End, Outcome};
use super::groves::{self, Asked};
use super::papers::Papers;
use super::terminal::Stream;
use crate::advice::Advisor;
use crate::measure::Sky;
use crate::report::{Asking, ask_json, ask_paper, schemas, scouting_sheet, stops};
use chrono::Utc;
use std::path::PathBuf;

/// Prints what to look at: only what would change a decision today, in walking order
#[derive(clap::Args, Debug)]
pub struct Ask {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    grove: PathBuf,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    trees: Chosen,
    /// Prints a scouting sheet to write on
    #[arg(long)]
    sheet: bool,
    #[command(flatten)]
    pub(super) papers: Papers,
}

impl Ask {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        if self.papers.schema {
            return Stream::Results.print(schemas::ASK).map(|()| End::Done);
        }
        let language = self.papers.language()?;
        self.papers.possible()?;
        let read = match groves::open(&self.grove, &self.asked) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.papers.lines.width),
        };
        let chosen = self.trees.of(&read)?;
        let sky = Sky::new(&read.plan, read.weather.as_ref(), &read.site, read.as_of.with_timezone(&Utc));
        let advisor = Advisor::new(&read.plan, &read.grove, &sky, read.as_of);
        let advice = advisor.advise();
        let stops = stops(&advice, &chosen);
        let made = with_scene(&read, &sky, &advisor, |scene, ground| {
            let (data, book) = (notes(&read, &advisor, &chosen), book_problems(&read));
            let facts = facts(&read, &data, &book, 0.0);
            let asking = Asking { scene, facts: &facts, ground, advice: &advice, language };
            let paper = || {
                if self.sheet { scouting_sheet(&asking, &stops) } else { ask_paper(&asking, &stops) }
            };
            self.papers.made(|| vec![paper()], || ask_json(&asking, &stops), language, read.grove.units)
        });
        self.papers.print(&made).map(|()| End::Done)
    }
}
