//! How a value came about: who saw it and when, from which hours or sprays it was computed, which rows graded it.

use super::phrase::met;
use super::{Role, Scene, Statement, Values, conditions};
use crate::measure::Truth;
use crate::plan::{
    Aggregate, Band, BandRow, Condition, DailyId, Expr, ExprNode, HourSeries, HourlyId, Name, NameId,
    Observation, Origin, Place, Spell, Subject, TableId,
};
use crate::source::Span;
use crate::trace::Trace;
use crate::words::Words;
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Where the values of a grove came from.
pub trait Origins {
    /// Returns how an observation of a tree, or of a group of its panicles, was made.
    fn sighting(&self, tree: usize, name: NameId, group: usize) -> Option<Sighting>;

    /// Returns from which hours, sprays, dates or trees a part of an expression was computed, in short sentences.
    fn computed(&self, tree: usize, part: &Expr, words: Words<'_>) -> Vec<String>;

    /// Returns from which days a tally was added up, in short sentences.
    fn added_up(&self, tree: usize, tally: NameId, words: Words<'_>) -> Vec<String>;

    /// Returns the text that a tree has for a name, its cultivar or its block.
    fn text(&self, tree: usize, name: NameId) -> Option<String>;
}

/// How an observation was made.
#[derive(Clone, PartialEq, Debug)]
pub struct Sighting {
    /// The day.
    pub on: NaiveDate,
    /// Who looked.
    pub who: Option<Arc<str>>,
    /// What it was noted for: `this tree`, `block terrace`.
    pub of: String,
    /// How many were found among how many, where it was counted.
    pub sample: Option<(u32, u32)>,
}

/// Nothing is known of where values came from.
#[derive(Clone, Copy, Debug)]
pub struct NoOrigins;

impl Origins for NoOrigins {
    fn sighting(&self, _: usize, _: NameId, _: usize) -> Option<Sighting> {
        None
    }

    fn computed(&self, _: usize, _: &Expr, _: Words<'_>) -> Vec<String> {
        Vec::new()
    }

    fn added_up(&self, _: usize, _: NameId, _: Words<'_>) -> Vec<String> {
        Vec::new()
    }

    fn text(&self, _: usize, _: NameId) -> Option<String> {
        None
    }
}

/// Returns how the value of a name came about. What was told before is not told again.
pub fn origin(
    scene: &Scene<'_>,
    values: &Values,
    trace: &Trace,
    name: NameId,
    told: &mut BTreeSet<NameId>,
) -> Option<Statement> {
    let item = scene.plan.names.get(name.index())?;
    let shown = scene.words().several(name, values.of(name));
    let label = if item.hidden { item.word.clone() } else { item.label.clone() };
    let value = if shown.is_empty() { label.to_string() } else { format!("{label} {shown}") };
    let mut statement = Statement::new(Role::Value, item_of(item), item.span, value).owing(scene, &item.why);
    if values.of(name).iter().any(|reading| reading.forecast) {
        statement.says += ", in part from the forecast";
    }
    if values.of(name).iter().any(|reading| reading.assumed) {
        statement.says += ", assumed";
    }
    if !told.insert(name) {
        statement.because = None;
        statement.cites.clear();
        return Some(statement);
    }
    let mut telling = Telling { scene, values, trace, told };
    match &item.origin {
        Origin::Observed(seen) => telling.observed(&mut statement, (name, item), seen),
        Origin::Measure(measure) => {
            let written = scene.written(measure.expr.span);
            if !written.is_empty() && !item.hidden {
                statement.says += &format!(" = {written}");
            }
            statement.from = telling.expression(&statement.item, &measure.expr);
            statement
                .from
                .extend(measure.valid_if.iter().flat_map(|condition| telling.conditions(condition)));
            statement.from.extend(telling.inputs(name));
        }
        Origin::Tally(_) => {
            let words =
                values.tree.map_or_else(Vec::new, |tree| scene.origins.added_up(tree, name, scene.words()));
            statement.from = words.into_iter().map(|words| leaf(&statement.item, item.span, words)).collect();
            statement.from.extend(telling.inputs(name));
        }
        Origin::Band(band) => statement.from = telling.rows((name, item), band),
        Origin::Cultivar | Origin::Block => {
            if let Some(text) = values.tree.and_then(|tree| scene.origins.text(tree, name)) {
                statement.says = format!("{} {text}", item.label);
            }
        }
        Origin::Date => {}
    }
    Some(statement)
}

/// Returns the kind and the name of a name's item: `measure night-low`.
pub fn item_of(item: &Name) -> String {
    let kind = match &item.origin {
        Origin::Observed(_) => "observe",
        Origin::Measure(_) if item.hidden => return item.word.to_string(),
        Origin::Measure(_) => "measure",
        Origin::Tally(_) => "tally",
        Origin::Band(_) => "band",
        Origin::Cultivar | Origin::Block | Origin::Date => return item.word.to_string(),
    };
    format!("{kind} {}", item.word)
}

fn leaf(item: &str, at: Span, says: String) -> Statement {
    Statement::new(Role::Value, item, at, says)
}

struct Telling<'a, 't> {
    scene: &'a Scene<'a>,
    values: &'a Values,
    trace: &'a Trace,
    told: &'t mut BTreeSet<NameId>,
}

impl Telling<'_, '_> {
    fn observed(&self, statement: &mut Statement, (name, item): (NameId, &Name), seen: &Observation) {
        let Some(tree) = self.values.tree else { return };
        let groups = if item.scope == Place::Panicles { self.values.groups().max(1) } else { 1 };
        for group in 0..groups {
            let readings = if groups > 1 { self.values.in_group(group, name) } else { self.values.of(name) };
            let known = readings.iter().any(|reading| {
                !reading.extent.is_anything(item, self.scene.plan) && !reading.extent.may_be_empty
            });
            let shown = self.scene.words().several(name, readings);
            let of = match (groups > 1, self.values.share(group)) {
                (true, Some(share)) => {
                    format!("{shown} on {} of the panicles, ", crate::units::show(share * 100.0, "%"))
                }
                (true, None) => format!("{shown} on some panicles, "),
                (false, _) => String::new(),
            };
            let says = match (self.scene.origins.sighting(tree, name, group), known) {
                (Some(_), true) if readings.iter().all(|reading| reading.assumed) => {
                    format!("{of}assumed, since what was seen is too old")
                }
                (Some(sighting), true) => of + &self.sighting(&sighting),
                (Some(sighting), false) => {
                    format!("{of}last {}: too old, it lasts {}", self.sighting(&sighting), lasts(seen))
                }
                (None, true) => format!("{of}assumed, since nobody looked"),
                (None, false) => format!("{of}nobody has looked"),
            };
            let leaf = leaf(&statement.item, item.span, says);
            statement.from.push(leaf);
        }
    }

    fn sighting(&self, sighting: &Sighting) -> String {
        let who = sighting.who.as_ref().map_or_else(String::new, |who| format!(" by {who}"));
        let sample = sighting
            .sample
            .map_or_else(String::new, |(found, of)| format!(", {found} found among {of} looked at"));
        format!(
            "seen {} ({}){who} for {}{sample}",
            self.scene.words().day(sighting.on),
            self.scene.words().ago(sighting.on, self.scene.today),
            sighting.of
        )
    }

    /// Tells of the tables, series and windows in an expression.
    fn expression(&mut self, item: &str, expr: &Expr) -> Vec<Statement> {
        let mut found = Vec::new();
        if let Some(tree) = self.values.tree {
            let words = self.scene.origins.computed(tree, expr, self.scene.words());
            found.extend(words.into_iter().map(|words| leaf(item, expr.span, words)));
        }
        match &*expr.node {
            ExprNode::Lookup(table, _) => found.extend(self.table(*table)),
            ExprNode::Aggregate(aggregate, _) => found.extend(self.series_of(aggregate)),
            _ => {}
        }
        expr.each_part(&mut |child| found.extend(self.expression(item, child)));
        found
    }

    fn table(&self, table: TableId) -> Option<Statement> {
        let table = self.scene.plan.tables.get(table.index())?;
        let says = format!("looked up in the table {}", table.label);
        let statement = Statement::new(Role::Value, format!("table {}", table.name), table.span, says);
        Some(statement.owing(self.scene, &table.why))
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

    fn hourly(&self, hourly: HourlyId) -> Option<Statement> {
        let item = self.scene.plan.hourlies.get(hourly.index())?;
        let says = self.scene.written(item.span);
        let statement =
            Statement::new(Role::Value, format!("hourly {}", item.name), item.span, definition(&says));
        Some(statement.owing(self.scene, &item.why))
    }

    fn daily(&self, daily: DailyId) -> Option<Statement> {
        let item = self.scene.plan.dailies.get(daily.index())?;
        let says = self.scene.written(item.span);
        let statement =
            Statement::new(Role::Value, format!("daily {}", item.name), item.span, definition(&says));
        Some(statement.owing(self.scene, &item.why))
    }

    fn conditions(&mut self, condition: &Condition) -> Vec<Statement> {
        let parts = conditions::parts(self.scene, Some(condition), None, &self.trace.cells);
        parts
            .iter()
            .map(|part| {
                let says = met(self.scene, self.values, part.test, part.sense);
                Statement::new(Role::Condition, "valid if", part.test.span, says)
            })
            .collect()
    }

    fn inputs(&mut self, name: NameId) -> Vec<Statement> {
        let inputs: Vec<NameId> = self.scene.inputs.direct(name).collect();
        inputs
            .into_iter()
            .filter_map(|input| origin(self.scene, self.values, self.trace, input, self.told))
            .collect()
    }

    /// Tells which rows raised a band or capped it, or might have; those that made its grade first.
    fn rows(&mut self, (name, item): (NameId, &Name), band: &Band) -> Vec<Statement> {
        let truths =
            self.trace.bands.iter().find(|(known, _)| *known == name).map_or(&[][..], |(_, rows)| rows);
        let level = |level: u16| self.scene.words().word(item.kind, level);
        let grade = self.trace.cells.get(name.index()).and_then(|cells| cells.only());
        let mut met_rows: Vec<(&BandRow, Truth)> = band.rows.iter().zip(truths.iter().copied()).collect();
        met_rows.retain(|(_, truth)| *truth != Truth::No);
        met_rows.sort_by_key(|(row, truth)| {
            (*truth == Truth::Open, grade.is_some_and(|grade| grade != row.level))
        });
        let mut rows = Vec::new();
        for (row, truth) in met_rows {
            let verb = match (truth == Truth::Yes, row.caps) {
                (true, false) => "raised to",
                (true, true) => "capped at",
                (false, false) => "perhaps raised to",
                (false, true) => "perhaps capped at",
            };
            let parts = conditions::parts(self.scene, Some(&row.condition), None, &self.trace.cells);
            let met: Vec<String> =
                parts.iter().map(|part| met(self.scene, self.values, part.test, part.sense)).collect();
            let says = format!("{verb} {}: {}", level(row.level), met.join("; "));
            let from: Vec<Statement> = parts.iter().filter_map(|part| self.part(part)).collect();
            let statement = Statement::new(Role::Row, format!("band {}", item.word), row.span, says);
            rows.push(statement.owing(self.scene, &row.why).resting_on(from));
        }
        if rows.is_empty() {
            let says = format!("stays {}: no row raises it", level(0));
            rows.push(Statement::new(Role::Row, format!("band {}", item.word), item.span, says));
        }
        rows
    }

    fn part(&mut self, part: &conditions::Part<'_>) -> Option<Statement> {
        match part.test.subject {
            Subject::Name(name) => origin(self.scene, self.values, self.trace, name, self.told),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => None,
        }
    }
}

/// Returns the head of a definition, before its clauses: what follows the equals sign, up to its reason.
fn definition(item: &str) -> String {
    let body = item.split_once('=').map_or(item, |(_, body)| body).trim();
    let end = [" because \"", " cites ", " valid if ", " days begin "]
        .iter()
        .filter_map(|clause| body.find(clause))
        .min();
    body.get(..end.unwrap_or(body.len())).unwrap_or(body).trim().to_string()
}

fn lasts(seen: &Observation) -> String {
    match seen.lasts {
        Some(hours) if hours >= 24.0 && hours % 24.0 == 0.0 => crate::units::show(hours / 24.0, "d"),
        Some(hours) => crate::units::show(hours, "h"),
        None => "for ever".to_string(),
    }
}
