//! `sprayday`: the rounds of the day, their hours and loads, and a numbered sheet for the crew.

use super::advise::{Chosen, book_problems, facts, length, notes, with_scene};
use super::end::{End, Outcome, Refusal};
use super::groves::{self, Asked, Opened};
use super::sheets;
use super::terminal::{LineLength, Stream};
use crate::advice::Advisor;
use crate::measure::Sky;
use crate::problems::nearest;
use crate::report::{Crew, Language, crew_json, day_paper, paper, sheet_paper};
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
    /// The language of the sheets: en, es
    #[arg(long, value_name = "CODE", default_value = "en")]
    language: String,
    /// Only shows the plan: gives no number, and keeps no sheet
    #[arg(long)]
    look: bool,
    /// What is printed: text, a page of HTML to print on paper, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = PaperFormat::Text)]
    format: PaperFormat,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The form in which papers are printed.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum PaperFormat {
    /// For people.
    Text,
    /// For a printer.
    Html,
    /// For programs.
    Json,
}

impl SprayDay {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let language = language(&self.language)?;
        let read = match groves::open(&self.grove, &self.asked) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.lines.width),
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
        let width = Stream::Results.width(self.lines.width);
        let text = with_scene(&read, &sky, &advisor, |scene, ground| {
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
            match self.format {
                PaperFormat::Json => crew_json(&crew, &kept),
                PaperFormat::Text => paper::text(&papers(), width),
                PaperFormat::Html => paper::html(&papers(), language.code()),
            }
        });
        Stream::Results.print(&text).map(|()| End::Done)
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

/// Returns the language of a code.
pub fn language(code: &str) -> Result<Language, Refusal> {
    Language::of_code(code).ok_or_else(|| {
        let codes = || Language::ALL.iter().map(|(_, code, _)| *code);
        let refusal = Refusal::new(format!("there is no language `{code}`"));
        match nearest(code, codes()) {
            Some(near) => refusal.help(format!("did you mean `{near}`?")),
            None => refusal.help(format!("there are {}", codes().collect::<Vec<_>>().join(", "))),
        }
    })
}
