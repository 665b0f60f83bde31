//! A grove as arguments name it, with its rulebook and its files, read and joined.

use super::books::{self, Book};
use super::end::{End, Refusal};
use super::files::{self, GROVE_LIMIT};
use super::terminal::{Stream, refusal_text};
use crate::advice::with_jugs;
use crate::check;
use crate::grove::{self, FileName, Grove, Outline, Sprays, Texts, UnknownNames};
use crate::plan::Plan;
use crate::problems::{Finding, Problems};
use crate::source::{SourceId, Sources};
use crate::weather::{self, Site, Weather};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Which grove, by which rulebook, at which moment.
#[derive(clap::Args, Debug)]
pub struct Which {
    /// Decides by this rulebook instead of the one that the grove names: PATH or REV:PATH
    #[arg(long, value_name = "BOOK")]
    by: Option<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    /// Advises for this moment instead of now: ISO 8601, local to the grove or with an offset
    #[arg(long, value_name = "MOMENT")]
    as_of: Option<String>,
}

/// All that advice is made from.
pub struct Read {
    /// All texts.
    pub sources: Sources,
    /// The rulebook's file as it was named.
    pub book: String,
    /// The rulebook, joined with the labels of the jugs.
    pub plan: Plan,
    /// Errors of meaning in the rulebook: advice is given under a heading that says so.
    pub book_problems: Problems,
    /// The grove.
    pub grove: Grove,
    /// Its weather.
    pub weather: Option<Weather>,
    /// Where it stands.
    pub site: Site,
    /// What was reported in its files and left out.
    pub notes: Problems,
    /// The moment of the advice.
    pub as_of: DateTime<Tz>,
    /// The moment at which the program runs.
    pub now: DateTime<Tz>,
}

/// Why a grove could not be read.
pub enum Stop {
    /// One thing is in the way.
    Refused(Refusal),
    /// Findings, already printed.
    Said,
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Self {
        Stop::Refused(refusal)
    }
}

impl Stop {
    /// Ends a command that could not read its grove.
    pub fn end(self) -> super::end::Outcome {
        match self {
            Stop::Refused(refusal) => Err(refusal),
            Stop::Said => Ok(End::Unreadable),
        }
    }
}

impl Which {
    /// Reads a grove with its rulebook. Everything that is wrong with either is printed, in one run.
    pub fn read(&self, place: &Path, width: Option<u16>) -> Result<Read, Stop> {
        let width = Stream::Diagnostics.width(width);
        let yaml = yaml_of(place);
        let folder = yaml.parent().map(Path::to_path_buf).unwrap_or_default();
        let text = files::read(&yaml, GROVE_LIMIT)?;
        let shown = yaml.display().to_string();
        let book = self.book(&folder, &shown, &text, width)?;
        let loaded = books::load(&book.0, self.library.as_deref())?;
        let (mut sources, plan, book_problems) = (loaded.sources, loaded.plan, loaded.problems);
        let unusable = |finding: Finding| {
            check::is_of_text(finding) || matches!(finding, Finding::TableOverlap | Finding::RankCircle)
        };
        let blocked = plan.is_none() || book_problems.iter().any(|problem| unusable(problem.finding));
        if blocked {
            let mut errors = book_problems.clone();
            errors.retain(|problem| unusable(problem.finding));
            Stream::Diagnostics.print(&Stream::Diagnostics.findings(&errors, &sources, width))?;
        }
        let source = sources.add(shown.as_str(), text);
        let (outline, mut problems) = grove::outline(source, &sources);
        let (Some(plan), Some(outline), false) = (plan, outline, blocked) else {
            Stream::Diagnostics.print(&Stream::Diagnostics.findings(&problems, &sources, width))?;
            return Err(Stop::Said);
        };
        let zone = outline.place.zone;
        let now = Utc::now().with_timezone(&zone);
        let as_of = match &self.as_of {
            Some(text) => grove::read_moment(text, zone).map_err(Refusal::new)?,
            None => outline.as_of.unwrap_or(now),
        };
        let mut open = |file: &FileName| text_of(&folder, file, &mut sources, width);
        let weather_file = outline.weather.as_ref().map(|weather| open(&weather.file));
        let texts = (
            outline.trees.as_ref().map(&mut open),
            outline.scouting.as_ref().map(&mut open),
            match &outline.sprays {
                Sprays::File(file) => Some(open(file)),
                Sprays::Unknown | Sprays::NoneYet => None,
            },
        );
        let mut missing = false;
        let mut take = |opened: Option<Option<SourceId>>| {
            missing |= opened == Some(None);
            opened.flatten()
        };
        let (texts, weather_file) = (
            Texts { trees: take(texts.0), scouting: take(texts.1), sprays: take(texts.2) },
            take(weather_file),
        );
        let unknown = if self.by.is_some() { UnknownNames::LeaveOut } else { UnknownNames::Refuse };
        let (grove, found) = grove::read(&outline, texts, &plan, as_of, unknown, &sources);
        problems.extend(found);
        let gauge = grove.as_ref().map(|grove| grove.gauge.clone()).unwrap_or_default();
        let weather = weather_file.map(|file| {
            let (weather, found) = read_weather(&outline, file, &sources, as_of, &gauge);
            problems.extend(found);
            weather
        });
        problems.sort();
        let grove = match grove {
            Some(grove) if !problems.any_error() && !missing => grove,
            Some(_) | None => {
                Stream::Diagnostics.print(&Stream::Diagnostics.findings(&problems, &sources, width))?;
                return Err(Stop::Said);
            }
        };
        let (latitude, longitude) = outline.place.position.unwrap_or((0.0, 0.0));
        let site = Site::new(latitude, longitude, outline.place.elevation, zone);
        let plan = with_jugs(&plan, &grove);
        Ok(Read {
            sources,
            book: book.1,
            plan,
            book_problems,
            grove,
            weather,
            site,
            notes: problems,
            as_of,
            now,
        })
    }

