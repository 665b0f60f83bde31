//! Groves of the examples and of tests, advised, for tests that look at what is printed.

use super::case::{Case, OverProject, open_at};
use bloomward::advice::{Advice, Advisor};
use bloomward::grove::{Grove, UnitSystem};
use bloomward::report::{GroveGround, GroveTrees};
use bloomward::weather;
use bloomward::words::{Language, Scene, Speech};
use bloomward::workspace::{MemoryStore, OpenGrove, Unopened};

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
    with_opened(open_at(&OverProject { files: MemoryStore::default(), below: "" }, folder), then)
}

/// Advises the grove of a test, and calls a function with it.
pub fn with_case<T>(case: &Case, then: impl FnOnce(Shown<'_>) -> T) -> T {
    with_opened(case.open(), then)
}

fn with_opened<T>(opened: Result<OpenGrove, Unopened>, then: impl FnOnce(Shown<'_>) -> T) -> T {
    let read = match opened {
        Ok(read) => read,
        Err(Unopened::Refusal(refusal)) => panic!("{}", refusal.message),
        Err(Unopened::Findings(problems, sources)) => panic!("{}", problems.plain(&sources)),
    };
    let OpenGrove { plan, grove, sources, weather, as_of, .. } = &read;
    let weather_measures = read.weather_measures();
    let advisor = read.advisor(&weather_measures);
    let advice = advisor.advise();
    let ground = GroveGround {
        trees: GroveTrees { plan, grove },
        weather_measures: &weather_measures,
        advisor: &advisor,
    };
    let scene = Scene {
        plan,
        rules: advisor.rules(),
        inputs: advisor.inputs(),
        sources,
        origins: &ground,
        language: Language::English,
        speech: match grove.units {
            UnitSystem::Us => Speech::Us,
            UnitSystem::Metric => Speech::Metric,
        },
        today: as_of.date_naive(),
    };
    then(Shown { scene, ground, advice: &advice, grove, advisor: &advisor, weather: weather.as_ref() })
}
