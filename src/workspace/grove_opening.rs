//! Opens a grove folder with all that belongs to it: its files, its rulebook, its weather, the moment. Everything that is wrong
//! is found in one run.

use super::earlier::{ALL_MEASURED, read_weather_file};
use super::{OpenRulebook, Store, open_rulebook};
use crate::advice::{Advisor, broken_always};
use crate::check;
use crate::grove::{self, AssumedBloom, FileName, Grove, Outline, Sprays, Texts, UnknownNames};
use crate::labels::{BrokenLabel, broken_labels, with_jugs};
use crate::measure::WeatherMeasures;
use crate::phrase::{Phrase, said};
use crate::plan::Plan;
use crate::problems::{Finding, Level, Problem, Problems, Refusal};
use crate::source::{SourceId, Sources, Span};
use crate::weather::{Site, Weather};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// Which grove, under which rulebook, at which moment.
#[derive(Clone)]
pub struct GroveRequest<'a> {
    /// Where its files are read from.
    pub store: &'a dyn Store,
    /// The folder, or its `grove.yaml`.
    pub grove: &'a Path,
    /// The rulebook to use instead of the grove's own.
    pub by: Option<OtherBook<'a>>,
    /// The folder in which overlays may reach for their bases, if it is not the rulebook's own.
    pub library: Option<&'a str>,
    /// The moment of the advice, local to the grove or with an offset, as it was typed.
    pub as_of: Option<&'a str>,
    /// The moment at which the program runs.
    pub now: DateTime<Utc>,
    /// For what it is opened.
    pub purpose: Purpose,
}

/// A rulebook that is not the grove's own.
#[derive(Clone)]
pub struct OtherBook<'a> {
    /// As it was typed.
    pub typed: &'a str,
    /// The name by which messages call it.
    pub name: String,
    /// The library, named so that the one is found in the other.
    pub library: Option<String>,
    /// Where it and its bases are read from.
    pub store: &'a dyn Store,
}

/// A grove folder that could be opened.
pub struct OpenGrove {
    /// All texts that were read.
    pub sources: Sources,
    /// The rulebook as the grower named it.
    pub book: String,
    /// The checked rulebook, joined with the labels of the jugs.
    pub plan: Plan,
    /// The checked rulebook alone.
    pub book_plan: Plan,
    /// The grove.
    pub grove: Grove,
    /// The weather, where it has some.
    pub weather: Option<Weather>,
    /// Why the weather was left out, where it cannot be read and is not needed.
    pub without_weather: Option<Phrase>,
    /// The text of its weather.
    pub(super) weather_source: Option<SourceId>,
    /// Where it lies.
    pub site: Site,
    /// The moment of the advice.
    pub as_of: DateTime<Tz>,
    /// The moment at which the program runs.
    pub now: DateTime<Tz>,
    /// Errors of meaning in the rulebook, with which it still advises.
    pub of_book: Problems,
    /// What was reported in the grove's files and left out.
    pub of_data: Problems,
    /// The sprays of its log that broke a label.
    pub broken_labels: Vec<BrokenLabel>,
    /// What its `grove.yaml` says of files, place and moment.
    pub outline: Outline,
}

/// For what a grove is opened.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Purpose {
    /// To be read: every file that it names is there.
    Reading,
    /// To look back at its season from the moment of the advice.
    Season,
    /// The same, under a bloom that is assumed in place of what was scouted: the name and the text of its file, and its first
    /// day.
    SeasonUnder(String, String, Option<NaiveDate>),
    /// To read its logs and its shed, which weather has no part in: it does without what cannot be read of it.
    Logs,
    /// To add to its scouting, which may have to be begun. What breaks an `always` of the rulebook is left to
    /// [`Purpose::Scouted`]: a note can correct it.
    Scouting,
    /// To see whether it can be read with its scouting file as it would stand: its name and its text.
    Scouted(String, String),
    /// To see what its spray log would say, were this its name and its text.
    Sprays(String, String),
}

impl Purpose {
    /// Returns whether a season is looked back at.
    fn is_season(&self) -> bool {
        match self {
            Purpose::Season | Purpose::SeasonUnder(..) => true,
            Purpose::Reading
            | Purpose::Logs
            | Purpose::Scouting
            | Purpose::Scouted(..)
            | Purpose::Sprays(..) => false,
        }
    }

