//! Tables of stations, loggers and spreadsheets: what their columns are, when their rows were, what they count.

mod cells;
mod clock;
mod days;
mod doubt;
mod gather;
mod layout;
mod moments;
mod rain;
mod scales;
mod stations;
mod time_parts;
mod times;
pub(super) mod titles;

use super::answers::{FormQuestion, Topic};
use super::document::Document;
use super::draft::IntakeDraft;
use super::facts::FormFact;
use super::hour_values::HourBounds;
use super::metar_text::TRACE;
use super::unit_words::Scale;
use crate::problems::Problem;
use crate::tables::{LooseRow, LooseTable};
use crate::units::Dimension;
use crate::weather::Column;
use cells::CellSays;
use chrono::{DateTime, NaiveDate, Utc};
use gather::{Gathering, RowTells, StationRow, WetGiven, gather};
use layout::{Layout, PlannedColumn};
use moments::Moments;
use rain::RainCount;
use scales::{scaled, with_scale};
use std::collections::BTreeMap;
use titles::Manner;

/// Returns by what a table of the same kind is known again: its titles.
pub(super) fn kind_of(document: &Document<'_>) -> Option<String> {
    let table = table_of(document.text);
    let header = table.rows.get(layout::header_of(&table)?)?;
    Some(header.cells().collect::<Vec<_>>().join("; "))
}

/// Parts a text into cells. The comma of `Feb 08, 2027` parts none.
fn table_of(text: &str) -> LooseTable {
    let is_digit = |at: usize| text.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
    let parts_date = |at: usize| {
        let before =
            text.get(..at).unwrap_or_default().trim_end_matches(|letter: char| letter.is_ascii_digit());
        let word = before.strip_suffix(' ').unwrap_or_default();
        let year = at + 1 + usize::from(text.as_bytes().get(at + 1) == Some(&b' '));
        (year..year + 4).all(is_digit)
            && before.len() < at
            && word.ends_with(|letter: char| letter.is_ascii_lowercase())
    };
    let dates: Vec<usize> = text.match_indices(',').map(|(at, _)| at).filter(|at| parts_date(*at)).collect();
    if dates.is_empty() {
        return LooseTable::read(text);
    }
    let mut plain = text.to_string();
    for at in dates {
        plain.replace_range(at..=at, " ");
    }
    LooseTable::read(&plain)
}

