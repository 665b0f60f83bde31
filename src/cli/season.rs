//! `season`: a season, replayed day by day.

use super::advise::Chosen;
use super::end::{CommandOutcome, End, Refusal};
use super::groves::{self, Asked, Opened, Purpose, Unopened};
use super::records::day;
use super::terminal::{LineLength, Stream};
use super::{files, papers};
use crate::advice::Depth;
use crate::measure::season_start;
use crate::phrase::said;
use crate::replay::{ReplayWanted, replay};
use crate::report::season::{self, SeasonPage};
use crate::report::{paper, schemas};
use crate::words::{Language, Words};
use chrono::NaiveDate;
use std::path::PathBuf;

/// Replays a season: what the guide would have said each morning, what was done, where the two differ
#[derive(clap::Args, Debug)]
pub struct Season {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE", default_value = ".")]
    grove: PathBuf,
    /// The first day, 2027-01-01 [default: that of the rulebook's season, or of the weather]
    #[arg(long, value_name = "DAY")]
    from: Option<String>,
    /// The last day [default: that of --as-of, or the last of the weather]
    #[arg(long, value_name = "DAY")]
    to: Option<String>,
    /// The time of day at which the guide is asked
    #[arg(long, value_name = "TIME", default_value = "05:00")]
    at: String,
    /// Takes what is advised as sprayed, so that covers, intervals and totals follow from it
    #[arg(long)]
    assume_sprayed: bool,
    /// Assumes a bloom in place of what was scouted: a year without a diary. The file says in the rulebook's words what is seen
    /// from which day on
    #[arg(long, value_name = "FILE")]
    bloom: Option<PathBuf>,
    /// Holds another rulebook against the grove's own over the same season, the advice of each taken as followed: PATH or
    /// REV:PATH
    #[arg(long, value_name = "BOOK")]
    against: Option<String>,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    trees: Chosen,
    /// What is printed: a page, a page with pictures for a browser, a table for a spreadsheet, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = SeasonFormat::Text)]
    format: SeasonFormat,
    /// Writes to a file instead of the screen; one that is there is replaced
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) language: papers::PageLanguage,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    schema: bool,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The form in which a season is printed.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum SeasonFormat {
    /// For people.
    Text,
    /// For spreadsheets.
    Csv,
    /// For a browser: pictures, and each day with its reasons.
    Html,
    /// For programs.
    Json,
}