    /// Returns whether weather that cannot be read stands in the way.
    fn needs_weather(&self) -> bool {
        match self {
            Purpose::Reading | Purpose::Season | Purpose::SeasonUnder(..) => true,
            Purpose::Logs | Purpose::Scouting | Purpose::Scouted(..) | Purpose::Sprays(..) => false,
        }
    }
}

/// Why a grove folder could not be opened.
pub enum Unopened {
    /// One thing stands in the way of everything.
    Refusal(Refusal),
    /// Findings, with the texts they speak of.
    Findings(Problems, Box<Sources>),
}

impl From<Refusal> for Unopened {
    fn from(refusal: Refusal) -> Self {
        Self::Refusal(refusal)
    }
}

/// Opens a grove: its files, its rulebook, its weather.
///
/// # Errors
/// Gives all that is wrong with what was read, or what stands in the way of reading.
pub fn open_grove(request: &GroveRequest<'_>) -> Result<OpenGrove, Unopened> {
    let GroveRequest { purpose, .. } = request;
    let mut reading = FilesReading {
        request,
        sources: Sources::default(),
        folder: PathBuf::new(),
        problems: Problems::default(),
    };
    let id = reading.outline_text()?;
    let (outline, found) = grove::outline(id, &reading.sources);
    reading.problems.extend(found);
    let Some(outline) = outline else { return Err(reading.unopened()) };
    let now = request.now.with_timezone(&outline.place.zone);
    let as_of = match request.as_of {
        None => outline.as_of.unwrap_or(now),
        Some(text) => outline.moment(text).map_err(|problem| {
            let refusal = Refusal::new(said!("--as-of: {message}", message = problem.message));
            Refusal { help: problem.help, ..refusal }
        })?,
    };
    let (book, plan, of_book) = reading.rulebook(&outline)?;
    // The other files are read even where the rulebook cannot be: a file that is missing is said in the same run.
    let texts = Texts {
        trees: outline.trees.as_ref().and_then(|file| reading.file(file)),
        scouting: match (purpose, &outline.scouting) {
            (Purpose::Scouted(name, text), _) => Some(reading.sources.add(name.as_str(), text.as_str())),
            (Purpose::SeasonUnder(..), _) => None,
            (_, Some(file)) => {
                let is_new = !request.store.exists(&reading.folder.join(&*file.path));
                (*purpose != Purpose::Scouting || !is_new).then(|| reading.file(file)).flatten()
            }
            (_, None) => None,
        },
        sprays: match (purpose, &outline.sprays) {
            (Purpose::Sprays(name, text), _) => Some(reading.sources.add(name.as_str(), text.as_str())),
            (_, Sprays::File(file)) => reading.file(file),
            (_, Sprays::Unknown | Sprays::NoneYet) => None,
        },
        bloom: match purpose {
            Purpose::SeasonUnder(name, text, first) => Some(AssumedBloom {
                source: reading.sources.add(name.as_str(), text.as_str()),
                first: *first,
            }),
            Purpose::Reading
            | Purpose::Season
            | Purpose::Logs
            | Purpose::Scouting
            | Purpose::Scouted(..)
            | Purpose::Sprays(..) => None,
        },
    };
    let (weather_text, mut of_weather) =
        reading.apart(|reading| outline.weather.as_ref().and_then(|weather| reading.file(&weather.file)));
    if purpose.needs_weather() {
        reading.problems.extend(std::mem::take(&mut of_weather));
    }
    let site = reading.site(&outline);
    let Some(plan) = plan else { return Err(reading.unopened()) };
    let unknown = if request.by.is_some() { UnknownNames::LeaveOut } else { UnknownNames::Refuse };
    let (grove, found) = grove::read(&outline, texts, &plan, as_of, unknown, &reading.sources);
    reading.problems.extend(found);
    let (mut weather, found) =
        reading.apart(|reading| weather_text.map(|id| reading.weather(id, &outline, grove.as_ref(), as_of)));
    of_weather.extend(found);
    let mut without_weather = None;
    if of_weather.any_error() && !purpose.needs_weather() {
        weather = None;
        let first = of_weather.iter().find(|problem| problem.finding.level() == Level::Error);
        without_weather = first.map(|problem| {
            let place = reading.sources.locate(problem.at).to_string();
            said!("{place}: {message}", place, message = problem.message)
        });
    } else {
        reading.problems.extend(of_weather);
    }
    match (grove, site) {
        (Some(grove), Some(site)) if !reading.problems.any_error() => {
            let joined = with_jugs(&plan, &grove.shed);
            if *purpose != Purpose::Scouting {
                reading.always(&joined, &grove, weather.as_ref(), &site, as_of);
            }
            if reading.problems.any_error() {
                return Err(reading.unopened());
            }
            let FilesReading { sources, problems: mut of_data, .. } = reading;
            of_data.sort();
            Ok(OpenGrove {
                sources,
                book,
                plan: joined,
                broken_labels: broken_labels(&plan, &grove),
                book_plan: plan,
                grove,
                weather,
                weather_source: weather_text,
                without_weather,
                site,
                as_of,
                now,
                of_book,
                of_data,
                outline,
            })
        }
        _ => Err(reading.unopened()),
    }
}

