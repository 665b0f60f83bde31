//! Rows of a table that match the same key and give different values.
//!
//! Comes in: tables of the plan. Goes out: a finding for each such pair, with a point that both match. Rows are
//! swept along the key that tells them apart best, so that a long table is not compared row by row.

use super::Checker;
use crate::plan::{self, CellValue, Datum, Kind, Pattern, Plan, Table, TableRow};
use crate::problems::{Finding, Problem, Problems};
use crate::units::{Threshold, Unit};

/// A pattern as a stretch of numbers; words and texts by their places. A bound says whether it counts itself.
#[derive(Clone, Copy)]
struct PatternRange {
    low: (f64, bool),
    high: (f64, bool),
}

impl PatternRange {
    fn of(pattern: &Pattern, kind: Kind) -> Self {
        let all = Self { low: (f64::NEG_INFINITY, true), high: (f64::INFINITY, true) };
        match pattern {
            Pattern::Any => all,
            Pattern::Is(datum) => {
                let place = match datum {
                    Datum::Number(number) => *number,
                    Datum::Word(place) => f64::from(*place),
                    Datum::Text(text) => f64::from(text.0),
                };
                Self { low: (place, true), high: (place, true) }
            }
            Pattern::Numbers { low, high } => {
                let end = |it: (Threshold, bool)| (it.0.value(), it.1);
                let (low, high) = (low.map_or(all.low, end), high.map_or(all.high, end));
                if matches!(kind, Kind::Count | Kind::Words(_)) {
                    Self { low, high }.whole()
                } else {
                    Self { low, high }
                }
            }
        }
    }

    /// Returns the stretch between the outermost whole numbers in it.
    fn whole(self) -> Self {
        let low = if self.low.1 { self.low.0.ceil() } else { self.low.0.floor() + 1.0 };
        let high = if self.high.1 { self.high.0.floor() } else { self.high.0.ceil() - 1.0 };
        Self { low: (low, true), high: (high, true) }
    }

    fn meet(self, other: Self) -> Option<Self> {
        let low = later(self.low, other.low);
        let high = if self.high.0 < other.high.0 || (self.high.0 == other.high.0 && !self.high.1) {
            self.high
        } else {
            other.high
        };
        let meets = low.0 < high.0 || (low.0 == high.0 && low.1 && high.1);
        meets.then_some(Self { low, high })
    }

    /// Returns a number in it, one of its ends if it has one.
    fn point(self) -> f64 {
        match (self.low, self.high) {
            ((low, true), _) if low.is_finite() => low,
            (_, (high, true)) if high.is_finite() => high,
            ((low, _), (high, _)) if low.is_finite() && high.is_finite() => low + (high - low) / 2.0,
            ((low, _), _) if low.is_finite() => low + 1.0,
            (_, (high, _)) if high.is_finite() => high - 1.0,
            (_, _) => 0.0,
        }
    }
}

fn later(one: (f64, bool), other: (f64, bool)) -> (f64, bool) {
    if one.0 > other.0 || (one.0 == other.0 && !one.1) { one } else { other }
}

impl Checker<'_> {
    /// Reports overlapping rows of all tables.
    pub(super) fn overlaps(&mut self) {
        let mut found = Problems::default();
        for (number, table) in self.plan.tables.iter().enumerate() {
            let units = self.key_units.get(number).map(Vec::as_slice).unwrap_or_default();
            overlaps_of(table, units, &self.plan, &mut found);
        }
        self.problems.extend(found);
    }
}

/// How many pairs are counted to find the key that tells rows apart best.
const COUNTED: usize = 2_000_000;

