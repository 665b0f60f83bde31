//! Looking up handbook tables, with one key or several, known or not.
//!
//! Between its rows a table is constant, or runs in straight lines. So all that an interval of keys can give is
//! found at its ends, at the edges of the rows that lie in it, and between these.

use super::truth::Truth;
use super::{Cause, Extent, InDoubt, NoValue, Possible, TableKey};
use crate::plan::{Between, Beyond, CellValue, Datum, Kind, Pattern, Plan, Table, TableRow, TextId};

/// Returns what a table gives, and why it is unknown or empty where it is.
///
/// A key that no row matches takes `otherwise`, else it is unknown; an empty key takes `otherwise`, else the
/// result is empty. Where `beyond` is written it counts outside the rows, before `otherwise`.
pub fn lookup(plan: &Plan, table: &Table, keys: &[Extent]) -> (Extent, Option<Cause>) {
    let mut found = FoundRows { extent: None, cause: None, may_be_empty: false };
    if keys.iter().any(|key| key.may_be_empty) {
        match table.otherwise {
            Some(cell) => found.add(cell_extent(cell, table, plan), None),
            None => found.may_be_empty = true,
        }
    }
    if keys.iter().any(|key| key.is_empty()) {
        return found.finish();
    }
    let choices: Vec<Vec<PossibleKey>> = table
        .keys
        .iter()
        .zip(keys)
        .enumerate()
        .map(|(place, (kind, key))| points(table, place, *kind, *key))
        .collect();
    let count = choices.iter().try_fold(1usize, |count, keys| count.checked_mul(keys.len()));
    if count.is_none_or(|count| count > MOST) || keys.len() != table.keys.len() {
        let cause = Cause::Doubt(InDoubt::ManyRows(table.name.clone()));
        found.add(Extent::anything(table.gives, plan), Some(cause));
        return found.finish();
    }
    let mut at = vec![0usize; choices.len()];
    loop {
        let keys: Vec<PossibleKey> =
            at.iter().zip(&choices).filter_map(|(at, keys)| keys.get(*at).copied()).collect();
        let (extent, cause) = at_point(plan, table, &keys);
        found.add(extent, cause);
        if !advance(&mut at, &choices) {
            return found.finish();
        }
    }
}

/// Returns all that a table can give, one by one: between two values that it gives it gives nothing else, unless it runs between
/// its rows.
pub fn values(plan: &Plan, table: &Table, keys: &[Extent]) -> Vec<Extent> {
    let all = lookup(plan, table, keys).0;
    if table.between == Between::Linear || all.is_settled() || keys.iter().any(|key| key.is_empty()) {
        return vec![all];
    }
    let numbered = table.keys.iter().zip(keys).enumerate();
    let choices: Vec<Vec<PossibleKey>> =
        numbered.map(|(place, (kind, key))| points(table, place, *kind, *key)).collect();
    let count = choices.iter().try_fold(1usize, |count, keys| count.checked_mul(keys.len()));
    if count.is_none_or(|count| count > MOST || count == 0) || keys.len() != table.keys.len() {
        return vec![all];
    }
    let mut found: Vec<Extent> = Vec::new();
    let mut add = |extent: Extent| {
        if !found.contains(&extent) {
            found.push(extent);
        }
    };
    if keys.iter().any(|key| key.may_be_empty) {
        add(table.otherwise.map_or(Extent::EMPTY, |cell| cell_extent(cell, table, plan)));
    }
    let mut at = vec![0usize; choices.len()];
    loop {
        let keys: Vec<PossibleKey> =
            at.iter().zip(&choices).filter_map(|(at, keys)| keys.get(*at).copied()).collect();
        add(at_point(plan, table, &keys).0);
        if !advance(&mut at, &choices) {
            return found;
        }
    }
}

/// Returns of each row of a table whether it is drawn upon at these keys: whatever they are, for some of what they can be,
/// or never. Of a table that runs between rows both neighbours are drawn upon.
pub fn rows_used(table: &Table, keys: &[Extent]) -> Vec<Truth> {
    let choices: Vec<Vec<PossibleKey>> = table
        .keys
        .iter()
        .zip(keys)
        .enumerate()
        .map(|(place, (kind, key))| points(table, place, *kind, *key))
        .collect();
    let count = choices.iter().try_fold(1usize, |count, keys| count.checked_mul(keys.len())).unwrap_or(MOST);
    if count == 0 || keys.len() != table.keys.len() {
        return vec![Truth::No; table.rows.len()];
    }
    if count >= MOST {
        return vec![Truth::Open; table.rows.len()];
    }
    let mut drawn = vec![0usize; table.rows.len()];
    let mut at = vec![0usize; choices.len()];
    loop {
        let keys: Vec<PossibleKey> =
            at.iter().zip(&choices).filter_map(|(at, keys)| keys.get(*at).copied()).collect();
        let rows = rows_at(table, &keys);
        for (times, row) in drawn.iter_mut().zip(&table.rows) {
            *times += usize::from(rows.iter().any(|it| std::ptr::eq(*it, row)));
        }
        if !advance(&mut at, &choices) {
            break;
        }
    }
    let may_be_empty = keys.iter().any(|key| key.may_be_empty);
    let truth = |times: usize| match times {
        0 => Truth::No,
        times if times == count && !may_be_empty => Truth::Yes,
        _ => Truth::Open,
    };
    drawn.into_iter().map(truth).collect()
}

