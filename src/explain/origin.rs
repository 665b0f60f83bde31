//! How a value came about: who saw it and when, from which hours or sprays it was computed, which rows graded it.

use super::compared::compared;
use super::{Basis, Claim, Compared, Computed, Item, Role, Sighting, Statement, Values, conditions};
use crate::measure::Truth;
use crate::plan::{
    Aggregate, Band, BandRow, Condition, DailyId, Expr, ExprNode, HourSeries, HourlyId, Name, NameId, Origin,
    Place, Spell, Subject, TableId,
};
use crate::trace::Trace;
use std::collections::BTreeSet;

/// Where the values of a grove came from.
pub trait Origins {
    /// Returns how an observation of a tree, or of a group of its panicles, was made.
    fn sighting(&self, tree: usize, name: NameId, group: usize) -> Option<Sighting>;

    /// Returns from which hours, sprays, dates or trees a part of an expression was computed.
    fn computed(&self, tree: usize, part: &Expr) -> Option<Computed>;

    /// Returns from which days a tally was added up.
    fn added_up(&self, tree: usize, tally: NameId) -> Option<Computed>;

    /// Returns the text that a tree has for a name, its cultivar or its block.
    fn text(&self, tree: usize, name: NameId) -> Option<String>;
}

/// Nothing is known of where values came from.
#[derive(Clone, Copy, Debug)]
pub struct NoOrigins;

impl Origins for NoOrigins {
    fn sighting(&self, _: usize, _: NameId, _: usize) -> Option<Sighting> {
        None
    }

    fn computed(&self, _: usize, _: &Expr) -> Option<Computed> {
        None
    }

    fn added_up(&self, _: usize, _: NameId) -> Option<Computed> {
        None
    }

    fn text(&self, _: usize, _: NameId) -> Option<String> {
        None
    }
}

/// Returns how the value of a name came about. What was told before is not told again.
pub fn origin(
    basis: &Basis<'_>,
    values: &Values,
    trace: &Trace,
    name: NameId,
    told: &mut BTreeSet<NameId>,
) -> Option<Statement> {
    let item = basis.plan.names.get(name.index())?;
    let mut text = None;
    let mut definition = None;
    let claim = |text, definition| Claim::Value { readings: values.of(name).to_vec(), text, definition };
    let mut statement = Statement::new(Role::Value, Item::Name(name), item.span, claim(None, None));
    if !told.insert(name) {
        return Some(statement);
    }
    statement = statement.owing(&item.why);
    let mut telling = OriginTelling { basis, values, trace, told };
    match &item.origin {
        Origin::Observed(_) => statement.from = telling.observed(name, item),
        Origin::Measure(measure) => {
            definition = Some(measure.expr.span).filter(|_| !item.hidden);
            statement.from = telling.expression(name, &measure.expr);
            statement
                .from
                .extend(measure.valid_if.iter().flat_map(|condition| telling.conditions(condition)));
            statement.from.extend(telling.inputs(name));
        }
        Origin::Tally(_) => {
            let days = values.tree.and_then(|tree| basis.origins.added_up(tree, name));
            let leaf = |days| Statement::new(Role::Value, Item::Name(name), item.span, Claim::Computed(days));
            statement.from = days.into_iter().map(leaf).collect();
            statement.from.extend(telling.inputs(name));
        }
        Origin::Band(band) => statement.from = telling.rows((name, item), band),
        Origin::Cultivar | Origin::Block => {
            text = values.tree.and_then(|tree| basis.origins.text(tree, name));
        }
        Origin::Date => {}
    }
    statement.claim = claim(text, definition);
    Some(statement)
}

struct OriginTelling<'a, 't> {
    basis: &'a Basis<'a>,
    values: &'a Values,
    trace: &'a Trace,
    told: &'t mut BTreeSet<NameId>,
}

impl OriginTelling<'_, '_> {
    fn observed(&self, name: NameId, item: &Name) -> Vec<Statement> {
        let Some(tree) = self.values.tree else { return Vec::new() };
        let groups = if item.scope == Place::Panicles { self.values.groups().max(1) } else { 1 };
        let one = |group: usize| {
            let readings = if groups > 1 { self.values.in_group(group, name) } else { self.values.of(name) };
            let known = readings.iter().any(|reading| {
                !reading.extent.is_anything(item, self.basis.plan) && !reading.extent.may_be_empty
            });
            let claim = Claim::Seen {
                group: (groups > 1).then(|| (readings.to_vec(), self.values.share(group))),
                sighting: self.basis.origins.sighting(tree, name, group),
                known,
                assumed: readings.iter().all(|reading| reading.assumed),
            };
            Statement::new(Role::Value, Item::Name(name), item.span, claim)
        };
        (0..groups).map(one).collect()
    }

    /// Tells of the tables, series and windows in an expression.
    fn expression(&mut self, name: NameId, expr: &Expr) -> Vec<Statement> {
        let mut found = Vec::new();
        let computed = self.values.tree.and_then(|tree| self.basis.origins.computed(tree, expr));
        let leaf = |it| Statement::new(Role::Value, Item::Name(name), expr.span, Claim::Computed(it));
        found.extend(computed.map(leaf));
        match &*expr.node {
            ExprNode::Lookup(table, _) => found.extend(self.table(*table)),
            ExprNode::Aggregate(aggregate, _) => found.extend(self.series_of(aggregate)),
            _ => {}
        }
        expr.each_part(&mut |child| found.extend(self.expression(name, child)));
        found
    }

