//! Findings as SARIF 2.1.0, against the JSON Schema of that standard and against what its text asks besides.
//!
//! The schema is that of OASIS, `sarif-schema-2.1.0.json` of the committee's repository `oasis-tcs/sarif-spec`, as the
//! crate serde-sarif 0.8.0 carries it. Sections are those of the standard, edition 2.1.0 plus errata 01.

use crate::cli::{folder, ran, top};
use serde_json::{Value, json};
use std::collections::BTreeSet;

const SCHEMA: &str = include_str!("../reference/sarif-schema-2.1.0.json");

fn breaks(found: &Value) -> Vec<String> {
    let mut schema: Value = serde_json::from_str(SCHEMA).unwrap();
    // The pattern of languages has a bracket too many, at which stricter readers of patterns stop; no language is written.
    for of in ["run", "toolComponent"] {
        let language = schema["definitions"][of]["properties"]["language"].as_object_mut().unwrap();
        assert!(language.remove("pattern").is_some());
    }
    assert!(!found.to_string().contains("\"language\""));
    // The formats too: what says that it is a URI reference is one.
    let schema = jsonschema::options().should_validate_formats(true).build(&schema).unwrap();
    schema.iter_errors(found).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

fn sarif(arguments: &[&str], status: i32) -> Value {
    let all: Vec<&str> = ["proofread", "--format", "sarif"].iter().chain(arguments).copied().collect();
    serde_json::from_str(&ran(&all, status).0).unwrap()
}

/// Every fixture of a finding, the broken examples, and the regional books, in one run.
fn of_all() -> Value {
    let mut books: Vec<String> = std::fs::read_dir(top().join("tests/fixtures/check"))
        .unwrap()
        .map(|entry| format!("tests/fixtures/check/{}", entry.unwrap().file_name().to_str().unwrap()))
        .filter(|path| path.ends_with(".rulebook"))
        .collect();
    books.sort();
    for more in ["examples/broken/mistakes", "examples/broken/contradicts", "rulebooks/dry-hills"] {
        books.push(format!("{more}.rulebook"));
    }
    sarif(&books.iter().map(String::as_str).collect::<Vec<_>>(), 1)
}

fn results(found: &Value) -> &[Value] {
    found["runs"][0]["results"].as_array().unwrap()
}

#[test]
fn findings_hold_to_the_schema_of_the_standard() {
    let found = of_all();
    assert_eq!(breaks(&found), Vec::<String>::new());
    let kinds: BTreeSet<&str> = results(&found).iter().map(|it| it["ruleId"].as_str().unwrap()).collect();
    for kind in ["syntax", "unit-mismatch", "conflict", "worked-failed", "table-overlap", "to-be-sourced"] {
        assert!(kinds.contains(kind), "{kind} is not in {kinds:?}");
    }
    assert!(kinds.len() >= 15, "{kinds:?}");
    // With nothing found too.
    let calm = folder("sarif-calm").join("calm.rulebook");
    let text = "rulebook \"Calm\"\n  caution \"The label is the law.\"\nchoice watch\n  advise hold\n  cites common-practice\n\
                worked \"at any time\"\n  cites common-practice\n  expect hold\n";
    std::fs::write(&calm, text).unwrap();
    let nothing = sarif(&[calm.to_str().unwrap()], 0);
    assert!(results(&nothing).is_empty());
    assert_eq!(breaks(&nothing), Vec::<String>::new());
}

/// The schema would see it: without each thing that a finding needs it breaks.
#[test]
fn the_schema_sees_what_is_wrong() {
    let found = sarif(&["examples/broken/mistakes.rulebook"], 1);
    let wrong: [(&str, Value); 8] = [
        ("/version", json!("2.0.0")),
        ("/runs/0/tool", json!({})),
        ("/runs/0/columnKind", json!("bytes")),
        ("/runs/0/results/0/message", json!({})),
        ("/runs/0/results/0/level", json!("fatal")),
        ("/runs/0/results/0/locations/0/physicalLocation/region/startLine", json!(0)),
        ("/runs/0/results/0/locations/0/physicalLocation/artifactLocation/uri", json!("no reference at all")),
        ("/runs/0/results/0/ruleId", json!(7)),
    ];
    for (place, value) in wrong {
        let mut found = found.clone();
        *found.pointer_mut(place).unwrap() = value;
        assert!(!breaks(&found).is_empty(), "{place}");
    }
}

/// What no schema can ask: a result's rule is described (3.27.5, 3.19.23), a place lies in the file that it names (3.29.3,
/// 3.30.5 and 3.30.6, columns counted as 3.14.27 says) and says there what the findings in JSON say.
#[test]
fn places_and_rules_are_where_they_are_said_to_be() {
    let found = of_all();
    let run = &found["runs"][0];
    assert_eq!(run["columnKind"], "unicodeCodePoints");
    let rules: Vec<&str> = run["tool"]["driver"]["rules"]
        .as_array()
        .unwrap()
        .iter()
        .map(|rule| rule["id"].as_str().unwrap())
        .collect();
    assert_eq!(rules.len(), rules.iter().collect::<BTreeSet<_>>().len(), "an id stands once");
    let mut places = 0;
    for result in results(&found) {
        assert!(rules.contains(&result["ruleId"].as_str().unwrap()), "{result}");
        let related = result["relatedLocations"].as_array().unwrap();
        for location in result["locations"].as_array().unwrap().iter().chain(related) {
            let place = &location["physicalLocation"];
            let uri = place["artifactLocation"]["uri"].as_str().unwrap();
            let text = std::fs::read_to_string(top().join(uri)).unwrap();
            let number = |key: &str| place["region"][key].as_u64().unwrap() as usize;
            let (line, column) = (number("startLine"), number("startColumn"));
            let words = text.split('\n').nth(line - 1).unwrap_or_else(|| panic!("{uri}:{line}"));
            assert!(column <= words.chars().count() + 1, "{uri}:{line}:{column}");
            places += 1;
        }
    }
    assert!(places > 60, "{places}");
}

/// Columns are counted in code points, and a path is written as a URI reference (3.4.3, RFC 3986).
#[test]
fn signs_beyond_ascii_are_counted_and_written_as_the_standard_has_it() {
    let book = folder("sarif signs").join("año 1 %.rulebook");
    let text = "rulebook \"Guía 😀\"\n  caution \"x\"\n\nfigure hot \"árbol 😀\" = 90 bananas\n";
    std::fs::write(&book, text).unwrap();
    let found = sarif(&[book.to_str().unwrap()], 1);
    assert_eq!(breaks(&found), Vec::<String>::new());
    let result = results(&found).iter().find(|it| it["level"] == "error").unwrap();
    let place = &result["locations"][0]["physicalLocation"];
    let uri = place["artifactLocation"]["uri"].as_str().unwrap();
    assert!(uri.ends_with("/sarif%20signs/a%C3%B1o%201%20%25.rulebook"), "{uri}");
    let (line, column) = (&place["region"]["startLine"], place["region"]["startColumn"].as_u64().unwrap());
    assert_eq!(*line, 4);
    let wrong: String = text.lines().nth(3).unwrap().chars().skip(column as usize - 1).collect();
    assert!(wrong.starts_with("bananas") || wrong.starts_with("90 bananas"), "{wrong}");
}
