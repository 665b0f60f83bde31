//! Where a table has its header, its units and its rows, and what its columns are.

use super::cells::{DecimalSign, has_decimal_comma, has_thousands};
use super::time_parts::TimeParts;
use super::times;
use super::titles::{Manner, TitleMeaning, heading, is_preferred, tip_size, unit};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::intake::facts::FormFact;
use crate::intake::unit_words::Scale;
use crate::tables::{LooseRow, LooseTable};
use crate::weather::Column;
use chrono_tz::Tz;

/// A table whose parts are found.
pub(super) struct Layout<'t> {
    pub(super) titles: Vec<&'t str>,
    pub(super) columns: Vec<PlannedColumn>,
    /// The column of dates or of whole times, and that of the time of day where it stands apart.
    pub(super) time: (usize, Option<usize>),
    /// The columns of the parts of a time, where it stands in several.
    pub(super) parts: Option<TimeParts>,
    pub(super) lowest: Option<PlannedColumn>,
    pub(super) highest: Option<PlannedColumn>,
    pub(super) rows: Vec<&'t LooseRow>,
    pub(super) decimals: DecimalSign,
    /// Whether it has the four header lines of a logger.
    pub(super) is_logger: bool,
    /// The lines before the header and the titles of the times, folded.
    pub(super) said: String,
}

/// A column that is to be read.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct PlannedColumn {
    pub(super) place: usize,
    pub(super) title: String,
    pub(super) column: Column,
    pub(super) manner: Manner,
    pub(super) scale: Option<Scale>,
    /// The rain of one tip of the gauge, where the title tells it.
    pub(super) tip: Option<Scale>,
}

/// So many lines may stand before the header.
const BEFORE: usize = 40;
/// The first word of a logger's table.
const LOGGER: &str = "TOA5";

/// Finds the header of a table: the first line with a time and a series.
pub(super) fn header_of(table: &LooseTable) -> Option<usize> {
    table.rows.iter().take(BEFORE).position(|row| {
        let headings: Vec<TitleMeaning> = row.cells().map(heading).collect();
        let series = |it: &TitleMeaning| {
            matches!(it, TitleMeaning::Series(..) | TitleMeaning::Lowest | TitleMeaning::Highest)
        };
        let has_time = headings.contains(&TitleMeaning::Time) || TimeParts::find(row.cells()).is_some();
        has_time && headings.iter().any(series)
    })
}

/// Finds the parts of a table.
pub(super) fn find<'t>(table: &'t LooseTable, draft: &mut IntakeDraft<'_>) -> Option<Layout<'t>> {
    let at = header_of(table)?;
    let header = table.rows.get(at)?;
    let titles: Vec<&str> = header.cells().collect();
    let mut rows = table.rows.get(at + 1..).unwrap_or_default();
    let mut units: Option<&LooseRow> = None;
    // Behind the titles stand, with some, a line of units and one of how values were taken.
    while let Some((first, rest)) = rows.split_first()
        && !first.cells().any(|cell| cell.bytes().any(|byte| byte.is_ascii_digit()))
    {
        if units.is_none() && first.cells().any(|cell| Scale::written(cell).is_some()) {
            units = Some(first);
        }
        rows = rest;
    }
    let cells = || rows.iter().take(500).flat_map(LooseRow::cells);
    // Where commas part the cells, a quoted `3,7` has one before its decimals; `1,234` may part thousands.
    let comma = match table.separator {
        b',' => cells().any(|cell| has_decimal_comma(cell) && !has_thousands(cell)),
        _ => cells().any(has_decimal_comma),
    };
    let decimals = if comma { DecimalSign::Comma } else { DecimalSign::Point };
    let headings: Vec<TitleMeaning> = titles.iter().map(|title| heading(title)).collect();
    let parts = TimeParts::find(titles.iter().copied())
        .filter(|parts| rows.first().is_none_or(|row| parts.read(row).is_some()));
    let time = match &parts {
        Some(_) => (titles.len(), None),
        None => time_columns(&headings, &titles, rows, draft.place.site.zone())?,
    };
    // A file that was not copied whole ends within a row.
    if let [.., before, last] = rows
        && !draft.document.text.ends_with('\n')
        && last.cells().count() < titles.len()
        && before.cells().count() >= titles.len()
    {
        draft.intake.facts.push(FormFact::CutRow);
        rows = rows.split_last().map_or(rows, |(_, rest)| rest);
    }
    let before = table.rows.get(..at).unwrap_or_default();
    let is_logger = before.first().is_some_and(|row| row.cell(0) == LOGGER);
    let said = before.iter().flat_map(LooseRow::cells).map(str::to_lowercase).collect::<Vec<_>>().join(" ; ");
    let of_time = [Some(time.0), time.1].into_iter().flatten().filter_map(|place| titles.get(place));
    let said = of_time.fold(said, |said, title| said + " ; " + &title.to_lowercase());
    let planned = |place: usize, column: Column, manner: Manner| {
        let title = titles.get(place).copied().unwrap_or_default();
        let below =
            || units.and_then(|units| Scale::written(units.cell(place))).filter(|scale| scale.fits(column));
        let scale = unit(title, column).or_else(below);
        let tip = tip_size(title).filter(|_| column == Column::Rain);
        PlannedColumn { place, title: title.to_string(), column, manner, scale, tip }
    };
    let mut all = Vec::new();
    for (place, heading) in headings.iter().enumerate() {
        if let TitleMeaning::Series(column, manner) = heading {
            all.push(planned(place, *column, *manner));
        }
    }
    let columns = chosen(all, draft);
    let temperature = |wanted: TitleMeaning| {
        headings.iter().position(|it| *it == wanted).map(|at| planned(at, Column::Temperature, Manner::Plain))
    };
    let (lowest, highest) = (temperature(TitleMeaning::Lowest), temperature(TitleMeaning::Highest));
    Some(Layout {
        titles,
        columns,
        time,
        parts,
        lowest,
        highest,
        rows: rows.iter().collect(),
        decimals,
        is_logger,
        said,
    })
}

