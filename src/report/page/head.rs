//! The head of a page: for when and by which guide it is, and how old everything is.

use super::Page;
use super::hours::hours_of_time;
use super::when::length;
use crate::report::{Lines, together};
use crate::sprayday::Day;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Writes the head.
pub fn write(lines: &mut Lines, page: &Page<'_>, day: &Day<'_>, chosen: &[usize]) {
    let words = page.words();
    let as_of = page.advice.as_of;
    lines.text(0, page.facts.grove);
    lines.text(0, &words.say("page.advice-for", &[("moment", &words.moment(as_of))]));
    lines.rule('=');
    let away = (page.facts.now - as_of).num_minutes().abs();
    if page.facts.now.date_naive() != as_of.date_naive() || away > 60 {
        let (as_of, now) = (words.moment(as_of), words.moment(page.facts.now));
        lines.text(0, &words.say("page.not-today", &[("as-of", &as_of), ("now", &now)]));
    }
    for problem in page.facts.rulebook_problems {
        lines.text(0, &words.say("page.rulebook-errors", &[("problem", problem)]));
    }
    lines.field(&words.say("page.guide", &[]), &guide_words(page));
    lines.fields(&words.say("page.seen", &[]), seen_words(page, chosen).iter().map(String::as_str));
    lines.field(&words.say("page.weather", &[]), &weather_words(page));
    let problems = page.facts.data_problems;
    let more = problems.len().saturating_sub(PROBLEMS).to_string();
    let more = words.say("page.data.more", &[("count", &more)]);
    let told = problems.iter().take(PROBLEMS).map(String::as_str);
    let told = told.chain((problems.len() > PROBLEMS).then_some(&*more));
    lines.fields(&words.say("page.data", &[]), told);
    if let Some(all) = together(day) {
        let takes = hours_of_time(all.hours);
        let hours = format!("{} ({})", words.window(&all.window), length(&all.window));
        let key = if all.fits { "page.time.fits" } else { "page.time.too-long" };
        let places = [("count", &*all.mixes.to_string()), ("takes", &takes), ("hours", &hours)];
        lines.field(&words.say("page.time", &[]), &words.say(key, &places));
    }
}

/// Says by which guide the page is made, and how long it is in force.
pub fn guide_words(page: &Page<'_>) -> String {
    let words = page.words();
    let head = &page.scene.plan.head;
    let today = page.advice.as_of.date_naive();
    let of = |key: &str, day: NaiveDate| words.say(key, &[("day", &words.day(day))]);
    let force = match head.in_force {
        None => words.say("page.force.none", &[]),
        Some((from, _)) if today < from => of("page.force.to-come", from),
        Some((_, to)) if today > to => of("page.force.over", to),
        Some((_, to)) => of("page.force.until", to),
    };
    match &head.edition {
        Some(edition) => words
            .say("page.guide.edition", &[("title", &head.title), ("edition", edition), ("force", &force)]),
        None => words.say("page.guide.words", &[("title", &head.title), ("force", &force)]),
    }
}

/// So many problems of the data are told in the head.
const PROBLEMS: usize = 20;

/// So many different days are told apart.
const DAYS: usize = 4;

/// Returns when the trees were last seen, the latest day first.
pub fn seen_words(page: &Page<'_>, chosen: &[usize]) -> Vec<String> {
    let today = page.advice.as_of.date_naive();
    let mut by_day: BTreeMap<Option<NaiveDate>, Vec<usize>> = BTreeMap::new();
    for tree in chosen {
        let day = page.advice.trees.get(*tree).and_then(|advice| advice.seen);
        by_day.entry(day).or_default().push(*tree);
    }
    let words = page.words();
    let who = |trees: &[usize]| match trees.len() {
        all if all == chosen.len() && all > 1 => words.say("page.seen.all", &[("count", &all.to_string())]),
        some if some > 12 => {
            let count = words.language.trees(some);
            let places = [("trees", &*count), ("first", first(page, trees)), ("last", last(page, trees))];
            words.say("page.seen.from-to", &places)
        }
        _ => page.ranges(trees),
    };
    let say = |(day, trees): (&Option<NaiveDate>, &Vec<usize>)| {
        let who = who(trees);
        match day {
            Some(day) => words.say(
                "page.seen.day",
                &[("trees", &who), ("ago", &words.ago(*day, today)), ("day", &words.day(*day))],
            ),
            None => words.say("page.seen.never", &[("trees", &who)]),
        }
    };
    let mut said: Vec<String> = by_day.iter().rev().take(DAYS).map(say).collect();
    let rest: usize = by_day.values().rev().skip(DAYS).map(Vec::len).sum();
    if rest > 0 {
        said.push(words.say("page.seen.longer", &[("trees", &words.language.trees(rest))]));
    }
    said
}

fn first<'a>(page: &'a Page<'_>, trees: &[usize]) -> &'a str {
    trees.first().map_or("", |tree| page.ground.name(*tree))
}

fn last<'a>(page: &'a Page<'_>, trees: &[usize]) -> &'a str {
    trees.last().map_or("", |tree| page.ground.name(*tree))
}

/// Says how old the weather and the forecast are.
pub fn weather_words(page: &Page<'_>) -> String {
    let words = page.words();
    let as_of = page.advice.as_of;
    let measured = match page.facts.weather_measured_to {
        Some(to) => words
            .say("page.weather.measured", &[("moment", &words.moment(to)), ("age", &words.age(to, as_of))]),
        None => words.say("page.weather.none", &[]),
    };
    let Some(issued) = page.facts.forecast_issued else {
        return words.say("page.weather.no-forecast", &[("measured", &measured)]);
    };
    let old = (as_of - issued).num_hours() >= 24;
    let key = if old { "page.weather.old" } else { "page.weather.forecast" };
    let (moment, age) = (words.moment(issued), words.age(issued, as_of));
    words.say(key, &[("measured", &measured), ("moment", &moment), ("age", &age)])
}
