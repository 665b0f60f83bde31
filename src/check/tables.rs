//! Handbook tables: their kinds first, for those who look things up in them, and their rows when figures are known.
//!
//! Comes in: table items. Goes out: tables of the plan.

use super::Checker;
use super::definitions::label;
use super::kinds;
use super::literals::{Given, unit_of};
use crate::plan::{Between, CellValue, Datum, Kind, Pattern, Table, TableRow, Why};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Clause, Item, TableCell, Value};
use crate::units::Unit;

/// The kinds of a table.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    /// Those of its keys.
    pub(super) keys: Vec<Kind>,
    /// That of what it gives.
    pub(super) gives: Kind,
}

impl<'a> Checker<'a> {
    /// Returns the kinds of a table.
    pub(super) fn shape(&mut self, item: &'a Item<'a>) -> Option<Shape> {
        let (mut keys, mut gives) = (None, None);
        for clause in &item.clauses {
            match &clause.value {
                Clause::Keys(words) => {
                    let found: Vec<Option<Kind>> =
                        words.iter().map(|word| self.kind(word, clause.span)).collect();
                    keys = found.into_iter().collect::<Option<Vec<Kind>>>();
                }
                Clause::Gives(word) => gives = self.kind(word, clause.span).map(|kind| (kind, clause.span)),
                _ => {}
            }
        }
        let (keys, (gives, at)) = (keys?, gives?);
        if gives == Kind::Text && keys.contains(&Kind::Text) {
            let message = "a table of text does not give text";
            return self.fail(
                Problem::new(Finding::KindMismatch, at, message)
                    .help("make a `scale` of what it gives, or `gives one of a, b`"),
            );
        }
        // As the mean of counts is a number, so is what lies on a line between two of them.
        let linear = item.clauses.iter().any(|it| matches!(it.value, Clause::Between(Between::Linear)));
        let gives = if linear && gives == Kind::Count { Kind::Number } else { gives };
        Some(Shape { keys, gives })
    }

    /// Checks a table with its rows. It is listed in any case.
    pub(super) fn define_table(&mut self, number: usize, item: &'a Item<'a>) {
        let why = self.why(item);
        let shape = self.tables.get(number).cloned().flatten();
        let mut table = Table {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            keys: shape.as_ref().map(|shape| shape.keys.clone()).unwrap_or_default(),
            key_units: Vec::new(),
            gives: shape.as_ref().map_or(Kind::Number, |shape| shape.gives),
            unit: Unit::none(),
            rows: Vec::new(),
            otherwise: None,
            between: Between::Exact,
            beyond: None,
            why,
            span: item.span,
        };
        if let Some(shape) = shape {
            self.rows(number, item, &shape, &mut table);
        }
        if let Some(slot) = self.plan.tables.get_mut(number) {
            *slot = table;
        }
    }

    fn rows(&mut self, number: usize, item: &'a Item<'a>, shape: &Shape, table: &mut Table) {
        let mut unit = None;
        let mut units: Vec<Option<Unit>> = vec![None; shape.keys.len()];
        for clause in &item.clauses {
            match &clause.value {
                Clause::Row(patterns, cell) => {
                    for (unit, pattern) in units.iter_mut().zip(patterns) {
                        *unit = unit.take().or_else(|| pattern_unit(pattern));
                    }
                    let patterns = self.patterns(patterns, shape, clause.span);
                    let gives = self.cell(cell, shape.gives, &mut unit);
                    if let (Some(patterns), Some(gives)) = (patterns, gives) {
                        table.rows.push(TableRow { patterns, gives, span: clause.span });
                    }
                }
                Clause::Otherwise(cell) => table.otherwise = self.cell(cell, shape.gives, &mut unit),
                Clause::Between(between) => table.between = *between,
                Clause::Beyond(beyond) => table.beyond = Some(*beyond),
                _ => {}
            }
        }
        table.unit = unit.unwrap_or_else(|| kinds::canonical_unit(shape.gives));
        let canonical = |(unit, kind): (&Option<Unit>, &Kind)| {
            unit.clone().unwrap_or_else(|| kinds::canonical_unit(*kind))
        };
        table.key_units = units.iter().zip(&shape.keys).map(canonical).collect();
        if let Some(slot) = self.key_units.get_mut(number) {
            *slot = units;
        }
        self.steps(item, shape, table.between);
    }

