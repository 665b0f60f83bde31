//! The first screen: what is sprayed and how much, what is open now and later, rain, what turns, closed rows.

use super::MorningFacts;
use super::plan::{OpenNow, Turned, open_now, opens, turned};
use crate::advice::Window;
use crate::measure::Extent;
use crate::plan::Series;
use crate::report::page::{closed_words, hours_of_time, length, turn_words, weather_words};
use crate::report::paper::Paper;
use crate::sprayday::Round;
use chrono::{DateTime, Duration};
use chrono_tz::Tz;
use std::collections::BTreeMap;

pub fn write(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let label = |key: &str| morning.say(key, &[]);
    paper.field(&label("morning.today"), vec![today(morning)]);
    paper.field(&label("morning.now"), now(morning));
    paper.field(&label("morning.later"), later(morning));
    paper.field(&label("morning.by"), done_by(morning));
    paper.field(&label("morning.rain"), rain(morning).into_iter().collect());
    paper.field(&label("morning.tomorrow"), turns(morning, true));
    paper.field(&label("morning.turns"), turns(morning, false));
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
    let volume = volumes.map(|all| morning.page.words().volume_short(all.iter().sum()));
    let time = morning.crew.day.takes().map(hours_of_time);
    match (volume, time) {
        (Some(volume), Some(time)) => morning.say("morning.work", &[("volume", &volume), ("time", &time)]),
        (Some(volume), None) => morning.say("morning.work.volume", &[("volume", &volume)]),
        (None, _) => morning.say("morning.work.unknown", &[]),
    }
}

/// Returns until when which mixes are open now, and whether they fit; or when the first hours open.
fn now(morning: &MorningFacts<'_>) -> Vec<String> {
    let day = morning.crew.day;
    let open = open_now(day);
    if open.is_empty() && !day.rounds.is_empty() {
        return vec![match opens(day) {
            Some(first) => morning.say("morning.now.opens", &[("at", &morning.soon(first))]),
            None if day.rounds.iter().any(|round| !round.hours.not_checked.is_empty()) => {
                morning.say("morning.now.unchecked", &[("weather", &weather_words(&morning.page))])
            }
            None => morning.say("morning.now.none", &[]),
        }];
    }
    let say = |open: OpenNow| {
        let window = open.window(day.as_of);
        let until = morning.page.words().clock(open.until.time());
        let (lasts, numbers) = (length(&window), numbers(morning, &open.mixes));
        let places = [("until", &*until), ("length", &*lasts), ("mixes", &*numbers)];
        let mut said = morning.say("morning.now.open", &places);
        if open.short {
            let least = hours_of_time(morning.page.scene.plan.head.window.0);
            said += &morning.say("morning.now.short", &[("least", &least)]);
        }
        if let Some(all) = open.hours {
            let (time, done) = (hours_of_time(all), listed(&open.done));
            let key = match (all <= window.hours() + 1e-9, open.done.len()) {
                (true, _) => "morning.now.fits",
                (false, 0) => "morning.now.nothing",
                (false, 1) => "morning.now.one",
                (false, _) => "morning.now.several",
            };
            said += &morning.say(key, &[("time", &time), ("list", &done)]);
        }
        said
    };
    open.into_iter().map(say).collect()
}

/// Returns the numbers of mixes, given by their places: `1–4, 7`.
pub fn listed(at: &[usize]) -> String {
    let runs = at.chunk_by(|one, next| one + 1 == *next).filter_map(|run| {
        let (first, last) = (run.first()? + 1, run.last()? + 1);
        Some(match last - first {
            0 => first.to_string(),
            1 => format!("{first}, {last}"),
            _ => format!("{first}–{last}"),
        })
    });
    runs.collect::<Vec<_>>().join(", ")
}

/// Returns which mixes are meant, unless it is all of them.
fn numbers(morning: &MorningFacts<'_>, at: &[usize]) -> String {
    if at.len() == morning.crew.day.rounds.len() {
        return String::new();
    }
    format!(": {}", mixes_named(morning, at))
}

