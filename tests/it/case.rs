//! A grove and a rulebook written into a test, advised: what comes out is the JSON of `advise`.

use bloomward::advice::{Advisor, broken_always, broken_labels, keys_without_rows, with_jugs};
use bloomward::check;
use bloomward::explain::{Scene, Speech};
use bloomward::grove::{self, Sprays, Texts, UnknownNames};
use bloomward::measure::Sky;
use bloomward::report::{GroveGround, GroveTrees, Heading, Writer};
use bloomward::source::Sources;
use bloomward::weather::{self, Site};
use chrono::Utc;
use serde_json::Value;
use std::collections::BTreeMap;

/// A rulebook with a grove.
#[derive(Clone, Default)]
pub struct Case {
    pub book: String,
    pub grove: String,
    pub weather: Option<String>,
    pub scouting: Option<String>,
    pub sprays: Option<String>,
}

const HEAD: &str = "rulebook \"Test\"\n  caution \"For tests only.\"\n\nsource own \"made for tests\"\n\n";

const GROVE: &str = "grove: Test grove\nrulebook: test.rulebook\n\
    place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }\n\
    as-of: 2027-02-11T05:30\n";

/// Makes a case of the items of a rulebook, after a head, and the keys of a grove, after its place and moment.
pub fn case(items: &str, keys: &str) -> Case {
    Case { book: format!("{HEAD}{items}"), grove: format!("{GROVE}{keys}"), ..Case::default() }
}

/// Returns a longitude that goes with a time zone: that at which its standard time is the sun's.
pub fn longitude_of(zone: &str) -> f64 {
    let zone: chrono_tz::Tz = zone.parse().expect("a time zone");
    let moment = chrono::DateTime::from_timestamp(1_798_761_600, 0).expect("a moment of 2027").naive_utc();
    let standard = chrono::TimeZone::offset_from_utc_datetime(&zone, &moment);
    let east = chrono_tz::OffsetComponents::base_utc_offset(&standard).num_minutes() as f64 / 4.0;
    if east > 180.0 { east - 360.0 } else { east }
}

/// Makes a case of a rulebook of the project with further items, for one tree at a place and a moment.
pub fn case_of_book(path: &str, items: &str, zone: &str, as_of: &str, keys: &str) -> Case {
    let book =
        std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).expect("the rulebook");
    let longitude = longitude_of(zone);
    let grove = format!(
        "grove: Test grove\nrulebook: test.rulebook\n\
         place: {{ latitude: 40.0, longitude: {longitude:.1}, elevation: 0 m, timezone: {zone} }}\nas-of: {as_of}\n{keys}"
    );
    Case { book: format!("{book}\n{items}"), grove, ..Case::default() }
}

/// Returns the rows of a table of `tests/reference`, each value by its column.
pub fn reference(path: &str) -> Vec<BTreeMap<String, String>> {
    let text = std::fs::read_to_string(format!("{}/tests/reference/{path}", env!("CARGO_MANIFEST_DIR")));
    let text = text.unwrap_or_else(|error| panic!("{path}: {error}"));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().map(|row| row.expect("a row")).collect();
    assert!(!rows.is_empty(), "{path} has no rows");
    rows
}

/// Returns a number of a reference row; nothing where the cell is empty.
#[track_caller]
pub fn number(row: &BTreeMap<String, String>, column: &str) -> Option<f64> {
    let cell = row.get(column).unwrap_or_else(|| panic!("no column {column}"));
    (!cell.is_empty()).then(|| cell.parse().unwrap_or_else(|_| panic!("{column}: {cell}")))
}

/// Returns a value of a tree or of the whole grove.
#[track_caller]
pub fn value<'v>(advice: &'v Value, name: &str) -> &'v Value {
    let own = &advice["trees"][0]["values"][name];
    if own.is_null() { &advice["values"][name] } else { own }
}

impl Case {
    /// Gives it weather that is all measured.
    pub fn measured(mut self, csv: impl Into<String>) -> Self {
        self.grove += "weather: { file: weather.csv }\n";
        self.weather = Some(csv.into());
        self
    }

    /// Gives it weather; hours after `issued` are forecast.
    pub fn weather(mut self, csv: impl Into<String>, issued: &str) -> Self {
        self.grove += &format!("weather: {{ file: weather.csv, forecast-issued: {issued} }}\n");
        self.weather = Some(csv.into());
        self
    }

    /// Gives it scouting.
    pub fn scouting(mut self, csv: impl Into<String>) -> Self {
        self.grove += "scouting: scouting.csv\n";
        self.scouting = Some(csv.into());
        self
    }

    /// Gives it a spray log.
    pub fn sprays(mut self, csv: impl Into<String>) -> Self {
        self.grove += "sprays: sprays.csv\n";
        self.sprays = Some(csv.into());
        self
    }

    /// Advises, and returns the JSON of `advise`.
    #[track_caller]
    pub fn advise(&self) -> Value {
        match self.try_advise() {
            Ok(json) => json,
            Err(problems) => panic!("{problems}"),
        }
    }

