//! `ask`: the observations that would change a decision today, in walking order.

use super::advise::{Chosen, book_problems, facts, notes, with_scene};
use super::end::{End, Outcome};
use super::groves::{self, Asked};
use super::sprayday::{PaperFormat, language};
use super::terminal::{LineLength, Stream};
use crate::advice::Advisor;
use crate::measure::Sky;
use crate::report::{Asking, ask_json, ask_paper, paper, scouting_sheet, stops};
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
    /// The language of the page: en, es. The questions are the rulebook's
    #[arg(long, value_name = "CODE", default_value = "en")]
    language: String,
    /// What is printed: text, a page of HTML to print on paper, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = PaperFormat::Text)]
    format: PaperFormat,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

impl Ask {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let language = language(&self.language)?;
        let read = match groves::open(&self.grove, &self.asked) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.lines.width),
        };
        let chosen = self.trees.of(&read)?;
        let sky = Sky::new(&read.plan, read.weather.as_ref(), &read.site, read.as_of.with_timezone(&Utc));
        let advisor = Advisor::new(&read.plan, &read.grove, &sky, read.as_of);
        let advice = advisor.advise();
        let stops = stops(&advice, &chosen);
        let width = Stream::Results.width(self.lines.width);
        let text = with_scene(&read, &sky, &advisor, |scene, ground| {
            let (data, book) = (notes(&read, &advisor, &chosen), book_problems(&read));
            let facts = facts(&read, &data, &book, 0.0);
            let asking = Asking { scene, facts: &facts, ground, advice: &advice, language };
            let made = || {
                if self.sheet { scouting_sheet(&asking, &stops) } else { ask_paper(&asking, &stops) }
            };
            match self.format {
                PaperFormat::Json => ask_json(&asking, &stops),
                PaperFormat::Text => paper::text(&[made()], width),
                PaperFormat::Html => paper::html(&[made()], language.code()),
            }
        });
        Stream::Results.print(&text).map(|()| End::Done)
    }
}
