//! The pictures of a season as SVG: a column a day, in the width of a phone, which grows with the page.

use super::SeasonPage;
use super::said::VERDICTS;
use crate::plan::{Kind, NameId};
use crate::replay::{ReplayedDay, wet_hours_of};
use crate::report::paper::escaped;
use crate::units::{Unit, plain, show};
use chrono::Datelike;
use std::fmt::Write;

/// The drawing is so wide, in units that are about a pixel of a phone.
const WIDTH: f64 = 360.0;
const LEFT: f64 = 30.0;
const RIGHT: f64 = 4.0;
/// Room for the names of months.
const FOOT: f64 = 12.0;
/// How high a picture with a scale is, and one strip of levels.
const HIGH: f64 = 84.0;
const STRIP: f64 = 9.0;

/// Colors of verdicts in the order of [`VERDICTS`].
const OF_VERDICTS: [&str; 6] = ["#1f66a8", "#e0a010", "#b2182b", "#7b3294", "#888888", "#cfe3c8"];
/// From the lowest level to the highest.
const OF_LEVELS: [&str; 6] = ["#d3e2ec", "#f6d58a", "#ee9a4d", "#d3543a", "#93203a", "#4a1030"];
/// From the first stage of bloom to the last.
const OF_STAGES: [&str; 10] = [
    "#d9d2c5", "#b7c98f", "#7fae5a", "#f2dd7a", "#f5b94f", "#ef8f8f", "#d9679b", "#9a6ab0", "#5f7fb8",
    "#3f5f6f",
];
const WATER: &str = "#3a7ca5";
const WARM: &str = "#c8553d";

/// Returns all pictures, one below the other.
pub(super) fn pictures(page: &SeasonPage<'_>) -> String {
    let mut out = String::new();
    let days = &page.replay.days;
    let celsius = |base: f64| page.words.speech.parts(Kind::Temperature, &degrees(), base);
    let unit = celsius(0.0).1;
    let ends = |day: &ReplayedDay| day.air.temperature.map(|(low, high)| (celsius(low).0, celsius(high).0));
    out += &bars(page, &page.say("season.picture.temperature", &[("unit", &unit)]), WARM, &ends);
    let humidity = |day: &ReplayedDay| day.air.humidity.map(|share| (0.0, share * 100.0));
    out += &bars(page, &page.say("season.picture.humidity", &[]), WATER, &humidity);
    for (name, _) in days.iter().find(|day| !day.levels.is_empty()).map_or(&[][..], |day| &day.levels) {
        out += &level(page, *name);
    }
    let depth = |base: f64| {
        page.words.speech.parts(Kind::Quantity(crate::units::Dimension::LENGTH), &millimetres(), base)
    };
    let rain = |day: &ReplayedDay| day.air.rain.map(|rain| (0.0, depth(rain).0));
    out += &bars(page, &page.say("season.picture.rain", &[("unit", &depth(0.0).1)]), WATER, &rain);
    if let Some(wet) = wet_hours_of(&page.open.plan).and_then(|id| page.open.plan.hourlies.get(id.index())) {
        let hours = |day: &ReplayedDay| day.air.wet_hours.map(|hours| (0.0, f64::from(hours)));
        out += &bars(page, &page.say("season.picture.wet", &[("label", &wet.label)]), WATER, &hours);
    }
    out += &bloom(page);
    out += &sprays(page);
    out += &verdicts(page);
    out
}

fn degrees() -> Unit {
    plain("°C").unwrap_or_else(Unit::none)
}

fn millimetres() -> Unit {
    plain("mm").unwrap_or_else(Unit::none)
}

/// Returns where the column of a day begins, and how wide it is.
fn column(page: &SeasonPage<'_>, at: usize) -> (f64, f64) {
    let wide = (WIDTH - LEFT - RIGHT) / page.replay.days.len().max(1) as f64;
    (LEFT + wide * at as f64, wide)
}

/// Puts a drawing into its frame, with the names of the months at its foot.
fn framed(page: &SeasonPage<'_>, title: &str, height: f64, drawing: &str, legend: &str) -> String {
    let mut months = String::new();
    for (at, day) in page.replay.days.iter().enumerate() {
        let date = day.date();
        if date.day() == 1 || (at == 0 && date.day() < 24) {
            let (x, _) = column(page, at);
            let name = page.say(&format!("month.{}", date.month()), &[]);
            let _ = write!(
                months,
                "<path d=\"M{x:.1} 0V{height:.1}\" stroke=\"#ccc\" stroke-width=\"0.5\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                x + 1.0,
                height + FOOT - 3.0,
                escaped(&name)
            );
        }
    }
    format!(
        "<figure>\n<figcaption>{title}</figcaption>\n<svg role=\"img\" aria-label=\"{title}\" viewBox=\"0 0 {WIDTH} {:.0}\">\
         {months}{drawing}</svg>\n{legend}</figure>\n",
        height + FOOT,
        title = escaped(title)
    )
}