/// Returns the rows from which the value at a point comes.
fn rows_at<'t>(table: &'t Table, keys: &[PossibleKey]) -> Vec<&'t TableRow> {
    let fits = |row: &&TableRow| row.patterns.iter().zip(keys).all(|(pattern, key)| matches(pattern, *key));
    let hits: Vec<&TableRow> = table.rows.iter().filter(fits).collect();
    if !hits.is_empty() {
        return hits;
    }
    let running = running_key(table).filter(|_| table.between != Between::Exact);
    if let Some((running, PossibleKey::Number(key))) = running.and_then(|it| Some((it, *keys.get(it)?))) {
        let rows = running_rows(table, running, keys);
        let above = rows.partition_point(|(edge, _)| *edge <= key);
        let below = above.checked_sub(1).and_then(|at| rows.get(at));
        if let (Some((_, low)), Some((_, high))) = (below, rows.get(above)) {
            return if table.between == Between::Step { vec![low] } else { vec![low, high] };
        }
    }
    let ends = table.beyond == Some(Beyond::Ends) && lies_beyond(table, keys);
    if ends { end_row(table, keys).into_iter().collect() } else { Vec::new() }
}

/// The most combinations of keys that are tried.
const MOST: usize = 100_000;

/// One possible key.
#[derive(Clone, Copy, PartialEq, Debug)]
enum PossibleKey {
    Number(f64),
    Word(u16),
    Text(TextId),
}

struct FoundRows {
    extent: Option<Extent>,
    cause: Option<Cause>,
    may_be_empty: bool,
}

impl FoundRows {
    fn add(&mut self, extent: Extent, cause: Option<Cause>) {
        self.extent = Some(self.extent.map_or(extent, |other| other.union(extent)));
        if self.cause.is_none() {
            self.cause = cause;
        }
    }

    fn finish(self) -> (Extent, Option<Cause>) {
        let extent = self.extent.unwrap_or(Extent::EMPTY);
        (if self.may_be_empty { extent.or_empty() } else { extent }, self.cause)
    }
}

fn advance(at: &mut [usize], choices: &[Vec<PossibleKey>]) -> bool {
    for (place, keys) in at.iter_mut().zip(choices) {
        *place += 1;
        if *place < keys.len() {
            return true;
        }
        *place = 0;
    }
    false
}

/// Returns keys that stand for all that a key can be.
fn points(table: &Table, place: usize, kind: Kind, key: Extent) -> Vec<PossibleKey> {
    match key.can_be {
        Possible::Nothing => Vec::new(),
        Possible::Numbers(low, high) if low == high => vec![PossibleKey::Number(low)],
        Possible::Numbers(low, high) => numbers(table, place, kind, low, high),
        Possible::Words(set) => {
            (0..64u16).filter(|word| set & (1 << word) != 0).map(PossibleKey::Word).collect()
        }
        Possible::Text(text) => vec![PossibleKey::Text(text)],
        Possible::AnyText => {
            let named = patterns(table, place).filter_map(|pattern| match pattern {
                Pattern::Is(Datum::Text(text)) => Some(PossibleKey::Text(*text)),
                Pattern::Is(_) | Pattern::Any | Pattern::Numbers { .. } => None,
            });
            named.chain([PossibleKey::Text(TextId::OTHER)]).collect()
        }
    }
}

fn patterns(table: &Table, place: usize) -> impl Iterator<Item = &Pattern> {
    table.rows.iter().filter_map(move |row| row.patterns.get(place))
}

/// Returns the edges of the rows at one key, in order.
fn edges(table: &Table, place: usize) -> Vec<f64> {
    let mut edges: Vec<f64> = Vec::new();
    for pattern in patterns(table, place) {
        match pattern {
            Pattern::Is(Datum::Number(number)) => edges.push(*number),
            Pattern::Numbers { low, high } => {
                edges.extend([low, high].into_iter().flatten().map(|(edge, _)| edge.value()))
            }
            Pattern::Any | Pattern::Is(_) => {}
        }
    }
    edges.sort_by(f64::total_cmp);
    edges.dedup();
    edges
}

