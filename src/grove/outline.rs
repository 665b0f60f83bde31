//! What `grove.yaml` says of the other files: which are needed, where the grove stands, and when it is.
//!
//! Comes in: the text of `grove.yaml`. Goes out: the names of files, the place and its time zone. Opens no file.

use super::keys::{self, Keys};
use super::moment::moment;
use super::trouble::Trouble;
use super::yaml::{self, Value, YamlNode};
use crate::phrase::said;
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::{SourceId, Sources, Span};
use crate::units::Dimension;
use chrono::DateTime;
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What must be known of a grove before its other files are opened.
#[derive(Clone, Debug)]
pub struct Outline {
    /// Which text it was read from.
    pub source: SourceId,
    /// What the grove is called.
    pub title: Arc<str>,
    /// The rulebook that it names.
    pub rulebook: Option<FileName>,
    /// In which units pages are printed.
    pub units: UnitSystem,
    /// Where it stands.
    pub place: Place,
    /// The weather file.
    pub weather: Option<WeatherFile>,
    /// The scouting file; without one nothing has been seen.
    pub scouting: Option<FileName>,
    /// The spray log.
    pub sprays: Sprays,
    /// The file of the trees; without one they stand in `grove.yaml`.
    pub trees: Option<FileName>,
    /// How weather files are read that were taken in before: their titles, and what was answered.
    pub weather_forms: Vec<KnownForm>,
    /// The moment of the advice, where the grove fixes it.
    pub as_of: Option<DateTime<Tz>>,
    /// The whole text.
    pub(super) node: YamlNode,
}

/// A file named in `grove.yaml`.
#[derive(Clone, Debug)]
pub struct FileName {
    /// The path as written, relative to the folder of `grove.yaml`.
    pub path: Arc<str>,
    /// Where it is written.
    pub at: Span,
}

/// In which units pages are printed; both are always read.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum UnitSystem {
    /// °F, miles, gallons, ounces.
    #[default]
    Us,
    /// °C, kilometres, litres, grams.
    Metric,
}

/// Where a grove stands.
#[derive(Clone, Debug)]
pub struct Place {
    /// Degrees north and degrees east; without them the sun is unknown.
    pub position: Option<(f64, f64)>,
    /// Whether they were written so that they cannot be read, which was reported.
    pub misplaced: bool,
    /// Metres above the sea; 0 where not given.
    pub elevation: f64,
    /// The time zone.
    pub zone: Tz,
}

/// A kind of weather file that was taken in before.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KnownForm {
    /// By what it is known again: its titles.
    pub titles: String,
    /// What was answered, by the word of what was asked.
    pub answers: Vec<(String, String)>,
}

/// The weather file and what its columns mean.
#[derive(Clone, Debug)]
pub struct WeatherFile {
    /// The file.
    pub file: FileName,
    /// From this moment on its hours are forecast.
    pub forecast_issued: Option<DateTime<Tz>>,
    /// Up to this moment its hours are measured, where that is later than the forecast was issued.
    pub measured_to: Option<DateTime<Tz>>,
    /// The header of a column by the series that it is, where the two differ.
    pub columns: BTreeMap<Arc<str>, Arc<str>>,
    /// How far away it was measured, in metres, and how much higher the station lies.
    pub station: Option<Station>,
}

/// Where the weather was measured.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Station {
    /// Metres from the grove.
    pub distance: Option<f64>,
    /// Metres above the sea, or above the ground, as the grove says it.
    pub height: Option<f64>,
}

/// What is known of past sprays.
#[derive(Clone, Debug)]
pub enum Sprays {
    /// The grove does not say: unknown, never empty.
    Unknown,
    /// Nothing has been sprayed.
    NoneYet,
    /// They stand in a file.
    File(FileName),
}

/// The keys of `grove.yaml` that this reader and the next one know.
pub(super) const TOP_KEYS: &[&str] = &[
    "grove",
    "rulebook",
    "units",
    "place",
    "weather",
    "weather-forms",
    "scouting",
    "sprays",
    "trees",
    "as-of",
    "harvest",
    "certified",
    "shed",
    "sprayer",
    "work",
    "blocks",
    "cultivars",
    "seen",
];