/// Draws for each day a bar between two values, on a scale that holds all of them.
fn bars(
    page: &SeasonPage<'_>,
    title: &str,
    color: &str,
    ends: &dyn Fn(&ReplayedDay) -> Option<(f64, f64)>,
) -> String {
    let all: Vec<Option<(f64, f64)>> = page.replay.days.iter().map(ends).collect();
    let low = all.iter().flatten().map(|(low, _)| *low).fold(f64::INFINITY, f64::min);
    let high = all.iter().flatten().map(|(_, high)| *high).fold(f64::NEG_INFINITY, f64::max);
    if !low.is_finite() || !high.is_finite() {
        let nothing =
            format!("<p class=\"none\">{}</p>\n", escaped(&page.say("season.picture.not-known", &[])));
        return framed(page, title, 0.0, "", &nothing);
    }
    let step = step_of(high - low);
    let (low, high) = ((low / step).floor() * step, ((high / step).ceil() * step).max(low + step));
    let y = |value: f64| 4.0 + (HIGH - 4.0) * (1.0 - (value - low) / (high - low));
    let mut out = String::new();
    let ticks = ((high - low) / step).round() as i64;
    for tick in 0..=ticks {
        let value = low + step * tick as f64;
        let at = y(value);
        let _ = write!(
            out,
            "<path d=\"M{LEFT} {at:.1}H{:.1}\" stroke=\"#ddd\" stroke-width=\"0.5\"/><text x=\"{:.1}\" y=\"{:.1}\" \
             text-anchor=\"end\">{}</text>",
            WIDTH - RIGHT,
            LEFT - 3.0,
            at + 3.0,
            show(crate::units::clean(value), "")
        );
    }
    for (at, value) in all.iter().enumerate() {
        if let Some((from, to)) = value {
            let (x, wide) = column(page, at);
            let (top, bottom) = (y(*to), y(*from));
            out += &rect((x, top), (wide * 0.86, (bottom - top).max(0.0)), color);
        }
    }
    framed(page, title, HIGH, &out, "")
}

/// Returns the step of a scale with three to six of them.
fn step_of(span: f64) -> f64 {
    let span = if span > 0.0 { span } else { 1.0 };
    let mut step = 0.01;
    // 1, 2 and 5 of each power of ten.
    for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(24) {
        if span / step <= 5.0 {
            break;
        }
        step *= factor;
    }
    step
}

fn rect((x, y): (f64, f64), (wide, high): (f64, f64), color: &str) -> String {
    format!("<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{wide:.2}\" height=\"{high:.1}\" fill=\"{color}\"/>")
}

/// Draws days that have the same color as one piece.
fn strip(page: &SeasonPage<'_>, top: f64, colors: &[Option<&str>]) -> String {
    let mut out = String::new();
    let places: Vec<(usize, Option<&str>)> = colors.iter().copied().enumerate().collect();
    for same in places.chunk_by(|(_, a), (_, b)| a == b) {
        if let Some((first, Some(color))) = same.first() {
            let (x, wide) = column(page, *first);
            out += &rect((x, top), (wide * same.len() as f64, STRIP), color);
        }
    }
    out
}

/// Returns what the colors of a picture stand for.
fn legend(page: &SeasonPage<'_>, entries: &[(&str, String)], has_gaps: bool) -> String {
    let mut out = String::from("<p class=\"legend\">");
    for (color, words) in entries {
        let _ = write!(out, "<span><i style=\"background:{color}\"></i>{}</span> ", escaped(words));
    }
    if has_gaps {
        let words = page.say("season.picture.not-known", &[]);
        let _ = write!(out, "<span><i></i>{}</span>", escaped(&words));
    }
    out + "</p>\n"
}

fn level(page: &SeasonPage<'_>, name: NameId) -> String {
    let places: Vec<Option<u16>> = page
        .replay
        .days
        .iter()
        .map(|day| day.levels.iter().find(|(id, _)| *id == name).and_then(|(_, level)| *level))
        .collect();
    let color = |place: u16| OF_LEVELS.get(usize::from(place)).or(OF_LEVELS.last()).copied();
    let colors: Vec<Option<&str>> = places.iter().map(|place| place.and_then(color)).collect();
    let kind = page.open.plan[name].kind;
    let words = |place: u16| page.words.word(kind, place);
    let levels = kind.list().and_then(|list| page.open.plan.word_lists.get(list.index()));
    let count = levels.map_or(0, |list| list.words.len()) as u16;
    let entries: Vec<(&str, String)> =
        (0..count).filter_map(|place| Some((color(place)?, words(place)))).collect();
    let title = page.say("season.picture.level", &[("label", page.words.label(name))]);
    let legend = legend(page, &entries, places.contains(&None));
    framed(page, &title, STRIP, &strip(page, 0.0, &colors), &legend)
}

