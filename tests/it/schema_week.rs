//! The JSON Schemas of the grower's week hold for what its commands print, by our own checker and by another program's.

use crate::cli::{folder, ran, run};
use crate::schema::assert_holds;
use bloomward::report::schemas;
use serde_json::Value;

/// Holds what a command prints to a schema; both checkers must agree.
#[track_caller]
fn holds(schema: &str, arguments: &[&str], status: i32) -> Value {
    let text = ran(&[arguments, &["--format", "json"]].concat(), status).0;
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_holds(schema, &value);
    let other = jsonschema::validator_for(&serde_json::from_str(schema).unwrap()).unwrap();
    let errors: Vec<String> =
        other.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(errors.is_empty(), "{}", errors.join("\n"));
    value
}

#[test]
fn what_the_commands_of_a_week_print_holds_to_its_schema() {
    for example in ["mixed-grove", "garden", "southern"] {
        let grove = folder(&format!("schema-{example}")).join("grove").to_str().unwrap().to_owned();
        ran(&["start", &grove, "--example", example], 0);
        let asked = holds(schemas::ASK, &["ask", &grove], 0);
        let seen =
            asked["stops"].as_array().unwrap().iter().map(|stop| stop["trees"].as_array().unwrap().len());
        assert!(seen.sum::<usize>() > 0, "{example}");
        holds(schemas::SPRAYDAY, &["sprayday", &grove, "--look"], 0);
        let day = holds(schemas::SPRAYDAY, &["sprayday", &grove], 0);
        assert!(!day["sheets"].as_array().unwrap().is_empty(), "{example}");
        let record = holds(schemas::RECORDS, &["records", &grove], 0);
        assert!(!record["sprays"].as_array().unwrap().is_empty(), "{example}");
        holds(schemas::MIX, &["mix", &grove, "sulfur", "reduced", "4 gal"], 0);
    }
}

#[test]
fn what_is_stored_is_told_as_its_schema_says() {
    let grove = folder("schema-stored").join("grove").to_str().unwrap().to_owned();
    ran(&["start", &grove, "--example", "mixed-grove"], 0);
    // On trees in bloom: A01 carries fruit, and open flowers there would be a group of panicles of their own.
    let note = ["scouted", &grove, "c1 open 20; c2 open 30"];
    let dry = holds(schemas::SCOUTED, &[&note[..], &["--dry-run"]].concat(), 0);
    assert_eq!((&dry["stored"], dry.get("file")), (&false.into(), None));
    let stored = holds(schemas::SCOUTED, &[&note[..], &["--yes"]].concat(), 0);
    assert_eq!((&stored["stored"], stored["rows"].as_array().unwrap().len()), (&true.into(), 2));
    let spray = [
        "sprayed",
        &grove,
        "--product",
        "copper",
        "--strength",
        "full",
        "--start",
        "05:00",
        "--end",
        "06:00",
    ];
    // Copper was sprayed on A01-A15 five days before: the label's interval is broken. On B01 it never was.
    let broken = holds(schemas::SPRAYED, &[&spray[..], &["--on", "A01", "--volume", "2 gal"]].concat(), 1);
    assert_eq!(broken["broken"][0]["line"], "interval at least 7 d");
    let kept = holds(
        schemas::SPRAYED,
        &[&spray[..], &["--on", "B01", "--volume", "2 gal", "--dry-run"]].concat(),
        0,
    );
    assert!(kept["broken"].as_array().unwrap().is_empty() && !kept["kept"].as_array().unwrap().is_empty());
    holds(schemas::SPRAYED, &["sprayed", &grove, "--product", "none", "--corrects", "11"], 0);
    // A wrong value is found: the schema is no empty one.
    let mut wrong = kept.clone();
    wrong["next"]["copper"] = "soon".into();
    assert!(!crate::schema::breaks(schemas::SPRAYED, &wrong).is_empty());
}

#[test]
fn the_commands_of_a_week_print_their_schemas() {
    for (command, schema) in [
        ("mix", schemas::MIX),
        ("sprayday", schemas::SPRAYDAY),
        ("ask", schemas::ASK),
        ("records", schemas::RECORDS),
        ("scouted", schemas::SCOUTED),
        ("sprayed", schemas::SPRAYED),
    ] {
        assert_eq!(ran(&[command, "--schema"], 0).0, schema, "{command}");
        let meta: Value = serde_json::from_str(schema).unwrap();
        assert!(jsonschema::meta::is_valid(&meta), "{command}");
    }
    // Without anything to do a command still says what it wants.
    assert_eq!(run(&["mix"]).status.code(), Some(2));
}
