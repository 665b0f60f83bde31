//! The season as text: a calendar with a row a week, the sums, where advice and log part.

use super::SeasonPage;
use super::said::VERDICTS;
use crate::replay::ReplayedDay;
use crate::report::Lines;
use crate::report::page::sentence;
use crate::trace::Verdict;
use chrono::{Datelike, Days, NaiveDate};
use textwrap::core::display_width;

/// How wide the first day of a week is told.
const WEEK: usize = 8;

/// Returns the page in lines no longer than `width`.
pub fn text(page: &SeasonPage<'_>, width: usize) -> String {
    let mut lines = Lines::new(width);
    lines.text(0, &page.title());
    lines.rule('=');
    for (label, says) in page.head() {
        lines.field(&label, &says);
    }
    heading(page, &mut lines, "season.calendar");
    calendar(page, &mut lines);
    lines.blank();
    lines.text(0, &page.say("season.legend", &[]));
    heading(page, &mut lines, "season.sprays");
    for (label, says) in page.sums() {
        lines.field(&label, &says);
    }
    heading(page, &mut lines, "season.partings");
    if let Some(none) = page.no_partings() {
        lines.text(2, &none);
    }
    for parting in &page.partings {
        let (days, says, trees) = page.parting(parting);
        lines.hanging(2, 4, &days);
        lines.hanging(4, 6, &sentence(&says));
        lines.hanging(4, 6, &sentence(&trees));
    }
    heading(page, &mut lines, "season.verdicts");
    for (label, says) in page.verdict_counts() {
        lines.field(&label, &says);
    }
    lines.text(2, &page.say("season.verdicts.of", &[]));
    lines.blank();
    lines.text(0, &page.say("season.next", &[("grove", page.named)]));
    lines.finish()
}

fn heading(page: &SeasonPage<'_>, lines: &mut Lines, key: &str) {
    lines.blank();
    lines.text(0, &page.say(key, &[]));
    lines.rule('-');
}

/// Writes the calendar: weeks where there is room, else the days on which there is something.
fn calendar(page: &SeasonPage<'_>, lines: &mut Lines) {
    let days = &page.replay.days;
    let cells: Vec<(NaiveDate, String)> = days.iter().map(|day| (day.date(), cell(page, day))).collect();
    let room = (lines.width().saturating_sub(WEEK + 2)) / 7;
    let widest = cells.iter().map(|(_, cell)| display_width(cell)).max().unwrap_or(0);
    if lines.is_wide() && widest < room {
        weeks(page, lines, &cells, room);
    } else {
        listed(page, lines, &cells);
    }
}

fn weeks(page: &SeasonPage<'_>, lines: &mut Lines, cells: &[(NaiveDate, String)], room: usize) {
    let padded =
        |text: &str, width: usize| format!("{text}{}", " ".repeat(width.saturating_sub(display_width(text))));
    let weekday = |day: u8| page.say(&format!("weekday.{day}"), &[]);
    let names: String = (1..=7).map(|day| padded(&weekday(day), room)).collect();
    lines.raw(2, format!("{}{names}", " ".repeat(WEEK)).trim_end());
    let monday = |date: NaiveDate| {
        let back = Days::new(u64::from(date.weekday().num_days_from_monday()));
        date.checked_sub_days(back).unwrap_or(date)
    };
    for week in cells.chunk_by(|(a, _), (b, _)| monday(*a) == monday(*b)) {
        let Some((first, _)) = week.first() else { continue };
        let mut row =
            padded(&page.words.day_of_year((monday(*first).month() as u8, monday(*first).day() as u8)), WEEK);
        for place in 0..7u32 {
            let of_day = week.iter().find(|(date, _)| date.weekday().num_days_from_monday() == place);
            row += &padded(of_day.map_or("", |(_, cell)| cell), room);
        }
        lines.raw(2, row.trim_end());
    }
}

fn listed(page: &SeasonPage<'_>, lines: &mut Lines, cells: &[(NaiveDate, String)]) {
    let (hold, blank) = (page.say("season.mark.hold", &[]), page.say("season.mark.blank", &[]));
    for same in cells.chunk_by(|(_, a), (_, b)| a == b && (*a == hold || *a == blank)) {
        let Some(((from, cell), (to, _))) = same.first().zip(same.last()) else { continue };
        let days = page.days_words(*from, *to);
        let says = if *cell == hold {
            page.say("season.quiet", &[("days", &days)])
        } else if *cell == blank {
            page.say("season.quiet.blank", &[("days", &days)])
        } else {
            format!("{days}: {cell}")
        };
        lines.hanging(2, 4, &says);
    }
}

/// Returns a day of the calendar: how many trees get which answer, and how many were sprayed.
pub(super) fn cell(page: &SeasonPage<'_>, day: &ReplayedDay) -> String {
    let mark = |key: &str, count: usize| page.say(key, &[("count", &count.to_string())]);
    let counted = |is: &dyn Fn(&Verdict) -> bool| day.count(|group| is(&group.verdict));
    let mut marks = Vec::new();
    if day.blank.is_some() {
        marks.push(page.say("season.mark.blank", &[]));
    } else {
        let [(_, spray), (_, look), (_, shut), (_, undecided), (_, uncovered), _] = VERDICTS;
        let open = |verdict: &Verdict| undecided(verdict) || uncovered(verdict);
        for (key, count) in [
            ("season.mark.spray", counted(&spray)),
            ("season.mark.look", counted(&look)),
            ("season.mark.shut", counted(&shut)),
            ("season.mark.open", counted(&open)),
        ] {
            if count > 0 {
                marks.push(mark(key, count));
            }
        }
        if marks.is_empty() {
            marks.push(page.say("season.mark.hold", &[]));
        }
    }
    let mut sprayed: Vec<usize> = day.done.iter().flat_map(|tank| tank.trees.iter().copied()).collect();
    sprayed.sort_unstable();
    sprayed.dedup();
    if !sprayed.is_empty() {
        marks.push(mark("season.mark.done", sprayed.len()));
    }
    marks.join(" ")
}