fn numbers(table: &Table, place: usize, kind: Kind, low: f64, high: f64) -> Vec<PossibleKey> {
    if kind == Kind::Count && high - low <= 4096.0 {
        return (libm::ceil(low) as i64..=libm::floor(high) as i64)
            .map(|count| PossibleKey::Number(count as f64))
            .collect();
    }
    let edges = edges(table, place);
    let far = edges.iter().fold(1.0f64, |far, edge| far.max(edge.abs())) * 2.0;
    let (low, high) = (low.max(-far), high.min(far));
    let mut stops = vec![low];
    stops.extend(edges.into_iter().filter(|edge| *edge > low && *edge < high));
    stops.push(high);
    let between: Vec<f64> = stops.iter().zip(stops.iter().skip(1)).map(|(a, b)| (a + b) / 2.0).collect();
    stops.extend(between);
    stops.retain(|stop| *stop >= low.min(high) && *stop <= high.max(low));
    stops.into_iter().map(PossibleKey::Number).collect()
}

/// Looks up keys that are known.
fn at_point(plan: &Plan, table: &Table, keys: &[PossibleKey]) -> (Extent, Option<Cause>) {
    let hit = table
        .rows
        .iter()
        .find(|row| row.patterns.iter().zip(keys).all(|(pattern, key)| matches(pattern, *key)));
    if let Some(row) = hit {
        return given(row.gives, table, plan);
    }
    if table.between != Between::Exact
        && let Some(found) = between_rows(plan, table, keys)
    {
        return found;
    }
    let beyond = table.beyond.filter(|_| lies_beyond(table, keys));
    match (beyond, table.otherwise) {
        (Some(Beyond::Empty), _) => {
            (Extent::EMPTY, Some(Cause::Empty(NoValue::TableEnds(key_of(table, keys)))))
        }
        (Some(Beyond::Ends), _) => end_row(table, keys)
            .map_or_else(|| no_row(plan, table, keys), |row| given(row.gives, table, plan)),
        (Some(Beyond::Unknown), _) => {
            (Extent::anything(table.gives, plan), Some(Cause::Doubt(InDoubt::Beyond(key_of(table, keys)))))
        }
        (None, None) => no_row(plan, table, keys),
        (None, Some(cell)) => given(cell, table, plan),
    }
}

fn no_row(plan: &Plan, table: &Table, keys: &[PossibleKey]) -> (Extent, Option<Cause>) {
    (Extent::anything(table.gives, plan), Some(Cause::NoRow(key_of(table, keys))))
}

fn key_of(table: &Table, keys: &[PossibleKey]) -> TableKey {
    let datum = |key: &PossibleKey| match key {
        PossibleKey::Number(number) => Datum::Number(*number),
        PossibleKey::Word(place) => Datum::Word(*place),
        PossibleKey::Text(text) => Datum::Text(*text),
    };
    let keys = table.keys.iter().zip(keys).map(|(kind, key)| (*kind, datum(key))).collect();
    TableKey { table: table.name.clone(), keys }
}

fn given(cell: CellValue, table: &Table, plan: &Plan) -> (Extent, Option<Cause>) {
    let cause = match cell {
        CellValue::One(_) => None,
        CellValue::Between(..) => Some(Cause::Doubt(InDoubt::Range(table.name.clone()))),
        CellValue::Unknown => Some(Cause::Doubt(InDoubt::Unknown(table.name.clone()))),
        CellValue::Empty => Some(Cause::Empty(NoValue::TableGives(table.name.clone()))),
    };
    (cell_extent(cell, table, plan), cause)
}

fn cell_extent(cell: CellValue, table: &Table, plan: &Plan) -> Extent {
    match cell {
        CellValue::One(datum) => Extent::datum(datum),
        CellValue::Between(Datum::Word(low), Datum::Word(high)) => (low.min(high)..=low.max(high))
            .map(Extent::word)
            .fold(Extent::datum(Datum::Word(low)), Extent::union),
        CellValue::Between(low, high) => Extent::datum(low).union(Extent::datum(high)),
        CellValue::Unknown => Extent::anything(table.gives, plan),
        CellValue::Empty => Extent::EMPTY,
    }
}

