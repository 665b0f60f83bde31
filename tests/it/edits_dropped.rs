//! What is left of a rulebook's text where a product or a choice is taken out with all that refers to it.

use std::collections::BTreeSet;

/// Items that decide nothing: they may speak of what is gone.
const IDLE: [&str; 5] = ["worked", "settings", "promise", "warning", "task"];

/// Takes a choice out, and out of the lists of what others outrank.
pub fn without_choice(text: &str, name: &str) -> String {
    let gone = BTreeSet::from([name.to_owned()]);
    kept(text, &mut |it| match it.kind {
        "choice" => (it.name != name).then(|| without(it.text, &gone)),
        _ => Some(it.text.to_owned()),
    })
}

/// Takes a product out: its measures and what compares with them, its gates, its place in mixes, and choices of it alone. What
/// decides nothing is left out, too.
pub fn without_product(text: &str, name: &str) -> String {
    let mut gone = BTreeSet::from([name.to_owned()]);
    let group =
        |item: &str| item.lines().find_map(|it| it.strip_prefix("  group ")).map(|it| it.trim().to_owned());
    let products = items(text).into_iter().map(|(from, to)| &text[from..to]);
    let (own, others): (Vec<&str>, Vec<&str>) = products
        .filter(|it| it.contains("\n  group "))
        .partition(|it| speaks_of(it.lines().next().unwrap_or(""), &gone));
    // A group of which there is no other product is gone with it.
    if let Some(of) = own
        .first()
        .and_then(|it| group(it))
        .filter(|of| others.iter().all(|it| group(it).as_ref() != Some(of)))
    {
        gone.insert(format!("group {of}"));
    }
    let mut text = text.to_owned();
    loop {
        let (before, known) = (text.len(), gone.len());
        let mut more = BTreeSet::new();
        text = kept(&text, &mut |it| {
            let is_gone = gone.contains(it.name);
            if IDLE.contains(&it.kind) || (it.is_omitted && is_gone) {
                return None;
            }
            let is_fact = ["rulebook", "source", "disease", "scale", "product"].contains(&it.kind);
            if it.is_omitted || (is_fact && !is_gone) {
                return Some(it.text.to_owned());
            }
            let (item, is_left) = match it.kind {
                "band" => (without(it.text, &gone), " if "),
                "gate" => (without(it.text, &gone), ""),
                "choice" => (without(it.text, &gone), "\n  advise"),
                _ => (it.text.to_owned(), ""),
            };
            let acts = it.kind != "gate" || ["\n  shuts", "\n  holds"].iter().any(|word| item.contains(word));
            if is_gone || !acts || !item.contains(is_left) || speaks_of(&item, &gone) {
                more.insert(it.name.to_owned());
                return None;
            }
            Some(item)
        });
        gone.extend(more);
        if text.len() == before && gone.len() == known {
            return text;
        }
    }
}

/// An item as it is written.
struct Written<'t> {
    kind: &'t str,
    name: &'t str,
    is_omitted: bool,
    text: &'t str,
}

/// Puts a text together from what is kept of its items.
fn kept(text: &str, keep: &mut dyn FnMut(Written<'_>) -> Option<String>) -> String {
    let all = items(text);
    let mut out = text[..all.first().map_or(text.len(), |it| it.0)].to_owned();
    for (start, end) in all {
        let item = &text[start..end];
        let mut words = item.split_whitespace();
        let first = words.next().unwrap_or_default();
        let is_omitted = first == "omit";
        let kind = if is_omitted || first == "replace" { words.next().unwrap_or_default() } else { first };
        let name = words.next().unwrap_or_default();
        out.extend(keep(Written { kind, name, is_omitted, text: item }));
    }
    out
}

/// Returns an item without the clauses, parts and words of lists that speak of what is gone.
fn without(item: &str, gone: &BTreeSet<String>) -> String {
    let mut out = item[..clauses(item).first().map_or(item.len(), |it| it.0)].to_owned();
    let mut is_advised = false;
    for (from, to) in clauses(item) {
        let clause = &item[from..to];
        let word = clause.split_whitespace().next().unwrap_or_default();
        let is_list = ["outranks", "shuts"].contains(&word);
        if !speaks_of(clause, gone) {
            // The next alternative comes first.
            let is_way = word == "advise" || clause.trim_start().starts_with("or else");
            let is_first = is_way && !is_advised;
            out.push_str(&if is_first {
                clause.replacen("or else ", "advise  ", 1)
            } else {
                clause.to_owned()
            });
            is_advised |= is_way;
        } else if is_list {
            let list = clause.trim_start().trim_start_matches(word);
            let left: Vec<&str> = list.split(',').map(str::trim).filter(|it| !gone.contains(*it)).collect();
            if !left.is_empty() {
                out.push_str(&format!("  {word} {}\n", left.join(", ")));
            }
        } else if word == "if" {
            let is_left = |line: &&str| !speaks_of(line, gone) || !line.trim_start().starts_with("and ");
            out.extend(clause.split_inclusive('\n').filter(is_left));
        }
    }
    out
}

/// Returns whether some rules name what is gone.
fn speaks_of(rules: &str, gone: &BTreeSet<String>) -> bool {
    let mut in_text = false;
    rules.lines().any(|line| {
        let mut said = String::new();
        for sign in line.chars() {
            in_text ^= sign == '"';
            if sign == '#' && !in_text {
                break;
            }
            said.push(if in_text { ' ' } else { sign });
        }
        let word = |sign: char| !(sign.is_alphanumeric() || sign == '-');
        let words: Vec<&str> = said.split(word).filter(|it| !it.is_empty()).collect();
        words.iter().any(|it| gone.contains(*it)) || words.windows(2).any(|it| gone.contains(&it.join(" ")))
    })
}

/// Returns the places of the items.
pub fn items(text: &str) -> Vec<(usize, usize)> {
    let mut starts = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.starts_with(|sign: char| sign.is_ascii_lowercase()) {
            starts.push(at);
        }
        at += line.len();
    }
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    starts.iter().copied().zip(ends).collect()
}

/// Returns the places of an item's clauses: lines indented by two, each with the deeper ones under it.
pub fn clauses(item: &str) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    let mut at = 0;
    for line in item.split_inclusive('\n') {
        let indent = line.len() - line.trim_start_matches(' ').len();
        if indent == 2 && !line.trim().is_empty() {
            found.push((at, at + line.len()));
        } else if indent > 2
            && let Some(last) = found.last_mut().filter(|last| last.1 == at)
        {
            last.1 = at + line.len();
        }
        at += line.len();
    }
    found
}
