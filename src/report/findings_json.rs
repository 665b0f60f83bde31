//! Findings as JSON, `bloomward.findings/1`.

use super::json;
use crate::problems::{Certainty, Problem, Problems};
use crate::source::{Sources, Span};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// What is wrong, doubtful or unproved in rulebooks.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.findings/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct FindingsForm<'a> {
    findings: Vec<FindingEntry<'a>>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FindingEntry<'a> {
    /// The kind of finding, as `proofread --explain` takes it.
    rule: &'static str,
    #[cfg_attr(test, schemars(extend("enum" = ["error", "warning"])))]
    level: &'static str,
    #[cfg_attr(test, schemars(length(min = 1)))]
    message: &'a str,
    /// What stands at the place; may be empty.
    label: &'a str,
    /// What to write instead.
    help: Option<&'a str>,
    /// An item to write into the rulebook where the finding is what its author wants.
    edit: Option<&'a str>,
    at: PlaceEntry,
    related: Vec<RelatedEntry<'a>>,
    /// Values of the rulebook's names that show it; empty where it is not about decisions.
    situation: &'a BTreeMap<String, Value>,
    /// Whether the situation can be seen, or stands on paper only; null where there is none.
    #[cfg_attr(test, schemars(extend("enum" = ["seen", "on paper", null])))]
    certainty: Option<&'static str>,
    /// On paper: the inputs that several names of the situation come from.
    shared: &'a [String],
}

/// file:line:column, both from 1.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(extend("pattern" = ":[0-9]+:[0-9]+$")))]
struct PlaceEntry(String);

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct RelatedEntry<'a> {
    at: PlaceEntry,
    says: &'a str,
}

/// Returns the findings of several runs, each in its present order.
pub fn findings_json(found: &[(Problems, Sources)]) -> String {
    let findings = found.iter().flat_map(|(problems, sources)| {
        problems.iter().map(move |problem| FindingEntry::of(problem, sources))
    });
    json::lines(&FindingsForm { findings: findings.collect() })
}

impl<'a> FindingEntry<'a> {
    fn of(problem: &'a Problem, sources: &Sources) -> Self {
        let place = |at: Span| PlaceEntry(sources.locate(at));
        let (certainty, shared): (_, &[String]) = match &problem.certainty {
            Some(Certainty::OnPaper(shared)) => (Some("on paper"), shared),
            Some(Certainty::Seen) => (Some("seen"), &[]),
            None => (None, &[]),
        };
        Self {
            rule: problem.finding.code(),
            level: problem.finding.level().word(),
            message: &problem.message,
            label: &problem.label,
            help: problem.help.as_deref(),
            edit: problem.edit.as_deref(),
            at: place(problem.at),
            related: problem.related.iter().map(|(at, says)| RelatedEntry { at: place(*at), says }).collect(),
            situation: &problem.situation,
            certainty,
            shared,
        }
    }
}
