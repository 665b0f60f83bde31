//! The words for what differs: places, situations, verdicts that became others, items.

use super::{Compared, counted, plain};
use crate::plan::{Kind, Name, NameId, Origin};
use crate::prove::Witness;
use crate::prove::compare::items::{Change, Concern, ItemChange, ItemDirection, RowChange};
use crate::prove::compare::{Headline, VerdictTurn};
use crate::prove::space::places::{Run, Where};
use crate::report::findings;
use crate::source::Span;

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

/// Returns where a headline is so, and such as in which situation.
fn where_and_such_as(headline: &Headline) -> [(&'static str, String); 2] {
    let at_least = if headline.is_cut { "at least " } else { "" };
    let mut places: Vec<String> = headline.places.iter().map(|place| place_words(place)).collect();
    if places.iter().all(|words| words.is_empty()) {
        places = vec!["everywhere".to_owned()];
    }
    let elsewhere = match headline.elsewhere {
        0 => String::new(),
        more => format!("; and in {at_least}{}", counted(more, "more such place")),
    };
    let except = except_words(headline);
    let place = format!("{}{elsewhere}{except}", places.join("; or "));
    [("where", place), ("such as", situation_words(&headline.situation))]
}

impl Compared<'_> {
    /// Returns the lines of a headline: where it is so, such as in which situation, and what its names stand for.
    pub(super) fn headline_lines(&self, headline: &Headline) -> Vec<(&'static str, String)> {
        let redefined = |name: &str| self.comparison.redefined.iter().any(|it| it.name == name);
        let stands_for = |(_, name): (NameId, &Name)| match &name.origin {
            Origin::Measure(measure) if name.kind == Kind::YesNo && !redefined(&name.word) => {
                let is_told = headline.situation.values.contains_key(&*name.word);
                let text = plain(self.sources.words(measure.expr.span));
                is_told.then(|| ("that is", format!("{}: {text}", name.word)))
            }
            _ => None,
        };
        let names = self.plans[1].named().filter(|(_, name)| !name.hidden).filter_map(stands_for);
        where_and_such_as(headline).into_iter().chain(names).collect()
    }
}

/// Returns what a headline is of: its causes, and one change of verdict that they make.
pub(super) fn heading(headline: &Headline, items: &[ItemChange]) -> String {
    let more = match headline.turns.len() {
        0 | 1 => String::new(),
        count => format!(", and {}", counted(count - 1, "more change")),
    };
    let VerdictTurn { was, now, .. } = &headline.lead;
    let shut = was_shut(&headline.lead).map_or(String::new(), |words| format!(" ({words})"));
    let moved = |figure: &String| {
        let item = items.iter().find(|it| it.item == format!("figure {figure}"))?;
        let (was, now) = item.written.as_ref()?;
        Some(format!("`{figure}` {was} → {now}"))
    };
    let figures: Vec<String> = headline.figures.iter().filter_map(moved).collect();
    let figures = if figures.is_empty() { String::new() } else { format!(" ({})", figures.join(", ")) };
    format!("{}{figures}: {was} → {now}{shut}{more}", causes(&headline.because_of))
}

/// Returns which way a verdict moved, and what of it was shut before.
pub(super) fn direction_words(turn: &VerdictTurn) -> String {
    let way = turn.words();
    was_shut(turn).map_or(way.to_owned(), |words| format!("{way}; {words}"))
}

fn was_shut(turn: &VerdictTurn) -> Option<String> {
    let products: Vec<&str> = turn.was_shut.iter().map(|(product, _)| &**product).collect();
    let was = if products.len() == 1 { "was" } else { "were" };
    (!products.is_empty()).then(|| format!("{} {was} shut here", products.join(" and ")))
}