    /// Says where a table goes between or beyond rows that have no order.
    fn steps(&mut self, item: &'a Item<'a>, shape: &Shape, between: Between) {
        let single = matches!(shape.keys.as_slice(), [kind] if is_ordered(*kind, self));
        for clause in &item.clauses {
            match &clause.value {
                Clause::Between(word) if *word != Between::Exact => {
                    let what = if *word == Between::Linear { "linear" } else { "step" };
                    if !single {
                        let message = format!("`between {what}` needs one key, and one that is a number");
                        self.problems.push(Problem::new(Finding::KindMismatch, clause.span, message).help(
                            "write the rows as ranges, `from 13 °C to below 18 °C`, and leave this out",
                        ));
                    } else if *word == Between::Linear && !is_straight(shape) {
                        let message = format!(
                            "no straight line goes between values that are {}",
                            self.called(shape.gives)
                        );
                        self.problems.push(
                            Problem::new(Finding::KindMismatch, clause.span, message)
                                .help("write `between step`"),
                        );
                    }
                }
                Clause::Beyond(_) if !shape.keys.iter().any(|kind| is_ordered(*kind, self)) => {
                    let message = "nothing lies beyond the rows of a table whose keys have no order";
                    self.problems.push(
                        Problem::new(Finding::KindMismatch, clause.span, message)
                            .help("write what it gives for all other keys: `otherwise unknown`"),
                    );
                }
                Clause::Row(patterns, _) if between != Between::Exact => {
                    if let Some(pattern) = patterns.iter().find(|it| !matches!(it, tree::Pattern::Value(_))) {
                        let at = pattern_span(pattern).unwrap_or(clause.span);
                        let message = "a table that goes between its rows has one value in each of them";
                        self.problems.push(
                            Problem::new(Finding::KindMismatch, at, message)
                                .help("write one value, or leave the `between` out"),
                        );
                    }
                }
                _ => {}
            }
        }
    }

