//! The sheet to take along: a row for each place, a column for each question, and how to look.

use super::page::{first, gauge, head};
use super::{Asking, Look, Spot, Stop};
use crate::advice::Need;
use crate::plan::{Kind, NameId, Origin};
use crate::report::page::asked_in;
use crate::report::page::sentence;
use crate::report::paper::{Paper, Piece};
use std::collections::{BTreeMap, BTreeSet};

/// So many columns of questions stand beside one another.
const COLUMNS: usize = 5;

/// Returns the sheet of a walk.
pub fn scouting_sheet(asking: &Asking<'_>, stops: &[Stop<'_>]) -> Paper {
    let mut paper = head(asking, "look.sheet.title");
    if let Some((look, worth)) = asking.first(stops) {
        paper.field(&asking.say("look.first", &[]), vec![first(asking, &look, worth)]);
    }
    paper.pieces.push(Piece::Blanks(vec![asking.say("look.who", &[]), asking.say("look.day", &[])]));
    let looks = looks(asking, stops);
    let columns: BTreeSet<NameId> = looks.values().flatten().copied().collect();
    let columns: Vec<NameId> = columns.into_iter().collect();
    for part in columns.chunks(COLUMNS) {
        let mut head = vec![asking.say("look.column.place", &[])];
        head.extend(part.iter().map(|name| label(asking, *name)));
        let rows = looks.iter().filter(|(_, names)| part.iter().any(|name| names.contains(name)));
        let rows = rows.map(|(place, names)| {
            // A dash where nothing is asked, so that nobody looks in vain.
            let cell = |name: &NameId| if names.contains(name) { String::new() } else { "–".to_string() };
            std::iter::once(place_words(asking, *place)).chain(part.iter().map(cell)).collect()
        });
        paper.pieces.extend([Piece::Gap, Piece::Table(head, rows.collect())]);
    }
    gauge(asking, &mut paper);
    let other = others(asking, stops);
    paper.pieces.extend(other.into_iter().map(Piece::Text));
    if !columns.is_empty() {
        paper.pieces.push(Piece::Heading(asking.say("look.how.title", &[])));
        for name in &columns {
            paper.field(&label(asking, *name), vec![how(asking, *name)]);
        }
    }
    let words: Vec<(String, String)> = columns.iter().filter_map(|name| words(asking, *name)).collect();
    if !words.is_empty() {
        paper.pieces.push(Piece::Heading(asking.say("look.words.title", &[])));
        words.into_iter().for_each(|(label, words)| paper.field(&label, vec![words]));
    }
    let next = match (stops.is_empty(), asking.gauge.is_empty()) {
        (false, _) => "look.next",
        (true, true) => "look.nothing",
        (true, false) => "look.nothing.else",
    };
    paper.pieces.push(Piece::Text(asking.say(next, &[])));
    paper
}

/// Returns what is asked at each place; the trees in walking order.
fn looks(asking: &Asking<'_>, stops: &[Stop<'_>]) -> BTreeMap<Spot, BTreeSet<NameId>> {
    let mut looks: BTreeMap<Spot, BTreeSet<NameId>> = BTreeMap::new();
    for stop in stops {
        for tree in &stop.trees {
            for need in &stop.case.needs_of(&[*tree]) {
                if let Look { place, need: Need::Name(name) } = asking.look(need, *tree) {
                    looks.entry(place).or_default().insert(name);
                }
            }
        }
    }
    looks
}

/// Returns what is asked for that is no observation, each once.
fn others(asking: &Asking<'_>, stops: &[Stop<'_>]) -> Vec<String> {
    let needs = stops.iter().flat_map(|stop| &stop.case.needs);
    let other: BTreeSet<&Need> =
        needs.filter(|need| !matches!(need, Need::Name(_) | Need::OfTree(..))).collect();
    other.into_iter().map(|need| sentence(&asked_in(&asking.page(), need, false, asking.language))).collect()
}

fn place_words(asking: &Asking<'_>, place: Spot) -> String {
    match place {
        Spot::Grove => asking.say("look.grove", &[]),
        Spot::Block(block) => asking.say("look.block", &[("block", asking.block(block))]),
        Spot::Tree(tree) => asking.ground.trees.grove.trees.name(tree).to_string(),
    }
}

fn label(asking: &Asking<'_>, name: NameId) -> String {
    asking.scene.plan.names.get(name.index()).map_or_else(String::new, |name| name.label.to_string())
}

fn how(asking: &Asking<'_>, name: NameId) -> String {
    let item = asking.scene.plan.names.get(name.index());
    let Some(Origin::Observed(seen)) = item.map(|item| &item.origin) else { return String::new() };
    let parts = [seen.ask.as_ref(), seen.how.as_ref()].into_iter().flatten();
    parts.map(|text| sentence(text)).collect::<Vec<_>>().join(" ")
}

/// Returns the words of a scale with their standard codes, of a name that is seen in words.
fn words(asking: &Asking<'_>, name: NameId) -> Option<(String, String)> {
    let item = asking.scene.plan.names.get(name.index())?;
    let Kind::Words(list) = item.kind else { return None };
    let list = asking.scene.plan.word_lists.get(list.index())?;
    let word = |word: &crate::plan::Word| match word.codes {
        Some((first, last)) if first == last => format!("{} {first}", word.shown),
        Some((first, last)) => format!("{} {first}–{last}", word.shown),
        None => word.shown.to_string(),
    };
    Some((item.label.to_string(), list.words.iter().map(word).collect::<Vec<_>>().join(", ")))
}
