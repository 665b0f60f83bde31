//! The page of what to look at.

use super::{Asking, Look, OpenSheet, Spot, Stop, Worth, due_again};
use crate::advice::Need;
use crate::grove::UnitSystem;
use crate::report::page::{asked, questions_of, safe_in_shed, thens};
use crate::report::paper::{Paper, Piece};
use chrono::NaiveDate;

/// Returns the page of what to look at.
pub fn ask_paper(asking: &Asking<'_>, stops: &[Stop<'_>]) -> Paper {
    let mut paper = head(asking, "look.title");
    if let Some((look, worth)) = asking.first(stops) {
        paper.field(&asking.say("look.first", &[]), vec![first(asking, &look, worth)]);
    }
    gauge(asking, &mut paper);
    weather(asking, stops, &mut paper);
    sheets(asking, &mut paper);
    for stop in stops {
        // The hours that are missing are asked for once, above.
        if stop.case.needs_of(&stop.trees).iter().all(|need| *need == Need::Weather) {
            continue;
        }
        paper.pieces.push(Piece::Heading(asking.page().ranges(&stop.trees)));
        if let Some(until) = stop.keep_out_until {
            let until = asking.scene.words().moment(until);
            let words = asking.say("look.keep-out.words", &[("until", &until)]);
            paper.field(&asking.say("look.keep-out", &[]), vec![words]);
        }
        let needs = &stop.case.needs_of(&stop.trees);
        let values = asking.page().values(&stop.trees);
        let question = |(need, words): (&Need, String)| {
            let place = stop.trees.first().map(|tree| asking.look(need, *tree).place);
            match place {
                Some(place @ (Spot::Grove | Spot::Block(_))) if matches!(need, Need::Name(_)) => {
                    format!("{words} ({})", spot(asking, place))
                }
                _ => words,
            }
        };
        paper.field(
            &asking.say("look.at", &[]),
            questions_of(&asking.page(), (stop.case, &values), needs)
                .into_iter()
                .filter(|(need, _)| **need != Need::Weather)
                .map(question)
                .collect(),
        );
        let mut then = thens(&asking.page(), stop.case);
        if then.is_empty() {
            then.push(asking.say("look.then.together", &[]));
        }
        paper.field(&asking.say("look.then", &[]), then);
        if let Some((label, words)) = safe_in_shed(&asking.page(), stop.case) {
            paper.field(&label, vec![words]);
        }
    }
    again(asking, stops, &mut paper);
    if stops.is_empty() {
        let nothing = if asking.gauge.is_empty() { "look.nothing" } else { "look.nothing.else" };
        paper.pieces.push(Piece::Text(asking.say(nothing, &[])));
    }
    let next = if stops.is_empty() { "look.next.nothing" } else { "look.next" };
    paper.pieces.push(Piece::Text(asking.say(next, &[])));
    paper
}

/// Returns a paper with its head.
pub(super) fn head(asking: &Asking<'_>, title: &str) -> Paper {
    let as_of = asking.advice.as_of;
    let mut under = vec![asking.facts.grove.to_string(), asking.scene.words().moment(as_of)];
    let away = (asking.facts.now - as_of).num_minutes().abs();
    if asking.facts.now.date_naive() != as_of.date_naive() || away > 60 {
        let (then, now) = (asking.scene.words().moment(as_of), asking.scene.words().moment(asking.facts.now));
        under.push(asking.say("day.not-today", &[("as-of", &then), ("now", &now)]));
    }
    Paper { title: asking.say(title, &[]), under, pieces: Vec::new() }
}

