//! The JSON Schemas hold for what the program prints.
//!
//! The checker knows the words of JSON Schema (draft 2020-12) that these schemas use, and refuses a schema with any
//! other, so that no rule is passed over.

use crate::cli::ran;
use bloomward::report::schemas;
use serde_json::Value;

/// Returns everything in which a value breaks a schema.
pub fn breaks(schema: &str, value: &Value) -> Vec<String> {
    let schema: Value = serde_json::from_str(schema).unwrap();
    let mut found = Vec::new();
    check(&schema, &schema, value, "", &mut found);
    found
}

/// Fails where a value breaks a schema.
#[track_caller]
pub fn assert_holds(schema: &str, value: &Value) {
    let found = breaks(schema, value);
    assert!(found.is_empty(), "the schema does not hold:\n{}", found.join("\n"));
}

fn check(top: &Value, schema: &Value, value: &Value, path: &str, found: &mut Vec<String>) {
    let rules = schema.as_object().unwrap();
    for (word, rule) in rules {
        let mut wrong = |what: String| found.push(format!("{path}: {what}"));
        match word.as_str() {
            "$schema" | "title" | "description" | "$defs" => {}
            "type" => {
                let names = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
                if !names.iter().any(|name| is_of(value, name.as_str().unwrap())) {
                    wrong(format!("{value} is not of type {rule}"));
                }
            }
            "const" if value != rule => wrong(format!("{value} is not {rule}")),
            "enum" if !rule.as_array().unwrap().contains(value) => {
                wrong(format!("{value} is none of {rule}"))
            }
            "const" | "enum" => {}
            "minimum" if value.as_f64().is_some_and(|it| it < rule.as_f64().unwrap()) => {
                wrong(format!("{value} is less than {rule}"));
            }
            "minimum" => {}
            "minLength" => {
                let long =
                    value.as_str().is_none_or(|text| text.chars().count() as u64 >= rule.as_u64().unwrap());
                if !long {
                    wrong(format!("{value} is too short"));
                }
            }
            "pattern" => {
                if value.as_str().is_some_and(|text| !matches(rule.as_str().unwrap(), text)) {
                    wrong(format!("{value} does not match {rule}"));
                }
            }
            "required" => {
                for name in rule.as_array().unwrap().iter().map(|name| name.as_str().unwrap()) {
                    if value.as_object().is_some_and(|object| !object.contains_key(name)) {
                        wrong(format!("`{name}` is missing"));
                    }
                }
            }
            "properties" => {
                for (name, rule) in rule.as_object().unwrap() {
                    if let Some(part) = value.get(name) {
                        check(top, rule, part, &format!("{path}/{name}"), found);
                    }
                }
            }
            "additionalProperties" => {
                let known = rules.get("properties").and_then(Value::as_object);
                for (name, part) in value.as_object().into_iter().flatten() {
                    if known.is_some_and(|known| known.contains_key(name)) {
                        continue;
                    }
                    match rule {
                        Value::Bool(true) => {}
                        Value::Bool(false) => found.push(format!("{path}: `{name}` is not in the schema")),
                        Value::Object(_) => check(top, rule, part, &format!("{path}/{name}"), found),
                        other => panic!("the checker does not know additionalProperties {other}"),
                    }
                }
            }
            "items" => {
                for (at, part) in value.as_array().into_iter().flatten().enumerate() {
                    check(top, rule, part, &format!("{path}/{at}"), found);
                }
            }
            "anyOf" => {
                let tries = rule.as_array().unwrap().iter().map(|rule| {
                    let mut found = Vec::new();
                    check(top, rule, value, path, &mut found);
                    found
                });
                let tries: Vec<Vec<String>> = tries.collect();
                if tries.iter().all(|found| !found.is_empty()) {
                    wrong(format!("none of the alternatives holds: {}", tries.concat().join("; ")));
                }
            }
            "$ref" => {
                let pointer = rule.as_str().unwrap().strip_prefix('#').unwrap();
                check(top, top.pointer(pointer).unwrap(), value, path, found);
            }
            other => panic!("the checker does not know `{other}`"),
        }
    }
}

fn is_of(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        other => panic!("the checker does not know the type {other}"),
    }
}

