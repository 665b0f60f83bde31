//! Groves: what is read, and what is said of what cannot be read.

use super::cli::{folder, ran};
use bloomward::grove::{self, Grove, Texts, UnknownNames};
use bloomward::plan::Plan;
use bloomward::problems::Problems;
use bloomward::source::Sources;
use chrono::{DateTime, TimeZone};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

/// A grove read from texts, with everything that was said of them.
pub struct Read {
    pub grove: Option<Grove>,
    pub plan: Plan,
    pub problems: Problems,
    pub sources: Sources,
}

impl Read {
    /// The grove, which must have been read without an error.
    #[track_caller]
    pub fn whole(&self) -> &Grove {
        assert!(!self.problems.any_error(), "{}", self.problems.plain(&self.sources));
        self.grove.as_ref().expect("a grove")
    }
}

/// The rulebook of these tests, read once.
static BOOK: LazyLock<(String, Plan)> = LazyLock::new(|| {
    let text = std::fs::read_to_string("tests/fixtures/grove/book.rulebook").unwrap();
    let mut sources = Sources::default();
    let id = sources.add("book.rulebook", text.as_str());
    let (plan, problems) = bloomward::check::load(id, &mut sources, None, &mut |path| Err(path.to_string()));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    (text, plan.expect("a plan"))
});

/// Adds the rulebook of these tests to sources, of which it must be the first.
pub fn book(sources: &mut Sources) -> Plan {
    sources.add("book.rulebook", BOOK.0.as_str());
    BOOK.1.clone()
}

/// Reads a grove from its files by their names.
pub fn read_at(files: &BTreeMap<&str, &str>, as_of: Option<DateTime<Tz>>, unknown: UnknownNames) -> Read {
    let mut sources = Sources::default();
    let plan = book(&mut sources);
    let yaml = sources.add("grove.yaml", files.get("grove.yaml").copied().unwrap_or(GROVE));
    let (outline, mut problems) = grove::outline(yaml, &sources);
    let Some(outline) = outline else { return Read { grove: None, plan, problems, sources } };
    let mut add = |name: &str| files.get(name).map(|text| sources.add(name, *text));
    let texts = Texts {
        trees: add("trees.csv"),
        scouting: add("scouting.csv"),
        sprays: add("sprays.csv"),
        bloom: None,
    };
    let usual = outline.place.zone.with_ymd_and_hms(2027, 2, 11, 5, 30, 0).unwrap();
    let as_of = as_of.or(outline.as_of).unwrap_or(usual);
    let (grove, more) = grove::read(&outline, texts, &plan, as_of, unknown, &sources);
    problems.extend(more);
    problems.sort();
    Read { grove, plan, problems, sources }
}

/// Reads a grove at the usual moment for the rulebook that it names.
pub fn read(files: &[(&str, &str)]) -> Read {
    read_at(&files.iter().copied().collect(), None, UnknownNames::Refuse)
}

/// A grove of five trees in two blocks.
pub const GROVE: &str = "\
grove: Test grove
place: { latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }
scouting: scouting.csv
sprays: sprays.csv
harvest: 2027-06-20
shed:
  copper: { name: basic copper powder, registration: demo-0001, form: powder, contains: { copper: 50 % }, re-entry: 48 h }
  oil: { name: spray oil, registration: demo-0003, form: liquid }
sprayer: { kind: handgun, tank: 25 gal, per-tree: 1.5 gal, pace: 25 gal / h }
blocks:
  - { block: terrace, spacing: 24 ft x 20 ft, canopy: { height: 14 ft, spread: 12 ft, density: 0.7 gal / 1000 ft³ } }
  - { block: hollow, spacing: 6 m x 5 m }
trees:
  - { tree: A01, block: terrace, cultivar: Kent, at: [0, 0] }
  - { tree: A02, block: terrace, cultivar: Tommy Atkins, at: [6, 0] }
  - { tree: A03, block: terrace, cultivar: Kent, at: [12, 0] }
  - { tree: B01, block: hollow, cultivar: Kent }
  - { tree: B02, block: hollow, cultivar: Haden }
";

/// Takes a fixture apart: `==> NAME` begins a file.
fn files(text: &str) -> BTreeMap<&str, &str> {
    let mut files = BTreeMap::new();
    for part in text.split("==> ").skip(1) {
        let (name, body) = part.split_once('\n').unwrap_or((part, ""));
        files.insert(name.trim(), body);
    }
    files
}

/// Reads a grove from a file of the fixtures.
pub fn read_fixture(path: &Path) -> Read {
    let text = std::fs::read_to_string(path).unwrap();
    let unknown = match path.file_stem().unwrap().to_string_lossy().starts_with("other_book") {
        true => UnknownNames::LeaveOut,
        false => UnknownNames::Refuse,
    };
    let files = files(&text);
    assert!(!files.is_empty(), "a fixture has files");
    read_at(&files, None, unknown)
}

#[test]
fn what_is_wrong_is_said_with_the_words_to_write() {
    insta::glob!("../fixtures/grove", "wrong/*.txt", |path| {
        let read = read_fixture(path);
        insta::with_settings!({ snapshot_path => "../snapshots/grove", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(read.problems.plain(&read.sources));
        });
    });
}

#[test]
fn one_mistake_in_the_place_is_said_once() {
    let folder = folder("one_mistake_in_the_place");
    let grove = folder.join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "garden"], 0);
    let file = grove.join("grove.yaml");
    let yaml = std::fs::read_to_string(&file).unwrap();
    let key = yaml.find("latitude: ").unwrap();
    let value = key + "latitude: ".len();
    let end = value + yaml[value..].find(',').unwrap();
    let with = |text: &str| {
        std::fs::write(&file, format!("{}{text}{}", &yaml[..key], &yaml[end..])).unwrap();
        ran(&["advise", "--long", grove.to_str().unwrap(), "--width", "200"], 2).1
    };
    let beyond = with("latitude: 200");
    assert!(beyond.contains("`200` is not a latitude") && beyond.contains("Found 1 error"), "{beyond}");
    let none = with("elevation: 5 m");
    assert!(none.contains("has no latitude and longitude"), "{none}");
}