/// Returns whether a key matches a pattern, whose edges are thresholds.
fn matches(pattern: &Pattern, key: PossibleKey) -> bool {
    match (pattern, key) {
        (Pattern::Any, _) => true,
        (Pattern::Is(Datum::Number(edge)), PossibleKey::Number(number)) => *edge == number,
        (Pattern::Is(Datum::Word(word)), PossibleKey::Word(key)) => *word == key,
        (Pattern::Is(Datum::Text(text)), PossibleKey::Text(key)) => *text == key,
        (Pattern::Is(_), _) | (Pattern::Numbers { .. }, PossibleKey::Text(_)) => false,
        (Pattern::Numbers { low, high }, PossibleKey::Number(_) | PossibleKey::Word(_)) => {
            let number = match key {
                PossibleKey::Number(number) => number,
                PossibleKey::Word(word) => f64::from(word),
                PossibleKey::Text(_) => return false,
            };
            low.is_none_or(|(edge, closed)| edge.is_reached_by(number, closed))
                && high.is_none_or(|(edge, closed)| edge.is_kept_by(number, closed))
        }
    }
}

/// Returns the one number that a pattern is, written as a value or as a range of one.
fn single(pattern: &Pattern) -> Option<f64> {
    match pattern {
        Pattern::Is(Datum::Number(number)) => Some(*number),
        Pattern::Numbers { low: Some((low, true)), high: Some((high, true)) } if low == high => {
            Some(low.value())
        }
        Pattern::Is(_) | Pattern::Any | Pattern::Numbers { .. } => None,
    }
}

/// Returns the key whose rows are single numbers, between which the table runs.
fn running_key(table: &Table) -> Option<usize> {
    (0..table.keys.len()).find(|place| patterns(table, *place).any(|pattern| single(pattern).is_some()))
}

/// Returns the rows that match all keys but the running one, in its order.
fn running_rows<'t>(table: &'t Table, running: usize, keys: &[PossibleKey]) -> Vec<(f64, &'t TableRow)> {
    let fits = |row: &&TableRow| {
        row.patterns
            .iter()
            .zip(keys)
            .enumerate()
            .all(|(place, (pattern, key))| place == running || matches(pattern, *key))
    };
    let mut rows: Vec<(f64, &TableRow)> = table
        .rows
        .iter()
        .filter(fits)
        .filter_map(|row| Some((single(row.patterns.get(running)?)?, row)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows
}

/// Returns what the table gives between two rows, nothing outside them.
fn between_rows(plan: &Plan, table: &Table, keys: &[PossibleKey]) -> Option<(Extent, Option<Cause>)> {
    let running = running_key(table)?;
    let Some(PossibleKey::Number(key)) = keys.get(running) else { return None };
    let rows = running_rows(table, running, keys);
    let above = rows.partition_point(|(edge, _)| edge <= key);
    let (low_edge, low) = rows.get(above.checked_sub(1)?)?;
    let (high_edge, high) = rows.get(above)?;
    if table.between == Between::Step {
        return Some(given(low.gives, table, plan));
    }
    let (from, from_cause) = given(low.gives, table, plan);
    let (to, to_cause) = given(high.gives, table, plan);
    let (Some((from_low, from_high)), Some((to_low, to_high))) = (from.ends(), to.ends()) else {
        return Some((from.union(to), from_cause.or(to_cause)));
    };
    let part = (key - low_edge) / (high_edge - low_edge);
    let line = |a: f64, b: f64| a + (b - a) * part;
    Some((Extent::between(line(from_low, to_low), line(from_high, to_high)), from_cause.or(to_cause)))
}

/// Returns whether a numeric key lies below or above every row that fits the other keys.
fn lies_beyond(table: &Table, keys: &[PossibleKey]) -> bool {
    keys.iter().enumerate().any(|(place, key)| {
        let PossibleKey::Number(number) = key else { return false };
        let edges = edges(table, place);
        let (Some(first), Some(last)) = (edges.first(), edges.last()) else { return false };
        number <= first || number >= last
    })
}

/// Returns the row at the nearer end.
fn end_row<'t>(table: &'t Table, keys: &[PossibleKey]) -> Option<&'t TableRow> {
    let moved: Vec<PossibleKey> = keys
        .iter()
        .enumerate()
        .map(|(place, key)| match key {
            PossibleKey::Number(number) => {
                let edges = edges(table, place);
                match (edges.first(), edges.last()) {
                    (Some(first), Some(last)) => PossibleKey::Number(number.clamp(*first, *last)),
                    _ => *key,
                }
            }
            PossibleKey::Word(_) | PossibleKey::Text(_) => *key,
        })
        .collect();
    // An end that does not count itself is the end of its row all the same.
    let closed = |pattern: &Pattern| match pattern {
        Pattern::Numbers { low, high } => Pattern::Numbers {
            low: low.map(|(edge, _)| (edge, true)),
            high: high.map(|(edge, _)| (edge, true)),
        },
        Pattern::Any | Pattern::Is(_) => pattern.clone(),
    };
    table
        .rows
        .iter()
        .find(|row| row.patterns.iter().zip(&moved).all(|(pattern, key)| matches(&closed(pattern), *key)))
}
