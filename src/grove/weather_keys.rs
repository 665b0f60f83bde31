//! What taking in weather writes into `grove.yaml`: the file, when its forecast was issued, how files of a kind are read.
//!
//! Comes in: the text of `grove.yaml`. Goes out: the text with the keys in it; nothing else of it is changed.

use super::outline::KnownForm;
use super::setup::quoted;
use super::yaml::{self, Key, Value, YamlNode};
use crate::source::Sources;

/// The long lists of a grove, before which new keys are put.
const LISTS: [&str; 5] = ["shed:", "sprayer:", "blocks:", "trees:", "cultivars:"];
const FORMS: &str = "weather-forms:";

/// Returns the text with the weather's file and keys; a key without a value is taken out. Nothing where the text is no map.
pub fn with_weather(text: &str, file: &str, keys: &[(&str, Option<String>)]) -> Option<String> {
    let entries = map_of(text)?;
    let given = entries.iter().find(|(key, _)| key.text == "weather").map(|(_, node)| node);
    let written: Vec<String> =
        keys.iter().filter_map(|(key, value)| Some(format!(", {key}: {}", value.as_ref()?))).collect();
    let flow = |file: &str| format!("{{ file: {file}{} }}", written.concat());
    match given.map(|node| (&node.value, node.span.start as usize..node.span.end as usize)) {
        None => Some(with_line(text, &format!("weather: {flow}", flow = flow(&quoted(file))))),
        Some((Value::Nothing, span)) => {
            let mut whole = text.to_string();
            whole.insert_str(span.start, &format!(" {}", flow(&quoted(file))));
            Some(whole)
        }
        Some((Value::Text(_), span)) => {
            let own = text.get(span.clone())?;
            Some(format!("{}{}{}", text.get(..span.start)?, flow(own), text.get(span.end..)?))
        }
        Some((Value::Map(_), _)) => {
            let mut whole = text.to_string();
            for (key, value) in keys {
                whole = with_key(&whole, key, value.as_deref())?;
            }
            Some(whole)
        }
        Some((Value::List(_), _)) => None,
    }
}

/// Sets one key of the weather, in the place of its old value, else behind the file.
fn with_key(text: &str, key: &str, value: Option<&str>) -> Option<String> {
    let entries = map_of(text)?;
    let (_, weather) = entries.iter().find(|(own, _)| own.text == "weather")?;
    let Value::Map(entries) = &weather.value else { return None };
    let place = |wanted: &str| entries.iter().find(|(own, _)| own.text == wanted);
    let end = |node: &YamlNode| node.span.end as usize;
    if let Some((own, old)) = place(key) {
        let (from, to) = match value {
            Some(_) => (old.span.start as usize, end(old)),
            None => whole_entry(text, own.span.start as usize, end(old)),
        };
        return Some(format!("{}{}{}", text.get(..from)?, value.unwrap_or_default(), text.get(to..)?));
    }
    let Some(value) = value else { return Some(text.to_string()) };
    let (own, file) = place("file")?;
    let line_start = text.get(..own.span.start as usize)?.rfind('\n').map_or(0, |at| at + 1);
    let indent = text.get(line_start..own.span.start as usize)?;
    let is_block = indent.bytes().all(|letter| letter == b' ') && !indent.is_empty();
    let added = if is_block { format!("\n{indent}{key}: {value}") } else { format!(", {key}: {value}") };
    Some(format!("{}{added}{}", text.get(..end(file))?, text.get(end(file)..)?))
}

/// Returns an entry with the comma or the line that it takes up.
fn whole_entry(text: &str, from: usize, to: usize) -> (usize, usize) {
    let before = text.get(..from).unwrap_or_default().trim_end_matches(' ');
    match before.chars().next_back() {
        Some(',') => (before.len() - 1, to),
        Some('\n') => {
            let rest = text.get(to..).unwrap_or_default();
            (before.len(), to + rest.find('\n').map_or(rest.len(), |at| at + 1))
        }
        _ => {
            let rest = text.get(to..).unwrap_or_default();
            let comma = rest.len() - rest.trim_start_matches([' ', ',']).len();
            (from, to + comma)
        }
    }
}

/// Returns the text with how files of a kind are read, one of a kind on a line.
pub fn with_forms(text: &str, forms: &[KnownForm]) -> String {
    let mut block = String::from("weather-forms:\n");
    for form in forms {
        let answers = form.answers.iter().map(|(key, value)| format!(", {key}: {}", quoted(value)));
        block.push_str(&format!(
            "  - {{ titles: {}{} }}\n",
            quoted(&form.titles),
            answers.collect::<String>()
        ));
    }
    let mut lines: Vec<&str> = text.lines().collect();
    let Some(from) = lines.iter().position(|line| line.starts_with(FORMS)) else {
        return with_line(text, block.trim_end());
    };
    let rest = lines.get(from + 1..).unwrap_or_default();
    let inside = |line: &&&str| line.starts_with([' ', '-']) && !line.trim().is_empty();
    let to = from + 1 + rest.iter().take_while(inside).count();
    lines.splice(from..to, block.lines());
    lines.join("\n") + "\n"
}

/// Puts a line before the first long list of a grove, else last.
pub fn with_line(text: &str, line: &str) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    let first = lines.iter().position(|line| LISTS.iter().any(|list| line.starts_with(list)));
    // A remark above the list belongs to it, and so does the empty line above that.
    let above = |at: usize| {
        let line = at.checked_sub(1).and_then(|at| lines.get(at));
        line.is_some_and(|line| line.starts_with('#') || line.trim().is_empty())
    };
    let first = first.map(|mut at| {
        while above(at) {
            at -= 1;
        }
        at
    });
    let at = first.unwrap_or(lines.len());
    lines.splice(at..at, line.lines());
    lines.join("\n") + "\n"
}

fn map_of(text: &str) -> Option<Vec<(Key, YamlNode)>> {
    let mut sources = Sources::default();
    let id = sources.add("grove.yaml", text);
    match yaml::parse(id, &sources).ok()?.value {
        Value::Map(entries) => Some(entries),
        Value::Nothing | Value::Text(_) | Value::List(_) => None,
    }
}
