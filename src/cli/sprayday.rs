//! `sprayday`: the rounds of the day, their hours and loads, and a numbered sheet for the crew.

use super::advise::length;
use super::end::{CommandOutcome, End, Refusal};
use super::groves::Opened;
use super::morning::{Morning, MorningAsked, morning};
use super::papers::Papers;
use super::sheets;
use super::terminal::Stream;
use crate::report::{Crew, crew_json, day_paper, schemas, sheet_paper};
use crate::sprayday::{KeptSheet, kept, one_tank};
use crate::words::Scene;
use std::path::Path;

/// Plans the day's sprays: hours, tank loads, and a numbered sheet for the crew
#[derive(clap::Args, Debug)]
pub struct SprayDay {
    #[command(flatten)]
    wanted: MorningAsked,
    /// Names the trees within reach of drift for which the product is not allowed
    #[arg(long, value_name = "LENGTH", default_value = "30 ft")]
    drift: String,
    /// Only shows the plan: gives no number, and keeps no sheet
    #[arg(long)]
    look: bool,
    #[command(flatten)]
    pub(super) papers: Papers,
}

impl SprayDay {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.papers.schema {
            return Stream::Results.print(schemas::SPRAYDAY).map(|()| End::Done);
        }
        let language = self.papers.language.chosen()?;
        self.papers.possible()?;
        let read = match self.wanted.open(language) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.papers.lines.width),
        };
        let drift = length(&self.drift)?;
        let chosen = self.wanted.trees(&read)?;
        let made = morning(&read, (&chosen, language), drift, |morning| {
            let Morning { scene, facts, ground, advice, .. } = *morning;
            let scene = &Scene { language, ..*scene };
            let mut day = morning.day.clone();
            let sprayed: Vec<usize> =
                chosen.iter().copied().filter(|tree| !day.not_sprayed.contains(tree)).collect();
            day.one_tank = one_tank(&read.plan, morning.advisor.rules(), advice, &sprayed);
            let kept: Vec<KeptSheet> =
                day.rounds.iter().map(|round| kept(&read.plan, &read.grove, round, read.as_of)).collect();
            // What cannot be weighed, which comes last, gets no sheet.
            let weighed = day.rounds.iter().filter(|round| round.is_weighed()).count();
            let sheets = kept.get(..weighed).unwrap_or(&kept);
            let numbers = if self.look { Vec::new() } else { self.keep(&read, sheets)? };
            let crew = Crew { scene, facts, ground, advice, day: &day, numbers: &numbers };
            let sheets = || (0..weighed).map(|place| sheet_paper(&crew, place));
            let papers = || std::iter::once(day_paper(&crew)).chain(sheets()).collect::<Vec<_>>();
            Ok(self.papers.made(papers, || crew_json(&crew, &kept), language, read.grove.units))
        })?;
        self.papers.print(&made).map(|()| End::Done)
    }

    /// Keeps the sheets in the grove folder, and returns their numbers.
    fn keep(&self, read: &Opened, kept: &[KeptSheet]) -> Result<Vec<u64>, Refusal> {
        let folder = if self.wanted.grove.is_dir() {
            self.wanted.grove.as_path()
        } else {
            self.wanted.grove.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new("."))
        };
        let logged = read.grove.log.rows().iter().filter_map(|row| row.fields.get("sheet")?.parse().ok());
        sheets::keep(folder, kept, logged.max().unwrap_or(0))
    }
}
