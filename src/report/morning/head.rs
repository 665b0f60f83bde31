//! The first screen: what is sprayed and how much, what is open now and later, rain, what turns, closed rows.

use super::MorningFacts;
use crate::advice::{Hours, Window};
use crate::measure::Extent;
use crate::plan::Series;
use crate::report::page::{closed_words, hours_of_time, length, turn_words, weather_words};
use crate::report::paper::Paper;
use crate::sprayday::Round;
use chrono::{DateTime, Duration};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// So many spans of hours after the one that is open now are told.
const LATER: usize = 1;

pub fn write(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let label = |key: &str| morning.say(key, &[]);
    paper.field(&label("morning.today"), vec![today(morning)]);
    paper.field(&label("morning.now"), now(morning));
    paper.field(&label("morning.later"), later(morning));
    paper.field(&label("morning.rain"), rain(morning).into_iter().collect());
    paper.field(&label("morning.turns"), turns(morning));
    let closed = closed_words(&morning.page, morning.chosen);
    let closed = if closed.is_empty() { vec![label("morning.closed.none")] } else { closed };
    paper.field(&label("morning.closed"), closed);
}

/// Returns what is done today with how many trees.
fn today(morning: &MorningFacts<'_>) -> String {
    let day = morning.crew.day;
    let trees = |count: usize| morning.crew.scene.language.trees(count);
    let mut said = Vec::new();
    let sprayed: usize = day.rounds.iter().map(|round| round.trees.len()).sum();
    if sprayed > 0 {
        let mixes = mixes(morning, day.rounds.len());
        let places = [("trees", &*trees(sprayed)), ("mixes", &*mixes), ("work", &*work(morning))];
        said.push(morning.say("morning.today.spray", &places));
    }
    let rest = day.not_sprayed.len() - day.look.len();
    for (key, count) in [("morning.today.look", day.look.len()), ("morning.today.leave", rest)] {
        if count > 0 {
            said.push(morning.say(key, &[("trees", &trees(count))]));
        }
    }
    said.join("; ")
}

fn mixes(morning: &MorningFacts<'_>, count: usize) -> String {
    match count {
        1 => morning.say("morning.mix.one", &[]),
        _ => morning.say("morning.mix.several", &[("count", &count.to_string())]),
    }
}

/// Returns how much spray all mixes are, and how long they take, as far as both are known.
fn work(morning: &MorningFacts<'_>) -> String {
    let rounds = &morning.crew.day.rounds;
    let volumes: Option<Vec<f64>> =
        rounds.iter().map(|it| it.job.as_ref().ok().map(|job| job.volume)).collect();
    let times: Option<Vec<f64>> = rounds.iter().map(|it| it.takes).collect();
    let volume = volumes.map(|all| morning.page.words().volume(all.iter().sum()));
    let time = times.map(|all| hours_of_time(together(morning, &all)));
    match (volume, time) {
        (Some(volume), Some(time)) => morning.say("morning.work", &[("volume", &volume), ("time", &time)]),
        (Some(volume), None) => morning.say("morning.work.volume", &[("volume", &volume)]),
        (None, _) => morning.say("morning.work.unknown", &[]),
    }
}

/// Returns how many hours several mixes take one after the other, with the filling between them.
fn together(morning: &MorningFacts<'_>, times: &[f64]) -> f64 {
    let sprayer = morning.crew.ground.trees.grove.sprayer.as_ref();
    let fill = sprayer.and_then(|sprayer| sprayer.fill).unwrap_or(0.0);
    times.iter().sum::<f64>() + fill * times.len().saturating_sub(1) as f64
}

/// Returns until when which mixes are open now, and whether they fit; or when the first hours open.
fn now(morning: &MorningFacts<'_>) -> Vec<String> {
    let as_of = morning.page.advice.as_of;
    let rounds = &morning.crew.day.rounds;
    let mut open: BTreeMap<(DateTime<Tz>, bool), Vec<usize>> = BTreeMap::new();
    for (at, round) in rounds.iter().enumerate() {
        let under_way = |it: &Window| it.from <= as_of && as_of < it.to;
        if let Some(window) = round.hours.open().into_iter().find(under_way) {
            open.entry((window.to, round.hours.short.contains(&window))).or_default().push(at);
        }
    }
    if open.is_empty() && !rounds.is_empty() {
        let first = rounds.iter().flat_map(|round| round.hours.open()).map(|window| window.from).min();
        return vec![match first {
            Some(first) => {
                morning.say("morning.now.opens", &[("at", &morning.page.words().moment_ahead(first))])
            }
            None if rounds.iter().any(|round| !round.hours.not_checked.is_empty()) => {
                morning.say("morning.now.unchecked", &[("weather", &weather_words(&morning.page))])
            }
            None => morning.say("morning.now.none", &[]),
        }];
    }
    let say = |((until, short), at): ((DateTime<Tz>, bool), Vec<usize>)| {
        let window = Window { from: as_of, to: until, preferred: (0, 0) };
        let until = morning.page.words().clock(until.time());
        let (lasts, numbers) = (length(&window), numbers(morning, &at));
        let places = [("until", &*until), ("length", &*lasts), ("mixes", &*numbers)];
        let mut said = morning.say("morning.now.open", &places);
        if short {
            let least = hours_of_time(morning.page.scene.plan.head.window.0);
            said += &morning.say("morning.now.short", &[("least", &least)]);
        }
        let times: Option<Vec<f64>> = at.iter().map(|at| rounds.get(*at)?.takes).collect();
        if let Some(times) = times {
            let all = together(morning, &times);
            let fits = all <= window.hours() + 1e-9;
            let key = if fits { "morning.now.fits" } else { "morning.now.too-long" };
            said += &morning.say(key, &[("time", &hours_of_time(all))]);
        }
        said
    };
    open.into_iter().map(say).collect()
}