/// Reads a table.
pub(super) fn read(draft: &mut IntakeDraft<'_>) -> Result<(), Box<Problem>> {
    let document = draft.document;
    let table = table_of(document.text);
    let Some(mut layout) = layout::find(&table, draft) else {
        let help = "a weather table has a line of titles with a time and readings, `time,temperature [°F],rain [in]`, and rows \
                    below it";
        return Err(document.problem(0, "there is no line of titles with a time and a reading", help));
    };
    let has = |titles: &[&str]| titles.iter().all(|title| layout.titles.contains(title));
    if has(&["when", "on"]) || has(&["start", "product"]) {
        let help = "its notes and sprays are no weather; name the file of the station";
        return Err(document.problem(
            0,
            "this is a file of a grove: what was seen, or what was sprayed",
            help,
        ));
    }
    draft.intake.kind = Some(layout.titles.join("; "));
    draft.intake.rows = layout.rows.len();
    draft.intake.left_out = layout.left_out();
    if layout.rows.is_empty() {
        return Ok(());
    }
    stations::choose(&mut layout, draft)?;
    let columns = scaled(&layout, draft);
    let Some(moments) = moments::of_rows(&layout, draft)? else { return Ok(()) };
    let is_daily = moments.is_daily || (layout.lowest.is_some() && moments.step >= 24 * 60);
    let mut rows = CellReader { layout: &layout, unreadable: 0, first: String::new() };
    let ends = [&layout.lowest, &layout.highest].map(|planned| {
        let planned = planned.clone().filter(|_| is_daily);
        planned.and_then(|planned| with_scale(planned, &layout, draft))
    });
    let (merged, days) = rows.read(&columns, &ends, &moments, draft);
    if rows.unreadable > 0 {
        draft.intake.facts.push(FormFact::Unreadable(rows.unreadable, rows.first.clone()));
    }
    for planned in &columns {
        let symbol = planned.scale.as_ref().map_or("%", Scale::symbol).to_string();
        draft.understood(&planned.title, planned.column, &symbol);
    }
    if is_daily {
        let titles: Vec<&str> = ends.iter().flatten().map(|planned| planned.title.as_str()).collect();
        if let Some(planned) = ends.iter().flatten().next() {
            let symbol = planned.scale.as_ref().map_or("", Scale::symbol);
            draft.understood(&titles.join(", "), Column::Temperature, symbol);
        }
        draft.intake.left_out.retain(|title| !titles.contains(&title.as_str()));
        let dated: Vec<(NaiveDate, &StationRow, days::DayEnds)> =
            days.iter().filter_map(|(date, place, ends)| Some((*date, merged.get(*place)?, *ends))).collect();
        days::read(&dated, draft);
        return Ok(());
    }
    draft.intake.step = Some(moments.step);
    let rain = rain_count(&columns, &merged, draft);
    if let Some(planned) = columns.iter().find(|planned| planned.column == Column::Rain) {
        let amounts =
            merged.iter().filter_map(|row| row.values.get(Column::Rain as usize).copied().flatten());
        doubt::rain(&planned.title, planned.scale.as_ref(), amounts, rain, draft);
    }
    let Some(tells) = tells(&layout, &moments, &columns, rain, draft) else { return Ok(()) };
    let series: Vec<Column> = columns.iter().map(|planned| planned.column).collect();
    let minutes = |planned: &PlannedColumn| {
        planned.scale.as_ref().is_some_and(|scale| scale.unit.dimension == Dimension::TIME)
    };
    let wet_in_minutes = if columns.iter().any(minutes) { WetGiven::Minutes } else { WetGiven::Share };
    let rain = rain.unwrap_or(RainCount::LeftOut);
    gather(
        &Gathering { rows: &merged, columns: &series, step: moments.step, tells, rain, wet_in_minutes },
        draft,
    );
    Ok(())
}

/// The cells of a table as they are read.
struct CellReader<'l> {
    layout: &'l Layout<'l>,
    unreadable: usize,
    first: String,
}

/// A day of a row: its date, the place of the row, its lowest and highest temperature.
type DatedRow = (NaiveDate, usize, days::DayEnds);

impl CellReader<'_> {
    /// Reads the rows in the order of time. Rows of one moment are one where they agree; what differs is missing.
    fn read(
        &mut self,
        columns: &[PlannedColumn],
        ends: &[Option<PlannedColumn>; 2],
        moments: &Moments,
        draft: &mut IntakeDraft<'_>,
    ) -> (Vec<StationRow>, Vec<DatedRow>) {
        let mut by_time: BTreeMap<DateTime<Utc>, usize> = BTreeMap::new();
        let mut list: Vec<StationRow> = Vec::new();
        let mut days = Vec::new();
        let layout = self.layout;
        for (row, (at, local)) in layout.rows.iter().zip(moments.rows.iter().zip(&moments.locals)) {
            let Some(at) = at else { continue };
            let mut values = [None; Column::ALL.len()];
            for planned in columns {
                if let Some(slot) = values.get_mut(planned.column as usize) {
                    *slot = self.cell(row, planned, draft);
                }
            }
            let [lowest, highest] = ends;
            let ends = (
                lowest.as_ref().and_then(|planned| self.cell(row, planned, draft)),
                highest.as_ref().and_then(|planned| self.cell(row, planned, draft)),
            );
            match by_time.get(at).and_then(|place| list.get_mut(*place)) {
                Some(before) => {
                    for (one, other) in before.values.iter_mut().zip(values) {
                        if one.is_some() && other.is_some() && *one != other {
                            *one = None;
                            draft.timeline.contradicted += 1;
                        } else {
                            *one = one.or(other);
                        }
                    }
                }
                None => {
                    by_time.insert(*at, list.len());
                    days.extend(local.map(|local| (local.date(), list.len(), ends)));
                    list.push(StationRow { at: *at, values });
                }
            }
        }
        if !list.is_sorted_by_key(|row| row.at) {
            list.sort_by_key(|row| row.at);
            days.sort_by_key(|(date, ..)| *date);
        }
        (list, days)
    }

    fn cell(
        &mut self,
        row: &LooseRow,
        planned: &PlannedColumn,
        draft: &mut IntakeDraft<'_>,
    ) -> Option<HourBounds> {
        let scale = planned.scale.as_ref()?;
        match cells::read(row.cell(planned.place), self.layout.decimals) {
            CellSays::Number(number, None) => draft.base(planned.column, scale, number),
            CellSays::Number(number, Some(own)) => {
                let own = if own.fits(planned.column) { own } else { scale.clone() };
                draft.base(planned.column, &own, number)
            }
            CellSays::Trace if planned.column == Column::Rain => {
                draft.traces += 1;
                Some(HourBounds::between(0.0, TRACE))
            }
            CellSays::Missing => None,
            CellSays::Trace | CellSays::Unreadable => {
                if self.unreadable == 0 {
                    self.first = row.cell(planned.place).chars().take(40).collect();
                }
                self.unreadable += 1;
                None
            }
        }
    }
}