struct FilesReading<'r> {
    request: &'r GroveRequest<'r>,
    sources: Sources,
    folder: PathBuf,
    problems: Problems,
}

impl FilesReading<'_> {
    fn unopened(mut self) -> Unopened {
        self.problems.sort();
        Unopened::Findings(self.problems, Box::new(self.sources))
    }

    /// Does something and returns what it found beside what it comes to, apart from what was found before.
    fn apart<T>(&mut self, work: impl FnOnce(&mut Self) -> T) -> (T, Problems) {
        let before = std::mem::take(&mut self.problems);
        let done = work(self);
        (done, std::mem::replace(&mut self.problems, before))
    }

    /// Reads `grove.yaml`.
    fn outline_text(&mut self) -> Result<SourceId, Refusal> {
        let grove = self.request.grove;
        let named = grove.file_name().is_some_and(|name| name.to_string_lossy().ends_with(".yaml"));
        let file = if named { grove.to_owned() } else { grove.join("grove.yaml") };
        if !self.request.store.exists(&file) {
            let message = said!("there is no grove at `{grove}`", grove = grove.display());
            let help = "name a folder with a `grove.yaml` in it; `bloomward start --list` has examples to begin with";
            return Err(Refusal::new(message).help(help));
        }
        let text = self.request.store.read(&file)?;
        self.folder = file.parent().map(Path::to_owned).unwrap_or_default();
        Ok(self.sources.add(shown(&file), text))
    }

    /// Reads the rulebook; its name, its plan, and errors of meaning with which it still advises.
    fn rulebook(&mut self, outline: &Outline) -> Result<(String, Option<Plan>, Problems), Refusal> {
        let request = self.request;
        let (name, loaded, at) = match (&request.by, &outline.rulebook) {
            (Some(by), _) => {
                let loaded = open_rulebook(by.store, &by.name, by.library.as_deref(), &mut self.sources);
                (by.typed.to_owned(), loaded, None)
            }
            (None, Some(file)) => {
                let path = shown(&self.folded(&self.folder.join(&*file.path)));
                let loaded = open_rulebook(request.store, &path, request.library, &mut self.sources);
                (path, loaded, Some(file.at))
            }
            (None, None) => {
                let problem =
                    Problem::new(Finding::Input, self.beginning(outline), "the grove names no rulebook");
                self.problems.push(problem.help("write `rulebook: PATH`, or add `--by BOOK`"));
                return Ok((String::new(), None, Problems::default()));
            }
        };
        let (plan, mut found) = match (loaded, at) {
            (Ok(OpenRulebook { plan, problems }), _) => (plan, problems),
            (Err(refusal), None) => return Err(refusal),
            (Err(refusal), Some(at)) => {
                let problem = Problem::new(Finding::Input, at, refusal.message).maybe_help(refusal.help);
                self.problems.push(problem);
                return Ok((name, None, Problems::default()));
            }
        };
        let stops = |finding| {
            check::is_of_text(finding) || matches!(finding, Finding::TableOverlap | Finding::RankCircle)
        };
        let mut of_book = found.clone();
        of_book.retain(|problem| problem.finding.level() == Level::Error && !stops(problem.finding));
        found.retain(|problem| stops(problem.finding));
        let plan = plan.filter(|_| found.is_empty());
        self.problems.extend(found);
        Ok((name, plan, of_book))
    }

    /// Reads a file that `grove.yaml` names; one that cannot be read is reported where it is named.
    fn file(&mut self, file: &FileName) -> Option<SourceId> {
        let path = self.folded(&self.folder.join(&*file.path));
        match self.request.store.read(&path) {
            Ok(text) => Some(self.sources.add(shown(&path), text)),
            Err(refusal) => {
                let help = refusal.help.unwrap_or_else(|| {
                    "make the file with at least its header line, or take this line out".into()
                });
                self.problems.push(Problem::new(Finding::Input, file.at, refusal.message).help(help));
                None
            }
        }
    }

    fn site(&mut self, outline: &Outline) -> Option<Site> {
        let place = &outline.place;
        let Some((latitude, longitude)) = place.position else {
            if place.misplaced {
                return None;
            }
            let message = "the place has no latitude and longitude, so sunrise and sunset are not known";
            let problem = Problem::new(Finding::Input, self.beginning(outline), message);
            self.problems
                .push(problem.help("write `place: { latitude: 18.05, longitude: -66.50, timezone: … }`"));
            return None;
        };
        Some(Site::new(latitude, longitude, place.elevation, place.zone))
    }

    fn weather(
        &mut self,
        source: SourceId,
        outline: &Outline,
        grove: Option<&Grove>,
        as_of: DateTime<Tz>,
    ) -> Weather {
        let (no_gauge, now) = (BTreeMap::new(), as_of.with_timezone(&Utc));
        let gauge = grove.map_or(&no_gauge, |grove| &grove.gauge);
        let issued = outline.weather.as_ref().and_then(|file| file.forecast_issued);
        // A season that is looked back at has been measured, where its file does not say otherwise.
        let measured = self.request.purpose.is_season().then(|| now + ALL_MEASURED);
        let issued = issued.map(|at| at.with_timezone(&Utc)).or(measured);
        let (weather, found) = read_weather_file((source, &self.sources), outline, gauge, now, issued);
        self.problems.extend(found);
        weather
    }

    /// Holds the grove against what the rulebook says is true of every grove.
    fn always(
        &mut self,
        plan: &Plan,
        grove: &Grove,
        weather: Option<&Weather>,
        site: &Site,
        as_of: DateTime<Tz>,
    ) {
        if !plan.always.is_empty() {
            let weather_measures = WeatherMeasures::new(plan, weather, site, as_of.with_timezone(&Utc));
            self.problems.extend(broken_always(&Advisor::new(plan, grove, &weather_measures, as_of)));
        }
    }

    /// Takes `..` out of a path where the folder before it is named, so that messages are short.
    fn folded(&self, path: &Path) -> PathBuf {
        let is_link = |path: &Path| {
            let store = self.request.store;
            let real = |path: &Path| store.real(path);
            let parent = path.parent().filter(|it| !it.as_os_str().is_empty()).unwrap_or(Path::new("."));
            match (real(path), real(parent), path.file_name()) {
                (Some(real), Some(parent), Some(name)) => real != parent.join(name),
                _ => false,
            }
        };
        let mut folded = PathBuf::new();
        for part in path.components() {
            let named = folded.file_name().is_some();
            match part {
                // A folder that is a link leads elsewhere: there the step back stays.
                Component::ParentDir if named && !is_link(&folded) => {
                    folded.pop();
                }
                Component::CurDir => {}
                other => folded.push(other),
            }
        }
        folded
    }

    /// Returns the beginning of `grove.yaml`.
    fn beginning(&self, outline: &Outline) -> Span {
        Span::new(outline.source, 0, 0)
    }
}

/// Returns a path as messages print it.
fn shown(path: &Path) -> String {
    path.display().to_string()
}
