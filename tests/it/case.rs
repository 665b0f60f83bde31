//! A grove and a rulebook written into a test, advised: what comes out is the JSON of `advise`.

use bloomward::advice::keys_without_rows;
use bloomward::problems::Refusal;
use bloomward::report::{GroveGround, GroveTrees, Heading, write_advice};
use bloomward::words::{Language, Scene, Speech};
use bloomward::workspace::{GroveRequest, MemoryStore, OpenGrove, Purpose, Store, Unopened, open_grove};
use chrono::Utc;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;

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

/// Files in memory over those of a folder of the project.
pub struct OverProject {
    pub files: MemoryStore,
    pub below: &'static str,
}

impl Store for OverProject {
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        self.files.read(path).or_else(|refusal| {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(self.below).join(path);
            std::fs::read_to_string(path).map_err(|_| refusal)
        })
    }

    fn exists(&self, path: &Path) -> bool {
        self.files.exists(path) || Path::new(env!("CARGO_MANIFEST_DIR")).join(self.below).join(path).exists()
    }
}

/// Opens the grove of a store at its own moment.
pub fn open_at(store: &dyn Store, grove: &str) -> Result<OpenGrove, Unopened> {
    open_grove(&GroveRequest {
        store,
        grove: Path::new(grove),
        by: None,
        library: Some("rulebooks"),
        as_of: None,
        now: Utc::now(),
        purpose: Purpose::Reading,
    })
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

    /// Returns its files: the rulebook, the grove's, and the rulebooks of the project as bases.
    pub fn store(&self) -> impl Store + use<> {
        let files = [
            ("test.rulebook", Some(&self.book)),
            ("grove.yaml", Some(&self.grove)),
            ("weather.csv", self.weather.as_ref()),
            ("scouting.csv", self.scouting.as_ref()),
            ("sprays.csv", self.sprays.as_ref()),
        ];
        let add = |store: MemoryStore, (name, text): (&str, Option<&String>)| match text {
            Some(text) => store.with(name, text),
            None => store,
        };
        OverProject { files: files.into_iter().fold(MemoryStore::default(), add), below: "rulebooks" }
    }

    /// Opens its grove.
    pub fn open(&self) -> Result<OpenGrove, Unopened> {
        open_at(&self.store(), "grove.yaml")
    }

    /// Advises, or returns what is wrong with rulebook or grove.
    pub fn try_advise(&self) -> Result<Value, String> {
        let read = match self.open() {
            Ok(read) => read,
            Err(Unopened::Refusal(refusal)) => return Err(refusal.message.into()),
            Err(Unopened::Findings(problems, sources)) => return Err(problems.plain(&sources)),
        };
        let OpenGrove { plan, grove, sources, as_of, of_book, .. } = &read;
        if of_book.any_error() {
            return Err(of_book.plain(sources));
        }
        let (weather_measures, as_of) = (read.weather_measures(), *as_of);
        let advisor = read.advisor(&weather_measures).looking_ahead();
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
            speech: Speech::AsWritten,
            today: as_of.date_naive(),
        };
        let of_data = scene.words().with_broken_labels(&read.of_data, &read.broken_labels);
        let mut notes: Vec<String> =
            of_data.iter().map(|note| format!("{}: {}", sources.locate(note.at), note.message)).collect();
        let keys = keys_without_rows(&advisor, &(0..grove.trees.len()).collect::<Vec<_>>());
        let mut keys: Vec<String> =
            keys.iter().map(|key| scene.words().without_row(key, |tree| grove.trees.name(tree))).collect();
        keys.sort();
        notes.extend(keys);
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
        let trees: Vec<usize> = (0..grove.trees.len()).collect();
        write_advice(&mut out, (&scene, &ground), &heading, &trees, None)
            .map_err(|error| error.to_string())?;
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
