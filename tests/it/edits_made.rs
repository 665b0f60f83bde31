//! Edits of a rulebook's text: every number moved up and down, every condition widened and narrowed, every gate, clause, row and
//! choice dropped or changed, every product taken out with all that refers to it; what is always so, what is taken for known, and
//! the head.

use crate::edits_dropped::{clauses, items, without_choice, without_product};

/// One edit of a rulebook, and what was done.
pub struct Edit {
    /// The kind of the item: `figure`, `gate`; of measures, dailies, hourlies and tallies `definition`; of gates of hours and of
    /// which hours are better `hours`; of observations `known`; `drop` of a whole product.
    pub kind: &'static str,
    /// What was done, `figure hot: 90 becomes 92`.
    pub what: String,
    /// The number as it was and as it is, with its unit.
    pub moved: Option<(f64, f64, String)>,
    /// Whether it is the base that is edited, under a rulebook that is built on it.
    pub is_of_base: bool,
    /// The item, `figure hot`.
    item: String,
    change: Change,
}

enum Change {
    /// A piece of the text becomes another.
    Piece((usize, usize), String),
    /// A choice is gone, and outranked by nothing.
    Choice(String),
    /// A product is gone.
    Product(String),
}

impl Edit {
    /// Returns the edit as one of the base that other rulebooks are built on.
    pub fn of_the_base(self) -> Self {
        Self { what: format!("base, {}", self.what), is_of_base: true, ..self }
    }

    /// Returns whether a rulebook that is built on the edited one says the item anew, or not at all.
    pub fn is_hidden_by(&self, overlay: &str) -> bool {
        ["replace", "omit"].iter().any(|word| overlay.contains(&format!("\n{word} {}", self.item)))
    }

    /// Returns the edited text.
    pub fn of(&self, text: &str) -> String {
        match &self.change {
            Change::Piece((from, to), with) => format!("{}{with}{}", &text[..*from], &text[*to..]),
            Change::Choice(name) => without_choice(text, name),
            Change::Product(name) => without_product(text, name),
        }
    }

    /// Returns the text of the other rulebook, its base or built on it: it may name what is gone.
    pub fn of_other(&self, text: &str) -> String {
        match &self.change {
            Change::Product(name) => without_product(text, name),
            Change::Piece(..) | Change::Choice(_) => text.to_owned(),
        }
    }
}

/// The kinds of items that are edited, each with what it is counted as.
const KINDS: [(&str, &str); 15] = [
    ("figure", "figure"),
    ("measure", "definition"),
    ("daily", "definition"),
    ("hourly", "definition"),
    ("tally", "definition"),
    ("band", "band"),
    ("table", "table"),
    ("gate", "gate"),
    ("product", "product"),
    ("choice", "choice"),
    ("prefer", "hours"),
    ("always", "always"),
    ("observe", "known"),
    ("scale", "scale"),
    ("rulebook", "head"),
];

/// Words and what is written for them: a condition is widened or narrowed, a strength is another.
const WORDS: [(&str, &str); 22] = [
    (" at least ", " above "),
    (" above ", " at least "),
    (" at most ", " below "),
    (" below ", " at most "),
    (" and ", " or "),
    (" or ", " and "),
    ("some panicles", "all panicles"),
    ("all panicles", "some panicles"),
    ("first-open", "half-open"),
    ("petal-tips", "first-open"),
    ("petal-fall", "pinhead"),
    ("pinhead", "petal-fall"),
    ("spreading", "petal-tips"),
    ("marble", "pea"),
    ("bud-swell", "bud-burst"),
    ("egg", "grown"),
    (" is fight", " at least guard"),
    (" is guard", " at least guard"),
    (" is building", " at least building"),
    (" at full", " at reduced"),
    (" at reduced", " at full"),
    (" not ", " "),
];

