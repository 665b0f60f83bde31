//! Whether a row of a table can be left out, and the worked example that would notice it: what the table gives at a key of
//! that row.

use super::defined::key_datum;
use super::mutants::{Mutant, MutantSite};
use super::suggestion::cited;
use crate::measure::{Extent, Possible, Truth, lookup};
use crate::plan::{CellValue, Datum, Kind, Pattern, Plan, Table, TakenValue, TextId};
use crate::prove::space::taken::is_value;
use crate::source::Span;
use crate::syntax::tidy_text;
use crate::units::clean;

/// How many keys are tried.
const MOST: usize = 2_000;

/// How many keys are compared.
const MOST_COMPARED: usize = 20_000;

/// Writes the example; nothing where the row makes no difference to the table.
pub(crate) fn of_table(plan: &Plan, changed: &Plan, mutant: &Mutant) -> Option<String> {
    let MutantSite::TableRow(id, row) = mutant.site else { return None };
    let (table, without) = (&plan[id], &changed[id]);
    let of_row = table.rows.get(row)?;
    let (value, gives) = match of_row.gives {
        CellValue::One(datum) => (TakenValue::One(datum), plan.datum_in(table.gives, &table.unit, datum)),
        CellValue::Between(low, high) => {
            let words = [low, high].map(|datum| plan.datum_in(table.gives, &table.unit, datum));
            (TakenValue::FromTo(low, high), words.join(" to "))
        }
        CellValue::Empty => (TakenValue::Empty, "empty".to_owned()),
        CellValue::Unknown => return None,
    };
    let candidates: Vec<Vec<Datum>> =
        of_row.patterns.iter().enumerate().map(|(key, it)| keys(plan, table, key, it)).collect();
    let mut tried: Vec<Vec<Datum>> = vec![Vec::new()];
    for more in candidates {
        let longer = tried.iter().flat_map(|keys| {
            more.iter().map(move |key| keys.iter().copied().chain([*key]).collect::<Vec<Datum>>())
        });
        tried = longer.take(MOST).collect();
    }
    let is = |plan: &Plan, table: &Table, keys: &[Datum]| {
        let keys: Vec<Extent> = keys.iter().map(|key| Extent::datum(*key)).collect();
        is_value(lookup(plan, table, &keys).0, &value, None, &|at| table.threshold(at))
    };
    let keys = tried
        .into_iter()
        .find(|keys| is(plan, table, keys) == Truth::Yes && is(changed, without, keys) != Truth::Yes)?;
    let keys: Vec<String> =
        keys.iter().enumerate().map(|(key, datum)| key_datum(plan, table, key, *datum)).collect();
    let (keys, cites) = (keys.join(", "), cited(&table.why));
    let label = if table.label.is_empty() { &table.name } else { &table.label };
    let title = format!("{label} at {keys}: {gives}").replace(['"', '\\'], "");
    let mut text = format!("worked \"{title}\"\n");
    if !cites.is_empty() {
        text += &format!("  cites {}\n", cites.join(", "));
    }
    text += &format!("  expect {} at {keys} is {gives}\n", table.name);
    Some(tidy_text(&text, Span::default().source).unwrap_or(text))
}

/// Returns whether a table gives the same at all keys without the row that is left out. Between the edges of its rows a table is
/// constant or runs in straight lines, so that its edges, one key between any two and one beyond the last tell.
pub(crate) fn is_idle(plan: &Plan, changed: &Plan, mutant: &Mutant) -> bool {
    let MutantSite::TableRow(id, _) = mutant.site else { return false };
    let (table, without) = (&plan[id], &changed[id]);
    let mut tried: Vec<Vec<Extent>> = vec![Vec::new()];
    for key in 0..table.keys.len() {
        let more = all_keys(plan, table, key);
        if tried.len().saturating_mul(more.len()) > MOST_COMPARED {
            return false;
        }
        let longer = tried.iter().flat_map(|keys| {
            more.iter().map(move |key| keys.iter().copied().chain([*key]).collect::<Vec<Extent>>())
        });
        tried = longer.collect();
    }
    tried.iter().all(|keys| {
        let (was, is) = (lookup(plan, table, keys).0, lookup(changed, without, keys).0);
        match (was.can_be, is.can_be) {
            (Possible::Numbers(low, high), Possible::Numbers(from, to)) => {
                let near = |a: f64, b: f64| a == b || table.threshold(a).is_on(b);
                near(low, from) && near(high, to) && was.may_be_empty == is.may_be_empty
            }
            _ => was == is,
        }
    })
}

