//! Edits of a rulebook's text: every number moved up and down, every gate, clause and product dropped or changed.

/// An edited text, and what was done.
pub struct Edit {
    /// The kind of the item: `figure`, `gate`; of measures, dailies and hourlies `definition`.
    pub kind: &'static str,
    /// What was done, `figure hot: 90 becomes 92`.
    pub what: String,
    /// The whole text.
    pub text: String,
    /// The number as it was and as it is, with its unit.
    pub moved: Option<(f64, f64, String)>,
}

/// The kinds of items that are edited, each with what it is counted as.
const KINDS: [(&str, &str); 9] = [
    ("figure", "figure"),
    ("measure", "definition"),
    ("daily", "definition"),
    ("hourly", "definition"),
    ("band", "band"),
    ("table", "table"),
    ("gate", "gate"),
    ("product", "product"),
    ("choice", "choice"),
];

/// Returns all edits of a text. Not all of them can be read.
pub fn edits(text: &str) -> Vec<Edit> {
    let mut all = Vec::new();
    for (start, end) in items(text) {
        let item = &text[start..end];
        let words: Vec<&str> = item.split_whitespace().take(3).collect();
        let at = usize::from(matches!(words.first(), Some(&"replace" | &"omit")));
        let (Some(kind), Some(name)) = (words.get(at), words.get(at + 1)) else { continue };
        let Some((_, counted)) = KINDS.iter().find(|(it, _)| it == kind).filter(|_| words[0] != "omit")
        else {
            continue;
        };
        let called = format!("{kind} {name}");
        let mut put = |what: String, (from, to): (usize, usize), with: &str| {
            let text = format!("{}{with}{}", &text[..start + from], &text[start + to..]);
            all.push(Edit { kind: counted, what: format!("{called}: {what}"), text, moved: None });
            all.len() - 1
        };
        let mut put_moved = Vec::new();
        for (from, to) in numbers(item) {
            let old = &item[from..to];
            for new in moved(old) {
                let at = put(format!("{old} becomes {new}"), (from, to), &new);
                let unit = item[to..].split(|sign: char| sign.is_whitespace() || sign == ')').nth(1);
                put_moved.push((at, old.to_owned(), new, unit.unwrap_or_default().to_owned()));
            }
        }
        for (from, to) in clauses(item) {
            let clause = &item[from..to];
            let word = clause.split_whitespace().next().unwrap_or_default();
            if ["unless", "or", "outranks", "label", "holds", "at"].contains(&word) {
                let line = clause.split_whitespace().collect::<Vec<_>>().join(" ");
                put(format!("without `{line}`"), (from, to), "");
            }
        }
        if *kind == "gate" {
            put("dropped".to_owned(), (0, item.len()), "");
            for (from, to) in
                clauses(item).into_iter().filter(|(from, _)| item[*from..].trim_start().starts_with("if "))
            {
                put("without its `if`".to_owned(), (from, to), "");
            }
        }
        if *kind == "product" {
            let gate = format!(
                "{}\ngate edit-shuts-it\n  shuts {name}\n  because \"edited\"\n  cites common-practice\n\n",
                item.trim_end()
            );
            put("shut".to_owned(), (0, item.len()), &gate);
        }
        if *kind == "choice" {
            put("dropped".to_owned(), (0, item.len()), "");
        }
        for (at, old, new, unit) in put_moved {
            if let (Ok(old), Ok(new)) = (old.parse(), new.parse()) {
                all[at].moved = Some((old, new, unit));
            }
        }
    }
    // Nothing outranks what is gone.
    for edit in all.iter_mut().filter(|it| it.kind == "choice" && it.what.ends_with(": dropped")) {
        let name = edit.what.trim_start_matches("choice ").trim_end_matches(": dropped").to_owned();
        edit.text = not_outranked(&edit.text, &name);
    }
    all
}