/// Asks for the rain of days that was only forecast.
pub(super) fn gauge(asking: &Asking<'_>, paper: &mut Paper) {
    if asking.gauge.is_empty() {
        return;
    }
    let rain = match asking.ground.trees.grove.units {
        UnitSystem::Us => "0.2 in",
        UnitSystem::Metric => "5 mm",
    };
    let question = |day: &NaiveDate| {
        let (words, iso) = (asking.scene.words().day(*day), day.to_string());
        let is_over = *day < asking.advice.as_of.date_naive();
        let key = if is_over { "look.gauge.words" } else { "look.gauge.words.so-far" };
        asking.say(key, &[("day", &words), ("iso", &iso), ("rain", rain)])
    };
    paper.field(&asking.say("look.gauge", &[]), asking.gauge.iter().map(question).collect());
}

/// Asks once for the hours that the weather lacks, with how many trees wait for them.
pub(super) fn weather(asking: &Asking<'_>, stops: &[Stop<'_>], paper: &mut Paper) {
    let waits = |stop: &&Stop<'_>| stop.case.needs_of(&stop.trees).contains(&Need::Weather);
    let waiting: usize = stops.iter().filter(waits).map(|stop| stop.trees.len()).sum();
    if waiting > 0 {
        let trees = asking.scene.language.trees(waiting);
        paper.field(
            &asking.say("look.weather", &[]),
            vec![asking.say("look.weather.words", &[("trees", &trees)])],
        );
    }
}

/// Asks whether the sheets of days that are over were sprayed, of which the log knows nothing; those of one day together.
pub(super) fn sheets(asking: &Asking<'_>, paper: &mut Paper) {
    let one_day = asking.sheets.chunk_by(|one, other| one.day == other.day);
    let question = |sheets: &[OpenSheet]| {
        let numbers: Vec<String> = sheets.iter().map(|sheet| sheet.number.to_string()).collect();
        let day = sheets.first().map_or_else(String::new, |sheet| asking.scene.words().day(sheet.day));
        let key = if sheets.len() == 1 { "look.sheet.open" } else { "look.sheet.open.more" };
        let first = numbers.first().cloned().unwrap_or_default();
        let numbers = asking.scene.language.listed("list.and", &numbers);
        asking.say(key, &[("numbers", &numbers), ("day", &day), ("first", &first)])
    };
    paper.field(&asking.say("look.sheets", &[]), one_day.map(question).collect());
}

/// Names the trees that are due to be looked at again, though nothing that is known of them is open: those of which the guide
/// says so, and those that were not seen for as long as what was seen of them counts. The stage is looked at first.
fn again(asking: &Asking<'_>, stops: &[Stop<'_>], paper: &mut Paper) {
    let due = due_again(asking, stops);
    let words = |(seen, trees): (Option<NaiveDate>, Vec<usize>)| {
        let trees = asking.page().ranges(&trees);
        match seen {
            Some(day) => {
                asking.say("look.again.seen", &[("trees", &trees), ("day", &asking.scene.words().day(day))])
            }
            None => asking.say("look.again.never", &[("trees", &trees)]),
        }
    };
    paper.field(&asking.say("look.again", &[]), due.into_iter().map(words).collect());
}

/// Says which look settles most.
pub(super) fn first(asking: &Asking<'_>, look: &Look, worth: Worth) -> String {
    let question = match &look.need {
        Need::Name(name) | Need::OfTree(name, _) => {
            asking.scene.plan.names.get(name.index()).map_or_else(String::new, |name| name.label.to_string())
        }
        other => asked(&asking.page(), other, false),
    };
    let (key, count) = if worth.alone > 0 {
        ("look.first.alone", worth.alone)
    } else {
        ("look.first.together", worth.waiting)
    };
    let (place, trees) = (spot(asking, look.place), asking.scene.language.trees(count));
    asking.say(key, &[("question", &question), ("where", &place), ("trees", &trees)])
}

fn spot(asking: &Asking<'_>, place: Spot) -> String {
    match place {
        Spot::Grove => asking.say("look.where.grove", &[]),
        Spot::Block(block) => asking.say("look.where.block", &[("block", asking.block(block))]),
        Spot::Tree(tree) => {
            asking.say("look.where.tree", &[("tree", asking.ground.trees.grove.trees.name(tree))])
        }
    }
}