/// Finds the columns of the times: one that tells day and time of day, else one of each.
fn time_columns(
    headings: &[TitleMeaning],
    titles: &[&str],
    rows: &[LooseRow],
    zone: Tz,
) -> Option<(usize, Option<usize>)> {
    let tells = |place: usize| {
        let told: Vec<_> =
            rows.iter().take(20).filter_map(|row| times::read_in(row.cell(place), zone)).collect();
        let most = |count: usize| count * 2 > rows.len().min(20);
        let day = most(told.iter().filter(|told| told.day.is_some()).count());
        let clock = most(told.iter().filter(|told| told.seconds.is_some()).count());
        (day, clock)
    };
    if rows.is_empty() {
        return headings.iter().position(|heading| *heading == TitleMeaning::Time).map(|place| (place, None));
    }
    let places: Vec<(usize, (bool, bool))> = headings
        .iter()
        .enumerate()
        .filter(|(_, heading)| **heading == TitleMeaning::Time)
        .map(|(place, _)| (place, tells(place)))
        .collect();
    let first =
        |wanted: (bool, bool)| places.iter().find(|(_, tells)| *tells == wanted).map(|(place, _)| *place);
    // Of two clocks that of the world is never set.
    let whole = places.iter().filter(|(_, tells)| *tells == (true, true)).map(|(place, _)| *place);
    let is_utc = |place: &usize| titles.get(*place).is_some_and(|title| title.to_lowercase().contains("utc"));
    if let Some(whole) = whole.clone().find(is_utc).or_else(|| whole.clone().next()) {
        return Some((whole, None));
    }
    first((true, false)).map(|day| (day, first((false, true))))
}

/// Of several columns that fit one series takes that of the outside air, else the one that was answered.
fn chosen(all: Vec<PlannedColumn>, draft: &mut IntakeDraft<'_>) -> Vec<PlannedColumn> {
    let mut columns: Vec<PlannedColumn> = Vec::new();
    for (column, _) in Column::ALL {
        let mut fit: Vec<&PlannedColumn> = all.iter().filter(|planned| planned.column == column).collect();
        if fit.len() > 1 {
            let preferred: Vec<&PlannedColumn> =
                fit.iter().copied().filter(|it| is_preferred(&it.title)).collect();
            if preferred.len() == 1 {
                fit = preferred;
            }
        }
        if fit.len() > 1 && column == Column::Rain {
            // Beside the rain of the row stands, with some, that of the day.
            let plain: Vec<&PlannedColumn> =
                fit.iter().copied().filter(|it| it.manner == Manner::Plain).collect();
            if plain.len() == 1 {
                fit = plain;
            }
        }
        match &fit[..] {
            [] => {}
            [one] => columns.push((*one).clone()),
            several => {
                let answer = draft.answer(Topic::Take).unwrap_or_default().to_lowercase();
                let named = |it: &&&PlannedColumn| {
                    answer.split(';').any(|part| part.trim() == it.title.to_lowercase())
                };
                match several.iter().find(named) {
                    Some(one) => columns.push((**one).clone()),
                    None => {
                        let about = several.iter().map(|it| it.title.clone()).collect();
                        let question =
                            FormQuestion { topic: Topic::Take, is_needed: true, proposed: None, about };
                        draft.intake.questions.push(question);
                    }
                }
            }
        }
    }
    columns
}

impl Layout<'_> {
    /// Returns whether a column is read.
    pub(super) fn is_read(&self, place: usize) -> bool {
        self.columns.iter().any(|planned| planned.place == place)
            || self.time.0 == place
            || self.time.1 == Some(place)
            || self.parts.is_some_and(|parts| parts.has(place))
    }

    /// Returns the titles of the columns that are not read.
    pub(super) fn left_out(&self) -> Vec<String> {
        let titles = self
            .titles
            .iter()
            .enumerate()
            .filter(|(place, title)| !self.is_read(*place) && !title.is_empty());
        titles.map(|(_, title)| (*title).to_string()).collect()
    }
}
