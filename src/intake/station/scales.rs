//! The units of a table's columns: those of its titles and cells, else those that were answered.

use super::cells::{self, CellSays};
use super::layout::{Layout, PlannedColumn};
use crate::intake::answers::{FormQuestion, Topic};
use crate::intake::draft::IntakeDraft;
use crate::intake::unit_words::Scale;
use crate::units::clean;
use crate::weather::Column;

/// Gives every column its unit, or asks for it.
pub(super) fn scaled(layout: &Layout<'_>, draft: &mut IntakeDraft<'_>) -> Vec<PlannedColumn> {
    layout.columns.iter().filter_map(|planned| with_scale(planned.clone(), layout, draft)).collect()
}

/// Gives a column its unit; nothing where it must be asked, or is left out.
pub(super) fn with_scale(
    planned: PlannedColumn,
    layout: &Layout<'_>,
    draft: &mut IntakeDraft<'_>,
) -> Option<PlannedColumn> {
    if planned.scale.is_some() && planned.column != Column::Humidity {
        return Some(planned);
    }
    let cells: Vec<CellSays> = layout
        .rows
        .iter()
        .take(5000)
        .map(|row| cells::read(row.cell(planned.place), layout.decimals))
        .collect();
    let in_cells = cells.iter().find_map(|cell| match cell {
        CellSays::Number(_, Some(scale)) if scale.fits(planned.column) => Some(scale.clone()),
        _ => None,
    });
    let mut numbers: Vec<f64> = cells
        .iter()
        .filter_map(|cell| match cell {
            CellSays::Number(number, _) => Some(*number),
            CellSays::Missing | CellSays::Trace | CellSays::Unreadable => None,
        })
        .collect();
    numbers.sort_by(f64::total_cmp);
    let scale = match planned.column {
        Column::Humidity => humidity_scale(&numbers),
        _ if in_cells.is_some() => in_cells,
        Column::LeafWet => None,
        Column::Temperature | Column::DewPoint => {
            asked(Topic::Temperature, &planned, proposed_degrees(&numbers), &numbers, draft)
        }
        Column::Wind | Column::Gust => asked(Topic::Wind, &planned, None, &numbers, draft),
        Column::Rain => asked(Topic::Rain, &planned, None, &numbers, draft),
    };
    if scale.is_none() && draft.answer(topic_of(planned.column)?).is_some() {
        draft.intake.left_out.push(planned.title.clone());
    }
    Some(PlannedColumn { scale: Some(scale?), ..planned })
}

fn topic_of(column: Column) -> Option<Topic> {
    match column {
        Column::Temperature | Column::DewPoint => Some(Topic::Temperature),
        Column::Wind | Column::Gust => Some(Topic::Wind),
        Column::Rain => Some(Topic::Rain),
        Column::Humidity | Column::LeafWet => None,
    }
}

/// Humidity is in per cent, unless every number of it is a share of one.
fn humidity_scale(numbers: &[f64]) -> Option<Scale> {
    let share = numbers.last().is_some_and(|most| *most <= 1.0 && *most > 0.0);
    Scale::of("%").map(|scale| if share { scale.times(100.0) } else { scale })
}

/// Above 50 no hour is in °C; where all are at most 30 no place with mango is in °F. Between them only the grower knows.
fn proposed_degrees(numbers: &[f64]) -> Option<&'static str> {
    let middle = numbers.get(numbers.len() / 2)?;
    match (*middle > 50.0, numbers.last().is_some_and(|most| *most <= 30.0)) {
        (true, _) => Some("F"),
        (false, true) => Some("C"),
        (false, false) => None,
    }
}

fn asked(
    topic: Topic,
    planned: &PlannedColumn,
    proposed: Option<&'static str>,
    numbers: &[f64],
    draft: &mut IntakeDraft<'_>,
) -> Option<Scale> {
    match draft.answer(topic) {
        Some("leave-out") => None,
        Some(answer) => Scale::written(answer),
        None => {
            let known = draft.intake.questions.iter_mut().find(|question| question.topic == topic);
            match known {
                Some(question) => question.about.insert(0, planned.title.clone()),
                None => {
                    let shown = [numbers.first(), numbers.last()].into_iter().flatten();
                    let range =
                        shown.map(|number| clean(*number).to_string()).collect::<Vec<_>>().join(" – ");
                    let about = vec![planned.title.clone(), range];
                    draft.ask(FormQuestion { topic, is_needed: true, proposed, about });
                }
            }
            None
        }
    }
}
