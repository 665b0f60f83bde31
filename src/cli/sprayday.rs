//! `sprayday`: the rounds of the day, their hours and loads, and a numbered sheet for the crew.

use super::advise::{Chosen, book_problems, facts, length, notes, with_scene};
use super::end::{End, Outcome, Refusal};
use super::groves::{self, Asked, Opened};
use super::papers::Papers;
use super::sheets;
use super::terminal::Stream;
use crate::advice::Advisor;
use crate::measure::Sky;
use crate::report::{Crew, crew_json, day_paper, schemas, sheet_paper};
use crate::sprayday::{KeptSheet, day, kept};
use chrono::Utc;
use std::path::{Path, PathBuf};

/// Plans the day's sprays: hours, tank loads, and a numbered sheet for the crew
#[derive(clap::Args, Debug)]
pub struct SprayDay {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    grove: PathBuf,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    trees: Chosen,
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
    pub fn run(&self) -> Outcome {
        if self.papers.schema {
            return Stream::Results.print(schemas::SPRAYDAY).map(|()| End::Done);
        }
        let language = self.papers.language()?;
        self.papers.possible()?;
        let read = match groves::open(&self.grove, &self.asked) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.papers.lines.width),
        };
        let drift = length(&self.drift)?;
        let chosen = self.trees.of(&read)?;
        let sky = Sky::new(&read.plan, read.weather.as_ref(), &read.site, read.as_of.with_timezone(&Utc));
        let advisor = Advisor::new(&read.plan, &read.grove, &sky, read.as_of);
        let advice = advisor.advise();
        let day = day(&read.plan, &read.grove, advisor.rules(), &sky, &advice, &chosen);
        let kept: Vec<KeptSheet> =
            day.rounds.iter().map(|round| kept(&read.plan, &read.grove, round, read.as_of)).collect();
        let numbers = if self.look { Vec::new() } else { self.keep(&read, &kept)? };
        let made = with_scene(&read, &sky, &advisor, |scene, ground| {
            let (data, book) = (notes(&read, &advisor, &chosen), book_problems(&read));
            let facts = facts(&read, &data, &book, drift);
            let crew = Crew {
                scene,
                facts: &facts,
                ground,
                advice: &advice,
                day: &day,
                numbers: &numbers,
                language,
            };
            let sheets = || (0..day.rounds.len()).map(|place| sheet_paper(&crew, place));
            let papers = || std::iter::once(day_paper(&crew)).chain(sheets()).collect::<Vec<_>>();
            self.papers.made(papers, || crew_json(&crew, &kept), language, read.grove.units)
        });
        self.papers.print(&made).map(|()| End::Done)
    }

    /// Keeps the sheets in the grove folder, and returns their numbers.
    fn keep(&self, read: &Opened, kept: &[KeptSheet]) -> Result<Vec<u64>, Refusal> {
        let folder = if self.grove.is_dir() {
            self.grove.as_path()
        } else {
            self.grove.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new("."))
        };
        let logged = read.grove.log.rows().iter().filter_map(|row| row.fields.get("sheet")?.parse().ok());
        sheets::keep(folder, kept, logged.max().unwrap_or(0))
    }
}