fn overlaps_of(table: &Table, units: &[Option<Unit>], plan: &Plan, found: &mut Problems) {
    let rows: Vec<Vec<PatternRange>> = table
        .rows
        .iter()
        .map(|row| {
            row.patterns.iter().zip(&table.keys).map(|(it, kind)| PatternRange::of(it, *kind)).collect()
        })
        .collect();
    let best = (0..table.keys.len()).min_by_key(|key| sweep(&rows, *key, COUNTED, &mut |_, _| {}));
    let Some(best) = best else { return };
    // Each row is shown once, with the first row that it overlaps.
    let mut first: Vec<Option<usize>> = vec![None; rows.len()];
    sweep(&rows, best, usize::MAX, &mut |one, other| {
        let (early, late) = (one.min(other), one.max(other));
        let differ = match (table.rows.get(early), table.rows.get(late)) {
            (Some(one), Some(other)) => !same(one, other),
            (_, _) => false,
        };
        if differ
            && meet(&rows, early, late).is_some()
            && let Some(slot) = first.get_mut(late)
        {
            *slot = Some(slot.map_or(early, |before| before.min(early)));
        }
    });
    for (late, early) in first.iter().enumerate() {
        let Some(early) = *early else { continue };
        let (Some(one), Some(other)) = (table.rows.get(early), table.rows.get(late)) else { continue };
        let Some(point) = meet(&rows, early, late) else { continue };
        let mut shown = Vec::new();
        let mut situation = std::collections::BTreeMap::new();
        for (at, (number, kind)) in point.iter().zip(&table.keys).enumerate() {
            let key = show_key(*number, *kind, units.get(at).cloned().flatten(), plan);
            situation.insert(format!("{} key {}", table.name, at + 1), serde_json::Value::from(key.clone()));
            shown.push(key);
        }
        let shown = shown.join(", ");
        let (first, second) = (show_cell(one, table, plan), show_cell(other, table, plan));
        let ranges = table.keys.iter().any(|kind| kind.is_numeric());
        let message =
            format!("two rows of `{}` match {shown}: one gives {first}, the other {second}", table.name);
        let mut problem = Problem::new(Finding::TableOverlap, other.span, message)
            .label(format!("this row gives {second}"))
            .related(one.span, format!("this row gives {first}"))
            .help(if ranges {
                "end one range with `below` where the next begins, or leave one row out"
            } else {
                "leave one row out; `otherwise` says what all other keys give"
            });
        problem.situation = situation;
        found.push(problem);
    }
}

/// Visits every pair of rows whose stretches of one key meet, up to so many, and returns how many there are.
fn sweep(rows: &[Vec<PatternRange>], key: usize, most: usize, visit: &mut dyn FnMut(usize, usize)) -> usize {
    let stretch = |row: usize| rows.get(row).and_then(|row| row.get(key)).copied();
    let mut order: Vec<usize> = (0..rows.len()).filter(|row| stretch(*row).is_some()).collect();
    let low = |row: usize| stretch(row).map_or(0.0, |it| it.low.0);
    order.sort_by(|a, b| low(*a).total_cmp(&low(*b)).then(a.cmp(b)));
    let (mut open, mut pairs): (Vec<usize>, usize) = (Vec::new(), 0);
    for row in order {
        let Some(here) = stretch(row) else { continue };
        open.retain(|before| stretch(*before).is_some_and(|it| it.high.0 >= here.low.0));
        if pairs > most {
            break;
        }
        for before in &open {
            pairs += 1;
            visit(*before, row);
        }
        open.push(row);
    }
    pairs
}

/// Returns a point that two rows match.
fn meet(rows: &[Vec<PatternRange>], one: usize, other: usize) -> Option<Vec<f64>> {
    let (one, other) = (rows.get(one)?, rows.get(other)?);
    one.iter().zip(other).map(|(a, b)| a.meet(*b).map(PatternRange::point)).collect()
}

fn same(one: &TableRow, other: &TableRow) -> bool {
    one.gives == other.gives
}

fn show_key(number: f64, kind: Kind, unit: Option<Unit>, plan: &Plan) -> String {
    let unit = unit.unwrap_or_else(|| super::kinds::canonical_unit(kind));
    match kind {
        Kind::Words(list) => {
            let word = plan[list].words.get(number as usize);
            format!("`{}`", word.map_or("any", |word| &word.name))
        }
        Kind::YesNo => format!("`{}`", if number == 1.0 { "yes" } else { "no" }),
        Kind::Text => match plan.texts.get(number as usize) {
            Some(text) if number >= 0.0 => format!("`\"{text}\"`"),
            Some(_) | None => "`any`".to_string(),
        },
        _ => format!("`{}`", plan::number_in(kind, &unit, number)),
    }
}

fn show_cell(row: &TableRow, table: &Table, plan: &Plan) -> String {
    let one = |datum: Datum| match (datum, table.gives) {
        (Datum::Word(place), Kind::Words(list)) => {
            plan[list].words.get(usize::from(place)).map_or_else(String::new, |word| word.name.to_string())
        }
        (Datum::Word(place), _) => if place == 1 { "yes" } else { "no" }.to_string(),
        (Datum::Text(text), _) => {
            plan.texts.get(text.0 as usize).map_or_else(String::new, |it| format!("\"{it}\""))
        }
        (Datum::Number(number), kind) => plan::number_in(kind, &table.unit, number),
    };
    match row.gives {
        CellValue::One(datum) => format!("`{}`", one(datum)),
        CellValue::Between(low, high) => format!("`{} to {}`", one(low), one(high)),
        CellValue::Unknown => "`unknown`".to_string(),
        CellValue::Empty => "`empty`".to_string(),
    }
}
