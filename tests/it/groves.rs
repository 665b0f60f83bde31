//! Groves of the examples, advised, for tests that look at what is printed.

use bloomward::advice::{Advice, Advisor, with_jugs};
use bloomward::check;
use bloomward::explain::{Scene, Speech};
use bloomward::grove::{self, Grove, UnitSystem};
use bloomward::measure::Sky;
use bloomward::report::{GroveGround, GroveTrees};
use bloomward::source::Sources;
use bloomward::weather::{self, Site};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A grove with all that was made of it.
pub struct Shown<'a> {
    pub scene: Scene<'a>,
    pub ground: GroveGround<'a>,
    pub advice: &'a Advice,
    pub grove: &'a Grove,
    pub weather: Option<&'a weather::Weather>,
}

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Advises the grove of a folder below the top of the project, and calls a function with it.
pub fn with_grove<T>(folder: &str, then: impl FnOnce(Shown<'_>) -> T) -> T {
    let mut sources = Sources::default();
    let folder_path = PathBuf::from(folder);
    let text = |path: &Path| {
        fs::read_to_string(top().join(path)).unwrap_or_else(|error| panic!("{path:?}: {error}"))
    };
    let yaml = folder_path.join("grove.yaml");
    let outline_source = sources.add(yaml.display().to_string(), text(&yaml));
    let (outline, problems) = grove::outline(outline_source, &sources);
    let outline = outline.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let add = |name: &str, sources: &mut Sources| {
        let path = folder_path.join(name);
        sources.add(name, text(&path))
    };
    let book = outline.rulebook.clone().unwrap().path.trim_start_matches("../../").to_string();
    let book_source = sources.add(book.clone(), text(Path::new(&book)));
    let mut read = |path: &str| fs::read_to_string(top().join(path)).map_err(|error| error.to_string());
    let (plan, problems) = check::load(book_source, &mut sources, Some("rulebooks"), &mut read);
    let plan = plan.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let texts = grove::Texts {
        trees: outline.trees.as_ref().map(|file| add(&file.path, &mut sources)),
        scouting: outline.scouting.as_ref().map(|file| add(&file.path, &mut sources)),
        sprays: match &outline.sprays {
            grove::Sprays::File(file) => Some(add(&file.path, &mut sources)),
            grove::Sprays::NoneYet | grove::Sprays::Unknown => None,
        },
    };
    let as_of: DateTime<Tz> = outline.as_of.unwrap();
    let (grove, problems) = grove::read(&outline, texts, &plan, as_of, grove::UnknownNames::Refuse, &sources);
    let grove = grove.unwrap_or_else(|| panic!("{}", problems.plain(&sources)));
    let weather = outline.weather.as_ref().map(|file| {
        let source = add(&file.file.path, &mut sources);
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
    let speech = match grove.units {
        UnitSystem::Us => Speech::Us,
        UnitSystem::Metric => Speech::Metric,
    };
    let scene = Scene {
        plan: &plan,
        rules: advisor.rules(),
        inputs: advisor.inputs(),
        sources: &sources,
        origins: &ground,
        speech,
        today: as_of.date_naive(),
    };
    then(Shown { scene, ground, advice: &advice, grove: &grove, weather: weather.as_ref() })
}
