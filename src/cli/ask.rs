//! `ask`: the observations that would change a decision today, in walking order.

use super::end::{CommandOutcome, End};
use super::morning::{Morning, MorningAsked, morning};
use super::papers::Papers;
use super::sheets;
use super::terminal::Stream;
use crate::measure::reads;
use crate::plan::Series;
use crate::report::{Asking, ask_json, ask_paper, schemas, scouting_sheet, stops};
use crate::weather::Weather;
use crate::words::Scene;

/// Prints what to look at: only what would change a decision today, in walking order
#[derive(clap::Args, Debug)]
pub struct Ask {
    #[command(flatten)]
    wanted: MorningAsked,
    /// Prints a scouting sheet to write on
    #[arg(long)]
    sheet: bool,
    #[command(flatten)]
    pub(super) papers: Papers,
}

impl Ask {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.papers.schema {
            return Stream::Results.print(schemas::ASK).map(|()| End::Done);
        }
        let language = self.papers.language.chosen()?;
        self.papers.possible()?;
        let read = match self.wanted.open(language) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.papers.lines.width),
        };
        let chosen = self.wanted.trees(&read)?;
        let weather = read.weather.as_ref().filter(|_| reads(&read.plan, Series::Rain));
        let gauge = weather.map_or_else(Vec::new, Weather::days_for_the_gauge);
        let sheets = sheets::open(&self.wanted.grove, &read);
        let made = morning(&read, (&chosen, language), 0.0, |morning| {
            let Morning { scene, facts, ground, advice, .. } = *morning;
            let scene = &Scene { language, ..*scene };
            let stops = stops(advice, &chosen);
            let asking =
                Asking { scene, facts, ground, advice, gauge: &gauge, sheets: &sheets, chosen: &chosen };
            let paper = || {
                if self.sheet { scouting_sheet(&asking, &stops) } else { ask_paper(&asking, &stops) }
            };
            self.papers.made(|| vec![paper()], || ask_json(&asking, &stops), language, read.grove.units)
        });
        self.papers.print(&made).map(|()| End::Done)
    }
}
