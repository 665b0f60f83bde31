//! Findings as SARIF 2.1.0 (OASIS), the form in which tools that review code read them.

use super::findings_explained::explanation;
use super::json;
use crate::phrase::Phrase;
use crate::problems::{Certainty, Finding, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use serde::Serialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'a> {
    tool: Tool,
    column_kind: &'static str,
    results: Vec<SarifResult<'a>>,
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
struct Driver {
    name: &'static str,
    version: &'static str,
    rules: Vec<SarifRule>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct SarifRule {
    id: &'static str,
    full_description: Message,
    help: Message,
    default_configuration: Configuration,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
struct Message {
    text: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct SarifResult<'a> {
    rule_id: &'static str,
    level: &'static str,
    message: Message,
    locations: [Location; 1],
    related_locations: Vec<Location>,
    properties: Properties<'a>,
}

#[derive(Serialize)]
struct Properties<'a> {
    situation: &'a BTreeMap<String, Value>,
    certainty: Option<&'static str>,
    /// Whether it stands in the rulebook itself, and not in one that it builds on.
    own: bool,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct PhysicalLocation {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Serialize)]
struct Artifact {
    uri: String,
}

/// From the first sign to the one behind the last, in Unicode signs.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

/// Returns findings as one run of one tool.
pub fn sarif(found: &[(Problems, Sources)]) -> String {
    let mut results = Vec::new();
    let mut kinds: BTreeSet<Finding> = BTreeSet::new();
    for (problems, sources) in found {
        for problem in problems.iter() {
            kinds.insert(problem.finding);
            results.push(result(problem, sources));
        }
    }
    let rules = kinds.into_iter().map(|it| SarifRule {
        id: it.code(),
        full_description: Message { text: explanation(it).means.to_owned() },
        help: Message { text: explanation(it).mend.to_owned() },
        default_configuration: Configuration { level: it.level().word() },
    });
    let driver = Driver { name: "bloomward", version: env!("CARGO_PKG_VERSION"), rules: rules.collect() };
    json::lines(&Log {
        schema: "https://json.schemastore.org/sarif-2.1.0.json",
        version: "2.1.0",
        runs: [Run { tool: Tool { driver }, column_kind: "unicodeCodePoints", results }],
    })
}

fn result<'a>(problem: &'a Problem, sources: &Sources) -> SarifResult<'a> {
    let of = |(at, says): &(Span, Phrase)| location(*at, sources, Some(Message { text: says.to_string() }));
    let situation =
        super::findings::situation(problem).map_or(String::new(), |it| format!(". For example {it}"));
    let help = problem.help.as_ref().map_or_else(String::new, |help| format!(". {help}"));
    SarifResult {
        rule_id: problem.finding.code(),
        level: problem.finding.level().word(),
        message: Message { text: format!("{}{situation}{help}", problem.message) },
        locations: [location(problem.at, sources, None)],
        related_locations: problem.related.iter().map(of).collect(),
        properties: Properties {
            situation: &problem.situation,
            certainty: problem.certainty.as_ref().map(|it| match it {
                Certainty::Seen => "seen",
                Certainty::OnPaper(_) => "on paper",
            }),
            own: problem.at.source == SourceId::default(),
        },
    }
}

fn location(at: Span, sources: &Sources, message: Option<Message>) -> Location {
    let (from, to) = (sources.place(at), sources.place(Span { start: at.end, ..at }));
    let name = sources.get(at.source).map_or("", |source| &source.name);
    let region = Region {
        start_line: from.line.max(1),
        start_column: from.column.max(1),
        end_line: to.line.max(1),
        end_column: to.column.max(1),
    };
    Location {
        physical_location: PhysicalLocation { artifact_location: Artifact { uri: uri(name) }, region },
        message,
    }
}

/// Returns a path as a relative reference (RFC 3986): whatever may not stand in one is written by its bytes.
fn uri(path: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte);
    path.bytes()
        .map(|byte| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}
