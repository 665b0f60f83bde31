//! The units of a table's columns: those of its titles and cells, else those that were answered.

use super::cells::{self, CellSays};
use super::doubt;
use super::layout::{Layout, PlannedColumn};
use super::titles::counts_tips;
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
    let says = Says::of(&planned, layout);
    let given = planned.scale.clone().filter(|_| planned.column != Column::Humidity);
    let topic = topic_of(planned.column);
    let answer = topic.and_then(|topic| draft.answer(topic));
    let scale = match (planned.column, given) {
        (Column::Rain | Column::Wind | Column::Gust, Some(_)) if answer == Some("leave-out") => None,
        (Column::Rain, Some(given)) => answer.and_then(rain_scale).or(Some(given)),
        (Column::Temperature | Column::DewPoint, Some(given)) => {
            match doubted(&planned, &given, &says, layout, draft) {
                Some(other) => asked(Topic::Temperature, &planned, Some(other), &says.numbers, draft),
                None => Some(given),
            }
        }
        (_, Some(given)) => Some(given),
        (Column::Humidity, None) => humidity_scale(&says.numbers),
        (_, None) if says.in_cells.is_some() => says.in_cells,
        (Column::LeafWet, None) => None,
        (Column::Temperature | Column::DewPoint, None) => {
            let proposed = proposed_degrees(&says.numbers);
            asked(Topic::Temperature, &planned, proposed, &says.numbers, draft)
        }
        (Column::Wind | Column::Gust, None) => asked(Topic::Wind, &planned, None, &says.numbers, draft),
        (Column::Rain, None) => rain_of_tips(&planned, &says.numbers, draft),
    };
    // What is neither read nor asked about is named among what is not read.
    if scale.is_none() && (topic.is_none() || answer.is_some()) {
        draft.intake.left_out.push(planned.title.clone());
    }
    Some(PlannedColumn { scale: Some(scale?), ..planned })
}

/// What the cells of a column say of its unit.
struct Says {
    in_cells: Option<Scale>,
    /// Its numbers, sorted.
    numbers: Vec<f64>,
}

impl Says {
    fn of(planned: &PlannedColumn, layout: &Layout<'_>) -> Self {
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
        Self { in_cells, numbers }
    }
}

/// Returns the unit in which temperatures more likely are, where they cannot be in that of their title. A dew point is in the
/// unit of the temperature beside it.
fn doubted(
    planned: &PlannedColumn,
    given: &Scale,
    says: &Says,
    layout: &Layout<'_>,
    draft: &IntakeDraft<'_>,
) -> Option<&'static str> {
    let site = draft.place.site;
    if planned.column == Column::Temperature {
        return doubt::other_degrees(&says.numbers, given, site);
    }
    let air = layout.columns.iter().find(|other| other.column == Column::Temperature)?;
    let air_scale = air.scale.as_ref().filter(|scale| *scale == given)?;
    doubt::other_degrees(&Says::of(air, layout).numbers, air_scale, site)
}

/// Returns the scale of an answer for rain: a unit, or the size of a tip.
fn rain_scale(answer: &str) -> Option<Scale> {
    answer.strip_prefix("tips-").map_or_else(|| Scale::written(answer), Scale::of_tip)
}

/// Finds the unit of rain whose title has none, or the size of a tip: that may be what is counted, or only how finely.
fn rain_of_tips(planned: &PlannedColumn, numbers: &[f64], draft: &mut IntakeDraft<'_>) -> Option<Scale> {
    let Some(tip) = &planned.tip else { return asked(Topic::Rain, planned, None, numbers, draft) };
    let whole = numbers.iter().all(|number| number.fract() == 0.0);
    let is_dry = numbers.iter().all(|number| *number == 0.0);
    if counts_tips(&planned.title) && whole {
        return Some(tip.clone());
    }
    if !whole || is_dry {
        return Scale::of(&tip.unit.symbol);
    }
    let of_answer = |choice: &&&str| rain_scale(choice).as_ref() == Some(tip);
    let proposed = Topic::Rain.choices().iter().find(of_answer).copied();
    asked(Topic::Rain, planned, proposed, numbers, draft)
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
        Some(answer) if topic == Topic::Rain => rain_scale(answer),
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