    fn patterns(&mut self, written: &[tree::Pattern<'a>], shape: &Shape, span: Span) -> Option<Vec<Pattern>> {
        let patterns: Vec<Option<Pattern>> = written
            .iter()
            .zip(&shape.keys)
            .map(|(pattern, kind)| self.pattern(pattern, *kind, span))
            .collect();
        if written.len() != shape.keys.len() {
            let (due, found) = (shape.keys.len(), written.len());
            let message = format!(
                "this row has {found} {}, and the table {due}",
                if found == 1 { "key" } else { "keys" }
            );
            return self.fail(
                Problem::new(Finding::KindMismatch, span, message)
                    .help("write one pattern for each kind of `of`; `any` for one that does not matter"),
            );
        }
        patterns.into_iter().collect()
    }

    fn pattern(&mut self, written: &tree::Pattern<'a>, kind: Kind, span: Span) -> Option<Pattern> {
        if let tree::Pattern::Any(_) = written {
            return Some(Pattern::Any);
        }
        if let tree::Pattern::Value(value) = written {
            let given = self.key(value, kind)?;
            return Some(match given.datum {
                Datum::Number(number) => {
                    let at = kind.threshold(&given.unit, number);
                    Pattern::Numbers { low: Some((at, true)), high: Some((at, true)) }
                }
                Datum::Word(_) | Datum::Text(_) => Pattern::Is(given.datum),
            });
        }
        if !is_ordered(kind, self) {
            let message = format!("a key that is {} has no order", self.called(kind));
            return self.fail(
                Problem::new(Finding::KindMismatch, pattern_span(written).unwrap_or(span), message)
                    .help("write each value in a row of its own, or `any`"),
            );
        }
        let end = |given: Given, closed| match given.datum {
            Datum::Number(number) => Some((kind.threshold(&given.unit, number), closed)),
            Datum::Word(place) => Some((Unit::none().threshold_of_amount(f64::from(place)), closed)),
            Datum::Text(_) => None,
        };
        let (low, high) = match written {
            tree::Pattern::AtLeast(a) => (Some(end(self.key(a, kind)?, true)?), None),
            tree::Pattern::Above(a) => (Some(end(self.key(a, kind)?, false)?), None),
            tree::Pattern::AtMost(a) => (None, Some(end(self.key(a, kind)?, true)?)),
            tree::Pattern::Below(a) => (None, Some(end(self.key(a, kind)?, false)?)),
            tree::Pattern::FromTo(a, b) | tree::Pattern::FromToBelow(a, b) => {
                let closed = matches!(written, tree::Pattern::FromTo(..));
                let (low, high) = (self.key(a, kind), self.key(b, kind));
                let (low, high) = (end(low?, true)?, end(high?, closed)?);
                if low.0.value() > high.0.value() || (low.0.is_same(&high.0) && !closed) {
                    let at = pattern_span(written).unwrap_or(span);
                    let message = "nothing lies between these two";
                    return self.fail(
                        Problem::new(Finding::OutOfRange, at, message).help("write the lower one first"),
                    );
                }
                (Some(low), Some(high))
            }
            tree::Pattern::Value(_) | tree::Pattern::Any(_) => (None, None),
        };
        Some(Pattern::Numbers { low, high })
    }

    fn key(&mut self, value: &Value<'a>, kind: Kind) -> Option<Given> {
        self.value(value, kind)
    }

    fn cell(&mut self, cell: &TableCell<'a>, kind: Kind, unit: &mut Option<Unit>) -> Option<CellValue> {
        match cell {
            TableCell::Unknown(_) => Some(CellValue::Unknown),
            TableCell::Empty(_) => Some(CellValue::Empty),
            TableCell::One(value) => {
                let given = self.value(value, kind)?;
                unit.get_or_insert(given.unit);
                Some(CellValue::One(given.datum))
            }
            TableCell::Between(from, to) => {
                let (low, high) = (self.value(from, kind), self.value(to, kind));
                let (low, high) = (low?, high?);
                let order = match (low.datum, high.datum) {
                    (Datum::Number(low), Datum::Number(high)) => low <= high,
                    (Datum::Word(low), Datum::Word(high)) if is_ordered(kind, self) => low <= high,
                    _ => {
                        let message = format!("a value that is {} has no interval", self.called(kind));
                        let at = low.span.to(high.span);
                        return self.fail(
                            Problem::new(Finding::KindMismatch, at, message)
                                .help("write one value, or `unknown`"),
                        );
                    }
                };
                if !order {
                    let message = "nothing lies between these two";
                    return self.fail(
                        Problem::new(Finding::OutOfRange, low.span.to(high.span), message)
                            .help("write the lower one first"),
                    );
                }
                unit.get_or_insert(low.unit);
                Some(CellValue::Between(low.datum, high.datum))
            }
        }
    }
}

/// Returns whether values of a kind come before one another.
pub(super) fn is_ordered(kind: Kind, checker: &Checker<'_>) -> bool {
    match kind {
        Kind::Words(list) => checker.plan[list].ordered,
        Kind::Text | Kind::YesNo => false,
        kind => kind.is_numeric(),
    }
}

/// Returns whether a straight line goes between two rows.
fn is_straight(shape: &Shape) -> bool {
    shape.gives.is_numeric()
        && shape.gives != Kind::Clock
        && shape.keys.iter().all(|kind| kind.is_numeric() && *kind != Kind::Clock)
}

/// Returns the unit in which a pattern is written.
fn pattern_unit(pattern: &tree::Pattern<'_>) -> Option<Unit> {
    match pattern {
        tree::Pattern::Value(Value::Literal(tree::Literal::Quantity(quantity)))
        | tree::Pattern::AtLeast(Value::Literal(tree::Literal::Quantity(quantity)))
        | tree::Pattern::AtMost(Value::Literal(tree::Literal::Quantity(quantity)))
        | tree::Pattern::Above(Value::Literal(tree::Literal::Quantity(quantity)))
        | tree::Pattern::Below(Value::Literal(tree::Literal::Quantity(quantity)))
        | tree::Pattern::FromTo(Value::Literal(tree::Literal::Quantity(quantity)), _)
        | tree::Pattern::FromToBelow(Value::Literal(tree::Literal::Quantity(quantity)), _) => {
            quantity.unit.as_ref().and_then(unit_of)
        }
        _ => None,
    }
}

fn pattern_span(pattern: &tree::Pattern<'_>) -> Option<Span> {
    match pattern {
        tree::Pattern::Value(a)
        | tree::Pattern::AtLeast(a)
        | tree::Pattern::AtMost(a)
        | tree::Pattern::Above(a)
        | tree::Pattern::Below(a) => Some(a.span()),
        tree::Pattern::FromTo(a, b) | tree::Pattern::FromToBelow(a, b) => Some(a.span().to(b.span())),
        tree::Pattern::Any(at) => Some(at.0),
    }
}

/// Returns a table without rows.
pub(super) fn no_rows(item: &Item<'_>) -> Table {
    Table {
        name: item.name.map_or("", |name| name.value).into(),
        label: "".into(),
        keys: Vec::new(),
        key_units: Vec::new(),
        gives: Kind::Number,
        unit: Unit::none(),
        rows: Vec::new(),
        otherwise: None,
        between: Between::Exact,
        beyond: None,
        why: Why::default(),
        span: item.span,
    }
}