/// Returns keys at which a table tells all that it gives.
fn all_keys(plan: &Plan, table: &Table, key: usize) -> Vec<Extent> {
    let kind = table.keys.get(key).copied().unwrap_or(Kind::Number);
    match kind {
        Kind::Words(list) => (0..plan[list].words.len() as u16).map(Extent::word).collect(),
        Kind::YesNo => vec![Extent::word(0), Extent::word(1)],
        Kind::Text => {
            let texts = (0..plan.texts.len() as u32).map(TextId).chain([TextId::OTHER]);
            texts.map(|text| Extent::datum(Datum::Text(text))).collect()
        }
        _ => {
            let patterns = table.rows.iter().filter_map(|row| row.patterns.get(key));
            let mut edges: Vec<f64> = Vec::new();
            for pattern in patterns {
                match pattern {
                    Pattern::Numbers { low, high } => {
                        edges.extend([low, high].into_iter().flatten().map(|(at, _)| at.value()));
                    }
                    Pattern::Is(Datum::Number(at)) => edges.push(*at),
                    Pattern::Is(_) | Pattern::Any => {}
                }
            }
            edges.sort_by(f64::total_cmp);
            edges.dedup();
            let between = edges.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0);
            let beyond = edges.first().map(|at| at - 1.0).into_iter().chain(edges.last().map(|at| at + 1.0));
            let mut all: Vec<f64> = between.chain(beyond).collect();
            all.extend(edges);
            if all.is_empty() {
                all.push(0.0);
            }
            all.into_iter().map(Extent::number).collect()
        }
    }
}

/// Returns keys that a pattern matches: its ends and what lies between them; of any, those of other rows.
fn keys(plan: &Plan, table: &Table, key: usize, pattern: &Pattern) -> Vec<Datum> {
    let kind = table.keys.get(key).copied().unwrap_or(Kind::Number);
    match pattern {
        Pattern::Is(datum) => vec![*datum],
        Pattern::Any => {
            let others = table.rows.iter().filter_map(|row| row.patterns.get(key));
            let others = others.filter(|it| **it != Pattern::Any);
            let mut found: Vec<Datum> = others.flat_map(|it| keys(plan, table, key, it)).collect();
            match kind {
                Kind::Words(list) => found.extend((0..plan[list].words.len() as u16).map(Datum::Word)),
                Kind::YesNo => found.extend([Datum::Word(0), Datum::Word(1)]),
                _ => found.push(Datum::Number(0.0)),
            }
            found
        }
        Pattern::Numbers { low, high } => {
            let ends = [low, high].into_iter().flatten();
            let mut found: Vec<f64> = ends.filter(|(_, closed)| *closed).map(|(at, _)| at.value()).collect();
            let step = table.key_units.get(key).map_or(1.0, |unit| unit.factor);
            match (low, high) {
                (Some((low, _)), Some((high, _))) => {
                    found.push(clean(f64::midpoint(low.value(), high.value())))
                }
                (Some((low, _)), None) => found.push(low.value() + step),
                (None, Some((high, _))) => found.push(high.value() - step),
                (None, None) => found.push(0.0),
            }
            match kind {
                Kind::Words(_) | Kind::YesNo => {
                    found.into_iter().map(|at| Datum::Word(at.max(0.0) as u16)).collect()
                }
                _ => found.into_iter().map(Datum::Number).collect(),
            }
        }
    }
}