impl Season {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.schema {
            return Stream::Results.print(schemas::SEASON).map(|()| End::Done);
        }
        if self.against.is_some() && matches!(self.format, SeasonFormat::Csv | SeasonFormat::Json) {
            let refusal =
                Refusal::new("two guides are held against each other on a page, not in a table for programs");
            return Err(refusal.help("leave out `--format`, or write `--format html`"));
        }
        let language = self.language.chosen()?;
        let at = crate::grove::time_of_day(&self.at).ok_or_else(|| {
            let text = &self.at;
            Refusal::new(said!("`--at {text}` is not a time of day", text)).help("write it as `05:00`")
        })?;
        let from = self.from.as_deref().map(|text| day("--from", text)).transpose()?;
        let to = self.to.as_deref().map(|text| day("--to", text)).transpose()?;
        let mut asked = self.asked.clone();
        if let (Some(to), None) = (to, &asked.as_of) {
            // What was sprayed on the last day is part of it.
            asked.as_of = Some(format!("{to}T23:59"));
        }
        let open = match self.open(&asked, language, from)? {
            Ok(open) => open,
            Err(unopened) => return unopened.end(self.lines.width),
        };
        let trees = self.trees.of(&open)?;
        let days = days(&open, from, to)?;
        // What each would have sprayed follows from each alone.
        let assume_sprayed = self.assume_sprayed || self.against.is_some();
        let is_html = self.format == SeasonFormat::Html && self.against.is_none();
        let depth = if is_html { Depth::Reasons } else { Depth::Verdict };
        let wanted = ReplayWanted { days, at, assume_sprayed, trees: &trees, depth };
        let words = Words { language, speech: super::speech(&open), plan: &open.plan };
        let mut reasons = Vec::new();
        let replayed = replay(&open, &wanted, |morning| {
            if is_html {
                reasons.push(season::reasons(&open, morning, (language, words.speech)));
            }
        });
        if replayed.days.is_empty() {
            let (from, to, now) = (days.0.to_string(), days.1.to_string(), open.as_of.to_string());
            let message = said!("no morning of {from} to {to} lies before {now}", from, to, now);
            return Err(Refusal::new(message).help("write `--to` with the last day to look back at"));
        }
        let named = self.grove.display().to_string();
        let page = SeasonPage::new((&open, &named), &replayed, words, &trees, (at, assume_sprayed));
        if let Some(book) = &self.against {
            let asked = Asked { by: Some(book.clone()), ..asked };
            return match self.open(&asked, language, from)? {
                Ok(other) => self.two_guides(&page, &other, &wanted),
                Err(unopened) => unopened.end(self.lines.width),
            };
        }
        let text = match self.format {
            SeasonFormat::Text => season::text(&page, Stream::Results.width(self.lines.width)),
            SeasonFormat::Csv => season::csv(&page),
            SeasonFormat::Html => season::html(&page, &reasons),
            SeasonFormat::Json => season::json(&page),
        };
        self.print(&text)
    }

    /// Opens the grove to look back at its season.
    fn open(
        &self,
        asked: &Asked,
        language: Language,
        from: Option<NaiveDate>,
    ) -> Result<Result<Opened, Unopened>, Refusal> {
        let purpose = match &self.bloom {
            None => Purpose::Season,
            Some(file) => {
                let text = files::read(file, files::GROVE_LIMIT)?;
                Purpose::SeasonUnder(file.display().to_string(), text, from)
            }
        };
        let open = groves::open_for(&self.grove, asked, purpose);
        Ok(match self.format {
            // Programs and spreadsheets read the rulebook's own words.
            SeasonFormat::Csv | SeasonFormat::Json => open,
            SeasonFormat::Text | SeasonFormat::Html => open.map(|open| open.in_language(language.code())),
        })
    }

    /// Prints what another rulebook would have said beside it.
    fn two_guides(&self, page: &SeasonPage<'_>, open: &Opened, wanted: &ReplayWanted<'_>) -> CommandOutcome {
        let replayed = replay(open, wanted, |_| {});
        let words = Words { plan: &open.plan, ..page.words };
        let other =
            SeasonPage::new((open, page.named), &replayed, words, page.trees, (page.at, page.assumed));
        let paper = season::two_guides(page, &other);
        let text = match self.format {
            SeasonFormat::Html => paper::html(&[paper], words.language.code()),
            SeasonFormat::Text | SeasonFormat::Csv | SeasonFormat::Json => {
                paper::text(&[paper], Stream::Results.width(self.lines.width))
            }
        };
        self.print(&text)
    }

    fn print(&self, text: &str) -> CommandOutcome {
        match &self.out {
            None => Stream::Results.print(text)?,
            Some(file) => {
                files::put(file, text.as_bytes())?;
                Stream::Diagnostics.print(&format!("Written to `{}`.\n", file.display()))?;
            }
        }
        Ok(End::Done)
    }
}

/// Returns the first and the last day: those that were asked for, else those of the season that have weather.
fn days(
    open: &Opened,
    from: Option<NaiveDate>,
    to: Option<NaiveDate>,
) -> Result<(NaiveDate, NaiveDate), Refusal> {
    let date = |weather: &crate::weather::Weather, hour: i64| weather.grid().date_of(hour, 0);
    let weather = open.weather.as_ref().filter(|weather| weather.first() < weather.end());
    let end = open.as_of.date_naive();
    let last = to.unwrap_or_else(|| weather.map_or(end, |weather| date(weather, weather.end() - 1).min(end)));
    let begins = season_start(open.plan.head.season.0, last);
    let first = from.unwrap_or_else(|| {
        weather.map_or(begins, |weather| date(weather, weather.first()).clamp(begins, last))
    });
    if first > last {
        let (first, last) = (first.to_string(), last.to_string());
        let refusal = Refusal::new(said!("{first} is later than {last}", first, last));
        return Err(refusal.help("write `--from` with the first day and `--to` with the last"));
    }
    Ok((first, last))
}