    /// Returns the rulebook: the one asked for, else the one that the grove names.
    fn book(&self, folder: &Path, shown: &str, text: &str, width: usize) -> Result<(Book, String), Stop> {
        if let Some(by) = &self.by {
            return Ok((Book::of(by)?, by.clone()));
        }
        let mut sources = Sources::default();
        let source = sources.add(shown, text);
        let (outline, problems) = grove::outline(source, &sources);
        let Some(outline) = outline else {
            Stream::Diagnostics.print(&Stream::Diagnostics.findings(&problems, &sources, width))?;
            return Err(Stop::Said);
        };
        let Some(file) = &outline.rulebook else {
            let refusal = Refusal::new(format!("`{shown}` names no rulebook"));
            return Err(refusal.help("write `rulebook: PATH` in it, or give one with `--by BOOK`").into());
        };
        let path = folder.join(&*file.path);
        let shown = path.display().to_string();
        Ok((Book::File(path), shown))
    }
}

fn yaml_of(place: &Path) -> PathBuf {
    if place.is_dir() { place.join("grove.yaml") } else { place.to_path_buf() }
}

/// Opens a file that the grove names; what is in the way is said, and the other files are still looked at.
fn text_of(folder: &Path, file: &FileName, sources: &mut Sources, width: usize) -> Option<SourceId> {
    let path = folder.join(&*file.path);
    match files::read(&path, GROVE_LIMIT) {
        Ok(text) => Some(sources.add(path.display().to_string(), text)),
        Err(mut refusal) => {
            refusal.message = format!("{}: {}", sources.locate(file.at), refusal.message);
            // Where standard error cannot be written nobody is there to be told.
            let _ = Stream::Diagnostics.print(&refusal_text(&refusal, width));
            None
        }
    }
}

fn read_weather(
    outline: &Outline,
    source: SourceId,
    sources: &Sources,
    as_of: DateTime<Tz>,
    gauge: &grove::Gauge,
) -> (Weather, Problems) {
    let columns: BTreeMap<String, String> = outline
        .weather
        .iter()
        .flat_map(|weather| &weather.columns)
        .map(|(ours, theirs)| (ours.to_string(), theirs.to_string()))
        .collect();
    let gauge = gauge.iter().map(|(day, (rain, _))| (*day, *rain)).collect();
    weather::read(&weather::WeatherFile {
        text: sources.get(source).map_or("", |source| &source.text),
        source,
        columns: &columns,
        zone: outline.place.zone,
        as_of: as_of.with_timezone(&Utc),
        forecast_issued: outline
            .weather
            .as_ref()
            .and_then(|weather| weather.forecast_issued)
            .map(|issued| issued.with_timezone(&Utc)),
        gauge: &gauge,
    })
}
