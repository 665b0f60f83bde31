//! Two rulebooks compared: as text, as JSON, and as Markdown for a review comment.
//!
//! Comes in: a [`Comparison`] with the two plans and their texts. Goes out: pages. Knows no terminal.

use super::filling::{filled, paragraph};
use super::lines::wrapped;
use crate::plan::{Plan, ProductId};
use crate::prove::Witness;
use crate::prove::differences::{Comparison, Direction, Except, Headline, Region, Said, Turn};
use crate::prove::items::{Change, ItemChange, ItemDirection};
use crate::prove::places::{Run, Where};
use crate::source::{Sources, Span};
use crate::trace::Verdict;
use serde_json::{Value, json};
use std::cmp::Ordering;
use std::collections::BTreeSet;
use textwrap::core::display_width;

/// The name of the JSON form.
pub const FORMAT: &str = "bloomward.comparison/1";
/// How many headlines a page has; the changes of verdict of the rest are named.
const HEADLINES: usize = 12;
/// The width from which on was and now stand side by side.
const WIDE: usize = 60;
/// How many changed items a page lists.
const ITEMS: usize = 40;

/// A tree of a grove whose verdict differs.
#[derive(Clone, Debug)]
pub struct TreeChange {
    /// The grove.
    pub grove: String,
    /// The tree.
    pub tree: String,
    /// What the old rulebook says, in words.
    pub was: String,
    /// What the new one says.
    pub now: String,
    /// The places of the regions that it is in for sure, in the comparison's list.
    pub regions: Vec<usize>,
}

