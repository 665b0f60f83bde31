//! Looking a table up with keys that may be several values.

use super::{Extent, Possible};
use crate::plan::{Between, Beyond, CellValue, Datum, Pattern, Plan, Table, TableId, TableRow};
use crate::units::tolerance;

/// What a table gives.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Found {
    /// A value, or several where keys or sources leave several.
    Value(Extent),
    /// It says nothing for some of the keys: unknown there.
    NoRow(Extent),
}

impl Found {
    /// Returns what the value can be.
    pub fn extent(self) -> Extent {
        match self {
            Found::Value(extent) | Found::NoRow(extent) => extent,
        }
    }
}

/// Looks a table up. An empty key takes `otherwise`; a key that no row matches is unknown.
pub fn lookup(plan: &Plan, id: TableId, keys: &[Extent]) -> Found {
    let table = &plan[id];
    let unknown = Extent::anything(table.gives, plan);
    let settle = |gives: Given| match gives {
        Given::Cell(cell) => cell_extent(cell).map_or(Found::NoRow(unknown), Found::Value),
        Given::Extent(extent) => Found::Value(extent),
        Given::Nothing => Found::NoRow(unknown),
    };
    if keys.iter().any(|key| key.is_empty()) {
        return settle(table.otherwise.map_or(Given::Nothing, Given::Cell));
    }
    let mut found: Option<Found> = None;
    let mut add = |given: Given| {
        let new = settle(given);
        found = Some(match found {
            None => new,
            Some(Found::Value(old)) => match new {
                Found::Value(new) => Found::Value(old.union(new)),
                Found::NoRow(new) => Found::NoRow(old.union(new)),
            },
            Some(Found::NoRow(old)) => Found::NoRow(old.union(new.extent())),
        });
    };
    if keys.iter().any(|key| key.may_be_empty) {
        add(table.otherwise.map_or(Given::Nothing, Given::Cell));
    }
    for point in points(table, keys) {
        add(at(table, &point));
    }
    if let (Between::Linear, [key]) = (table.between, keys)
        && let Some((low, high)) = key.ends()
    {
        line(table).windows(2).filter(|pair| pair[0].0 < high && pair[1].0 > low).for_each(|pair| {
            let within = |x: f64| between(pair[0], pair[1], x.clamp(pair[0].0, pair[1].0));
            add(Given::Extent(Extent::between(within(low), within(high))));
        });
    }
    found.unwrap_or(Found::NoRow(unknown))
}

/// What a table gives for one set of keys.
enum Given {
    Cell(CellValue),
    Extent(Extent),
    Nothing,
}

fn cell_extent(cell: CellValue) -> Option<Extent> {
    match cell {
        CellValue::One(datum) => Some(Extent::datum(datum)),
        CellValue::Between(Datum::Number(low), Datum::Number(high)) => Some(Extent::between(low, high)),
        CellValue::Between(Datum::Word(low), Datum::Word(high)) => Some(Extent::words(
            (low..=high).fold(0, |set, place| set | 1u64.checked_shl(u32::from(place)).unwrap_or(0)),
        )),
        CellValue::Empty => Some(Extent::EMPTY),
        CellValue::Between(..) | CellValue::Unknown => None,
    }
}

/// Returns keys that stand for all that the given ones can be: every value of each that a row tells apart.
fn points(table: &Table, keys: &[Extent]) -> Vec<Vec<Datum>> {
    let mut points: Vec<Vec<Datum>> = vec![Vec::new()];
    for (place, key) in keys.iter().enumerate() {
        let values = values(table, place, *key);
        points = points
            .iter()
            .flat_map(|point| {
                values.iter().map(move |value| point.iter().copied().chain([*value]).collect::<Vec<Datum>>())
            })
            .collect();
    }
    points
}

fn values(table: &Table, place: usize, key: Extent) -> Vec<Datum> {
    match key.can_be {
        Possible::Nothing => Vec::new(),
        Possible::Numbers(low, high) if low == high => vec![Datum::Number(low)],
        Possible::Numbers(low, high) => {
            let mut marks: Vec<f64> = vec![low, high];
            for row in &table.rows {
                marks.extend(
                    row.patterns.get(place).into_iter().flat_map(ends).filter(|it| *it > low && *it < high),
                );
            }
            marks.sort_by(f64::total_cmp);
            marks.dedup();
            // A number between each two marks: rows tell numbers apart at their ends only.
            let inner = marks.windows(2).map(|pair| match (pair[0].is_finite(), pair[1].is_finite()) {
                (true, true) => (pair[0] + pair[1]) / 2.0,
                (true, false) => pair[0] + 1.0f64.max(pair[0].abs()),
                (false, true) => pair[1] - 1.0f64.max(pair[1].abs()),
                (false, false) => 0.0,
            });
            inner
                .collect::<Vec<_>>()
                .into_iter()
                .chain(marks.iter().copied().filter(|it| it.is_finite()))
                .map(Datum::Number)
                .collect()
        }
        Possible::Words(set) => (0..64).filter(|word| set >> word & 1 == 1).map(Datum::Word).collect(),
        Possible::Text(text) => vec![Datum::Text(text)],
        Possible::AnyText => {
            let named = table.rows.iter().filter_map(|row| match row.patterns.get(place) {
                Some(Pattern::Is(datum)) => Some(*datum),
                Some(Pattern::Any | Pattern::Numbers { .. }) | None => None,
            });
            named.chain([Datum::Text(crate::plan::TextId::OTHER)]).collect()
        }
    }
}