/// Reads what `grove.yaml` says of the other files; nothing where not even its time zone can be read.
pub fn outline(source: SourceId, sources: &Sources) -> (Option<Outline>, Problems) {
    let mut problems = Problems::default();
    let node = match yaml::parse(source, sources) {
        Ok(node) => node,
        Err(problem) => {
            problems.push(*problem);
            return (None, problems);
        }
    };
    if matches!(node.value, Value::Nothing) {
        problems
            .push(Problem::new(Finding::Input, node.span, "the grove file is empty").help(
                "begin with `grove:` and its name, then `rulebook:`, `place:`, `blocks:` and `trees:`",
            ));
        return (None, problems);
    }
    let Some(mut keys) = Keys::open(&node, "a grove", &mut problems) else {
        return (None, problems);
    };
    let title = keys.text("grove", &mut problems).map_or("Grove", |(title, _)| title).into();
    let rulebook = file(keys.take("rulebook"), "rulebook", &mut problems);
    let units = keys.text("units", &mut problems).map_or(UnitSystem::Us, |given| units(given, &mut problems));
    let given = keys.take("place");
    let place = given.and_then(|node| place(node, &mut problems));
    if given.is_none() {
        problems.push(
            Problem::new(Finding::Input, first_line(keys.span), "the grove does not say where it stands")
                .help("write `place: { latitude: 18.05, longitude: -66.50, timezone: America/Puerto_Rico }`"),
        );
    }
    let zone = place.as_ref().map_or(Tz::UTC, |place| place.zone);
    let weather = keys.take("weather").and_then(|node| weather(node, zone, &mut problems));
    let weather_forms = keys.take("weather-forms").map_or_else(Vec::new, |node| forms(node, &mut problems));
    let scouting = file(keys.take("scouting"), "scouting", &mut problems);
    let sprays = keys.take("sprays").map_or(Sprays::Unknown, |node| sprays(node, &mut problems));
    let trees = keys.take("trees").filter(|node| matches!(node.value, Value::Text(_)));
    let trees = file(trees, "trees", &mut problems);
    let as_of = keys.text("as-of", &mut problems).and_then(|(text, span)| match moment(text, zone) {
        Ok(moment) => Some(moment),
        Err(trouble) => {
            problems.push(trouble.at(span));
            None
        }
    });
    let Some(place) = place else { return (None, problems) };
    let outline = Outline {
        source,
        title,
        rulebook,
        units,
        place,
        weather,
        weather_forms,
        scouting,
        sprays,
        trees,
        as_of,
        node,
    };
    (Some(outline), problems)
}

impl Outline {
    /// Reads a moment as `as-of` takes it: local to the grove, or with an offset.
    pub fn moment(&self, text: &str) -> Result<DateTime<Tz>, Problem> {
        moment(text, self.place.zone).map_err(|trouble| trouble.at(first_line(self.node.span)))
    }
}

/// Returns the beginning of a span, for what is said of a whole file.
pub(super) fn first_line(span: Span) -> Span {
    Span { end: span.start, ..span }
}

fn file(node: Option<&YamlNode>, key: &'static str, problems: &mut Problems) -> Option<FileName> {
    let node = node?;
    let path = keys::text(node, key, problems)?;
    Some(FileName { path: path.into(), at: node.span })
}

fn units((given, span): (&str, Span), problems: &mut Problems) -> UnitSystem {
    match given {
        "us" => UnitSystem::Us,
        "metric" => UnitSystem::Metric,
        other => {
            let problem = Problem::new(Finding::Input, span, said!("`{other}` is no system of units", other));
            problems.push(problem.help("write `us` or `metric`"));
            UnitSystem::Us
        }
    }
}

fn place(node: &YamlNode, problems: &mut Problems) -> Option<Place> {
    let mut keys = Keys::open(node, "the place", problems)?;
    let degrees = |keys: &mut Keys, key: &'static str, most: f64, problems: &mut Problems| {
        let (text, span) = keys.text(key, problems)?;
        let number = text.parse::<f64>().ok().filter(|number| number.abs() <= most);
        if number.is_none() {
            let message = said!("`{text}` is not a {key}", text, key);
            let help = said!("write degrees from -{most} to {most}, north and east positive: `18.05`", most);
            problems.push(Problem::new(Finding::Input, span, message).help(help));
        }
        number.map(|number| (number, span))
    };
    let before = problems.len();
    let latitude = degrees(&mut keys, "latitude", 90.0, problems);
    let longitude = degrees(&mut keys, "longitude", 180.0, problems);
    let misplaced = problems.len() > before;
    let elevation = elevation(&mut keys, problems);
    let zone = keys.text("timezone", problems);
    let span = keys.span;
    keys.refuse_rest(problems);
    let Some((zone, at)) = zone else {
        let problem = Problem::new(Finding::Input, first_line(span), "the place has no `timezone`");
        problems.push(problem.help("write the name of its time zone: `timezone: America/Puerto_Rico`"));
        return None;
    };
    let Ok(zone) = zone.parse::<Tz>() else {
        let near = nearest(zone, chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name()));
        let help = match near {
            Some(near) => said!("did you mean `{near}`?", near),
            None => "write a name such as `America/Puerto_Rico` or `Asia/Kolkata`".into(),
        };
        problems
            .push(Problem::new(Finding::Input, at, said!("`{zone}` is not a time zone", zone)).help(help));
        return None;
    };
    let position = latitude.zip(longitude).map(|((latitude, _), (longitude, _))| (latitude, longitude));
    let trouble = position.and_then(|position| super::zone_of_place::misplaced(position, zone));
    if let (Some(trouble), Some((_, span))) = (trouble, longitude) {
        problems.push(trouble.at(span));
    }
    let elevation = elevation.unwrap_or(0.0);
    Some(Place { position, misplaced, elevation, zone })
}