/// Returns which mixes are meant, unless it is all of them.
fn numbers(morning: &MorningFacts<'_>, at: &[usize]) -> String {
    if at.len() == morning.crew.day.rounds.len() {
        return String::new();
    }
    let list: Vec<String> = at.iter().map(|at| (at + 1).to_string()).collect();
    let key = if list.len() == 1 { "morning.of.one" } else { "morning.of.several" };
    morning.say(key, &[("list", &list.join(", "))])
}

/// Returns the next hours that are open, of mixes that share them together.
fn later(morning: &MorningFacts<'_>) -> Vec<String> {
    let as_of = morning.page.advice.as_of;
    let mut shared: Vec<(Vec<Window>, Vec<usize>)> = Vec::new();
    for (at, round) in morning.crew.day.rounds.iter().enumerate() {
        let windows = after(&round.hours, as_of);
        match shared.iter_mut().find(|(known, _)| known.iter().map(span).eq(windows.iter().map(span))) {
            Some((_, those)) => those.push(at),
            None if windows.is_empty() => {}
            None => shared.push((windows, vec![at])),
        }
    }
    let say = |(windows, at): (Vec<Window>, Vec<usize>)| {
        let spans: Vec<String> = windows.iter().map(|window| morning.page.words().window(window)).collect();
        let spans = spans.join("; ");
        let places = [("spans", &*spans), ("mixes", &*numbers(morning, &at))];
        morning.say("morning.later.words", &places)
    };
    shared.into_iter().map(say).collect()
}

fn after(hours: &Hours, as_of: DateTime<Tz>) -> Vec<Window> {
    let mut windows = hours.open();
    windows.retain(|window| window.from > as_of);
    windows.truncate(LATER);
    windows
}

fn span(window: &Window) -> (DateTime<Tz>, DateTime<Tz>) {
    (window.from, window.to)
}

/// Returns the rain that is forecast first, from its first hour to its last without a dry one between, and how much it is.
fn rain(morning: &MorningFacts<'_>) -> Option<String> {
    let weather_measures = morning.crew.ground.weather_measures;
    let from = morning.crew.day.rain?;
    let first = weather_measures.hour_under_way()
        + (from - weather_measures.hour_start(weather_measures.hour_under_way())).num_hours();
    let in_hour = |hour: i64| -> Option<(f64, f64)> {
        let rain: Extent = weather_measures.series_in_hour(Series::Rain, hour);
        rain.ends().filter(|(least, _)| *least > 0.0)
    };
    let hours: Vec<(f64, f64)> = (first..first + 72).map_while(in_hour).collect();
    let to = from + Duration::hours(hours.len() as i64);
    let [least, most] = [hours.iter().map(|it| it.0).sum(), hours.iter().map(|it| it.1).sum()];
    let words = morning.page.words();
    let depth = words.depth(least, most);
    Some(morning.say("morning.rain.words", &[("span", &words.span_ahead(from, to)), ("depth", &depth)]))
}

/// Returns what becomes another if the forecast holds, with the trees of which it does.
fn turns(morning: &MorningFacts<'_>) -> Vec<String> {
    let mut by_turn: Vec<(String, Vec<usize>)> = Vec::new();
    for group in morning.groups {
        let Some(turn) = &group.turn else { continue };
        let words = turn_words(morning.page.words(), turn);
        match by_turn.iter_mut().find(|(known, _)| *known == words) {
            Some((_, trees)) => trees.extend(&group.trees),
            None => by_turn.push((words, group.trees.clone())),
        }
    }
    let say = |(turn, mut trees): (String, Vec<usize>)| {
        trees.sort_unstable();
        let trees = morning.page.ranges(&trees);
        morning.say("morning.turns.words", &[("turn", &turn), ("trees", &trees)])
    };
    by_turn.into_iter().map(say).collect()
}

/// Returns when a mix must be done: the end of the last hours that are open for it.
pub fn done_by(round: &Round<'_>) -> Option<DateTime<Tz>> {
    round.hours.open().iter().map(|window| window.to).max()
}