/// Returns the edits of an overlay that touch what its base has: figures moved, gates and choices left out.
pub fn edits_of_base(overlay: &str, base: &str) -> Vec<Edit> {
    let mut all = Vec::new();
    for (start, end) in items(base) {
        let item = &base[start..end];
        let mut words = item.split_whitespace();
        let (Some(kind), Some(name)) = (words.next(), words.next()) else { continue };
        let has = |word: &str| overlay.contains(&format!("\n{word} {kind} {name}"));
        if has("replace") || has("omit") {
            continue;
        }
        let because = "\n  because  \"edited\"\n";
        match kind {
            "figure" => {
                let Some((from, to)) = numbers(item).first().copied() else { continue };
                let rest = item[to..].lines().next().unwrap_or_default();
                for new in moved(&item[from..to]) {
                    all.push(Edit {
                        kind: "figure",
                        what: format!("figure {name} of the base: {} becomes {new}", &item[from..to]),
                        text: format!(
                            "{overlay}\nreplace figure {name} = {new}{rest}{because}  cites    common-practice\n"
                        ),
                        moved: item[from..to].parse().ok().zip(new.parse().ok()).map(|(old, new)| {
                            (old, new, rest.trim().to_owned())
                        }),
                    });
                }
            }
            "gate" => all.push(Edit {
                kind: "gate",
                what: format!("gate {name} of the base: left out"),
                text: format!("{overlay}\nomit {kind} {name}{because}"),
                moved: None,
            }),
            _ => {}
        }
    }
    all
}

/// Takes a choice out of the lists of what others outrank.
fn not_outranked(text: &str, name: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines() {
        let Some(list) = line.trim_start().strip_prefix("outranks ") else {
            lines.push(line.to_owned());
            continue;
        };
        let kept: Vec<&str> = list.split(',').map(str::trim).filter(|it| *it != name).collect();
        if !kept.is_empty() {
            lines.push(format!("  outranks {}", kept.join(", ")));
        }
    }
    lines.join("\n") + "\n"
}

/// Returns the places of the items.
fn items(text: &str) -> Vec<(usize, usize)> {
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
fn clauses(item: &str) -> Vec<(usize, usize)> {
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

/// Returns the places of an item's numbers outside of texts, comments, sources and names.
fn numbers(item: &str) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let skipped: Vec<(usize, usize)> = clauses(item)
        .into_iter()
        .filter(|(from, _)| {
            let word = item[*from..].split_whitespace().next().unwrap_or_default();
            ["cites", "because", "ask", "how", "caution", "group", "active", "lasts", "range"].contains(&word)
        })
        .collect();
    let bytes = item.as_bytes();
    let (mut at, mut in_text) = (0, false);
    while at < bytes.len() {
        let before = if at == 0 { b' ' } else { bytes[at - 1] };
        match bytes[at] {
            b'"' => in_text = !in_text,
            b'#' if !in_text => {
                at += item[at..].find('\n').unwrap_or(item.len() - at);
                continue;
            }
            b'0'..=b'9' if !in_text && (before == b' ' || before == b'(') => {
                let length =
                    item[at..].find(|sign: char| !(sign.is_ascii_digit() || sign == '.')).unwrap_or(0);
                // No clock, and nothing that goes on as a name.
                let next = bytes.get(at + length).copied().unwrap_or(b' ');
                if next != b':'
                    && next != b'-'
                    && !skipped.iter().any(|(from, to)| (*from..*to).contains(&at))
                {
                    found.push((at, at + length));
                }
                at += length.max(1);
                continue;
            }
            _ => {}
        }
        at += 1;
    }
    found
}

/// Returns a number a little larger and smaller, as long as it stays one of its kind.
fn moved(number: &str) -> Vec<String> {
    let Ok(value) = number.parse::<f64>() else { return Vec::new() };
    let step = if number.contains('.') { value * 0.25 } else { (value * 0.12).round().max(1.0) };
    let write = |value: f64| {
        if number.contains('.') { format!("{value:.3}") } else { format!("{value:.0}") }
    };
    [value + step, value - step].into_iter().filter(|it| *it > 0.0).map(write).collect()
}
