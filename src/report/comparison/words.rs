//! The words for what differs: places, situations, verdicts that became others, items.

use super::{Compared, plain};
use crate::plan::{Kind, Name, NameId, Origin};
use crate::prove::Witness;
use crate::prove::compare::items::{Change, Concern, ItemChange, ItemDirection};
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

/// Returns where a headline is so: the widest parts of it, as many as fit into so many signs, and how many there are besides.
pub(super) fn where_words(headline: &Headline, signs: usize) -> String {
    let at_least = if headline.is_cut { "at least " } else { "" };
    let mut places: Vec<String> = headline.places.iter().map(|place| place_words(place)).collect();
    if places.iter().all(|words| words.is_empty()) {
        places = vec!["everywhere".to_owned()];
    }
    let mut said = 0;
    let mut fits = |words: &String| {
        said += words.chars().count();
        said <= signs
    };
    let shown = places.iter().take_while(|words| fits(words)).count().max(1);
    let elsewhere = match headline.elsewhere + places.len() - shown {
        0 => String::new(),
        more => format!("; and in {at_least}{}", counted(more, "more such place")),
    };
    format!("{}{elsewhere}", places[..shown].join("; or "))
}

/// Returns a situation of a headline with both decisions.
pub(super) fn such_words(headline: &Headline) -> String {
    let [was, now] = &headline.lead.short;
    format!("{}: {was} → {now}", situation_words(&headline.situation))
}

impl Compared<'_> {
    /// Returns what the names of a headline's place stand for.
    pub(super) fn stands_for(&self, headline: &Headline) -> Vec<(&'static str, String)> {
        let redefined = |name: &str| self.comparison.redefined.iter().any(|it| it.name == name);
        let is_told = |name: &str| headline.places.iter().flatten().any(|it| it.name == name);
        let stands_for = |(_, name): (NameId, &Name)| match &name.origin {
            Origin::Measure(measure) if name.kind == Kind::YesNo && !redefined(&name.word) => {
                let text = plain(self.sources.words(measure.expr.span));
                is_told(&name.word).then(|| ("that is", format!("{}: {text}", name.word)))
            }
            _ => None,
        };
        self.plans[1].named().filter(|(_, name)| !name.hidden).filter_map(stands_for).collect()
    }
}

/// Returns which way a verdict moved, and what of it was shut before.
pub(super) fn direction_words(turn: &VerdictTurn) -> String {
    let products: Vec<&str> = turn.was_shut.iter().map(|(product, _)| &**product).collect();
    let was = if products.len() == 1 { "was" } else { "were" };
    let shut = format!("; {} {was} shut here", products.join(" and "));
    format!("{}{}", turn.words(), if products.is_empty() { "" } else { &shut })
}

/// Returns the name of an item as a page writes it.
pub(super) fn named(item: &str) -> String {
    format!("`{}`", item.replace('`', "'"))
}

/// Returns a list in words: `a, b and c`.
pub(super) fn listed(all: &[String]) -> String {
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => all.concat(),
    }
}

pub(super) fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}

/// Returns a text of at most so many signs, cut at a blank.
pub(super) fn shortened(text: &str, signs: usize) -> String {
    if text.chars().count() <= signs {
        return text.to_owned();
    }
    let start: String = text.chars().take(signs).collect();
    let end = start.rfind(' ').filter(|end| *end > signs / 2).unwrap_or(start.len());
    format!("{} …", start.get(..end).unwrap_or_default())
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
