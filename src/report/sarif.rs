//! Findings as SARIF 2.1.0 (OASIS), the form in which tools that review code read them.

use crate::problems::{Certainty, Finding, Problem, Problems};
use crate::source::{Sources, Span};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Returns findings as one run of one tool.
pub fn sarif(found: &[(Problems, Sources)]) -> Value {
    let mut results = Vec::new();
    let mut kinds: BTreeSet<Finding> = BTreeSet::new();
    for (problems, sources) in found {
        for problem in problems.iter() {
            kinds.insert(problem.finding);
            results.push(result(problem, sources));
        }
    }
    let rules: Vec<Value> = kinds
        .into_iter()
        .map(|it| json!({ "id": it.code(), "defaultConfiguration": { "level": it.level().word() } }))
        .collect();
    json!({
        "$schema": "https://json.schemastore.org/sarif-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": { "name": "bloomward", "version": env!("CARGO_PKG_VERSION"), "rules": rules } },
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    })
}

fn result(problem: &Problem, sources: &Sources) -> Value {
    let related: Vec<Value> = problem
        .related
        .iter()
        .map(|(at, says)| {
            let mut place = location(*at, sources);
            place["message"] = json!({ "text": says });
            place
        })
        .collect();
    let help = problem.help.as_ref().map_or_else(String::new, |help| format!(". {help}"));
    let certainty = problem.certainty.as_ref().map(|it| match it {
        Certainty::Seen => "seen",
        Certainty::OnPaper(_) => "on paper",
    });
    json!({
        "ruleId": problem.finding.code(),
        "level": problem.finding.level().word(),
        "message": { "text": format!("{}{help}", problem.message) },
        "locations": [location(problem.at, sources)],
        "relatedLocations": related,
        "properties": { "situation": problem.situation, "certainty": certainty },
    })
}

fn location(at: Span, sources: &Sources) -> Value {
    let place = sources.place(at);
    let name = sources.get(at.source).map_or("", |source| &source.name);
    json!({
        "physicalLocation": {
            "artifactLocation": { "uri": uri(name) },
            "region": { "startLine": place.line.max(1), "startColumn": place.column.max(1) },
        },
    })
}

/// Returns a path as a relative reference (RFC 3986): whatever may not stand in one is written by its bytes.
fn uri(path: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte);
    path.bytes()
        .map(|byte| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}