fn ends(pattern: &Pattern) -> Vec<f64> {
    match pattern {
        Pattern::Is(Datum::Number(value)) => vec![*value],
        Pattern::Numbers { low, high } => low.iter().chain(high).map(|(value, _)| *value).collect(),
        Pattern::Is(_) | Pattern::Any => Vec::new(),
    }
}

/// Returns what the table gives for one set of keys.
fn at(table: &Table, keys: &[Datum]) -> Given {
    if let Some(row) = table.rows.iter().find(|row| row_matches(row, keys)) {
        return Given::Cell(row.gives);
    }
    let otherwise = table.otherwise.map_or(Given::Nothing, Given::Cell);
    let [Datum::Number(key)] = keys else { return otherwise };
    let line = line(table);
    let (Some(first), Some(last)) = (line.first(), line.last()) else { return otherwise };
    let beyond = |end: (f64, f64)| match table.beyond {
        Some(Beyond::Empty) => Given::Cell(CellValue::Empty),
        Some(Beyond::Ends) => Given::Extent(Extent::number(end.1)),
        Some(Beyond::Unknown) => Given::Cell(CellValue::Unknown),
        None => table.otherwise.map_or(Given::Nothing, Given::Cell),
    };
    if *key < first.0 {
        return beyond(*first);
    }
    if *key > last.0 {
        return match (table.between, table.beyond) {
            (Between::Step, None) => Given::Extent(Extent::number(last.1)),
            _ => beyond(*last),
        };
    }
    match table.between {
        Between::Exact => otherwise,
        Between::Step => line
            .iter()
            .rev()
            .find(|(at, _)| at <= key)
            .map_or(otherwise, |(_, value)| Given::Extent(Extent::number(*value))),
        Between::Linear => line
            .windows(2)
            .find(|pair| pair[0].0 <= *key && *key <= pair[1].0)
            .map_or(otherwise, |pair| Given::Extent(Extent::number(between(pair[0], pair[1], *key)))),
    }
}

/// Returns the rows that are plain pairs of numbers, by their key.
fn line(table: &Table) -> Vec<(f64, f64)> {
    let mut line: Vec<(f64, f64)> = table
        .rows
        .iter()
        .filter_map(|row| match (&row.patterns[..], row.gives) {
            ([Pattern::Is(Datum::Number(key))], CellValue::One(Datum::Number(value))) => Some((*key, value)),
            _ => None,
        })
        .collect();
    line.sort_by(|a, b| a.0.total_cmp(&b.0));
    line
}

fn between(from: (f64, f64), to: (f64, f64), at: f64) -> f64 {
    if to.0 == from.0 { from.1 } else { from.1 + (to.1 - from.1) * (at - from.0) / (to.0 - from.0) }
}

/// Returns whether a row matches a set of keys.
pub fn row_matches(row: &TableRow, keys: &[Datum]) -> bool {
    row.patterns.len() == keys.len()
        && row.patterns.iter().zip(keys).all(|(pattern, key)| matches(pattern, *key))
}

fn matches(pattern: &Pattern, key: Datum) -> bool {
    match (pattern, key) {
        (Pattern::Any, _) => true,
        (Pattern::Is(Datum::Number(value)), Datum::Number(key)) => (value - key).abs() <= tolerance(*value),
        (Pattern::Is(value), key) => *value == key,
        (Pattern::Numbers { low, high }, key) => {
            let key = match key {
                Datum::Number(key) => key,
                Datum::Word(place) => f64::from(place),
                Datum::Text(_) => return false,
            };
            let above =
                low.is_none_or(
                    |(low, closed)| {
                        if closed { key >= low - tolerance(low) } else { key > low + tolerance(low) }
                    },
                );
            let below = high.is_none_or(|(high, closed)| {
                if closed { key <= high + tolerance(high) } else { key < high - tolerance(high) }
            });
            above && below
        }
    }
}