    /// Advises, or returns what is wrong with rulebook or grove.
    pub fn try_advise(&self) -> Result<Value, String> {
        let mut sources = Sources::default();
        let book = sources.add("test.rulebook", self.book.as_str());
        let mut base = |path: &str| {
            let path = format!("{}/rulebooks/{path}", env!("CARGO_MANIFEST_DIR"));
            std::fs::read_to_string(&path).map_err(|error| format!("{path}: {error}"))
        };
        let (plan, problems) = check::load(book, &mut sources, None, &mut base);
        let plan = plan.filter(|_| !problems.any_error()).ok_or_else(|| problems.plain(&sources))?;
        let yaml = sources.add("grove.yaml", self.grove.as_str());
        let (outline, mut problems) = grove::outline(yaml, &sources);
        let outline = outline.ok_or_else(|| problems.plain(&sources))?;
        let as_of = outline.as_of.ok_or("the test grove has no as-of")?;
        let mut text =
            |name: &str, text: &Option<String>| text.as_ref().map(|it| sources.add(name, it.as_str()));
        let texts = Texts {
            trees: None,
            scouting: text("scouting.csv", &self.scouting),
            sprays: text("sprays.csv", &self.sprays).filter(|_| matches!(outline.sprays, Sprays::File(_))),
        };
        let weather = text("weather.csv", &self.weather);
        let (grove, found) = grove::read(&outline, texts, &plan, as_of, UnknownNames::Refuse, &sources);
        problems.extend(found);
        let gauge = grove.as_ref().map(|grove| grove.gauge.iter().map(|(day, it)| (*day, it.0)).collect());
        let weather = weather.map(|source| {
            let (weather, found) = weather::read(&weather::WeatherFile {
                text: sources.get(source).map_or("", |it| &it.text),
                source,
                columns: &BTreeMap::new(),
                zone: outline.place.zone,
                as_of: as_of.with_timezone(&Utc),
                forecast_issued: outline
                    .weather
                    .as_ref()
                    .and_then(|it| it.forecast_issued)
                    .map(|it| it.to_utc()),
                gauge: &gauge.unwrap_or_default(),
            });
            problems.extend(found);
            weather
        });
        let grove = grove.filter(|_| !problems.any_error()).ok_or_else(|| problems.plain(&sources))?;
        let (latitude, longitude) = outline.place.position.ok_or("the test grove has no position")?;
        let site = Site::new(latitude, longitude, outline.place.elevation, outline.place.zone);
        let plan = with_jugs(&plan, &grove);
        let sky = Sky::new(&plan, weather.as_ref(), &site, as_of.with_timezone(&Utc));
        let advisor = Advisor::new(&plan, &grove, &sky, as_of).looking_ahead();
        let broken = broken_always(&advisor);
        if broken.any_error() {
            return Err(broken.plain(&sources));
        }
        problems.extend(broken_labels(&plan, &grove));
        let advice = advisor.advise();
        let ground =
            GroveGround { trees: GroveTrees { plan: &plan, grove: &grove }, sky: &sky, advisor: &advisor };
        let scene = Scene {
            plan: &plan,
            rules: advisor.rules(),
            inputs: advisor.inputs(),
            sources: &sources,
            origins: &ground,
            speech: Speech::AsWritten,
            today: as_of.date_naive(),
        };
        problems.sort();
        let mut notes: Vec<String> =
            problems.iter().map(|note| format!("{}: {}", sources.locate(note.at), note.message)).collect();
        notes.extend(keys_without_rows(&advisor, &(0..grove.trees.len()).collect::<Vec<_>>()));
        let heading = Heading {
            file: "test.rulebook",
            in_force: true,
            grove: &grove.title,
            as_of,
            values: &advice.grove_values,
            weather_measured_to: None,
            forecast_issued: None,
            notes: &notes,
        };
        let mut out = Vec::new();
        let io = |error: std::io::Error| error.to_string();
        let mut writer = Writer::new(&mut out, &scene, &ground, &heading).map_err(io)?;
        for (tree, advised) in advice.trees.iter().enumerate() {
            let case = advice.case_of(advised).ok_or("a tree without a case")?;
            writer.tree(tree, advised, case, &advisor.gauge(tree)).map_err(io)?;
        }
        writer
            .finish(|case| advice.cases.get(case), None, &|out, _, _| out.extend_from_slice(b"null"))
            .map_err(io)?;
        serde_json::from_slice(&out).map_err(|error| format!("{error}: {}", String::from_utf8_lossy(&out)))
    }
}

/// Returns a tree of an advice.
#[track_caller]
pub fn tree<'v>(advice: &'v Value, name: &str) -> &'v Value {
    let trees = advice["trees"].as_array().expect("trees");
    trees.iter().find(|tree| tree["tree"] == name).expect("the tree")
}

/// Says a tree's verdict in a word or three: `spray copper at reduced`, `hold`.
#[track_caller]
pub fn verdict(advice: &Value, name: &str) -> String {
    let tree = tree(advice, name);
    let word = tree["verdict"].as_str().expect("a verdict");
    if word != "spray" {
        return word.to_string();
    }
    let doses = tree["spray"].as_array().expect("a spray").iter();
    let doses: Vec<String> = doses
        .map(|dose| {
            format!("{} at {}", dose["product"].as_str().unwrap(), dose["strength"].as_str().unwrap())
        })
        .collect();
    format!("spray {}", doses.join(" with "))
}