/// All that a page about two rulebooks needs.
#[derive(Clone, Copy, Debug)]
pub struct Compared<'a> {
    /// How they differ.
    pub comparison: &'a Comparison,
    /// The old plan and the new one.
    pub plans: [&'a Plan; 2],
    /// What the two are called.
    pub names: [&'a str; 2],
    /// Their texts.
    pub sources: &'a Sources,
    /// Groves that were looked at, with how many trees each has.
    pub groves: &'a [(String, usize)],
    /// The trees whose verdict differs.
    pub trees: &'a [TreeChange],
}

impl Compared<'_> {
    /// Returns the sentence that sums it up.
    pub fn summary(&self) -> String {
        let comparison = self.comparison;
        if comparison.spent {
            return "Not decided: there are too many situations to compare within the budget. Nothing is said of what \
                    is the same."
                .to_owned();
        }
        let meant = comparison.items.iter().filter(|it| it.in_meaning()).count();
        if comparison.same_verdicts {
            let certified = if comparison.certified.is_some() {
                "The same verdicts and doses in groves that are not certified organic, proved; other ones in certified groves"
            } else {
                "The same verdicts and doses in every situation, proved"
            };
            let mut parts = vec![certified.to_owned()];
            let hours = self.of_hours();
            if meant > hours {
                parts.push(format!("{} changed in meaning", counted(meant - hours, "item")));
            }
            parts.extend(self.beside());
            return parts.join("; ") + ".";
        }
        let turns = &comparison.turns;
        let of = |it: Direction| turns.iter().filter(|turn| turn.direction == it).count();
        let ways = Direction::ALL.into_iter().map(|it| (it, of(it))).filter(|(_, count)| *count > 0);
        let ways: Vec<String> = match turns.len() {
            1 => ways.map(|(it, _)| it.words().to_owned()).collect(),
            _ => ways.map(|(it, count)| format!("{} ({count})", it.words())).collect(),
        };
        let mut parts = vec![format!("{}: {}", ways.join(", "), changes(turns.len()))];
        if !turns.iter().any(|turn| turn.sprays == [false, true]) {
            parts.push("no tree is sprayed that was not".to_owned());
        }
        parts.extend(self.beside());
        let text = parts.join("; ") + ".";
        let mut signs = text.chars();
        signs.next().map_or(String::new(), |first| first.to_uppercase().chain(signs).collect())
    }

    /// Returns how many items move hours: gates of hours, and which hours are better.
    fn of_hours(&self) -> usize {
        let of_hours = |name: &str| {
            let gates = self.plans.iter().flat_map(|plan| &plan.gates);
            let mut gates = gates.filter(|gate| gate.hours.is_some());
            name.starts_with("prefer ") || gates.any(|gate| name.strip_prefix("gate ") == Some(&*gate.name))
        };
        self.comparison.items.iter().filter(|it| it.in_meaning() && of_hours(&it.item)).count()
    }

    /// Returns what differs beside verdicts and doses: hours, and words.
    fn beside(&self) -> Vec<String> {
        let hours = self.of_hours();
        let words = self.comparison.items.iter().filter(|it| it.change == Change::Words).count();
        let said =
            |count: usize, what: &str| (count > 0).then(|| format!("{what} in {}", counted(count, "item")));
        said(hours, "another hour").into_iter().chain(said(words, "other words")).collect()
    }

    /// Returns the page as text of which no line is longer than the width.
    pub fn text(&self, width: usize) -> String {
        let mut out = paragraph(&format!("{} compared with {}", self.names[0], self.names[1]), width);
        out += &paragraph(&self.summary(), width);
        for (at, headline) in self.comparison.headlines.iter().take(HEADLINES).enumerate() {
            out += "\n";
            let number = format!("{}. ", at + 1);
            let lines = filled(&causes(&headline.because_of), &number, "   ", width);
            out += &joined(lines);
            for (label, words) in headline_lines(headline) {
                out += &joined(filled(&words, &format!("   {label:<9}"), "            ", width));
            }
            out += &turns_text(&headline.turns, width);
        }
        for words in self.redefined() {
            out += &format!("\n{}", paragraph(&words, width));
        }
        let left = self.unnamed();
        if !left.is_empty() {
            out += &format!("\n{}", paragraph("Elsewhere also", width));
            out += &turns_text(&left, width);
        }
        if !self.comparison.items.is_empty() {
            out += "\nItems\n";
            for it in self.comparison.items.iter().take(ITEMS) {
                out += &joined(filled(&item_line(it), "  ", "    ", width));
            }
            let left = self.comparison.items.len().saturating_sub(ITEMS);
            if left > 0 {
                out += &paragraph(&format!("  {left} more are in the JSON."), width);
            }
        }
        for (grove, trees) in self.groves {
            let here: Vec<&TreeChange> = self.trees.iter().filter(|it| it.grove == *grove).collect();
            out += "\n";
            out += &paragraph(
                &format!("{grove}: {} of {trees} trees are decided otherwise today", here.len()),
                width,
            );
            for (change, trees) in by_change(&here) {
                out += &joined(filled(&format!("{change}: {}", trees.join(", ")), "  ", "    ", width));
            }
        }
        for line in self.certified_turns() {
            out += &joined(filled(&line, "", "  ", width));
        }
        out += "\n";
        let next = if self.comparison.same {
            "Next: nothing to look at in the decisions."
        } else if self.comparison.same_verdicts {
            "Next: read the items that changed in meaning; the verdicts are the same."
        } else if self.groves.is_empty() {
            "Next: read each change above, or add --on GROVE to see whose trees it touches."
        } else {
            "Next: read each change above."
        };
        out + &paragraph(next, width)
    }

    /// Returns what becomes of verdicts in groves that are certified organic, a heading and a line each.
    fn certified_turns(&self) -> Vec<String> {
        let Some(certified) = &self.comparison.certified else { return Vec::new() };
        if certified.spent {
            return vec![
                "In certified organic groves: not decided, there are too many situations.".to_owned(),
            ];
        }
        let line = |turn: &Turn| format!("  {} becomes {} ({})", turn.was, turn.now, turn.direction.words());
        let lines = certified.turns.iter().map(line);
        std::iter::once("In certified organic groves".to_owned()).chain(lines).collect()
    }

    /// Returns the page as Markdown.
    pub fn markdown(&self) -> String {
        let mut out = format!("### `{}` → `{}`\n\n**{}**\n", self.names[0], self.names[1], self.summary());
        for headline in self.comparison.headlines.iter().take(HEADLINES) {
            out += &format!("\n#### {}\n\n", causes(&headline.because_of));
            for (label, words) in headline_lines(headline) {
                out += &format!("* {label}: {words}\n");
            }
            out += &turns_table(&headline.turns);
        }
        for words in self.redefined() {
            out += &format!("\n{words}\n");
        }
        let left = self.unnamed();
        if !left.is_empty() {
            out += &format!("\n#### Elsewhere also\n{}", turns_table(&left));
        }
        if !self.comparison.items.is_empty() {
            out += "\n<details><summary>Items</summary>\n\n";
            for it in &self.comparison.items {
                out += &format!("* {}\n", item_line(it));
            }
            out += "\n</details>\n";
        }
        for (at, line) in self.certified_turns().iter().enumerate() {
            out += &if at == 0 { format!("\n**{line}**\n\n") } else { format!("* {}\n", line.trim_start()) };
        }
        for (grove, trees) in self.groves {
            let here: Vec<&TreeChange> = self.trees.iter().filter(|it| it.grove == *grove).collect();
            out += &format!("\n**{grove}**: {} of {trees} trees are decided otherwise today.\n", here.len());
            for (change, trees) in by_change(&here) {
                out += &format!("* {change}: {}\n", trees.join(", "));
            }
        }
        out
    }

    /// Returns how the names of which a page speaks, and which are defined otherwise, stand to what they were.
    fn redefined(&self) -> Vec<String> {
        let places = self.comparison.headlines.iter().take(HEADLINES).flat_map(|it| &it.places).flatten();
        let told: BTreeSet<&str> = places.filter(|it| it.is_redefined).map(|it| &*it.name).collect();
        let named = self.comparison.redefined.iter().filter(|it| told.contains(&*it.name));
        let mut lines: Vec<String> = named
            .map(|it| {
                let follows = match it.order {
                    Some(Ordering::Greater) if it.is_yes_no => "it is yes wherever it was yes",
                    Some(Ordering::Less) if it.is_yes_no => "it is no wherever it was no",
                    None if it.is_yes_no => "it may be yes where it was no, and no where it was yes",
                    Some(Ordering::Greater) => "it is never lower than it was",
                    Some(Ordering::Less) => "it is never higher than it was",
                    Some(Ordering::Equal) => "it is what it was",
                    None => "it may be higher or lower than it was, so either way is told",
                };
                format!("`{}` is defined otherwise: {follows}.", it.name)
            })
            .collect();
        lines.sort();
        lines
    }

    /// Returns the changes of verdict that are in no headline of a page.
    fn unnamed(&self) -> Vec<Turn> {
        let named = |turn: &Turn| {
            self.comparison.headlines.iter().take(HEADLINES).any(|headline| headline.turns.contains(turn))
        };
        self.comparison.turns.iter().filter(|turn| !named(turn)).cloned().collect()
    }

    /// Returns the whole comparison as JSON.
    pub fn json(&self) -> Value {
        let regions: Vec<Value> =
            self.comparison.regions.iter().enumerate().map(|(at, region)| self.region(at, region)).collect();
        let items: Vec<Value> = self.comparison.items.iter().map(|it| self.item(it)).collect();
        let headlines: Vec<Value> = self.comparison.headlines.iter().flat_map(headline_json).collect();
        let trees: Vec<Value> = self
            .trees
            .iter()
            .map(|it| json!({ "grove": it.grove, "tree": it.tree, "was": it.was, "now": it.now }))
            .collect();
        json!({
            "format": FORMAT,
            "same": self.comparison.same,
            "same_verdicts": self.comparison.same_verdicts,
            "summary": self.summary(),
            "changes": self.comparison.turns.iter().map(turn_json).collect::<Vec<_>>(),
            "headlines": headlines,
            "regions": regions,
            "more_regions": !self.comparison.cut.is_empty(),
            "cut": self.comparison.cut.iter().map(turn_json).collect::<Vec<_>>(),
            "certified_organic": self.comparison.certified.as_deref().map(|certified| {
                let of = |region: &Region| {
                    let mut region = self.region(usize::MAX, region);
                    region["trees"] = json!([]);
                    region
                };
                json!({
                    "changes": certified.turns.iter().map(turn_json).collect::<Vec<_>>(),
                    "regions": certified.regions.iter().map(of).collect::<Vec<_>>(),
                    "more_regions": !certified.cut.is_empty(),
                    "not_decided": certified.spent,
                })
            }),
            "items": items,
            "trees": trees,
            "unconfirmed": self.comparison.unconfirmed,
            "not_decided": self.comparison.spent,
        })
    }

    fn region(&self, at: usize, region: &Region) -> Value {
        let trees = self.trees.iter().filter(|it| it.regions.contains(&at));
        json!({
            "where": region.place.iter().map(place_json).collect::<Vec<_>>(),
            "was": self.said(0, &region.was),
            "now": self.said(1, &region.now),
            "kind": region.direction.words(),
            "because_of": region.because_of,
            "situation": region.situation.values,
            "certainty": if region.situation.shared.is_empty() { "seen" } else { "on paper" },
            "shared": region.situation.shared,
            "trees": trees.map(|it| json!({ "grove": it.grove, "tree": it.tree })).collect::<Vec<_>>(),
        })
    }

    fn said(&self, book: usize, said: &Said) -> Value {
        let plan = self.plans[book];
        let first = said.choices.first();
        let choice = first.and_then(|name| plan.choices.iter().find(|it| *it.name == **name));
        let spray: Vec<Value> = match &said.is {
            Verdict::Spray(doses) => doses.iter().map(|dose| dose_json(plan, *dose)).collect(),
            _ => Vec::new(),
        };
        json!({
            "verdict": said.is.word(),
            "spray": spray,
            "choice": first,
            "choices": said.choices,
            "at": choice.map(|it| self.sources.locate(it.span)),
        })
    }

    fn item(&self, it: &ItemChange) -> Value {
        let text = |span: Option<Span>| span.map(|span| plain(self.sources.words(span)));
        let (was, now) = match &it.written {
            Some((was, now)) => (Some(was.clone()), Some(now.clone())),
            None => (text(it.was), text(it.now)),
        };
        json!({
            "item": it.item, "change": it.change.word(), "was": was, "now": now,
            "in_meaning": it.in_meaning(), "direction": it.direction.map(ItemDirection::words),
            "was_at": it.was.map(|span| self.sources.locate(span)),
            "now_at": it.now.map(|span| self.sources.locate(span)),
        })
    }
}

