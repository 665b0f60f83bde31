//! Groves of the examples and of tests, advised, for tests that look at what is printed.

use super::case::Case;
use bloomward::advice::{Advice, Advisor, with_jugs};
use bloomward::check;
use bloomward::explain::{Scene, Speech};
use bloomward::grove::{self, Grove, Outline, UnitSystem};
use bloomward::measure::Sky;
use bloomward::report::{GroveGround, GroveTrees};
use bloomward::source::{SourceId, Sources};
use bloomward::weather::{self, Site};
use chrono::Utc;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// A grove with all that was made of it.
pub struct Shown<'a> {
    pub scene: Scene<'a>,
    pub ground: GroveGround<'a>,
    pub advice: &'a Advice,
    pub grove: &'a Grove,
    pub advisor: &'a Advisor<'a>,
    pub weather: Option<&'a weather::Weather>,
}

/// Advises the grove of a folder below the top of the project, and calls a function with it.
pub fn with_grove<T>(folder: &str, then: impl FnOnce(Shown<'_>) -> T) -> T {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read =
        |path: &str| fs::read_to_string(top.join(path)).unwrap_or_else(|error| panic!("{path}: {error}"));
    let mut sources = Sources::default();
    let yaml = sources.add("grove.yaml", read(&format!("{folder}/grove.yaml")));
    let (outline, problems) = grove::outline(yaml, &sources);
    let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let book = outline.rulebook.clone().unwrap().path.trim_start_matches("../").to_string();
    let text = |name: &str| Some(read(&if name == book { book.clone() } else { format!("{folder}/{name}") }));
    with_texts(sources, &outline, &book, &text, &|base| fs::read_to_string(top.join(base)).ok(), then)
}

/// Advises the grove of a test, and calls a function with it.
pub fn with_case<T>(case: &Case, then: impl FnOnce(Shown<'_>) -> T) -> T {
    let mut sources = Sources::default();
    let yaml = sources.add("grove.yaml", case.grove.as_str());
    let (outline, problems) = grove::outline(yaml, &sources);
    let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let text = |name: &str| match name {
        "weather.csv" => case.weather.clone(),
        "scouting.csv" => case.scouting.clone(),
        "sprays.csv" => case.sprays.clone(),
        _ => Some(case.book.clone()),
    };
    with_texts(sources, &outline, "test.rulebook", &text, &|_| None, then)
}

fn with_texts<T>(
    mut sources: Sources,
    outline: &Outline,
    book: &str,
    text: &dyn Fn(&str) -> Option<String>,
    base: &dyn Fn(&str) -> Option<String>,
    then: impl FnOnce(Shown<'_>) -> T,
) -> T {
    let mut add = |name: &str| -> SourceId { sources.add(name, text(name).unwrap()) };
    let book = add(book);
    let texts = grove::Texts {
        trees: outline.trees.as_ref().map(|file| add(&file.path)),
        scouting: outline.scouting.as_ref().map(|file| add(&file.path)),
        sprays: match &outline.sprays {
            grove::Sprays::File(file) => Some(add(&file.path)),
            grove::Sprays::NoneYet | grove::Sprays::Unknown => None,
        },
    };
    let weather_file = outline.weather.as_ref().map(|file| (file, add(&file.file.path)));
    let mut read = |path: &str| base(path).ok_or_else(|| "there is no such base".to_string());
    let (plan, problems) = check::load(book, &mut sources, Some("rulebooks"), &mut read);
    let plan = plan.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let as_of = outline.as_of.unwrap();
    let (grove, problems) = grove::read(outline, texts, &plan, as_of, grove::UnknownNames::Refuse, &sources);
    let grove =
        grove.filter(|_| !problems.any_error()).unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let weather = weather_file.map(|(file, source)| {
        let columns: BTreeMap<String, String> =
            file.columns.iter().map(|(word, header)| (word.to_string(), header.to_string())).collect();
        let gauge = grove.gauge.iter().map(|(day, it)| (*day, it.0)).collect();
        let (weather, _) = weather::read(&weather::WeatherFile {
            text: &sources.get(source).unwrap().text,
            source,
            columns: &columns,
            zone: outline.place.zone,
            as_of: as_of.with_timezone(&Utc),
            forecast_issued: file.forecast_issued.map(|issued| issued.with_timezone(&Utc)),
            gauge: &gauge,
        });
        weather
    });
    let (latitude, longitude) = outline.place.position.unwrap();
    let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
    let plan = with_jugs(&plan, &grove);
    let sky = Sky::new(&plan, weather.as_ref(), &site, as_of.with_timezone(&Utc));
    let advisor = Advisor::new(&plan, &grove, &sky, as_of);
    let advice = advisor.advise();
    let ground =
        GroveGround { trees: GroveTrees { plan: &plan, grove: &grove }, sky: &sky, advisor: &advisor };
    let scene = Scene {
        plan: &plan,
        rules: advisor.rules(),
        inputs: advisor.inputs(),
        sources: &sources,
        origins: &ground,
        speech: match grove.units {
            UnitSystem::Us => Speech::Us,
            UnitSystem::Metric => Speech::Metric,
        },
        today: as_of.date_naive(),
    };
    let weather = weather.as_ref();
    then(Shown { scene, ground, advice: &advice, grove: &grove, advisor: &advisor, weather })
}