/// Returns who decides otherwise, in words that follow a place: `, except where \`keep-watching\` decides`. A choice is no
/// exception to itself: where it decides and comes to something else, that is told of its own.
fn except_words(headline: &Headline) -> String {
    let except = &headline.except;
    if except.is_empty() {
        return String::new();
    }
    let is_cause = |it: &&String| headline.because_of.contains(&format!("choice {it}"));
    let (own, others): (Vec<&String>, Vec<&String>) = except.choices.iter().partition(is_cause);
    let mut choices: Vec<String> = others.into_iter().map(|it| format!("`{it}`")).collect();
    choices.extend(except.others.then(|| "others".to_owned()));
    let decide = if except.others { "decide" } else { "decides" };
    let mut clauses = Vec::new();
    if let Some((last, before)) = choices.split_last() {
        let list = if before.is_empty() { last.clone() } else { format!("{} or {last}", before.join(", ")) };
        clauses.push(format!("{list} {decide}"));
    }
    clauses.extend(except.all_shut.then(|| "all is shut".to_owned()));
    clauses.extend(except.uncovered.then(|| "no choice holds".to_owned()));
    clauses.extend(
        (!own.is_empty()).then(|| "more than this plays a part, or nothing changes by it".to_owned()),
    );
    format!(", except where {}", clauses.join(", or "))
}

fn situation_words(situation: &Witness) -> String {
    let problem = crate::problems::Problem {
        situation: situation.values.clone(),
        ..crate::problems::Problem::new(crate::problems::Finding::Gap, Span::default(), "")
    };
    let words = findings::situation(&problem).unwrap_or_else(|| "any situation".to_owned());
    if situation.shared.is_empty() {
        words
    } else {
        format!("{words} (on paper: several come from {})", situation.shared.join(", "))
    }
}

/// Returns which rows of a table differ: `"Palmer" added, low; "Kent" moderate becomes high; "Zill" dropped, was high`.
pub(super) fn rows_words(rows: &[RowChange]) -> String {
    let one = |row: &RowChange| match (&row.was, &row.now) {
        (None, now) => format!("{} added, {}", row.key, now.as_deref().unwrap_or_default()),
        (Some(was), None) => format!("{} dropped, was {was}", row.key),
        (Some(was), Some(now)) => format!("{} {was} becomes {now}", row.key),
    };
    rows.iter().map(one).collect::<Vec<String>>().join("; ")
}

fn causes(because_of: &[String]) -> String {
    match because_of {
        [] => "the rulebook".to_owned(),
        some => some.iter().map(|it| format!("`{it}`")).collect::<Vec<_>>().join(" and "),
    }
}

/// Returns how an item differs, beside what it says.
pub(super) fn in_short(it: &ItemChange) -> String {
    let says = match (it.change, it.direction, it.concern) {
        (Change::Changed, Some(ItemDirection::Looser), Concern::ReEntry) => "looser: people may go in sooner",
        (Change::Changed, Some(ItemDirection::Stricter), Concern::ReEntry) => {
            "stricter: people stay out longer"
        }
        (Change::Changed, Some(direction), _) => direction.words(),
        (Change::Changed, None, _) if it.is_weakened() => "changed, and not shown to be as strict",
        (Change::Changed, None, _) if it.written.is_some() => "",
        (Change::Changed, None, _) => "changed",
        (Change::Otherwise, ..) => "written otherwise, and means the same",
        (Change::Words, ..) => "other words only",
        (Change::Sources, ..) => "other sources",
        (Change::Added, Some(ItemDirection::FewerHours), _) => "added: fewer hours",
        (Change::Omitted, Some(ItemDirection::MoreHours), _) => "omitted: more hours",
        (Change::Added, ..) => "added",
        (Change::Omitted, ..) => "omitted",
        (Change::Renamed, ..) => "renamed, and means the same",
    };
    says.to_owned()
}

/// Returns an item with how it differs: `figure hot: 90 °F becomes 88 °F`.
pub(super) fn item_line(it: &ItemChange) -> String {
    if !it.rows.is_empty() {
        return format!("{}: {}", it.item, rows_words(&it.rows));
    }
    match &it.written {
        Some((was, now)) => match it.direction {
            Some(_) => format!("{}: {was} becomes {now}, {}", it.item, in_short(it)),
            None => format!("{}: {was} becomes {now}", it.item),
        },
        None => format!("{}: {}", it.item, in_short(it)),
    }
}
