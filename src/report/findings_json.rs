//! Findings as JSON, `bloomward.findings/1`.

use super::json;
use crate::problems::{Certainty, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use crate::syntax::parse;
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
    /// The file alone.
    file: String,
    /// Line and column where it begins, both from 1, in Unicode signs.
    from: Vec<usize>,
    /// Line and column behind its last sign.
    to: Vec<usize>,
    /// The item that it stands in, by its kind and name; null outside of any.
    item: Option<String>,
    /// Whether it stands in the rulebook itself, and not in one that it builds on.
    own: bool,
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
    let mut findings = Vec::new();
    for (problems, sources) in found {
        let mut items = ItemNames::default();
        findings.extend(problems.iter().map(|it| FindingEntry::of(it, sources, items.of(sources, it.at))));
    }
    json::lines(&FindingsForm { findings })
}

impl<'a> FindingEntry<'a> {
    fn of(problem: &'a Problem, sources: &Sources, item: Option<String>) -> Self {
        let place = |at: Span| PlaceEntry(sources.locate(at));
        let (certainty, shared): (_, &[String]) = match &problem.certainty {
            Some(Certainty::OnPaper(shared)) => (Some("on paper"), shared),
            Some(Certainty::Seen) => (Some("seen"), &[]),
            None => (None, &[]),
        };
        let ends = [problem.at, Span { start: problem.at.end, ..problem.at }].map(|at| sources.place(at));
        let [from, to] = ends.map(|place| vec![place.line, place.column]);
        Self {
            file: sources.get(problem.at.source).map_or_else(String::new, |it| it.name.to_string()),
            from,
            to,
            item,
            own: problem.at.source == SourceId::default(),
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

/// The items of texts, each with its kind and name; a text is read once.
#[derive(Default)]
struct ItemNames {
    texts: BTreeMap<SourceId, Vec<(Span, String)>>,
}

impl ItemNames {
    fn of(&mut self, sources: &Sources, at: Span) -> Option<String> {
        let items = self.texts.entry(at.source).or_insert_with(|| {
            let (tree, _) = parse(sources, at.source);
            let name = |item: &crate::syntax::tree::Item<'_>| {
                let name = item.name.as_ref().map(|it| it.value.to_owned());
                name.or_else(|| item.label.as_ref().map(|it| format!("\"{}\"", it.value))).unwrap_or_default()
            };
            tree.items
                .iter()
                .map(|it| (it.span, format!("{} {}", it.kind.word(), name(it)).trim_end().to_owned()))
                .collect()
        });
        let found = items.iter().find(|(span, _)| span.start <= at.start && at.start < span.end);
        found.map(|(_, name)| name.clone())
    }
}
