//! Small changes of what rules compare: of conditions inside measures, tallies, hourly and daily series, and rows of tables
//! that are left out.

use super::changes::{self, SmallChange};
use super::mutants::{Becomes, Mutant, MutantOf, MutantSite};
use crate::measure::speaks_of_weather;
use crate::plan::{
    Compare, Condition, DailyId, Datum, Definitions, Expr, HourlyId, Inside, Kind, Meaning, Measure, NameId,
    Origin, Pattern, Plan, Subject, Table, TableId, Tally, Test, Yields,
};
use crate::prove::space::taken::each_lookup;
use crate::units::{Threshold, Unit};
use std::collections::BTreeSet;

/// Adds all small changes of a rulebook's definitions.
pub(crate) fn add(plan: &Plan, all: &mut Vec<Mutant>) {
    for (id, name) in plan.named() {
        match &name.origin {
            Origin::Measure(measure) => {
                let Some(item) = item_of(plan, id) else { continue };
                let of_hours = speaks_of_weather(&measure.expr).is_some();
                let of = MutantOf { plan, item, site: MutantSite::Name(id), span: name.span };
                for change in of.of_expr(&measure.expr) {
                    let becomes = Measure { expr: change.becomes.clone(), ..measure.clone() };
                    all.push(of.mutant(&change, of_hours, Becomes::Measure(becomes)));
                }
                for change in of.of_condition(measure.valid_if.as_ref()) {
                    let valid_if = Some(change.becomes.clone());
                    let becomes = Measure { valid_if, ..measure.clone() };
                    all.push(of.mutant(&change, false, Becomes::Measure(becomes)));
                }
            }
            Origin::Tally(tally) => {
                let item = format!("tally {}", name.word);
                let of = MutantOf { plan, item, site: MutantSite::Name(id), span: name.span };
                for (change, becomes) in of.of_tally(tally) {
                    all.push(of.mutant(&change, true, Becomes::Tally(becomes)));
                }
            }
            Origin::Observed(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => {}
        }
    }
    for (at, hourly) in plan.hourlies.iter().enumerate() {
        let (item, site) = (format!("hourly {}", hourly.name), MutantSite::Hourly(HourlyId(at as u32)));
        let of = MutantOf { plan, item, site, span: hourly.span };
        for (change, becomes) in of.of_yields(&hourly.yields) {
            all.push(of.mutant(&change, true, Becomes::Series(becomes, None)));
        }
    }
    for (at, daily) in plan.dailies.iter().enumerate() {
        let (item, site) = (format!("daily {}", daily.name), MutantSite::Daily(DailyId(at as u32)));
        let of = MutantOf { plan, item, site, span: daily.span };
        for (change, becomes) in of.of_yields(&daily.yields) {
            all.push(of.mutant(&change, true, Becomes::Series(becomes, daily.valid_if.clone())));
        }
        for change in of.of_condition(daily.valid_if.as_ref()) {
            let becomes = Becomes::Series(daily.yields.clone(), Some(change.becomes.clone()));
            all.push(of.mutant(&change, true, becomes));
        }
    }
    for (at, table) in plan.tables.iter().enumerate() {
        let id = TableId(at as u32);
        let of_hours = looked_up_over_hours(plan, id);
        for (row, of_row) in table.rows.iter().enumerate() {
            let keys = of_row.patterns.iter().enumerate();
            let keys: Vec<String> = keys.map(|(key, it)| key_words(plan, table, key, it)).collect();
            all.push(Mutant {
                item: format!("row {} of {}", keys.join(", "), table.name),
                at: of_row.span,
                change: "dropped".to_owned(),
                tells: String::new(),
                of_hours,
                site: MutantSite::TableRow(id, row),
                becomes: Becomes::Dropped,
            });
        }
    }
}

/// Changes a definition in a rulebook.
pub(crate) fn apply(mutant: &Mutant, plan: &mut Plan) {
    match (mutant.site, &mutant.becomes) {
        (MutantSite::Name(name), Becomes::Measure(measure)) => {
            keep_of_promises(plan, name);
            plan.names[name.index()].origin = Origin::Measure(measure.clone());
        }
        (MutantSite::Name(name), Becomes::Tally(tally)) => {
            plan.names[name.index()].origin = Origin::Tally(tally.clone());
        }
        (MutantSite::Hourly(id), Becomes::Series(yields, _)) => {
            plan.hourlies[id.index()].yields = yields.clone()
        }
        (MutantSite::Daily(id), Becomes::Series(yields, valid_if)) => {
            let daily = &mut plan.dailies[id.index()];
            daily.yields = yields.clone();
            daily.valid_if.clone_from(valid_if);
        }
        (MutantSite::TableRow(id, row), _) => {
            let rows = &mut plan.tables[id.index()].rows;
            if row < rows.len() {
                rows.remove(row);
            }
        }
        _ => {}
    }
}

/// Lets promises that say in their own words what a measure says keep that meaning: their text is not what is changed.
fn keep_of_promises(plan: &mut Plan, name: NameId) {
    let (word, copy) = (plan[name].word.clone(), NameId(plan.names.len() as u32));
    let hidden = plan[name].hidden;
    let mut kept = false;
    for promise in &mut plan.promises {
        each_test_mut(&mut promise.whenever, &mut |test| {
            if test.subject == Subject::Name(name) && (hidden || !test.written.starts_with(&*word)) {
                test.subject = Subject::Name(copy);
                kept = true;
            }
        });
    }
    if kept {
        let mut of = plan[name].clone();
        of.hidden = true;
        plan.names.push(of);
        let after = plan.order.iter().position(|it| *it == name).map_or(plan.order.len(), |at| at + 1);
        plan.order.insert(after, copy);
    }
}

fn each_test_mut(condition: &mut Condition, f: &mut dyn FnMut(&mut Test)) {
    match condition {
        Condition::Test(test) => f(test),
        Condition::Not(inner) => each_test_mut(inner, f),
        Condition::All(parts) | Condition::Any(parts) => {
            parts.iter_mut().for_each(|part| each_test_mut(part, f))
        }
    }
}

/// Returns whether it is a change of how many sprays of a day a tally asks for: the tree of a worked example was never sprayed.
pub(super) fn is_of_log(plan: &Plan, mutant: &Mutant) -> bool {
    let MutantSite::Name(name) = mutant.site else { return false };
    let Origin::Tally(tally) = &plan[name].origin else { return false };
    let mut found = false;
    let adds = tally.adds.iter().filter_map(|add| add.condition.as_ref());
    for condition in adds.chain(&tally.waits_for).chain(&tally.reset) {
        condition.each_test(&mut |test| {
            let here = test.span.start <= mutant.at.start && mutant.at.end <= test.span.end;
            found |= here && matches!(test.subject, Subject::Daily(id) if plan[id].of_log);
        });
    }
    found
}

/// Returns the names that mean something else in a changed rulebook.
pub(crate) fn touched(plan: &Plan, before: &Definitions<'_>, after: &Definitions<'_>) -> BTreeSet<NameId> {
    plan.named().map(|(id, _)| id).filter(|id| before.name(*id) != after.name(*id)).collect()
}

/// Returns whether hours of gates or of preferences mean something else in a changed rulebook.
pub(super) fn hours_touched([plan, changed]: [&Plan; 2], [before, after]: [&Definitions<'_>; 2]) -> bool {
    let hours = |plan: &Plan, of: &Definitions<'_>| -> Vec<Meaning> {
        let of_gates = plan.gates.iter().filter_map(|gate| gate.hours.as_ref());
        of_gates.chain(plan.prefers.iter().map(|prefer| &prefer.hours)).map(|it| of.condition(it)).collect()
    };
    hours(plan, before) != hours(changed, after)
}

/// Returns what the item with a measure is called: the measure itself, or the first rule that has it in its own words;
/// nothing where no rule has it.
fn item_of(plan: &Plan, id: NameId) -> Option<String> {
    let name = &plan[id];
    if !name.hidden {
        return Some(format!("measure {}", name.word));
    }
    let speaks = |condition: &Condition| {
        let mut found = false;
        condition.each_test(&mut |test| found |= test.subject == Subject::Name(id));
        found
    };
    let when = |a: &Option<Condition>, b: &Option<Condition>| a.iter().chain(b).any(speaks);
    let gate =
        plan.gates.iter().find(|it| when(&it.condition, &it.unless)).map(|it| format!("gate {}", it.name));
    let choice = || plan.choices.iter().find(|it| when(&it.condition, &it.unless));
    let task = || plan.tasks.iter().find(|it| when(&it.speaks.condition, &it.speaks.unless));
    let warning = || plan.warnings.iter().find(|it| when(&it.speaks.condition, &it.speaks.unless));
    let row = || {
        plan.named().find_map(|(band, of)| match &of.origin {
            Origin::Band(rows) => {
                let row = rows.rows.iter().find(|row| speaks(&row.condition))?;
                Some(format!("row {} of {}", plan.word_of(band, row.level), of.word))
            }
            _ => None,
        })
    };
    gate.or_else(|| choice().map(|it| format!("choice {}", it.name)))
        .or_else(row)
        .or_else(|| task().map(|it| format!("task {}", it.name)))
        .or_else(|| warning().map(|it| format!("warning {}", it.name)))
}

/// Returns whether an hourly, a daily or a tally looks up a table.
fn looked_up_over_hours(plan: &Plan, table: TableId) -> bool {
    let looks = |expr: &Expr| {
        let mut found = false;
        each_lookup(expr, &mut |of, _| found |= of == table);
        found
    };
    let yields = |it: &Yields| matches!(it, Yields::Value(expr) if looks(expr));
    let tallies = plan.names.iter().any(|name| match &name.origin {
        Origin::Tally(tally) => tally.adds.iter().any(|add| looks(&add.amount)),
        _ => false,
    });
    tallies
        || plan.hourlies.iter().any(|it| yields(&it.yields))
        || plan.dailies.iter().any(|it| yields(&it.yields))
}

/// Returns the pattern of a key in words.
fn key_words(plan: &Plan, table: &Table, key: usize, pattern: &Pattern) -> String {
    let end = |(at, _): (Threshold, bool)| match table.keys.get(key) {
        Some(Kind::Words(_) | Kind::YesNo) => key_datum(plan, table, key, Datum::Word(at.value() as u16)),
        Some(_) | None => key_datum(plan, table, key, Datum::Number(at.value())),
    };
    match pattern {
        Pattern::Is(datum) => key_datum(plan, table, key, *datum),
        Pattern::Numbers { low: Some(low), high: Some(high) } if low.0 == high.0 => end(*low),
        Pattern::Numbers { low: Some(low), high: Some(high) } => format!("{} to {}", end(*low), end(*high)),
        Pattern::Numbers { low: Some(low), high: None } => format!("from {}", end(*low)),
        Pattern::Numbers { low: None, high: Some(high) } => format!("to {}", end(*high)),
        Pattern::Numbers { low: None, high: None } | Pattern::Any => "any".to_owned(),
    }
}

/// Returns a key of a table in words.
pub(crate) fn key_datum(plan: &Plan, table: &Table, key: usize, datum: Datum) -> String {
    let unit = table.key_units.get(key).cloned().unwrap_or_else(Unit::none);
    plan.datum_in(table.keys.get(key).copied().unwrap_or(Kind::Number), &unit, datum)
}

impl MutantOf<'_> {
    fn of_condition(&self, condition: Option<&Condition>) -> Vec<SmallChange<Condition>> {
        condition.map(|it| changes::of_condition(self.plan, it, self.span)).unwrap_or_default()
    }

    /// Returns an expression with each small change of the conditions in it.
    fn of_expr(&self, expr: &Expr) -> Vec<SmallChange<Expr>> {
        let mut found: Vec<(usize, SmallChange<Put>)> = Vec::new();
        let mut place = 0;
        expr.clone().each_condition_inside(&mut |inside| {
            match inside {
                Inside::Condition(condition) => {
                    for SmallChange { becomes, at, words, tells } in
                        changes::of_condition(self.plan, condition, self.span)
                    {
                        found.push((
                            place,
                            SmallChange { becomes: Put::Condition(becomes), at, words, tells },
                        ));
                    }
                }
                Inside::Days(daily, compare) => {
                    let of = Subject::Daily(daily);
                    for SmallChange { becomes, at, words, tells } in
                        changes::of_compare(self.plan, of, compare, self.span)
                    {
                        found.push((place, SmallChange { becomes: Put::Compare(becomes), at, words, tells }));
                    }
                }
            }
            place += 1;
        });
        found
            .into_iter()
            .map(|(place, SmallChange { becomes, at, words, tells })| {
                let (mut expr, mut here) = (expr.clone(), 0);
                expr.each_condition_inside(&mut |inside| {
                    if here == place {
                        match (inside, &becomes) {
                            (Inside::Condition(it), Put::Condition(new)) => it.clone_from(new),
                            (Inside::Days(_, it), Put::Compare(new)) => it.clone_from(new),
                            _ => {}
                        }
                    }
                    here += 1;
                });
                SmallChange { becomes: expr, at, words, tells }
            })
            .collect()
    }

    fn of_yields(&self, yields: &Yields) -> Vec<(SmallChange<()>, Yields)> {
        match yields {
            Yields::Condition(condition) => {
                let changes = self.of_condition(Some(condition));
                changes.into_iter().map(|it| apart(it, Yields::Condition)).collect()
            }
            Yields::Value(expr) => {
                self.of_expr(expr).into_iter().map(|it| apart(it, Yields::Value)).collect()
            }
        }
    }

    fn of_tally(&self, tally: &Tally) -> Vec<(SmallChange<()>, Tally)> {
        let mut found = Vec::new();
        for change in self.of_condition(tally.waits_for.as_ref()) {
            found.push(apart(change, |it| Tally { waits_for: Some(it), ..tally.clone() }));
        }
        for change in self.of_condition(tally.reset.as_ref()) {
            found.push(apart(change, |it| Tally { reset: Some(it), ..tally.clone() }));
        }
        for (at, add) in tally.adds.iter().enumerate() {
            for change in self.of_condition(add.condition.as_ref()) {
                found.push(apart(change, |it| {
                    let mut tally = tally.clone();
                    tally.adds[at].condition = Some(it);
                    tally
                }));
            }
            for change in self.of_expr(&add.amount) {
                found.push(apart(change, |it| {
                    let mut tally = tally.clone();
                    tally.adds[at].amount = it;
                    tally
                }));
            }
        }
        found
    }
}

/// What is put in the place of a condition or a comparison.
enum Put {
    Condition(Condition),
    Compare(Compare),
}

fn apart<T, U>(change: SmallChange<T>, f: impl FnOnce(T) -> U) -> (SmallChange<()>, U) {
    let SmallChange { becomes, at, words, tells } = change;
    (SmallChange { becomes: (), at, words, tells }, f(becomes))
}
