//! The head of a page: for when and by which guide it is, and how old everything is.

use super::Page;
use super::when::age;
use crate::report::{Lines, count, ranges};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Writes the head.
pub fn write(lines: &mut Lines, page: &Page<'_>, chosen: &[usize]) {
    let as_of = page.advice.as_of;
    let moment = |moment| page.words().moment(moment);
    lines.text(0, page.facts.grove);
    lines.text(0, &format!("Advice for {}", moment(as_of)));
    lines.rule('=');
    let away = (page.facts.now - as_of).num_minutes().abs();
    if page.facts.now.date_naive() != as_of.date_naive() || away > 60 {
        lines.text(
            0,
            &format!(
                "NOT TODAY: this is advice for {}; now it is {}.",
                moment(as_of),
                moment(page.facts.now)
            ),
        );
    }
    for problem in page.facts.rulebook_problems {
        lines.text(0, &format!("THE GUIDE HAS ERRORS: {problem}"));
    }
    lines.field("Guide", &guide(page));
    lines.fields("Trees seen", seen(page, chosen).iter().map(String::as_str));
    lines.field("Weather", &weather(page));
    let problems = page.facts.data_problems;
    let more = format!(
        "and {} more, which are told when the files are read",
        problems.len().saturating_sub(PROBLEMS)
    );
    let told = problems.iter().take(PROBLEMS).map(String::as_str);
    lines.fields("Data", told.chain((problems.len() > PROBLEMS).then_some(&*more)));
}

fn guide(page: &Page<'_>) -> String {
    let head = &page.scene.plan.head;
    let edition = head.edition.as_ref().map_or_else(String::new, |edition| format!(", edition {edition}"));
    let today = page.advice.as_of.date_naive();
    let force = match head.in_force {
        None => "; it does not say from when to when it is in force".to_string(),
        Some((from, _)) if today < from => {
            format!("; NOT YET IN FORCE, it begins {}", page.words().day(from))
        }
        Some((_, to)) if today > to => format!("; NO LONGER IN FORCE, it ended {}", page.words().day(to)),
        Some((_, to)) => format!("; in force until {}", page.words().day(to)),
    };
    format!("{}{edition}{force}", head.title)
}

/// So many problems of the data are told in the head.
const PROBLEMS: usize = 20;

/// So many different days are told apart.
const DAYS: usize = 4;

/// Returns when the trees were last seen, the latest day first.
fn seen(page: &Page<'_>, chosen: &[usize]) -> Vec<String> {
    let today = page.advice.as_of.date_naive();
    let mut by_day: BTreeMap<Option<NaiveDate>, Vec<usize>> = BTreeMap::new();
    for tree in chosen {
        let day = page.advice.trees.get(*tree).and_then(|advice| advice.seen);
        by_day.entry(day).or_default().push(*tree);
    }
    let who = |trees: &[usize]| match trees.len() {
        all if all == chosen.len() && all > 1 => format!("all {all} trees"),
        some if some > 12 => format!("{} from {} to {}", count(some), first(page, trees), last(page, trees)),
        _ => ranges(page.ground, trees),
    };
    let mut said: Vec<String> = by_day
        .iter()
        .rev()
        .take(DAYS)
        .map(|(day, trees)| match day {
            Some(day) => {
                format!("{}: {} ({})", who(trees), page.words().ago(*day, today), page.words().day(*day))
            }
            None => format!("{}: never", who(trees)),
        })
        .collect();
    let rest: usize = by_day.values().rev().skip(DAYS).map(Vec::len).sum();
    if rest > 0 {
        said.push(format!("{} longer ago, or never", count(rest)));
    }
    said
}

fn first<'a>(page: &'a Page<'_>, trees: &[usize]) -> &'a str {
    trees.first().map_or("", |tree| page.ground.name(*tree))
}

fn last<'a>(page: &'a Page<'_>, trees: &[usize]) -> &'a str {
    trees.last().map_or("", |tree| page.ground.name(*tree))
}

fn weather(page: &Page<'_>) -> String {
    let as_of = page.advice.as_of;
    let moment = |moment| page.words().moment(moment);
    let measured = match page.facts.weather_measured_to {
        Some(to) => format!("measured to {} ({})", moment(to), age(to, as_of)),
        None => "not measured: what needs it is not known".to_string(),
    };
    let forecast = match page.facts.forecast_issued {
        Some(issued) if (as_of - issued).num_hours() >= 24 => {
            format!(
                "; the forecast of {} is {}, TOO OLD: hours to come are not checked",
                moment(issued),
                age(issued, as_of)
            )
        }
        Some(issued) => format!("; forecast of {} ({})", moment(issued), age(issued, as_of)),
        None => "; no forecast: hours to come are not checked".to_string(),
    };
    measured + &forecast
}