fn dose_json(plan: &Plan, (product, at): (ProductId, u8)) -> Value {
    let of = plan.products.get(product.index());
    let strength = of.and_then(|product| product.strengths.get(usize::from(at)));
    json!({
        "product": of.map(|it| it.name.to_string()),
        "strength": strength.map(|it| it.name.to_string()),
        "amount": strength.map(|it| it.amount.written.to_string()),
    })
}

fn place_json(place: &Where) -> Value {
    let run = |run: &Run| {
        let mut parts = serde_json::Map::new();
        let mut end = |ends: &Option<(String, bool)>, closed: &str, open: &str| {
            if let Some((words, counts)) = ends {
                parts.insert((if *counts { closed } else { open }).to_owned(), Value::from(words.clone()));
            }
        };
        end(&run.from, "from", "above");
        end(&run.to, "to", "below");
        if let Some(is) = &run.is {
            parts.insert("is".to_owned(), Value::from(is.clone()));
        }
        parts
    };
    let mut out = serde_json::Map::new();
    out.insert("name".to_owned(), Value::from(place.name.clone()));
    if place.is_redefined {
        out.insert("of".to_owned(), Value::from(if place.book == 0 { "old" } else { "new" }));
    }
    match &place.runs[..] {
        [one] => out.extend(run(one)),
        several => {
            let all: Vec<Value> = several.iter().map(|it| Value::Object(run(it))).collect();
            out.insert("any_of".to_owned(), Value::from(all));
        }
    }
    Value::Object(out)
}