    fn table(&self, id: TableId) -> Option<Statement> {
        let table = self.basis.plan.tables.get(id.index())?;
        let statement = Statement::new(Role::Value, Item::Table(id), table.span, Claim::LookedUp);
        Some(statement.owing(&table.why))
    }

    fn series_of(&self, aggregate: &Aggregate) -> Vec<Statement> {
        let mut series: Vec<Statement> = Vec::new();
        let mut add = |statement: Option<Statement>| {
            if let Some(statement) = statement.filter(|it| !series.contains(it)) {
                series.push(statement);
            }
        };
        let of_condition = |condition: &Condition, add: &mut dyn FnMut(Option<Statement>)| {
            condition.each_test(&mut |test| match test.subject {
                Subject::Hourly(hourly) => add(self.hourly(hourly)),
                Subject::Daily(daily) => add(self.daily(daily)),
                Subject::Name(_) | Subject::Series(_) => {}
            });
        };
        let of_series = |one: HourSeries, add: &mut dyn FnMut(Option<Statement>)| match one {
            HourSeries::Hourly(hourly) => add(self.hourly(hourly)),
            HourSeries::Daily(daily) => add(self.daily(daily)),
            HourSeries::Series(_) => {}
        };
        match aggregate {
            Aggregate::Hours(condition)
            | Aggregate::Spells(condition, _)
            | Aggregate::Spell(Spell { condition, .. }) => of_condition(condition, &mut add),
            Aggregate::Days(daily, _) => add(self.daily(*daily)),
            Aggregate::Of(_, one) => of_series(*one, &mut add),
            Aggregate::While(_, one, condition) | Aggregate::InSpell(_, one, Spell { condition, .. }) => {
                of_series(*one, &mut add);
                of_condition(condition, &mut add);
            }
        }
        series
    }

    fn hourly(&self, id: HourlyId) -> Option<Statement> {
        let item = self.basis.plan.hourlies.get(id.index())?;
        let statement = Statement::new(Role::Value, Item::Hourly(id), item.span, Claim::Defined);
        Some(statement.owing(&item.why))
    }

    fn daily(&self, id: DailyId) -> Option<Statement> {
        let item = self.basis.plan.dailies.get(id.index())?;
        let statement = Statement::new(Role::Value, Item::Daily(id), item.span, Claim::Defined);
        Some(statement.owing(&item.why))
    }

    fn compared(&self, part: &conditions::Part<'_>) -> Compared {
        compared(self.basis, self.values, part.test, part.sense)
    }

    fn conditions(&mut self, condition: &Condition) -> Vec<Statement> {
        let parts = conditions::parts(self.basis, Some(condition), None, &self.trace.cells);
        let one = |part: &conditions::Part<'_>| {
            let claim = Claim::Compared(self.compared(part));
            Statement::new(Role::Condition, Item::ValidIf, part.test.span, claim)
        };
        parts.iter().map(one).collect()
    }

    fn inputs(&mut self, name: NameId) -> Vec<Statement> {
        let inputs: Vec<NameId> = self.basis.inputs.direct(name).collect();
        inputs
            .into_iter()
            .filter_map(|input| origin(self.basis, self.values, self.trace, input, self.told))
            .collect()
    }

    /// Tells which rows raised a band or capped it, or might have; those that made its grade first.
    fn rows(&mut self, (name, item): (NameId, &Name), band: &Band) -> Vec<Statement> {
        let truths =
            self.trace.bands.iter().find(|(known, _)| *known == name).map_or(&[][..], |(_, rows)| rows);
        let grade = self.trace.cells.get(name.index()).and_then(|cells| cells.only());
        let mut met_rows: Vec<(&BandRow, Truth)> = band.rows.iter().zip(truths.iter().copied()).collect();
        met_rows.retain(|(_, truth)| *truth != Truth::No);
        met_rows.sort_by_key(|(row, truth)| {
            (*truth == Truth::Open, grade.is_some_and(|grade| grade != row.level))
        });
        let mut rows = Vec::new();
        for (row, truth) in met_rows {
            let parts = conditions::parts(self.basis, Some(&row.condition), None, &self.trace.cells);
            let claim = Claim::Raised {
                level: row.level,
                caps: row.caps,
                sure: truth == Truth::Yes,
                met: parts.iter().map(|part| self.compared(part)).collect(),
            };
            let from: Vec<Statement> = parts.iter().filter_map(|part| self.part(part)).collect();
            let statement = Statement::new(Role::Row, Item::Name(name), row.span, claim);
            rows.push(statement.owing(&row.why).resting_on(from));
        }
        if rows.is_empty() {
            rows.push(Statement::new(Role::Row, Item::Name(name), item.span, Claim::Stays));
        }
        rows
    }

    fn part(&mut self, part: &conditions::Part<'_>) -> Option<Statement> {
        match part.test.subject {
            Subject::Name(name) => origin(self.basis, self.values, self.trace, name, self.told),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => None,
        }
    }
}