/// Finds what the column of rain counts; nothing where there is none, or where it must be asked.
fn rain_count(
    columns: &[PlannedColumn],
    rows: &[StationRow],
    draft: &mut IntakeDraft<'_>,
) -> Option<RainCount> {
    let planned = columns.iter().find(|planned| planned.column == Column::Rain)?;
    let readings: Vec<rain::GaugeRead> = rows
        .iter()
        .filter_map(|row| Some((row.at, row.values.get(Column::Rain as usize).copied().flatten()?)))
        .collect();
    let manner: Manner = planned.manner;
    rain::kind(manner, &readings, &planned.title, draft)
}

/// Finds what a row tells of; nothing where it must be asked.
fn tells(
    layout: &Layout<'_>,
    moments: &Moments,
    columns: &[PlannedColumn],
    rain: Option<RainCount>,
    draft: &mut IntakeDraft<'_>,
) -> Option<RowTells> {
    let fact = |draft: &mut IntakeDraft<'_>, tells: RowTells, why: &'static str| {
        let word = if tells == RowTells::End { "end" } else { "begin" };
        draft.intake.facts.push(FormFact::Stamps(word, why));
        Some(tells)
    };
    let word = |list: &[&str]| list.iter().any(|word| layout.said.contains(word));
    if layout.is_logger {
        return fact(draft, RowTells::End, "logger");
    }
    if moments.has_24 {
        return fact(draft, RowTells::End, "24:00");
    }
    if word(&["ending", "hasta", "bis "]) {
        return fact(draft, RowTells::End, "title");
    }
    if word(&["beginning", "start", "inicio", "beginn", "desde"]) {
        return fact(draft, RowTells::Begin, "title");
    }
    if moments::ends_on_the_hour(moments) {
        return fact(draft, RowTells::End, "last-row");
    }
    let is_read = |column: Column| columns.iter().any(|planned| planned.column == column);
    let is_open = |topic: Topic| draft.intake.questions.iter().any(|question| question.topic == topic);
    let sums = match rain {
        Some(count) => count == RainCount::OfTheRow,
        None => is_open(Topic::Rain),
    };
    let sums = sums || is_read(Column::Gust) || is_read(Column::LeafWet);
    match draft.answer(Topic::Stamps) {
        Some("begin") => return Some(RowTells::Begin),
        Some("end") => return Some(RowTells::End),
        Some(_) => return Some(RowTells::Instant),
        None => {}
    }
    // One reading an hour stands for the hour whose begin is nearest, whatever its row tells of.
    if moments.step >= 60 && !sums {
        return Some(RowTells::Instant);
    }
    let first = moments.locals.iter().flatten().next();
    let about = first.map(|first| first.format("%H:%M").to_string()).into_iter().collect();
    draft.ask(FormQuestion { topic: Topic::Stamps, is_needed: true, proposed: None, about });
    None
}
