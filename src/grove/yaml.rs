//! YAML as a tree whose every node knows its place.
//!
//! Comes in: the text of `grove.yaml`. Goes out: maps, lists and scalars as they were typed, `1.10` and `no`
//! among them. Knows no key.

use crate::phrase::said;
use crate::problems::{Finding, Problem};
use crate::source::{SourceId, Sources, Span};
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::{Location, Spanned};
use std::fmt;

/// Lists and maps may stand in one another so deep.
const DEEPEST: usize = 16;

/// A node and its place.
#[derive(Clone, Debug)]
pub(crate) struct YamlNode {
    /// Where it stands; of a list or a map from its first to its last part.
    pub span: Span,
    /// What it is.
    pub value: Value,
}

/// What a node is.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    /// Nothing: `key:` with nothing after it, `~` or `null`.
    Nothing,
    /// A scalar as typed, without its quotes.
    Text(String),
    /// A list.
    List(Vec<YamlNode>),
    /// A map; a key may stand in it twice.
    Map(Vec<(Key, YamlNode)>),
}

/// A key of a map.
#[derive(Clone, Debug)]
pub(crate) struct Key {
    /// Where it stands.
    pub span: Span,
    /// The key.
    pub text: String,
}

/// Reads a text, or says why it is not YAML.
pub(crate) fn parse(id: SourceId, sources: &Sources) -> Result<YamlNode, Box<Problem>> {
    let whole = sources.get(id).map_or("", |source| &source.text);
    let text = whole.strip_prefix('\u{feff}').unwrap_or(whole);
    let place = Placing { id, text, shift: whole.len() - text.len() };
    if let Some(at) = text.find('\0') {
        let span = place.bytes(at, at + 1);
        let problem = Problem::new(Finding::Input, span, "there is a NUL byte here, which no text file has");
        return Err(Box::new(problem.help("save the file as plain text in UTF-8")));
    }
    let size = text.len();
    let options = serde_yaml::options! {
        budget: serde_yaml::budget! {
            max_events: size * 2 + 1000,
            max_nodes: size + 1000,
            max_total_scalar_bytes: size * 2 + 1000,
            max_total_comment_bytes: size + 1000,
            max_buffered_comment_events: size + 32,
            max_depth: DEEPEST,
            flow_nesting_limit: DEEPEST,
            max_documents: 1,
            enforce_alias_anchor_ratio: false,
        },
        alias_limits: serde_yaml::options::AliasLimits::default(),
        duplicate_keys: serde_yaml::options::DuplicateKeyPolicy::PassThrough,
        merge_keys: serde_yaml::options::MergeKeyPolicy::AsOrdinary,
        non_finite_float_policy: serde_yaml::options::NonFiniteFloatPolicy::AsString,
        strict_booleans: true,
        with_snippet: false,
    };
    match serde_yaml::from_str_with_options::<Raw>(text, with_alias_limit(options, size)) {
        Ok(raw) => Ok(place.node(raw)),
        Err(error) => Err(Box::new(place.problem(&error))),
    }
}

/// Aliases may add at most as much as the file itself holds.
fn with_alias_limit(mut options: serde_yaml::Options, size: usize) -> serde_yaml::Options {
    options.alias_limits.max_total_replayed_events = size + 1000;
    options.alias_limits.max_replay_stack_depth = DEEPEST;
    options
}

/// Brings the library's places and errors to our own.
struct Placing<'s> {
    id: SourceId,
    text: &'s str,
    shift: usize,
}

