//! The season as one page of HTML: pictures, sums, where advice and log part, and each day with its reasons. No script, nothing
//! fetched; it reads on a phone and prints.

use super::SeasonPage;
use super::pictures::pictures;
use super::reasons::{GroupReasons, MorningReasons};
use super::text_form::cell;
use crate::replay::ReplayedDay;
use crate::report::page::sentence;
use crate::report::paper::escaped;
use std::fmt::Write;

/// How it looks: dark on white; a phone and a sheet of paper show one picture below the other.
const STYLE: &str = "\
@page { margin: 10mm }
* { box-sizing: border-box }
body { font: 16px/1.4 system-ui, 'DejaVu Sans', sans-serif; color: #111; background: #fff; margin: 0 auto; max-width: 46rem; \
padding: 1rem 0.8rem }
h1 { font-size: 1.4rem; line-height: 1.2; margin: 0 0 0.6rem }
h2 { font-size: 1.1rem; margin: 1.6rem 0 0.5rem; border-bottom: 2px solid #111 }
h3 { font-size: 1rem; margin: 0.7rem 0 0.2rem }
dl { display: grid; grid-template-columns: 8rem 1fr; gap: 0.2rem 0.8rem; margin: 0 }
dt { font-weight: bold }
dd { margin: 0; overflow-wrap: anywhere }
figure { margin: 0.9rem 0 0; break-inside: avoid }
figcaption { font-size: 0.9rem; font-weight: bold }
svg { display: block; width: 100%; height: auto }
svg text { font: 8.5px system-ui, 'DejaVu Sans', sans-serif; fill: #333 }
.legend { margin: 0.1rem 0 0; font-size: 0.85rem }
.legend span { white-space: nowrap; margin-right: 0.7rem }
.legend i { display: inline-block; width: 0.8em; height: 0.8em; margin-right: 0.3em; border: 1px solid #999; vertical-align: -0.05em }
.none { margin: 0; color: #555 }
details { border-top: 1px solid #ccc; padding: 0.25rem 0 }
summary { cursor: pointer; padding: 0.25rem 0 }
summary b { display: inline-block; min-width: 8.5rem; font-weight: 600 }
.trees { margin: 0; overflow-wrap: anywhere }
@media (max-width: 30rem) { dl { grid-template-columns: 1fr } dd { margin-left: 0.8rem } }
@media print { body { max-width: none; font-size: 10pt; padding: 0 } details { break-inside: avoid } }
";

/// Returns the page; the reasons are those of the mornings that have an answer.
pub fn html(page: &SeasonPage<'_>, reasons: &[MorningReasons]) -> String {
    let title = escaped(&page.title());
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width\">\n<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n",
        page.words.language.code()
    );
    out += &list(&page.head());
    out += &pictures(page);
    out += &heading(page, "season.sprays");
    out += &list(&page.sums());
    out += &heading(page, "season.partings");
    if let Some(none) = page.no_partings() {
        let _ = writeln!(out, "<p>{}</p>", escaped(&none));
    }
    let partings = page.partings.iter().map(|parting| {
        let (days, says, trees) = page.parting(parting);
        (days, format!("{} {}", sentence(&says), sentence(&trees)))
    });
    out += &list(&partings.collect::<Vec<_>>());
    out += &heading(page, "season.verdicts");
    out += &list(&page.verdict_counts());
    let _ = writeln!(out, "<p>{}</p>", escaped(&page.say("season.verdicts.of", &[])));
    out += &heading(page, "season.days.title");
    let _ = writeln!(out, "<p>{}</p>", escaped(&page.say("season.legend", &[])));
    for day in &page.replay.days {
        let told = reasons.iter().find(|told| told.day == day.date());
        out += &details(page, day, told.map_or(&[], |told| &told.groups));
    }
    out + "</body>\n</html>\n"
}

fn heading(page: &SeasonPage<'_>, key: &str) -> String {
    format!("<h2>{}</h2>\n", escaped(&page.say(key, &[])))
}

fn list(entries: &[(String, String)]) -> String {
    let entry =
        |(label, says): &(String, String)| format!("<dt>{}</dt><dd>{}</dd>\n", escaped(label), escaped(says));
    format!("<dl>\n{}</dl>\n", entries.iter().map(entry).collect::<String>())
}

/// Returns a day, closed: what it comes to, and behind it the air, each decision with its reasons, and what was sprayed.
fn details(page: &SeasonPage<'_>, day: &ReplayedDay, told: &[GroupReasons]) -> String {
    let date = page.words.day_ahead(day.date());
    let mut out =
        format!("<details><summary><b>{}</b> {}</summary>\n", escaped(&date), escaped(&cell(page, day)));
    let mut facts = page.air_words(day);
    facts.extend(day.blank.as_ref().map(|blank| (page.say("season.blank", &[]), page.blank_word(blank))));
    for tank in &day.done {
        facts.push((page.say("season.day.sprayed", &[]), page.tank_words(tank)));
    }
    out += &list(&facts);
    for (group, (heading, reasons)) in day.groups.iter().zip(told).filter(|_| day.blank.is_none()) {
        let trees = escaped(&page.trees_words(&group.trees));
        let _ = writeln!(out, "<h3>{}</h3>\n<p class=\"trees\">{trees}</p>", escaped(heading));
        out += &list(reasons);
    }
    out + "</details>\n"
}