/// Reads metres above the sea, which may be negative.
fn elevation(keys: &mut Keys, problems: &mut Problems) -> Option<f64> {
    let (text, span) = keys.text("elevation", problems)?;
    let (below, positive) = text.strip_prefix('-').map_or((1.0, text), |rest| (-1.0, rest));
    match keys::quantity(positive, Dimension::LENGTH) {
        Ok(millimetres) if millimetres <= 9e6 => Some(below * millimetres / 1e3),
        Ok(_) => {
            problems.push(Trouble::new(said!("no grove stands at an elevation of `{text}`", text)).at(span));
            None
        }
        Err(trouble) => {
            problems.push(trouble.at(span));
            None
        }
    }
}

fn weather(node: &YamlNode, zone: Tz, problems: &mut Problems) -> Option<WeatherFile> {
    if matches!(node.value, Value::Text(_)) {
        let file = file(Some(node), "weather", problems)?;
        return Some(WeatherFile {
            file,
            forecast_issued: None,
            measured_to: None,
            columns: BTreeMap::new(),
            station: None,
        });
    }
    let mut keys = Keys::open(node, "the weather", problems)?;
    let named = file(keys.take("file"), "file", problems);
    let mut at = |key: &'static str, problems: &mut Problems| {
        let (text, span) = keys.text(key, problems)?;
        moment(text, zone).map_err(|trouble| problems.push(trouble.at(span))).ok()
    };
    let forecast_issued = at("forecast-issued", problems);
    let measured_to = at("measured-to", problems);
    let columns = keys.take("columns").map_or_else(BTreeMap::new, |node| columns(node, problems));
    let station = keys.take("station").and_then(|node| station(node, problems));
    let span = keys.span;
    keys.refuse_rest(problems);
    let Some(file) = named else {
        let problem = Problem::new(Finding::Input, first_line(span), "the weather names no `file`");
        problems.push(problem.help("write `weather: { file: weather.csv }`"));
        return None;
    };
    Some(WeatherFile { file, forecast_issued, measured_to, columns, station })
}

/// The series that a weather file may have, and the column of the hour.
const WEATHER_COLUMNS: &[&str] =
    &["time", "temperature", "humidity", "dew-point", "rain", "wind", "gust", "leaf-wet"];

fn columns(node: &YamlNode, problems: &mut Problems) -> BTreeMap<Arc<str>, Arc<str>> {
    let mut mapped = BTreeMap::new();
    let Some(keys) = Keys::open(node, "the columns of the weather", problems) else { return mapped };
    for (key, value) in keys.rest() {
        let Some(header) = keys::text(value, &key.text, problems) else { continue };
        if WEATHER_COLUMNS.contains(&key.text.as_str()) {
            mapped.insert(Arc::from(key.text.as_str()), Arc::from(header));
        } else if WEATHER_COLUMNS.contains(&header) {
            mapped.insert(Arc::from(header), Arc::from(key.text.as_str()));
        } else {
            problems.push(keys::unknown_key(
                key,
                "the columns of the weather",
                WEATHER_COLUMNS.iter().copied(),
            ));
        }
    }
    mapped
}

/// Reads how weather files are read, one of a kind after the other; what the answers may be is known where they are used.
fn forms(node: &YamlNode, problems: &mut Problems) -> Vec<KnownForm> {
    let Value::List(nodes) = &node.value else {
        let problem = Problem::new(Finding::Input, node.span, "`weather-forms` needs a list");
        problems.push(problem.help("write one `- { titles: …, dates: day-first }` on each line"));
        return Vec::new();
    };
    let mut known = Vec::new();
    for node in nodes {
        let Some(mut keys) = Keys::open(node, "a form of weather files", problems) else { continue };
        let Some((titles, _)) = keys.text("titles", problems) else {
            let problem = Problem::new(Finding::Input, node.span, "a form of weather files has no `titles`");
            problems.push(problem.help("write the titles of its columns, parted by `; `"));
            continue;
        };
        let titles = titles.to_string();
        let text = |(key, value): (&yaml::Key, &YamlNode)| {
            keys::text(value, &key.text, problems).map(|text| (key.text.clone(), text.to_string()))
        };
        known.push(KnownForm { titles, answers: keys.rest().into_iter().filter_map(text).collect() });
    }
    known
}

fn station(node: &YamlNode, problems: &mut Problems) -> Option<Station> {
    let mut keys = Keys::open(node, "the station", problems)?;
    let distance = keys.quantity("distance", Dimension::LENGTH, problems).map(|length| length / 1e3);
    let height = keys.quantity("height", Dimension::LENGTH, problems).map(|length| length / 1e3);
    keys.refuse_rest(problems);
    Some(Station { distance, height })
}

fn sprays(node: &YamlNode, problems: &mut Problems) -> Sprays {
    match keys::text(node, "sprays", problems) {
        Some("none yet" | "none-yet") => Sprays::NoneYet,
        Some("none" | "no" | "None yet") => {
            let problem =
                Problem::new(Finding::Input, node.span, "it is not clear whether anything was sprayed");
            problems
                .push(problem.help("write `none yet` if nothing was, or the name of the file: `sprays.csv`"));
            Sprays::Unknown
        }
        Some(path) => Sprays::File(FileName { path: path.into(), at: node.span }),
        None => Sprays::Unknown,
    }
}