impl Placing<'_> {
    fn bytes(&self, start: usize, end: usize) -> Span {
        Span::new(self.id, start + self.shift, end + self.shift)
    }

    fn range(&self, location: Location) -> (usize, usize) {
        let span = location.span();
        let start = span.byte_offset().map_or_else(|| self.by_line(location), |at| at as usize);
        let start = start.min(self.text.len());
        let length = span.byte_len().map_or(0, |length| length as usize);
        (start, start.saturating_add(length).min(self.text.len()))
    }

    /// The scanner's own errors bear a line and a column in characters, and no bytes.
    fn by_line(&self, location: Location) -> usize {
        let line = usize::try_from(location.line()).unwrap_or(1).max(1);
        let start = match line {
            1 => 0,
            _ => self.text.match_indices('\n').nth(line - 2).map_or(self.text.len(), |(at, _)| at + 1),
        };
        let column = usize::try_from(location.column()).unwrap_or(1).max(1);
        let rest = self.text.get(start..).unwrap_or_default();
        start + rest.char_indices().nth(column - 1).map_or(rest.len(), |(at, _)| at)
    }

    fn node(&self, raw: Raw) -> YamlNode {
        let (start, end) = self.range(raw.0.defined);
        let own = self.bytes(start, end);
        let (span, value) = match raw.0.value {
            RawValue::Nothing => (own, Value::Nothing),
            RawValue::Plain => {
                let typed = self.text.get(start..end).unwrap_or_default().trim();
                (own, Value::Text(typed.to_string()))
            }
            RawValue::Text(text) => (own, Value::Text(text)),
            RawValue::List(items) => {
                let nodes: Vec<YamlNode> = items.into_iter().map(|item| self.node(item)).collect();
                (nodes.last().map_or(own, |last| own.to(last.span)), Value::List(nodes))
            }
            RawValue::Map(entries) => {
                let entries: Vec<(Key, YamlNode)> =
                    entries.into_iter().map(|(key, value)| (self.key(key), self.node(value))).collect();
                let span = match (entries.first(), entries.last()) {
                    (Some((first, _)), Some((key, last))) => first.span.to(key.span).to(last.span),
                    _ => own,
                };
                (span, Value::Map(entries))
            }
        };
        YamlNode { span, value }
    }

    fn key(&self, key: Spanned<String>) -> Key {
        let (start, end) = self.range(key.defined);
        Key { span: self.bytes(start, end), text: key.value }
    }

    fn problem(&self, error: &serde_yaml::Error) -> Problem {
        use serde_yaml::Error;
        let (start, end) = error.location().map_or((0, 0), |location| self.range(location));
        let span = self.bytes(start, end.max(start));
        let error = match error.without_snippet() {
            Error::AliasError { error, .. } => error.without_snippet(),
            error => error,
        };
        let (message, help) = match error {
            Error::Budget { breach, .. } => over_budget(breach),
            Error::AliasReplayLimitExceeded { .. }
            | Error::AliasReplayStackDepthExceeded { .. }
            | Error::AliasExpansionLimitExceeded { .. }
            | Error::AliasReplayCounterOverflow { .. } => (
                "the aliases of this file unfold into far more than was typed".into(),
                "write the values out instead of using `*` aliases",
            ),
            Error::MultipleDocuments { .. } => (
                "a second YAML document begins here".into(),
                "leave out the line `---`: a grove is one document",
            ),
            other => {
                let said = first_clause(&other.render_with_formatter(&serde_yaml::UserMessageFormatter));
                if said.contains("recursion limit") {
                    return Problem::new(Finding::Input, span, too_deep().0).help(too_deep().1);
                }
                (
                    said!("this is not YAML: {why}", why = said),
                    "each line is `key: value`, lists begin with `- `, and indents are made of spaces; a text \
                     with `: `, `#` or a leading `%`, `@`, `*`, `&` goes in quotes",
                )
            }
        };
        Problem::new(Finding::Input, span, message).help(help)
    }
}

fn too_deep() -> (crate::phrase::Phrase, &'static str) {
    (
        said!("lists and maps stand more than {deepest} deep in one another", deepest = DEEPEST),
        "a grove needs four levels at most",
    )
}

fn over_budget(breach: &serde_yaml::budget::BudgetBreach) -> (crate::phrase::Phrase, &'static str) {
    use serde_yaml::budget::BudgetBreach;
    match breach {
        BudgetBreach::Depth { .. } => too_deep(),
        BudgetBreach::Documents { .. } => {
            ("a second YAML document begins here".into(), "leave out the line `---`: a grove is one document")
        }
        _ => (
            "this file unfolds into far more than was typed".into(),
            "write the values out instead of using `*` aliases",
        ),
    }
}

/// Returns the first line of a message without the place that it names, in lower case.
fn first_clause(said: &str) -> String {
    let line = said.lines().next().unwrap_or_default();
    let line = line.split(" at line ").next().unwrap_or(line);
    let line = line.trim_start_matches("error: ").trim().trim_end_matches('.');
    let mut letters = line.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// A node as the library reads it.
struct Raw(Spanned<RawValue>);

enum RawValue {
    Nothing,
    /// A scalar that the library takes for a number or a truth value: its text is what stands at its place.
    Plain,
    Text(String),
    List(Vec<Raw>),
    Map(Vec<(Spanned<String>, Raw)>),
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Spanned::deserialize(deserializer).map(Raw)
    }
}

impl<'de> Deserialize<'de> for RawValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyValue)
    }
}

struct AnyValue;

impl<'de> Visitor<'de> for AnyValue {
    type Value = RawValue;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value, a list or a map")
    }

    fn visit_unit<E>(self) -> Result<RawValue, E> {
        Ok(RawValue::Nothing)
    }

    fn visit_none<E>(self) -> Result<RawValue, E> {
        Ok(RawValue::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<RawValue, D::Error> {
        deserializer.deserialize_any(self)
    }

    fn visit_bool<E>(self, _: bool) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_i64<E>(self, _: i64) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_i128<E>(self, _: i128) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_u64<E>(self, _: u64) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_u128<E>(self, _: u128) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_f64<E>(self, _: f64) -> Result<RawValue, E> {
        Ok(RawValue::Plain)
    }

    fn visit_str<E>(self, text: &str) -> Result<RawValue, E> {
        Ok(RawValue::Text(text.to_string()))
    }

    fn visit_string<E>(self, text: String) -> Result<RawValue, E> {
        Ok(RawValue::Text(text))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<RawValue, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(RawValue::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<RawValue, A::Error> {
        let mut map = Vec::new();
        while let Some(entry) = entries.next_entry()? {
            map.push(entry);
        }
        Ok(RawValue::Map(map))
    }
}
