//! `records`: the season's spray record as record-keeping asks for it.

use super::advise::of_data;
use super::end::{CommandOutcome, End, Refusal};
use super::groves::{self, Asked, Purpose};
use super::papers;
use super::terminal::{LineLength, Stream};
use crate::grove::Sprays;
use crate::measure::season_start;
use crate::phrase::said;
use crate::report::records::{self, Season};
use crate::report::schemas;
use crate::words::Words;
use chrono::NaiveDate;
use std::path::{Path, PathBuf};

/// Prints the season's spray record: rows, amounts on the land, rotation, trees never sprayed
#[derive(clap::Args, Debug)]
pub struct Records {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    grove: PathBuf,
    /// The first day, 2027-01-01 [default: that of the rulebook's season]
    #[arg(long, value_name = "DAY")]
    from: Option<String>,
    /// The last day [default: that of --as-of]
    #[arg(long, value_name = "DAY")]
    to: Option<String>,
    #[command(flatten)]
    asked: Asked,
    /// What is printed: a page, a table for a spreadsheet, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = RecordForm::Text)]
    format: RecordForm,
    /// The language of the page: en, es. What the rulebook says comes from the translation beside it
    #[arg(long, value_name = "CODE", default_value = "en")]
    pub(super) language: String,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    schema: bool,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The form in which the record is printed.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum RecordForm {
    /// For people.
    Text,
    /// For spreadsheets.
    Csv,
    /// For programs.
    Json,
}

impl Records {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.schema {
            return Stream::Results.print(schemas::RECORDS).map(|()| End::Done);
        }
        let language = papers::language(&self.language)?;
        let from = self.from.as_deref().map(|text| day("--from", text)).transpose()?;
        let to = self.to.as_deref().map(|text| day("--to", text)).transpose()?;
        let read = match groves::open_for(&self.grove, &self.asked, Purpose::Logs) {
            // Programs and spreadsheets read the rulebook's own words.
            Ok(read) if self.format == RecordForm::Text => read.in_language(language.code()),
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.lines.width),
        };
        let last = to.unwrap_or_else(|| read.as_of.date_naive());
        let first = from.unwrap_or_else(|| season_start(read.plan.head.season.0, last));
        if first > last {
            let refusal = Refusal::new(said!("{first} is later than {last}", first, last));
            return Err(refusal.help("write `--from` with the first day and `--to` with the last"));
        }
        // A row that is left out is told apart from the record, which must be fit to be handed in.
        if let Sprays::File(log) = &read.outline.sprays {
            let mut of_log = of_data(&read, language);
            of_log.retain(|it| {
                let source = read.sources.get(it.at.source);
                source.is_some_and(|source| Path::new(&*source.name).ends_with(Path::new(&*log.path)))
            });
            let width = Stream::Diagnostics.width(self.lines.width);
            Stream::Diagnostics.print(&Stream::Diagnostics.findings(&of_log, &read.sources, width))?;
        }
        read.told_without_weather(language, self.lines.width)?;
        let season = Season {
            plan: &read.plan,
            grove: &read.grove,
            weather: read.weather.as_ref(),
            site: &read.site,
            days: (first, last),
        };
        let text = match self.format {
            RecordForm::Text => records::text(
                &season,
                &self.grove.display().to_string(),
                Words { language, speech: super::speech(&read), plan: &read.plan },
                Stream::Results.width(self.lines.width),
            ),
            RecordForm::Csv => records::csv(&season),
            RecordForm::Json => records::json(&season),
        };
        Stream::Results.print(&text).map(|()| End::Done)
    }
}

pub(super) fn day(flag: &str, text: &str) -> Result<NaiveDate, Refusal> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| {
        let refusal = Refusal::new(said!("{flag}: `{text}` is not a day", flag, text));
        refusal.help("write year, month and day: `2027-02-11`")
    })
}
