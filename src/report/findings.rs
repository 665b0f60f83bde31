//! Findings as plain text of a given width.
//!
//! Comes in: findings and the texts they point into. Goes out: text. Knows no terminal.

use super::filling::filled;
use crate::problems::{Certainty, Level, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use crate::words::Language;
use serde_json::Value;
use std::collections::BTreeMap;

/// How many values of a situation are shown at most, where it is known which go before the others.
const WHOLE: usize = 8;

/// Returns the findings as text of which no line is longer than the width, one below the other.
pub fn text(problems: &Problems, sources: &Sources, width: usize, language: Language) -> String {
    let said = language.problems(problems);
    said.iter().map(|problem| one(problem, sources, width, language)).collect::<Vec<_>>().join("\n")
}

/// Returns the findings in the order in which an author works: the errors of the own file, which is the first of the sources, its
/// warnings, the errors of its bases; and how many warnings each base has, told in a line.
pub fn told(problems: &Problems, sources: &Sources) -> (Problems, Vec<String>) {
    let own = SourceId::default();
    let is_own = |it: &Problem| it.at.source == own;
    let mut told: Vec<&Problem> =
        problems.iter().filter(|it| is_own(it) || it.finding.level() == Level::Error).collect();
    told.sort_by_key(|it| (!is_own(it), it.finding.level()));
    let mut list = Problems::default();
    told.into_iter().cloned().for_each(|it| list.push(it));
    let mut bases: BTreeMap<SourceId, BTreeMap<&str, usize>> = BTreeMap::new();
    for it in problems.iter().filter(|it| !is_own(it) && it.finding.level() == Level::Warning) {
        *bases.entry(it.at.source).or_default().entry(it.finding.code()).or_default() += 1;
    }
    let line = |(source, kinds): (SourceId, BTreeMap<&str, usize>)| {
        let name = sources.get(source).map_or("?", |it| &*it.name);
        let count: usize = kinds.values().sum();
        let warnings = if count == 1 { "1 warning".to_owned() } else { format!("{count} warnings") };
        let kinds: Vec<String> = kinds.into_iter().map(|(code, count)| format!("{code} {count}")).collect();
        format!(
            "{name}: {warnings} of the base ({}); `bloomward proofread {name}` has them",
            kinds.join(", ")
        )
    };
    (list, bases.into_iter().map(line).collect())
}

/// Returns one finding as text: place, message, the line with a mark under it, help and what belongs to it.
pub fn one(problem: &Problem, sources: &Sources, width: usize, language: Language) -> String {
    let (code, level) = (problem.finding.code(), level_word(problem.finding.level(), language));
    let say = |key: &str| language.say(key, &[]);
    let head = format!("{}: {level}[{code}]: {}", sources.locate(problem.at), problem.message);
    let mut lines = filled(&head, "", "  ", width);
    lines.extend(excerpt(sources, problem.at, &problem.label, width));
    for (at, says) in &problem.related {
        lines.extend(filled(
            &format!("{}: {says}", sources.locate(*at)),
            &format!("  {} ", say("finding.see")),
            "      ",
            width,
        ));
    }
    if let Some(situation) = situation(problem) {
        lines.extend(filled(&situation, &format!("  {} ", say("finding.example")), "    ", width));
    }
    if let Some(Certainty::OnPaper(shared)) = &problem.certainty {
        let words = language.say("finding.on-paper.words", &[("shared", &shared.join(", "))]);
        lines.extend(filled(&words, &format!("  {} ", say("finding.on-paper")), "    ", width));
    }
    if let Some(help) = &problem.help {
        lines.extend(filled(help, &format!("  {} ", say("finding.help")), "    ", width));
    }
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}

/// Returns the word printed for a level.
pub fn level_word(level: Level, language: Language) -> String {
    let key = match level {
        Level::Error => "finding.error",
        Level::Warning => "finding.warning",
    };
    language.say(key, &[])
}

/// Returns how many errors and warnings there are, in words: `2 errors and 1 warning`.
pub fn count(problems: &Problems, language: Language) -> String {
    let of = |level: Level| problems.iter().filter(|it| it.finding.level() == level).count();
    let words =
        |number: usize, key: &str| language.counted(key, i64::try_from(number).unwrap_or(i64::MAX), &[]);
    match (of(Level::Error), of(Level::Warning)) {
        (0, 0) => language.say("finding.nothing", &[]),
        (errors, 0) => words(errors, "finding.errors"),
        (0, warnings) => words(warnings, "finding.warnings"),
        (errors, warnings) => language
            .listed("list.and", &[words(errors, "finding.errors"), words(warnings, "finding.warnings")]),
    }
}

/// Returns the situation of a finding in words, `stage full-bloom, fruit-set 3`, if it has one: of a long one what the finding
/// itself speaks of.
pub fn situation(problem: &Problem) -> Option<String> {
    let is_shown = |name: &String| problem.situation.len() <= WHOLE || problem.foremost.contains(name);
    let all = || problem.situation.iter();
    let is_cut = all().any(|(name, _)| is_shown(name));
    let shown = all().filter(|(name, _)| is_shown(name) || !is_cut);
    let mut words: Vec<String> =
        shown.map(|(name, value)| format!("{name} {}", value_words(value))).collect();
    let left = problem.situation.len() - words.len();
    words.extend((left > 0).then(|| format!("and {left} more values that `--format json` has")));
    (!words.is_empty()).then(|| words.join(", "))
}

/// Returns a value of the JSON output in words: `61.2 °F`, `from 40 % to 60 %`, `unknown`, `severe`.
fn value_words(value: &Value) -> String {
    match value {
        Value::String(word) => word.clone(),
        Value::Object(parts) => {
            let part = |key: &str| parts.get(key).map(value_words);
            let unit = part("unit").map_or(String::new(), |unit| format!(" {unit}"));
            match (part("value"), part("from"), part("to")) {
                (Some(value), _, _) => format!("{value}{unit}"),
                (None, Some(from), Some(to)) => format!("from {from}{unit} to {to}{unit}"),
                (None, Some(from), None) => format!("at least {from}{unit}"),
                (None, None, Some(to)) => format!("at most {to}{unit}"),
                (None, None, None) => parts.keys().next().cloned().unwrap_or_default(),
            }
        }
        other => other.to_string(),
    }
}

/// Returns the line on which a span begins, cut to the width, with a mark under the span.
fn excerpt(sources: &Sources, at: Span, label: &str, width: usize) -> Vec<String> {
    let Some(source) = sources.get(at.source) else { return Vec::new() };
    let place = source.place(at.start as usize);
    let line = source.line(place.line).trim_end();
    if line.is_empty() {
        return Vec::new();
    }
    let number = place.line.to_string();
    let gutter = format!("{:>4} | ", number);
    let under = format!("{:>1$} | ", "", number.len().max(4));
    let marked = sources.words(at).lines().next().map_or(0, |words| words.chars().count());
    let Some(room) = width.checked_sub(gutter.chars().count()).filter(|room| *room >= 8) else {
        return Vec::new();
    };
    let column = place.column.saturating_sub(1);
    // A mark behind the last letter takes a column of its own.
    let room = if column < line.chars().count() { room } else { room - 1 };
    let (shown, start) = cut(line, column, room);
    let left = shown.chars().count().saturating_sub(start);
    let mark = "^".repeat(marked.clamp(1, left.max(1)));
    let pointer = format!("{under}{}{mark}", " ".repeat(start));
    let mut lines = vec![format!("{gutter}{shown}")];
    let with_label = format!("{pointer} {label}");
    if label.is_empty() || textwrap::core::display_width(&with_label) <= width {
        lines.push(with_label);
    } else {
        lines.push(pointer);
        lines.extend(filled(label, &under, &under, width));
    }
    lines
}

/// Cuts a line to the room around a column (from 0), and returns it with the column's place in it.
pub(super) fn cut(line: &str, column: usize, room: usize) -> (String, usize) {
    let signs: Vec<char> = line.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).collect();
    let column = column.min(signs.len());
    if signs.len() <= room {
        return (signs.into_iter().collect(), column);
    }
    // The column stands in the first half, so that what follows it can be read.
    let first = column.saturating_sub(room / 2).min(signs.len().saturating_sub(room));
    let last = (first + room).min(signs.len());
    let mut shown: Vec<char> = signs.get(first..last).unwrap_or_default().to_vec();
    if let (true, Some(sign)) = (first > 0, shown.first_mut()) {
        *sign = '…';
    }
    if let (true, Some(sign)) = (last < signs.len(), shown.last_mut()) {
        *sign = '…';
    }
    (shown.into_iter().collect(), column - first)
}