fn bloom(page: &SeasonPage<'_>) -> String {
    let Some(name) = page.replay.bloom else { return String::new() };
    let color = |place: usize| OF_STAGES.get(place).or(OF_STAGES.last()).copied();
    let kind = page.open.plan[name].kind;
    let mut out = String::new();
    for (block, of) in page.open.grove.blocks.iter().enumerate() {
        // Of stages with as many trees the later one: what opens is what the guide asks about.
        let most = |day: &ReplayedDay| {
            let stages = &day.bloom.get(block)?.stages;
            let most = stages.iter().enumerate().filter(|(_, count)| **count > 0);
            most.max_by_key(|(_, count)| **count).map(|(place, _)| place)
        };
        let places: Vec<Option<usize>> = page.replay.days.iter().map(most).collect();
        let mut met: Vec<usize> = places.iter().flatten().copied().collect();
        met.sort_unstable();
        met.dedup();
        let colors: Vec<Option<&str>> = places.iter().map(|place| place.and_then(color)).collect();
        let entry = |place: &usize| Some((color(*place)?, page.words.word(kind, *place as u16)));
        let entries: Vec<(&str, String)> = met.iter().filter_map(entry).collect();
        let title = page.say("season.picture.bloom", &[("block", &of.name)]);
        let legend = legend(page, &entries, places.contains(&None));
        out += &framed(page, &title, STRIP, &strip(page, 0.0, &colors), &legend);
    }
    out
}

/// Draws how many trees are to be sprayed upward, and how many were downward.
fn sprays(page: &SeasonPage<'_>) -> String {
    let all = page.trees.len().max(1) as f64;
    let middle = HIGH / 2.0;
    let mut out =
        format!("<path d=\"M{LEFT} {middle}H{:.1}\" stroke=\"#888\" stroke-width=\"0.5\"/>", WIDTH - RIGHT);
    for (at, day) in page.replay.days.iter().enumerate() {
        let (x, wide) = column(page, at);
        let height = |count: usize| count as f64 / all * (middle - 2.0);
        let advised =
            height(if day.blank.is_some() { 0 } else { day.count(|group| group.verdict.is_spray()) });
        let done = height(day.done.iter().map(|tank| tank.trees.len()).sum::<usize>().min(page.trees.len()));
        if advised > 0.0 {
            out +=
                &rect((x, middle - advised), (wide * 0.86, advised), OF_VERDICTS.first().unwrap_or(&WATER));
        }
        if done > 0.0 {
            out += &rect((x, middle), (wide * 0.86, done), WARM);
        }
    }
    for at in [6.0, HIGH] {
        let _ = write!(
            out,
            "<text x=\"{:.1}\" y=\"{at:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 3.0,
            page.trees.len()
        );
    }
    framed(page, &page.say("season.picture.sprays", &[]), HIGH, &out, "")
}

fn verdicts(page: &SeasonPage<'_>) -> String {
    let all = page.trees.len().max(1) as f64;
    let mut out = String::new();
    let mut met = [false; VERDICTS.len()];
    for (at, day) in page.replay.days.iter().enumerate().filter(|(_, day)| day.blank.is_none()) {
        let (x, wide) = column(page, at);
        let mut below = HIGH;
        for (((_, is), color), met) in VERDICTS.iter().zip(OF_VERDICTS).zip(&mut met) {
            let count = day.count(|group| is(&group.verdict));
            if count > 0 {
                *met = true;
                let high = count as f64 / all * (HIGH - 2.0);
                below -= high;
                out += &rect((x, below), (wide, high), color);
            }
        }
    }
    for (at, count) in [(8.0, page.trees.len()), (HIGH, 0)] {
        let _ = write!(out, "<text x=\"{:.1}\" y=\"{at:.1}\" text-anchor=\"end\">{count}</text>", LEFT - 3.0);
    }
    let entries = VERDICTS.iter().zip(OF_VERDICTS).zip(met).filter(|(_, met)| *met);
    let entries: Vec<(&str, String)> =
        entries.map(|(((key, _), color), _)| (color, page.say(key, &[]))).collect();
    framed(page, &page.say("season.picture.verdicts", &[]), HIGH, &out, &legend(page, &entries, false))
}