/// Returns `mix 1`, `mixes 2–4`.
pub fn mixes_named(morning: &MorningFacts<'_>, at: &[usize]) -> String {
    let key = if at.len() == 1 { "morning.of.one" } else { "morning.of.several" };
    morning.say(key, &[("list", &listed(at))])
}

type Span = (DateTime<Tz>, DateTime<Tz>);

/// Returns the next hours that are open, of mixes that share them together.
fn later(morning: &MorningFacts<'_>) -> Vec<String> {
    let as_of = morning.page.advice.as_of;
    let mut shared: Vec<(Span, Last, Vec<usize>)> = Vec::new();
    for (at, round) in morning.crew.day.rounds.iter().enumerate() {
        let Some(window) = later_window(round, as_of) else { continue };
        let (span, last) = ((window.from, window.to), Last::of(round, as_of));
        match shared.iter_mut().find(|(known, of, _)| (*known, *of) == (span, last)) {
            Some((_, _, those)) => those.push(at),
            None => shared.push((span, last, vec![at])),
        }
    }
    let say = |((from, to), last, at): (Span, Last, Vec<usize>)| {
        let key = match last {
            Last::No => "morning.later.words",
            Last::Yes => "morning.later.last",
            Last::BeforeRain => "morning.later.rain",
        };
        let places = [("span", &*morning.span_soon(from, to)), ("mixes", &*numbers(morning, &at))];
        morning.say(key, &places)
    };
    shared.into_iter().map(say).collect()
}

/// Whether hours are the last in which a round can be done.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Last {
    No,
    Yes,
    BeforeRain,
}

impl Last {
    /// Returns what the next hours of a round are.
    fn of(round: &Round<'_>, as_of: DateTime<Tz>) -> Self {
        let ends = later_window(round, as_of).map(|window| window.to);
        match round.done_by.filter(|by| Some(by.at) == ends) {
            Some(by) if by.rain => Last::BeforeRain,
            Some(_) => Last::Yes,
            None => Last::No,
        }
    }
}

/// Returns the next hours of a round after those that are open now.
fn later_window(round: &Round<'_>, as_of: DateTime<Tz>) -> Option<Window> {
    round.hours.open().into_iter().find(|window| window.from > as_of)
}

/// Returns by when which mixes must be done, of which the last hours are not those that are told as the next.
fn done_by(morning: &MorningFacts<'_>) -> Vec<String> {
    let mut shared: BTreeMap<DateTime<Tz>, (bool, Vec<usize>)> = BTreeMap::new();
    for (at, round) in morning.crew.day.rounds.iter().enumerate() {
        let told = Last::of(round, morning.page.advice.as_of) != Last::No;
        if let Some(by) = round.done_by.filter(|_| !told) {
            shared.entry(by.at).or_insert((by.rain, Vec::new())).1.push(at);
        }
    }
    let say = |(by, (rain, at)): (DateTime<Tz>, (bool, Vec<usize>))| {
        let key = if rain { "morning.by.rain" } else { "morning.by.words" };
        morning.say(key, &[("by", &morning.soon(by)), ("mixes", &numbers(morning, &at))])
    };
    let said: Vec<String> = shared.into_iter().map(say).collect();
    (!said.is_empty()).then(|| said.join("; ")).into_iter().collect()
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
    let depth = morning.page.words().depth(least, most);
    Some(morning.say("morning.rain.words", &[("span", &morning.span_soon(from, to)), ("depth", &depth)]))
}

/// Returns what becomes another within a day if the forecast holds, or later, with the trees of which it does.
fn turns(morning: &MorningFacts<'_>, soon: bool) -> Vec<String> {
    let as_of = morning.page.advice.as_of;
    let say = |turned: Turned| {
        let turn = turn_words(morning.page.words(), &turned.turn);
        let trees = morning.page.ranges(&turned.trees);
        morning.say("morning.turns.words", &[("turn", &turn), ("trees", &trees)])
    };
    turned(morning.groups).into_iter().filter(|it| it.is_soon(as_of) == soon).map(say).collect()
}