/// Returns all edits of a text. Not all of them can be read.
pub fn edits(text: &str) -> Vec<Edit> {
    let mut all = Vec::new();
    for (start, end) in items(text) {
        let item = &text[start..end];
        let words: Vec<&str> = item.split_whitespace().take(3).collect();
        let at = usize::from(words.first() == Some(&"replace"));
        let (Some(kind), Some(name)) = (words.get(at), words.get(at + 1)) else { continue };
        let Some((_, counted)) = KINDS.iter().find(|(it, _)| it == kind) else { continue };
        let called = format!("{kind} {name}");
        let counted = if item.contains("in hours when") { &"hours" } else { counted };
        let mut put = |what: String, (from, to): (usize, usize), with: &str| {
            all.push(Edit {
                kind: counted,
                what: format!("{called}: {what}"),
                moved: None,
                is_of_base: false,
                item: called.clone(),
                change: Change::Piece((start + from, start + to), with.to_owned()),
            });
            all.len() - 1
        };
        let mut put_moved = Vec::new();
        let spoken = spoken(item);
        for (from, to) in numbers(item, &spoken) {
            let old = &item[from..to];
            for new in moved(old) {
                let at = put(format!("{old} becomes {new}"), (from, to), &new);
                let unit = item[to..].split(|sign: char| sign.is_whitespace() || sign == ')').nth(1);
                put_moved.push((at, old.to_owned(), new, unit.unwrap_or_default().to_owned()));
            }
        }
        for (old, new) in WORDS {
            let is_rule = |at: usize| spoken[at + 1] && !item[at..].starts_with(" or else");
            let found = item.match_indices(old).filter(|(at, _)| is_rule(*at));
            for (nth, (at, _)) in found.enumerate() {
                let what = format!("`{}` number {} becomes `{}`", old.trim(), nth + 1, new.trim());
                put(what, (at, at + old.len()), new);
            }
        }
        for (from, to) in clauses(item).into_iter().filter(|(from, _)| spoken[*from]) {
            let clause = &item[from..to];
            let word = clause.split_whitespace().next().unwrap_or_default();
            let is_row = *kind == "table" && word.starts_with(|sign: char| sign == '"' || sign.is_numeric());
            let is_level = *kind == "band" && clause.contains(" if ");
            let is_known = [
                "unless", "or", "outranks", "label", "holds", "if", "add", "reset", "lasts", "range",
                "accuracy",
            ]
            .contains(&word);
            if is_row || is_level || is_known {
                let line = clause.split_whitespace().collect::<Vec<_>>().join(" ");
                put(format!("without `{line}`"), (from, to), "");
            }
        }
        let mut at = 0;
        for line in item.split_inclusive('\n') {
            let is_part = ["and ", "or "].iter().any(|word| line.trim_start().starts_with(word));
            let is_whole = line.matches('(').count() == line.matches(')').count();
            if is_part && is_whole && spoken[at] && !line.contains("or else") {
                put(format!("without `{}`", line.trim()), (at, at + line.len()), "");
            }
            at += line.len();
        }
        match *kind {
            "gate" | "always" | "prefer" => drop(put("dropped".to_owned(), (0, item.len()), "")),
            "observe" => {
                let of = |kind: &str| item.lines().any(|it| it.split_whitespace().eq(["kind", kind]));
                let values = [("yes-no", "no"), ("share", "0 %"), ("count", "0")];
                if let Some((_, value)) = values.into_iter().find(|(kind, _)| of(kind)) {
                    let end = item.trim_end().len();
                    put(format!("with assume {value}"), (end, end), &format!("\n  assume {value}"));
                }
            }
            "product" => {
                let gate = format!(
                    "{}\ngate edit-shuts-it\n  shuts {name}\n  because \"edited\"\n  cites common-practice\n\n",
                    item.trim_end()
                );
                put("shut".to_owned(), (0, item.len()), &gate);
                if let Some(at) = item.find("\n  group ") {
                    let line = item[at + 1..].find('\n').map_or(item.len(), |end| at + 1 + end);
                    put("of another group".to_owned(), (at, line), "\n  group 99");
                }
            }
            _ => {}
        }
        for (at, old, new, unit) in put_moved {
            if let (Ok(old), Ok(new)) = (old.parse(), new.parse()) {
                all[at].moved = Some((old, new, unit));
            }
        }
        let (kind, change) = match *kind {
            "choice" => ("choice", Change::Choice((*name).to_owned())),
            "product" => ("drop", Change::Product((*name).to_owned())),
            _ => continue,
        };
        all.push(Edit {
            kind,
            what: format!("{called}: dropped"),
            moved: None,
            is_of_base: false,
            item: called,
            change,
        });
    }
    all
}

/// Returns which bytes of an item are rules: not texts, comments, sources and names.
fn spoken(item: &str) -> Vec<bool> {
    let mut spoken = Vec::with_capacity(item.len() + 1);
    let (mut in_text, mut in_comment) = (false, false);
    for byte in item.bytes() {
        in_comment = byte != b'\n' && (in_comment || (byte == b'#' && !in_text));
        in_text ^= byte == b'"' && !in_comment;
        spoken.push(!in_text && !in_comment);
    }
    spoken.push(false);
    for (from, to) in clauses(item) {
        let word = item[from..].split_whitespace().next().unwrap_or_default();
        if ["cites", "because", "ask", "how", "caution", "group", "active"].contains(&word) {
            spoken[from..to].fill(false);
        }
    }
    spoken
}

/// Returns the places of an item's numbers.
fn numbers(item: &str, spoken: &[bool]) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let bytes = item.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let before = if at == 0 { b' ' } else { bytes[at - 1] };
        if bytes[at].is_ascii_digit() && spoken[at] && (before == b' ' || before == b'(') {
            let length = item[at..].find(|sign: char| !(sign.is_ascii_digit() || sign == '.')).unwrap_or(0);
            // No clock, and nothing that goes on as a name.
            let next = bytes.get(at + length).copied().unwrap_or(b' ');
            if next != b':' && next != b'-' {
                found.push((at, at + length));
            }
            at += length.max(1);
        } else {
            at += 1;
        }
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