/// Returns a place in words: `stage from first-open to full-bloom, fruit-set below 5`.
pub fn place_words(place: &[Where]) -> String {
    let one = |place: &Where| {
        let runs: Vec<String> = place.runs.iter().map(run_words).filter(|words| !words.is_empty()).collect();
        let name = match (place.is_redefined, place.book) {
            (false, _) => place.name.clone(),
            (true, 0) => format!("{} (was)", place.name),
            (true, _) => format!("{} (now)", place.name),
        };
        if runs.is_empty() { name } else { format!("{name} {}", runs.join(" or ")) }
    };
    place.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn run_words(run: &Run) -> String {
    match (&run.from, &run.to, &run.is) {
        (_, _, Some(is)) => is.clone(),
        (Some((from, true)), Some((to, true)), None) if from == to => from.clone(),
        (Some((from, lower)), Some((to, upper)), None) => {
            let from = if *lower { format!("from {from}") } else { format!("above {from}") };
            let to = match (lower, upper) {
                (_, true) => format!("to {to}"),
                (true, false) => format!("to below {to}"),
                (false, false) => format!("and below {to}"),
            };
            format!("{from} {to}")
        }
        (Some((from, closed)), None, None) => {
            format!("{} {from}", if *closed { "at least" } else { "above" })
        }
        (None, Some((to, closed)), None) => format!("{} {to}", if *closed { "at most" } else { "below" }),
        (None, None, None) => String::new(),
    }
}

fn headline_lines(headline: &Headline) -> Vec<(&'static str, String)> {
    let mut places: Vec<String> = headline.places.iter().map(|place| place_words(place)).collect();
    if places.iter().all(|words| words.is_empty()) {
        places = vec!["everywhere".to_owned()];
    }
    let elsewhere = match headline.elsewhere {
        0 => String::new(),
        more => format!("; and in {}", counted(more, "more such place")),
    };
    let except = except_words(&headline.except);
    let place = format!("{}{elsewhere}{except}", places.join("; or "));
    vec![("where", place), ("such as", situation_words(&headline.situation))]
}

/// Returns who decides otherwise, in words that follow a place: `, except where \`keep-watching\` decides`.
fn except_words(except: &Except) -> String {
    if except.is_empty() {
        return String::new();
    }
    let mut choices: Vec<String> = except.choices.iter().map(|it| format!("`{it}`")).collect();
    choices.extend(except.others.then(|| "others".to_owned()));
    let decide = if except.others { "decide" } else { "decides" };
    let mut clauses = Vec::new();
    if let Some((last, before)) = choices.split_last() {
        let list = if before.is_empty() { last.clone() } else { format!("{} or {last}", before.join(", ")) };
        clauses.push(format!("{list} {decide}"));
    }
    clauses.extend(except.all_shut.then(|| "all is shut".to_owned()));
    clauses.extend(except.uncovered.then(|| "no choice holds".to_owned()));
    format!(", except where {}", clauses.join(", or "))
}

/// Returns what becomes of verdicts, was and now side by side where there is room.
fn turns_text(turns: &[Turn], width: usize) -> String {
    let now = |turn: &Turn| format!("{} ({})", turn.now, turn.direction.words());
    let mut out = String::new();
    if width < WIDE {
        for turn in turns {
            out += &joined(filled(&turn.was, "   was      ", "            ", width));
            out += &joined(filled(&now(turn), "   now      ", "            ", width));
        }
    } else {
        let column = (width - 5) / 2;
        let mut row = |was: &str, now: &str| {
            let (was, now) = (wrapped(was, column, column), wrapped(now, column, column));
            for at in 0..was.len().max(now.len()) {
                let of = |lines: &[String]| lines.get(at).cloned().unwrap_or_default();
                let (was, now) = (of(&was), of(&now));
                let gap = " ".repeat(column.saturating_sub(display_width(&was)));
                out += format!("   {was}{gap}  {now}").trim_end();
                out += "\n";
            }
        };
        row("was", "now");
        turns.iter().for_each(|turn| row(&turn.was, &now(turn)));
    }
    out
}

fn turns_table(turns: &[Turn]) -> String {
    let row = |turn: &Turn| format!("| {} | {} | {} |\n", turn.was, turn.now, turn.direction.words());
    format!("\n| was | now | |\n| --- | --- | --- |\n{}", turns.iter().map(row).collect::<String>())
}

fn turn_json(turn: &Turn) -> Value {
    json!({ "was": turn.was, "now": turn.now, "kind": turn.direction.words() })
}

/// Returns a headline as JSON: one for each change of verdict.
fn headline_json(it: &Headline) -> Vec<Value> {
    let place = |place: &Vec<Where>| place.iter().map(place_json).collect::<Vec<Value>>();
    let places: Vec<Vec<Value>> = it.places.iter().map(place).collect();
    let turn = |turn: &Turn| {
        json!({
            "because_of": it.because_of, "was": turn.was, "now": turn.now, "kind": turn.direction.words(),
            "where": places.first(), "places": places, "elsewhere": it.elsewhere,
            "except": !it.except.is_empty(), "except_by": it.except.choices, "situation": it.situation.values,
        })
    };
    it.turns.iter().map(turn).collect()
}

fn situation_words(situation: &Witness) -> String {
    let problem = crate::problems::Problem {
        situation: situation.values.clone(),
        ..crate::problems::Problem::new(crate::problems::Finding::Gap, Span::default(), "")
    };
    let words = super::findings::situation(&problem).unwrap_or_else(|| "any situation".to_owned());
    if situation.shared.is_empty() {
        words
    } else {
        format!("{words} (on paper: several come from {})", situation.shared.join(", "))
    }
}

fn causes(because_of: &[String]) -> String {
    match because_of {
        [] => "the rulebook".to_owned(),
        some => some.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(" and "),
    }
}

fn item_line(it: &ItemChange) -> String {
    let says = match it.change {
        Change::Changed => "changed",
        Change::Otherwise => "written otherwise, and means the same",
        Change::Words => "other words only",
        Change::Sources => "other sources",
        Change::Added => "added",
        Change::Omitted => "omitted",
        Change::Renamed => "renamed, and means the same",
    };
    match &it.written {
        Some((was, now)) => format!("{}: {was} becomes {now}", it.item),
        None => format!("{}: {says}", it.item),
    }
}

/// Groups the trees of one grove by what becomes of them.
fn by_change(trees: &[&TreeChange]) -> Vec<(String, Vec<String>)> {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for it in trees {
        let change = format!("{} becomes {}", it.was, it.now);
        match groups.iter_mut().find(|(known, _)| *known == change) {
            Some((_, list)) => list.push(it.tree.clone()),
            None => groups.push((change, vec![it.tree.clone()])),
        }
    }
    groups
}

/// Returns an item's text with single blanks and without comments.
fn plain(text: &str) -> String {
    let lines = text.lines().map(|line| line.split(" #").next().unwrap_or_default());
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn joined(lines: Vec<String>) -> String {
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}

fn changes(count: usize) -> String {
    if count == 1 { "1 change of verdict".to_owned() } else { format!("{count} changes of verdict") }
}

fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}