/// Matches digits in `[0-9]`, with `{N}` or `+` behind, `^` and `$`; all other signs stand for themselves.
fn matches(pattern: &str, text: &str) -> bool {
    let (anchored, pattern) = match pattern.strip_prefix('^') {
        Some(rest) => (true, rest),
        None => (false, pattern),
    };
    let starts = text.char_indices().map(|(at, _)| at).chain([text.len()]);
    starts.take(if anchored { 1 } else { usize::MAX }).any(|at| matches_here(pattern, &text[at..]))
}

fn matches_here(pattern: &str, text: &str) -> bool {
    if pattern.is_empty() {
        return true;
    }
    if pattern == "$" {
        return text.is_empty();
    }
    let Some(rest) = pattern.strip_prefix("[0-9]") else {
        let sign = pattern.chars().next().unwrap();
        assert!(!"[](){}*+?|\\.".contains(sign), "the checker does not know {pattern}");
        return text.strip_prefix(sign).is_some_and(|text| matches_here(&pattern[sign.len_utf8()..], text));
    };
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    if let Some(rest) = rest.strip_prefix('+') {
        return (1..=digits).any(|taken| matches_here(rest, &text[taken..]));
    }
    let (times, rest) = match rest.strip_prefix('{') {
        Some(counted) => counted.split_once('}').map(|(times, rest)| (times.parse().unwrap(), rest)).unwrap(),
        None => (1, rest),
    };
    digits >= times && matches_here(rest, &text[times..])
}

#[test]
fn the_checker_finds_what_is_wrong() {
    use serde_json::json;
    let schema = r##"{ "type": "object", "required": ["a"], "additionalProperties": false, "properties": {
        "a": { "type": "array", "items": { "$ref": "#/$defs/place" } }, "b": { "enum": [1, 2] },
        "c": { "anyOf": [{ "type": "null" }, { "const": "x" }] }, "e": { "type": "integer", "minimum": 0 } },
        "$defs": { "place": { "type": "string", "pattern": ":[0-9]+:[0-9]+$" } } }"##;
    assert_holds(schema, &json!({ "a": ["x:1:22"], "b": 2, "c": null, "e": 0 }));
    for wrong in [
        json!([]),
        json!({}),
        json!({ "a": ["x:1:"] }),
        json!({ "a": ["x:1:2 "] }),
        json!({ "a": [1] }),
        json!({ "a": [], "b": 3 }),
        json!({ "a": [], "c": "y" }),
        json!({ "a": [], "d": 1 }),
        json!({ "a": [], "e": -1 }),
    ] {
        assert!(!breaks(schema, &wrong).is_empty(), "{wrong}");
    }
    assert!(matches("^[0-9]{4}-[0-9]{2}$", "2027-02") && !matches("^[0-9]{4}-[0-9]{2}$", "x2027-02"));
}

#[test]
fn what_the_program_prints_holds_to_its_schema() {
    let printed = |arguments: &[&str], status: i32| -> Value {
        let arguments = [arguments, &["--format", "json"]].concat();
        serde_json::from_str(&ran(&arguments, status).0).unwrap()
    };
    for grove in ["mixed-grove", "garden", "southern", "broken/two-minds"] {
        let grove = format!("examples/{grove}");
        let advice = printed(&["advise", "--long", &grove], 0);
        assert_holds(schemas::ADVICE, &advice);
        let trees = advice["trees"].as_array().unwrap();
        assert!(!trees.is_empty());
        for tree in trees.iter().take(3) {
            let one = printed(&["why", "--all", &grove, tree["tree"].as_str().unwrap()], 0);
            assert_holds(schemas::ADVICE, &one);
            assert_eq!(one["trees"][0]["verdict"], tree["verdict"]);
        }
    }
    for (book, status) in [
        ("examples/broken/mistakes.rulebook", 1),
        ("examples/broken/plain.rulebook", 0),
        ("rulebooks/southern-subtropics.rulebook", 0),
    ] {
        assert_holds(schemas::FINDINGS, &printed(&["proofread", book], status));
    }
}

#[test]
fn the_program_prints_the_schemas() {
    assert_eq!(ran(&["advise", "--schema"], 0).0, schemas::ADVICE);
    assert_eq!(ran(&["why", "--schema"], 0).0, schemas::ADVICE);
    assert_eq!(ran(&["proofread", "--schema"], 0).0, schemas::FINDINGS);
}
